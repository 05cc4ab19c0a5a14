package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/water"
	"holdfast/science/water/dose"
)

// guessedMassG is what one dwarf shrimp is taken to weigh where nobody says: a
// guess, said as one wherever it is used.
const guessedMassG = 0.2

// treatment shows one bath or dip, and what to do about it now.
func (s *Server) treatment(w http.ResponseWriter, r *http.Request) error {
	return s.treatmentShown(w, r, http.StatusOK, tried{})
}

func (s *Server) treatmentShown(w http.ResponseWriter, r *http.Request, status int, t tried) error {
	ctx := r.Context()
	l, err := s.Desk.Lot(ctx, r.PathValue("id"))
	if err != nil {
		return err
	}
	g, err := desk.GivenOf(l, holdfast.ID(r.PathValue("entry")), s.Desk.Now())
	if err != nil {
		return err
	}
	fr, err := s.frame(r)
	if err != nil {
		return err
	}
	var tank *holdfast.Tank
	if g.Event.Tank != "" {
		if tank, err = s.Desk.Tank(ctx, g.Event.Tank); err != nil {
			tank = nil
		}
	}
	b := &treatmentBuild{s: s, l: l, g: g, tank: tank, zone: fr.Now.Location(), now: s.Desk.Now(), task: r.FormValue("task"), tried: t}
	p, err := b.page()
	if err != nil {
		return err
	}
	return s.page(w, r, status, page.Treatment(view.Page{Frame: fr, Title: p.Heading + ", " + lotName(l), At: view.Lots}, p))
}

type treatmentBuild struct {
	s     *Server
	l     *holdfast.Lot
	g     *desk.Given
	tank  *holdfast.Tank
	zone  *time.Location
	now   time.Time
	task  string
	tried tried
}

func (b *treatmentBuild) page() (page.TreatmentPage, error) {
	t := b.g.Treatment
	p := page.TreatmentPage{From: lotName(b.l), URL: lotURL(b.l.ID), Heading: words.Capital(t.Form) + ": " + t.Active}
	if b.tank != nil {
		p.From += ", " + tankCalled(b.tank.Name)
	}
	if t.Trial {
		p.Heading = fmt.Sprintf("Trial on %d: %s", t.Count, t.Active)
	}
	p.Mark, p.State, p.Next = b.state()
	p.Looks = b.looks()
	p.Facts = b.facts()
	p.Air = b.air()
	p.Cares = []string{"Stop signs: " + strings.Join(dose.StopSigns(), ", ") + ". " + dose.WhenStopped}
	if t.Form == "bath" {
		p.Beside = failing()
	} else {
		p.Beside = failing()[3:]
	}
	var err error
	p.Acts, err = b.acts()
	return p, err
}

// state is the mark, its word, and the one next thing.
func (b *treatmentBuild) state() (view.Mark, string, string) {
	t := b.g.Treatment
	moment := func(x time.Time) string { return words.Moment(x.In(b.zone)) }
	switch {
	case t.Trial && b.g.Trying.Gate.State == dose.GateStopped:
		return view.Stop, "Stopped: not for the lot", b.g.Trying.Gate.Say
	case t.Trial && b.g.Trying.Gate.State == dose.GateOpen:
		return view.Done, "All walk: the lot’s dose is open", b.g.Trying.Gate.Say
	case t.Trial:
		next := b.g.Trying.Gate.Say
		if n := b.g.Trying.Gate.NextLook; !n.IsZero() {
			next = fmt.Sprintf("Look at them at %s. %s", moment(n), next)
			if !n.After(b.now) {
				next = "Look at them now. " + b.g.Trying.Gate.Say
			}
		}
		return view.Half, "Being watched since " + moment(b.g.At), next
	case t.Running && b.now.Before(b.g.Ends()):
		return view.Running, "Running since " + moment(b.g.At), "It is full at " + moment(b.g.Ends()) + ". Air on, carbon out, lamp off until then."
	case t.Running:
		return view.Late, "Full since " + moment(b.g.Ends()), "End it: carbon back, water changed, and write how it went. Until then it counts in part."
	case t.Held == holdfast.HeldFull:
		return view.Done, "Counts in full", ""
	case t.Held == holdfast.HeldPartial:
		return view.Half, "Counts in part: " + t.Failed, ""
	}
	return view.Stop, "Does not count: " + t.Failed, ""
}

