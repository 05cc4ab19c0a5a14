package freedom

import (
	"math"

	"holdfast/science/ref"
)

// LookPools returns the lot after a random look that took its animals p.Size
// together, p.Number times: positive of those pools showed signs, the others
// none. A pool says only that something was seen, not on which animal or on how
// many.
//
//	P(D | records) ∝ P(D) Σ_t A_t(D) w(t)
//
// A_t(D) is the chance that t of the r pools hold at least one of D infested
// animals. Infested animals are laid out one after the other; of the N-D places
// still free, k(r-t) lie in pools that hold none yet:
//
//	A_t(D+1) = A_t(D) (1 - k(r-t)/(N-D)) + A_{t-1}(D) k(r-t+1)/(N-D)
//
// w(t) is the chance of the records if t of the pools, any of them, hold some;
// sensitivity counts from one infested animal on. Every term is positive. Time
// is O(N r + r²).
//
// positive lies in 0..p.Number, the lot holds at least Number·Size animals. It
// returns *ref.NoAnswer when the records contradict what is already known.
// Source: cameron1998 for one pool of one; the recursion is written out here.
func (l Lot) LookPools(p Pools, positive int) (Lot, error) {
	if err := p.check(); err != nil {
		return Lot{}, err
	}
	if err := checkCount("positive", positive, 0, p.Number); err != nil {
		return Lot{}, err
	}
	alive := l.Alive()
	if p.Number > alive/p.Size {
		return Lot{}, ref.Inputf("looked", "Count the animals alive again, or enter two looks.",
			"%d pools of %d were looked at but only %d animals are alive", p.Number, p.Size, alive)
	}
	w, logEv := p.records(positive)
	mass, sum := l.Distribution(), 0.0
	hold := make([]float64, p.Number+1) // A_t(d)
	hold[0] = 1
	reached := 0 // no more pools than this hold any
	for d := range mass {
		like := 0.0
		for t := 0; t <= reached; t++ {
			like += hold[t] * w[t]
		}
		mass[d] *= like
		sum += mass[d]
		if d == alive {
			break
		}
		reached = min(reached+1, p.Number)
		step := float64(p.Size) / float64(alive-d)
		for t := reached; t >= 0; t-- {
			stay := max(0, 1-step*float64(p.Number-t))
			v := hold[t] * stay
			if t > 0 {
				v += hold[t-1] * step * float64(p.Number-t+1)
			}
			if v < leastMass {
				v = 0
			}
			hold[t] = v
		}
	}
	if sum == 0 {
		return Lot{}, contradiction()
	}
	scale(mass, sum)
	return Lot{mass: mass, logEv: l.logEv + math.Log(sum) + logEv}, nil
}

// records returns w(t) for t = 0..r, divided by its largest value, and the
// logarithm of that value. It is built pool by pool: of m pools of which j hold
// some, the last is one of those with chance j/m.
func (p Pools) records(positive int) (w []float64, logScale float64) {
	w = []float64{1}
	for m := 1; m <= p.Number; m++ {
		none, some := p.How.Specificity, 1-p.How.Sensitivity // the chance of a clean record
		if m <= positive {
			none, some = 1-none, 1-some
		}
		next, top := make([]float64, m+1), 0.0
		for j := range next {
			held := float64(j) / float64(m)
			if j < m {
				next[j] += (1 - held) * none * w[j]
			}
			if j > 0 {
				next[j] += held * some * w[j-1]
			}
			top = max(top, next[j])
		}
		if top == 0 {
			return make([]float64, p.Number+1), 0
		}
		for j := range next {
			if next[j] /= top; next[j] < leastMass {
				next[j] = 0
			}
		}
		logScale += math.Log(top)
		w = next
	}
	return w, logScale
}
