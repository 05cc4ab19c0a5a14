package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/chart"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	known "holdfast/reference"
	"holdfast/science/water"
	"holdfast/science/water/dose"
)

// What can be worked out on the water page, as the form's "do" says it.
const (
	doHarden   = "harden"
	doPour     = "pour"
	doNitrate  = "nitrate"
	doChlorine = "chlorine"
)

// waterPage answers GET /water: hardening, mixing, changes against nitrate.
func (s *Server) waterPage(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	fr, err := s.frame(r)
	if err != nil {
		return err
	}
	b := &waterBuild{form: form.New(r.Form), values: r.Form, do: r.Form.Get("do")}
	p := page.WaterPage{Tasks: []page.WaterTask{b.harden(), b.pour(), b.nitrate(), b.chlorine()}, Targets: targets(),
		Cares:  []string{"Change slowly what animals live in: a conductivity that jumps by more than a fifth in an hour sets off moults and deaths (common practice). Water that held animals or medicine is never poured outdoors."},
		Beside: failing()[3:]}
	status := http.StatusOK
	if !b.form.OK() && b.typed() {
		status = http.StatusBadRequest
	}
	return s.page(w, r, status, page.Water(view.Page{Frame: fr, Title: "Water", At: view.Tanks, Width: view.Middle}, p))
}

// waterBuild reads and answers the questions of the page. Only the one that was
// sent is read; the others stand empty.
type waterBuild struct {
	form   *form.Form
	values url.Values
	do     string
	shown  []view.Field
}

// typed reports whether anything was typed: a question sent empty says what is
// needed, and nothing in it is wrong.
func (b *waterBuild) typed() bool {
	for name, v := range b.values {
		if name != "do" && name != "calcium" && name != "magnesium" && name != "bicarbonate" && strings.TrimSpace(v[0]) != "" {
			return true
		}
	}
	return false
}

func (b *waterBuild) task(do, heading, lead, button string) page.WaterTask {
	b.shown = nil
	return page.WaterTask{ID: do, Heading: heading, Lead: lead, Button: button, Open: b.do == do, Hidden: []view.Pair{{Name: "do", Value: do}}}
}

// field is a number of a question; a value stands only in the one that was
// sent.
func (b *waterBuild) field(do, name, label, unit, hint string) view.Field {
	f := view.Field{Name: name, ID: do + "-" + name, Label: label, Unit: unit, Hint: hint}
	if b.do == do {
		f.Value, f.Err = b.form.Typed(name), b.form.Err(name)
	}
	b.shown = append(b.shown, f)
	return f
}

func (b *waterBuild) number(name string, low, high float64, unit string, needed bool) float64 {
	if x := b.form.Number(name, form.Range{Low: low, High: high, Unit: unit, Needed: needed}); x != nil {
		return *x
	}
	return 0
}

// failed puts an error at its field, or above the form.
func (b *waterBuild) failed(t *page.WaterTask, err error) bool {
	if err == nil {
		return false
	}
	q := desk.ProblemOf(err)
	if to, ok := map[string]string{"gh_dh": "gh", "kh_dh": "kh", "ca_to_mg": "ratio", "volume": "litres"}[q.Field]; ok {
		q.Field = to
	}
	if q.Field == "" {
		t.Refused = words.Capital(q.Message) + "."
		return true
	}
	b.form.Take(holdfast.Problems{q})
	return true
}

func (b *waterBuild) close(t *page.WaterTask) {
	if faults := view.Faults(b.shown...); len(faults) > 1 {
		t.Faults = faults
	}
}

