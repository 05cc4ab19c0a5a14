package clearance

import (
	"cmp"
	"math"
	"slices"
)

// fork is what a run holds on the day on which two plans begin to differ. Until
// then they are one lot, so that the second need follow only who lives on that day
// and who comes later. Every draw is keyed by whom it is for: both plans find what
// they would have found alone.
type fork struct {
	day float64
	// worms attached before the day; they, or something that came of them and is no
	// worm yet, live on it.
	worms []worm
	// arrived counts all that attached before the day, without those of day 0.
	arrived int
	// ended is the last moment of what ended before the day.
	ended float64
}

func (f *fork) add(w worm, lived float64) {
	if w.at >= f.day {
		return
	}
	if w.came {
		f.arrived++
	}
	if lived >= f.day {
		f.worms = append(f.worms, w)
	} else {
		f.ended = max(f.ended, lived)
	}
}

// resume simulates what follow does from a fork of the same run under a plan that
// was the same until then; first worms were there on day 0. What it says of days
// before the fork is void.
func (r *run) resume(k key, v *Values, kill []float64, epochs []epoch, partings []parting, first int, f *fork) {
	r.begin(k, v, kill, epochs, partings)
	r.since, r.before, r.end = f.day, f.arrived, f.ended
	r.first, r.born = first, first+f.arrived
	again := 0
	for _, w := range f.worms {
		if w.came {
			again++
		}
	}
	for _, later := range r.forks {
		later.arrived, later.ended = f.arrived-again, f.ended
	}
	for _, w := range f.worms {
		r.one(w)
	}
	r.through(int(f.day))
	if r.capped { // when it was given up depends on what came before
		r.follow(k, v, kill, epochs, partings)
		return
	}
	r.markEggs()
}

// after makes w go on where its plan and before's fork. Days and looks until then
// must be among before's.
func (w *worker) after(before *worker, day float64) {
	w.before, w.fork = before, &fork{day: day}
	before.whole.forks = append(before.whole.forks, w.fork)
	for d := range w.c.Days {
		if w.c.Days[d]+evening < day {
			w.sameDays = append(w.sameDays, slices.Index(before.c.Days, w.c.Days[d]))
		}
	}
	for l := range w.c.Looks {
		x := &w.c.Looks[l]
		switch {
		case x.Day >= day:
		case !x.Planned: // those made come first, and are the same
			w.sameLooks = append(w.sameLooks, l)
		default:
			w.sameLooks = append(w.sameLooks, slices.IndexFunc(before.c.Looks, func(y Look) bool { return y.Planned && y.Day == x.Day }))
		}
	}
}

// copySame notes of the days before the fork what the run before found.
func (w *worker) copySame(at int) {
	b := w.before
	for d, from := range w.sameDays {
		w.infested[at*w.days+d] = b.infested[at*b.days+from]
	}
	for l, from := range w.sameLooks {
		to, from := at*w.looks+l, at*b.looks+from
		w.like[to], w.signs[to] = b.like[from], b.signs[from]
	}
}

// bush is a number of courses whose doses begin alike.
type bush []twig

// twig is one course of a bush. Its runs go on from where those of an earlier one
// forked, if there is one.
type twig struct {
	at     int     // which course
	before int     // which twig of the bush; -1: none
	fork   float64 // the day
}

// bushes orders courses so that as little as possible is followed twice.
func (s *Standing) bushes(courses []*layout) []bush {
	order := make([]int, len(courses))
	for i := range order {
		order[i] = i
	}
	last := func(i int) float64 { return courses[i].plan.days[len(courses[i].plan.days)-1] }
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(len(courses[a].DoseDays), len(courses[b].DoseDays)), cmp.Compare(last(b), last(a)))
	})
	var all []bush
	for _, i := range order {
		in, best := -1, twig{i, -1, s.c.Today}
		for n, b := range all {
			for k, t := range b {
				if day := courses[t.at].forks(courses[i]); day > best.fork && day > t.fork {
					in, best = n, twig{i, k, day}
				}
			}
		}
		if in < 0 {
			all = append(all, bush{best})
		} else {
			all[in] = append(all[in], best)
		}
	}
	return all
}

// forks returns the day until which more, which is l or l with doses added, is the
// same plan; -1 if it is not such a one, or asks about days before that l does not.
func (l *layout) forks(more *layout) float64 {
	n := len(l.DoseDays)
	if len(more.DoseDays) < n || !slices.Equal(l.DoseDays, more.DoseDays[:n]) || n > 0 && (l.Treatment != more.Treatment || l.BathDays != more.BathDays) ||
		l.PullsPerDay != more.PullsPerDay || !slices.Equal(l.SkipPulls, more.SkipPulls) || l.LookAnimals != more.LookAnimals {
		return -1
	}
	day := min(l.plan.days[len(l.plan.days)-1], more.plan.days[len(more.plan.days)-1])
	if n < len(more.DoseDays) {
		day = more.DoseDays[n]
	}
	if l.PullsPerDay > 0 && (len(l.plan.pulls) == 0) != (len(more.plan.pulls) == 0) {
		return -1
	}
	if len(l.plan.pulls) > 0 && l.plan.pulls[0].To != more.plan.pulls[0].To {
		day = min(day, math.Floor(min(l.plan.pulls[0].To, more.plan.pulls[0].To)))
	}
	if l.plan.days[len(l.plan.days)-1] < day || !slices.IsSorted(l.DoseDays) {
		return -1
	}
	asked := func(theirs, mine []float64) bool {
		return !slices.ContainsFunc(theirs, func(x float64) bool { return x < day && !slices.Contains(mine, x) })
	}
	if !asked(more.plan.days, l.plan.days) || !asked(more.onLook, l.onLook) {
		return -1
	}
	return day
}
