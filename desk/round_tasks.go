package desk

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"holdfast"
	"holdfast/reference"
)

func (w *walker) lotTasks(l *holdfast.Lot, row holdfast.LotRow, tank string, day holdfast.Day) []Task {
	var tasks []Task
	arrived := holdfast.DayOf(l.OpenedAt, w.loc)
	if day < arrived {
		return nil
	}
	waiting := l.Status == holdfast.Held || l.Status == holdfast.Recalled
	planned := waiting && l.Course != nil
	switch {
	case planned && moults(l.Species):
		tasks = append(tasks, w.coursePulls(l, tank, day, arrived)...)
	case waiting && moults(l.Species):
		tasks = append(tasks, w.pull(l, tank, day, arrived))
	}
	tasks = append(tasks, mark(lotHistory(l), Task{Key: key(TaskDead, l.ID, tank, day), Kind: TaskDead, Lot: l.ID, Tank: tank, Due: day,
		Says: "Look for dead"}))
	switch {
	case tank != firstTank(l):
	case planned:
		tasks = append(tasks, w.courseTasks(l, day)...)
	case waiting:
		tasks = append(tasks, w.dose(l, day)...)
		tasks = append(tasks, w.look(l, row, day, arrived)...)
	}
	if tank == firstTank(l) {
		tasks = append(tasks, w.after(l, day)...)
	}
	return tasks
}

// moults reports whether the animals shed skins that must be pulled.
func moults(species string) bool {
	group := species
	if k, ok := reference.Builtin().Kept(species); ok {
		group = k.Group
	}
	g, ok := reference.Builtin().Group(group)
	return !ok || g.Animal == "shrimp" || g.Animal == "prawn" || g.Animal == "crayfish"
}

// key names a task: its kind, its lot and tank, and the day it is for.
func key(kind TaskKind, parts ...any) string {
	s := []string{string(kind)}
	for _, p := range parts {
		if text := fmt.Sprint(p); text != "" {
			s = append(s, text)
		}
	}
	return strings.Join(s, "/")
}

// mark fills in who did the task, if anybody did.
func mark(h history, t Task) Task {
	done, ok := h.ticks[t.Key]
	if !ok {
		return t
	}
	ev := &h.events[done.First]
	t.Done, t.DoneBy, t.Late, t.DoneSays = ev, ev.Who, 0, tickSays(*ev)
	_, t.Skipped = ev.Payload.(*holdfast.TaskSkipped)
	if done.Second >= 0 {
		t.Twice = &h.events[done.Second]
	}
	return t
}

// history is the events in force of a lot or tank with the tasks they did.
type history struct {
	events []holdfast.Event
	ticks  map[string]holdfast.Ticks
}

func lotHistory(l *holdfast.Lot) history { return history{l.Events, l.Ticks} }

func tankHistory(t *holdfast.Tank) history { return history{t.Events, t.Ticks} }

// on returns the keys of the tasks of a kind that were done on a day, in the
// order in which they were done: they stay on the walk until the day is over.
func (w *walker) on(h history, kind TaskKind, day holdfast.Day) []string {
	var keys []string
	start, end := day.Start(w.loc), (day + 1).Start(w.loc)
	for i := len(h.events) - 1; i >= 0 && h.events[i].OccurredAt >= start; i-- {
		task := h.events[i].TaskOf()
		if h.events[i].OccurredAt < end && strings.HasPrefix(task, string(kind)+"/") && h.ticks[task].First == i {
			keys = append(keys, task)
		}
	}
	slices.Reverse(keys)
	return keys
}