func (b *treatmentBuild) looks() view.Ledger {
	out := view.Ledger{Caption: "Looks since", Columns: []view.Column{{Label: "When"}, {Label: "Walking", Num: true}, {Label: "Down", Num: true}, {Label: "Dead", Num: true}, {Label: "Who"}}}
	for _, ev := range b.g.Looks {
		p := ev.Payload.(*holdfast.TreatmentLook)
		walking := words.Int(p.Walking)
		if !b.g.Treatment.Trial && p.Walking == 0 {
			walking = "–"
		}
		out.Rows = append(out.Rows, []view.Cell{{Text: words.Moment(ev.OccurredAt.In(b.zone)), Below: p.Note}, {Text: walking}, {Text: words.Int(p.Down), Needs: p.Down > 0}, {Text: words.Int(p.Dead), Needs: p.Dead > 0}, {Text: ev.Who}})
	}
	return out
}

func (b *treatmentBuild) facts() []page.Fact {
	t := b.g.Treatment
	fact := func(name, says string) page.Fact { return page.Fact{Mark: view.Clear, Name: name, Says: says} }
	given := words.FullDay(b.g.At.In(b.zone)) + " " + b.g.At.In(b.zone).Format("15:04") + " by " + somebody(b.g.Event.Who)
	if t.Count > 0 {
		given += fmt.Sprintf(", for %s, %s.", stay(t.Hours), words.Plural(t.Count, "animal", "animals"))
	} else {
		given += fmt.Sprintf(", for %s, the whole lot.", stay(t.Hours))
	}
	out := []page.Fact{fact("Given", given)}
	strength := dose.MgLText(t.TargetMgL) + " in " + litreWords(t.VolumeL) + " of water"
	if t.TargetMgL == 0 {
		strength = "by the label, in " + litreWords(t.VolumeL) + " of water"
	}
	out = append(out, fact("Strength", strength+"."))
	switch {
	case t.WeighedG != nil:
		out = append(out, fact("Weighed", fmt.Sprintf("%s of the %s product.", gramWords(*t.WeighedG), strengthOf(t))))
	case t.Taken != nil:
		out = append(out, fact("Measured", fmt.Sprintf("%s of the product (%s).", amountWords(*t.Taken, dose.Unit(t.TakenUnit)), strengthOf(t))))
	default:
		out = append(out, page.Fact{Mark: view.Unlooked, Name: "Weighed", Says: "Nobody wrote what was weighed."})
	}
	out = append(out, b.stepsFact()...)
	for _, ev := range b.g.Redoses {
		out = append(out, fact(words.Moment(ev.OccurredAt.In(b.zone)), tell(ev)))
	}
	if t.Batch != "" {
		out = append(out, fact("Batch", t.Batch+"."))
	}
	if t.Prescription != "" {
		out = append(out, fact("Prescription", ended(t.Prescription)))
	}
	if t.Disposal != "" {
		out = append(out, fact("Disposal", ended(t.Disposal)))
	}
	if len(t.With) > 0 {
		var with []string
		for _, c := range t.With {
			with = append(with, companyWords[dose.Company(c)])
		}
		out = append(out, page.Fact{Mark: view.Half, Name: "With", Says: strings.Join(with, ", ") + "."})
	}
	if t.Reason != "" {
		out = append(out, page.Fact{Mark: view.Late, Name: "Against", Says: againstSays(t)})
	}
	if t.Note != "" {
		out = append(out, fact("Note", t.Note))
	}
	return out
}

func strengthOf(t *holdfast.Treatment) string {
	if t.Strength != "" {
		return t.Strength
	}
	return words.Percent(t.StrengthShare)
}

// againstWords says codes of rules in words.
// againstSays is what spoke against a treatment and why it was given.
func againstSays(t *holdfast.Treatment) string {
	if len(t.Against) == 0 {
		return "Given all the same: " + t.Reason
	}
	return againstWords(t.Against) + ". Reason: " + t.Reason
}

