package desk

import (
	"context"
	"maps"
	"slices"
	"time"

	"holdfast"
)

// The practice the round follows until a course is accepted for the lot. All of
// it is common practice; none of it is evidence.
const (
	firstLookAfter = 1  // days after arrival: animals rest first
	lookAfterDose  = 7  // days after the end of a dose
	lookEvery      = 7  // days between looks while the line is not reached
	repeatDose     = 14 // days after a dose, to reach what hatched since
	dosesPerFind   = 2
	waterEvery     = 3 // days between readings while a lot is held
	waterEveryFree = 7 // days between readings otherwise
)

// TaskKind is what a task asks for.
type TaskKind string

// The kinds of task.
const (
	TaskPull    TaskKind = "pull"    // take shed skins out
	TaskDead    TaskKind = "dead"    // look for dead
	TaskDose    TaskKind = "dose"    // give a bath or dip
	TaskLook    TaskKind = "look"    // look at animals
	TaskWater   TaskKind = "water"   // measure the water
	TaskDecide  TaskKind = "decide"  // release, or go on with the course
	TaskHygiene TaskKind = "hygiene" // dry hands, change nets
)

// Task is one thing to do on the round.
type Task struct {
	// Key names the task for good: entries that do it carry the key.
	Key  string
	Kind TaskKind
	Lot  string
	Tank string
	Due  holdfast.Day
	// Late is by how many days it is overdue.
	Late int
	// Says is the job, Detail what helps to do it.
	Says, Detail string
	// Planned is how many animals a look should take.
	Planned int
	// Done is the entry that did or skipped it; Twice a second one, if two
	// people ticked it.
	Done, Twice *holdfast.Event
	// DoneBy and DoneSays say who did it and what was written.
	DoneBy, DoneSays string
	Skipped          bool
	// Of is the treatment that a look or an end belongs to.
	Of holdfast.ID
	// Measure is how much it asks for, nil for a task without an amount.
	Measure *Measured
}

// Open reports whether the task still waits.
func (t Task) Open() bool { return t.Done == nil }

// Stop is a tank on the walk.
type Stop struct {
	Occupied
	Tasks []Task
	// Unusual says that more died here than this lot's usual, or "".
	Unusual string
}

// Section is a stretch of the walk with one zone. Before a worse zone comes a
// hygiene stop.
type Section struct {
	Zone Zone
	// Hygiene is the stop before this section; nil before the first.
	Hygiene *Task
	Stops   []Stop
}

// Round is the day's walk.
type Round struct {
	Day      holdfast.Day
	Sections []Section
	// Tomorrow is what falls due on the next day.
	Tomorrow []Task
	// Quiet are tanks with nothing to do.
	Quiet int
}

// Count returns how many tasks there are, are done and are late.
func (r *Round) Count() (all, done, late int) {
	each := func(t Task) {
		all++
		if !t.Open() {
			done++
		} else if t.Late > 0 {
			late++
		}
	}
	for _, s := range r.Sections {
		if s.Hygiene != nil {
			each(*s.Hygiene)
		}
		for _, st := range s.Stops {
			for _, t := range st.Tasks {
				each(t)
			}
		}
	}
	return all, done, late
}

// Round returns the walk of a day. Tasks follow from the state of lots and
// tanks; nothing about them is stored but the entries that did them.
func (d *Desk) Round(ctx context.Context, day holdfast.Day) (*Round, error) {
	room, err := d.Room(ctx)
	if err != nil {
		return nil, err
	}
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	shop, err := d.Settings(ctx)
	if err != nil {
		return nil, err
	}
	w := &walker{desk: d, ctx: ctx, loc: zone, shop: shop, lots: map[string]*holdfast.Lot{}, tanks: map[string]*holdfast.Tank{}}
	r := &Round{Day: day}
	for _, sys := range room.Systems {
		for _, o := range sys.Tanks {
			stop, err := w.stop(o, day)
			if err != nil {
				return nil, err
			}
			if len(stop.Tasks) == 0 {
				r.Quiet++
			} else {
				r.add(sys.Zone, stop)
			}
			next, err := w.stop(o, day+1)
			if err != nil {
				return nil, err
			}
			for _, t := range next.Tasks {
				if t.Due == day+1 && t.Open() {
					r.Tomorrow = append(r.Tomorrow, t)
				}
			}
		}
	}
	return r, w.hygiene(r)
}

// add puts a stop at the end of the walk.
func (r *Round) add(z Zone, s Stop) {
	if n := len(r.Sections); n == 0 || r.Sections[n-1].Zone != z {
		r.Sections = append(r.Sections, Section{Zone: z})
	}
	last := &r.Sections[len(r.Sections)-1]
	last.Stops = append(last.Stops, s)
}

// walker reads what the tasks follow from, each lot once.
type walker struct {
	desk *Desk
	ctx  context.Context
	loc  *time.Location
	shop holdfast.ShopSet
	lots map[string]*holdfast.Lot

	tanks map[string]*holdfast.Tank
}

func (w *walker) tank(id string) (*holdfast.Tank, error) {
	if t, ok := w.tanks[id]; ok {
		return t, nil
	}
	t, err := w.desk.Tank(w.ctx, id)
	if err == nil {
		w.tanks[id] = t
	}
	return t, err
}

func (w *walker) lot(id string) (*holdfast.Lot, error) {
	if l, ok := w.lots[id]; ok {
		return l, nil
	}
	l, err := w.desk.Lot(w.ctx, id)
	if err == nil {
		w.lots[id] = l
	}
	return l, err
}

func (w *walker) stop(o Occupied, day holdfast.Day) (Stop, error) {
	s := Stop{Occupied: o}
	for _, row := range o.Lots {
		l, err := w.lot(row.ID)
		if err != nil {
			return s, err
		}
		s.Tasks = append(s.Tasks, w.lotTasks(l, row, o.ID, day)...)
		if says := w.unusual(l, day); says != "" {
			s.Unusual = says
		}
	}
	if len(o.Lots) > 0 {
		t, err := w.tank(o.ID)
		if err != nil {
			return s, err
		}
		s.Tasks = append(s.Tasks, w.waterTask(t, o, day)...)
	}
	return s, nil
}

// firstTank is the tank that stands for a lot in several, so that a look or a
// dose is asked for once.
func firstTank(l *holdfast.Lot) string {
	if len(l.Places) == 0 {
		return ""
	}
	return l.Places[0].Tank
}

// hygiene puts a stop before every section but the first. Its tick stands on the
// tank that the section began with when it was ticked; animals that moved since
// make another tank the first, so every tank on the walk is asked.
func (w *walker) hygiene(r *Round) error {
	for i := range r.Sections {
		if i == 0 {
			continue
		}
		tank := r.Sections[i].Stops[0].ID
		task := Task{Key: key(TaskHygiene, int(r.Sections[i].Zone), r.Day), Kind: TaskHygiene, Tank: tank, Due: r.Day,
			Says:   "Hands washed and dried, other nets and bucket",
			Detail: "Each system has its own net, tube and cup. Nothing wet goes back to the tanks before this line. What was used here is dried through, scalded or put in chlorine: salt alone spares eggs."}
		if _, err := w.tank(tank); err != nil {
			return err
		}
		for _, id := range slices.Sorted(maps.Keys(w.tanks)) {
			if h := tankHistory(w.tanks[id]); task.Open() {
				task = mark(h, task)
			}
		}
		r.Sections[i].Hygiene = &task
	}
	return nil
}