// tickSays is what the entry that did a task wrote down.
func tickSays(ev holdfast.Event) string {
	switch p := ev.Payload.(type) {
	case *holdfast.Death:
		if p.Count == 0 {
			return "none dead"
		}
		return fmt.Sprintf("%d dead", p.Count)
	case *holdfast.MoultPull:
		if p.Count == nil {
			return "pulled, not counted"
		}
		return fmt.Sprintf("%d pulled", *p.Count)
	case *holdfast.TaskSkipped:
		return "left out: " + p.Reason
	case *holdfast.TreatmentLook:
		return fmt.Sprintf("%d down, %d dead", p.Down, p.Dead)
	case *holdfast.WaterChange:
		return fmt.Sprintf("%g l changed", p.Litres)
	case *holdfast.Inspection:
		return fmt.Sprintf("%d looked at, %d with signs", p.Looked(), p.Positive())
	}
	return ""
}

func (w *walker) pull(l *holdfast.Lot, tank string, day, arrived holdfast.Day) Task {
	t := Task{Key: key(TaskPull, l.ID, tank, day), Kind: TaskPull, Lot: l.ID, Tank: tank, Due: day,
		Says: "Pull every moult", Detail: "Shipping sets moults off: from the first hour on."}
	here := arrived
	for _, p := range l.Places {
		if p.Tank == tank {
			here = max(here, holdfast.DayOf(p.Since, w.loc))
		}
	}
	if _, done := l.Ticks[key(TaskPull, l.ID, tank, day-1)]; day > here && !done {
		t.Late = 1
		t.Detail = "Yesterday's pull is missing. Eggs on a skin left in the tank can hatch there."
	} else if before := lastCount(l, tank); before != "" {
		t.Detail = before
	}
	return mark(lotHistory(l), t)
}

// lastCount says how many skins came out last time.
func lastCount(l *holdfast.Lot, tank string) string {
	for i := len(l.Events) - 1; i >= 0; i-- {
		ev := l.Events[i]
		if p, ok := ev.Payload.(*holdfast.MoultPull); ok && ev.Tank == tank && p.Count != nil {
			return fmt.Sprintf("%d last time", *p.Count)
		}
	}
	return ""
}

// treatable reports whether a dose is common practice against the condition.
func treatable(condition string) bool {
	return condition == reference.RostrumWorm || condition == reference.SegmentedWorm
}

// dose asks for a dose after a find and for its repeat.
func (w *walker) dose(l *holdfast.Lot, day holdfast.Day) []Task {
	sign, of := holdfast.Micros(0), ""
	for c, at := range l.LastSign {
		if treatable(ConditionOf(c)) && at > sign {
			sign, of = at, ConditionOf(c)
		}
	}
	if sign == 0 {
		return nil
	}
	given, last := 0, sign
	for _, ev := range l.Events {
		p, ok := ev.Payload.(*holdfast.Treatment)
		if ok && !p.Trial && p.Held != holdfast.HeldVoid && ev.OccurredAt >= sign {
			given++
			last = ev.OccurredAt
		}
	}
	found := holdfast.DayOf(sign, w.loc)
	var tasks []Task
	for _, k := range w.on(lotHistory(l), TaskDose, day) {
		tasks = append(tasks, mark(lotHistory(l), Task{Key: k, Kind: TaskDose, Lot: l.ID, Tank: firstTank(l), Due: day, Says: "Treat against the " + lower(Called(of))}))
	}
	due := found
	if given > 0 {
		due = holdfast.DayOf(last, w.loc) + repeatDose
	}
	if given < dosesPerFind && due <= day {
		tasks = append(tasks, mark(lotHistory(l), Task{Key: key(TaskDose, l.ID, found, given+1), Kind: TaskDose, Lot: l.ID, Tank: firstTank(l),
			Due: due, Late: int(day - due), Says: doseSays(of, given+1),
			Detail: trialSays(l, w.desk.Now(), w.loc) + " Common practice, not a plan. Read the label, ask an aquatic veterinarian."}))
	}
	return tasks
}

func doseSays(condition string, n int) string {
	if n == 1 {
		return "Treat against the " + lower(Called(condition))
	}
	return fmt.Sprintf("Treat again against the %s, %d days after the last dose", lower(Called(condition)), repeatDose)
}

