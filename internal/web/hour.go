package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/money"
	"holdfast/science/ref"
)

// mostHourLots bounds how many lots one hour is shared over.
const mostHourLots = 60

// hourFields are the numbers asked for, with what stands in them at first. All
// are guesses of the person's own.
var hourFields = []struct {
	name, label, unit, hint string
	low, high, first        float64
}{
	{"minutes", "Minutes you have", "min", "", 1, 720, 60},
	{"seconds", "For one animal", "s", "Catch, look from all sides, write down.", 1, 3600, 60},
	{"setup", "Before the first one of a lot", "min", "Net, cups, light, clean hands.", 0, 120, 5},
	{"harm", "To sell a lot that carries it", "", "Refunds, treating the buyers’ tanks, your name.", 0, 1e7, 500},
	{"hold", "To hold a lot back instead", "", "Treatment, tank and care until it may go.", 0, 1e7, 60},
}

// hour answers GET /hour: how to spend some time on looking.
func (s *Server) hour(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	shop, err := s.Desk.Settings(ctx)
	if err != nil {
		return err
	}
	rows, _, err := s.Desk.Store.Lots(ctx, desk.LotQuery{Statuses: []holdfast.Status{holdfast.Held, holdfast.Released, holdfast.Disclosed}, Sort: desk.ByChanceLow, Limit: mostHourLots})
	if err != nil {
		return err
	}
	f := form.New(r.URL.Query())
	h := page.Hour{Action: "/hour", Asked: f.Typed("do") == "share", Chosen: map[string]bool{}}
	var numbers [5]float64
	for i, n := range hourFields {
		numbers[i] = n.first
		if n.name == "harm" || n.name == "hold" {
			n.unit = shop.Currency
		}
		x := view.Field{Name: n.name, Label: n.label, Unit: n.unit, Hint: n.hint, Value: words.Number(n.first, 0), Required: true}
		if h.Asked {
			x.Value = f.Typed(n.name)
			if v := f.Number(n.name, form.Range{Low: n.low, High: n.high, Unit: n.unit, Needed: true}); v != nil {
				numbers[i] = *v
			}
			x.Err = f.Err(n.name)
		}
		if i < 3 {
			h.Fields = append(h.Fields, x)
		} else {
			h.Money = append(h.Money, x)
		}
	}
	by := f.OneOf("by", []string{holdfast.ByEye, holdfast.ByLens, holdfast.ByPhoto, holdfast.ByMicroscope}, false)
	if by == "" {
		by = holdfast.ByLens
	}
	h.By = view.Field{Name: "by", Label: "How you look", Value: by, Half: true, Err: f.Err("by")}
	h.Lots = view.Field{Name: "lot", Label: "Lots to choose from"}
	var lots []string
	for _, row := range rows {
		if row.Alive < 1 {
			continue
		}
		chance := "nobody has looked"
		switch {
		case row.LastLook > 0 && row.Chance == nil:
			chance = "its chance is being worked out"
		case row.Chance != nil:
			chance = words.Percent(*row.Chance) + " likely clear"
		}
		h.All = append(h.All, view.Option{Value: row.ID, Label: row.Strain + " " + row.ID, Below: fmt.Sprintf("%s alive, %s", words.Int(row.Alive), chance)})
		on := row.Status == holdfast.Held
		if h.Asked {
			on = slices.Contains(r.URL.Query()["lot"], row.ID)
		}
		if h.Chosen[row.ID] = on; on {
			lots = append(lots, row.ID)
		}
	}
	status := http.StatusOK
	h.Faults = view.Faults(append(append(append([]view.Field{}, h.Fields...), h.Money...), h.By)...)
	switch {
	case !f.OK():
		status, h.Asked = http.StatusBadRequest, false
	case h.Asked:
		plan, err := s.Desk.Hour(ctx, desk.HourForm{Minutes: int(numbers[0]), Seconds: int(math.Ceil(numbers[1])), SetupMinutes: int(math.Ceil(numbers[2])),
			Harm: numbers[3], Hold: numbers[4], By: by, Lots: lots})
		var wrong *ref.InputError
		if errors.As(err, &wrong) {
			return &holdfast.Error{Kind: holdfast.Invalid, Message: wrong.Message, Hint: wrong.Hint}
		}
		if err != nil {
			return err
		}
		hourAnswer(&h, plan, shop.Currency, by)
	}
	return s.page(w, r, status, page.HourPage(view.Page{Frame: frame, Title: "I have an hour", At: view.Lots, Width: view.Middle}, h))
}

// hourAnswer puts the plan into words and a table.
func hourAnswer(h *page.Hour, plan desk.HourPlan, currency, by string) {
	said := func(x float64) string {
		return words.Money(int64(math.Round(x*float64(money.Units(currency)))), currency)
	}
	table := view.Ledger{Caption: "How many of each lot", Fold: true, Columns: []view.Column{{Label: "Lot"}, {Label: "Look at", Num: true}, {Label: "Takes", Num: true}, {Label: "All clean", Num: true}, {Label: "Loss before", Num: true}, {Label: "Loss after", Num: true}}}
	looked := 0
	for _, x := range plan.Shares {
		name := view.Cell{Text: lotName(x.Lot.Lot), URL: lotURL(x.Lot.Lot.ID)}
		look, takes, clean := "none", "–", "–"
		if x.Animals > 0 {
			looked += x.Animals
			name.URL = lotURL(x.Lot.Lot.ID) + "/look?" + url.Values{"n": {strconv.Itoa(x.Animals)}, "by": {by}}.Encode()
			look, takes, clean = words.Int(x.Animals), words.Int((x.Seconds+59)/60)+" min", words.OfHundred(x.Clean)+" times in 100"
		}
		table.Rows = append(table.Rows, []view.Cell{name, {Text: look}, {Text: takes}, {Text: clean, Reck: true}, {Text: said(x.Before), Reck: true}, {Text: said(x.After), Reck: true}})
	}
	if len(table.Rows) == 0 {
		h.None = "Choose at least one lot with animals that can carry something the desk keeps a chance of."
		return
	}
	h.Table = &table
	if looked == 0 {
		h.None = fmt.Sprintf("No look that fits into this time would change what you do: you expect to lose %s either way. Take more time, or look at one lot only.", said(plan.Before))
		return
	}
	h.Answer = fmt.Sprintf("%s in %s: the loss to expect falls from %s to %s.", words.Capital(words.Plural(looked, "animal", "animals")), words.Plural((plan.Seconds+59)/60, "minute", "minutes"), said(plan.Before), said(plan.After))
	h.Says = []string{"Without a look each lot is sold or held back, whichever is expected to cost less. A look that finds something means holding it back. The link of a lot opens its look with that number.",
		"It counts the condition that is least likely clear in each lot, and your two guesses of money. It is a way to spend an hour, no permission to sell: the release conditions stay as they are."}
}
