package web

import (
	"fmt"
	"math"
	"net/url"
	"slices"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/chart"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	known "holdfast/reference"
	"holdfast/science/ref"
	"holdfast/science/water/dose"
)

// base is the address of the page.
func (m *mixing) base() string {
	switch {
	case m.lot != nil:
		return lotURL(m.lot.ID) + "/mix"
	case m.tank != nil:
		return tankURL(m.tank.ID) + "/mix"
	}
	return "/mix"
}

func (m *mixing) page(t tried) (page.MixPage, error) {
	p := page.MixPage{Heading: "Mix", Ask: m.ask()}
	if m.ingredient != nil {
		p.Heading = m.ingredient.Name
	}
	switch {
	case m.lot != nil:
		p.From = lotName(m.lot)
		if m.tank != nil {
			p.From += ", " + tankCalled(m.tank.Name)
		}
		p.Whom = m.sieves()
	case m.tank != nil:
		p.From = tankCalled(m.tank.Name)
	}
	if m.how() == "dip" {
		p.Below = "A dip is made in a bowl, by the watch: it has a page of its own."
	}
	if m.mix == nil || !m.form.OK() || (m.typed.Strength == "" && m.label == nil) {
		p.Wait = "Read the strength off the label first. A 5 % product is twenty times the powder of a pure one, and nothing is worked out before it is known."
		if !m.form.OK() {
			p.Wait = "Something that was typed cannot be; nothing is worked out until it is put right."
		} else if m.typed.Strength != "" {
			p.Wait = "Write how much water there is and what is wanted in each litre."
		}
	} else {
		p.Dose = m.dosed()
	}
	var err error
	stop := ""
	if p.Stops, stop, err = m.stops(); err != nil {
		return p, err
	}
	if p.Dose != nil && stop != "" {
		p.Dose.Held = joined("Stop before anything is weighed.", stop)
	}
	if m.ingredient != nil && m.ingredient.Standing == dose.Never {
		p.Dose, p.Wait = nil, m.ingredient.Name+" kills shrimp and snails in traces: nothing of it is mixed here."
	}
	if m.lot != nil && m.lot.Status == holdfast.Closed {
		p.Stops = append([]page.Fact{{Mark: view.Stop, Name: "The lot is closed.", Says: "Nobody is left to treat."}}, p.Stops...)
	} else if m.lot != nil && m.mix != nil && p.Dose != nil && m.how() == "bath" {
		if p.Give, p.Shut, err = m.give(t, stop != ""); err != nil {
			return p, err
		}
	}
	if m.run != nil && p.Dose != nil {
		p.Days = m.days()
	}
	if p.Dose != nil {
		p.Ask.Typed = m.typedSays()
	}
	if m.tank != nil && m.who == forLot {
		parts, _, _ := volumeSays(m.tank)
		p.Water, p.WaterURL = &parts, tankURL(m.tank.ID)+"#volume"
	}
	p.Cares, p.Beside = mixCares(), m.beside()
	p.Others = m.others()
	return p, nil
}

// typedSays is in short what the dose follows from.
func (m *mixing) typedSays() string {
	parts := []string{m.typed.Strength, m.typed.Target, m.typed.Volume}
	if m.typed.For != "" && m.how() == "bath" {
		parts = append(parts, m.typed.For)
	}
	if m.typed.Change != "" {
		parts = append(parts, m.typed.Change+" changed")
	}
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), ", ")
}

func (m *mixing) sieves() []view.Sieve {
	q := url.Values{}
	for name, value := range map[string]string{"ingredient": m.typed.Ingredient, "strength": m.typed.Strength, "target": m.typed.Target, "task": m.task} {
		if value != "" {
			q.Set(name, value)
		}
	}
	var all []view.Sieve
	for _, w := range []struct{ who, label string }{{forTrial, "3 to 5 animals first"}, {forLot, "The whole lot"}} {
		q.Set("who", w.who)
		all = append(all, view.Sieve{Label: w.label, Count: -1, Current: m.who == w.who, URL: m.base() + "?" + q.Encode()})
	}
	return all
}

// spoons are spoons by name; their size depends on the country.
var spoons = []view.Option{
	{Value: "", Label: "No: I weigh it"},
	{Value: "tsp_metric", Label: "Teaspoon, metric (5 ml)"}, {Value: "tbsp_metric", Label: "Tablespoon, metric (15 ml)"},
	{Value: "tsp_us", Label: "Teaspoon, US (4.9 ml)"}, {Value: "tbsp_us", Label: "Tablespoon, US (14.8 ml)"},
	{Value: "tbsp_au", Label: "Tablespoon, Australian (20 ml)"},
}