func againstWords(codes []string) string {
	var out []string
	for _, c := range codes {
		word := map[string]string{desk.CodeTrial: "no trial had opened it", "dose": "outside the usual strength", "no_range": "no range is known", "time": "longer than usual",
			"carbon": "carbon not out", "lamp": "lamp not off", "air": "air not on", "copper": "copper in the water", "oxygen": "too little oxygen"}[c]
		if word == "" {
			word = companyWords[dose.Company(strings.TrimPrefix(c, "harms_"))]
		}
		if word == "" {
			word = strings.ReplaceAll(strings.TrimPrefix(c, "with_"), "_", " ") + " in the same water"
		}
		out = append(out, word)
	}
	return words.Capital(strings.Join(out, ", "))
}

// air is ammonia and oxygen during a bath, from what was measured today.
func (b *treatmentBuild) air() []page.Fact {
	t := b.g.Treatment
	if t.Form != "bath" || !t.Running || b.tank == nil {
		return nil
	}
	unknown := func(name, says string) page.Fact { return page.Fact{Mark: view.Unlooked, Name: name, Says: says} }
	w, when := stillKnown(b.tank, b.s.Desk)
	if w.TempC == nil {
		return []page.Fact{unknown("Nobody measured today.", "With temperature, pH, ammonia and oxygen of "+tankCalled(b.tank.Name)+" this says how long they have if the air fails. Nothing is guessed in their place.")}
	}
	var out []page.Fact
	if w.PH != nil && w.TAN != nil {
		a, err := water.AmmoniaAt(*w.PH, *w.TempC, *w.TAN, 0)
		if err == nil {
			f := page.Fact{Mark: view.Clear, Name: "Ammonia", Says: fmt.Sprintf("%s mg/l un-ionized as nitrogen, measured %s. Keep it below %s; act at %s.", words.Number(a.UnionizedMgLN, 3), when, words.Number(water.AmmoniaKeepBelow.Value, 2), words.Number(water.AmmoniaAlarm.Value, 2))}
			if a.UnionizedMgLN >= water.AmmoniaAlarm.Value {
				f.Mark, f.Says = view.Late, f.Says+" Feed nothing, change water; the bath then counts in part."
			}
			out = append(out, f)
		}
	} else {
		out = append(out, unknown("Ammonia", "pH or total ammonia was not measured today."))
	}
	animals := water.Animals{Count: max(1, b.l.Alive.N), MassG: guessedMassG}
	if w.O2 == nil {
		return append(out, unknown("Oxygen", "Nobody measured it today, so how long they have without air is not said."))
	}
	still, err := water.WhenAirFails(animals, b.tank.Litres, *w.TempC, *w.O2)
	if err != nil {
		return append(out, unknown("Oxygen", sentence(err)))
	}
	return append(out,
		page.Fact{Mark: view.Half, Name: "Without air", Says: fmt.Sprintf("%s down to 5 mg/l, %s down to 2, at the earliest, for %s of a guessed %s g; bacteria take more.", hourWords(still.HoursToFive.Low), hourWords(still.HoursToTwo.Low), words.Plural(animals.Count, "animal", "animals"), words.Number(guessedMassG, 1))},
		page.Fact{Mark: view.Half, Name: "Without filter", Says: fmt.Sprintf("total ammonia rises by %s to %s mg/l as nitrogen a day.", words.Number(still.AmmoniaADay.Low, 2), words.Number(still.AmmoniaADay.High, 2))})
}

func hourWords(h float64) string {
	switch {
	case h < 0.05:
		return "none"
	case h < 3:
		return words.Number(h*60, 0) + gap + "minutes"
	}
	return words.Number(h, 0) + gap + "h"
}

