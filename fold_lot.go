package holdfast

import (
	"fmt"
	"slices"
)

// FoldLot returns the state of the lot with the given id from its own entries,
// in whatever order they come. It never fails: what cannot be true together is
// listed in Contradictions, and the fold goes on.
func FoldLot(id string, events []Event) *Lot {
	events = sorted(events)
	inForce, undone, found := resolve(events)
	l := &Lot{ID: id, Status: Held, All: events, Events: inForce, Undone: undone, Contradictions: found,
		LastSign: map[string]Micros{}, Ticks: make(map[string]Ticks, len(inForce))} // most entries do a task
	for i := range events {
		l.HeadSeq = max(l.HeadSeq, events[i].Seq)
	}
	l.open()
	l.endBaths()
	for i := range l.Events {
		l.apply(i)
	}
	l.settle()
	return l
}

// open finds the entry that begins the lot, so that entries with the same or an
// earlier time fold onto it.
func (l *Lot) open() {
	for i := range l.Events {
		ev := &l.Events[i]
		stock, declared, parent, suspects := Stock{}, 0, "", []string(nil)
		switch p := ev.Payload.(type) {
		case *LotOpened:
			stock, declared = p.Stock, p.Declared
		case *LotSplit:
			if p.NewLot != l.ID {
				continue
			}
			stock, declared, parent, suspects = p.Stock, p.Count, ev.Lot, p.Suspects
		default:
			continue
		}
		if l.Opened != "" {
			l.contradict(*ev, l.Opened, CodeOpenedTwice, "The lot was opened twice; the earlier one counts.")
			continue
		}
		l.Stock, l.Declared, l.Parent = stock, declared, parent
		l.Opened, l.OpenedAt = ev.ID, ev.OccurredAt
		l.Alive = Estimate{declared, declared, declared}
		l.suspect(parent, suspects...)
	}
	if l.Opened == "" && len(l.Events) > 0 {
		l.contradict(l.Events[0], "", CodeNotOpened, "Nothing here says what this lot is: its opening was undone or has not arrived.")
	}
}

func (l *Lot) contradict(ev Event, other ID, code, format string, args ...any) {
	l.Contradictions = append(l.Contradictions, Contradiction{Entry: ev.ID, Other: other, Code: code, Says: fmt.Sprintf(format, args...)})
}

// apply folds event i of those in force onto the state.
func (l *Lot) apply(i int) {
	ev := l.Events[i]
	if l.Opened != "" && ev.OccurredAt < l.OpenedAt {
		l.contradict(ev, l.Opened, CodeBeforeOpening, "This is dated before the lot was opened.")
	}
	if task := ev.TaskOf(); task != "" {
		l.tick(task, i)
	}
	switch p := ev.Payload.(type) {
	case *LotPlaced:
		l.place(ev, p.Count, false)
	case *LotMoved:
		l.move(ev, p)
	case *LotSplit:
		if p.NewLot != l.ID {
			l.SplitOff += l.lose(ev, p.Count, "split off")
		} else if ev.Tank != "" {
			l.place(ev, 0, false)
		}
	case *LotMerged:
		if p.Into == l.ID {
			l.MergedIn += p.Count
			l.gain(ev, p.Count)
			if l.suspect(ev.Lot, p.Suspects...); len(p.Suspects) > 0 {
				l.Status = Held
			}
		} else {
			l.MergedOut += l.lose(ev, p.Count, "merged")
		}
	case *Counted:
		l.recount(ev, p)
	case *Births:
		l.Born += p.Count
		l.gain(ev, p.Count)
	case *DOA:
		l.DOA += l.lose(ev, p.Count, "dead on arrival")
	case *Death:
		l.Deaths += l.lose(ev, p.Count, "dead")
	case *Gone:
		l.Gone += l.lose(ev, p.Count, "gone")
	case *Removal:
		l.Removed += l.lose(ev, p.Count, "removed")
	case *Sale:
		if l.Status != Released && l.Status != Disclosed {
			l.contradict(ev, "", CodeSoldUnreleased, "Animals were sold while the lot was not for sale.")
		}
		l.Sold += l.lose(ev, p.Count, "sold")
	case *Inspection:
		l.look(ev, p)
	case *Treatment:
		if p.Held != HeldVoid && !p.Trial {
			l.LastDose = max(l.LastDose, ev.doseEnd(p))
		}
	case *TreatmentLook:
		l.Deaths += l.lose(ev, p.Died, "dead after a bath or dip")
	case *Hold:
		l.hold(ev, p)
	case *Release:
		l.release(ev, p)
	case *Override:
		l.Overrides = append(l.Overrides, ev)
	case *Exit:
		l.exit(ev, p)
	case *CourseAccepted:
		l.Course = &ev
	case *CourseStopped:
		if l.Course != nil && l.Course.ID == p.Course {
			l.Course = nil
		}
	}
}

