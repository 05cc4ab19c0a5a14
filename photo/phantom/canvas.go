package phantom

import "math"

// rgba is a linear colour with its opacity, not premultiplied.
type rgba struct{ r, g, b, a float64 }

func (c rgba) lit(f float64) rgba  { return rgba{c.r * f, c.g * f, c.b * f, c.a} }
func (c rgba) with(a float64) rgba { return rgba{c.r, c.g, c.b, a} }
func opaque(c [3]float64) rgba     { return rgba{c[0], c[1], c[2], 1} }
func mix(c, d rgba, t float64) rgba {
	return rgba{lerp(c.r, d.r, t), lerp(c.g, d.g, t), lerp(c.b, d.b, t), lerp(c.a, d.a, t)}
}

// layer is what lies in front of the background: premultiplied linear colour,
// opacity, and the height z towards the camera in mm.
type layer struct {
	w, h          int
	r, g, b, a, z []float32
	// visible, if not nil, is how much of what was painted when it was set is
	// still to be seen.
	visible []float32
}

func newLayer(w, h int) *layer {
	n := w * h
	return &layer{
		w: w, h: h, r: make([]float32, n), g: make([]float32, n), b: make([]float32, n),
		a: make([]float32, n), z: make([]float32, n),
	}
}

// over lays c on pixel i. What is nearly opaque also sets the height.
func (l *layer) over(i int, c rgba, z float64) {
	a := float32(max(0, min(1, c.a)))
	k := 1 - a
	l.r[i] = float32(c.r)*a + l.r[i]*k
	l.g[i] = float32(c.g)*a + l.g[i]*k
	l.b[i] = float32(c.b)*a + l.b[i]*k
	if l.a[i] == 0 || a > 0.5 {
		l.z[i] = float32(z)
	}
	l.a[i] = a + l.a[i]*k
	if l.visible != nil {
		l.visible[i] *= k
	}
}

// add brightens pixel i without covering it: a glint.
func (l *layer) add(i int, v float32) {
	l.r[i] += v
	l.g[i] += v
	l.b[i] += v
}

// shader returns the colour at a place of a shape, from coordinates in which
// the shape's edge is at 1.
type shader func(u, v float64) rgba

// ellipse draws an ellipse with half-axes ra and rb pixels, turned by angle.
// soft is the width of its edge in pixels. The shader gets the place in units
// of the half-axes.
func (l *layer) ellipse(cx, cy, ra, rb, angle, soft, z float64, s shader) {
	reach := math.Max(ra, rb) + soft + 1
	sin, cos := math.Sincos(angle)
	for y := max(0, int(cy-reach)); y <= min(l.h-1, int(cy+reach)+1); y++ {
		for x := max(0, int(cx-reach)); x <= min(l.w-1, int(cx+reach)+1); x++ {
			dx, dy := float64(x)-cx, float64(y)-cy
			u, v := (dx*cos+dy*sin)/ra, (dy*cos-dx*sin)/rb
			d := math.Hypot(u, v)
			edge := (d - 1) * math.Min(ra, rb) // about the distance in pixels
			cover := 1 - step(-soft/2-0.5, soft/2+0.5, edge)
			if cover <= 0 {
				continue
			}
			c := s(u, v)
			c.a *= cover
			l.over(y*l.w+x, c, z)
		}
	}
}

// bead is a point of a stroke with its radius in pixels and its height.
type bead struct{ x, y, r, z float64 }

// stroke draws a tube through the beads. The shader gets how far along (0 to
// 1) and how far across (-1 to 1) the place is.
func (l *layer) stroke(beads []bead, s shader) {
	for i := 0; i+1 < len(beads); i++ {
		l.segment(beads[i], beads[i+1], float64(i)/float64(len(beads)-1), 1/float64(len(beads)-1), s)
	}
}

func (l *layer) segment(p, q bead, from, span float64, s shader) {
	reach := math.Max(p.r, q.r) + 1.5
	dx, dy := q.x-p.x, q.y-p.y
	length2 := dx*dx + dy*dy
	if length2 == 0 {
		return
	}
	length := math.Sqrt(length2)
	for y := max(0, int(math.Min(p.y, q.y)-reach)); y <= min(l.h-1, int(math.Max(p.y, q.y)+reach)+1); y++ {
		for x := max(0, int(math.Min(p.x, q.x)-reach)); x <= min(l.w-1, int(math.Max(p.x, q.x)+reach)+1); x++ {
			ex, ey := float64(x)-p.x, float64(y)-p.y
			k := (ex*dx + ey*dy) / length2
			// Each pixel belongs to one segment: the next begins where this ends.
			if k < 0 || k >= 1 {
				continue
			}
			r := lerp(p.r, q.r, k)
			across := (ex*dy - ey*dx) / length
			cover := 1 - step(r-0.6, r+0.6, math.Abs(across))
			if cover <= 0 {
				continue
			}
			c := s(from+k*span, max(-1, min(1, across/max(r, 0.3))))
			if r < 0.5 { // thinner than a pixel: fainter instead
				cover *= r / 0.5
			}
			c.a *= cover
			l.over(y*l.w+x, c, lerp(p.z, q.z, k))
		}
	}
}
