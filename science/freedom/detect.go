package freedom

import (
	"math"

	"gonum.org/v1/gonum/mathext"

	"holdfast/science/ref"
)

// slack is how far below the wanted confidence a design may fall and still
// count as reaching it: rounding must not ask for one animal more.
const slack = 1e-12

// DesignInfested returns how many animals are infested at a design prevalence,
// "at least this share":
//
//	D = max(1, ⌈N p - 1e-9⌉)
//
// The small number undoes binary rounding: 0.07·100 is 7.000000000000001.
// population is at least 1, prevalence in (0, 1]; the result never exceeds
// population.
func DesignInfested(population int, prevalence float64) int {
	d := math.Ceil(float64(population)*prevalence - 1e-9)
	return int(min(max(1, d), float64(population)))
}

// detector answers for one lot, with D of its N infested, how likely a look at
// n of them gives more than k positives, for any n and k.
//
// Think of every animal in the lot as bearing the record it would get if it
// were looked at. The number M of would-be positives does not depend on who is
// caught, and given M the positives among n caught are hypergeometric:
//
//	M = Binomial(D, Se) + Binomial(N-D, 1-Sp),   T | M ~ Hypergeometric(N, M, n)
//
// which is the same distribution as T = Binomial(Y, Se) + Binomial(n-Y, 1-Sp)
// with Y hypergeometric, at O(N) for the first answer and O(N) for each
// further one.
type detector struct {
	population int
	wouldBe    []float64 // wouldBe[m] = P(M = m), cut after the last above zero
}

// newDetector builds a detector; population >= 1, 0 <= infested <= population.
// Chance here holds positive against clean, not infested against not.
func newDetector(population, infested int, how Seeing) detector {
	p := multiply([]group{
		{Chance{how.Sensitivity, 1 - how.Sensitivity}, infested},
		{Chance{1 - how.Specificity, how.Specificity}, population - infested},
	})
	mass, _, _ := runFromRatios(p.ratio).normalise()
	last := 0
	for i, v := range mass {
		if v > 0 {
			last = i
		}
	}
	return detector{population, append(make([]float64, p.low), mass[:last+1]...)}
}

// exceeds returns P(T > k) for n looked at, 1 <= n <= N, k >= 0.
//
// From M to M+1 would-be positives, T passes k when T was k and the additional
// one is among the n-k others looked at of the N-M others there are:
//
//	P(T > k | M+1) = P(T > k | M) + P(T = k | M) (n-k)/(N-M)
//
// so that everything is a sum of positive terms.
func (d detector) exceeds(n, k int) float64 {
	if k >= n {
		return 0
	}
	N, last := d.population, len(d.wouldBe)-1
	if last <= k {
		return 0
	}
	// P(T = k | M = k) = C(N-k, n-k)/C(N, n) = Π (n-i)/(N-i), then upwards.
	h, exp := 1.0, 0
	for i := range k {
		h *= float64(n-i) / float64(N-i)
		h, exp = renormal(h, exp)
	}
	above, sum := 0.0, 0.0 // P(T > k | M)
	for m := k; m <= last; m++ {
		sum += d.wouldBe[m] * above
		if m == N || h == 0 {
			continue
		}
		above += math.Ldexp(h, exp) * float64(n-k) / float64(N-m)
		h *= float64(m+1) * float64(N-m-n+k) / (float64(m+1-k) * float64(N-m))
		h, exp = renormal(h, exp)
	}
	return min(sum, 1)
}

// renormal keeps mant · 2^exp within float64 by moving powers of two.
func renormal(mant float64, exp int) (float64, int) {
	if mant == 0 || (mant < runWindow && mant > 1/runWindow) {
		return mant, exp
	}
	f, e := math.Frexp(mant)
	return f, exp + e
}

// Detect returns the chance that a random look at looked of population animals
// gives more than allow positives when infested of them are infested:
//
//	P(T > k),  T = Binomial(Y, Se) + Binomial(n-Y, 1-Sp),  Y ~ Hypergeometric(N, D, n)
//
// population lies in 1..MaxAnimals, infested and looked in 0..population,
// allow >= 0. With infested = 0 it is the chance of a false alarm.
//
// Accuracy: within 1e-12 of rational arithmetic for N up to 40, see
// TestDetectAgainstRational. Source: cameron1998
func Detect(population, infested, looked, allow int, how Seeing) (float64, error) {
	if err := checkCount("population", population, 1, MaxAnimals); err != nil {
		return 0, err
	}
	if err := checkCount("infested", infested, 0, population); err != nil {
		return 0, err
	}
	if err := checkCount("looked", looked, 0, population); err != nil {
		return 0, err
	}
	if err := checkCount("allow", allow, 0, MaxAnimals); err != nil {
		return 0, err
	}
	if err := how.Check(); err != nil {
		return 0, err
	}
	return newDetector(population, infested, how).exceeds(looked, allow), nil
}