// tick notes which entry did a task. A second one is kept and shown: which of
// the two counts is for the person to say.
func (l *Lot) tick(task string, i int) {
	t, before := l.Ticks[task]
	if !before {
		l.Ticks[task] = Ticks{First: i, Second: -1}
		return
	}
	l.contradict(l.Events[i], l.Events[t.First].ID, CodeTickedTwice, "This job was ticked twice. Undo the one that should not count.")
	if t.Second < 0 {
		t.Second = i
		l.Ticks[task] = t
	}
}

func (l *Lot) place(ev Event, count int, hospital bool) {
	if count == 0 {
		count = l.Alive.N
		for _, p := range l.Places {
			count -= p.Count
		}
	}
	l.put(ev, max(0, count), hospital)
}

func (l *Lot) put(ev Event, count int, hospital bool) {
	for i := range l.Places {
		if l.Places[i].Tank == ev.Tank {
			l.Places[i].Count += count
			return
		}
	}
	l.Places = append(l.Places, Place{Tank: ev.Tank, Since: ev.OccurredAt, Count: count, Hospital: hospital})
	l.Stays = append(l.Stays, Stay{Tank: ev.Tank, From: ev.OccurredAt})
}

func (l *Lot) move(ev Event, p *LotMoved) {
	i := slices.IndexFunc(l.Places, func(q Place) bool { return q.Tank == p.From })
	if i < 0 {
		l.contradict(ev, "", CodeNotThere, "Animals were moved from tank %s, where none of this lot stood.", p.From)
		l.put(ev, p.Count, p.Hospital)
		return
	}
	n := l.Places[i].Count
	if p.Count > 0 && p.Count < n {
		l.Places[i].Count -= p.Count
		n = p.Count
	} else {
		l.leave(i, ev.OccurredAt)
	}
	l.put(ev, n, p.Hospital)
}

// leave takes place i off the list and closes its stay.
func (l *Lot) leave(i int, at Micros) {
	tank := l.Places[i].Tank
	l.Places = slices.Delete(l.Places, i, i+1)
	for j := range l.Stays {
		if l.Stays[j].Tank == tank && l.Stays[j].To == 0 {
			l.Stays[j].To = at
		}
	}
}

// lose takes n animals off, and returns n. More than were alive is recorded as
// it was said and shown as a contradiction.
func (l *Lot) lose(ev Event, n int, how string) int {
	if n > l.Alive.High {
		l.contradict(ev, "", CodeMoreThanAlive, "%d %s, though only %d were thought alive. A recount settles it.", n, how, l.Alive.N)
	}
	l.Alive = l.Alive.plus(-n)
	l.fromPlaces(ev.Tank, n)
	if l.Alive.N == 0 {
		for len(l.Places) > 0 {
			l.leave(0, ev.OccurredAt)
		}
	}
	return n
}

// fromPlaces takes n animals from the tank named, or from the fullest ones.
func (l *Lot) fromPlaces(tank string, n int) {
	for n > 0 && len(l.Places) > 0 {
		best := slices.IndexFunc(l.Places, func(p Place) bool { return p.Tank == tank })
		if best < 0 || l.Places[best].Count == 0 {
			best = 0
			for i, p := range l.Places {
				if p.Count > l.Places[best].Count {
					best = i
				}
			}
		}
		k := min(n, l.Places[best].Count)
		if k == 0 {
			return
		}
		l.Places[best].Count -= k
		n -= k
	}
}

func (l *Lot) gain(ev Event, n int) {
	l.Alive = l.Alive.plus(n)
	for i := range l.Places {
		if l.Places[i].Tank == ev.Tank || (ev.Tank == "" && i == 0) {
			l.Places[i].Count += n
			return
		}
	}
}

