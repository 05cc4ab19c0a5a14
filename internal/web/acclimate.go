package web

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	known "holdfast/reference"
	"holdfast/science/water"
	way "holdfast/science/water/acclimate"
)

// acclimating is one bag on its way into one tank.
type acclimating struct {
	form      *form.Form
	values    url.Values
	now       time.Time
	bag, tank holdfast.Water
	// bagWhen and tankWhen say since when the readings stand that were not
	// typed here.
	tankWhen string
	tankID   string
	delivery *holdfast.Consignment
	arrival  way.Arrival
	plan     *way.Plan
	start    time.Time
}

// arrivalReadings are what is asked of either water.
var arrivalReadings = someReadings("temp_c", "ph", "ec_us_cm", "gh_dh", "kh_dh", "tan_mg_l_n", "o2_mg_l")

// acclimate answers GET /acclimate: the fastest safe way out of a bag.
func (s *Server) acclimate(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	fr, err := s.frame(r)
	if err != nil {
		return err
	}
	a := &acclimating{form: form.New(r.Form), values: r.Form, now: fr.Now}
	if err := s.fillArrival(r, a); err != nil {
		return err
	}
	a.read()
	p := a.page()
	p.Groups = nil
	for _, g := range known.Builtin().Groups() {
		if _, err := way.LimitsOf(g.ID); err == nil {
			p.Groups = append(p.Groups, view.Option{Value: g.ID, Label: g.Name})
		}
	}
	status := http.StatusOK
	if !a.form.OK() {
		status = http.StatusBadRequest
	}
	return s.page(w, r, status, page.Acclimate(view.Page{Frame: fr, Title: p.Heading, At: view.Receive}, p))
}

// fillArrival takes the readings that somebody took: of the delivery's bag, and
// of the tank within a day.
func (s *Server) fillArrival(r *http.Request, a *acclimating) error {
	if id := r.Form.Get("delivery"); id != "" {
		c, err := s.Desk.Consignment(r.Context(), id)
		if err != nil {
			return err
		}
		a.delivery = c
		n, err := strconv.Atoi(given(r.Form, "bag", "0"))
		if err == nil && n >= 0 && n < len(c.Bags) {
			a.bag = c.Bags[n].Water
		}
	}
	if id := r.Form.Get("tank"); id != "" {
		t, err := s.Desk.Tank(r.Context(), id)
		if err != nil {
			return err
		}
		a.tankID = t.ID
		a.tank, a.tankWhen = stillKnown(t, s.Desk)
	}
	return nil
}

// read reads the form over what was recorded before.
func (a *acclimating) read() {
	f := a.form
	side := func(prefix string, w *holdfast.Water) water.Reading {
		for _, k := range arrivalReadings {
			if name := prefix + k.name; a.values.Has(name) {
				*k.at(w) = f.Number(name, form.Range{Low: k.low, High: k.high, Unit: k.unit})
			}
		}
		return water.Reading{TempC: w.TempC, PH: w.PH, ECUS: w.ECUS, GH: w.GH, KH: w.KH, TAN: w.TAN, O2: w.O2}
	}
	a.arrival = way.Arrival{Bag: side("bag_", &a.bag), Tank: side("tank_", &a.tank), Group: given(a.values, "group", a.usualGroup())}
	number := func(name string, low, high float64, unit string, usual float64) float64 {
		if !a.values.Has(name) {
			return usual
		}
		x := f.Number(name, form.Range{Low: low, High: high, Unit: unit})
		if x == nil {
			return 0
		}
		return *x
	}
	a.arrival.BagL, a.arrival.VesselL = number("bag_l", 0.02, 100, "L", 0), number("vessel_l", 0.05, 1000, "L", 0)
	a.arrival.Animals.MassG = number("mass", 0.001, 50, "g", guessedMassG)
	a.arrival.StepMinutes = number("step", 1, 120, "min", 20)
	if n := f.Count("count", 1, 100000, false); n != nil {
		a.arrival.Animals.Count = *n
	}
	a.start = a.now.Truncate(5 * time.Minute).Add(5 * time.Minute)
	if typed := f.Typed("start"); typed != "" {
		t, err := time.Parse("15:04", strings.TrimSpace(typed))
		if err != nil {
			f.Fault("start", fmt.Sprintf("%q is not a time of day.", clipped(typed)), "Write it as 14:40.")
		} else {
			a.start = time.Date(a.now.Year(), a.now.Month(), a.now.Day(), t.Hour(), t.Minute(), 0, 0, a.now.Location())
		}
	}
	if !f.OK() || a.arrival.BagL == 0 || a.arrival.VesselL == 0 || a.arrival.Animals.Count == 0 {
		return
	}
	plan, err := a.arrival.Plan()
	if err != nil {
		q := desk.ProblemOf(err)
		if to, ok := map[string]string{"animals": "count", "step_minutes": "step"}[q.Field]; ok {
			q.Field = to
		}
		f.Take(holdfast.Problems{q})
		return
	}
	a.plan = &plan
}

