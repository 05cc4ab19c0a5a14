package freedom

import (
	"math"
)

func (c Twofold) total() int { return c.Both + c.OnlyFirst + c.OnlySecond + c.Neither }

// mostLikely returns the likeliest sensitivities, specificities and shares, by
// expectation and maximisation from three starts (Hui and Walter 1980). No prior
// enters and no interval comes out: it is the check on LearnTwoWays where the
// data say much, and means little where they do not. Two lots or more.
func mostLikely(lots []Twofold) (se, sp [2]float64, share []float64) {
	best := math.Inf(-1)
	for _, start := range []float64{0.6, 0.75, 0.9} {
		e := em{se: [2]float64{start, start}, sp: [2]float64{0.9, 0.9}, share: make([]float64, len(lots))}
		for l, c := range lots {
			e.share[l] = (float64(c.Both+c.OnlyFirst+c.OnlySecond) + 1) / (float64(c.total()) + 2)
		}
		last := math.Inf(-1)
		for range 100_000 {
			like := e.step(lots)
			if like-last < 1e-13*math.Abs(like) {
				break
			}
			last = like
		}
		if last > best {
			best, se, sp, share = last, e.se, e.sp, e.share
		}
	}
	return se, sp, share
}

// em is one state of the expectation-maximisation.
type em struct {
	se, sp [2]float64
	share  []float64
}

// step moves once and returns the log-likelihood before the move.
func (e *em) step(lots []Twofold) float64 {
	like := 0.0
	var seen, infested, right, others [2]float64
	share := make([]float64, len(lots))
	for l, lot := range lots {
		in := 0.0
		for cell, n := range []int{lot.Neither, lot.OnlyFirst, lot.OnlySecond, lot.Both} {
			if n == 0 {
				continue
			}
			if1, if0 := e.share[l], 1-e.share[l]
			for i := range 2 {
				if cell>>i&1 == 1 {
					if1 *= e.se[i]
					if0 *= 1 - e.sp[i]
				} else {
					if1 *= 1 - e.se[i]
					if0 *= e.sp[i]
				}
			}
			like += float64(n) * math.Log(if1+if0)
			d := float64(n) * if1 / (if1 + if0)
			in += d
			for i := range 2 {
				infested[i] += d
				others[i] += float64(n) - d
				if cell>>i&1 == 1 {
					seen[i] += d
				} else {
					right[i] += float64(n) - d
				}
			}
		}
		if total := lot.total(); total > 0 {
			share[l] = in / float64(total)
		}
	}
	for i := range 2 {
		if infested[i] > 0 {
			e.se[i] = seen[i] / infested[i]
		}
		if others[i] > 0 {
			e.sp[i] = right[i] / others[i]
		}
	}
	e.share = share
	return like
}
