package desk

import (
	"fmt"
	"slices"

	"holdfast"
)

// courseTasks are what an accepted course asks for once, beside its pulls: a
// dose, a look, and on the day of release the decision. Days are civil days of
// the site.
func (w *walker) courseTasks(l *holdfast.Lot, day holdfast.Day) []Task {
	c, ok := coursePlan(l)
	if !ok {
		return nil
	}
	tasks := append(w.courseDoses(l, c, day), w.courseLooks(l, c, day)...)
	if day >= c.Release {
		tasks = append(tasks, mark(lotHistory(l), Task{Key: key(TaskDecide, l.ID, "course", l.Course.ID), Kind: TaskDecide, Lot: l.ID, Tank: firstTank(l),
			Due: c.Release, Late: int(day - c.Release), Says: "Decide: release, or go on", Detail: "The course planned the release for this day. Its gate says what is met."}))
	}
	return tasks
}

// coursePulls asks for the day's pulls. The first keeps the key it has without a
// course, so that a pull ticked in the morning stays done when a course is
// accepted at noon. Until the course begins, common practice holds; after its
// last pull nothing is asked for.
func (w *walker) coursePulls(l *holdfast.Lot, tank string, day, arrived holdfast.Day) []Task {
	c, ok := coursePlan(l)
	switch {
	case !ok || day > c.PullUntil || c.PullsPerDay == 0 || slices.Contains(c.SkipPulls, day):
		return w.pullsDone(l, tank, day)
	case day < c.PullFrom:
		return []Task{w.pull(l, tank, day, arrived)}
	}
	tasks := []Task{w.pull(l, tank, day, c.PullFrom)}
	for n := 2; n <= c.PullsPerDay; n++ {
		tasks = append(tasks, mark(lotHistory(l), Task{Key: key(TaskPull, l.ID, tank, day, n), Kind: TaskPull, Lot: l.ID, Tank: tank, Due: day,
			Says: fmt.Sprintf("Pull every moult, time %d of %d", n, c.PullsPerDay), Detail: "Some hours after the one before."}))
	}
	return tasks
}

// pullsDone are pulls that were made though none was asked for: they stay on the
// walk until the day is over.
func (w *walker) pullsDone(l *holdfast.Lot, tank string, day holdfast.Day) []Task {
	var tasks []Task
	for _, k := range w.on(lotHistory(l), TaskPull, day) {
		t := mark(lotHistory(l), Task{Key: k, Kind: TaskPull, Lot: l.ID, Tank: tank, Due: day, Says: "Pull every moult"})
		if t.Done != nil && t.Done.Tank == tank {
			tasks = append(tasks, t)
		}
	}
	return tasks
}

// CourseDose is a dose of an accepted course and what became of it.
type CourseDose struct {
	Planned holdfast.Day
	// Given is the treatment that counts for it, nil while it waits or once it was
	// left out on purpose, as Left says.
	Given *holdfast.Event
	Left  *holdfast.Event
}

// CourseDoses tells, for every dose of the lot's course, whether it was given:
// the n-th full or partial treatment of the lot since shortly before the course
// was accepted is its n-th dose, whatever day it came on; a dose that somebody
// left out on the round counts as settled.
func CourseDoses(l *holdfast.Lot) []CourseDose {
	c, ok := coursePlan(l)
	if !ok {
		return nil
	}
	var out []CourseDose
	var given []*holdfast.Event
	for i := range l.Events {
		ev := &l.Events[i]
		if p, ok := ev.Payload.(*holdfast.Treatment); ok && !p.Trial && p.Held != holdfast.HeldVoid && ev.OccurredAt >= l.Course.OccurredAt {
			given = append(given, ev)
		}
	}
	for i, d := range c.Doses {
		x := CourseDose{Planned: d}
		if x.Left = skipOf(l, doseKey(l, i)); x.Left != nil {
			out = append(out, x)
			continue
		}
		if len(given) > 0 {
			x.Given, given = given[0], given[1:]
		}
		out = append(out, x)
	}
	return out
}

