package photo

import (
	"math"
	"slices"
)

// rowFeatures name what measureRows returns, the inputs of the last word on a
// candidate colony.
var rowFeatures = []string{
	"log nfa", "log nfa sum", "chains", "log dots", "longest",
	"log response", "response spread", "relative", "least relative",
	"fit error", "fit tail", "fit tail sum", "straight",
	"step spread", "bend", "step mm", "sigma mm", "sigma spread",
	"round", "gap contrast", "side contrast", "likeness", "glints", "purity", "lane", "log density",
	"step off", "relative squared",
	"white", "saturation", "saturation change", "colour spread",
	"ground", "ground texture", "sharp", "fill",
	"eye far", "eye near", "no eye",
}

// rowContext is what the features are measured from: planes at WorkingScale.
type rowContext struct {
	white   *Plane // min(R, G, B)
	bright  *Plane // max(R, G, B)
	soft    *Plane // white, smoothed at the middle scale
	rms     localMean
	fine    localMean // of the finest detail, noise included
	blobs   []Blob
	density []float64
	grid    *grid
	eyes    []Point // likely eyes, best first
	eyeSure float64
}

// measureRows returns the features of a candidate.
func (c *rowContext) measureRows(col Colony) []float64 {
	best := col.Chains[0]
	sum, longest := 0.0, 0
	tail, tails := 0.0, 0.0
	for _, ch := range col.Chains {
		tail = min(tail, ch.LogTail)
		tails += ch.LogTail
		sum += min(0, max(-25, ch.LogNFA))
		longest = max(longest, len(ch.Dots))
	}
	var response, relative, sigma, round, white, sat, change, dens []float64
	var sx, sy, glints float64
	for _, d := range col.Dots {
		b := c.blobs[d]
		response = append(response, b.Response)
		relative = append(relative, b.Relative)
		sigma = append(sigma, b.Sigma)
		round = append(round, b.Round)
		dens = append(dens, c.density[d])
		w, m := float64(c.soft.Sample(b.X, b.Y)), float64(c.bright.Sample(b.X, b.Y))
		white = append(white, w)
		if w > 0.93 {
			glints++
		}
		s := saturationOf(float64(c.white.Sample(b.X, b.Y)), m)
		sat = append(sat, s)
		change = append(change, s-c.ringSaturation(b))
		sx, sy = sx+b.X, sy+b.Y
	}
	n := float64(len(col.Dots))
	sx, sy = sx/n, sy/n
	stepSpread, bend, gap, side := c.measureChains(col.Chains)
	relative2 := math.Log(mean(relative)) - 0.45
	ground, texture, purity, fill := c.measureGround(col)
	far, near, none := c.eyeDistance(sx, sy)
	slices.Sort(relative)
	return []float64{
		max(-25, best.LogNFA), max(-60, sum), float64(min(8, len(col.Chains))), math.Log(n), float64(longest),
		math.Log(mean(response)), spread(response), math.Log(mean(relative)), quantile(relative, 0.1),
		best.Error, max(-25, tail), max(-60, tails), best.Straight,
		stepSpread, bend, best.Step / WorkingScale, mean(sigma) / WorkingScale, spread(sigma),
		mean(round), gap, side, c.likeness(col), glints / n, purity, c.lane(col), math.Log(mean(dens) * WorkingScale * WorkingScale),
		math.Abs(best.Step/WorkingScale - 0.2), relative2 * relative2,
		mean(white), mean(sat), mean(change), deviation(sat),
		ground, texture, math.Log(c.fine.at(int(sx), int(sy)) + 1e-4), fill,
		far, near, none,
	}
}

// saturationOf is 1 - min/max of the primaries.
func saturationOf(lo, hi float64) float64 {
	if hi <= 0.02 {
		return 0
	}
	return 1 - lo/hi
}

// ringSaturation is the saturation about a blob, at twice its radius.
func (c *rowContext) ringSaturation(b Blob) float64 {
	r := 2 * math.Sqrt2 * b.Sigma
	sum := 0.0
	for k := range 8 {
		sin, cos := math.Sincos(float64(k) * math.Pi / 4)
		x, y := b.X+r*cos, b.Y+r*sin
		sum += saturationOf(float64(c.white.Sample(x, y)), float64(c.bright.Sample(x, y)))
	}
	return sum / 8
}

// measureChains returns how uneven the steps are, how far dots lie from the
// middle of their neighbours, both as shares of the step, how much darker it is
// half-way between dots than on them, and how much darker beside the row than
// half-way between dots, both as shares of the dots' response. Beside a feeler
// of light and dark rings it is darker, beside a row of eggs it is not.
func (c *rowContext) measureChains(chains []Chain) (stepSpread, bend, gap, side float64) {
	var steps, bends, gaps, sides []float64
	for _, ch := range chains {
		for i := range ch.Dots {
			if i == 0 {
				continue
			}
			a, b := c.blobs[ch.Dots[i-1]], c.blobs[ch.Dots[i]]
			d := math.Hypot(b.X-a.X, b.Y-a.Y)
			if d < 1.5*ch.Step {
				steps = append(steps, d/ch.Step)
				middle := float64(c.soft.Sample((a.X+b.X)/2, (a.Y+b.Y)/2))
				ends := (float64(c.soft.Sample(a.X, a.Y)) + float64(c.soft.Sample(b.X, b.Y))) / 2
				gaps = append(gaps, (ends-middle)/(a.Response+b.Response))
				ox, oy := (b.Y-a.Y)*0.8, (a.X-b.X)*0.8
				beside := (float64(c.soft.Sample((a.X+b.X)/2+ox, (a.Y+b.Y)/2+oy)) + float64(c.soft.Sample((a.X+b.X)/2-ox, (a.Y+b.Y)/2-oy))) / 2
				sides = append(sides, (middle-beside)/(a.Response+b.Response))
			}
			if i+1 < len(ch.Dots) {
				o := c.blobs[ch.Dots[i+1]]
				// Only what lies across the row: along it, a missing dot moves the middle.
				dx, dy := o.X-a.X, o.Y-a.Y
				l := math.Hypot(dx, dy)
				if l > 0 {
					bends = append(bends, math.Abs((b.X-a.X)*dy-(b.Y-a.Y)*dx)/l/ch.Step)
				}
			}
		}
	}
	slices.Sort(gaps)
	slices.Sort(sides)
	return deviation(steps), mean(bends), quantile(gaps, 0.3), quantile(sides, 0.5)
}

