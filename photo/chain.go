package photo

import (
	"cmp"
	"container/heap"
	"math"
	"slices"
)

// Chain is a row of blobs at regular distances.
type Chain struct {
	// Dots are indices of the blobs, from one end to the other.
	Dots []int
	// LogNFA is the common logarithm of the number of rows at least as regular
	// that blobs thrown at random would be expected to form in the photograph.
	LogNFA float64
	// Step is the mean distance from dot to dot in working pixels, a missing dot
	// counted.
	Step float64
	// Error is how far the dots lie from a smooth curve at even steps: the root
	// mean square in each coordinate as a share of Step, with the freedom of the
	// fit taken into account.
	Error float64
	// LogTail is the common logarithm of the chance that blobs thrown at random
	// lie as near to such a curve, the number of tries not counted.
	LogTail float64
	// Straight is the distance between the ends over the length of the row.
	Straight float64

	numbers []int // of the dots along the row, from 0
}

// Limits of a row, in mm where they are lengths.
const (
	stepMin         = 0.10
	stepMax         = 0.36
	amplitudeGap    = 2.8  // largest ratio of the responses of neighbours
	bendMax         = 0.45 // of the step: how far a dot may lie from where it is expected
	errorFloor      = 0.05 // of the step: nobody can say where a dot is more exactly
	missingCost     = 1.6  // the error counts so much more where a dot is missing
	densityRadius   = 1.3  // mm: where the density of comparable blobs is counted
	comparableShare = 0.45 // of a blob's response: weaker ones do not count as chances
	longestRow      = 16
	chainsKept      = 60
	chainsFar       = 20  // of them beyond eyeReach of any likely eye
	logNFAMax       = 6.0 // rows more likely by chance than this are not looked at
)

// edge is a step from one blob to another; missing is 2 when a dot between
// them is missing, else 1. dx and dy are the step for one dot.
type edge struct {
	from, to int32
	dx, dy   float32
	step     float32
	missing  uint8
}

// FindChains returns the regular rows among blobs, least likely by chance
// first. Where eyes are given, fewer are kept away from them.
//
// From each pair of neighbours the next blob is expected one step on. A blob at
// a distance e from there has, among blobs thrown at random with the density
// lambda of comparable ones about it, the chance
//
//	p = 1 - exp(-lambda pi max(e, 0.05 step)^2)
//
// of coming as near; L is the sum of -ln p over a row of n such steps, and
//
//	log10 NFA = log10(tests) + log10 Q(n, L)
//
// with Q the upper incomplete gamma function and tests the number of first
// pairs times the lengths tried. For every n the rows of largest L are found
// exactly, by dynamic programming over the steps. Source: desolneux2008.
func FindChains(blobs []Blob, eyes []Point) []Chain {
	g := newGrid(blobs)
	return g.chains(g.densities(), eyes)
}

func (g *grid) chains(density []float64, eyes []Point) []Chain {
	edges, byFrom := g.edges()
	if len(edges) == 0 {
		return nil
	}
	chains := pickChains(g.blobs, edges, growRows(g.blobs, edges, byFrom, density), eyes)
	for i := range chains {
		fitRow(g.blobs, g, density, &chains[i])
	}
	return chains
}

// grid finds blobs near a place.
type grid struct {
	blobs []Blob
	side  float64
	w     int
	cells [][]int32 // row by row
}

func newGrid(blobs []Blob) *grid {
	g := &grid{blobs: blobs, side: 0.4 * WorkingScale}
	h := 0
	for _, b := range blobs {
		g.w, h = max(g.w, int(b.X/g.side)+3), max(h, int(b.Y/g.side)+3)
	}
	g.cells = make([][]int32, g.w*h)
	for i, b := range blobs {
		k := g.cell(b.X, b.Y)
		g.cells[k] = append(g.cells[k], int32(i))
	}
	return g
}

func (g *grid) cell(x, y float64) int { return (int(y/g.side)+1)*g.w + int(x/g.side) + 1 }

// near calls f with each blob within r of a place.
func (g *grid) near(x, y, r float64, f func(i int32, d2 float64)) {
	reach := int(math.Ceil(r / g.side))
	centre := g.cell(x, y)
	for dy := -reach; dy <= reach; dy++ {
		for dx := -reach; dx <= reach; dx++ {
			k := centre + dy*g.w + dx
			if k < 0 || k >= len(g.cells) {
				continue
			}
			for _, i := range g.cells[k] {
				b := &g.blobs[i]
				if d2 := (b.X-x)*(b.X-x) + (b.Y-y)*(b.Y-y); d2 <= r*r {
					f(i, d2)
				}
			}
		}
	}
}

// densities returns for each blob how many comparable ones lie about it, per
// square pixel; two at least are taken to, so that a lonely row is not a
// certainty.
func (g *grid) densities() []float64 {
	r := densityRadius * WorkingScale
	out := make([]float64, len(g.blobs))
	for i, b := range g.blobs {
		n := -1 // not itself
		g.near(b.X, b.Y, r, func(j int32, _ float64) {
			if g.blobs[j].Response > comparableShare*b.Response {
				n++
			}
		})
		out[i] = float64(max(2, n)) / (math.Pi * r * r)
	}
	return out
}

