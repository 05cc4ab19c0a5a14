package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/water/dose"
)

// give is the form that records the dose, and why it is still shut for the lot;
// held says that a rule speaks against it.
func (m *mixing) give(t tried, held bool) (*page.Act, string, error) {
	shut := ""
	if m.who == forLot && !m.shotOpen() {
		shut = "Shut for the lot. " + m.shutSays() + " To go on all the same, write why below; it stays on the record."
	}
	label := "Record the bath as it begins"
	if m.who == forTrial {
		label = "The trial begins now"
	}
	act, err := m.s.act(m.lot.ID, "mix", "", label, t, m.giveParts(shut != "" || held)...)
	if err != nil {
		return nil, "", err
	}
	act.Weight = view.Main
	if shut != "" {
		act.Weight = view.Marked
	}
	act.Form.Action = m.base()
	act.Lead = "Written down is what was really weighed, not what was meant. Nothing is ticked for you: tick what you have seen."
	hidden := map[string]string{"ingredient": m.typed.Ingredient, "strength": m.typed.Strength, "target": m.typed.Target, "volume": m.typed.Volume,
		"volume-error": m.typed.VolumeError, "for": m.typed.For, "scale": m.typed.Scale, "who": m.who, "task": m.task,
		"change": m.typed.Change, "redose": m.typed.Redose, "half-life": m.typed.HalfLife, "absorb": m.typed.Absorb, "residue": m.form.Typed("residue")}
	if m.tank != nil {
		hidden["tank"] = m.tank.ID
	}
	names := make([]string, 0, len(hidden))
	for name := range hidden {
		names = append(names, name)
	}
	slices.Sort(names)
	for _, name := range names {
		act.Form.Hidden = append(act.Form.Hidden, view.Pair{Name: name, Value: hidden[name]})
	}
	return &act, shut, nil
}

// rest puts a part of a form under its fold.
func rest(p page.Part) page.Part {
	p.Rest = true
	return p
}

// giveParts are the questions of the form; reason says that one is needed.
func (m *mixing) giveParts(reason bool) []page.Part {
	var parts []page.Part
	add := func(p page.Part) { parts = append(parts, p) }
	unit := string(m.mix.Unit)
	switch {
	case m.mix.Stock != nil:
		add(numberPart("stock_g", "Weighed for the stock", "g", "As the scale showed: "+gramWords(m.mix.Stock.WeighG)))
		add(numberPart("stock_ml", "Water up to", "ml", mlWords(m.mix.Stock.InML)))
		add(numberPart("taken_ml", "Taken of it", "ml", mlWords(m.mix.Stock.TakeML)))
	case m.mix.Unit == dose.Gram:
		add(numberPart("weighed", "Weighed", "g", "As the scale showed: about "+gramWords(m.mix.InHand)))
	default:
		add(numberPart("weighed", "Measured", plural(m.mix.InHand, unit), "About "+amountWords(m.mix.InHand, m.mix.Unit)))
	}
	if m.who == forTrial {
		add(numberPart("count", "How many animals", "", "3 to 5 of the lot, not the weakest and not the best"))
	}
	add(numberPart("temp", "Water", "°C", "Empty if nobody measured"))
	add(page.Part{As: page.AsTicks, Field: view.Field{Name: "set", Label: "The bath holds only if", Wide: true}, Options: m.setOptions()})
	if with := m.withOptions(); len(with) > 0 {
		add(page.Part{As: page.AsTicks, Field: view.Field{Name: "with", Label: "Is any of these in that water?", Wide: true}, Options: with})
	}
	why := textPart("reason", "Why all the same, if something above speaks against it", "A sentence; it stays on the record", 2000)
	why.Rest = !reason
	add(why)
	add(rest(page.Part{As: page.AsText, Field: view.Field{Name: "batch", Label: "Batch of the product", Max: 80}}))
	add(rest(numberPart("copper", "Copper, by test", "mg/l", "Empty if nobody measured")))
	add(rest(whenPart()))
	add(rest(prescriptionPart()))
	add(rest(disposalPart()))
	add(rest(textPart("note", "Note, if any", "", 2000)))
	return parts
}

// setOptions are what a bath holds by.
func (m *mixing) setOptions() []view.Option {
	all := []view.Option{{Value: "air", Label: "Air on full, seen bubbling"}}
	if m.ingredient == nil || m.ingredient.LightBreaks {
		all = append(all, view.Option{Value: "lamp", Label: "Lamp off or covered, germ lamp off", Below: "Light breaks it down"})
	}
	if m.ingredient == nil || m.ingredient.CarbonTakes {
		all = append(all, view.Option{Value: "carbon", Label: "Carbon and resin out of the filter", Below: "Else the dose is gone in hours and the bath counts for nothing"})
	}
	return all
}

