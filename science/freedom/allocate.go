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

// cleanLosses does what expectedLoss does for n = 0, 1, 2, ... asked in that
// order, with specificity 1 and in O(N) each. Of the D infested M would be seen
// if all were looked at; given M the first n are all clean with chance
// C(N-n, M)/C(N, M), which needs one factor more for one animal more.
func (w Work) cleanLosses() func(n int) (loss, clean float64, err error) {
	N := w.Lot.Alive()
	clear := w.Lot.Clear()
	// With D >= 1: the chance of each M, and D times it.
	infested, carriers := make([]float64, N+1), make([]float64, N+1)
	pmf := make([]float64, N+1)
	for d := 1; d <= N; d++ {
		p := w.Lot.P(d)
		if p < leastMass {
			continue
		}
		low, high := binomialWindow(pmf, d, w.How.Sensitivity)
		for m := low; m <= high; m++ {
			infested[m] += p * pmf[m]
			carriers[m] += p * pmf[m] * float64(d)
		}
	}
	for len(infested) > 1 && infested[len(infested)-1] < 1e-30 {
		infested = infested[:len(infested)-1]
	}
	return func(n int) (float64, float64, error) {
		if n > 0 {
			for m := range infested {
				free := max(0, float64(N-n+1-m)/float64(N-n+1))
				infested[m] *= free
				carriers[m] *= free
			}
		}
		missed, mean := 0.0, 0.0
		for m, p := range infested {
			missed += p
			mean += carriers[m]
		}
		clean := min(1, clear+missed)
		if clean == 0 {
			return w.Hold, 0, nil
		}
		release := (w.Harm*missed + w.HarmEach*mean) / clean
		return clean*min(release, w.Hold) + (1-clean)*w.Hold, clean, nil
	}
}

// binomialWindow writes into pmf the chances of m of d at share p where they
// are not below 1e-16 of the likeliest, and returns the lowest and highest m.
func binomialWindow(pmf []float64, d int, p float64) (low, high int) {
	if p == 1 {
		pmf[d] = 1
		return d, d
	}
	const least = 1e-16
	mode := min(d, int(float64(d+1)*p))
	pmf[mode] = 1
	sum, odds := 1.0, p/(1-p)
	low, high = mode, mode
	for m := mode; m < d; m++ {
		v := pmf[m] * odds * float64(d-m) / float64(m+1)
		if v < least {
			break
		}
		pmf[m+1] = v
		sum += v
		high = m + 1
	}
	for m := mode; m > 0; m-- {
		v := pmf[m] / odds * float64(m) / float64(d-m+1)
		if v < least {
			break
		}
		pmf[m-1] = v
		sum += v
		low = m - 1
	}
	for m := low; m <= high; m++ {
		pmf[m] /= sum
	}
	return low, high
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
// The lots are taken as independent. Time is counted in the largest step that
// divides every setup and every time for an animal; where that is finer than a
// 3600th of the whole, in steps of a 3600th, each look rounded up.
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
	step := max(1, (seconds+3599)/3600, commonStep(work))
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

// commonStep is the greatest common divisor of all the times.
func commonStep(work []Work) int {
	g := 0
	for _, w := range work {
		for _, t := range []int{w.Setup, w.PerAnimal} {
			for t > 0 {
				g, t = t, g%t
			}
		}
	}
	return g
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
	losses := w.expectedLoss
	if w.How.Specificity == 1 && most > 1 {
		losses = w.cleanLosses()
	}
	for n := range curve {
		loss, clean, err := losses(n)
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