// edges lists all steps, grouped by the blob they start from.
func (g *grid) edges() (edges []edge, byFrom [][2]int32) {
	lo, hi := stepMin*WorkingScale, stepMax*WorkingScale
	byFrom = make([][2]int32, len(g.blobs))
	for i, b := range g.blobs {
		first := int32(len(edges))
		g.near(b.X, b.Y, 2*hi, func(j int32, d2 float64) {
			o := &g.blobs[j]
			d := math.Sqrt(d2)
			if d < lo || o.Response > amplitudeGap*b.Response || b.Response > amplitudeGap*o.Response {
				return
			}
			dx, dy := o.X-b.X, o.Y-b.Y
			if d <= hi {
				edges = append(edges, edge{int32(i), j, float32(dx), float32(dy), float32(d), 1})
			}
			if d >= 2*lo {
				edges = append(edges, edge{int32(i), j, float32(dx / 2), float32(dy / 2), float32(d / 2), 2})
			}
		})
		byFrom[i] = [2]int32{first, int32(len(edges))}
	}
	return edges, byFrom
}

// rows holds for each number of transitions and each last step the largest sum
// of -ln p and the step before.
type rows struct {
	best [][]float32
	prev [][]int32
}

// growRows runs the dynamic programme.
func growRows(blobs []Blob, edges []edge, byFrom [][2]int32, density []float64) rows {
	type link struct {
		a, b int32
		gain float32
	}
	var links []link
	for a := range edges {
		ea := &edges[a]
		span := byFrom[ea.to]
		for b := span[0]; b < span[1]; b++ {
			eb := &edges[b]
			if eb.to == ea.from || ea.missing == 2 && eb.missing == 2 {
				continue
			}
			mean := (ea.step + eb.step) / 2
			ex, ey := eb.dx-ea.dx, eb.dy-ea.dy
			e := float32(math.Sqrt(float64(ex*ex + ey*ey)))
			if eb.missing == 2 || ea.missing == 2 {
				e *= missingCost
			}
			if e > bendMax*mean {
				continue
			}
			p := chanceWithin(density[ea.to], float64(max(e, errorFloor*mean)))
			links = append(links, link{int32(a), b, float32(-math.Log(p))})
		}
	}
	r := rows{best: [][]float32{make([]float32, len(edges))}, prev: [][]int32{nil}}
	for n := 1; n <= longestRow-2; n++ {
		best, prev := make([]float32, len(edges)), make([]int32, len(edges))
		for i := range best {
			best[i], prev[i] = -1, -1
		}
		last := r.best[n-1]
		grown := false
		for _, l := range links {
			if last[l.a] < 0 {
				continue
			}
			if v := last[l.a] + l.gain; v > best[l.b] {
				best[l.b], prev[l.b] = v, l.a
				grown = true
			}
		}
		if !grown {
			break
		}
		r.best, r.prev = append(r.best, best), append(r.prev, prev)
	}
	return r
}

// end is where a row of n+2 dots may end.
type end struct {
	edge   int32
	n      int
	logNFA float64
}

// ends is a heap of them, the least likely by chance on top. Busy pictures have a
// hundred thousand, of which the first thousand are looked at.
type ends []end

func (h ends) Len() int      { return len(h) }
func (h ends) Swap(i, j int) { h[i], h[j] = h[j], h[i] }
func (h ends) Less(i, j int) bool {
	a, b := h[i], h[j]
	return cmp.Or(cmp.Compare(a.logNFA, b.logNFA), cmp.Compare(a.n, b.n), cmp.Compare(a.edge, b.edge)) < 0
}
func (h *ends) Push(v any) { *h = append(*h, v.(end)) }
func (h *ends) Pop() any {
	last := (*h)[len(*h)-1]
	*h = (*h)[:len(*h)-1]
	return last
}

// pickChains reads out the rows least likely by chance, passing over those of
// which half is already in one picked before.
func pickChains(blobs []Blob, edges []edge, r rows, eyes []Point) []Chain {
	firsts := 0
	for _, e := range edges {
		if e.missing == 1 {
			firsts++
		}
	}
	logTests := math.Log10(float64(max(1, firsts))) + math.Log10(longestRow)
	var ends ends
	for n := 2; n < len(r.best); n++ {
		// Below this sum no row of n steps is unlikely enough.
		least := tailThreshold(n, (logNFAMax-logTests)*math.Ln10)
		for i, l := range r.best[n] {
			if l > 0 && float64(l) >= least {
				ends = append(ends, end{int32(i), n, logTests + LogTail(n, float64(l))/math.Ln10})
			}
		}
	}
	heap.Init(&ends)
	used := make([]bool, len(blobs))
	var chains []Chain
	far := 0
	for len(ends) > 0 && len(chains) < chainsKept {
		e := heap.Pop(&ends).(end)
		last := blobs[edges[e.edge].to]
		away := len(eyes) > 0 && !nearAny(eyes, last.X, last.Y, eyeReach)
		if away && far == chainsFar {
			continue
		}
		c := Chain{LogNFA: e.logNFA}
		var long float64
		at := e.edge
		c.Dots = append(c.Dots, int(edges[at].to))
		for n := e.n; n >= 0; n-- {
			c.Dots = append(c.Dots, int(edges[at].from))
			long += float64(edges[at].step)
			if n > 0 {
				at = r.prev[n][at]
			}
		}
		c.Step = long / float64(e.n+1)
		taken := 0
		repeated := false
		seen := map[int]bool{}
		for _, d := range c.Dots {
			if used[d] {
				taken++
			}
			repeated = repeated || seen[d]
			seen[d] = true
		}
		if repeated || 2*taken > len(c.Dots) {
			continue
		}
		for _, d := range c.Dots {
			used[d] = true
		}
		if away {
			far++
		}
		slices.Reverse(c.Dots)
		chains = append(chains, c)
	}
	return chains
}

// tailThreshold returns the l at which LogTail(n, l) falls to logP.
func tailThreshold(n int, logP float64) float64 {
	lo, hi := 0.0, 50.0
	for LogTail(n, hi) > logP && hi < 1e6 {
		hi *= 2
	}
	for range 60 {
		mid := (lo + hi) / 2
		if LogTail(n, mid) > logP {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}
