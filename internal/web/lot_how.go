package web

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"

	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/clearance"
)

// lotHow answers GET /lots/{id}/how: how each figure of the lot was worked out.
func (s *Server) lotHow(w http.ResponseWriter, r *http.Request) error {
	v, err := s.Desk.View(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	h := page.How{URL: lotURL(v.Lot.ID), Name: lotName(v.Lot)}
	for _, a := range v.Assessed {
		one, err := howOf(v, a)
		if err != nil {
			return err
		}
		h.Conditions = append(h.Conditions, one)
	}
	return s.page(w, r, http.StatusOK, page.HowPage(view.Page{Frame: f, Title: "How it was worked out: " + h.Name, At: view.Lots}, h))
}

func howOf(v *desk.LotView, a desk.Assessment) (page.HowCondition, error) {
	c := page.HowCondition{ID: a.Condition.ID, Name: a.Condition.Name}
	c.Mark, c.Stands = figuresSay(v, a)
	switch {
	case a.NotLooked:
		c.Mark, c.Stands = view.Unlooked, fmt.Sprintf("Nobody has looked for it. Before any look %s is guessed, from how often lots carry it at all and from what the seller declared.", words.Percent(a.Figure.Chance))
	case a.Why != "":
		c.Mark, c.Stands = view.Late, a.Why
	case !a.Pending:
		c.Numbers = []view.Big{
			{Number: words.Percent(a.Figure.Chance), Before: "likely clear", Bold: "of the " + words.MidSentence(a.Condition.Name), Below: bandSay(a.Figure.Low, a.Figure.High)},
			{Number: words.OfHundred(a.Figure.BagRisk), Before: "of 100 bags", Bold: "of " + words.Int(v.Shop.BagSize), After: "would carry it", Below: bagBand(a)},
		}
	}
	c.Hatching = hatching(v, a)
	if k := a.Answer; k != nil {
		c.Facts = append(c.Facts, fmt.Sprintf("Before any look it was held for infested with a chance of %s.", words.Percent(k.Prior)),
			fmt.Sprintf("Looked at for it so far: %s, with signs: %s.", words.Plural(a.Figure.Looked, "animal", "animals"), words.Int(a.Figure.Positive)))
		if w := a.Figure.Worked; w != nil {
			c.Facts = append(c.Facts, fmt.Sprintf("Model %s, seed %d, as of the evening of %s: whoever works it out again gets the same.", w.Model, w.Seed, words.FullDay(w.AsOf.Date())))
		}
		if k.Resampled > 0 {
			c.Facts = append(c.Facts, fmt.Sprintf("So few simulated lots showed what the looks found that those which did were copied; %s of the first are left.", words.Int(k.Ancestors)))
		}
		if k.Capped > 0 {
			c.Facts = append(c.Facts, fmt.Sprintf("In %s of the simulated lots the worms grew beyond counting; they count as not clear.", words.Percent(k.Capped)))
		}
		c.Facts = append(c.Facts, k.Notes...)
		for _, d := range k.Drivers {
			c.Drivers = append(c.Drivers, driverSays(d))
		}
	}
	life, err := desk.LifeCondition(v.Shop.Beliefs, a.Condition.ID)
	if err != nil || life == nil || a.Because != "" {
		return c, nil
	}
	c.Inputs = inputs(life)
	return c, nil
}

// bandSay is a range in words; nothing where none was worked out.
func bandSay(low, high float64) string {
	if low == 0 && high == 0 {
		return "no range worked out yet"
	}
	return words.PercentRange(low, high)
}

func bagBand(a desk.Assessment) string {
	if w := a.Figure.Worked; w != nil && w.BagHigh > 0 {
		return words.OfHundred(w.BagLow) + " to " + words.OfHundred(w.BagHigh)
	}
	return ""
}

func driverSays(d clearance.Driver) string {
	way := "the higher, the likelier clear"
	if !d.Up {
		way = "the higher, the less likely clear"
	}
	name := words.Figure(d.Name)
	if name == "" {
		name = "What a " + strings.ReplaceAll(d.Name, "_", " ") + " kills"
	}
	return fmt.Sprintf("%s: %.0f %% of the doubt; %s", name, math.Round(100*d.Share), way)
}

// inputs lists every figure with its range and what it rests on.
func inputs(c *clearance.Condition) *view.Ledger {
	t := view.Ledger{Caption: "What went in: nine times of ten each figure is believed to lie in its range", Fold: true,
		Columns: []view.Column{{Label: "Figure"}, {Label: "Range", Num: true}, {Label: "Rests on"}, {Label: "What it means"}}}
	row := func(name, code string, b clearance.Belief) {
		span := number(b.Low)
		if b.Low != b.High {
			span += " to " + number(b.High)
		}
		t.Rows = append(t.Rows, []view.Cell{{Text: name, Below: code}, {Text: strings.TrimSpace(span + " " + b.Unit), Reck: true}, {Text: basisOf(b.Basis)}, {Text: b.Note}})
	}
	row(words.Figure("infested"), "infested", c.Infested)
	for f, b := range c.Figures {
		code := clearance.Figure(f).String()
		row(words.Figure(code), code, b)
	}
	var ids []string
	for id := range c.Treatments {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, id := range ids {
		row("What a "+c.Treatments[id].Name+" kills", id, c.Treatments[id].Kill)
	}
	return &t
}

// number writes a figure with the digits it deserves.
func number(x float64) string {
	if x >= 100 {
		return fmt.Sprintf("%.0f", x)
	}
	return fmt.Sprintf("%.3g", x)
}
