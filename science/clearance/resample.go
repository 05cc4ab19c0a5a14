package clearance

import (
	"context"
	"math"
)

// How runs are spent when few of them carry the weight.
const (
	// enough is the effective number of runs below which more are followed.
	enough = 400
	// maxResample is how often runs may be copied. The figures of a run never
	// change, so copying again and again leaves too few of them.
	maxResample = 3
	// fewAncestors is the number of runs with copies left below which the answer
	// cannot be trusted.
	fewAncestors = 100
)

// lastLook is one more than the index of the last look that was made.
func (c *Case) lastLook() int {
	for i := len(c.Looks) - 1; i >= 0; i-- {
		if !c.Looks[i].Planned {
			return i + 1
		}
	}
	return 0
}

// resample copies runs by their weight at the first look at which fewer than half
// of them are effective, and lets the copies go different ways from there. It
// returns the stages with one more, or the same stages if there is no such look.
func resample(ctx context.Context, c *Case, stages []stage) ([]stage, error) {
	s := &stages[len(stages)-1]
	for k := s.first + 1; k <= c.lastLook(); k++ {
		if c.Looks[k-1].Planned {
			continue
		}
		w := weigh(stages, *c.Infested, k, false)
		if w.ess() >= float64(s.n)/2 {
			continue
		}
		sum := mean(w.infested) * float64(s.n)
		if sum == 0 {
			return stages, nil
		}
		next := stage{sample: newSample(c, s.mode), from: c.Looks[k-1].Day, first: k, logZ: s.logMean(stages, k)}
		next.room(s.n)
		next.copies, next.ancestor = s.copyOut(w.infested, sum, next.from, len(stages), s.n)
		if err := next.follow(ctx, next.n, func(i int) (int, particle) { return i, next.copies[i] }); err != nil {
			return nil, err
		}
		return append(stages, next), nil
	}
	return stages, nil
}

// logMean returns the log of the mean weight of a stage's runs at look k.
func (s *stage) logMean(stages []stage, k int) float64 {
	top := math.Inf(-1)
	logs := make([]float64, s.n)
	for i := range logs {
		logs[i] = s.logZ
		for l := s.first; l < k; l++ {
			if !s.c.Looks[l].Planned {
				logs[i] += s.like[i*s.looks+l]
			}
		}
		top = max(top, logs[i])
	}
	sum := 0.0
	for _, x := range logs {
		sum += math.Exp(x - top)
	}
	return top + math.Log(sum/float64(s.n))
}

// copyOut draws n particles, each run in proportion to its weight (systematic
// resampling: one uniform number, equal steps). The first copy of a run goes on
// as it would have; the others part from it after day from.
func (s *stage) copyOut(w []float64, sum, from float64, round, n int) (copies []particle, ancestor []int) {
	k := key(mix(s.c.Seed + uint64(round)*golden)).child(runPick)
	step := sum / float64(n)
	point := k.unit(0) * step
	acc := 0.0
	for i, x := range w {
		acc += x
		for more := 0; point < acc && len(copies) < n; more++ {
			p, a := particle{run: i}, i
			if s.copies != nil {
				p, a = s.copies[i], s.ancestor[i]
			}
			if more > 0 {
				p.epochs = append(p.epochs[:len(p.epochs):len(p.epochs)], epoch{from, k.bits(uint64(len(copies) + 1))})
			}
			copies, ancestor = append(copies, p), append(ancestor, a)
			point += step
		}
	}
	for len(copies) < n { // only rounding leads here
		copies, ancestor = append(copies, copies[len(copies)-1]), append(ancestor, ancestor[len(ancestor)-1])
	}
	return copies, ancestor
}