// acts are what can be written down now, the one that is due unfolded.
func (b *treatmentBuild) acts() ([]page.Act, error) {
	t := b.g.Treatment
	var out []page.Act
	put := func(what, summary, button string, open bool, w view.Weight, parts ...page.Part) error {
		if strings.HasPrefix(b.task, map[string]string{"look": "after/", "end": "end/"}[what]+b.l.ID) && what != "again" {
			parts = append(parts, page.Part{As: page.AsHidden, Field: view.Field{Name: "task", Value: b.task}})
		}
		a, err := b.s.act(b.l.ID, what, summary, button, b.tried, parts...)
		if err != nil {
			return err
		}
		a.Form.Action, a.Weight, a.Open = treatmentURL(b.l.ID, b.g.Event.ID)+"/"+what, w, a.Open || open
		out = append(out, a)
		return nil
	}
	ending := t.Running && !b.now.Before(b.g.Ends())
	watching := b.now.Sub(b.g.At) < 4*24*time.Hour && !(t.Trial && b.g.Trying.Gate.State != dose.GateClosed)
	if watching {
		if err := put("look", b.lookSummary(), "Record the look", !ending, view.Main, b.lookParts()...); err != nil {
			return nil, err
		}
	}
	if t.Running && !t.Trial {
		if err := put("end", "How the bath went", "It ended: record how it went", ending, view.Main, b.endParts()...); err != nil {
			return nil, err
		}
		if t.WeighedG != nil || t.Taken != nil {
			if err := put("again", "Dosed again", "Record the further dose", false, view.Plain, b.againParts()...); err != nil {
				return nil, err
			}
		}
	}
	if ending && len(out) > 1 {
		out[0], out[1] = out[1], out[0]
	}
	return out, nil
}

func (b *treatmentBuild) lookSummary() string {
	t := b.g.Treatment
	if t.Count > 0 {
		return fmt.Sprintf("Look at the %d that were in it", t.Count)
	}
	return "Look at the animals"
}

func (b *treatmentBuild) lookParts() []page.Part {
	dead := "All since it began, those taken out included"
	if b.g.Dead > 0 {
		dead = fmt.Sprintf("%s; %d were dead before", dead, b.g.Dead)
	}
	parts := []page.Part{numberPart("walking", "Walking", "", "On their legs"), numberPart("down", "Down", "", "On the side, limp, legs still"), numberPart("dead", "Dead", "", dead)}
	if !b.g.Treatment.Trial {
		parts[0].Hint = "Empty if nobody counted"
	}
	return append(parts, whenPart(), textPart("note", "Note, if any", "", 2000))
}

// askedAtEnd are the conditions that a person vouches for at the end.
func (b *treatmentBuild) endParts() []page.Part {
	ask := func(name, label string) page.Part {
		return page.Part{As: page.AsChoose, Field: view.Field{Name: name, Label: label, Wide: true}, Options: []view.Option{{Value: "yes", Label: "Yes"}, {Value: "no", Label: "No"}, {Value: "unknown", Label: "Nobody can say"}}}
	}
	signs := []view.Option{{Value: "", Label: "None: it ran its time"}}
	for _, s := range dose.StopSigns() {
		signs = append(signs, view.Option{Value: s, Label: words.Capital(s)})
	}
	return []page.Part{
		ask("carbon", "Carbon and resin were out all the time"), ask("uv", "The germ lamp was off all the time"), ask("lamp", "The tank’s lamp was off or covered"),
		ask("carbon_back", "Fresh carbon is in now"),
		numberPart("lowest", "Coldest it got", "°C", "Empty if nobody measured"),
		selectPart("stopped", "A stop sign ended it", "", signs...),
		{As: page.AsWhen, Field: view.Field{Name: "at", Label: "When it ended, if not just now", Half: true}},
		disposalPart(),
		textPart("other", "What else did not hold, if anything", "Water changed meanwhile, power cut", 300),
		textPart("note", "Note, if any", "", 2000),
	}
}