// withOptions are who else may be in the water, those that the ingredient
// harms.
func (m *mixing) withOptions() []view.Option {
	if m.ingredient == nil {
		return nil
	}
	sure := m.knownWith()
	var all []view.Option
	for _, h := range m.ingredient.Harms {
		if h.Whom == dose.Shrimp || h.Whom == dose.FilterBacteria || slices.Contains(sure, h.Whom) {
			continue
		}
		all = append(all, view.Option{Value: string(h.Whom), Label: words.Capital(companyWords[h.Whom]), Below: h.Say})
	}
	return all
}

// mixSave answers POST /lots/{id}/mix: the dose is given.
func (s *Server) mixSave(w http.ResponseWriter, r *http.Request) error {
	by, err := s.author(r)
	if err != nil {
		return err
	}
	l, err := s.Desk.Lot(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	m, err := s.mixingOf(r, l, "")
	if err != nil {
		return err
	}
	f := form.New(r.PostForm)
	t := tried{what: "mix", values: r.PostForm, form: f}
	if !m.form.OK() || m.mix == nil || m.course.Days <= 0 {
		if m.form.OK() {
			m.form.Fault("for", "Write how long it is to run.", "Such as 48 h.")
		}
		t.refused = "What the dose follows from is not right: put it right above."
		return s.mixShown(w, r, http.StatusBadRequest, m, t)
	}
	zone, err := s.Desk.Zone(r.Context())
	if err != nil {
		return err
	}
	by.At = f.Moment("at", zone, l.OpenedAt.In(zone), s.Desk.Now())
	d, facts := m.readGiven(f)
	if f.OK() {
		tank := ""
		if m.tank != nil {
			tank = m.tank.ID
		}
		err = s.Desk.TreatKnowing(r.Context(), by, l.ID, tank, d, facts)
		faults, refused, ok := m.mixFaults(err)
		switch {
		case err == nil:
			return s.recorded(w, r, treatmentURL(l.ID, by.ID), "", by.ID)
		case !ok:
			return err
		}
		f.Take(faults)
		t.refused = refused
	}
	return s.mixShown(w, r, http.StatusBadRequest, m, t)
}

// mixFaults puts a use case's faults at the fields where the form has them.
func (m *mixing) mixFaults(err error) (faults holdfast.Problems, refused string, ok bool) {
	switch wrong := err.(type) {
	case nil:
		return nil, "", true
	case holdfast.Problems:
		for _, q := range wrong {
			switch q.Field {
			case "weighed_g", "taken":
				q.Field = "weighed"
				if m.mix.Stock != nil {
					q.Field = "taken_ml"
				}
			case "target_mg_l", "hours", "active":
				q.Field = "reason"
			}
			faults = append(faults, q)
		}
		return faults, "", true
	case *holdfast.Error:
		if wrong.Kind != holdfast.NotFound {
			return nil, joined(wrong.Message, wrong.Hint), true
		}
	}
	return nil, "", false
}

func treatmentURL(lot string, id holdfast.ID) string {
	return lotURL(lot) + "/treatments/" + string(id)
}

// readGiven reads what was really given.
func (m *mixing) readGiven(f *form.Form) (holdfast.Treatment, desk.Facts) {
	t := m.treatment(m.course.MgL)
	t.Batch, t.Note, t.Reason = f.Text("batch", 80, false), f.Text("note", 2000, false), f.Text("reason", 2000, false)
	t.Prescription, t.Disposal = f.Text("prescription", 200, false), f.Text("disposal", 500, false)
	t.VolumeL, t.Strength, t.Held = m.volume().Litres, m.course.Strength.Text, holdfast.HeldFull
	if t.Strength == "" || m.label != nil {
		t.Strength = "by its label, " + m.typed.Target
	}
	if m.label != nil { // nothing is known of it in mg/l
		t.TargetMgL = 0
	}
	m.readAmount(f, &t)
	t.TempC = f.Number("temp", form.Range{Low: -2, High: 45, Unit: "°C"})
	if t.Running = !t.Trial; t.Running {
		t.Plan = m.plan()
	}
	if t.Trial {
		if n := f.Count("count", int(dose.TrialAnimals.Low), int(dose.TrialAnimals.High), true); n != nil {
			t.Count = *n
		}
		t.Note = strings.TrimSpace(t.Note)
	} else {
		t.Task = m.task
	}
	facts := desk.Facts{With: m.knownWith(), CopperMg: f.Number("copper", form.Range{Low: 0, High: 100, Unit: "mg/l"})}
	set := f.Some("set", []string{"air", "lamp", "carbon"})
	ticked := func(name string) *bool { x := slices.Contains(set, name); return &x }
	facts.AirOn, facts.LampOff, facts.CarbonOut = ticked("air"), ticked("lamp"), ticked("carbon")
	var all []string
	for _, c := range dose.Companies() {
		all = append(all, string(c))
	}
	for _, c := range f.Some("with", all) {
		facts.With = append(facts.With, dose.Company(c))
	}
	return t, facts
}

// plan is what the round is to ask for while the bath runs and at its end; nil
// where it is not known how long it runs. Of a label's rate it has the doses and
// the changes as planned: what is in the water in mg/l nobody knows.
func (m *mixing) plan() *holdfast.BathPlan {
	if m.run == nil {
		return nil
	}
	measure := m.course.Measure
	if measure.Step == 0 {
		measure = dose.Usual(m.mix.Unit)
	}
	p := &holdfast.BathPlan{HalfLifeD: m.course.HalfLife(), MeasureStep: measure.Step}
	if from, residue := m.run.EndMgL, m.residueMgL(); m.label == nil && residue < from {
		p.ResidueMgL, p.EndShare = residue, endShare
	}
	again := 0
	for _, x := range m.run.Curve {
		hours := 24 * x.Day
		switch x.After {
		case dose.Changed:
			p.Steps = append(p.Steps, holdfast.BathStep{Hours: hours, ChangeShare: m.course.ChangeShare})
		case dose.Redosed:
			n := len(p.Steps) - 1
			if n < 0 || p.Steps[n].Hours != hours {
				p.Steps = append(p.Steps, holdfast.BathStep{Hours: hours})
				n++
			}
			if in := m.run.Redoses[again].InHand; in > 0 || m.label == nil { // else less than can be counted is missing
				p.Steps[n].Dose, p.Steps[n].Amount = true, in
			}
			again++
		}
	}
	return p
}

// readAmount reads what was weighed or measured; out of a stock it is what the
// part taken holds.
func (m *mixing) readAmount(f *form.Form, t *holdfast.Treatment) {
	if m.label == nil {
		switch m.mix.Unit {
		case dose.Gram, dose.Millilitre:
			t.StrengthShare = m.course.Strength.MgPer / 1000
		}
	}
	if m.mix.Stock != nil {
		limit := stockLimit{mgPer: m.course.Strength.MgPer}
		if m.ingredient != nil && !m.ingredient.Suspension {
			limit.solubility = m.ingredient.Solubility
		}
		t.WeighedG, t.Note = readStock(f, t.Note, limit)
		return
	}
	x := f.Number("weighed", form.Range{Low: 0.0001, High: 100000, Unit: string(m.mix.Unit), Needed: true})
	if m.mix.Unit == dose.Gram {
		t.WeighedG = x
		return
	}
	t.Taken, t.TakenUnit = x, string(m.mix.Unit)
	if m.label != nil && m.mix.Unit == dose.Millilitre {
		t.StrengthShare = 1 // not known; nothing is reckoned from it
	}
}

// stockLimit is how strong a stock may be: mgPer of active ingredient in a gram
// of the product, and what a litre of water takes up; nil for no limit.
type stockLimit struct {
	mgPer      float64
	solubility *dose.Solubility
}

// readStock reads a stock solution and what was taken of it: how much of the
// product that was, nil with a fault, and the note with how it was made. One
// that is stronger than the substance dissolves is refused.
func readStock(f *form.Form, note string, limit stockLimit) (grams *float64, noted string) {
	weighed := f.Number("stock_g", form.Range{Low: 0.0001, High: 100000, Unit: "g", Needed: true})
	up := f.Number("stock_ml", form.Range{Low: 1, High: 100000, Unit: "ml", Needed: true})
	taken := f.Number("taken_ml", form.Range{Low: 0.01, High: 100000, Unit: "ml", Needed: true})
	if weighed == nil || up == nil || taken == nil {
		return nil, note
	}
	if *taken > *up {
		f.Fault("taken_ml", "That is more than the stock.", "")
		return nil, note
	}
	if s := limit.solubility; s != nil {
		if _, err := dose.CheckStock(*weighed*limit.mgPer, *up/1000, s.LowMgL, s.HighMgL); err != nil {
			q := desk.ProblemOf(err)
			f.Fault("stock_ml", words.Capital(strings.TrimSuffix(q.Message, "."))+".", q.Hint)
			return nil, note
		}
	}
	in := *weighed * *taken / *up
	return &in, strings.TrimSpace(fmt.Sprintf("Stock: %s in %s, %s taken. %s", gramWords(*weighed), mlWords(*up), mlWords(*taken), note))
}