var powders = []view.Option{
	{Value: string(dose.TableSalt), Label: "Table salt"}, {Value: string(dose.FineSalt), Label: "Fine sea salt"}, {Value: string(dose.Flakes), Label: "Coarse flakes"},
}

func (m *mixing) ask() page.MixAsk {
	field := func(name, label, value, hint string) view.Field {
		return view.Field{Name: name, Label: label, Value: value, Hint: hint, Err: m.form.Err(name), Max: 80}
	}
	t := m.typed
	a := page.MixAsk{Action: m.base() + "#dose", Hidden: []view.Pair{{Name: "who", Value: m.who}}}
	if m.task != "" {
		a.Hidden = append(a.Hidden, view.Pair{Name: "task", Value: m.task})
	}
	if m.tank != nil && m.lot != nil && len(m.lot.Places) > 1 {
		a.Hidden = append(a.Hidden, view.Pair{Name: "tank", Value: m.tank.ID})
	}
	a.Strength = field("strength", "How strong is this product? Copy it from the label", t.Strength, "Such as 50 %, 5 % w/v, 50 mg/ml, 50 mg per tablet. 100 % is the pure substance. Empty only for a label’s own rate, such as 1 tablet per 40 l.")
	a.Strength.Wide = true
	a.Ingredient = view.Field{Name: "ingredient", Label: "Active ingredient", Value: t.Ingredient, Err: m.form.Err("ingredient"), Half: true}
	a.Known = ingredientOptions()
	target := field("target", "Wanted in each litre", t.Target, "")
	if u := m.use(); u != nil {
		target.Hint = dose.MgLText(u.LowMgL) + " to " + dose.MgLText(u.HighMgL) + " is met in practice."
	} else {
		target.Hint = "Only its own label gives a dose: 1 tablet per 40 l, 2.5 mg/l."
	}
	volume := field("volume", "Water really in it", t.Volume, "With its unit: 47.5 l, 12 gal_us, 10 gal_imp, 1 cup_us.")
	if m.who == forTrial {
		volume.Label, volume.Hint = "Water in the trial’s vessel", "The tank’s own water, about 2 l for five animals, air on."
	}
	a.Fields = []view.Field{target, volume, field("for", "For", t.For, m.forHint())}
	a.Spoon, a.Spoons = field("spoon", "No scale at hand?", m.form.Typed("spoon"), "For salt only, and never well."), spoons
	a.Powder, a.Powders = field("powder", "Which salt", m.form.Typed("powder"), ""), powders
	a.Finer = []view.Field{
		field("volume-error", "Water may be off by", t.VolumeError, "Either way, such as 3 %."),
		field("scale", "Smallest step of your scale or syringe", m.form.Typed("scale"), m.scaleHint()),
		field("change", "Water changes meanwhile", t.Change, "Such as 30 % every 3 d; each is dosed up again."),
		field("redose", "Dosed up every", t.Redose, "Such as 2 d. Empty: after each change only."),
		field("half-life", "Half of it fades in", t.HalfLife, m.fadeHint()),
		field("absorb", "Half is taken up in", t.Absorb, "By substrate, plants, plastic; such as 10 d. Empty: not at all."),
		field("residue", "Harmless residue", m.form.Typed("residue"), "Empty: a twentieth of what is wanted. Judgement."),
	}
	a.FinerOpen = m.form.Typed("spoon") != ""
	all := []view.Field{a.Strength, a.Ingredient, target, volume, a.Fields[2]}
	for _, f := range append(a.Finer, a.Spoon, a.Powder) {
		a.FinerOpen = a.FinerOpen || f.Err != ""
	}
	if faults := view.Faults(append(all, append(a.Finer, a.Spoon, a.Powder)...)...); len(faults) > 1 {
		a.Faults = faults
	}
	return a
}

func ingredientOptions() []view.Option {
	all := []view.Option{}
	for _, i := range dose.Ingredients() {
		switch {
		case i.Standing == dose.Never, i.Use("tools") != nil:
			continue // nothing of the kind is ever mixed for a tank
		case i.Standing == dose.Avoid:
			all = append(all, view.Option{Value: i.ID, Label: i.Name + " (better not)"})
		default:
			all = append(all, view.Option{Value: i.ID, Label: i.Name})
		}
	}
	return append(all, view.Option{Value: "", Label: "Something else"})
}

