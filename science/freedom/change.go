package freedom

import (
	"holdfast/science/ref"
)

// Thin returns the lot thinned at random to left animals: deaths that strike
// infested and clean alike, a split, a sale, animals gone without a body.
//
//	P'(d) = Σ_D P(D) C(D, d) C(N-D, m-d) / C(N, m)
//
// Deaths that strike the infested first make this too pessimistic about those
// left, a sale of the liveliest animals makes it too optimistic.
//
// left lies in 0..N. Time is O(N · min(left, N-left)), O(N) for one death.
func (l Lot) Thin(left int) (Lot, error) {
	alive := l.Alive()
	if err := checkCount("left", left, 0, alive); err != nil {
		return Lot{}, err
	}
	if left == alive {
		return l, nil
	}
	if left < alive-left {
		return Lot{mass: l.draw(left), logEv: l.logEv}, nil
	}
	mass := l.Distribution()
	for len(mass)-1 > left {
		sum := takeOne(mass, Chance{1, 1})
		mass = mass[:len(mass)-1]
		scale(mass, sum)
	}
	return Lot{mass: mass, logEv: l.logEv}, nil
}

// draw returns the distribution of the number infested among m animals drawn
// at random.
func (l Lot) draw(m int) []float64 {
	out := make([]float64, m+1)
	pmf := make([]float64, m+1)
	alive := l.Alive()
	for D, p := range l.dist() {
		if p == 0 {
			continue
		}
		lo, hi := hypergeometric(pmf, alive, D, m)
		for d := lo; d <= hi; d++ {
			out[d] += p * pmf[d]
		}
	}
	scale(out, 1)
	return out
}

// RemovePositives returns the lot after k animals known to be infested left
// it: they were recorded positive in a look already entered, with
// specificity 1.
//
//	P'(d) = P(d + k)
//
// When a positive record can be a mistake, the removed animals must be entered
// with [Lot.Take] in place of [Lot.Look], which weighs that exactly; here
// RemovePositives returns an error unless at least k infested are certain.
func (l Lot) RemovePositives(k int) (Lot, error) {
	if err := checkCount("removed", k, 0, l.Alive()); err != nil {
		return Lot{}, err
	}
	mass := l.Distribution()
	below := 0.0
	for _, p := range mass[:k] {
		below += p
	}
	if below > 1e-12 {
		return Lot{}, ref.Inputf("removed", "Enter the look first with confirmed positives, or enter the removed animals as taken out in that look.",
			"it is not certain that %d animals are infested", k)
	}
	mass = mass[k:]
	scale(mass, 1-below)
	return Lot{mass: mass, logEv: l.logEv}, nil
}

// Join returns the lot made of both, taken as independent of each other: the
// number infested is the sum. Lots from one consignment are not independent
// (if one is infested the other more likely is), and then the chance of clear
// of the joined lot is somewhat too low, the cautious side.
//
// Join returns an error when the joined lot exceeds MaxAnimals. Time is the
// product of both sizes.
func (l Lot) Join(other Lot) (Lot, error) {
	a, b := l.dist(), other.dist()
	n := len(a) + len(b) - 2
	if err := checkCount("population", n, 0, MaxAnimals); err != nil {
		return Lot{}, err
	}
	mass := convolve(a, b)
	scale(mass, 1)
	return Lot{mass: mass, logEv: l.logEv + other.logEv}, nil
}

// convolve returns the coefficients of the product of two polynomials.
func convolve(a, b []float64) []float64 {
	out := make([]float64, len(a)+len(b)-1)
	for i, x := range a {
		if x == 0 {
			continue
		}
		row := out[i : i+len(b)]
		for j, y := range b {
			row[j] += x * y
		}
	}
	return out
}

// Introduce returns the lot after a span of time in which, with the given
// chance, something brought the condition in anew: a net, water, a plant, an
// animal. If it did, at least one animal so far free is infested, and each of
// those free at an unknown share that is Beta(1, b) distributed with mean
// share, so b = (1-share)/share:
//
//	P'(d) = (1-i) P(d) + i Σ_D P(D) · P(X = d-D | X >= 1),  X ~ BetaBinomial(N-D, 1, b)
//
// (no change where all are infested already). The chance of clear falls by
// exactly the factor 1-i, as in the model of freedom over time. A share of 0.5
// says nothing of how far it spreads; a small one says that it began lately.
//
// Eggs that hatch later are no introduction: they were there, unseen, and
// belong into the sensitivity of that date.
//
// chance lies in [0, 1], share strictly between 0 and 1. Time is O(N).
// Source: martin2007
func (l Lot) Introduce(chance, share float64) (Lot, error) {
	if err := checkShare("introduction", chance); err != nil {
		return Lot{}, err
	}
	if err := checkOpenShare("share", share); err != nil {
		return Lot{}, err
	}
	mass := l.Distribution()
	n, b := len(mass)-1, (1-share)/share
	// reached is the sum over D < d of P(D) P(X = d-D | X >= 1). Because
	// P(X = x+1)/P(X = x) = (m-x)/(m-x-1+b) depends on the animals still free
	// after x alone, one factor moves the whole sum on from d to d+1, and
	// P(X = 1 | X >= 1) = b/(m-1+b).
	reached := 0.0
	for d, p := range mass {
		if d == n {
			mass[d] = p + chance*reached
			break
		}
		free := float64(n - d)
		mass[d] = (1-chance)*p + chance*reached
		reached = (reached + p*b/free) * free / (free - 1 + b)
	}
	scale(mass, 1)
	return Lot{mass: mass, logEv: l.logEv}, nil
}

// Births returns the lot with n hatchlings added that carry nothing: an animal
// is born clean and can only be infested later, which [Lot.Introduce] or a
// life-cycle model says. The chance of clear does not change. More animals
// make the next look prove less, the cautious side; the bag risk falls, so ask
// it of the animals old enough to sell.
func (l Lot) Births(n int) (Lot, error) {
	if err := checkCount("births", n, 0, MaxAnimals-l.Alive()); err != nil {
		return Lot{}, err
	}
	mass := make([]float64, l.Alive()+n+1)
	copy(mass, l.dist())
	return Lot{mass: mass, logEv: l.logEv}, nil
}

// Recount returns the lot when a recount found alive animals. Fewer than
// thought are taken as gone at random, as in Thin. The animals not counted
// before are taken to be like the counted ones, each in turn infested with the
// share among those before it (Pólya's urn): a clear lot stays clear, the
// expected share infested stays the same.
func (l Lot) Recount(alive int) (Lot, error) {
	if err := checkCount("population", alive, 0, MaxAnimals); err != nil {
		return Lot{}, err
	}
	if alive <= l.Alive() {
		return l.Thin(alive)
	}
	if l.Alive() == 0 {
		return Lot{}, ref.Inputf("population", "Open a new lot.", "a lot without animals cannot grow to %d by counting", alive)
	}
	mass := make([]float64, alive+1)
	copy(mass, l.dist())
	for n := l.Alive(); n < alive; n++ {
		for d := n + 1; d > 0; d-- {
			mass[d] = mass[d]*float64(n-d)/float64(n) + mass[d-1]*float64(d-1)/float64(n)
		}
	}
	scale(mass, 1)
	return Lot{mass: mass, logEv: l.logEv}, nil
}
