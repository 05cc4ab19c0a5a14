package freedom

import (
	"fmt"
	"math"

	"holdfast/science/ref"
)

// Design is a question of how many to look at.
type Design struct {
	// Population is the number of animals alive, 1..MaxAnimals; 0 means a lot
	// much larger than any look.
	Population int
	// Prevalence is the share infested that shall not be missed, in (0, 1].
	Prevalence float64
	// Infested, when above 0, is that number of animals itself and is used in
	// place of Prevalence; it needs a Population.
	Infested int
	// Confidence is the wanted chance of more than Allow positives, in (0, 1).
	Confidence float64
	// How one looks.
	How Seeing
	// Allow is the number of positives tolerated before the lot is called
	// infested. Ignored when LotSpecificity is given.
	Allow int
	// LotSpecificity, when above 0, is the wanted chance that a clear lot is
	// not called infested; then Allow is chosen with the number to look at.
	LotSpecificity float64
}

// Plan answers a Design.
type Plan struct {
	// Look is the number of animals to look at.
	Look int
	// Allow is the number of positives tolerated.
	Allow int
	// Confidence is the chance that more than Allow positives are found if the
	// lot is infested at the design prevalence, at least the wanted one.
	Confidence float64
	// LotSpecificity is the chance that a clear lot gives no more than Allow.
	LotSpecificity float64
	// Infested is the number of animals the design prevalence means; 0 in an
	// unlimited lot.
	Infested int
	// Method names how it was computed.
	Method string
}

func (d Design) check() error {
	if err := checkCount("population", d.Population, 0, MaxAnimals); err != nil {
		return err
	}
	switch {
	case d.Infested != 0 && d.Population == 0:
		return ref.Inputf("infested", "Give the population, or a prevalence.", "a number infested needs a population")
	case d.Infested != 0:
		if err := checkCount("infested", d.Infested, 1, d.Population); err != nil {
			return err
		}
	case math.IsNaN(d.Prevalence) || d.Prevalence <= 0 || d.Prevalence > 1:
		return ref.Inputf("prevalence", "Give a share above 0 and at most 1, for instance 0.05.", "%v is not above 0 and at most 1", d.Prevalence)
	}
	if err := checkOpenShare("confidence", d.Confidence); err != nil {
		return err
	}
	if err := checkCount("allow", d.Allow, 0, MaxAnimals); err != nil {
		return err
	}
	if d.LotSpecificity != 0 {
		if err := checkOpenShare("lot-specificity", d.LotSpecificity); err != nil {
			return err
		}
	}
	return d.How.Check()
}

// chances returns the chance of more than k positives among n looked at, in
// the infested and in the clear lot.
func (d Design) chances() (infested, clear func(n, k int) float64, D int) {
	falsely := 1 - d.How.Specificity
	clear = func(n, k int) float64 { return binomialExceeds(n, k, falsely) }
	if d.Population == 0 {
		p := d.How.apparent(d.Prevalence)
		return func(n, k int) float64 { return binomialExceeds(n, k, p) }, clear, 0
	}
	D = d.Infested
	if D == 0 {
		D = DesignInfested(d.Population, d.Prevalence)
	}
	return newDetector(d.Population, D, d.How).exceeds, clear, D
}

func (d Design) method() string {
	lot, look := "exact hypergeometric", ""
	if d.Population == 0 {
		lot = "exact binomial, unlimited lot"
	}
	switch {
	case d.How.Specificity < 1:
		look = ", sensitivity and specificity by convolution"
	case d.How.Sensitivity < 1:
		look = ", sensitivity by convolution"
	}
	return lot + look
}

// SampleSize returns the fewest animals to look at, at random, so that a lot
// infested at the design prevalence gives more than the tolerated number of
// positives with the wanted confidence:
//
//	smallest n >= 1 with P(T > k | D) >= c (to within 1e-12)
//
// and, when LotSpecificity is given, for each n the smallest k with
// P(T <= k | D = 0) >= LotSpecificity. With a fixed k the chance only grows
// with n. With k chosen it is a saw-tooth: the next n may need one more
// tolerated positive and then fall short, so a larger look is not always a
// better one; ask again for the number really looked at.
//
// n is not monotone in the population either, because D jumps: 20 animals at
// 5 per cent hold one infested animal and need 19.
//
// SampleSize returns *ref.NoAnswer when not even looking at every animal once
// (or at MaxAnimals of an unlimited lot) is enough.
//
// Source: cameron1998
func SampleSize(d Design) (Plan, error) {
	if err := d.check(); err != nil {
		return Plan{}, err
	}
	most := d.Population
	if most == 0 {
		most = MaxAnimals
	}
	infested, clear, D := d.chances()
	plan := Plan{Infested: D, Allow: d.Allow, Method: d.method()}
	var found bool
	if d.LotSpecificity == 0 {
		plan.Look, found = fewest(1, most, func(n int) bool { return infested(n, d.Allow) >= d.Confidence-slack })
	} else {
		plan.Look, plan.Allow, found = d.cutPoint(most, infested, clear)
	}
	if !found {
		return Plan{}, &ref.NoAnswer{Reason: d.cannot(most, D, infested)}
	}
	plan.Confidence = infested(plan.Look, plan.Allow)
	plan.LotSpecificity = 1 - clear(plan.Look, plan.Allow)
	return plan, nil
}