func (b *waterBuild) harden() page.WaterTask {
	t := b.task(doHarden, "Make soft water harder", "From reverse-osmosis or rain water: which salt, how much. Measure what it has; a membrane that leaks gives more than nothing.", "Work out the salts")
	if b.do == doHarden {
		h := water.Hardening{Litres: b.number("litres", 0.1, 100000, "L", true), FromGH: b.number("from_gh", 0, 60, "°dH", true), FromKH: b.number("from_kh", 0, 60, "°dH", true),
			GH: b.number("gh", 0, 60, "°dH", true), KH: b.number("kh", 0, 60, "°dH", true), CaToMg: b.number("ratio", 0.1, 100, "", false),
			Calcium: b.form.Typed("calcium"), Magnesium: b.form.Typed("magnesium"), Bicarbonate: b.form.Typed("bicarbonate")}
		if b.form.OK() {
			plan, err := h.Plan()
			if !b.failed(&t, err) {
				hardened(&t, h, plan)
			}
		}
	}
	t.Groups = []page.WaterFields{
		{Heading: "It has", Fields: []view.Field{b.field(doHarden, "litres", "Litres", "L", ""), b.field(doHarden, "from_gh", "Total hardness", "°dH", "As measured; 0 only if a test showed it"), b.field(doHarden, "from_kh", "Carbonate hardness", "°dH", "As measured")}},
		{Heading: "It is to have", Fields: []view.Field{b.field(doHarden, "gh", "Total hardness", "°dH", "See the table below"), b.field(doHarden, "kh", "Carbonate hardness", "°dH", ""), b.field(doHarden, "ratio", "Calcium to magnesium", "", "By count of ions; empty takes 3, as in most waters")}},
	}
	for _, pick := range []struct{ name, label, ion string }{{"calcium", "Calcium from", "Ca"}, {"magnesium", "Magnesium from", "Mg"}, {"bicarbonate", "Carbonate from", "HCO3"}} {
		f := b.field(doHarden, pick.name, pick.label, "", "")
		f.Half = true
		var options []view.Option
		for _, salt := range water.Salts() {
			if salt.Brings(pick.ion) {
				options = append(options, view.Option{Value: salt.ID, Label: salt.Name})
			}
		}
		t.Selects = append(t.Selects, page.WaterSelect{Field: f, Options: options})
	}
	b.close(&t)
	return t
}

func hardened(t *page.WaterTask, h water.Hardening, plan water.Hardened) {
	for _, s := range plan.Weigh {
		t.Big = append(t.Big, view.Big{Number: gramWords(s.Grams), Before: "of", Bold: words.MidSentence(s.Name), After: "into " + litreWords(h.Litres)})
	}
	if len(plan.Weigh) == 0 {
		t.Big = []view.Big{{Number: "0" + gap + "g", Before: "it has", Bold: "what is wanted", After: "already"}}
	}
	t.Table = &view.Ledger{Caption: "What the salts add", Columns: []view.Column{{Label: "Ion"}, {Label: "mg/l", Num: true}}}
	for _, i := range plan.Ions {
		t.Table.Rows = append(t.Table.Rows, []view.Cell{{Text: subscripts.Replace(i.Ion)}, {Text: words.Number(i.MgL, 1), Reck: true}})
	}
	t.Says = []string{fmt.Sprintf("They add about %s µS/cm to the conductivity, up to a fifth less where sulfate is much of it. Dissolve each by itself, bicarbonate last; air it for a day and measure before it meets animals.", words.Number(plan.ECRise, 0))}
}

// subscripts write the formulas of ions as people do.
var subscripts = strings.NewReplacer("SO4", "SO₄", "HCO3", "HCO₃")

// pourReadings are what two waters are compared by.
var pourReadings = someReadings("temp_c", "ph", "ec_us_cm", "gh_dh", "kh_dh", "tan_mg_l_n", "no3_mg_l")

