package clearance

import (
	"context"
	"math"
)

// mode is how eggs that ripen on the animal are treated.
type mode int

const (
	mixed  mode = iota // as the condition believes
	never              // no egg hatches on the animal
	always             // every ripe egg does
)

// sample holds what its runs need to answer, run by run; runs are only added at
// the end, so that asking for more of them never changes the first.
type sample struct {
	c     *Case
	mode  mode
	ids   []string // treatments, in order of kills
	days  int
	looks int

	n        int
	dropped  int       // of them, those that were not followed to the end (see Sift)
	end      []float64 // latest time at which anything lives
	capped   []bool
	infested []uint16  // run × day: animals that carry anything
	alive    []uint16  // run × day
	like     []float64 // run × look: log chance of what was found
	clean    []float64 // run × look: the same, had the lot not been infested
	signs    []float64 // run × look: log chance that a planned look finds something
	falsely  []float64 // the same, had the lot not been infested
	truth    []Values
	kills    []float64  // run × treatment
	copies   []particle // after resampling: which run each is a copy of
}

func newSample(c *Case, m mode) *sample {
	return &sample{c: c, mode: m, ids: c.Condition.treatmentIDs(), days: len(c.Days), looks: len(c.Looks)}
}

// particle names one run: its number, and, once runs were resampled, the epochs
// since which its chance differs from that of its siblings.
type particle struct {
	run    int
	epochs []epoch
}

// grow follows runs until there are n.
func (s *sample) grow(ctx context.Context, n int) error {
	from := s.n
	if n <= from {
		return nil
	}
	s.room(n)
	return s.follow(ctx, n-from, func(i int) (at int, p particle) { return from + i, particle{run: from + i} })
}

// room makes place for n runs.
func (s *sample) room(n int) {
	s.end = extend(s.end, n)
	s.capped = extend(s.capped, n)
	s.infested = extend(s.infested, n*s.days)
	s.alive = extend(s.alive, n*s.days)
	s.like = extend(s.like, n*s.looks)
	s.clean = extend(s.clean, n*s.looks)
	s.signs = extend(s.signs, n*s.looks)
	s.falsely = extend(s.falsely, n*s.looks)
	s.truth = extend(s.truth, n)
	s.kills = extend(s.kills, n*len(s.ids))
	s.n = n
}

func extend[T any](x []T, n int) []T {
	y := make([]T, n)
	copy(y, x)
	return y
}

// follow runs n particles; which says where the i-th one's results go.
func (s *sample) follow(ctx context.Context, n int, which func(i int) (at int, p particle)) error {
	return each(ctx, n, batch, func() func(int) {
		w := s.newWorker()
		return func(i int) {
			at, p := which(i)
			w.do(at, p)
		}
	})
}

// worker follows runs one after another.
type worker struct {
	*sample
	whole    *run
	parts    []*run // up to each look whose positives leave, then whole
	upTo     []int  // those looks
	table    table
	partings []parting
	drawn    []int

	// before, if there is one, has followed the same run under a plan that is the
	// same until the fork; sameDays and sameLooks say which of its days and looks
	// are the first of these.
	before              *worker
	fork                *fork
	sameDays, sameLooks []int
}

func (s *sample) newWorker() *worker {
	w := &worker{sample: s, whole: s.c.trial(s.c.horizon(), true).newRun()}
	for i, l := range s.c.Looks {
		if l.PositivesTo != nil && !l.Planned {
			w.parts = append(w.parts, s.c.trial(l.Day, false).newRun())
			w.upTo = append(w.upTo, i)
		}
	}
	return w
}

// kill is where the shares that the treatments kill in the run noted at a place
// stand.
func (s *sample) kill(at int) []float64 { return s.kills[at*len(s.ids) : (at+1)*len(s.ids)] }

// values draws what is true in one run and returns its key.
func (s *sample) values(at, run int) key {
	k, v := runKey(s.c.Seed, run), &s.truth[at]
	s.c.Condition.draw(k, v, s.kill(at), s.ids)
	switch s.mode {
	case never:
		v[HOn] = 0
	case always:
		v[HOn] = 1
	}
	return k
}

// do follows one run and notes what it says.
func (w *worker) do(at int, p particle) {
	k := w.values(at, p.run)
	v, kill := &w.truth[at], w.kill(at)
	if w.before != nil && !w.before.whole.capped {
		w.partings = append(w.partings[:0], w.before.partings...)
		w.whole.resume(k, v, kill, p.epochs, w.partings, w.before.whole.first, w.fork)
		w.note(at)
		if !w.whole.capped {
			w.copySame(at)
		}
		return
	}
	// Which animals were positive at a look decides what happens after it. Every
	// draw is keyed, so following the run again only as far as that look gives the
	// same lot as the whole run will, and nothing need be stopped half way.
	w.partings = w.partings[:0]
	for i, r := range w.parts {
		r.follow(k, v, kill, p.epochs, w.partings)
		w.part(r, w.upTo[i], k)
	}
	w.whole.follow(k, v, kill, p.epochs, w.partings)
	w.note(at)
}

