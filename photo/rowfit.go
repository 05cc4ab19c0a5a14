package photo

import "math"

// Limits of growing a row along its curve, as shares of its step.
const (
	growError   = 0.32 // how far a further dot may lie from where it is expected
	growMissing = 0.24 // the same beyond a missing one
	growFaint   = 0.4  // of the row's median response
	growBright  = 2.5
	rowLimit    = 24 // dots
)

// curve is a row's course: x and y as parabolas of the dot's number.
type curve struct{ x, y [3]float64 }

func (c curve) at(k float64) (x, y float64) {
	return c.x[0] + k*(c.x[1]+k*c.x[2]), c.y[0] + k*(c.y[1]+k*c.y[2])
}

// fitRow numbers the dots of a row, lays a curve through them, and takes in
// further dots that lie where the curve expects them, at both ends and in
// gaps. It sets the row's numbers, step and fit.
func fitRow(blobs []Blob, g *grid, density []float64, c *Chain) {
	c.number(blobs)
	for len(c.Dots) < rowLimit {
		f := fitCurve(blobs, c)
		if !c.grow(blobs, g, f) {
			break
		}
	}
	f := fitCurve(blobs, c)
	c.measure(blobs, density, f)
}

// number gives each dot its number along the row, from 0, counting a missing
// one where a step is nearer to two than to one.
func (c *Chain) number(blobs []Blob) {
	c.numbers = make([]int, len(c.Dots))
	for i := 1; i < len(c.Dots); i++ {
		a, b := blobs[c.Dots[i-1]], blobs[c.Dots[i]]
		n := 1
		if math.Hypot(b.X-a.X, b.Y-a.Y) > 1.5*c.Step {
			n = 2
		}
		c.numbers[i] = c.numbers[i-1] + n
	}
}

// grow takes in the first further dot it finds and tells whether it found one.
func (c *Chain) grow(blobs []Blob, g *grid, f curve) bool {
	last := len(c.Dots) - 1
	typical := medianResponse(blobs, c.Dots)
	for _, try := range []struct {
		number int
		reach  float64
		front  bool
	}{
		{c.numbers[last] + 1, growError, false}, {-1, growError, true},
		{c.numbers[last] + 2, growMissing, false}, {-2, growMissing, true},
	} {
		x, y := f.at(float64(try.number))
		d, ok := c.nearest(blobs, g, x, y, try.reach*c.Step, typical)
		if !ok {
			continue
		}
		if !try.front {
			c.Dots, c.numbers = append(c.Dots, d), append(c.numbers, try.number)
			return true
		}
		c.Dots = append([]int{d}, c.Dots...)
		c.numbers = append([]int{try.number}, c.numbers...)
		for i := range c.numbers {
			c.numbers[i] -= try.number
		}
		return true
	}
	for i := 1; i < len(c.Dots); i++ {
		if c.numbers[i]-c.numbers[i-1] != 2 {
			continue
		}
		x, y := f.at(float64(c.numbers[i] - 1))
		if d, ok := c.nearest(blobs, g, x, y, growError*c.Step, typical); ok {
			c.Dots = append(c.Dots[:i], append([]int{d}, c.Dots[i:]...)...)
			c.numbers = append(c.numbers[:i], append([]int{c.numbers[i] - 1}, c.numbers[i:]...)...)
			return true
		}
	}
	return false
}

// nearest returns the blob nearest to a place that is not in the row and is as
// strong as its dots.
func (c *Chain) nearest(blobs []Blob, g *grid, x, y, reach, typical float64) (int, bool) {
	best, bestD := -1, math.Inf(1)
	g.near(x, y, reach, func(i int32, d2 float64) {
		r := blobs[i].Response / typical
		if d2 >= bestD || r < growFaint || r > growBright {
			return
		}
		for _, d := range c.Dots {
			if d == int(i) {
				return
			}
		}
		best, bestD = int(i), d2
	})
	return best, best >= 0
}

// fitCurve lays parabolas through the dots by least squares; straight lines
// through four or fewer.
func fitCurve(blobs []Blob, c *Chain) curve {
	degree := 2
	if len(c.Dots) <= 4 {
		degree = 1
	}
	var f curve
	ks := make([]float64, len(c.Dots))
	xs, ys := make([]float64, len(c.Dots)), make([]float64, len(c.Dots))
	for i, d := range c.Dots {
		ks[i], xs[i], ys[i] = float64(c.numbers[i]), blobs[d].X, blobs[d].Y
	}
	f.x, f.y = fitPoly(ks, xs, degree), fitPoly(ks, ys, degree)
	return f
}

// fitPoly returns the least-squares polynomial of degree 1 or 2, constant
// term first, by the normal equations about the middle of k.
func fitPoly(k, v []float64, degree int) (c [3]float64) {
	m := mean(k)
	var s [5]float64 // sums of powers of k
	var t [3]float64 // and of v times them
	for i := range k {
		p := 1.0
		for j := range s {
			s[j] += p
			if j < 3 {
				t[j] += p * v[i]
			}
			p *= k[i] - m
		}
	}
	if degree == 1 || s[4]*s[0]*s[2] == 0 {
		if s[2] == 0 {
			return [3]float64{mean(v)}
		}
		slope := t[1] / s[2] // s[1] is zero about the mean
		return [3]float64{t[0]/s[0] - slope*m, slope}
	}
	// Solve [s0 0 s2; 0 s2 s3; s2 s3 s4] a = t by Cramer's rule.
	det := s[0]*(s[2]*s[4]-s[3]*s[3]) - s[2]*s[2]*s[2]
	if math.Abs(det) < 1e-12 {
		return fitPoly(k, v, 1)
	}
	a0 := (t[0]*(s[2]*s[4]-s[3]*s[3]) + s[2]*(t[1]*s[3]-s[2]*t[2])) / det
	a1 := (s[0]*(t[1]*s[4]-s[3]*t[2]) - s[2]*(s[2]*t[1]-s[3]*t[0])) / det
	a2 := (s[0]*(s[2]*t[2]-s[3]*t[1]) - s[2]*s[2]*t[0]) / det
	return [3]float64{a0 - a1*m + a2*m*m, a1 - 2*a2*m, a2}
}

// measure sets how well the curve holds the dots.
func (c *Chain) measure(blobs []Blob, density []float64, f curve) {
	n := len(c.Dots)
	a, b := blobs[c.Dots[0]], blobs[c.Dots[n-1]]
	if span := c.numbers[n-1]; span > 0 {
		long := 0.0
		px, py := a.X, a.Y
		for i := 1; i < n; i++ {
			o := blobs[c.Dots[i]]
			long += math.Hypot(o.X-px, o.Y-py)
			px, py = o.X, o.Y
		}
		c.Step = long / float64(span)
		c.Straight = math.Hypot(b.X-a.X, b.Y-a.Y) / long
	}
	free := 3.0 // numbers that the curve took from each coordinate
	if n <= 4 {
		free = 2
	}
	sum, l := 0.0, 0.0
	for i, d := range c.Dots {
		x, y := f.at(float64(c.numbers[i]))
		ex, ey := blobs[d].X-x, blobs[d].Y-y
		sum += ex*ex + ey*ey
		// What is left of an error after the fit took its share.
		e := math.Sqrt((ex*ex + ey*ey) * float64(n) / (float64(n) - free))
		l -= math.Log(chanceWithin(density[d], max(e, errorFloor*c.Step)))
	}
	c.Error = math.Sqrt(sum/(2*(float64(n)-free))) / c.Step
	degrees := max(1, n-int(free))
	c.LogTail = LogTail(degrees, l*float64(degrees)/float64(n)) / math.Ln10
}
