package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"holdfast"
	"holdfast/science/water/dose"
)

// Given is one bath or dip of a lot with what followed it.
type Given struct {
	Event holdfast.Event
	// Treatment is as it went; Planned are the hours that were meant when it
	// began.
	Treatment *holdfast.Treatment
	Planned   float64
	At        time.Time
	Looks     []holdfast.Event
	Redoses   []holdfast.Event
	Ended     *holdfast.Event
	// Trying is set for a trial.
	Trying *Trying
	// Dead is how many of them were dead at the last look.
	Dead int
}

// Ends returns when it ended, or is to end.
func (g *Given) Ends() time.Time {
	return g.At.Add(time.Duration(g.Treatment.Hours * float64(time.Hour)))
}

// GivenOf returns a treatment of the lot, or a NotFound error.
func GivenOf(l *holdfast.Lot, id holdfast.ID, now time.Time) (*Given, error) {
	var g *Given
	for i := range l.Events {
		ev := l.Events[i]
		switch p := ev.Payload.(type) {
		case *holdfast.Treatment:
			if ev.ID == id {
				g = &Given{Event: ev, Treatment: p, Planned: p.Hours, At: ev.OccurredAt.In(time.UTC)}
			}
		case *holdfast.TreatmentLook:
			if g != nil && p.Treatment == id {
				g.Looks, g.Dead = append(g.Looks, ev), max(g.Dead, p.Dead)
			}
		case *holdfast.Redose:
			if g != nil && p.Treatment == id {
				g.Redoses = append(g.Redoses, ev)
			}
		case *holdfast.TreatmentEnded:
			if g != nil && p.Treatment == id {
				g.Ended = &ev
			}
		}
	}
	if g == nil {
		return nil, &holdfast.Error{Kind: holdfast.NotFound, Message: "There is no such bath or dip on this lot, or it was taken back.", Hint: "Its journal lists them."}
	}
	for _, ev := range l.All {
		if p, ok := ev.Payload.(*holdfast.Treatment); ok && ev.ID == id {
			g.Planned = p.Hours
		}
	}
	if g.Treatment.Trial {
		t := tryingOf(l, &g.Event, g.Treatment, now)
		g.Trying = &t
	}
	return g, nil
}

// bath reads a lot for one treatment of it, with the tank that it was given in;
// that is nil where nobody has described it.
func (d *Desk) bath(ctx context.Context, lot string, treatment holdfast.ID, now time.Time) (*holdfast.Lot, *Given, *holdfast.Tank, error) {
	l, err := d.Lot(ctx, lot)
	if err != nil {
		return nil, nil, nil, err
	}
	g, err := GivenOf(l, treatment, now)
	if err != nil {
		return nil, nil, nil, err
	}
	tank, err := d.Tank(ctx, g.Event.Tank)
	if err != nil {
		tank = nil
	}
	return l, g, tank, nil
}

// given reads a lot for one treatment of it.
func (d *Desk) given(ctx context.Context, lot string, treatment holdfast.ID, now time.Time) (*Given, error) {
	l, err := d.Lot(ctx, lot)
	if err != nil {
		return nil, err
	}
	return GivenOf(l, treatment, now)
}

// AfterLook is what somebody saw of the animals of a bath or dip.
type AfterLook struct {
	Walking, Down, Dead int
	Note, Task          string
}