// DetectUnlimited is Detect for a lot much larger than the look, of which the
// share prevalence is infested: T is Binomial(n, p Se + (1-p)(1-Sp)).
//
// prevalence lies in [0, 1], looked and allow in 0..MaxAnimals.
func DetectUnlimited(prevalence float64, looked, allow int, how Seeing) (float64, error) {
	if err := checkShare("prevalence", prevalence); err != nil {
		return 0, err
	}
	if err := checkCount("looked", looked, 0, MaxAnimals); err != nil {
		return 0, err
	}
	if err := checkCount("allow", allow, 0, MaxAnimals); err != nil {
		return 0, err
	}
	if err := how.Check(); err != nil {
		return 0, err
	}
	return binomialExceeds(looked, allow, how.apparent(prevalence)), nil
}

// apparent returns the chance that an animal from a lot with that share
// infested is recorded positive.
func (s Seeing) apparent(prevalence float64) float64 {
	return prevalence*s.Sensitivity + (1-prevalence)*(1-s.Specificity)
}

// binomialExceeds returns P(X > k), X ~ Binomial(n, p), by the incomplete beta
// function I_p(k+1, n-k).
func binomialExceeds(n, k int, p float64) float64 {
	switch {
	case k < 0:
		return 1
	case k >= n || p <= 0:
		return 0
	case p >= 1:
		return 1
	case k == 0:
		return -math.Expm1(float64(n) * math.Log1p(-p))
	}
	return mathext.RegIncBeta(float64(k+1), float64(n-k), p)
}

// binomialAtMost returns P(X <= k).
func binomialAtMost(n, k int, p float64) float64 {
	switch {
	case k < 0:
		return 0
	case k >= n || p <= 0:
		return 1
	case p >= 1:
		return 0
	case k == 0:
		return math.Exp(float64(n) * math.Log1p(-p))
	}
	return mathext.RegIncBeta(float64(n-k), float64(k+1), 1-p)
}

// Stratum is one bag, box or tank of a lot that is looked at separately.
type Stratum struct {
	Population, Infested, Looked int
}

// DetectStrata returns the chance of at least one positive when each stratum
// is looked at on its own, with the infested spread as given:
//
//	1 - Π_i P_i(no positive)
//
// If infestation clusters by bag, a random look over all bags beats emptying
// one; compare by giving both here.
func DetectStrata(strata []Stratum, how Seeing) (float64, error) {
	if len(strata) == 0 {
		return 0, ref.Inputf("strata", "Give at least one bag or tank.", "nothing to look at")
	}
	logMiss := 0.0
	for _, s := range strata {
		p, err := Detect(s.Population, s.Infested, s.Looked, 0, how)
		if err != nil {
			return 0, err
		}
		logMiss += math.Log1p(-p)
	}
	return -math.Expm1(logMiss), nil
}

// DetectGroups returns the chance of finding at least one infested group
// (bag, box, tank) when looked of groups are examined, infested of them are
// infested and examining an infested one finds it with chance groupSensitivity.
//
//	Σ_y Hypergeometric(y; H, D, h) (1 - (1-SeH)^y)
//
// It is Detect with groups for animals. groups = 0 means very many, of which
// the share prevalence is infested; then infested is not used, and otherwise
// infested is DesignInfested(groups, prevalence).
func DetectGroups(groups int, prevalence float64, looked int, groupSensitivity float64) (float64, error) {
	how := Seeing{Sensitivity: groupSensitivity, Specificity: 1}
	if groups == 0 {
		return DetectUnlimited(prevalence, looked, 0, how)
	}
	if err := checkShare("prevalence", prevalence); err != nil {
		return 0, err
	}
	if err := checkCount("groups", groups, 1, MaxAnimals); err != nil {
		return 0, err
	}
	return Detect(groups, DesignInfested(groups, prevalence), looked, 0, how)
}
