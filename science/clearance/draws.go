package clearance

import "math"

// gammaShape holds what the Gamma sampler needs of a shape, so that a run
// computes it once.
type gammaShape struct {
	d, c  float64
	boost float64 // 1/shape where shape < 1, else 0
	fixed bool    // no spread at all
}

// shapeOf returns the sampler of a Gamma with mean 1 and the given coefficient
// of variation (0: no spread, always 1).
func shapeOf(cv float64) (shape float64, g gammaShape) {
	if cv <= 1e-9 {
		return math.Inf(1), gammaShape{fixed: true}
	}
	shape = 1 / (cv * cv)
	return shape, newGamma(shape)
}

func newGamma(shape float64) gammaShape {
	g := gammaShape{}
	if shape < 1 {
		g.boost = 1 / shape
		shape++
	}
	g.d = shape - 1.0/3
	g.c = 1 / math.Sqrt(9*g.d)
	return g
}

// gamma returns a Gamma number of the shape with scale 1.
//
// Source: marsaglia2000gamma
func (k key) gamma(n uint64, g *gammaShape) float64 {
	for {
		x := k.normal(n)
		v := 1 + g.c*x
		if v > 0 {
			v = v * v * v
			u := k.unit(n + 12)
			if u < 1-0.0331*x*x*x*x || math.Log(u) < 0.5*x*x+g.d*(1-v+math.Log(v)) {
				v *= g.d
				if g.boost > 0 {
					v *= math.Pow(k.unit(n+13), g.boost)
				}
				return v
			}
		}
		n += 16
	}
}

// beta returns a Beta(a, b) number.
func (k key) beta(n uint64, a, b float64) float64 {
	ga, gb := newGamma(a), newGamma(b)
	x, y := k.gamma(n, &ga), k.gamma(n+128, &gb)
	return x / (x + y)
}

// truncatedNegBin returns a count of at least 1 from the negative binomial
// with the given mean and size, by inversion. Means beyond a few hundred make it
// slow, not wrong.
func (k key) truncatedNegBin(n uint64, mean, size float64) int {
	q := mean / (mean + size)
	p := math.Exp(-size * math.Log1p(mean/size)) // P(0)
	u := k.unit(n) * -math.Expm1(-size*math.Log1p(mean/size))
	for x := 1; ; x++ {
		p *= q * (size + float64(x) - 1) / float64(x)
		u -= p
		if u <= 0 || p < 1e-300 {
			return x
		}
	}
}

// infested calls put for each infested host of n, where every host is infested
// with chance p and at least one is: the first place from the truncated
// geometric, the gaps to the others from the geometric. The work grows with the
// infested alone.
func (k key) infested(n int, p float64, put func(host int)) {
	if p >= 1 {
		for h := range n {
			put(h)
		}
		return
	}
	miss := math.Log1p(-p)
	u := k.unit(at(0, 0))
	h := min(n-1, int(math.Log1p(u*math.Expm1(float64(n)*miss))/miss))
	for i := uint64(1); h < n; i++ {
		put(h)
		gap := math.Log(k.unit(at(0, i))) / miss
		if gap > float64(n) {
			return
		}
		h += 1 + int(gap)
	}
}

// some calls put for each of n hosts that is struck, each with chance p.
func (k key) some(n int, p float64, put func(host int)) {
	if p >= 1 {
		for h := range n {
			put(h)
		}
		return
	}
	miss := math.Log1p(-p)
	for h, i := -1, uint64(0); ; i++ {
		gap := math.Log(k.unit(at(0, i))) / miss
		if gap > float64(n) {
			return
		}
		if h += 1 + int(gap); h >= n {
			return
		}
		put(h)
	}
}
