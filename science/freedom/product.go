package freedom

import (
	"cmp"
	"math"
	"slices"
)

// group is n animals with the same record.
type group struct {
	Chance
	n int
}

// grouped folds equal records, largest group first; the order depends on the
// records alone, so results are the same bit for bit whatever order the
// animals were looked at.
func grouped(animals []Chance) ([]group, error) {
	count := map[Chance]int{}
	for _, a := range animals {
		count[a]++
	}
	groups := make([]group, 0, len(count))
	for c, n := range count {
		if err := c.check(); err != nil {
			return nil, err
		}
		groups = append(groups, group{c, n})
	}
	slices.SortFunc(groups, func(x, y group) int {
		return cmp.Or(cmp.Compare(y.n, x.n), cmp.Compare(x.IfInfested, y.IfInfested), cmp.Compare(x.IfNotInfested, y.IfNotInfested))
	})
	return groups, nil
}

// product is the polynomial prod_i (b_i + a_i z) over animals, b_i the weight
// of animal i if it is not infested and a_i if it is. Its coefficient of z^D
// is the summed weight of all ways in which D of the animals are infested.
//
// The coefficients span thousands of decades but, all roots being real and
// negative, the ratio of neighbours stays tame: so the ratios are what is kept.
type product struct {
	low   int       // lowest power whose coefficient is not zero
	logC  float64   // natural logarithm of that coefficient
	ratio []float64 // ratio[i] = coefficient(low+i+1) / coefficient(low+i)
}

// multiply returns the product over all animals of all groups.
//
// The two largest groups cost O(degree) together, each further animal
// O(degree).
func multiply(groups []group) product {
	p := product{}
	var odds []group // IfInfested holds a/b, IfNotInfested is unused
	for _, g := range groups {
		if g.n == 0 {
			continue
		}
		n := float64(g.n)
		switch {
		case g.IfNotInfested == 0: // surely infested
			p.low += g.n
			p.logC += n * math.Log(g.IfInfested)
		case g.IfInfested == 0: // surely not
			p.logC += n * math.Log(g.IfNotInfested)
		default:
			p.logC += n * math.Log(g.IfNotInfested)
			odds = addOdds(odds, g.IfInfested/g.IfNotInfested, g.n)
		}
	}
	slices.SortStableFunc(odds, func(x, y group) int { return cmp.Compare(y.n, x.n) })
	switch len(odds) {
	case 0:
		return p
	case 1:
		p.ratio = twoBinomials(odds[0].IfInfested, odds[0].n, 1, 0)
		return p
	}
	p.ratio = twoBinomials(odds[0].IfInfested, odds[0].n, odds[1].IfInfested, odds[1].n)
	for _, g := range odds[2:] {
		for range g.n {
			p.ratio = timesLinear(p.ratio, g.IfInfested)
		}
	}
	return p
}

// addOdds counts n animals with the ratio r to those already there.
func addOdds(odds []group, r float64, n int) []group {
	for i := range odds {
		if odds[i].IfInfested == r {
			odds[i].n += n
			return odds
		}
	}
	return append(odds, group{Chance{r, 1}, n})
}

// twoBinomials returns the ratios of neighbouring coefficients c_D of
// f = (1+sz)^n (1+tz)^m.
//
// From f'(1+sz)(1+tz) = (ns(1+tz) + mt(1+sz)) f follows
//
//	(D+1) c_{D+1} = (s(n-D) + t(m-D)) c_D + st(n+m-D+1) c_{D-1}
//
// The first bracket is positive up to D* = (ns+mt)/(s+t), where the recursion
// is run upwards from c_0, and negative beyond, where it is run downwards from
// c_{n+m}: in its own direction each half adds positive terms only.
func twoBinomials(s float64, n int, t float64, m int) []float64 {
	deg := n + m
	ratio := make([]float64, deg)
	if deg == 0 {
		return ratio
	}
	if m == 0 {
		for d := range ratio {
			ratio[d] = s * float64(n-d) / float64(d+1)
		}
		return ratio
	}
	prod := s * t
	slope := func(d int) float64 { return s*float64(n-d) + t*float64(m-d) }
	turn := min(int((float64(n)*s+float64(m)*t)/(s+t)), deg-1)
	below := 0.0 // c_{D-1}/c_D
	for d := 0; d <= turn; d++ {
		v := slope(d) + prod*float64(deg-d+1)*below
		ratio[d] = v / float64(d+1)
		below = float64(d+1) / v
	}
	above := 0.0 // c_{D+1}/c_D
	for d := deg; d > turn+1; d-- {
		above = prod * float64(deg-d+1) / (float64(d+1)*above - slope(d))
		ratio[d-1] = above
	}
	return ratio
}

// timesLinear multiplies by (1 + rz): c'_D = c_D + r c_{D-1}, hence
//
//	ratio'_D = (ratio_D + r) / (1 + r/ratio_{D-1})
func timesLinear(ratio []float64, r float64) []float64 {
	deg := len(ratio)
	ratio = append(ratio, 0)
	if deg == 0 {
		ratio[0] = r
		return ratio
	}
	ratio[deg] = r * ratio[deg-1] / (ratio[deg-1] + r)
	for d := deg - 1; d > 0; d-- {
		below := ratio[d-1]
		ratio[d] = (ratio[d] + r) * below / (below + r)
	}
	ratio[0] += r
	return ratio
}
