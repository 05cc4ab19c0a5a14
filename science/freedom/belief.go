package freedom

import (
	"errors"
	"math"
	"slices"

	"holdfast/science/ref"
)

// Belief is a lot whose history was seen by eyes of unknown quality: the same
// history carried at several levels of one unknown (how well we see), each
// weighted by how well it foresees what was recorded. It is a value, like Lot;
// the zero Belief is an empty lot.
//
// A level is a quantile of the unknown in (0, 1): level 0.5 means that each
// way of looking has its median sensitivity. All ways of looking share the
// level, the cautious reading: who misses worms by eye misses them with the
// lens too.
type Belief struct {
	lots []Lot // lots[i] at level (i+1/2)/len
}

// NewBelief returns lot at the given number of equally likely levels. levels
// lies in 1..99; 11 keep the chance of clear within 0.003 of 99 levels after
// three clean looks with a sensitivity as wide as Beta(2, 2), see
// TestBeliefLevels.
func NewBelief(lot Lot, levels int) (Belief, error) {
	if err := checkCount("levels", levels, 1, 99); err != nil {
		return Belief{}, err
	}
	b := Belief{lots: make([]Lot, levels)}
	for i := range b.lots {
		b.lots[i] = lot
	}
	return b, nil
}

func (b Belief) level(i int) float64 { return (float64(i) + 0.5) / float64(len(b.all())) }

// all returns the lots by level, also of the zero Belief: one empty lot.
func (b Belief) all() []Lot {
	if b.lots == nil {
		return []Lot{{}}
	}
	return b.lots
}

// Update returns the belief after f is done to the lot at every level: a look
// whose chances depend on the level, or a change that does not. A level at
// which f finds the records impossible drops out; when all drop out that
// *ref.NoAnswer is returned, and any other error at once.
func (b Belief) Update(f func(level float64, l Lot) (Lot, error)) (Belief, error) {
	out := Belief{lots: make([]Lot, len(b.all()))}
	possible := false
	var last error
	for i, l := range b.all() {
		if math.IsInf(l.logEv, -1) {
			out.lots[i] = l
			continue
		}
		next, err := f(b.level(i), l)
		var impossible *ref.NoAnswer
		if errors.As(err, &impossible) {
			last = err
			out.lots[i] = Lot{mass: l.mass, logEv: math.Inf(-1)}
			continue
		}
		if err != nil {
			return Belief{}, err
		}
		possible = true
		out.lots[i] = next
	}
	if !possible {
		if last == nil {
			last = contradiction()
		}
		return Belief{}, last
	}
	return out, nil
}