func (m *mixing) forHint() string {
	if u := m.use(); u != nil && u.Form == "bath" {
		return fmt.Sprintf("%s to %s h is met in practice.", words.Number(u.HoursLow, 0), words.Number(u.HoursHigh, 0))
	}
	return "Such as 48 h or 3 d."
}

func (m *mixing) scaleHint() string {
	if m.shop.ScaleG > 0 {
		return "Empty takes the shop’s scale, " + words.Measure(m.shop.ScaleG, 4, "g") + "."
	}
	return "Such as 0.01 g or 0.1 ml; empty takes these. The shop’s own stands in the settings."
}

func (m *mixing) fadeHint() string {
	if i := m.ingredient; i != nil && i.HalfLife != nil {
		return fmt.Sprintf("Seen from %s to %s d; nobody measured it in your water.", words.Number(i.HalfLife.LowD, 1), words.Number(i.HalfLife.HighD, 1))
	}
	return "Empty: it does not fade."
}

// amountWords says an amount of a product as it lies in the hand.
func amountWords(x float64, u dose.Unit) string {
	switch u {
	case dose.Tablet, dose.Dose:
		return quarters(x) + gap + plural(x, string(u))
	case dose.Millilitre:
		return words.Number(x, 2) + gap + "ml"
	}
	return gramWords(x)
}

const gap = "\u00a0"

func gramWords(g float64) string {
	switch {
	case g >= 1000:
		return words.Number(g/1000, 3) + gap + "kg"
	case g >= 100:
		return words.Number(g, 1) + gap + "g"
	case g >= 1:
		return words.Number(g, 2) + gap + "g"
	case g < 0.001:
		return words.Number(g*1000, 3) + gap + "mg"
	}
	return words.Number(g, 3) + gap + "g"
}

func plural(x float64, one string) string {
	if x <= 1 { // half a tablet
		return one
	}
	return one + "s"
}

// quarters says a count in quarters: "2¾".
func quarters(x float64) string {
	whole := math.Floor(x + 1e-9)
	part := map[float64]string{0.25: "¼", 0.5: "½", 0.75: "¾"}[math.Round((x-whole)*100)/100]
	switch {
	case part == "":
		return words.Number(x, 2)
	case whole == 0:
		return part
	}
	return words.Number(whole, 0) + part
}

// dosed says the dose in big figures.
func (m *mixing) dosed() *page.MixDose {
	mix := m.mix
	d := &page.MixDose{Number: amountWords(mix.InHand, mix.Unit), Caution: m.caution()}
	if m.who == forLot && m.lot != nil && !m.shotOpen() {
		d.Held = "Not yet for the lot. " + m.shutSays()
	}
	switch mix.Unit {
	case dose.Gram:
		d.With = "on the scale, of the " + m.course.Strength.Text + " product"
		other := mix.AtOtherStrength(1, 0.05)
		d.Strength = fmt.Sprintf("Strength %s. At 100 %% it would be %s, at 5 %% %s. Same tub in your hand? Read it again.", m.course.Strength.Text, gramWords(other[0]), gramWords(other[1]))
	case dose.Millilitre:
		d.With = "in a syringe, of the " + strengthWords(m)
	default:
		d.With = "of the product, as the label counts them"
	}
	d.Of = fmt.Sprintf("for %s of water", litreWords(m.volume().Litres))
	if mix.ActiveMg > 0 {
		d.Of = fmt.Sprintf("%s of active ingredient, for %s of water", gramWords(mix.ActiveMg/1000), litreWords(m.volume().Litres))
	}
	if !mix.Direct {
		m.small(d)
	}
	if m.spoon != nil {
		d.Number, d.With = quarters(m.spoon.Spoons), spoonful(m.spoon)
		d.Caution = fmt.Sprintf("They hold %s to %s; wanted are %s. A scale is the way: weigh it where you can.", gramWords(m.spoon.LowG), gramWords(m.spoon.HighG), gramWords(mix.Amount))
	}
	d.Lines = m.lines()
	return d
}