func (b *treatmentBuild) againParts() []page.Part {
	unit := "g"
	if b.g.Treatment.WeighedG == nil {
		unit = b.g.Treatment.TakenUnit
	}
	hint := "What really went in"
	if t := b.g.Treatment; t.Plan != nil {
		if m := desk.AskedAgain(b.tank, b.g, desk.StepDone{}, b.now); m.Stock != nil {
			hint = fmt.Sprintf("What really went in; %s, out of a stock, bring it back to %s now", gramWords(m.Stock.DoseG), dose.MgLText(t.TargetMgL))
		} else if m.Amount > 0 {
			hint = fmt.Sprintf("What really went in; about %s bring it back to %s now", amountWords(m.Amount, dose.Unit(m.Unit)), dose.MgLText(t.TargetMgL))
		}
	}
	return []page.Part{numberPart("weighed", "Weighed or measured", unit, hint), whenPart(), textPart("note", "Note, if any", "", 2000)}
}

// doTreatment runs one form of the page.
func (s *Server) doTreatment(w http.ResponseWriter, r *http.Request, what string, do func(*doing, holdfast.ID) error) error {
	return s.doLot(w, r, what, func(d *doing) error {
		id := holdfast.ID(r.PathValue("entry"))
		if !id.Valid() {
			return errNoPage
		}
		d.to = treatmentURL(d.lot.ID, id)
		return do(d, id)
	}, s.treatmentShown)
}

func (s *Server) treatmentLook(w http.ResponseWriter, r *http.Request) error {
	return s.doTreatment(w, r, "look", func(d *doing, id holdfast.ID) error {
		g, err := desk.GivenOf(d.lot, id, d.desk.Now())
		if err != nil {
			return err
		}
		a := desk.AfterLook{Note: d.form.Text("note", 2000, false), Task: d.form.Text("task", 200, false)}
		for _, n := range []struct {
			name   string
			to     *int
			needed bool
		}{{"walking", &a.Walking, g.Treatment.Trial}, {"down", &a.Down, true}, {"dead", &a.Dead, true}} {
			if x := d.form.Count(n.name, 0, holdfast.MaxAnimals, n.needed); x != nil {
				*n.to = *x
			}
		}
		return d.run(func() error { return d.desk.LookAfter(d.ctx, d.by, d.lot.ID, id, a) })
	})
}

func (s *Server) treatmentEnd(w http.ResponseWriter, r *http.Request) error {
	return s.doTreatment(w, r, "end", func(d *doing, id holdfast.ID) error {
		answer := func(name string) *bool {
			switch d.form.OneOf(name, []string{"yes", "no", "unknown"}, true) {
			case "yes":
				x := true
				return &x
			case "no":
				x := false
				return &x
			}
			return nil
		}
		e := desk.BathEnd{CarbonOut: answer("carbon"), UVOff: answer("uv"), LampOff: answer("lamp"), CarbonBack: answer("carbon_back"),
			LowestC: d.form.Number("lowest", form.Range{Low: -2, High: 45, Unit: "°C"}), Stopped: d.form.OneOf("stopped", dose.StopSigns(), false),
			Other: d.form.Text("other", 300, false), Note: d.form.Text("note", 2000, false), Task: d.form.Text("task", 200, false), Disposal: d.form.Text("disposal", 500, false)}
		return d.run(func() error { return d.desk.EndBath(d.ctx, d.by, d.lot.ID, id, e) })
	})
}

func (s *Server) treatmentAgain(w http.ResponseWriter, r *http.Request) error {
	return s.doTreatment(w, r, "again", func(d *doing, id holdfast.ID) error {
		g, err := desk.GivenOf(d.lot, id, d.desk.Now())
		if err != nil {
			return err
		}
		again := holdfast.Redose{Note: d.form.Text("note", 2000, false)}
		x := d.form.Number("weighed", form.Range{Low: 0.0001, High: 100000, Needed: true})
		if again.WeighedG = x; g.Treatment.WeighedG == nil {
			again.WeighedG, again.Taken, again.TakenUnit = nil, x, g.Treatment.TakenUnit
		}
		return d.run(func() error {
			return renamed(renamed(d.desk.DoseAgain(d.ctx, d.by, d.lot.ID, id, again), "weighed_g", "weighed"), "taken", "weighed")
		})
	})
}

// isSign reports whether s is a stop sign.
func isSign(s string) bool { return slices.Contains(dose.StopSigns(), s) }