// clipped keeps a wrong text short.
func clipped(s string) string {
	if r := []rune(strings.ToValidUTF8(s, "?")); len(r) > 30 {
		return string(r[:30]) + "…"
	}
	return strings.ToValidUTF8(s, "?")
}

func (a *acclimating) usualGroup() string {
	if g := a.values.Get("species"); g != "" {
		if k, ok := known.Builtin().Kept(g); ok {
			return k.Group
		}
	}
	return "neocaridina"
}

func (a *acclimating) page() page.AcclimatePage {
	p := page.AcclimatePage{Heading: "Out of the bag", Action: "/acclimate#plan", Sheet: a.values.Get("sheet") == "1"}
	if a.delivery != nil {
		p.From = "Delivery " + a.delivery.ID + ", " + a.delivery.Supplier
	}
	for _, name := range []string{"delivery", "bag", "tank", "species"} {
		if v := a.values.Get(name); v != "" {
			p.Hidden = append(p.Hidden, view.Pair{Name: name, Value: v})
		}
	}
	shown := []view.Field{}
	field := func(name, label, unit, value, hint string) view.Field {
		out := view.Field{Name: name, Label: label, Unit: unit, Value: value, Hint: hint, Err: a.form.Err(name)}
		shown = append(shown, out)
		return out
	}
	side := func(prefix string, w *holdfast.Water, from string) []view.Field {
		var out []view.Field
		for _, k := range arrivalReadings {
			value, hint := a.form.Typed(prefix+k.name), ""
			if x := *k.at(w); x != nil && !a.values.Has(prefix+k.name) {
				value, hint = words.Number(*x, k.decimals), from
			}
			out = append(out, field(prefix+k.name, k.label, k.unit, value, hint))
		}
		return out
	}
	p.Bag = side("bag_", &a.bag, "As recorded when it was opened")
	p.Tank = side("tank_", &a.tank, "Measured "+a.tankWhen)
	p.Group = field("group", "Animals", "", a.arrival.Group, "Sets how fast they may be brought across.")
	p.Group.Half = true
	number := func(x float64) string {
		if x == 0 {
			return ""
		}
		return words.Number(x, 3)
	}
	p.More = []view.Field{
		field("count", "How many in this bag", "", a.form.Typed("count"), ""),
		field("mass", "One weighs about", "g", number(a.arrival.Animals.MassG), "A guess: 0.1 at 2 cm, 0.15 to 0.3 grown."),
		field("bag_l", "Bag water that goes along", "L", number(a.arrival.BagL), ""),
		field("vessel_l", "The vessel holds", "L", number(a.arrival.VesselL), "At least twice the bag water."),
		field("step", "Set anew every", "min", number(a.arrival.StepMinutes), "Or a cup poured this often."),
		field("start", "Begin at", "", a.start.Format("15:04"), ""),
		field("gas_l", "Gas in the closed bag", "L", a.form.Typed("gas_l"), "For how long its oxygen lasts."),
		field("hours", "Closed since", "h", a.form.Typed("hours"), ""),
	}
	p.Filled = field("filled", "Filled with", "", a.form.Typed("filled"), "")
	p.FilledAs = []view.Option{{Value: "oxygen", Label: "Oxygen from a cylinder"}, {Value: "air", Label: "Air"}}
	p.Ammonia = a.ammonia()
	p.Oxygen = a.oxygen()
	for i, f := range p.More { // oxygen reads its own
		p.More[i].Err = a.form.Err(f.Name)
	}
	if faults := view.Faults(slices.Concat(p.Bag, p.Tank, p.More, []view.Field{p.Group, p.Filled})...); len(faults) > 1 {
		p.Faults = faults
	}
	switch {
	case a.plan != nil:
		p.Plan = a.shown()
		q := url.Values{}
		for name, v := range a.values {
			q[name] = v
		}
		if !p.Sheet {
			q.Set("sheet", "1")
			p.SheetURL = "/acclimate?" + q.Encode()
		}
	case a.form.OK():
		p.Wait = "Write how many animals, how much bag water goes along and what the vessel holds; with every reading the plan says more."
	default:
		p.Wait = "Something that was typed cannot be; nothing is worked out until it is put right."
	}
	p.Beside = failing()[3:]
	return p
}