// small says how to measure less than the scale can weigh.
func (m *mixing) small(d *page.MixDose) {
	mix := m.mix
	switch {
	case mix.Stock != nil:
		s := mix.Stock
		d.First = fmt.Sprintf("Too little for this scale (%s). First a stock: weigh %s into water up to %s.", gramWords(mix.Amount), gramWords(s.WeighG), mlWords(s.InML))
		d.Number, d.With = mlWords(s.TakeML), "of that stock is the dose"
		if s.Suspended {
			d.With += ": it does not dissolve, shake and draw at once"
		}
	case mix.NoStock != "":
		d.First = fmt.Sprintf("Too little for this scale (%s), and no stock helps: %s.", gramWords(mix.Amount), mix.NoStock)
		d.Number, d.With = "–", "a finer scale is needed"
	default:
		d.First = fmt.Sprintf("%s is too little to measure well: thin the product tenfold first, and type the thinner strength.", amountWords(mix.Amount, mix.Unit))
	}
}

func strengthWords(m *mixing) string {
	if m.label != nil {
		return "product, as its label says"
	}
	return m.course.Strength.Text + " product"
}

// spoonful names the spoon beside the number of them.
func spoonful(s *dose.Spoonful) string {
	word, size := "tablespoon", ""
	if strings.HasPrefix(s.Spoon, "tsp") {
		word = "teaspoon"
	}
	for _, o := range spoons {
		if o.Value == s.Spoon {
			_, size, _ = strings.Cut(o.Label, ", ")
		}
	}
	if s.Spoons > 1 {
		word += "s"
	}
	return "level " + word + ", " + size + ". A guess: weigh it where you can"
}

func litreWords(l float64) string {
	if l < 0.9995 {
		return words.Number(l*1000, 0) + gap + "ml"
	}
	return words.Number(l, 1) + gap + "L"
}

func mlWords(ml float64) string {
	if ml >= 1000 {
		return words.Number(ml/1000, 2) + gap + "L"
	}
	return words.Number(ml, 1) + gap + "ml"
}

// lines say what rounding and the doubt of the water do to it.
func (m *mixing) lines() []string {
	mix := m.mix
	var out []string
	if m.label != nil {
		out = append(out, "The label’s rate does not say how much active ingredient there is, so nothing is known of the water in mg/l.")
	}
	if mix.Amount > 0 && mix.Direct {
		say := fmt.Sprintf("Exactly it is %s; measured in steps of %s it is %s", amountWords(mix.Amount, mix.Unit), amountWords(m.course.Measure.Step, mix.Unit), amountWords(mix.InHand, mix.Unit))
		if off := math.Abs(mix.Rounding); off < 0.0005 {
			say += ", as good as exact."
		} else {
			say += fmt.Sprintf(", %s %s.", words.Percent(off), map[bool]string{true: "too much", false: "too little"}[mix.Rounding > 0])
		}
		out = append(out, say)
	}
	if mix.MgL > 0 {
		say := "That makes " + dose.MgLText(mix.MgL)
		if mix.High > mix.Low*1.0005 {
			say += fmt.Sprintf(", between %s and %s as the water may be off by %s", dose.MgLText(mix.Low), dose.MgLText(mix.High), m.typed.VolumeError)
		}
		out = append(out, say+".")
	}
	if mix.Unit == dose.Millilitre && mix.InHand < 2 {
		drops := mix.Amount / 0.05
		out = append(out, fmt.Sprintf("About %s drops, if a drop is 0.05 ml; it may be half or twice that.", words.Number(drops, 0)))
	}
	if mix.DissolveL > 0 {
		out = append(out, fmt.Sprintf("It dissolves for sure in %s; in less, grains may stay and lie on the ground.", litreWords(math.Max(mix.DissolveL, 0.001))))
	}
	return out
}

// caution is the one that stands beside the number.
func (m *mixing) caution() string {
	if m.ingredient == nil {
		return "Go by its label; ask an aquatic veterinarian whether shrimp bear it."
	}
	for _, n := range m.ingredient.Notes {
		if n.About == "people" && n.Say != "Nothing special." {
			return n.Say + " Read the label."
		}
	}
	return "Read the label. Stop at the first sign: " + dose.StopSigns()[1] + "."
}

func (m *mixing) shotOpen() bool {
	return desk.OpeningFor(m.lot, m.treatment(m.course.MgL), m.s.Desk.Now()).Open
}