// coursePlan is the accepted plan of a lot.
func coursePlan(l *holdfast.Lot) (*holdfast.CourseAccepted, bool) {
	if l.Course == nil {
		return nil, false
	}
	c, ok := l.Course.Payload.(*holdfast.CourseAccepted)
	return c, ok
}

// doseKey names the n-th dose of the course in force.
func doseKey(l *holdfast.Lot, n int) string { return key(TaskDose, l.ID, "course", l.Course.ID, n+1) }

func lookKey(l *holdfast.Lot, n int) string { return key(TaskLook, l.ID, "course", l.Course.ID, n+1) }

func (w *walker) courseDoses(l *holdfast.Lot, c *holdfast.CourseAccepted, day holdfast.Day) []Task {
	var tasks []Task
	for _, k := range w.on(lotHistory(l), TaskDose, day) {
		tasks = append(tasks, mark(lotHistory(l), Task{Key: k, Kind: TaskDose, Lot: l.ID, Tank: firstTank(l), Due: day, Says: "Treat against the " + lower(Called(c.Condition))}))
	}
	for i, d := range CourseDoses(l) {
		if d.Given != nil || d.Left != nil || d.Planned > day {
			continue
		}
		tasks = append(tasks, Task{Key: doseKey(l, i), Kind: TaskDose, Lot: l.ID, Tank: firstTank(l), Due: d.Planned, Late: int(day - d.Planned),
			Says:   fmt.Sprintf("Treat against the %s: dose %d of %d", lower(Called(c.Condition)), i+1, len(c.Doses)),
			Detail: trialSays(l, w.desk.Now(), w.loc) + " Of the accepted course. Read the label, ask an aquatic veterinarian."})
		break // the next one waits for this one
	}
	return tasks
}

// CourseLookDone is a look of an accepted course and what became of it.
type CourseLookDone struct {
	holdfast.CourseLook
	Made, Left *holdfast.Event
}

// CourseLooks tells, for every look of the lot's course, whether it was made:
// by the first look at drawn animals from a day before its day on that no
// earlier look of the course has taken.
func CourseLooks(l *holdfast.Lot, on func(holdfast.Micros) holdfast.Day) []CourseLookDone {
	c, ok := coursePlan(l)
	if !ok {
		return nil
	}
	var out []CourseLookDone
	next := 0
	for i, planned := range c.Looks {
		x := CourseLookDone{CourseLook: planned}
		if x.Left = skipOf(l, lookKey(l, i)); x.Left != nil {
			out = append(out, x)
			continue
		}
		for ; next < len(l.Events) && x.Made == nil; next++ {
			ev := &l.Events[next]
			p, ok := ev.Payload.(*holdfast.Inspection)
			if ok && p.Random && ev.OccurredAt >= l.Course.OccurredAt && on(ev.OccurredAt) >= planned.Day-1 {
				x.Made = ev
			}
		}
		out = append(out, x)
	}
	return out
}

func (w *walker) day(at holdfast.Micros) holdfast.Day { return holdfast.DayOf(at, w.loc) }

func (w *walker) courseLooks(l *holdfast.Lot, c *holdfast.CourseAccepted, day holdfast.Day) []Task {
	var tasks []Task
	for _, k := range w.on(lotHistory(l), TaskLook, day) {
		tasks = append(tasks, mark(lotHistory(l), Task{Key: k, Kind: TaskLook, Lot: l.ID, Tank: firstTank(l), Due: day, Says: "Look at animals"}))
	}
	for i, x := range CourseLooks(l, w.day) {
		if x.Made != nil || x.Left != nil || x.Day > day {
			continue
		}
		n := min(x.Animals, max(1, l.Alive.N))
		tasks = append(tasks, Task{Key: lookKey(l, i), Kind: TaskLook, Lot: l.ID, Tank: firstTank(l), Due: x.Day, Late: int(day - x.Day), Planned: n,
			Says:   fmt.Sprintf("Look %d of %d of the course: %s, drawn at random", i+1, len(c.Looks), animals(n)),
			Detail: "Both sides, belly and head, with a lens or macro photographs."})
	}
	return tasks
}