// note notes what the whole run says.
func (w *worker) note(at int) {
	r := w.whole
	w.end[at], w.capped[at] = r.end, r.capped
	r.count(w.infested[at*w.days:(at+1)*w.days], w.alive[at*w.days:(at+1)*w.days])
	for i := range w.c.Looks {
		w.weigh(r, i, at*w.looks+i, &w.truth[at])
	}
}

// weigh notes the chance of look i.
func (w *worker) weigh(r *run, i, at int, v *Values) {
	l := &w.c.Looks[i]
	lens := l.lens(v, w.c.Condition.EggMin)
	found := l.seen()
	p := 0.0 // so many worms as a run is given up for are not overlooked
	if !l.Planned || l.Day < r.known {
		p = w.table.likelihood(w.carriers(r, i, &lens, found), lens.false)
	} else {
		w.table.begin(found)
	}
	q := w.table.cleanLot(found, lens.false)
	w.like[at], w.clean[at] = math.Log(p), math.Log(q)
	if l.Planned {
		w.signs[at], w.falsely[at] = math.Log1p(-min(p, 1)), math.Log1p(-min(q, 1))
	}
}

// carriers fills the table with the carriers present at look i and returns how
// many animals were there. An animal whose load cannot be seen counts as clean.
func (w *worker) carriers(r *run, i int, lens *lens, found seen) (alive int) {
	l := &w.c.Looks[i]
	t := &w.table
	t.begin(found)
	w.drawn = w.drawn[:0]
	for row, h := range r.rows {
		load := r.loads[row*len(r.looks.times)+i]
		if load == (load0) || !r.present(int(h), l.Day, l.Tank) {
			continue
		}
		if c := lens.of(load); c != lens.false {
			t.add(c)
			w.drawn = append(w.drawn, int(h))
		}
	}
	if l.Picked {
		return max(len(w.drawn), found.n)
	}
	return max(r.presentCount(l.Day, l.Tank), found.n)
}

var load0 load

// part draws which animals were positive at look i and lets them go.
func (w *worker) part(r *run, i int, k key) {
	l := &w.c.Looks[i]
	lens := l.lens(&r.v, w.c.Condition.EggMin)
	w.table.remember = true
	alive := w.carriers(r, i, &lens, l.seen())
	w.table.remember = false
	if w.table.likelihood(alive, lens.false) == 0 {
		return // this run cannot have shown what was found; it will weigh nothing
	}
	to := int32(*l.PositivesTo)
	k = r.salted(k.child(runPick).child(uint64(i)), l.Day)
	carrier := map[int]bool{}
	for _, h := range w.drawn {
		carrier[h] = true
	}
	falsely := w.table.positives(k.child(0), alive, lens.false, func(c int) {
		w.partings = append(w.partings, parting{l.Day, int32(w.drawn[c]), to})
	})
	clean := r.presentCount(l.Day, l.Tank) - len(w.drawn)
	for n, try := min(falsely, clean), uint64(0); n > 0; try++ {
		h := int(k.child(1).unit(try<<8) * float64(len(r.hosts)))
		if carrier[h] || !r.present(h, l.Day, l.Tank) {
			continue
		}
		carrier[h] = true
		w.partings = append(w.partings, parting{l.Day, int32(h), to})
		n--
	}
}

// presentCount returns how many animals are in a tank at t.
func (r *run) presentCount(t float64, tank int) int {
	if !r.moved {
		if tank != 0 {
			return 0
		}
		n := len(r.hosts)
		for _, h := range r.left {
			if r.host(int(h)).gone <= t {
				n--
			}
		}
		return n
	}
	n := 0
	for h := range r.hosts {
		if r.present(h, t, tank) {
			n++
		}
	}
	return n
}

// count writes, for each asked day, how many animals of the lot's tank carry
// anything and how many are alive there.
func (r *run) count(infested, alive []uint16) {
	r.countAlive(alive)
	clear(infested)
	width := len(r.asked.times) + 1
	for row, h := range r.rows {
		on := int32(0)
		for d, change := range r.diff[row*width : row*width+width-1] {
			if on += change; on > 0 && (!r.moved || r.tankAt(int(h), r.asked.times[d]) == 0) {
				infested[d]++
			}
		}
	}
	for d, t := range r.asked.times {
		if t >= r.known {
			infested[d] = alive[d]
		}
	}
}

func (r *run) countAlive(alive []uint16) {
	if r.moved {
		for d, day := range r.asked.times {
			alive[d] = uint16(r.presentCount(day, 0))
		}
		return
	}
	for d := range alive {
		alive[d] = uint16(len(r.hosts))
	}
	for _, h := range r.left {
		for d := r.asked.from(r.host(int(h)).gone); d < len(alive); d++ {
			alive[d]--
		}
	}
}
