package freedom

import "math"

// run is a sequence of non-negative numbers too wide for float64: element i is
// mant[i] · 2^exp[i]. A lot of ten thousand animals meets chances of 1e-3000
// long before anything about it is settled, and the sums over them must still
// be right.
type run struct {
	mant []float64
	exp  []int32
}

// runWindow is where mantissas are kept, so narrow that a mantissa times a
// chance of leastMass or more is still a normal number.
const runWindow = 0x1p20

// runFromRatios returns 1, r0, r0·r1, ... with len(ratios)+1 elements. Each
// multiplication adds half a unit in the last place, so element i has relative
// error of about i·1.1e-16 at worst and √i·1e-16 typically.
func runFromRatios(ratios []float64) run {
	r := run{make([]float64, len(ratios)+1), make([]int32, len(ratios)+1)}
	m, e := 1.0, int32(0)
	r.mant[0] = m
	for i, q := range ratios {
		m *= q
		if m != 0 && (m > runWindow || m < 1/runWindow) {
			f, k := math.Frexp(m)
			m, e = f, e+int32(k)
		}
		r.mant[i+1], r.exp[i+1] = m, e
	}
	return r
}

// normalise divides the sequence by its sum and returns it as plain numbers, in
// the place of its mantissas, with the natural logarithm of the sum. It returns
// false when every element is zero.
func (r run) normalise() ([]float64, float64, bool) {
	top := math.MinInt
	for i, m := range r.mant {
		if m != 0 {
			top = max(top, exponent(m)+int(r.exp[i]))
		}
	}
	if top == math.MinInt {
		return nil, 0, false
	}
	out, sum := r.mant, 0.0
	for i, m := range r.mant {
		k := int(r.exp[i]) - top
		if m == 0 || k < -1000 {
			out[i] = 0
			continue
		}
		out[i] = m * powerOfTwo(k)
		sum += out[i]
	}
	scale(out, sum)
	return out, math.Log(sum) + float64(top)*math.Ln2, true
}

// powerOfTwo returns 2^k for k in -1022..1023.
func powerOfTwo(k int) float64 { return math.Float64frombits(uint64(1023+k) << 52) }

// exponent returns floor(log2(x)) of a normal number above zero.
func exponent(x float64) int { return int(math.Float64bits(x)>>52) - 1023 }

// leastMass is where a chance counts as nothing: it keeps the slow subnormal
// numbers out. Only records that contradict each other at odds of 1e300 to 1
// could ever tell the difference.
const leastMass = 1e-300

// scale divides p by sum in place and sweeps out what is below leastMass.
func scale(p []float64, sum float64) {
	inverse := 1 / sum
	for i, v := range p {
		if v *= inverse; v < leastMass {
			v = 0
		}
		p[i] = v
	}
}
