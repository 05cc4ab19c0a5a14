package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"holdfast"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// setting is one number of the shop's settings. A share is asked in per cent.
type setting struct {
	name, label, unit, hint string
	low, high               float64
	// share or count is where it goes.
	share func(*holdfast.ShopSet) *float64
	count func(*holdfast.ShopSet) *int
}

var lineSettings = []setting{
	{name: "clear_line", label: "Lot clear, at least", unit: "%", low: 50, high: 99.99, hint: "Used where the line is drawn on the lot.", share: func(s *holdfast.ShopSet) *float64 { return &s.ClearLine }},
	{name: "bag_line", label: "Bags carrying it, at most", unit: "%", low: 0.01, high: 50, hint: "Used where the line is drawn on the bag.", share: func(s *holdfast.ShopSet) *float64 { return &s.BagLine }},
	{name: "bag_size", label: "Animals in a bag", low: 1, high: 1000, hint: "As you usually sell them.", count: func(s *holdfast.ShopSet) *int { return &s.BagSize }},
}

// scaleSetting is read apart: it may stay empty.
var scaleSetting = setting{name: "scale_g", label: "Smallest step of your scale", unit: "g", low: 0, high: 100, hint: "Such as 0.01. Doses are rounded to it; empty takes 0.01 when mixing."}

var waitSettings = []setting{
	{name: "days_here", label: "Days here, at least", unit: "days", low: 0, high: 365, count: func(s *holdfast.ShopSet) *int { return &s.DaysHere }},
	{name: "days_since_sign", label: "Days without sign", unit: "days", low: 0, high: 365, hint: "Since the last sign or dose.", count: func(s *holdfast.ShopSet) *int { return &s.DaysSinceSign }},
	{name: "look_within_days", label: "Clean look within", unit: "days", low: 1, high: 90, hint: "How old the last one may be.", count: func(s *holdfast.ShopSet) *int { return &s.LookWithinDays }},
	{name: "look_size", label: "Animals in that look", low: 1, high: 10000, hint: "At least; all of them where the lot is smaller.", count: func(s *holdfast.ShopSet) *int { return &s.LookSize }},
	{name: "week_death_share", label: "Deaths in a week", unit: "%", low: 0.1, high: 100, hint: "At most, of the lot. One death never counts as too many.", share: func(s *holdfast.ShopSet) *float64 { return &s.WeekDeathShare }},
}

func (s *Server) settings(w http.ResponseWriter, r *http.Request) error {
	shop, err := s.Desk.Settings(r.Context())
	if err != nil {
		return err
	}
	return s.settingsPage(w, r, http.StatusOK, form.New(typedShop(shop)), shop)
}

// typedShop is the settings as the form shows them.
func typedShop(shop holdfast.ShopSet) map[string][]string {
	v := map[string][]string{"name": {shop.Name}, "zone": {shop.Zone}, "currency": {shop.Currency}, "line": {shop.Line}}
	if shop.ScaleG > 0 {
		v[scaleSetting.name] = []string{strconv.FormatFloat(shop.ScaleG, 'f', -1, 64)}
	}
	for _, all := range [][]setting{lineSettings, waitSettings} {
		for _, n := range all {
			if n.share != nil {
				// One part in a million of a share is finer than anybody draws a line.
				v[n.name] = []string{strconv.FormatFloat(math.Round(*n.share(&shop)*1e6)/1e4, 'f', -1, 64)}
			} else {
				v[n.name] = []string{strconv.Itoa(*n.count(&shop))}
			}
		}
	}
	return v
}

func (s *Server) settingsSave(w http.ResponseWriter, r *http.Request) error {
	by, err := s.author(r)
	if err != nil {
		return err
	}
	shop, err := s.Desk.Settings(r.Context())
	if err != nil {
		return err
	}
	before, f := shop, form.New(r.PostForm)
	readShop(f, &shop)
	if f.OK() {
		err = s.Desk.SetShop(r.Context(), by, shop)
		var problems holdfast.Problems
		if err == nil {
			return s.recorded(w, r, "/settings", "", by.ID)
		}
		if !errors.As(err, &problems) {
			return err
		}
		f.Take(problems)
	}
	return s.settingsPage(w, r, http.StatusBadRequest, f, before)
}

