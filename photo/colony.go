package photo

import (
	"fmt"
	"math"
	"slices"
)

// Colony is a group of rows that lie together: one candidate.
type Colony struct {
	// Chains are its rows, the one least likely by chance first.
	Chains []Chain
	// Dots are the indices of its blobs, each once.
	Dots []int

	rows []int // which chains
}

// Kinship says when rows belong together.
type kinship struct {
	gap      float64 // mm: how near two dots of one come to the other
	step     float64 // largest ratio of their steps
	response float64 // and of their responses
	angle    float64 // largest angle between them, in radians
}

// A true colony may join with what happens to lie beside it, and then its box
// is useless; or its rows may be taken for several. So each way of joining is
// tried, and the last word picks.
var kinships = []kinship{
	{},
	{gap: 0.36, step: 1.35, response: 1.7, angle: 0.5},
	{gap: 0.36, step: 1.7, response: 2.3, angle: math.Pi},
}

// Colonies returns the candidates: each row, and the groups of rows that each
// kinship makes, none twice.
func Colonies(blobs []Blob, chains []Chain) []Colony {
	seen := map[string]bool{}
	var out []Colony
	for _, k := range kinships {
		for _, c := range joinChains(blobs, chains, k) {
			key := fmt.Sprint(c.rows)
			if !seen[key] {
				seen[key] = true
				out = append(out, c)
			}
		}
	}
	return out
}

// joinChains groups rows by one kinship. Within a group it keeps their order.
func joinChains(blobs []Blob, chains []Chain, k kinship) []Colony {
	group := singles(len(chains))
	for i := range chains {
		for j := range i {
			if a, b := group.of(i), group.of(j); a != b && k.related(blobs, chains[i], chains[j]) {
				group.join(a, b)
			}
		}
	}
	var out []Colony
	for _, rows := range group.groups() {
		c := Colony{rows: rows}
		for _, i := range rows {
			c.Chains = append(c.Chains, chains[i])
			for _, d := range chains[i].Dots {
				if !slices.Contains(c.Dots, d) {
					c.Dots = append(c.Dots, d)
				}
			}
		}
		out = append(out, c)
	}
	return out
}

// related tells whether two rows are of one colony: two places of one lie near
// the other, and they are alike.
func (k kinship) related(blobs []Blob, a, b Chain) bool {
	if k.gap == 0 || a.Step > k.step*b.Step || b.Step > k.step*a.Step {
		return false
	}
	ra, rb := medianResponse(blobs, a.Dots), medianResponse(blobs, b.Dots)
	if ra > k.response*rb || rb > k.response*ra || angleBetween(blobs, a, b) > k.angle {
		return false
	}
	near := 0
	reach := k.gap * WorkingScale
	for _, i := range a.Dots {
		for _, j := range b.Dots {
			if math.Hypot(blobs[i].X-blobs[j].X, blobs[i].Y-blobs[j].Y) < reach {
				near++
				break
			}
		}
	}
	return near >= 2
}

// angleBetween is the angle between the lines through the ends of two rows, 0
// to pi/2.
func angleBetween(blobs []Blob, a, b Chain) float64 {
	dir := func(c Chain) float64 {
		p, q := blobs[c.Dots[0]], blobs[c.Dots[len(c.Dots)-1]]
		return math.Atan2(q.Y-p.Y, q.X-p.X)
	}
	d := math.Mod(math.Abs(dir(a)-dir(b)), math.Pi)
	return min(d, math.Pi-d)
}

func medianResponse(blobs []Blob, dots []int) float64 {
	return medianOf(blobs, dots, func(b Blob) float64 { return b.Response })
}

// medianOf is the median of one of the dots' measures.
func medianOf(blobs []Blob, dots []int, measure func(Blob) float64) float64 {
	v := make([]float64, len(dots))
	for i, d := range dots {
		v[i] = measure(blobs[d])
	}
	slices.Sort(v)
	return quantile(v, 0.5)
}
