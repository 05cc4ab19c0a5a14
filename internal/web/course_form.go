package web

import (
	"fmt"
	"math"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/money"
)

// Bounds of a plan's form.
const (
	mostDoses = 12
	mostLooks = 6
	mostSkips = 20
)

// readPlan reads a plan from the fields of the form.
func (c *coursed) readPlan(f *form.Form) holdfast.CourseAccepted {
	b := c.base
	p := holdfast.CourseAccepted{Condition: b.Condition.ID, Name: f.Text("name", 200, false), Doses: []holdfast.Day{}, Looks: []holdfast.CourseLook{},
		PullFrom: b.From, PullUntil: b.From}
	p.Doses = append(p.Doses, c.readDays(f, "dose", mostDoses)...)
	p.Treatment = f.OneOf("treatment", c.treatments(), len(p.Doses) > 0)
	if p.Treatment != "" {
		p.BathDays = b.Condition.Treatments[p.Treatment].Days
	}
	if len(p.Doses) == 0 {
		p.Treatment, p.BathDays = "", 0
	}
	if n := f.Count("pulls", 0, 4, true); n != nil {
		p.PullsPerDay = *n
	}
	if days := c.readDays(f, "pull_until", 1); len(days) > 0 {
		p.PullUntil = days[0]
	} else if p.PullsPerDay > 0 {
		f.Fault("pull_until", "Until which day are skins pulled?", "Choose the last day.")
	}
	if p.PullUntil < p.PullFrom {
		p.PullUntil = p.PullFrom
	}
	p.SkipPulls = c.readDays(f, "skip", mostSkips)
	n := 0
	looks := c.readDays(f, "look", mostLooks)
	if x := f.Count("look_n", 1, max(1, b.Animals), len(looks) > 0); x != nil {
		n = *x
	}
	for _, d := range looks {
		p.Looks = append(p.Looks, holdfast.CourseLook{Day: d, Animals: max(n, 1)})
	}
	if days := c.readDays(f, "release", 1); len(days) > 0 {
		p.Release = days[0]
	} else {
		f.Fault("release", "On which day would it be released?", "Choose a day.")
	}
	p.TempC = f.Number("temp", form.Range{Low: 15, High: 32, Unit: "°C"})
	return p
}