// ammonia says what the bag's ammonia is now and what it becomes with air.
func (a *acclimating) ammonia() []page.Fact {
	b := a.arrival.Bag
	if b.PH == nil && b.TAN == nil && b.TempC == nil {
		return nil
	}
	if b.PH == nil || b.TAN == nil || b.TempC == nil {
		return []page.Fact{{Mark: view.Unlooked, Name: "Not known.", Says: "It is worked out only when temperature, pH and total ammonia of the bag were all measured."}}
	}
	var alk *float64
	if b.KH != nil {
		x := *b.KH * water.MeqPerDegree
		alk = &x
	}
	rise, err := water.AmmoniaWhenAired(*b.PH, *b.TempC, *b.TAN, alk)
	if err != nil {
		return []page.Fact{{Mark: view.Unlooked, Name: "Not known.", Says: sentence(err)}}
	}
	mark := func(x float64) view.Mark {
		switch {
		case x >= water.AmmoniaAlarm.Value:
			return view.Late
		case x >= water.AmmoniaKeepBelow.Value:
			return view.Half
		}
		return view.Clear
	}
	out := []page.Fact{{Mark: mark(rise.Now.UnionizedMgLN), Name: "Now, closed:", Says: fmt.Sprintf("%s mg/l un-ionized, as nitrogen, at pH %s. Keepers stay below %s and act at %s (common practice).",
		words.Number(rise.Now.UnionizedMgLN, 4), words.Number(*b.PH, 2), words.Number(water.AmmoniaKeepBelow.Value, 2), words.Number(water.AmmoniaAlarm.Value, 2))}}
	if rise.Aired == nil {
		out = append(out, page.Fact{Mark: view.Unlooked, Name: "With air:", Says: "cannot be said: " + rise.Reason + "."})
	} else {
		times := rise.Aired.UnionizedMgLN / math.Max(rise.Now.UnionizedMgLN, 1e-12)
		out = append(out, page.Fact{Mark: mark(rise.Aired.UnionizedMgLN), Name: "With air:", Says: fmt.Sprintf("carbon dioxide leaves, pH rises to about %s, and it becomes %s mg/l, %s times as much.", words.Number(*rise.AiredPH, 1), words.Number(rise.Aired.UnionizedMgLN, 3), words.Number(times, 0))})
	}
	if a.arrival.Tank.PH != nil {
		at, err := water.AmmoniaAt(*a.arrival.Tank.PH, *b.TempC, *b.TAN, 0)
		if err == nil {
			out = append(out, page.Fact{Mark: mark(at.UnionizedMgLN), Name: "At the tank’s pH:", Says: fmt.Sprintf("%s mg/l, if the bag’s water took it on undiluted.", words.Number(at.UnionizedMgLN, 3))})
		}
	}
	return out
}

// oxygen says how long the closed bag lasts, if its gas was told.
func (a *acclimating) oxygen() []page.Fact {
	gas := a.form.Number("gas_l", form.Range{Low: 0, High: 200, Unit: "L"})
	hours := a.form.Number("hours", form.Range{Low: 0, High: 500, Unit: "h"})
	filled := a.form.OneOf("filled", []string{"oxygen", "air"}, false)
	if gas == nil || hours == nil {
		return nil
	}
	if a.arrival.Bag.TempC == nil || a.arrival.BagL == 0 || a.arrival.Animals.Count == 0 {
		return []page.Fact{{Mark: view.Unlooked, Name: "Not known.", Says: "It needs the bag’s temperature, its water and how many animals."}}
	}
	bag := way.Bag{WaterL: a.arrival.BagL, GasL: *gas, OxygenShare: way.FilledFromCylinder.Value, Animals: a.arrival.Animals, TempC: *a.arrival.Bag.TempC, Hours: *hours}
	if filled == "air" {
		bag.OxygenShare = 0.21
	}
	left, err := bag.Oxygen()
	if err != nil {
		return []page.Fact{{Mark: view.Unlooked, Name: "Not known.", Says: sentence(err)}}
	}
	mark := view.Clear
	late := fmt.Sprintf("The box may be %s later than now, at the safe end; %s in the middle.", lateWords(left.LateHours.Low), lateWords(left.LateHours.Value))
	if left.LateHours.Low <= 0 {
		mark, late = view.Late, "At the safe end its time is over: open this bag first."
	}
	return []page.Fact{
		{Mark: mark, Name: "Oxygen:", Says: fmt.Sprintf("from closing it lasts %s to %s h, until 2 mg/l. %s", words.Number(left.Hours.Low, 0), words.Number(left.Hours.High, 0), late)},
		{Mark: view.Half, Name: "Ammonia:", Says: fmt.Sprintf("the animals have given off about %s to %s mg/l of total ammonia as nitrogen so far.", words.Number(left.AmmoniaMgL.Low, 1), words.Number(left.AmmoniaMgL.High, 1))},
		{Mark: view.Unlooked, Name: "Not counted:", Says: "bacteria, dead animals, cold. The law is of a glass prawn’s size and temperature, no dwarf shrimp was measured."},
	}
}

