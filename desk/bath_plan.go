package desk

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"holdfast"
	"holdfast/science/water/dose"
)

// Tasks of the plan of a bath.
const (
	TaskChange TaskKind = "change" // change water during a bath or after it
	TaskRedose TaskKind = "redose" // dose a bath up again
	TaskCarbon TaskKind = "carbon" // put carbon back after a bath
)

// afterBath is for how long the end of a bath is seen to. Judgement.
const afterBath = 14 * 24 * time.Hour

// Measured is an amount that a task asks for.
type Measured struct {
	// Amount in Unit, as scale, syringe or jug can measure it. Litres of water
	// have the unit "l".
	Amount float64
	Unit   string
	// Stock says how to measure less than the scale can weigh: then its TakeML
	// is what goes in. nil for a direct weighing.
	Stock *dose.Stock
	// MgPer is the active ingredient in a gram of the product, Solubility what a
	// litre of water takes up of it; nil where there is no limit.
	MgPer      float64
	Solubility *dose.Solubility
	// Caution stands beside the number.
	Caution string
}

// StepDone is a part of a bath's plan and what became of it.
type StepDone struct {
	holdfast.BathStep
	// Changed and Dosed are the entries that did it, NoChange and Left those that
	// left the change or the dose out.
	Changed, Dosed, NoChange, Left *holdfast.Event
}

// StepsOf tells what became of the plan of a bath. An entry that names its task
// did it; another water change of the tank, or another dose into the bath, did
// the first part that was due within half a day and still waited.
func StepsOf(l *holdfast.Lot, tank *holdfast.Tank, g *Given) []StepDone {
	if g.Treatment.Plan == nil {
		return nil
	}
	var out []StepDone
	id := g.Event.ID
	for n, s := range g.Treatment.Plan.Steps {
		out = append(out, StepDone{BathStep: s, NoChange: skipOf(l, stepKey(TaskChange, l, id, n)), Left: skipOf(l, stepKey(TaskRedose, l, id, n))})
	}
	settle := func(ev *holdfast.Event, kind TaskKind, waits func(*StepDone) bool, take func(*StepDone)) {
		for n := range out {
			if ev.TaskOf() == stepKey(kind, l, id, n) {
				take(&out[n])
				return
			}
		}
		if ev.TaskOf() != "" {
			return
		}
		hours := g.since(ev)
		for n := range out {
			if waits(&out[n]) && hours >= out[n].Hours-12 {
				take(&out[n])
				return
			}
		}
	}
	for i := range g.Redoses {
		ev := &g.Redoses[i]
		settle(ev, TaskRedose, func(s *StepDone) bool { return s.Dose && s.Dosed == nil && s.Left == nil }, func(s *StepDone) { s.Dosed = ev })
	}
	if tank != nil {
		for i := range tank.Events {
			ev := &tank.Events[i]
			if _, ok := ev.Payload.(*holdfast.WaterChange); ok && g.since(ev) > 0 {
				settle(ev, TaskChange, func(s *StepDone) bool { return s.ChangeShare > 0 && s.Changed == nil && s.NoChange == nil }, func(s *StepDone) { s.Changed = ev })
			}
		}
	}
	return out
}

// since is how many hours after the treatment began an entry is.
func (g *Given) since(ev *holdfast.Event) float64 {
	return ev.OccurredAt.In(time.UTC).Sub(g.At).Hours()
}

func stepKey(kind TaskKind, l *holdfast.Lot, id holdfast.ID, n int) string {
	return key(kind, l.ID, id, n+1)
}

// skipOf is the entry that left the task out, if one did.
func skipOf(l *holdfast.Lot, task string) *holdfast.Event {
	if t, ok := l.Ticks[task]; ok {
		if _, skipped := l.Events[t.First].Payload.(*holdfast.TaskSkipped); skipped {
			return &l.Events[t.First]
		}
	}
	return nil
}

