package clearance

import (
	"context"
	"math"
	"slices"
)

const (
	// sparse is the part of an even share of the whole weight below which a run
	// is followed by lot only, fewest the least chance of that: one run never
	// stands for more than 1/fewest.
	sparse = 0.3
	fewest = 0.05
)

// Sift is Quick for a fraction of the work. Lots that came with far more worms
// than the first look can be squared with, which are the ones that take longest to
// follow, are followed by lot only, and whichever is followed stands for those
// that are not: the answer stays unbiased, its error (which counts that) grows a
// little.
//
// It works in instalments, 100 lots first and then twice as many, until enough
// returns true for the answer or c.Runs are spent; a nil enough spends them all.
// Errors are those of Evidence.
//
// Accuracy: TestSiftAgreesWithQuick holds the mean over seeds against Quick's, and
// the spread over seeds against the error that is told.
// Source: kahn1951 (Russian roulette)
func Sift(ctx context.Context, c Case, enough func(Result) bool) (Result, error) {
	p, err := c.prepared()
	if err != nil {
		return Result{}, err
	}
	s := newStudy(p)
	for runs := min(100, p.Runs); ; runs = min(2*runs, p.Runs) {
		if err := s.stages[mixed][0].sift(ctx, runs); err != nil {
			return Result{}, err
		}
		r, err := s.quick()
		if runs == p.Runs || err == nil && enough != nil && enough(r) {
			return r, err
		}
	}
}

// sift is grow with the runs that the first look speaks against followed by lot.
func (s *sample) sift(ctx context.Context, n int) error {
	from := s.n
	if n <= from {
		return nil
	}
	if !s.c.siftable() {
		return s.grow(ctx, n)
	}
	s.room(n)
	guess := make([]float64, n-from)
	w := s.newWorker()
	for i := range guess {
		guess[i] = w.foresee(from + i)
	}
	factor := s.factors(from, guess)
	kept := make([]int, 0, n-from)
	for i := from; i < n; i++ {
		if factor[i-from] > 0 {
			kept = append(kept, i)
		}
	}
	err := s.follow(ctx, len(kept), func(i int) (int, particle) { return kept[i], particle{run: kept[i]} })
	for i := from; i < n; i++ {
		s.like[i*s.looks] += math.Log(factor[i-from]) // -Inf for those not followed
	}
	s.dropped += n - from - len(kept)
	return err
}

// siftable reports whether what a lot brought foretells its first look: a dose
// before it would change that.
func (c *Case) siftable() bool {
	if len(c.Looks) == 0 || c.Looks[0].Planned || c.Looks[0].Picked {
		return false
	}
	return !slices.ContainsFunc(c.Doses, func(d Dose) bool { return d.Day < c.Looks[0].Day })
}

// foresee draws what is true in a run and returns about how likely that makes
// the first look, from the share of animals that came with worms alone. It notes
// the chances of all looks had the lot not been infested, which need no more.
func (w *worker) foresee(at int) float64 {
	w.values(at, at)
	v := &w.truth[at]
	for i := range w.c.Looks {
		l := &w.c.Looks[i]
		lens := l.lens(v, w.c.Condition.EggMin)
		w.clean[at*w.looks+i] = math.Log(w.table.cleanLot(l.seen(), lens.false))
	}
	l := &w.c.Looks[0]
	lens := l.lens(v, w.c.Condition.EggMin)
	one := v[Prev] * lens.of(load{adults: 1}).worm
	found, n := float64(max(l.Worms, l.Eggs)), float64(l.Animals)
	rest, _ := math.Lgamma(n + 1)
	for _, x := range []float64{found, n - found} {
		g, _ := math.Lgamma(x + 1)
		rest -= g
	}
	return math.Exp(rest + found*math.Log(one) + (n-found)*math.Log1p(-one))
}

// factors returns, for the runs from a place on, by how much each weighs more for
// those it stands for, as the guesses at their first look let one choose; 0 for
// those that are not followed.
func (s *sample) factors(from int, guess []float64) []float64 {
	pi, total := *s.c.Infested, 0.0
	for i, g := range guess {
		total += pi*g + (1-pi)*math.Exp(s.clean[(from+i)*s.looks])
	}
	out := make([]float64, len(guess))
	for i, g := range guess {
		chance := max(pi*g*float64(len(guess))/total/sparse, fewest)
		switch {
		case !(chance < 1):
			out[i] = 1
		case runKey(s.c.Seed, from+i).child(runSift).unit(0) < chance:
			out[i] = 1 / chance
		}
	}
	return out
}
