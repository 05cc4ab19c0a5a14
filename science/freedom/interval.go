package freedom

import (
	"math"

	"gonum.org/v1/gonum/mathext"
	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is a stretch of shares, Low <= High.
type Interval struct {
	Low, High float64
}

// Clip returns the interval cut to [0, 1], as people are shown it.
func (i Interval) Clip() Interval {
	return Interval{clip(i.Low), clip(i.High)}
}

func clip(x float64) float64 { return min(max(x, 0), 1) }

// checkSeen refuses a count of positives that is not one of n looked at, and a
// confidence that is none. n lies in 1..MaxAnimals.
func checkSeen(k, n int, confidence float64) error {
	if err := checkCount("looked", n, 1, MaxAnimals); err != nil {
		return err
	}
	if err := checkCount("positive", k, 0, n); err != nil {
		return err
	}
	return checkOpenShare("confidence", confidence)
}

// ClopperPearson returns the exact two-sided interval for the share when k of
// n are positive: the shares that neither one-sided binomial test at half the
// error refuses.
//
//	low  = BetaInv(α/2; k, n-k+1),   0 if k = 0
//	high = BetaInv(1-α/2; k+1, n-k), 1 if k = n
//
// It holds the true share at least as often as it says, usually more often.
// Source: clopper1934
func ClopperPearson(k, n int, confidence float64) (Interval, error) {
	if err := checkSeen(k, n, confidence); err != nil {
		return Interval{}, err
	}
	half, high := (1-confidence)/2, 1.0
	if k < n {
		high = betaQuantile(1-half, float64(k+1), float64(n-k))
	}
	return Interval{clopperLow(k, n, half), high}, nil
}

// clopperLow is the share at which k or more of n have chance tail.
func clopperLow(k, n int, tail float64) float64 {
	if k == 0 {
		return 0
	}
	return betaQuantile(tail, float64(k), float64(n-k+1))
}

// ZeroFoundUpper returns the one-sided upper limit when none of n is positive,
//
//	1 - (1-c)^(1/n)
//
// the figure behind "three over n". The two-sided Clopper-Pearson interval
// ends higher, at 1 - ((1-c)/2)^(1/n): say which one is shown.
func ZeroFoundUpper(n int, confidence float64) (float64, error) {
	if err := checkSeen(0, n, confidence); err != nil {
		return 0, err
	}
	return -math.Expm1(math.Log1p(-confidence) / float64(n)), nil
}

// Wilson returns Wilson's score interval,
//
//	(p + z²/2n ± z √(p(1-p)/n + z²/4n²)) / (1 + z²/n)
//
// whose coverage is right on average, not for every share. It lies in [0, 1].
// Source: brown2001
func Wilson(k, n int, confidence float64) (Interval, error) {
	if err := checkSeen(k, n, confidence); err != nil {
		return Interval{}, err
	}
	z, m, p := normalTwoSided(confidence), float64(n), float64(k)/float64(n)
	zz := z * z / m
	centre := (p + zz/2) / (1 + zz)
	half := z * math.Sqrt(p*(1-p)/m+zz/(4*m)) / (1 + zz)
	i := Interval{centre - half, centre + half}.Clip()
	if k == 0 {
		i.Low = 0
	}
	if k == n {
		i.High = 1
	}
	return i, nil
}

// AgrestiCoull returns Agresti and Coull's interval: the simple one after
// adding z²/2 positives and as many negatives. It may leave [0, 1]; clip it
// for people.
//
//	ñ = n+z²,  p̃ = (k+z²/2)/ñ,  p̃ ± z √(p̃(1-p̃)/ñ)
//
// Source: brown2001
func AgrestiCoull(k, n int, confidence float64) (Interval, error) {
	if err := checkSeen(k, n, confidence); err != nil {
		return Interval{}, err
	}
	z := normalTwoSided(confidence)
	m := float64(n) + z*z
	p := (float64(k) + z*z/2) / m
	half := z * math.Sqrt(p*(1-p)/m)
	return Interval{p - half, p + half}, nil
}

// Jeffreys returns the equal-tailed interval of the posterior
// Beta(k+1/2, n-k+1/2), its low end 0 at k = 0 and its high end 1 at k = n.
// Source: brown2001
func Jeffreys(k, n int, confidence float64) (Interval, error) {
	if err := checkSeen(k, n, confidence); err != nil {
		return Interval{}, err
	}
	half, i := (1-confidence)/2, Interval{0, 1}
	if k > 0 {
		i.Low = betaQuantile(half, float64(k)+0.5, float64(n-k)+0.5)
	}
	if k < n {
		i.High = betaQuantile(1-half, float64(k)+0.5, float64(n-k)+0.5)
	}
	return i, nil
}

// Blaker returns Blaker's exact interval: never longer than Clopper-Pearson's
// and still holding the true share at least as often as it says. A share stays
// in when the tail that was seen, together with the other tail as far as it is
// no likelier, has more than the error's chance. Where the shares that stay in
// leave gaps, the interval spans them.
// Source: blaker2000
func Blaker(k, n int, confidence float64) (Interval, error) {
	if err := checkSeen(k, n, confidence); err != nil {
		return Interval{}, err
	}
	return Interval{blakerLow(k, n, 1-confidence), 1 - blakerLow(n-k, n, 1-confidence)}, nil
}

// blakerLow finds the lowest share p whose acceptability
//
//	P(X >= k) + P(X <= y),  y the largest with P(X <= y) <= P(X >= k)
//
// reaches alpha. At the Clopper-Pearson limit, where P(X >= k) = alpha/2, it
// does not exceed alpha. From there up to the share q at which y steps to y+1
// it is 1 - P(y < X < k), which falls and then rises, so it crosses alpha at
// most once; and at q it jumps to 2 P(X >= k), which is at least alpha.
func blakerLow(k, n int, alpha float64) float64 {
	if k == 0 {
		return 0
	}
	cp := clopperLow(k, n, alpha/2)
	y := -1
	for y+1 < k && binomialAtMost(n, y+1, cp) <= alpha/2 {
		y++
	}
	upper := func(p float64) float64 { return binomialExceeds(n, k-1, p) }
	q := crossing(cp, float64(k)/float64(n), func(p float64) bool { return binomialAtMost(n, y+1, p) <= upper(p) })
	accepted := func(p float64) bool { return upper(p)+binomialAtMost(n, y, p) >= alpha }
	below := math.Nextafter(q, 0) // the last share at which y still holds
	if below <= cp || !accepted(below) {
		return q
	}
	return crossing(cp, below, accepted)
}

// crossing returns the smallest x in [low, high] from which on ok holds, to
// the last bit or so; high if it nowhere does before.
func crossing(low, high float64, ok func(float64) bool) float64 {
	for {
		mid := low + (high-low)/2
		if low > 0 && high > 4*low { // reach small shares in few steps
			mid = math.Sqrt(low) * math.Sqrt(high)
		}
		if mid <= low || mid >= high {
			return high
		}
		if ok(mid) {
			high = mid
		} else {
			low = mid
		}
	}
}

// normalTwoSided returns z with P(|Z| <= z) = confidence.
func normalTwoSided(confidence float64) float64 {
	return -distuv.UnitNormal.Quantile((1 - confidence) / 2)
}

// betaQuantile returns x with I_x(a, b) = p for p in (0, 1), by bisection on
// the incomplete beta function: a library's direct inverse is wrong at the
// extremes that occur here (a = 1e6, b <= 1).
func betaQuantile(p, a, b float64) float64 {
	return crossing(math.SmallestNonzeroFloat64, 1, func(x float64) bool { return mathext.RegIncBeta(a, b, x) >= p })
}