func (b *waterBuild) pour() page.WaterTask {
	t := b.task(doPour, "Pour two waters together", "Everything but pH is the mean by litres. pH follows from alkalinity and total carbonate, and needs temperature, pH and carbonate hardness of both; it holds for water shut off from the air.", "Work out the mixture")
	if b.do == doPour {
		read := func(prefix string) water.Portion {
			out := water.Portion{Litres: b.number(prefix+"litres", 0.001, 100000, "L", true)}
			var w holdfast.Water
			for _, k := range pourReadings {
				*k.at(&w) = b.form.Number(prefix+k.name, form.Range{Low: k.low, High: k.high, Unit: k.unit})
			}
			out.Reading = water.Reading{TempC: w.TempC, PH: w.PH, ECUS: w.ECUS, GH: w.GH, KH: w.KH, TAN: w.TAN, NO3: w.NO3}
			return out
		}
		one, two := read("a_"), read("b_")
		if b.form.OK() {
			mixed, err := water.Mix(one, two)
			if !b.failed(&t, err) {
				poured(&t, one, two, mixed)
			}
		}
	}
	for _, side := range []struct{ prefix, heading string }{{"a_", "The first"}, {"b_", "The second"}} {
		g := page.WaterFields{Heading: side.heading, Fields: []view.Field{b.field(doPour, side.prefix+"litres", "Litres", "L", "")}}
		for _, k := range pourReadings {
			g.Fields = append(g.Fields, b.field(doPour, side.prefix+k.name, k.label, k.unit, ""))
		}
		t.Groups = append(t.Groups, g)
	}
	b.close(&t)
	return t
}

func poured(t *page.WaterTask, one, two water.Portion, mixed water.Reading) {
	w := holdfast.Water{TempC: mixed.TempC, PH: mixed.PH, ECUS: mixed.ECUS, GH: mixed.GH, KH: mixed.KH, TAN: mixed.TAN, NO3: mixed.NO3}
	t.Table = &view.Ledger{Caption: "The mixture", Columns: []view.Column{{Label: "Reading"}, {Label: "Mixture", Num: true}}}
	for _, k := range pourReadings {
		x := *k.at(&w)
		text := "not known of both"
		if x != nil {
			text = words.Number(*x, k.decimals) + " " + k.unit
		}
		t.Table.Rows = append(t.Table.Rows, []view.Cell{{Text: k.label}, {Text: text, Reck: x != nil}})
	}
	big := view.Big{Number: litreWords(one.Litres + two.Litres), Before: "of", Bold: "mixed water"}
	if mixed.PH != nil {
		big = view.Big{Number: words.Number(*mixed.PH, 2), Before: "is the", Bold: "pH", After: "of the mixture, shut off from the air"}
		if one.PH != nil && two.PH != nil {
			mean := (*one.PH*one.Litres + *two.PH*two.Litres) / (one.Litres + two.Litres)
			big.Below = "The mean of the two would be " + words.Number(mean, 2) + " and is wrong."
		}
	}
	t.Big = []view.Big{big}
	t.Says = []string{"Air then takes it on its own way: with carbonate hardness the pH rises or falls until carbon dioxide is in balance."}
}

func (b *waterBuild) nitrate() page.WaterTask {
	t := b.task(doNitrate, "Water changes against nitrate", "How much to change, how often, so that nitrate settles below a limit.", "Work out the changes")
	if b.do == doNitrate {
		n := water.Nitrate{RiseMgLDay: b.number("rise", 0, 100, "mg/l", true), SourceMgL: b.number("source", 0, 500, "mg/l", true), LimitMgL: b.number("limit", 0.1, 500, "mg/l", true)}
		every, now := b.number("every", 0.5, 60, "d", true), b.number("now", 0, 1000, "mg/l", false)
		if b.form.OK() {
			share, err := n.Share(every)
			if !b.failed(&t, err) {
				nitrated(&t, n, share, every, now, b.form.Typed("now") != "")
			}
		}
	}
	t.Groups = []page.WaterFields{{Fields: []view.Field{
		b.field(doNitrate, "rise", "It rises a day by", "mg/l", "From two readings without a change between"), b.field(doNitrate, "source", "New water has", "mg/l", "As measured"),
		b.field(doNitrate, "limit", "At most", "mg/l", "Keepers stay below 20 to 40 (common practice)"), b.field(doNitrate, "every", "Changed every", "d", ""), b.field(doNitrate, "now", "It is now", "mg/l", "Empty if not measured"),
	}}}
	b.close(&t)
	return t
}

