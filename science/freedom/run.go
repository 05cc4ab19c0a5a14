package freedom

import "math"

// run is a sequence of non-negative numbers too wide for float64: element i is
// mant[i] · 2^exp[i]. A lot of ten thousand animals meets chances of 1e-3000
// long before anything about it is settled, and the sums over them must still
// be right.
type run struct {
	mant []float64
	exp  []int
}

// runWindow is where mantissas are kept, so narrow that a mantissa times a
// chance of leastMass or more is still a normal number.
const runWindow = 0x1p20

// runFromRatios returns 1, r0, r0·r1, ... with len(ratios)+1 elements. Each
// multiplication adds half a unit in the last place, so element i has relative
// error of about i·1.1e-16 at worst and √i·1e-16 typically.
func runFromRatios(ratios []float64) run {
	r := run{make([]float64, len(ratios)+1), make([]int, len(ratios)+1)}
	m, e := 1.0, 0
	r.mant[0] = m
	for i, q := range ratios {
		m *= q
		if m != 0 && (m > runWindow || m < 1/runWindow) {
			f, k := math.Frexp(m)
			m, e = f, e+k
		}
		r.mant[i+1], r.exp[i+1] = m, e
	}
	return r
}

// normalise returns the sequence divided by its sum, and the natural logarithm
// of that sum. It returns false when every element is zero.
func (r run) normalise() ([]float64, float64, bool) {
	top := math.MinInt
	for i, m := range r.mant {
		if m != 0 {
			top = max(top, exponent(m)+r.exp[i])
		}
	}
	if top == math.MinInt {
		return nil, 0, false
	}
	out, sum := make([]float64, len(r.mant)), 0.0
	for i, m := range r.mant {
		if m == 0 || r.exp[i]-top < -1000 {
			continue
		}
		out[i] = math.Ldexp(m, r.exp[i]-top)
		sum += out[i]
	}
	scale(out, sum)
	return out, math.Log(sum) + float64(top)*math.Ln2, true
}

// exponent returns floor(log2(x)) of a normal number above zero.
func exponent(x float64) int { return int(math.Float64bits(x)>>52) - 1023 }

// leastMass is where a chance counts as nothing: it keeps the slow subnormal
// numbers out. Only records that contradict each other at odds of 1e300 to 1
// could ever tell the difference.
const leastMass = 1e-300

// scale divides p by sum in place and sweeps out what is below leastMass.
func scale(p []float64, sum float64) {
	for i, v := range p {
		if v /= sum; v < leastMass {
			v = 0
		}
		p[i] = v
	}
}
