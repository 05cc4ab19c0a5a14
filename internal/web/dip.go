package web

import (
	"fmt"
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
	"holdfast/science/water/dose"
	"holdfast/science/water/unit"
)

// saltDip is the ingredient of a salt dip.
const saltDip = "sodium_chloride_dip"

// dipping is one salt dip being worked out.
type dipping struct {
	*mixing
	// salt is grams to a litre of water, bowl the water, temp what was measured.
	salt, bowl float64
	temp       *float64
	plan       *dose.Dip
}

// dipFree and dipLot answer GET /dip and the same of a lot.
func (s *Server) dipFree(w http.ResponseWriter, r *http.Request) error {
	return s.dipShown(w, r, http.StatusOK, nil, tried{})
}

func (s *Server) dipLot(w http.ResponseWriter, r *http.Request) error {
	return s.dipLotShown(w, r, http.StatusOK, tried{})
}

func (s *Server) dipLotShown(w http.ResponseWriter, r *http.Request, status int, t tried) error {
	l, err := s.Desk.Lot(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.dipShown(w, r, status, l, t)
}

// dippingOf reads the brine that somebody wants.
func (s *Server) dippingOf(r *http.Request, l *holdfast.Lot) (*dipping, error) {
	if err := r.ParseForm(); err != nil {
		return nil, badForm(err)
	}
	m := &mixing{ctx: r.Context(), s: s, lot: l, form: form.New(r.Form), task: r.Form.Get("task"), who: forLot}
	i, err := dose.Find(saltDip)
	if err != nil {
		return nil, err
	}
	m.ingredient = &i
	if m.shop, err = s.Desk.Settings(m.ctx); err != nil {
		return nil, err
	}
	if l != nil && len(l.Places) > 0 {
		tank := l.Places[0].Tank
		if t := r.Form.Get("tank"); slices.Contains(l.TankIDs(), t) {
			tank = t
		}
		if m.tank, err = s.Desk.Tank(m.ctx, tank); err != nil {
			return nil, err
		}
	}
	d := &dipping{mixing: m}
	d.readBrine(r.Form)
	m.whom(r.Form)
	return d, nil
}

func (d *dipping) readBrine(v url.Values) {
	f := d.form
	salt := given(v, "salt", words.Number(dose.DipStart.Value, 0)+" g/l")
	if q, err := unit.ParsePositive("salt", salt, unit.Concentration); d.took(err) {
		d.salt = q.Base() / 1000
	}
	bowl := given(v, "bowl", "1 l")
	if q, err := unit.ParsePositive("bowl", bowl, unit.Volume); d.took(err) {
		d.bowl = q.Base()
	}
	w, _ := stillKnown(d.tank, d.s.Desk)
	if d.temp = f.Number("water", form.Range{Low: 0, High: 40, Unit: "°C"}); !v.Has("water") {
		d.temp = w.TempC
	}
	d.typed = dose.Typed{Target: salt, Volume: bowl, Ingredient: saltDip}
	d.course.MgL, d.course.Volume.Litres = 1000*d.salt, d.bowl
	d.course.Days = dose.DipSeconds.Value / 86400
	if !f.OK() {
		return
	}
	o := dose.DipOrder{WaterL: d.bowl, GPerL: d.salt, TempC: 20, ScaleG: d.shop.ScaleG}
	if d.temp != nil {
		o.TempC = *d.temp
	}
	plan, err := dose.PlanDip(o)
	if err != nil {
		q := desk.ProblemOf(err)
		if to, ok := map[string]string{"volume": "bowl", "temp": "water", "scale": "salt"}[q.Field]; ok {
			q.Field = to
		}
		f.Take(holdfast.Problems{q})
		return
	}
	if spoon := d.form.Typed("spoon"); spoon != "" {
		if d.spoon, err = d.inSpoons(plan.WeighG); err != nil {
			f.Fault("spoon", words.Capital(strings.TrimSuffix(desk.ProblemOf(err).Message, "."))+".", "Weigh it, or choose another spoon.")
			return
		}
	}
	d.plan = &plan
}

// inSpoons is the salt in level spoons, for want of a scale.
func (d *dipping) inSpoons(grams float64) (*dose.Spoonful, error) {
	powder := d.form.Typed("powder")
	if powder == "" {
		powder = string(dose.TableSalt)
	}
	s, err := dose.InSpoons(grams, dose.Powder(powder), d.form.Typed("spoon"))
	return &s, err
}

func (s *Server) dipShown(w http.ResponseWriter, r *http.Request, status int, l *holdfast.Lot, t tried) error {
	d, err := s.dippingOf(r, l)
	if err != nil {
		return err
	}
	return s.dipDrawn(w, r, status, d, t)
}

func (s *Server) dipDrawn(w http.ResponseWriter, r *http.Request, status int, d *dipping, t tried) error {
	fr, err := s.frame(r)
	if err != nil {
		return err
	}
	if !d.form.OK() && status == http.StatusOK {
		status = http.StatusBadRequest
	}
	p, err := d.page(t, fr.Now)
	if err != nil {
		return err
	}
	at := view.Tanks
	if d.lot != nil {
		at = view.Lots
	}
	return s.page(w, r, status, page.Dip(view.Page{Frame: fr, Title: "Salt dip", At: at}, p))
}

func (d *dipping) dipBase() string {
	if d.lot != nil {
		return lotURL(d.lot.ID) + "/dip"
	}
	return "/dip"
}

func (d *dipping) page(t tried, now time.Time) (page.DipPage, error) {
	p := page.DipPage{Heading: "Salt dip", Below: "In a bowl, by the watch. It loosens worms; eggs live through it.", Ask: d.dipAsk()}
	if d.lot != nil {
		p.From = lotName(d.lot)
		q := url.Values{"salt": {d.typed.Target}, "bowl": {d.typed.Volume}}
		if d.task != "" {
			q.Set("task", d.task)
		}
		for _, w := range []struct{ who, label string }{{forTrial, "3 to 5 animals first"}, {forLot, "The whole lot"}} {
			q.Set("who", w.who)
			p.Whom = append(p.Whom, view.Sieve{Label: w.label, Count: -1, Current: d.who == w.who, URL: d.dipBase() + "?" + q.Encode()})
		}
	}
	if d.plan == nil {
		p.Wait = "Something that was typed cannot be; nothing is worked out until it is put right."
	} else {
		p.Dose, p.Brine = d.dose(), d.brine()
		p.Watch = d.watch(now)
		p.Ask.Typed = d.typed.Target + " in " + d.typed.Volume
		if d.spoon == nil && d.temp != nil {
			p.Ask.Typed += ", " + words.Measure(*d.temp, 1, "°C")
		}
	}
	p.Folk = d.folk()
	var err error
	stop := ""
	if p.Stops, stop, err = d.stops(); err != nil {
		return p, err
	}
	if p.Dose != nil && stop != "" && p.Dose.Held == "" {
		p.Dose.Held = joined("Stop before anybody goes in.", stop)
	}
	if d.lot != nil && d.lot.Status == holdfast.Closed {
		p.Stops = append([]page.Fact{{Mark: view.Stop, Name: "The lot is closed.", Says: "Nobody is left to dip."}}, p.Stops...)
	} else if d.lot != nil && d.plan != nil {
		if p.Give, p.Shut, err = d.give(t, stop != ""); err != nil {
			return p, err
		}
	}
	p.First = "Not straight after a long journey, not with berried or freshly moulted animals, not with animals from very soft water, never with snails, plants or fish in the bowl. Brine and clean water at the animals’ own temperature."
	p.Cares = []string{
		"Beside the bowl stands a second one with clean water matched to the tank, air on. A helper counts.",
		"Follow your local law; ask an aquatic veterinarian.",
	}
	p.Beside = d.beside()
	p.Beside = slices.DeleteFunc(p.Beside, func(b page.Beside) bool {
		return strings.HasPrefix(b.Summary, "If the") || strings.HasPrefix(b.Summary, "At the end")
	})
	p.Others = []view.Sieve{{Label: "What must not be done: all ingredients", URL: "/ingredients"}}
	if d.lot != nil {
		p.Others = append(p.Others, view.Sieve{Label: "A bath instead", URL: lotURL(d.lot.ID) + "/mix"}, view.Sieve{Label: "Back to the lot", URL: lotURL(d.lot.ID)})
	} else {
		p.Others = append(p.Others, view.Sieve{Label: "A bath instead", URL: "/mix"})
	}
	return p, nil
}

func (d *dipping) dipAsk() page.MixAsk {
	field := func(name, label, value, unit, hint string) view.Field {
		return view.Field{Name: name, Label: label, Value: value, Unit: unit, Hint: hint, Err: d.form.Err(name), Max: 80}
	}
	temp := d.form.Typed("water")
	if temp == "" && d.temp != nil {
		temp = words.Number(*d.temp, 1)
	}
	a := page.MixAsk{Action: d.dipBase() + "#dose", Hidden: []view.Pair{{Name: "who", Value: d.who}}}
	if d.task != "" {
		a.Hidden = append(a.Hidden, view.Pair{Name: "task", Value: d.task})
	}
	a.Fields = []view.Field{
		field("salt", "Salt to a litre of water", d.typed.Target, "", "Begin at 30 g/l. Steps: 30, 45, 60, 76 g/l, each on new trial animals when the weaker one was borne and did not do it."),
		field("bowl", "Water in the bowl", d.typed.Volume, "", "With its unit: 1 l, 0.5 l, 2 cup_us."),
		field("water", "Temperature", temp, "°C", "As measured; for the density. Empty if nobody measured."),
	}
	a.Spoon, a.Spoons = field("spoon", "No scale at hand?", d.form.Typed("spoon"), "", ""), spoons
	a.Powder, a.Powders = field("powder", "Which salt", d.form.Typed("powder"), "", "Pure, without additives; iodine in traces is thought harmless."), powders
	if faults := view.Faults(append(a.Fields, a.Spoon, a.Powder)...); len(faults) > 1 {
		a.Faults = faults
	}
	return a
}

// dose is the salt in big figures.
func (d *dipping) dose() *page.MixDose {
	out := &page.MixDose{Number: gramWords(d.plan.WeighG), With: "of common salt on the scale", Of: fmt.Sprintf("into %s of water", litreWords(d.bowl)),
		Caution: fmt.Sprintf("%s s, out at the first sign. At most %s s, whatever else.", words.Number(d.plan.Seconds, 0), words.Number(d.plan.Longest, 0))}
	if d.who == forLot && d.lot != nil && !d.shotOpen() {
		out.Held = "Not yet for the lot. " + d.shutSays()
	}
	if s := d.spoon; s != nil {
		out.Number, out.With = quarters(s.Spoons), spoonful(s)
		out.Lines = append(out.Lines, fmt.Sprintf("They hold %s to %s, so the brine is %s to %s g to the litre instead of %s. Weigh it where you can.",
			gramWords(s.LowG), gramWords(s.HighG), words.Number(s.LowG/d.bowl, 0), words.Number(s.HighG/d.bowl, 0), words.Number(d.salt, 1)))
	}
	return out
}

// brine says what it is in every way that people say it.
func (d *dipping) brine() *view.Ledger {
	b := d.plan.Brine
	l := &view.Ledger{Caption: "The brine", Columns: []view.Column{{Label: "The brine is"}, {Label: "", Num: true}}}
	row := func(name, value string) {
		l.Rows = append(l.Rows, []view.Cell{{Text: name}, {Text: value, Reck: true}})
	}
	row("Salt to a litre of water", words.Measure(b.GPerLWater, 1, "g"))
	row("By weight", words.Measure(100*b.Share, 2, "% w/w")+", "+words.Measure(1000*b.Share, 1, "g/kg"))
	if d.temp == nil {
		row("Density and grams in a litre of brine", "not without a temperature")
		return l
	}
	row("In a litre of the brine", words.Measure(b.GPerL, 1, "g"))
	row(fmt.Sprintf("Density at %s °C", words.Number(*d.temp, 1)), words.Measure(b.KgM3/1000, 4, "g/ml"))
	row("Beside sea water", words.Measure(b.SeaWater, 2, "times"))
	return l
}

// folk says what the recipe with spoon and cup really makes.
func (d *dipping) folk() []string {
	temp := 20.0
	if d.temp != nil {
		temp = *d.temp
	}
	us, err := dose.FolkDip(dose.TableSalt, "tbsp_us", "cup_us", temp)
	if err != nil {
		return nil
	}
	flakes, err := dose.FolkDip(dose.Flakes, "tbsp_us", "cup_us", temp)
	if err != nil {
		return nil
	}
	return []string{fmt.Sprintf("The recipe of one tablespoon to a cup is %s g to a litre of water with table salt, %s g in a litre of the brine and about %s times sea water; with coarse flakes it is %s. This starts weaker, at %s g, because nobody has shown that dwarf shrimp need or bear the stronger. Common practice repeats a dip or bath after two to three weeks, when eggs have hatched.",
		words.Number(us.GPerLWater, 0), words.Number(us.GPerL, 0), words.Number(us.SeaWater, 1), words.Number(flakes.GPerLWater, 0), words.Number(dose.DipStart.Value, 0))}
}

func (d *dipping) watch(now time.Time) *page.Stopwatch {
	begin := now.Truncate(time.Minute).Add(2 * time.Minute)
	at := func(s float64) string { return begin.Add(time.Duration(s) * time.Second).Format("15:04:05") }
	return &page.Stopwatch{Seconds: words.Number(d.plan.Seconds, 0), Longest: words.Number(d.plan.Longest, 0), Signs: dose.StopSigns(), WhenStopped: dose.WhenStopped,
		Clock: fmt.Sprintf("By the clock on the wall: in at %s, out at %s, at the latest %s.", at(0), at(d.plan.Seconds), at(d.plan.Longest))}
}

// give is the form that records the dip; held says that a rule speaks against it.
func (d *dipping) give(t tried, held bool) (*page.Act, string, error) {
	shut := ""
	if d.who == forLot && !d.shotOpen() {
		shut = "Shut for the lot. " + d.shutSays() + " To write one down all the same, say why below; it stays on the record."
	}
	label := "Record the dip"
	if d.who == forTrial {
		label = "Record the trial dip"
	}
	count := numberPart("count", "How many were dipped", "", "")
	if d.who == forTrial {
		count.Hint = "3 to 5 of the lot, not the weakest and not the best"
	}
	signs := []view.Option{{Value: "", Label: "None"}}
	for _, s := range dose.StopSigns() {
		signs = append(signs, view.Option{Value: s, Label: words.Capital(s)})
	}
	why := textPart("reason", "Why all the same, if something above speaks against it", "A sentence; it stays on the record", 2000)
	why.Rest = shut == "" && !held
	act, err := d.s.act(d.lot.ID, "dip", "", label, t,
		count, numberPart("seconds", "In the brine for", "s", "As the watch said"), selectPart("stopped", "A stop sign ended it", "", signs...),
		numberPart("weighed", "Salt weighed", "g", "About "+gramWords(d.plan.WeighG)), numberPart("temp", "Brine", "°C", "Empty if nobody measured"),
		page.Part{As: page.AsTicks, Field: view.Field{Name: "with", Label: "Were any of these among them or in the bowl?", Wide: true}, Options: d.withOptions()},
		why, rest(whenPart()), rest(textPart("note", "Note, if any", "", 2000)))
	if err != nil {
		return nil, "", err
	}
	act.Weight = view.Main
	if shut != "" {
		act.Weight = view.Marked
	}
	act.Lead = "The desk then asks on the round how many are dead after 1 h and after 24 h."
	act.Form.Hidden = []view.Pair{{Name: "salt", Value: d.typed.Target}, {Name: "bowl", Value: d.typed.Volume}, {Name: "who", Value: d.who}, {Name: "task", Value: d.task}}
	if d.temp != nil {
		act.Form.Hidden = append(act.Form.Hidden, view.Pair{Name: "water", Value: strconv.FormatFloat(*d.temp, 'f', -1, 64)})
	}
	if d.tank != nil {
		act.Form.Hidden = append(act.Form.Hidden, view.Pair{Name: "tank", Value: d.tank.ID})
	}
	return &act, shut, nil
}

// dipSave answers POST /lots/{id}/dip: animals were dipped.
func (s *Server) dipSave(w http.ResponseWriter, r *http.Request) error {
	by, err := s.author(r)
	if err != nil {
		return err
	}
	l, err := s.Desk.Lot(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	d, err := s.dippingOf(r, l)
	if err != nil {
		return err
	}
	f := form.New(r.PostForm)
	t := tried{what: "dip", values: r.PostForm, form: f}
	if d.plan == nil {
		t.refused = "The brine is not right: put it right above."
		return s.dipDrawn(w, r, http.StatusBadRequest, d, t)
	}
	zone, err := s.Desk.Zone(r.Context())
	if err != nil {
		return err
	}
	by.At = f.Moment("at", zone, l.OpenedAt.In(zone), s.Desk.Now())
	treatment, facts := d.readDip(f)
	if f.OK() {
		tank := ""
		if d.tank != nil {
			tank = d.tank.ID
		}
		err = s.Desk.TreatKnowing(r.Context(), by, l.ID, tank, treatment, facts)
		var wrong holdfast.Problems
		switch e := err.(type) {
		case nil:
			return s.recorded(w, r, treatmentURL(l.ID, by.ID), "", by.ID)
		case holdfast.Problems:
			for _, q := range e {
				if to, ok := map[string]string{"weighed_g": "weighed", "target_mg_l": "reason", "hours": "seconds"}[q.Field]; ok {
					q.Field = to
				}
				wrong = append(wrong, q)
			}
			f.Take(wrong)
		case *holdfast.Error:
			t.refused = joined(e.Message, e.Hint)
		default:
			return err
		}
	}
	return s.dipDrawn(w, r, http.StatusBadRequest, d, t)
}

// readDip reads how it really went. A dip that was stopped before half of its
// time counts for nothing, before the whole of it in part.
func (d *dipping) readDip(f *form.Form) (holdfast.Treatment, desk.Facts) {
	t := d.treatment(1000 * d.salt)
	t.VolumeL, t.StrengthShare, t.Strength, t.Held = d.bowl, 1, "100 %", holdfast.HeldFull
	t.WeighedG = f.Number("weighed", form.Range{Low: 0.01, High: 100000, Unit: "g", Needed: true})
	t.TempC = f.Number("temp", form.Range{Low: 0, High: 45, Unit: "°C"})
	t.Note, t.Reason = f.Text("note", 2000, false), f.Text("reason", 2000, false)
	low, high := 1, max(1, d.lot.Alive.High)
	if t.Trial {
		low, high = int(dose.TrialAnimals.Low), int(dose.TrialAnimals.High)
	} else {
		t.Task = d.task
	}
	if n := f.Count("count", low, high, true); n != nil {
		t.Count = *n
	}
	if s := f.Number("seconds", form.Range{Low: 1, High: 3600, Unit: "s", Needed: true}); s != nil {
		t.Hours = *s / 3600
		share := *s / dose.DipSeconds.Low
		if share < 1 {
			t.Held, t.Failed = holdfast.HeldPartial, fmt.Sprintf("out after %s s of at least %s", words.Number(*s, 0), words.Number(dose.DipSeconds.Low, 0))
		}
		if share < 0.5 {
			t.Held = holdfast.HeldVoid
		}
	}
	if sign := f.OneOf("stopped", dose.StopSigns(), false); isSign(sign) {
		t.Stopped = sign
		if t.Held == holdfast.HeldFull {
			t.Held, t.Failed = holdfast.HeldPartial, "stopped: "+sign
		}
	}
	facts := desk.Facts{With: d.knownWith()}
	var all []string
	for _, c := range dose.Companies() {
		all = append(all, string(c))
	}
	for _, c := range f.Some("with", all) {
		facts.With = append(facts.With, dose.Company(c))
	}
	return t, facts
}