// look asks for the first look, for one after each dose and for one a week
// until the line is reached.
func (w *walker) look(l *holdfast.Lot, row holdfast.LotRow, day, arrived holdfast.Day) []Task {
	if len(Tracked(l.Species)) == 0 {
		return nil
	}
	var tasks []Task
	for _, k := range w.on(lotHistory(l), TaskLook, day) {
		tasks = append(tasks, mark(lotHistory(l), Task{Key: k, Kind: TaskLook, Lot: l.ID, Tank: firstTank(l), Due: day, Says: "Look at animals"}))
	}
	due, says := arrived+firstLookAfter, "First look"
	switch {
	case l.LastLook > 0 && l.LastDose > l.LastLook:
		due, says = holdfast.DayOf(l.LastDose, w.loc)+lookAfterDose, "Look after the dose"
	case l.LastLook > 0:
		due, says = holdfast.DayOf(l.LastLook, w.loc)+lookEvery, "Look again"
	}
	if due > day {
		return tasks
	}
	n := min(w.shop.LookSize, max(1, l.Alive.N))
	return append(tasks, mark(lotHistory(l), Task{Key: key(TaskLook, l.ID, due), Kind: TaskLook, Lot: l.ID, Tank: firstTank(l), Due: due,
		Late: int(day - due), Planned: n, Says: fmt.Sprintf("%s: %s, drawn at random", says, animals(n)),
		Detail: "Both sides, belly and head, with a lens or macro photographs."}))
}

func (w *walker) waterTask(t *holdfast.Tank, o Occupied, day holdfast.Day) []Task {
	every := holdfast.Day(waterEveryFree)
	since := holdfast.Micros(0)
	for _, l := range o.Lots {
		if l.Status == holdfast.Held || l.Status == holdfast.Recalled {
			every = waterEvery
		}
		for _, p := range l.Places {
			if p.Tank == o.ID && (since == 0 || p.Since < since) {
				since = p.Since
			}
		}
	}
	due := holdfast.DayOf(since, w.loc)
	if o.LastAt > since {
		due = holdfast.DayOf(o.LastAt, w.loc) + every
	}
	var tasks []Task
	for _, k := range w.on(tankHistory(t), TaskWater, day) {
		tasks = append(tasks, mark(tankHistory(t), Task{Key: k, Kind: TaskWater, Tank: o.ID, Due: day, Says: "Measure the water"}))
	}
	if due <= day {
		tasks = append(tasks, mark(tankHistory(t), Task{Key: key(TaskWater, o.ID, due), Kind: TaskWater, Tank: o.ID, Due: due, Late: int(day - due),
			Says: "Measure the water", Detail: "Temperature, pH, conductivity, ammonia, nitrite: those you can."}))
	}
	return tasks
}

// unusual says when more animals died in a day than the lot's own past makes
// likely: fewer than one day in a hundred. A normal bad day says nothing. The
// usual rate is the last 14 days' before, with one death spread over them
// added so that a first death is no alarm.
func (w *walker) unusual(l *holdfast.Lot, day holdfast.Day) string {
	today, before := 0, 0
	for _, ev := range l.Events {
		died := ev.Died()
		if died == 0 {
			continue
		}
		switch on := holdfast.DayOf(ev.OccurredAt, w.loc); {
		case on == day:
			today += died
		case on < day && on >= day-14:
			before += died
		}
	}
	if today < 3 {
		return ""
	}
	days := max(1, min(14, int(day-holdfast.DayOf(l.OpenedAt, w.loc))))
	rate := float64(before+1) / float64(days)
	if poissonTail(today, rate) >= 0.01 {
		return ""
	}
	return fmt.Sprintf("%d died today, the usual is %.1f a day. Measure the water, look at the animals, and find out why before anything else.", today, rate)
}

// poissonTail returns P(X >= n) for a Poisson count with the given mean.
func poissonTail(n int, mean float64) float64 {
	term, sum := math.Exp(-mean), 0.0
	for k := range n {
		sum += term
		term *= mean / float64(k+1)
	}
	return max(0, 1-sum)
}