// undosed says which further doses of a bath's plan were not given by at, in
// words for its verdict.
func undosed(steps []StepDone, began, at time.Time) []string {
	planned, given, left := 0, 0, ""
	for _, s := range steps {
		if !s.Dose || at.Sub(began).Hours() < s.Hours {
			continue
		}
		planned++
		switch {
		case s.Dosed != nil:
			given++
		case s.Left != nil:
			left = "; left out: " + s.Left.Payload.(*holdfast.TaskSkipped).Reason
		}
	}
	if given == planned {
		return nil
	}
	return []string{fmt.Sprintf("%d of %d further doses given%s", given, planned, left)}
}

// InBath is what is in the water of a bath at a moment, mg/l, reckoned from what
// was really weighed and changed and from how fast it was taken to fade; ok is
// false where that is not known, as for tablets.
func InBath(tank *holdfast.Tank, g *Given, at time.Time) (mgL float64, ok bool) {
	p := g.Treatment
	first := weighedMgL(p)
	if first == nil || p.TargetMgL <= 0 || p.Plan == nil {
		return 0, false
	}
	events := []dose.Event{{AddMgL: *first}}
	for i := range g.Redoses {
		ev := &g.Redoses[i]
		if in, _ := redosed(ev.Payload.(*holdfast.Redose)); in != nil {
			events = append(events, dose.Event{Day: g.since(ev) / 24, AddMgL: *in * madeByOne(p)})
		}
	}
	if tank != nil {
		for i := range tank.Events {
			ev := &tank.Events[i]
			if c, is := ev.Payload.(*holdfast.WaterChange); is && g.since(ev) > 0 {
				events = append(events, dose.Event{Day: g.since(ev) / 24, ChangeShare: c.Litres / p.VolumeL})
			}
		}
	}
	return dose.InWater(events, p.Plan.HalfLifeD, at.Sub(g.At).Hours()/24), true
}

// redosed is how much of the product a further dose was, and the field that
// says so.
func redosed(r *holdfast.Redose) (amount *float64, field string) {
	if r.WeighedG == nil {
		return r.Taken, "taken"
	}
	return r.WeighedG, "weighed_g"
}

// madeByOne is the mg/l that one gram or millilitre of the product makes.
func madeByOne(p *holdfast.Treatment) float64 { return 1000 * p.StrengthShare / p.VolumeL }

// AskedAgain is how much a further dose is now: what brings the water back to
// the target as it really stands, or what was planned where that is not known.
func AskedAgain(tank *holdfast.Tank, g *Given, s StepDone, at time.Time) Measured {
	p := g.Treatment
	m := Measured{Amount: s.Amount, Unit: "g", Caution: againCaution(p)}
	if p.WeighedG == nil {
		m.Unit = p.TakenUnit
	}
	now, ok := InBath(tank, g, at)
	if !ok {
		return m
	}
	if s.ChangeShare > 0 && s.Changed == nil && s.NoChange == nil {
		now *= 1 - s.ChangeShare // the change comes first
	}
	step := dose.Measure{Step: p.Plan.MeasureStep}
	if step.Step <= 0 {
		step = dose.Usual(dose.Unit(m.Unit))
	}
	want := math.Max(0, p.TargetMgL-now) / madeByOne(p)
	m.Amount = step.Round(want)
	if m.Unit == "g" && want > 0 && !step.Enough(m.Amount) {
		strength := dose.Strength{MgPer: 1000 * p.StrengthShare, Unit: dose.Gram}
		dissolves, suspended := 0.0, false
		if i, known := IngredientOf(p.Active, p.Form); known {
			if suspended = i.Suspension; i.Solubility != nil {
				dissolves = i.Solubility.LowMgL
			}
			if m.MgPer = strength.MgPer; !suspended {
				m.Solubility = i.Solubility
			}
		}
		if stock, err := dose.MakeStock(want, strength, step, dissolves, suspended); err == nil {
			m.Stock, m.Amount = &stock, stock.DoseG
		}
	}
	return m
}