func (m *mixing) shutSays() string {
	o := desk.OpeningFor(m.lot, m.treatment(m.course.MgL), m.s.Desk.Now())
	if t := o.Trial; t != nil && !t.Gate.OpensAt.IsZero() {
		zone, err := m.s.Desk.Zone(m.ctx)
		if err == nil {
			return fmt.Sprintf("%d are on trial since %s. It opens at a look after %s that finds all of them walking.", t.Given.Count, words.Moment(t.At.In(zone)), words.Moment(t.Gate.OpensAt.In(zone)))
		}
	}
	return o.Says
}

// stops are what the rules say, with what the desk knows by itself; stop is
// what speaks against the dose as it was typed, or empty.
func (m *mixing) stops() (all []page.Fact, stop string, err error) {
	if m.ingredient == nil || m.course.MgL <= 0 {
		return nil, "", nil
	}
	var found []dose.Finding
	w, when := stillKnown(m.tank, m.s.Desk)
	if m.lot != nil {
		t := m.treatment(m.course.MgL)
		t.TempC = w.TempC
		tank := ""
		if m.tank != nil {
			tank = m.tank.ID
		}
		found, err = m.s.Desk.Findings(m.ctx, m.lot, tank, t, desk.Facts{With: m.knownWith(), O2: w.O2}, m.s.Desk.Now(), "")
	} else {
		found, err = dose.Check(dose.Proposal{Ingredient: m.ingredient.ID, Form: m.how(), MgL: m.course.MgL, Hours: 24 * m.course.Days, TempC: w.TempC, O2: w.O2})
	}
	if err != nil {
		return nil, "", err
	}
	var out []page.Fact
	for _, f := range found {
		out = append(out, findingFact(f))
		if f.Level == dose.Refuse && f.Code != desk.CodeTrial && stop == "" {
			stop = f.Say
		}
	}
	for _, h := range m.ingredient.Harms {
		if h.Whom != dose.Shrimp && !slices.ContainsFunc(found, func(f dose.Finding) bool { return f.Code == "harms_"+string(h.Whom) }) {
			out = append(out, page.Fact{Mark: view.Unlooked, Name: words.Capital(companyWords[h.Whom]) + " in it?", Says: h.Say})
		}
	}
	if when != "" && (w.TempC != nil || w.O2 != nil) {
		out = append(out, page.Fact{Mark: view.Clear, Name: "Water", Says: tellWater(holdfast.Water{TempC: w.TempC, O2: w.O2}) + ", measured " + when + "."})
	}
	return out, stop, nil
}

var companyWords = map[dose.Company]string{
	dose.Shrimp: "shrimp", dose.Berried: "berried females", dose.FreshMoult: "animals that moulted within 48 hours", dose.Juvenile: "young under 10 mm",
	dose.Weak: "weak animals, or within a day or two of a long journey", dose.SoftWater: "animals from very soft water", dose.Snail: "snails", dose.Plant: "plants",
	dose.Fish: "fish", dose.ScalelessFish: "fish without scales", dose.FilterBacteria: "a filter that works",
}

// findingFact draws a finding: refusals stop, warnings wait, questions are
// broken rings.
func findingFact(f dose.Finding) page.Fact {
	out := page.Fact{Mark: map[dose.Level]view.Mark{dose.Refuse: view.Stop, dose.Warn: view.Half, dose.Ask: view.Unlooked}[f.Level], Says: f.Say + " (" + originOf(f.From) + ")"}
	out.Name = map[dose.Level]string{dose.Refuse: "Stop.", dose.Warn: "Mind.", dose.Ask: "Not known."}[f.Level]
	if f.Code == desk.CodeTrial {
		out.Name = "Trial first."
	}
	return out
}

// originOf is a source in words.
func originOf(from string) string {
	if s, ok := ref.Lookup(from); ok {
		author, _, _ := strings.Cut(s.Citation, ",")
		author, _, _ = strings.Cut(author, " (")
		return author
	}
	return from
}

// wanted is what the course begins with, in mg/l; of a label's rate, where that is
// not known, one whole dose.
func (m *mixing) wanted() float64 {
	if m.label != nil {
		return 1
	}
	return m.course.MgL
}

// inWater says how much of it is in the water: mg/l, or shares of a label's dose.
func (m *mixing) inWater(x float64) string {
	if m.label != nil {
		return words.Percent(x) + " of a dose"
	}
	return dose.MgLText(x)
}