// LookAfter records a look at the animals of a bath or dip. Of a trial all of
// them must be accounted for; the newly dead leave the lot with this entry.
func (d *Desk) LookAfter(ctx context.Context, by Actor, lot string, treatment holdfast.ID, a AfterLook) error {
	g, err := d.given(ctx, lot, treatment, d.Now())
	if err != nil {
		return err
	}
	if t := g.Treatment; t.Trial && a.Walking+a.Down+a.Dead != t.Count {
		return holdfast.Problems{{Field: "walking", Message: fmt.Sprintf("%d walking, %d down and %d dead are not %s", a.Walking, a.Down, a.Dead, animals(t.Count)),
			Hint: fmt.Sprintf("Account for all %d.", t.Count)}}
	}
	before := 0
	for _, ev := range g.Looks {
		if p := ev.Payload.(*holdfast.TreatmentLook); ev.ID != by.ID {
			before = max(before, p.Dead)
		}
	}
	if a.Dead < before {
		return holdfast.Problems{{Field: "dead", Message: fmt.Sprintf("%d dead now, and %d were dead before", a.Dead, before), Hint: "Count all that died since it began, those taken out included."}}
	}
	if n := g.Treatment.Count; n > 0 && a.Down+a.Dead > n {
		return holdfast.Problems{{Field: "dead", Message: fmt.Sprintf("%d down and dead are more than the %d that were in it", a.Down+a.Dead, n), Hint: "Count again, or undo the treatment and record it with the right number."}}
	}
	_, err = d.write(ctx, by, nil, note{lot, g.Event.Tank, &holdfast.TreatmentLook{Treatment: treatment, Walking: a.Walking, Down: a.Down,
		Dead: a.Dead, Died: a.Dead - before, Note: a.Note, Task: a.Task}})
	return err
}

// BathEnd is how a bath really went. A question that nobody answered is nil.
type BathEnd struct {
	CarbonOut, UVOff, LampOff, CarbonBack *bool
	LowestC                               *float64
	// Stopped is the stop sign that ended it, Other what else failed.
	Stopped, Other string
	Note, Task     string
	// Disposal is where the treated water went.
	Disposal string
}

// EndBath records the end of a bath that runs, at the actor's time, and judges
// what it counts as.
func (d *Desk) EndBath(ctx context.Context, by Actor, lot string, treatment holdfast.ID, e BathEnd) error {
	at := by.At
	if at.IsZero() {
		at = d.Now()
	}
	l, g, tank, err := d.bath(ctx, lot, treatment, at)
	if err != nil {
		return err
	}
	if g.Ended != nil && g.Ended.ID != by.ID {
		return refused("Its end is written already.", "Undo that entry in the journal of the lot if it is wrong.")
	}
	if !at.After(g.At) {
		return holdfast.Problems{{Field: "at", Message: "it cannot end before it began", Hint: "It began at " + g.At.Format("2006-01-02 15:04") + " UTC."}}
	}
	hours := at.Sub(g.At).Hours()
	v, err := judge(g, hours, e, undosed(StepsOf(l, tank, g), g.At, at)...)
	if err != nil {
		return asProblems(err)
	}
	end := &holdfast.TreatmentEnded{Treatment: treatment, Hours: hours, CarbonOut: e.CarbonOut, UVOff: e.UVOff, LampOff: e.LampOff, CarbonBack: e.CarbonBack,
		LowestC: e.LowestC, Held: v.Held, Failed: strings.Join(v.Failed, "; "), Stopped: e.Stopped, Note: e.Note, Task: e.Task, Disposal: e.Disposal}
	_, err = d.write(ctx, by, nil, note{lot, g.Event.Tank, end})
	return err
}

// judge says what a bath counts as; left are further doses of its plan that
// were not given, which make it count in part. Of an ingredient that the table does not
// know only the hours and the carbon are judged.
func judge(g *Given, hours float64, e BathEnd, left ...string) (dose.Verdict, error) {
	t := g.Treatment
	b := dose.Bath{Ingredient: "praziquantel", TargetMgL: t.TargetMgL, PlannedHours: g.Planned, Hours: hours, WeighedMgL: weighedMgL(t),
		CarbonOut: e.CarbonOut, UVOff: e.UVOff, LampOff: e.LampOff, LowestC: e.LowestC}
	if i, ok := IngredientOf(t.Active, t.Form); ok {
		b.Ingredient = i.ID
	}
	v, err := dose.Judge(b)
	if err != nil {
		return v, err
	}
	for _, more := range append([]string{e.Stopped, e.Other}, left...) {
		if more = strings.TrimSpace(more); more != "" {
			v.Failed = append(v.Failed, more)
			if v.Held == dose.Full {
				v.Held = dose.Partial
			}
		}
	}
	return v, nil
}