func againCaution(p *holdfast.Treatment) string {
	if i, ok := IngredientOf(p.Active, p.Form); ok {
		for _, n := range i.Notes {
			if n.About == "people" && n.Say != "Nothing special." {
				return n.Say + " Air on; stop at the first sign."
			}
		}
	}
	return "Read the label. Air on; stop at the first sign: " + dose.StopSigns()[1] + "."
}

// planTasks asks for what the plan of a bath has for the day: its water changes
// and further doses while it runs, carbon and water changes when it is over. Of
// several doses that are late only the newest is asked for, since it makes up
// for them; the others count as not given.
func (w *walker) planTasks(l *holdfast.Lot, ev *holdfast.Event, p *holdfast.Treatment, day holdfast.Day) []Task {
	if p.Plan == nil || p.Trial {
		return nil
	}
	var tank *holdfast.Tank
	if t, err := w.tank(ev.Tank); err == nil { // else one that nobody has described
		tank = t
	}
	g, err := GivenOf(l, ev.ID, w.desk.Now())
	if err != nil {
		return nil // not so: the lot tells of it
	}
	if g.Ended != nil {
		return w.endTasks(l, tank, g, day)
	}
	steps := StepsOf(l, tank, g)
	due := func(s StepDone) holdfast.Day {
		return holdfast.DayOf(ev.OccurredAt+holdfast.Micros(s.Hours*3600*1e6), w.loc)
	}
	newest := -1
	for n, s := range steps {
		if due(s) <= day {
			newest = n
		}
	}
	if newest < 0 {
		return nil
	}
	s, on := steps[newest], due(steps[newest])
	at := g.At.Add(time.Duration(s.Hours * float64(time.Hour))).In(w.loc).Format("2 Jan 15:04")
	base := Task{Lot: l.ID, Tank: ev.Tank, Due: on, Late: int(day - on), Of: ev.ID}
	if base.Tank == "" {
		base.Tank = firstTank(l)
	}
	var tasks []Task
	if s.ChangeShare > 0 && s.Changed == nil && s.NoChange == nil {
		tasks = append(tasks, changeTask(base, stepKey(TaskChange, l, ev.ID, newest), s.ChangeShare, p.VolumeL,
			"Change water in the bath with "+p.Active, fmt.Sprintf("Due at %s. Matched water, carbon stays out; the further dose comes after it.", at)))
	}
	if s.Dose && s.Dosed == nil && s.Left == nil {
		t := base
		t.Key, t.Kind = stepKey(TaskRedose, l, ev.ID, newest), TaskRedose
		m := AskedAgain(tank, g, s, w.at(day))
		t.Measure = &m
		t.Says = fmt.Sprintf("Dose the bath with %s again", p.Active)
		t.Detail = fmt.Sprintf("Due at %s, to bring it back to %s.", at, dose.MgLText(p.TargetMgL))
		if p.TargetMgL == 0 {
			t.Detail = fmt.Sprintf("Due at %s, as the label says.", at)
		}
		if missed := undosed(steps[:newest], g.At, w.at(day)); len(missed) > 0 {
			t.Detail += " " + upper(missed[0]) + " before: this one makes up for it, and the bath counts in part."
		}
		tasks = append(tasks, t)
	}
	return tasks
}

// at is the moment for which a day is asked: now, or the morning of a day to
// come.
func (w *walker) at(day holdfast.Day) time.Time {
	now := w.desk.Now()
	if start := day.Start(w.loc).In(time.UTC).Add(9 * time.Hour); start.After(now) && day > holdfast.DayOf(holdfast.MicrosOf(now), w.loc) {
		return start
	}
	return now
}

func changeTask(t Task, k string, share, litres float64, says, detail string) Task {
	t.Key, t.Kind, t.Says, t.Detail = k, TaskChange, says, detail
	t.Measure = &Measured{Amount: math.Round(10*share*litres) / 10, Unit: "l",
		Caution: "Medicated water never goes outdoors or into a storm drain."}
	return t
}