func lateWords(h float64) string {
	if h <= 0 {
		return "not at all"
	}
	return words.Number(h, 0) + gap + "h"
}

// shown says the plan in big figures and as a table.
func (a *acclimating) shown() *page.AcclimatePlan {
	p := a.plan
	out := &page.AcclimatePlan{Care: p.Care, Missing: strings.Join(p.Missing, ", ")}
	for _, w := range p.Why {
		out.Why = append(out.Why, words.Capital(w)+".")
	}
	float := ""
	if p.FloatMinutes > 0 {
		float = fmt.Sprintf("First let the closed bag float for %s minutes. ", words.Number(math.Ceil(p.FloatMinutes), 0))
	}
	switch p.Way {
	case way.Straight:
		out.Number, out.With = words.Number(math.Ceil(p.FloatMinutes), 0)+gap+"min", "float, then net them across"
		out.Of = "The two waters are near enough to cross at once."
	case way.Matched:
		out.Number, out.With = "at once", "when it is opened: out into clean water matched to the bag, then drip"
		out.Of = fmt.Sprintf("%sThe drip then takes %s.", float, minuteWords(p.Minutes))
	default:
		out.Number, out.With = minuteWords(p.Minutes), "of drip"
		out.Of = float + fmt.Sprintf("%s of the difference an hour.", words.Percent(p.ShareAnHour))
	}
	out.Caution = "Bag water never goes into a tank and never outdoors. Air on, lid on, dim light."
	if m := p.Match; m != nil {
		if m.RaiseUS > 0 {
			out.Match = fmt.Sprintf("Matched water: the tank’s own, with salts for the tank to raise its conductivity by %s µS/cm.", words.Number(m.RaiseUS, 0))
		} else {
			out.Match = fmt.Sprintf("Matched water: %s of the tank’s water and %s of reverse-osmosis water.", words.Percent(m.TankShare), words.Percent(m.PureShare))
		}
	} else if p.Way == way.Matched {
		out.Match = "Matched water cannot be mixed for you: conductivity of bag and tank was not measured. Use clean, aged water as near to the bag as you can, at its temperature."
	}
	out.Bounds = a.bounds()
	if n := len(p.Steps); n > 0 {
		out.Table = a.steps()
		out.Last = fmt.Sprintf("At %s net them over into the tank: the last %s of the difference is crossed then. Pour the vessel’s water away, indoors, through a net.", a.clock(p.Minutes), words.Percent(p.LastShare))
	}
	return out
}

var (
	unitOf     = map[way.Property]string{way.Temperature: "°C", way.Conductivity: "µS/cm", way.GH: "°dH", way.KH: "°dH"}
	decimalsOf = map[way.Property]int{way.Temperature: 1, way.PH: 2, way.GH: 1, way.KH: 1}
)

// bounds says what each property allows; the slowest is marked.
func (a *acclimating) bounds() view.Ledger {
	l := view.Ledger{Caption: "What sets the pace", Columns: []view.Column{{Label: "Bag to tank"}, {Label: "An hour, at most", Num: true}, {Label: "Alone it takes", Num: true}}}
	for _, b := range a.plan.Bounds {
		if !b.Known && b.ShareAnHour == 0 {
			continue
		}
		name := view.Cell{Text: words.Capital(string(b.Property)), Below: "Not measured of both"}
		if b.Property == way.PH {
			name.Text = "pH"
		}
		if b.Property == a.plan.Slowest {
			name.Text, name.Needs = name.Text+": the slowest", true
		}
		hourly, alone := "as it is", "at once"
		decimals, unit := decimalsOf[b.Property], unitOf[b.Property]
		if b.Known {
			name.Below = words.Number(b.Bag, decimals) + " to " + words.Measure(b.Tank, decimals, unit)
			if b.Aired {
				name.Below += "; the bag’s as it is with air, since its carbon dioxide goes within minutes"
			}
		}
		switch {
		case !b.Known:
			hourly, alone = words.Percent(b.ShareAnHour)+" of it", minuteWords(b.Minutes)
		case b.Minutes > 0:
			hourly, alone = words.Measure(b.AnHour, decimals, unit), minuteWords(b.Minutes)
		}
		l.Rows = append(l.Rows, []view.Cell{name, {Text: hourly, Reck: true}, {Text: alone, Reck: true}})
	}
	return l
}