// days draws the course.
func (m *mixing) days() *page.MixDays {
	run, wanted := m.run, m.wanted()
	series := chart.Series{Unit: "mg/l", Points: points(run.Curve, func(p dose.Point) float64 { return p.MgL }),
		Line: wanted, LineWords: "wanted", FromZero: true, Decimals: 2,
		Says: fmt.Sprintf("What is in the water over %s days: it begins at %s and ends at %s.", words.Number(m.course.Days, 1), m.inWater(wanted), m.inWater(run.EndMgL))}
	if m.label != nil {
		series.Unit = "doses"
	} else if u := m.use(); u != nil && u.Form == "bath" {
		series.Low, series.High, series.BandWords = u.LowMgL, u.HighMgL, "met in practice"
	}
	if math.Abs(run.Mix.Rounding) > 0.005 {
		series.Also, series.AlsoWords = points(run.Curve, func(p dose.Point) float64 { return p.WeighedMgL }), "as weighed"
	}
	if wanted >= 1000 {
		series.Unit = "g/l"
		for _, ps := range [][]chart.SeriesPoint{series.Points, series.Also} {
			for i := range ps {
				ps[i].Value /= 1000
			}
		}
		series.Line, series.Low, series.High = series.Line/1000, series.Low/1000, series.High/1000
	}
	step := math.Max(1, math.Ceil(m.course.Days/7))
	for day := 0.0; day <= m.course.Days+1e-9; day += step {
		series.Ticks = append(series.Ticks, chart.SeriesTick{Day: day, Words: "day " + words.Number(day, 0)})
	}
	out := &page.MixDays{Wide: series.Wide(), Tall: series.Tall(), Caption: "How much is in the water if it fades as assumed. How fast it really fades in this tank nobody knows before it is measured."}
	out.Table = view.Ledger{Caption: "What is in the water", Columns: []view.Column{{Label: "Day"}, {Label: "If exact", Num: true}, {Label: "As weighed", Num: true}, {Label: "After"}}}
	again := 0
	for _, p := range run.Curve {
		after := map[dose.Happening]string{dose.Dosed: "the first dose", dose.Changed: "the water change"}[p.After]
		if p.After == dose.Redosed {
			after = "a further dose, " + amountWords(run.Redoses[again].InHand, run.Mix.Unit)
			again++
		}
		out.Table.Rows = append(out.Table.Rows, []view.Cell{{Text: words.Number(p.Day, 2)}, {Text: m.inWater(p.MgL), Reck: true}, {Text: m.inWater(p.WeighedMgL), Reck: true}, {Text: after}})
	}
	for _, r := range run.Redoses {
		out.Redoses = append(out.Redoses, fmt.Sprintf("Day %s: %s more (exactly %s).", words.Number(r.Day, 2), amountWords(r.InHand, run.Mix.Unit), amountWords(r.Amount, run.Mix.Unit)))
	}
	if len(run.Redoses) == 0 {
		out.Redoses = []string{fmt.Sprintf("At its end %s are left, %s of what was wanted. Topping up what evaporated takes nothing out.", m.inWater(run.EndMgL), words.Percent(run.EndMgL/wanted))}
	}
	if m.label != nil {
		out.Caption = "Shares of the label’s dose: how much is in the water in mg/l is not known. How fast it really fades in this tank nobody knows either."
		out.Redoses = append(out.Redoses, "The label may say itself when to dose again: then that holds.")
	}
	if m.lot != nil && m.who == forLot && len(run.Redoses) > 0 {
		out.Redoses = append(out.Redoses, "Given from here, each stands on the round on its day"+map[bool]string{false: ", reckoned anew from what was really weighed and changed until then.", true: ", as planned here."}[m.label != nil])
	}
	out.End = m.ending()
	return out
}

// points turns a curve into a drawing's, days along.
func points(curve []dose.Point, of func(dose.Point) float64) []chart.SeriesPoint {
	out := make([]chart.SeriesPoint, len(curve))
	for i, p := range curve {
		out[i] = chart.SeriesPoint{Day: p.Day, Value: of(p)}
	}
	return out
}

// endShare of the water is changed at a time at the end of a bath. Judgement.
const endShare = 0.3

// residueMgL is what may stay in the water at the end.
func (m *mixing) residueMgL() float64 {
	if m.residue > 0 && m.label == nil {
		return m.residue
	}
	return m.wanted() / 20
}