// endTasks asks for carbon and for water changes until the residue is reached.
// Leaving one change out leaves the others out with it.
func (w *walker) endTasks(l *holdfast.Lot, tank *holdfast.Tank, g *Given, day holdfast.Day) []Task {
	ev, p, ended := g.Event, g.Treatment, g.Ended
	over, now := ended.OccurredAt.In(time.UTC), w.at(day)
	if now.Sub(over) > afterBath {
		return nil
	}
	on := holdfast.DayOf(ended.OccurredAt, w.loc)
	base := Task{Lot: l.ID, Tank: ev.Tank, Due: on, Late: int(day - on), Of: ev.ID}
	if base.Tank == "" {
		base.Tank = firstTank(l)
	}
	var tasks []Task
	takes := false
	if i, ok := IngredientOf(p.Active, p.Form); ok {
		takes = i.CarbonTakes
	}
	k := key(TaskCarbon, l.ID, ev.ID)
	if back := ended.Payload.(*holdfast.TreatmentEnded).CarbonBack; takes && (back == nil || !*back) {
		if _, done := l.Ticks[k]; !done {
			t := base
			t.Key, t.Kind, t.Says = k, TaskCarbon, "Fresh carbon into the filter after the bath with "+p.Active
			t.Detail = "It takes up what is left. Out again before the next bath."
			tasks = append(tasks, t)
		}
	}
	left, ok := InBath(tank, g, now)
	if !ok || p.Plan.EndShare <= 0 || p.Plan.ResidueMgL <= 0 || left <= p.Plan.ResidueMgL || tank == nil {
		return tasks
	}
	prefix := key(TaskChange, l.ID, ev.ID, "end") + "/"
	n := 1
	for _, c := range tank.Events {
		if _, is := c.Payload.(*holdfast.WaterChange); is && c.OccurredAt >= ended.OccurredAt {
			n++
			base.Due = max(base.Due, holdfast.DayOf(c.OccurredAt, w.loc)+1)
		}
	}
	if base.Late = int(day - base.Due); base.Late < 0 {
		return tasks
	}
	for task := range l.Ticks {
		if strings.HasPrefix(task, prefix) && skipOf(l, task) != nil {
			return tasks
		}
	}
	more := int(math.Ceil(math.Log(p.Plan.ResidueMgL/left) / math.Log(1-p.Plan.EndShare)))
	detail := fmt.Sprintf("About %s are left by reckoning; %d of these bring it below %s. Carbon does it too.", dose.MgLText(left), more, dose.MgLText(p.Plan.ResidueMgL))
	return append(tasks, changeTask(base, fmt.Sprintf("%s%d", prefix, n), p.Plan.EndShare, p.VolumeL, "Change water after the bath with "+p.Active, detail))
}

// planDone are the tasks of the plans of a lot's baths that were done on the
// day: they stay on the walk until it is over.
func (w *walker) planDone(l *holdfast.Lot, day holdfast.Day) []Task {
	var tasks []Task
	add := func(h history, kind TaskKind, says, tank string) {
		for _, k := range w.on(h, kind, day) {
			if strings.HasPrefix(k, key(kind, l.ID)+"/") && !slices.ContainsFunc(tasks, func(t Task) bool { return t.Key == k }) {
				tasks = append(tasks, mark(h, Task{Key: k, Kind: kind, Lot: l.ID, Tank: tank, Due: day, Says: says}))
			}
		}
	}
	h := lotHistory(l)
	add(h, TaskRedose, "Dose the bath again", firstTank(l))
	add(h, TaskCarbon, "Fresh carbon into the filter", firstTank(l))
	add(h, TaskChange, "Change water", firstTank(l))
	for _, p := range l.Places {
		if t, err := w.tank(p.Tank); err == nil {
			add(tankHistory(t), TaskChange, "Change water", p.Tank)
		}
	}
	return tasks
}