// weighedMgL is what the weighed dose made in the water, nil when nothing was
// weighed or the product's strength is not known.
func weighedMgL(t *holdfast.Treatment) *float64 {
	amount, _ := weighed(t)
	if amount == nil || t.StrengthShare <= 0 || t.VolumeL <= 0 {
		return nil
	}
	x := *amount * 1000 * t.StrengthShare / t.VolumeL
	return &x
}

// weighed is how much of the product went in, in grams or millilitres, and the
// field that says so; nil when it was neither weighed nor measured.
func weighed(t *holdfast.Treatment) (amount *float64, field string) {
	if t.WeighedG == nil && t.TakenUnit == "ml" {
		return t.Taken, "taken"
	}
	return t.WeighedG, "weighed_g"
}

// DoseAgain records a further dose into a bath that runs. More than one and a
// half times the whole first dose is taken for a slip, and so is what would leave
// the water far from its target, where that can be reckoned; only the latter
// stands if the note says why.
func (d *Desk) DoseAgain(ctx context.Context, by Actor, lot string, treatment holdfast.ID, r holdfast.Redose) error {
	_, g, tank, err := d.bath(ctx, lot, treatment, d.Now())
	if err != nil {
		return err
	}
	if g.Ended != nil {
		return refused("This bath has ended.", "Record a new bath.")
	}
	for _, x := range []struct {
		field       string
		first, then *float64
	}{{"weighed_g", g.Treatment.WeighedG, r.WeighedG}, {"taken", g.Treatment.Taken, r.Taken}} {
		if x.first != nil && x.then != nil && *x.then > 1.5**x.first {
			return holdfast.Problems{{Field: x.field, Message: fmt.Sprintf("%g is more than the whole first dose, %g", *x.then, *x.first), Hint: "A re-dose replaces only what was lost."}}
		}
	}
	at := by.At
	if at.IsZero() {
		at = d.Now()
	}
	again := slices.ContainsFunc(g.Redoses, func(ev holdfast.Event) bool { return ev.ID == by.ID })
	if before, ok := InBath(tank, g, at); ok && !again {
		if err := dosedRight(g.Treatment, before, r); err != nil {
			return err
		}
	}
	r.Treatment = treatment
	_, err = d.write(ctx, by, nil, note{lot, g.Event.Tank, &r})
	return err
}

// dosedRight refuses a further dose that leaves the water, with before mg/l in
// it, at less than half or more than one and a half times its target, unless the
// note gives a reason.
func dosedRight(t *holdfast.Treatment, before float64, r holdfast.Redose) error {
	amount, field := redosed(&r)
	if amount == nil {
		return nil
	}
	after := before + *amount*madeByOne(t)
	if ratio := after / t.TargetMgL; ratio >= 0.5 && ratio <= 1.5 {
		return nil
	}
	if _, err := dose.Reason("note", r.Note); err == nil {
		return nil
	}
	return holdfast.Problems{{Field: field, Message: fmt.Sprintf("%g would bring the water from about %.3g to %.3g mg/l, not %g mg/l", *amount, before, after, t.TargetMgL),
		Hint: "Check the point and the unit. If it really went in, say in the note why; it stays on the record."}}
}

// Tasks that follow a bath or dip.
const (
	TaskAfter TaskKind = "after" // look at animals after a bath or dip
	TaskEnd   TaskKind = "end"   // end a bath that runs
)

// watched is for how long the looks after a treatment are asked for.
const watched = 3 * 24 * time.Hour

