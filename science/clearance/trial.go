package clearance

import "slices"

// trial is everything that all runs of one question share.
type trial struct {
	schedules   []schedule
	events      []event
	places      int     // animals on day 0, each a place that may fall empty
	horizon     float64 // days
	deathsKnown float64 // deaths are recorded until this day
	limit       int     // worms ever born; a run beyond it is not free
	settled     float64 // no run is given up before: the looks that were made lie before it

	startHosts    int // infested hosts on day 0; 0: drawn from Prev
	startWorms    int // worms on each; 0: drawn from LoadMean, LoadK
	startJuvenile bool

	asked calendar // days of which presence is counted
	looks calendar // days of looks
}

// newRun returns an arena for the trial.
func (t *trial) newRun() *run {
	r := &run{trial: t}
	r.hosts = make([]host, t.places)
	r.tanks = make([]water, len(t.schedules))
	r.days = make([]int32, int(t.horizon)+2)
	return r
}

// row returns the row of host h in the counts.
func (r *run) row(h int) int {
	x := r.host(h)
	if x.row < 0 {
		x.row = int32(len(r.rows))
		r.rows = append(r.rows, int32(h))
		r.diff = blank(r.diff, len(r.asked.times)+1)
		r.loads = blank(r.loads, len(r.looks.times))
	}
	return int(x.row)
}

// blank adds n zeros.
func blank[T any](x []T, n int) []T {
	x = slices.Grow(x, n)
	more := x[len(x) : len(x)+n]
	clear(more)
	return x[:len(x)+n]
}

// mark notes something on host h from a up to b.
func (r *run) mark(h int, a, b float64) (row int) {
	row = r.row(h)
	i, j := r.asked.from(a), r.asked.from(b)
	if i < j {
		d := r.diff[row*(len(r.asked.times)+1):]
		d[i]++
		d[j]--
	}
	return row
}

// carry notes a worm on host h from a up to b, adult from mature on.
func (r *run) carry(h int, a, b, mature float64) {
	row := r.mark(h, a, b)
	for i := r.looks.from(a); i < len(r.looks.times) && r.looks.times[i] < b; i++ {
		l := &r.loads[row*len(r.looks.times)+i]
		if r.looks.times[i] >= mature {
			l.adults++
		} else {
			l.juveniles++
		}
	}
	if r.tally != nil {
		r.tally.worm(a, b, mature, false)
	}
}

// carryEgg notes an egg on host h from a up to b, whole if b is the shedding j.
// Presence asks only whether there is any, so one egg that lasts speaks for all
// that are laid after it; markEggs notes those.
func (r *run) carryEgg(h int, j int32, a, b float64, whole bool) {
	if r.eggsFrom[j] > a {
		if whole {
			r.eggsFrom[j] = a
		} else {
			r.mark(h, a, b)
		}
	}
	if i := r.looks.from(a); i < len(r.looks.times) && r.looks.times[i] < b {
		for row := r.row(h); i < len(r.looks.times) && r.looks.times[i] < b; i++ {
			r.loads[row*len(r.looks.times)+i].eggs++
		}
	}
	if r.tally != nil {
		r.tally.egg(a, b)
	}
}

// markEggs notes the eggs that lasted until each shedding.
func (r *run) markEggs() {
	for _, touched := range r.touched {
		h := int(touched)
		x := r.host(h)
		for j := x.first; j < x.last; j++ {
			if r.eggsFrom[j] <= r.horizon {
				r.mark(h, r.eggsFrom[j], r.moults[j])
			}
		}
	}
}