// readDays reads the days of a field that stands in the form several times; empty
// ones are left out, and a day named twice counts once.
func (c *coursed) readDays(f *form.Form, name string, most int) []holdfast.Day {
	var out []holdfast.Day
	for _, s := range f.All(name) {
		s = strings.TrimSpace(s)
		if s == "" {
			continue
		}
		d, ok := holdfast.ParseDay(s)
		switch {
		case !ok:
			f.Fault(name, fmt.Sprintf("%q is not a day.", short(s)), "Write it as 2026-11-25.")
			return out
		case d < c.base.Start-30 || d > c.base.Start+430:
			f.Fault(name, fmt.Sprintf("%s is too far from the lot's time here.", desk.ShortDay(d)), "Choose a day within 400 days of its arrival.")
			return out
		case len(out) == most:
			f.Fault(name, fmt.Sprintf("At most %d days can be planned.", most), "Leave some out.")
			return out
		}
		out = append(out, d)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

func short(s string) string {
	if r := []rune(s); len(r) > 24 {
		return string(r[:24]) + "…"
	}
	return s
}

// treatments are the ids of what the condition can be treated with.
func (c *coursed) treatments() []string {
	var out []string
	for id := range c.base.Condition.Treatments {
		out = append(out, id)
	}
	slices.Sort(out)
	return out
}

// planValues writes a plan as the fields that readPlan reads.
func planValues(p holdfast.CourseAccepted) url.Values {
	v := url.Values{"own": {"1"}, "against": {p.Condition}, "name": {p.Name}, "treatment": {p.Treatment}, "pulls": {strconv.Itoa(p.PullsPerDay)},
		"release": {p.Release.String()}}
	for _, d := range p.Doses {
		v.Add("dose", d.String())
	}
	if p.PullsPerDay > 0 {
		v.Set("pull_until", p.PullUntil.String())
	}
	for _, d := range p.SkipPulls {
		v.Add("skip", d.String())
	}
	for _, l := range p.Looks {
		v.Add("look", l.Day.String())
		v.Set("look_n", strconv.Itoa(l.Animals))
	}
	if p.TempC != nil {
		v.Set("temp", strconv.FormatFloat(*p.TempC, 'f', -1, 64))
	}
	return v
}

// pairsOf are a plan's fields for a form that only sends them on.
func pairsOf(v url.Values, more ...view.Pair) []view.Pair {
	var names []string
	for name := range v {
		names = append(names, name)
	}
	slices.Sort(names)
	var out []view.Pair
	for _, name := range names {
		for _, x := range v[name] {
			out = append(out, view.Pair{Name: name, Value: x})
		}
	}
	return append(out, more...)
}

// edit is the form that moves the parts of a plan, filled with the plan shown or
// with what was typed.
func (c *coursed) edit(p *holdfast.CourseAccepted, f *form.Form) page.CourseEdit {
	e := page.CourseEdit{Action: courseURL(c.v.Lot.ID), Hidden: []view.Pair{{Name: "own", Value: "1"}, {Name: "against", Value: c.base.Condition.ID}}}
	day := (c.today + 28).String()
	v := url.Values{"pulls": {"1"}, "pull_until": {day}, "release": {day}}
	if p != nil {
		v = planValues(*p)
	}
	if f != nil {
		v = c.query
	}
	one := func(name, label, unit, hint string) view.Field {
		x := view.Field{Name: name, ID: "plan-" + name, Label: label, Unit: unit, Hint: hint, Value: v.Get(name)}
		if f != nil {
			x.Err = f.Err(name)
		}
		return x
	}
	many := func(name, label string, most int) []view.Field {
		var out []view.Field
		given := slices.DeleteFunc(slices.Clone(v[name]), func(s string) bool { return strings.TrimSpace(s) == "" })
		for i := range min(len(given)+1, most) {
			x := one(name, fmt.Sprintf("%s %d", label, i+1), "", "")
			x.ID, x.Value = fmt.Sprintf("plan-%s-%d", name, i+1), ""
			if i < len(given) {
				x.Value = given[i]
			} else {
				x.Label, x.Err = "One more: "+strings.ToLower(label[:1])+label[1:], ""
			}
			out = append(out, x)
		}
		return out
	}
	e.Treatment = one("treatment", "Treatment", "", "")
	for _, id := range c.treatments() {
		e.Treatments = append(e.Treatments, view.Option{Value: id, Label: words.Capital(c.base.Condition.Treatments[id].Name)})
	}
	if e.Treatment.Value == "" {
		e.Treatment.Value = c.base.Condition.Usual()
	}
	e.Doses = many("dose", "Dose", mostDoses)
	e.Pulls = one("pulls", "Pulls a day", "", "")
	for n := range 5 {
		e.PullOptions = append(e.PullOptions, view.Option{Value: strconv.Itoa(n), Label: []string{"None", "One", "Two", "Three", "Four"}[n]})
	}
	e.Dates = []view.Field{one("pull_until", "Pull until", "", "")}
	e.Skips = many("skip", "No pull on", mostSkips)
	e.Looks = append(many("look", "Look", mostLooks), one("release", "Release", "", ""))
	e.Fields = []view.Field{one("look_n", "Animals in each look", "", ""), one("temp", "Temperature", "°C", "Empty: as the tank is")}
	return e
}

// moneyField is one amount that planning reckons with.
type moneyField struct {
	name, label, hint string
	at                func(*desk.CourseMoney) *float64
}

var moneyFields = []moneyField{
	{"tank_day", "A day of the tank", "", func(m *desk.CourseMoney) *float64 { return &m.Costs.TankDay }},
	{"pull", "One pull", "", func(m *desk.CourseMoney) *float64 { return &m.Costs.Pull }},
	{"dose_cost", "One dose", "Medicine, water and work", func(m *desk.CourseMoney) *float64 { return &m.Costs.Dose }},
	{"look", "Looking at one animal", "", func(m *desk.CourseMoney) *float64 { return &m.Costs.Look }},
	{"animal", "An animal that dies", "", func(m *desk.CourseMoney) *float64 { return &m.Costs.Animal }},
	{"loss", "Releasing it though it is not clear", "Refunds, and what customers lose", func(m *desk.CourseMoney) *float64 { return &m.Costs.Loss }},
	{"sale", "Sale of one animal", "", func(m *desk.CourseMoney) *float64 { return &m.Prices.Sale }},
	{"disclosed", "Sale of one with the finding disclosed", "", func(m *desk.CourseMoney) *float64 { return &m.Prices.Disclosed }},
	{"claim", "What a claim or return brings in all", "", func(m *desk.CourseMoney) *float64 { return &m.Prices.Claim }},
	{"keep_day", "A day as a colony", "", func(m *desk.CourseMoney) *float64 { return &m.Prices.KeepDay }},
	{"put_down", "Putting down one animal", "", func(m *desk.CourseMoney) *float64 { return &m.Prices.PutDown }},
}

// decimals of the shop's currency.
func decimals(currency string) int {
	if n, ok := money.Exponent(currency); ok {
		return n
	}
	return 2
}

func readMoney(f *form.Form, m desk.CourseMoney, currency string) desk.CourseMoney {
	scale := math.Pow10(decimals(currency))
	for _, x := range moneyFields {
		if n := f.Number(x.name, form.Range{Low: 0, High: 1e7, Unit: currency, Needed: true}); n != nil {
			*x.at(&m) = math.Round(*n * scale)
		}
	}
	if n := f.Number("horizon", form.Range{Low: 28, High: 365, Unit: "days", Needed: true}); n != nil {
		m.Horizon = math.Floor(*n)
	}
	if n := f.Number("keep_days", form.Range{Low: 0, High: 3650, Unit: "days", Needed: true}); n != nil {
		m.Prices.KeepDays = *n
	}
	if n := f.Count("look_animals", 1, 1000, true); n != nil {
		m.LookAnimals = *n
	}
	return m
}

// moneyAct is the form of what things cost.
func (c *coursed) moneyAct() (page.Act, error) {
	id, err := c.s.Desk.NewID()
	if err != nil {
		return page.Act{}, err
	}
	cur := c.v.Shop.Currency
	exp := decimals(cur)
	a := page.Act{Form: view.Form{Action: courseURL(c.v.Lot.ID) + "/money", ID: "money", Entry: string(id)}, Summary: "What things cost and bring", Button: "Reckon with these"}
	switch was := c.v.Shop.Costs; {
	case c.money.Own:
		a.Lead = "Kept in the journal for all lots of the shop."
	case was != nil:
		a.Lead = fmt.Sprintf("What was written is in %s and the shop now works in %s, so these are guesses again. Write them anew.", was.Currency, cur)
	default:
		a.Lead = "Nobody has written these yet: they are guesses made from what the animals cost. Write your own; the cheapest course is only as good as they are."
	}
	t := c.tried
	add := func(name, label, unit, hint, value string) {
		x := view.Field{Name: name, ID: "money-" + name, Label: label, Unit: unit, Hint: hint, Value: value}
		if t.what == "money" && t.form != nil {
			x.Value, x.Err = t.form.Typed(name), t.form.Err(name)
		}
		a.Parts = append(a.Parts, page.Part{As: page.AsNumber, Field: x})
	}
	for _, x := range moneyFields {
		m := c.money
		add(x.name, x.label, cur, x.hint, strconv.FormatFloat(*x.at(&m)/math.Pow10(exp), 'f', -1, 64))
	}
	add("keep_days", "Days as a colony", "days", "", strconv.FormatFloat(c.money.Prices.KeepDays, 'f', -1, 64))
	add("horizon", "Look ahead for", "days", "How late a release is still considered", strconv.FormatFloat(c.money.Horizon, 'f', -1, 64))
	add("look_animals", "Animals in each planned look", "", "", strconv.Itoa(c.money.LookAnimals))
	a.Open = t.what == "money"
	return a, nil
}