// cutPoint finds the smallest n, with the smallest k admissible for it. The
// admissible k never falls as n grows, so each k reigns over one stretch of n,
// and within a stretch the chance grows with n: only its end needs a trial.
func (d Design) cutPoint(most int, infested, clear func(n, k int) float64) (n, k int, found bool) {
	from := 1
	for k := 0; from <= most; k++ {
		// The stretch of k ends where k is no longer admissible.
		past, ends := fewest(max(from, k+1), most, func(n int) bool { return clear(n, k) > 1-d.LotSpecificity+slack })
		to := most
		if ends {
			to = past - 1
		}
		if to >= from && infested(to, k) >= d.Confidence-slack {
			n, _ := fewest(from, to, func(n int) bool { return infested(n, k) >= d.Confidence-slack })
			return n, k, true
		}
		from = max(from, to+1)
	}
	return 0, 0, false
}

// fewest returns the smallest n in from..most for which ok holds, given that
// it holds from some n on; found is false if it does not hold at most. It
// doubles its stride first, since answers are small beside the lot.
func fewest(from, most int, ok func(n int) bool) (n int, found bool) {
	if from > most {
		return 0, false
	}
	low, stride := from-1, 1 // ok does not hold at low
	high := from
	for !ok(high) {
		if high == most {
			return 0, false
		}
		low = high
		stride *= 2
		high = min(high+stride, most)
	}
	for high-low > 1 {
		mid := low + (high-low)/2
		if ok(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high, true
}

// cannot says why no look is enough.
func (d Design) cannot(most, D int, infested func(n, k int) float64) string {
	if d.Population == 0 {
		return fmt.Sprintf("No look at up to %d animals reaches %s.", most, percent(d.Confidence))
	}
	if d.LotSpecificity != 0 {
		return fmt.Sprintf("No number of animals and of tolerated positives among %d reaches both %s for an infested lot and %s for a clear one. Confirm each positive with a second look, so that fewer are mistakes.",
			most, percent(d.Confidence), percent(d.LotSpecificity))
	}
	enough := "at least one"
	if d.Allow > 0 {
		enough = fmt.Sprintf("more than %d", d.Allow)
	}
	if infested(most, d.Allow) == 0 {
		return fmt.Sprintf("With %d of %d infested, even one look at every animal can never show %s. Tolerate fewer.", D, most, enough)
	}
	return fmt.Sprintf("With %d of %d infested, even one look at every animal shows %s with a chance of only %s, below the %s wanted. See more of each animal, or look again another day.",
		D, most, enough, percent(infested(most, d.Allow)), percent(d.Confidence))
}

// Approximations are what the usual formulas give for one positive or more
// with specificity 1, for comparison only; 0 where the formula gives none
// (more than the lot holds). Never decide by them: with sensitivity below 1
// Cannon and Roe's is often too small.
type Approximations struct {
	// Binomial treats the lot as unlimited: ⌈ln(1-c)/ln(1-p Se)⌉.
	Binomial int
	// CannonRoe is ⌈(1-(1-c)^(1/(D Se))) (N-(D Se-1)/2)⌉, Cannon and Roe 1982.
	CannonRoe int
	// MacDiarmid is ⌈(N/Se) (1-(1-c)^(1/D))⌉, MacDiarmid 1988.
	MacDiarmid int
}

// Approximate returns the approximations for a design; Allow, LotSpecificity
// and specificity are not looked at. In an unlimited lot only Binomial is
// given.
// Source: cannonroe1982, macdiarmid1988
func Approximate(d Design) (Approximations, error) {
	if err := d.check(); err != nil {
		return Approximations{}, err
	}
	p, se := d.Prevalence, d.How.Sensitivity
	if d.Population > 0 && d.Infested > 0 {
		p = float64(d.Infested) / float64(d.Population)
	}
	whole := func(x float64, most int) int {
		n := math.Ceil(x - slack)
		if math.IsNaN(n) || n > float64(most) {
			return 0
		}
		return int(max(1, n))
	}
	a := Approximations{Binomial: whole(math.Log1p(-d.Confidence)/math.Log1p(-p*se), MaxAnimals)}
	if N := d.Population; N > 0 {
		D := d.Infested
		if D == 0 {
			D = DesignInfested(N, d.Prevalence)
		}
		miss, Dse := math.Log1p(-d.Confidence), float64(D)*se
		a.CannonRoe = whole(-math.Expm1(miss/Dse)*(float64(N)-(Dse-1)/2), N)
		a.MacDiarmid = whole(float64(N)/se*-math.Expm1(miss/float64(D)), N)
	}
	return a, nil
}