// ending says when carbon goes back and how much water to change.
func (m *mixing) ending() []string {
	from, residue := m.run.EndMgL, m.residueMgL()
	var out []string
	if i := m.ingredient; i != nil && slices.Contains(i.Spares, "egg_row") && len(i.Kills) > 0 {
		out = append(out, "It spares eggs. Common practice repeats it after two to three weeks, when they have hatched and before the young lay; a course planned for the lot reckons the day.")
	}
	out = append(out, fmt.Sprintf("Carbon goes back when the time is full, after %s, and not before; out again before the next bath.", spanWords(24*m.course.Days)))
	if residue >= from {
		return append(out, fmt.Sprintf("What is left then, %s, is below %s without any change.", m.inWater(from), m.inWater(residue)))
	}
	clear, err := m.course.Clear(from, residue, endShare)
	if err != nil {
		return out
	}
	say := fmt.Sprintf("From %s to below %s: %s of %s, or %s at once.", m.inWater(from), m.inWater(residue), words.Plural(clear.Changes, "water change", "water changes"), words.Percent(endShare), words.Percent(clear.OnceShare))
	if clear.WaitDays != nil {
		say += fmt.Sprintf(" Without any change it would take %s days.", words.Number(*clear.WaitDays, 1))
	}
	return append(out, say)
}

func spanWords(hours float64) string {
	switch {
	case hours >= 48:
		return words.Number(hours/24, 1) + gap + "days"
	case hours >= 1:
		return words.Number(hours, 1) + gap + "h"
	}
	return words.Number(hours*3600, 0) + gap + "s"
}

func mixCares() []string {
	return []string{
		"Follow the label and your local law, and ask an aquatic veterinarian: nothing here is licensed for ornamental shrimp as far as is known. Never pour medicated water outdoors.",
		"Copper, organophosphates and pyrethroids kill shrimp in traces: no plant food with copper, no flea product on the hands, no plants that were sprayed.",
		"Stop signs: " + strings.Join(dose.StopSigns(), ", ") + ". " + dose.WhenStopped,
	}
}

// beside is what to know of the ingredient and of what can fail.
func (m *mixing) beside() []page.Beside {
	var out []page.Beside
	if m.ingredient != nil {
		b := page.Beside{Summary: "What is known of " + words.MidSentence(m.ingredient.Name)}
		for _, n := range m.ingredient.Notes {
			b.Claims = append(b.Claims, page.Claim{Head: noteWords[n.About], Say: n.Say, From: known.Claim{From: n.From}.Origin()})
		}
		out = append(out, b)
	}
	return append(out, failing()...)
}

var noteWords = map[string]string{"evidence": "Evidence", "solving": "Dissolving", "temperature": "Temperature", "hardness": "Hardness", "light": "Light", "oxygen": "Oxygen", "people": "People", "law": "Law"}

// failing is what to do when something fails, at the end, and with the tools.
func failing() []page.Beside {
	var out []page.Beside
	for _, s := range []struct {
		summary string
		all     []dose.Saying
	}{
		{"If the air fails", dose.WhenAirFails()}, {"If the heater fails", dose.WhenHeaterFails()}, {"At the end of a bath", dose.AtTheEnd()},
		{"Nets and tools afterwards: something that kills eggs too", dose.Disinfection()},
	} {
		b := page.Beside{Summary: s.summary}
		for _, say := range s.all {
			b.Claims = append(b.Claims, page.Claim{Say: say.Say, From: known.Claim{From: say.From}.Origin()})
		}
		out = append(out, b)
	}
	return out
}

func (m *mixing) others() []view.Sieve {
	out := []view.Sieve{{Label: "What must not be done: all ingredients", URL: "/ingredients"}}
	switch {
	case m.lot != nil:
		out = append(out, view.Sieve{Label: "Salt dip, by the watch", URL: lotURL(m.lot.ID) + "/dip"}, view.Sieve{Label: "Write down one that was given", URL: lotURL(m.lot.ID) + "/treat"}, view.Sieve{Label: "Back to the lot", URL: lotURL(m.lot.ID)})
	case m.tank != nil:
		out = append(out, view.Sieve{Label: "Back to the tank", URL: tankURL(m.tank.ID)})
	default:
		out = append(out, view.Sieve{Label: "Salt dip, by the watch", URL: "/dip"}, view.Sieve{Label: "Settings", URL: "/settings"})
	}
	return append(out, view.Sieve{Label: "Water: hardness, mixing, changes", URL: "/water"})
}