func nitrated(t *page.WaterTask, n water.Nitrate, share, every, now float64, known bool) {
	t.Big = []view.Big{{Number: words.Percent(share), Before: "of the water", Bold: "every " + words.Measure(every, 1, "days"), After: "", Below: "It then settles at " + words.Measure(n.LimitMgL, 1, "mg/l") + " just before a change."}}
	if share > 0.5 {
		t.Says = append(t.Says, "More than half at a time is hard on the animals: change more often instead.")
	}
	if !known {
		t.Says = append(t.Says, "With today’s reading the way there can be drawn.")
		return
	}
	const changes = 8
	course := n.Course(now, share, every, changes)
	series := chart.Series{Unit: "mg/l", FromZero: true, Line: n.LimitMgL, LineWords: "limit", Says: fmt.Sprintf("Nitrate over %d changes, from %s to %s mg/l.", changes, words.Number(now, 0), words.Number(course[len(course)-1], 0))}
	series.Points = []chart.SeriesPoint{{Day: 0, Value: now}}
	for i, v := range course {
		series.Points = append(series.Points, chart.SeriesPoint{Day: every * float64(i/2+1), Value: v})
	}
	for i := range changes + 1 {
		series.Ticks = append(series.Ticks, chart.SeriesTick{Day: every * float64(i), Words: "day " + words.Number(every*float64(i), 0)})
	}
	t.Wide, t.Tall, t.Caption = series.Wide(), series.Tall(), "Nitrate before and after each change."
}

func (b *waterBuild) chlorine() page.WaterTask {
	t := b.task(doChlorine, "Take chlorine out of a tub", "After nets and tools lay in chlorine: how much thiosulfate takes it out of the tub.", "Work out the thiosulfate")
	if b.do == doChlorine {
		litres, mgL := b.number("litres", 0.1, 10000, "L", true), b.number("chlorine", 0.1, 10000, "mg/l", true)
		if b.form.OK() {
			grams, err := dose.Thiosulfate(litres, mgL)
			if !b.failed(&t, err) {
				t.Big = []view.Big{{Number: gramWords(1.5 * grams), Before: "of", Bold: "sodium thiosulfate pentahydrate", After: "into " + litreWords(litres), Below: gramWords(grams) + " by the sum, and half as much again to be sure"}}
				t.Says = []string{"Gloves and eye protection; never together with acid. Then rinse and dry: a test strip must show no chlorine."}
			}
		}
	}
	t.Groups = []page.WaterFields{{Fields: []view.Field{b.field(doChlorine, "litres", "Water in the tub", "L", ""), b.field(doChlorine, "chlorine", "Chlorine in it", "mg/l", "60 and more for an hour; eggs of a sea-fish worm needed it")}}}
	b.close(&t)
	return t
}

// targets is what each kind is kept in.
func targets() view.Ledger {
	l := view.Ledger{Caption: "Ranges in which each kind is kept (common practice unless the reference says otherwise)", Fold: true,
		Columns: []view.Column{{Label: "Kind"}, {Label: "°C", Num: true}, {Label: "pH", Num: true}, {Label: "GH, °dH", Num: true}, {Label: "KH, °dH", Num: true}, {Label: "µS/cm", Num: true}}}
	for _, k := range known.Species() {
		cell := func(s known.Span) view.Cell {
			if s.From == "" {
				return view.Cell{Text: "–"}
			}
			return view.Cell{Text: words.Number(s.Low, 1) + " to " + words.Number(s.High, 1)}
		}
		l.Rows = append(l.Rows, []view.Cell{{Text: k.Name, URL: "/reference/species/" + k.ID}, cell(k.Needs.TempC), cell(k.Needs.PH), cell(k.Needs.GH), cell(k.Needs.KH), cell(k.Needs.Conductivity)})
	}
	return l
}