func minuteWords(m float64) string {
	if m < 90 {
		return words.Number(math.Ceil(m), 0) + gap + "min"
	}
	return fmt.Sprintf("%d:%02d"+gap+"h", int(m)/60, int(math.Ceil(m))%60)
}

func (a *acclimating) clock(minutes float64) string {
	return a.start.Add(time.Duration(minutes * float64(time.Minute))).Format("15:04")
}

// steps is the schedule, with a column for each reading that is known of both
// waters.
func (a *acclimating) steps() view.Ledger {
	l := view.Ledger{Caption: "The drip, step by step", Columns: []view.Column{{Label: "From"}, {Label: "Pour off first"}, {Label: "ml/min", Num: true}, {Label: "drops/s", Num: true}, {Label: "100 ml in", Num: true}, {Label: "or poured", Num: true}, {Label: "then holds", Num: true}, {Label: "tank’s share", Num: true}}}
	type column struct {
		label    string
		decimals int
		at       func(way.Step) *float64
		wrong    func(float64) bool
	}
	foul := func(x float64) bool { return x >= water.AmmoniaAlarm.Value }
	thin := func(x float64) bool { return x < water.OxygenEnough.Value }
	all := []column{
		{"°C", 1, func(s way.Step) *float64 { return s.Water.TempC }, nil}, {"pH", 2, func(s way.Step) *float64 { return s.Water.PH }, nil},
		{"µS/cm", 0, func(s way.Step) *float64 { return s.Water.ECUS }, nil}, {"GH", 1, func(s way.Step) *float64 { return s.Water.GH }, nil}, {"KH", 1, func(s way.Step) *float64 { return s.Water.KH }, nil},
		{"NH₃-N, mg/l, worst", 3, worstNH3, foul}, {"oxygen, mg/l, no air", 1, func(s way.Step) *float64 { return s.O2Still }, thin},
		{"with air stone, at least", 1, func(s way.Step) *float64 { return s.O2Aired }, thin},
	}
	var shown []column
	for _, c := range all {
		if slices.ContainsFunc(a.plan.Steps, func(s way.Step) bool { return c.at(s) != nil }) {
			shown = append(shown, c)
			l.Columns = append(l.Columns, view.Column{Label: c.label, Num: true})
		}
	}
	for _, s := range a.plan.Steps {
		pour := "–"
		if s.PourToL > 0 {
			pour = "to " + litreWords(s.PourToL)
		}
		row := []view.Cell{{Text: a.clock(s.StartMin)}, {Text: pour, Needs: s.PourToL > 0}, {Text: words.Number(s.MLPerMin, 1), Reck: true}, {Text: words.Number(s.DropsPerS, 1), Reck: true},
			{Text: secondWords(s.CupSeconds), Reck: true}, {Text: litreWords(s.AddL), Reck: true}, {Text: litreWords(s.VesselL), Reck: true}, {Text: words.Percent(s.TankShare), Reck: true}}
		for _, c := range shown {
			cell := view.Cell{Text: "–"}
			if x := c.at(s); x != nil {
				cell = view.Cell{Text: words.Number(*x, c.decimals), Reck: true, Needs: c.wrong != nil && c.wrong(*x)}
			}
			row = append(row, cell)
		}
		l.Rows = append(l.Rows, row)
	}
	return l
}

func worstNH3(s way.Step) *float64 {
	var worst *float64
	for _, x := range []*float64{s.NH3, s.NH3Aired, s.NH3TankPH} {
		if x != nil && (worst == nil || *x > *worst) {
			worst = x
		}
	}
	return worst
}

func secondWords(s float64) string {
	if s >= 120 {
		return words.Number(s/60, 0) + gap + "min"
	}
	return words.Number(s, 0) + gap + "s"
}