// weights returns the share of each level given what was recorded.
func (b Belief) weights() []float64 {
	top := math.Inf(-1)
	for _, l := range b.all() {
		top = max(top, l.logEv)
	}
	w, sum := make([]float64, len(b.all())), 0.0
	for i, l := range b.all() {
		w[i] = math.Exp(l.logEv - top)
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// Band is a figure with what the unknown makes of it.
type Band struct {
	// Value is the figure averaged over all levels, each with its weight.
	Value float64
	// Low and High hold the middle nine tenths of that weight between them.
	// Low <= High; Value may lie outside when a few levels pull the mean.
	Low, High float64
}

// Figure returns f of the lot with its band.
func (b Belief) Figure(f func(Lot) float64) Band {
	type point struct{ x, w float64 }
	points := make([]point, len(b.all()))
	band := Band{}
	for i, w := range b.weights() {
		if w > 0 {
			points[i] = point{f(b.all()[i]), w}
			band.Value += w * points[i].x
		}
	}
	slices.SortFunc(points, func(p, q point) int {
		switch {
		case p.x < q.x:
			return -1
		case p.x > q.x:
			return 1
		}
		return 0
	})
	points = slices.DeleteFunc(points, func(p point) bool { return p.w == 0 })
	quantile := func(q float64) float64 {
		sum := 0.0
		for _, p := range points {
			if sum += p.w; sum >= q {
				return p.x
			}
		}
		return points[len(points)-1].x
	}
	band.Low, band.High = quantile(0.05), quantile(0.95)
	return band
}

// Lot returns the one lot that averages over all levels. Should the levels
// differ in the animals alive (a count in doubt), it has the largest number.
func (b Belief) Lot() Lot {
	lots, alive := b.all(), 0
	for _, l := range lots {
		alive = max(alive, l.Alive())
	}
	mass, logEv := make([]float64, alive+1), math.Inf(-1)
	for i, w := range b.weights() {
		if w == 0 {
			continue
		}
		logEv = logAdd(logEv, lots[i].logEv-math.Log(float64(len(lots))))
		for d, p := range lots[i].dist() {
			mass[d] += w * p
		}
	}
	return Lot{mass: mass, logEv: logEv}
}

// logAdd returns log(exp(a) + exp(b)).
func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

// MoreClean does what [Lot.MoreClean] does, averaged over the levels: sofar
// and next give the records and the way of looking at each level, sofar always
// with the same number of animals. The line is met by the averaged figure.
//
// For a line on the chance of clear the answer is the smallest m (given equal
// specificity at all levels); for a line on the bag risk it is one at which
// the line is crossed, since clean animals also speak for poor eyes.
func (b Belief) MoreClean(line Line, sofar func(level float64) []Chance, next func(level float64) Seeing) (int, error) {
	alive := MaxAnimals
	for _, l := range b.all() {
		alive = min(alive, l.Alive())
	}
	if sofar == nil {
		sofar = func(float64) []Chance { return nil }
	}
	for i := range b.all() {
		if err := next(b.level(i)).Check(); err != nil {
			return 0, err
		}
	}
	done := len(sofar(0.5))
	seen := map[float64][]group{}
	for i := range b.all() {
		g, err := grouped(sofar(b.level(i)))
		if err != nil {
			return 0, err
		}
		seen[b.level(i)] = g
	}
	return moreClean(line, alive, done, next(0.5), func(m int) (bool, float64, error) {
		g, err := b.glance(func(level float64, l Lot) (glance, error) {
			groups := seen[level]
			if m == 0 && len(groups) == 0 {
				return line.glanceAt(l), nil
			}
			clean := next(level).Clean()
			if len(groups) == 0 || len(groups) == 1 && groups[0].Chance == clean {
				if g, ok := line.glanceClean(l, clean, done+m); ok {
					return g, nil
				}
			}
			after, err := l.look(append(slices.Clone(groups), group{clean, m}))
			return line.glanceAt(after), err
		})
		if err != nil {
			return false, 0, err
		}
		met, margin := line.judge(g)
		return met, margin, nil
	})
}

// glance averages what f says of the lot at each level by how well the level
// foresees the records, as Update and Figure do.
func (b Belief) glance(f func(level float64, l Lot) (glance, error)) (glance, error) {
	var at []glance
	top, last := math.Inf(-1), contradiction()
	for i, l := range b.all() {
		if math.IsInf(l.logEv, -1) {
			continue
		}
		g, err := f(b.level(i), l)
		var impossible *ref.NoAnswer
		if errors.As(err, &impossible) {
			last = err
			continue
		}
		if err != nil {
			return glance{}, err
		}
		at, top = append(at, g), max(top, g.logEv)
	}
	if len(at) == 0 {
		return glance{}, last
	}
	out, sum := glance{logEv: top}, 0.0
	for _, g := range at {
		w := math.Exp(g.logEv - top)
		sum += w
		out.clear += w * g.clear
		out.infested += w * g.infested
		out.risk += w * g.risk
	}
	out.clear, out.infested, out.risk = out.clear/sum, out.infested/sum, out.risk/sum
	return out, nil
}

// Unsure is a share known as Beta(A, B): a sensitivity learned from few
// animals, or guessed with a range.
type Unsure struct{ A, B float64 }

// At returns the share at a level in (0, 1), the quantile of its distribution.
// A and B must lie in 0.1..10000.
func (u Unsure) At(level float64) (float64, error) {
	for _, v := range []float64{u.A, u.B} {
		if math.IsNaN(v) || v < 0.1 || v > 1e4 {
			return 0, ref.Inputf("beta", "Give both numbers from 0.1 to 10000.", "%v is out of range", v)
		}
	}
	if err := checkOpenShare("level", level); err != nil {
		return 0, err
	}
	return betaQuantile(level, u.A, u.B), nil
}

// Mean returns A/(A+B).
func (u Unsure) Mean() float64 { return u.A / (u.A + u.B) }