func (l *Lot) recount(ev Event, p *Counted) {
	l.Recounts = append(l.Recounts, Recount{At: ev.OccurredAt, Entry: ev.ID, Expected: l.Alive.N, Counted: p.Count})
	diff := p.Count - l.Alive.N
	l.Alive = Estimate{p.Count, max(0, p.Count-p.PlusMinus), p.Count + p.PlusMinus}
	switch {
	case diff < 0:
		l.fromPlaces(ev.Tank, -diff)
	case len(l.Places) > 0:
		l.gainPlaces(ev.Tank, diff)
	}
}

func (l *Lot) gainPlaces(tank string, n int) {
	i := max(0, slices.IndexFunc(l.Places, func(p Place) bool { return p.Tank == tank }))
	l.Places[i].Count += n
}

func (l *Lot) look(ev Event, p *Inspection) {
	l.LastLook = ev.OccurredAt
	positive := false
	for _, a := range p.Animals {
		for _, f := range a.Findings {
			if f.Condition != Pigment && f.Condition != CannotTell {
				l.LastSign[f.Condition] = ev.OccurredAt
				positive = true
			}
		}
	}
	if positive && l.Released != nil && l.FoundAfterRelease == nil {
		l.found(ev)
	}
}

// found raises the alarm of a find that came after the release.
func (l *Lot) found(ev Event) {
	l.FoundAfterRelease = &ev
	if l.Status == Released {
		l.Status = Recalled
	}
}

func (l *Lot) hold(ev Event, p *Hold) {
	if p.Cleared != "" {
		l.Suspects = slices.DeleteFunc(l.Suspects, func(s string) bool { return s == p.Cleared })
		delete(l.SuspectedIn, p.Cleared)
	}
	if p.Suspect != "" {
		l.suspect(ev.Lot, p.Suspect)
	}
	if l.Status != Closed {
		l.Status = Held
	}
}

// suspect adds what the lot is suspected of, each once, and the lot in which it
// was suspected if that is another. What is suspected of its own animals is not
// called another lot's any more.
func (l *Lot) suspect(in string, all ...string) {
	for _, s := range all {
		known := slices.Contains(l.Suspects, s)
		if !known {
			l.Suspects = append(l.Suspects, s)
		}
		switch {
		case in == l.ID:
			delete(l.SuspectedIn, s)
		case !known:
			if l.SuspectedIn == nil {
				l.SuspectedIn = map[string]string{}
			}
			l.SuspectedIn[s] = in
		}
	}
}

func (l *Lot) release(ev Event, p *Release) {
	if p.Override != "" && !slices.ContainsFunc(l.Overrides, func(o Event) bool { return o.ID == p.Override }) {
		l.contradict(ev, p.Override, CodeOverrideMissing, "The release rests on an override that was undone or has not arrived.")
	}
	l.Released, l.FoundAfterRelease = &ev, nil
	if l.Status != Closed {
		l.Status = Released
	}
}

func (l *Lot) exit(ev Event, p *Exit) {
	l.Exits = append(l.Exits, ev)
	whole := p.Count == 0 || p.Count >= l.Alive.N
	switch p.Way {
	case ExitDisclosed:
		l.Status = Disclosed
	case ExitColony:
		if whole {
			l.Status = Colony
		}
	case ExitClaim, ExitPutDown:
		n := p.Count
		if whole {
			n = l.Alive.N
		}
		l.Removed += l.lose(ev, n, "given up")
		if whole {
			l.Status = Closed
		}
	case ExitTreatOn:
		l.Status = Held
	}
}

// settle closes a lot that has no animals left and looks for finds that were
// recorded after the release though they are dated before it.
func (l *Lot) settle() {
	if r := l.Released; r != nil && l.FoundAfterRelease == nil {
		for _, ev := range l.Events {
			p, ok := ev.Payload.(*Inspection)
			if ok && ev.OccurredAt <= r.OccurredAt && ev.Seq > r.Seq && p.Positive() > 0 {
				l.found(ev)
				break
			}
		}
	}
	if l.Opened != "" && l.Alive.N == 0 && l.Status != Recalled {
		l.Status = Closed
	}
}