// likeness is how alike the dots look: the mean correlation between the small
// pictures of any two of them.
func (c *rowContext) likeness(col Colony) float64 {
	const reach = 5
	const side = 2*reach + 1
	var sum [side * side]float64
	for _, d := range col.Dots {
		b := c.blobs[d]
		var p [side * side]float64
		m := 0.0
		for i := range p {
			p[i] = float64(c.soft.Sample(b.X+float64(i%side-reach), b.Y+float64(i/side-reach)))
			m += p[i] / float64(len(p))
		}
		norm := 0.0
		for i := range p {
			p[i] -= m
			norm += p[i] * p[i]
		}
		if norm > 0 {
			for i := range p {
				sum[i] += p[i] / math.Sqrt(norm)
			}
		}
	}
	total := 0.0
	for _, v := range sum {
		total += v * v
	}
	n := float64(len(col.Dots))
	return (total - n) / (n * (n - 1))
}

// lane is the share of the comparable blobs within a step of a candidate's
// rows that are its own.
func (c *rowContext) lane(col Colony) float64 {
	typical := medianResponse(c.blobs, col.Dots)
	reach := 1.1 * col.Chains[0].Step
	near := map[int32]bool{}
	for _, d := range col.Dots {
		c.grid.near(c.blobs[d].X, c.blobs[d].Y, reach, func(i int32, _ float64) {
			if c.blobs[i].Response > comparableShare*typical {
				near[i] = true
			}
		})
	}
	return float64(len(col.Dots)) / float64(max(len(col.Dots), len(near)))
}

// measureGround looks at the box of a candidate: its mean whiteness and how
// textured it is beside the dots, which share of the comparable blobs in it
// are the candidate's, and how many dots there are for its area in steps.
func (c *rowContext) measureGround(col Colony) (ground, texture, purity, fill float64) {
	x0, y0, x1, y1 := c.box(col, 0.15*WorkingScale)
	n, own := 0, len(col.Dots)
	typical := medianResponse(c.blobs, col.Dots)
	for _, b := range c.blobs {
		if b.X >= x0 && b.X <= x1 && b.Y >= y0 && b.Y <= y1 && b.Response > comparableShare*typical {
			n++
		}
	}
	purity = float64(own) / float64(max(own, n))
	area := (x1 - x0) * (y1 - y0) / (col.Chains[0].Step * col.Chains[0].Step)
	var v []float64
	for k := range 64 {
		x := x0 + (float64(k%8)+0.5)/8*(x1-x0)
		y := y0 + (float64(k/8)+0.5)/8*(y1-y0)
		v = append(v, float64(c.soft.Sample(x, y)))
	}
	slices.Sort(v)
	cx, cy := (x0+x1)/2, (y0+y1)/2
	return quantile(v, 0.3), math.Log(c.rms.at(int(cx), int(cy)) + 1e-4), purity, math.Log(float64(own) / max(1, area))
}

// box is the box about a candidate's dots, widened by pad.
func (c *rowContext) box(col Colony, pad float64) (x0, y0, x1, y1 float64) {
	x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for _, d := range col.Dots {
		b := c.blobs[d]
		x0, y0, x1, y1 = min(x0, b.X-pad), min(y0, b.Y-pad), max(x1, b.X+pad), max(y1, b.Y+pad)
	}
	return x0, y0, x1, y1
}

// eyeDistance returns how far a place lies beyond 6.5 mm and within 1.3 mm of
// the most likely eye: the gill chamber lies between.
func (c *rowContext) eyeDistance(x, y float64) (far, near, none float64) {
	if len(c.eyes) == 0 {
		return 0, 0, 1
	}
	d := nearestEye(c.eyes, x, y)
	return min(6, max(0, d-6)) * c.eyeSure, max(0, 1.5-d) * c.eyeSure, 1 - c.eyeSure
}

func mean(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := 0.0
	for _, x := range v {
		s += x
	}
	return s / float64(len(v))
}

// deviation is the standard deviation of v about its mean.
func deviation(v []float64) float64 {
	m, s := mean(v), 0.0
	for _, x := range v {
		s += (x - m) * (x - m)
	}
	if len(v) == 0 {
		return 0
	}
	return math.Sqrt(s / float64(len(v)))
}

// spread is the deviation as a share of the mean.
func spread(v []float64) float64 {
	m := mean(v)
	if m == 0 {
		return 0
	}
	return deviation(v) / m
}
