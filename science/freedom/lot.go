package freedom

import (
	"math"

	"holdfast/science/ref"
)

// Prior says what is believed of a lot before anyone looked: with chance
// 1-Infested no animal is infested; otherwise each is, independently, at a
// share that is itself unknown and Beta(A, B) distributed. The number infested
// D in the infested part is therefore BetaBinomial(N, A, B), not truncated at
// zero: a small lot from a lightly infested source may hold none.
type Prior struct {
	// Infested is the chance that the lot comes from an infested source: 0,
	// or 1e-30 to 1.
	Infested float64
	// A and B shape the share infested if so; mean A/(A+B). From 1e-6 to 1e6.
	A, B float64
}

// DefaultPrior is what a lot is held for when nothing is known of its
// supplier. The even chance is a guess that the shop replaces supplier by
// supplier; the shape covers surveys of 6 to 58 per cent of animals infested,
// central figure 20 per cent, nine tenths of its mass from 0.8 to 70 per cent.
func DefaultPrior() Prior {
	return Prior{Infested: DefaultInfested.Value, A: 0.749, B: 2.171}
}

// DefaultInfested is the chance behind DefaultPrior.
var DefaultInfested = ref.Param{
	Value: 0.5, Low: 0.05, High: 0.95, Unit: "share", Basis: ref.Guess,
	Note: "Chance that a lot of unknown origin comes from an infested source; set it for each supplier.",
}

// DefaultShare is the share infested in an infested lot behind DefaultPrior.
var DefaultShare = ref.Param{
	Value: 0.2, Low: 0.008, High: 0.7, Unit: "share", Basis: ref.Relative,
	Note: "Share of animals carrying head worms in an infested lot; field surveys found 6 to 58 per cent. Beta(0.749, 2.171) has these 90 per cent limits.",
}

func (p Prior) check() error {
	if err := checkChance("prior-infested", p.Infested); err != nil {
		return err
	}
	if err := checkPositive("prior-a", p.A); err != nil {
		return err
	}
	return checkPositive("prior-b", p.B)
}

// Lot is the exact distribution over D, the number of infested animals among
// those alive, given everything told to it. It is a value: every method
// returns a new Lot and leaves the old one as it was. The zero Lot is an empty
// one: no animals, surely clear.
//
// All methods assume that the animals cannot be told apart except by what was
// recorded on them (exchangeable), which holds when looks are random.
type Lot struct {
	mass  []float64 // mass[d] = P(D = d), d = 0..N, sums to 1
	logEv float64
}

// NewLot returns the lot of alive animals as the prior has it.
//
// alive lies in 0..MaxAnimals.
func NewLot(alive int, prior Prior) (Lot, error) {
	if err := checkCount("population", alive, 0, MaxAnimals); err != nil {
		return Lot{}, err
	}
	if err := prior.check(); err != nil {
		return Lot{}, err
	}
	mass := betaBinomial(alive, prior.A, prior.B)
	for d := range mass {
		mass[d] *= prior.Infested
	}
	mass[0] += 1 - prior.Infested
	return Lot{mass: mass}, nil
}

// betaBinomial returns P(D = d) for d = 0..n, from the ratio of neighbours
//
//	p(d+1)/p(d) = (n-d)(d+a) / ((d+1)(n-d-1+b))
//
// and the sum, so that no gamma function limits its accuracy.
func betaBinomial(n int, a, b float64) []float64 {
	ratio := make([]float64, n)
	for d := range ratio {
		ratio[d] = float64(n-d) * (float64(d) + a) / (float64(d+1) * (float64(n-d-1) + b))
	}
	mass, _, _ := runFromRatios(ratio).normalise()
	return mass
}

// dist returns the masses, also of the zero Lot.
func (l Lot) dist() []float64 {
	if l.mass == nil {
		return []float64{1}
	}
	return l.mass
}

// Alive returns N, the number of animals alive.
func (l Lot) Alive() int { return len(l.dist()) - 1 }

// P returns the chance that exactly d animals are infested; 0 outside 0..N.
func (l Lot) P(d int) float64 {
	if m := l.dist(); d >= 0 && d < len(m) {
		return m[d]
	}
	return 0
}

// Distribution returns a copy of P(D = d) for d = 0..N.
func (l Lot) Distribution() []float64 {
	return append([]float64(nil), l.dist()...)
}

// Clear returns the chance that no animal is infested, P(D = 0).
func (l Lot) Clear() float64 {
	p := l.dist()[0]
	if p > 1-1e-12 && l.Infested() == 0 {
		return 1 // nothing else is possible; the last bit is rounding
	}
	return p
}

// Infested returns the chance that at least one animal is infested. It is
// summed, not 1 - Clear, and so keeps its digits when it is tiny.
func (l Lot) Infested() float64 {
	sum := 0.0
	m := l.dist()
	for d := len(m) - 1; d > 0; d-- {
		sum += m[d]
	}
	return min(sum, 1)
}

// Mean returns the expected number of infested animals.
func (l Lot) Mean() float64 {
	sum := 0.0
	for d, p := range l.dist() {
		sum += float64(d) * p
	}
	return sum
}

// Quantile returns the smallest d with P(D <= d) >= q: "with 95 per cent
// certainty no more than d of them". q lies in (0, 1); below 0 counts as 0 and
// above 1, or not a number, as 1.
func (l Lot) Quantile(q float64) int {
	if math.IsNaN(q) {
		q = 1
	}
	m, sum, last := l.dist(), 0.0, 0
	for d, p := range m {
		if p > 0 {
			last = d
		}
		if sum += p; sum >= q {
			return d
		}
	}
	return last // rounding left the sum a hair below q
}

// LogEvidence returns the natural logarithm of the chance, foreseen by the
// prior, of everything that was recorded: what compares two priors or two
// sensitivities on the same history. It is 0 for a lot nobody looked at.
func (l Lot) LogEvidence() float64 { return l.logEv }

// reweigh returns the lot with each P(d) multiplied by weight(d), a run given
// from d = low on and zero elsewhere, times exp(logC). It uses up the run.
func (l Lot) reweigh(low int, logC float64, weight run) (Lot, error) {
	m := l.dist()
	for i := range weight.mant {
		weight.mant[i] *= m[low+i]
	}
	mass, logSum, ok := weight.normalise()
	if !ok {
		return Lot{}, contradiction()
	}
	if len(mass) < len(m) {
		whole := make([]float64, len(m))
		copy(whole[low:], mass)
		mass = whole
	}
	return Lot{mass: mass, logEv: l.logEv + logSum + logC}, nil
}

// contradiction is the answer to records that cannot all be true.
func contradiction() error {
	return &ref.NoAnswer{Reason: "These records cannot all be true at once: an animal recorded as surely infested, or a whole lot recorded as surely clean, contradicts the rest. Check the entries, or allow for mistakes (sensitivity or specificity below 1)."}
}