func readShop(f *form.Form, shop *holdfast.ShopSet) {
	shop.Name = f.Text("name", 80, true)
	shop.Zone = f.Text("zone", 60, true)
	shop.Currency = strings.ToUpper(f.Text("currency", 3, true))
	shop.ScaleG = 0
	if x := f.Number(scaleSetting.name, form.Range{Low: 0.0001, High: scaleSetting.high, Unit: scaleSetting.unit}); x != nil {
		shop.ScaleG = *x
	}
	shop.Line = f.OneOf("line", []string{holdfast.LineClear, holdfast.LineBag}, true)
	for _, all := range [][]setting{lineSettings, waitSettings} {
		for _, n := range all {
			x := f.Number(n.name, form.Range{Low: n.low, High: n.high, Unit: n.unit, Needed: true})
			switch {
			case x == nil:
			case n.share != nil:
				*n.share(shop) = math.Round(*x*1e4) / 1e6
			case *x != math.Trunc(*x):
				f.Fault(n.name, "That is not a whole number.", "")
			default:
				*n.count(shop) = int(*x)
			}
		}
	}
}

func (s *Server) settingsPage(w http.ResponseWriter, r *http.Request, status int, f *form.Form, shop holdfast.ShopSet) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	entry, err := s.Desk.NewID()
	if err != nil {
		return err
	}
	var shown []view.Field
	field := func(name, label, unit, hint string) view.Field {
		out := view.Field{Name: name, Label: label, Unit: unit, Hint: hint, Value: f.Typed(name), Err: f.Err(name), Required: true}
		shown = append(shown, out)
		return out
	}
	numbers := func(all []setting) []view.Field {
		var out []view.Field
		for _, n := range all {
			out = append(out, field(n.name, n.label, n.unit, n.hint))
		}
		return out
	}
	p := page.SettingsPage{Form: view.Form{Action: "/settings", Entry: string(entry), Guard: true}, Buyers: buyersSay(shop)}
	zone := field("zone", "Time zone", "", "Such as Europe/Berlin. Days begin and end by it.")
	zone.Half = true
	zone.List = []string{"UTC", "Europe/London", "Europe/Berlin", "Europe/Amsterdam", "America/New_York", "America/Chicago", "America/Los_Angeles", "Asia/Singapore", "Asia/Tokyo", "Australia/Sydney"}
	p.Shop = []view.Field{field("name", "Name of the shop", "", "As buyers read it."), zone, field("currency", "Currency", "", "Three letters, such as EUR. Prices entered before keep theirs.")}
	p.Line = field("line", "What the line is drawn on", "", "")
	p.LineOptions = []view.Option{
		{Value: holdfast.LineClear, Label: "The lot", Below: "A lot may go when the chance that no animal of it carries the condition is high enough. The stricter way for large lots."},
		{Value: holdfast.LineBag, Label: "The bag", Below: "A lot may go when few enough of the bags would carry it. A buyer’s own risk; the whole lot may still hold a few carriers."},
	}
	p.Lines, p.Waits = numbers(lineSettings), numbers(waitSettings)
	p.Scale = field(scaleSetting.name, scaleSetting.label, scaleSetting.unit, scaleSetting.hint)
	p.Scale.Required = false
	p.Faults = faultsOf(f, shown)
	return s.page(w, r, status, page.Settings(view.Page{Frame: frame, Title: "Settings", At: view.Tanks, Width: view.Middle}, p))
}

// buyersSay says what a line on the bag means for all buyers of a lot
// together. Whatever the bags have in common, the chance that any of n carries
// it is never more than n times that of one (Boole's inequality).
func buyersSay(shop holdfast.ShopSet) string {
	const bags = 10
	return fmt.Sprintf("A line on the bag speaks for one buyer. With %d bags sold at %s each, the chance that at least one buyer gets it can be as high as %s. The release conditions of each lot state both.",
		bags, words.Percent(shop.BagLine), words.Percent(min(1, bags*shop.BagLine)))
}