// after asks for the looks that follow a bath or dip, and for the end of a bath
// that runs.
func (w *walker) after(l *holdfast.Lot, day holdfast.Day) []Task {
	var tasks []Task
	h, now := lotHistory(l), w.desk.Now()
	for _, kind := range []TaskKind{TaskAfter, TaskEnd} {
		for _, k := range w.on(h, kind, day) {
			tasks = append(tasks, mark(h, Task{Key: k, Kind: kind, Lot: l.ID, Tank: firstTank(l), Due: day, Says: "Look after the treatment"}))
		}
	}
	tasks = append(tasks, w.planDone(l, day)...)
	for i := range l.Events {
		ev := &l.Events[i]
		p, ok := ev.Payload.(*holdfast.Treatment)
		at := ev.OccurredAt.In(time.UTC)
		if !ok || at.After(now) {
			continue
		}
		tasks = append(tasks, w.planTasks(l, ev, p, day)...)
		if t, ok := w.lookDue(l, ev, p, now, day); ok && now.Sub(at) < watched {
			tasks = append(tasks, t)
		}
		if p.Running && !p.Trial {
			due := holdfast.DayOf(ev.OccurredAt+holdfast.Micros(p.Hours*3600*1e6), w.loc)
			if due <= day {
				tasks = append(tasks, Task{Key: key(TaskEnd, l.ID, ev.ID), Kind: TaskEnd, Lot: l.ID, Tank: firstTank(l), Due: due, Late: int(day - due), Of: ev.ID,
					Says:   "End the bath with " + p.Active,
					Detail: fmt.Sprintf("Full at %s. Carbon back, water changed, and how it went written down: until then it counts in part.", at.Add(time.Duration(p.Hours*float64(time.Hour))).In(w.loc).Format("2 Jan 15:04"))})
			}
		}
	}
	return tasks
}

// lookDue is the next look after a treatment that has not been taken, if it
// falls on the day or before.
func (w *walker) lookDue(l *holdfast.Lot, ev *holdfast.Event, p *holdfast.Treatment, now time.Time, day holdfast.Day) (Task, bool) {
	at := ev.OccurredAt.In(time.UTC)
	looks := looksAt(l, ev.ID, now)
	if p.Trial {
		if t := tryingOf(l, ev, p, now); t.Gate.State != dose.GateClosed {
			return Task{}, false
		}
	}
	due := looksFor(p)
	for n, d := range due {
		from := at.Add(d)
		if n+1 < len(due) && now.After(at.Add(due[n+1])) {
			continue // missed, and the next is due
		}
		taken := false
		for _, look := range looks {
			taken = taken || !look.At.Before(from)
		}
		on := holdfast.DayOf(holdfast.MicrosOf(from), w.loc)
		if taken || on > day {
			continue
		}
		who := fmt.Sprintf("the %d on trial", p.Count)
		if !p.Trial {
			who = "the animals"
			if p.Count > 0 {
				who = "the " + animals(p.Count)
			}
		}
		return Task{Key: key(TaskAfter, l.ID, ev.ID, n+1), Kind: TaskAfter, Lot: l.ID, Tank: firstTank(l), Due: on, Late: int(day - on), Of: ev.ID,
			Says:   fmt.Sprintf("Look at %s, %s after the %s", who, span(d), p.Form),
			Detail: fmt.Sprintf("Due at %s. Who walks, who is down, who is dead.", from.In(w.loc).Format("2 Jan 15:04"))}, true
	}
	return Task{}, false
}

// looksFor is when to look after a treatment. A whole lot in a bath that runs
// is looked at after its first hour; one that was written down afterwards is
// not asked about again.
func looksFor(p *holdfast.Treatment) []time.Duration {
	switch {
	case p.Trial || p.Form == "dip":
		return dose.LooksAfter(p.Form)
	case p.Running:
		return []time.Duration{time.Hour}
	}
	return nil
}

func span(d time.Duration) string { return fmt.Sprintf("%.0f h", d.Hours()) }

// trialSays is what the round says of the trial before a dose.
func trialSays(l *holdfast.Lot, now time.Time, loc *time.Location) string {
	for _, t := range Trials(l, now) {
		if now.Sub(t.At) > trialHolds {
			break
		}
		switch t.Gate.State {
		case dose.GateOpen:
			return fmt.Sprintf("The %d on trial with %s walk: it may be given.", t.Given.Count, t.Given.Active)
		case dose.GateStopped:
			return fmt.Sprintf("The trial with %s was stopped. Not for the lot.", t.Given.Active)
		}
		if !t.Gate.OpensAt.IsZero() {
			return fmt.Sprintf("Shut: %d are on trial with %s. It opens at the look after %s, if all walk.", t.Given.Count, t.Given.Active, t.Gate.OpensAt.In(loc).Format("2 Jan 15:04"))
		}
	}
	return "Shut for the lot: first a trial on 3 to 5 animals, watched for a day."
}
