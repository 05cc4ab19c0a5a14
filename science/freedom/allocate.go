package freedom

import (
	"math"

	"holdfast/science/ref"
)

// Work is one lot that could be looked at, and what is at stake with it. Money
// is in any one unit, time in seconds.
type Work struct {
	Lot Lot
	How Seeing
	// Setup is the time before the first animal, PerAnimal that for each;
	// whole seconds, PerAnimal at least 1.
	Setup, PerAnimal int
	// Harm is what it costs to let the lot go when it carries the condition,
	// and HarmEach what each carrier sold costs on top. At least 0.
	Harm, HarmEach float64
	// Hold is what it costs to keep it back instead (treat, tank-days, price).
	Hold float64
	// Most is the largest number that can be looked at; 0 means all.
	Most int
}

// Portion is one lot's part in an allocation.
type Portion struct {
	// Animals to look at, and the seconds it takes.
	Animals, Seconds int
	// Before and After are the expected loss without a look and with it.
	Before, After float64
	// Clean is the chance that this look finds nothing.
	Clean float64
}

// expectedLoss returns the loss to expect when n are looked at and then the
// better is done: without signs let go or hold, whichever is cheaper given
// what was seen; with any sign hold.
func (w Work) expectedLoss(n int) (loss, clean float64, err error) {
	clean = 1
	after := w.Lot
	if n > 0 {
		if clean, err = w.Lot.AllClean(n, w.How); err != nil || clean == 0 {
			return w.Hold, 0, err
		}
		if after, err = w.Lot.look([]group{{w.How.Clean(), n}}); err != nil {
			return 0, 0, err
		}
	}
	release := w.Harm*after.Infested() + w.HarmEach*after.Mean()
	return clean*min(release, w.Hold) + (1-clean)*w.Hold, clean, nil
}

func (w Work) check() error {
	if err := w.How.Check(); err != nil {
		return err
	}
	if err := checkCount("per-animal", w.PerAnimal, 1, 86_400); err != nil {
		return err
	}
	if err := checkCount("setup", w.Setup, 0, 86_400); err != nil {
		return err
	}
	if err := checkCount("most", w.Most, 0, w.Lot.Alive()); err != nil {
		return err
	}
	for _, money := range []float64{w.Harm, w.HarmEach, w.Hold} {
		if math.IsNaN(money) || math.IsInf(money, 0) || money < 0 {
			return ref.Inputf("loss", "Give an amount of 0 or more.", "%v is no amount", money)
		}
	}
	return nil
}

// Allocate returns how many of each lot to look at within seconds so that the
// expected loss over all lots falls most. It is exact over all ways to share
// the time (dynamic programming): a look that is too small to change any
// decision is worth nothing, so the best is often to look properly at one lot
// and not at another, which no rule of equal shares finds.
//
// The lots are taken as independent. Time is counted in steps of a 3600th of
// the whole, at least one second, each look rounded up.
//
// seconds lies in 0..86400, at most 200 lots. Of equal allocations the one
// with fewer animals is returned, lots in the given order.
func Allocate(work []Work, seconds int) ([]Portion, error) {
	if err := checkCount("seconds", seconds, 0, 86_400); err != nil {
		return nil, err
	}
	if err := checkCount("lots", len(work), 0, 200); err != nil {
		return nil, err
	}
	step := max(1, (seconds+3599)/3600)
	budget := seconds / step
	best := make([]float64, budget+1) // least loss of the lots so far within t steps
	took := make([][]int, len(work))  // animals of lot i that give it
	curves := make([][]Portion, len(work))
	for i, w := range work {
		if err := w.check(); err != nil {
			return nil, err
		}
		curve, err := w.curve(seconds)
		if err != nil {
			return nil, err
		}
		curves[i], took[i] = curve, make([]int, budget+1)
		next := make([]float64, budget+1)
		for t := range next {
			next[t] = math.Inf(1)
			for n, look := range curve {
				steps := (look.Seconds + step - 1) / step
				if steps > t {
					break
				}
				if loss := best[t-steps] + look.After; loss < next[t]-1e-12*math.Abs(next[t]) || math.IsInf(next[t], 1) {
					next[t], took[i][t] = loss, n
				}
			}
		}
		best = next
	}
	out := make([]Portion, len(work))
	for i, t := len(work)-1, budget; i >= 0; i-- {
		out[i] = curves[i][took[i][t]]
		t -= (out[i].Seconds + step - 1) / step
	}
	return out, nil
}

// curve returns the look at 0, 1, 2, ... animals as far as time and lot allow.
func (w Work) curve(seconds int) ([]Portion, error) {
	most := w.Most
	if most == 0 {
		most = w.Lot.Alive()
	}
	if seconds <= w.Setup {
		most = 0
	} else {
		most = min(most, (seconds-w.Setup)/w.PerAnimal)
	}
	curve := make([]Portion, most+1)
	for n := range curve {
		loss, clean, err := w.expectedLoss(n)
		if err != nil {
			return nil, err
		}
		curve[n] = Portion{Animals: n, After: loss, Before: loss, Clean: clean}
		if n > 0 {
			curve[n].Seconds = w.Setup + n*w.PerAnimal
			curve[n].Before = curve[0].After
		}
	}
	return curve, nil
}
