package phantom

import (
	"math"
	"math/rand/v2"
)

// Kind is what a find is.
type Kind string

// The kinds of finds, and of look-alikes that must not be marked.
const (
	Eggs Kind = "dots"
	Worm Kind = "filament"
	Tuft Kind = "tuft"
)

// egg is one pale oval on the body: t mm along, y mm across from the middle
// line, half-axes in mm, and how opaque it is.
type egg struct{ t, y, ra, rb, angle, opacity float64 }

// colony is a group of rows of eggs.
type colony struct {
	eggs        []egg
	colour      [3]float64
	rows        int
	gap, jitter float64
	diameter    float64
}

// newColony lays rows of eggs into the gill chamber. On an animal seen from
// above they lie towards one side.
func newColony(rng *rand.Rand, b *body, r Ranges) colony {
	c := colony{
		diameter: between(rng, r.eggDiameter.lo, r.eggDiameter.hi),
		jitter:   between(rng, r.eggJitter.lo, r.eggJitter.hi),
		colour:   [3]float64{between(rng, 0.62, 0.85), between(rng, 0.6, 0.8), between(rng, 0.5, 0.75)},
	}
	c.rows = 1 + int(float64(r.eggRows)*math.Pow(rng.Float64(), 1.3))
	c.gap = max(0.11, min(0.34, c.diameter*between(rng, r.eggGap.lo, r.eggGap.hi)))
	opacity := logBetween(rng, r.eggOpacity.lo, r.eggOpacity.hi)
	t0, y0 := b.chamber(rng)
	direction := between(rng, 0, math.Pi)
	if chance(rng, 0.6) { // along the gills: from belly to back
		direction = math.Pi/2 + between(rng, -0.5, 0.5)
	}
	bend := between(rng, -0.5, 0.5) // radians a mm
	apart := c.gap * between(rng, 0.85, 1.6)
	longest := whole(rng, 5, 15)
	aspect := between(rng, 1, 1.45)
	turn := direction + between(rng, -0.3, 0.3)
	for row := range c.rows {
		offset := (float64(row) - float64(c.rows-1)/2) * apart
		n := max(4, longest-whole(rng, 0, longest/2))
		start := -float64(n-1)/2 + between(rng, -0.7, 0.7)
		for k := range n {
			if chance(rng, between(rng, 0, 0.12)) {
				continue
			}
			s := (start + float64(k)) * c.gap
			s += rng.NormFloat64() * c.jitter * c.gap
			d := direction + bend*s/2
			off := offset + rng.NormFloat64()*c.jitter*0.7*c.gap
			size := c.diameter / 2 * (1 + 0.08*rng.NormFloat64())
			e := egg{
				t:  t0 + s*math.Cos(d) - off*math.Sin(d),
				y:  y0 + s*math.Sin(d) + off*math.Cos(d),
				ra: size * math.Sqrt(aspect), rb: size / math.Sqrt(aspect),
				angle:   turn + 0.2*rng.NormFloat64(),
				opacity: max(0.02, min(0.95, opacity*(1+0.2*rng.NormFloat64()))),
			}
			if b.inside(e.t, e.y) {
				c.eggs = append(c.eggs, e)
			}
		}
	}
	return c
}

// chamber draws a place in the gill chamber: mm along and across the body.
func (b *body) chamber(rng *rand.Rand) (t, y float64) {
	t = between(rng, 1.8, 6.0) * b.size
	half := b.profile(t)
	if b.dorsal {
		side := 1.0
		if chance(rng, 0.5) {
			side = -1
		}
		return t, side * half * between(rng, 0.45, 0.8)
	}
	return t, half * between(rng, -0.75, 0.3)
}

// inside tells whether a place lies on the shield, off its edges.
func (b *body) inside(t, y float64) bool {
	return t > 0.6*b.size && t < (carapace-0.1)*b.size && math.Abs(y) < 0.92*b.profile(t)
}

// scatter makes what a colony must not be taken for: spots of the same size and
// paleness, thrown at random in one patch.
func newScatter(rng *rand.Rand, b *body, r Ranges) colony {
	c := colony{
		diameter: between(rng, r.eggDiameter.lo*0.7, r.eggDiameter.hi*1.2),
		colour:   [3]float64{between(rng, 0.6, 0.85), between(rng, 0.55, 0.8), between(rng, 0.35, 0.75)},
	}
	opacity := logBetween(rng, r.eggOpacity.lo, r.eggOpacity.hi)
	t0, y0 := between(rng, 1, 14)*b.size, 0.0
	half := b.profile(t0)
	y0 = half * between(rng, -0.8, 0.8)
	sdT, sdY := between(rng, 0.3, 1.2), between(rng, 0.2, 0.8)
	for range whole(rng, 8, 40) {
		size := c.diameter / 2 * (1 + 0.25*rng.NormFloat64())
		e := egg{
			t: t0 + sdT*rng.NormFloat64(), y: y0 + sdY*rng.NormFloat64(),
			ra: max(0.02, size), rb: max(0.02, size*between(rng, 0.7, 1)), angle: between(rng, 0, math.Pi),
			opacity: max(0.02, min(0.95, opacity*(1+0.4*rng.NormFloat64()))),
		}
		if e.t > 0 && e.t < b.length && math.Abs(e.y) < 0.95*b.profile(e.t) {
			c.eggs = append(c.eggs, e)
		}
	}
	return c
}

// newMargin makes the spots that many shells carry along the lower edge of the
// shield or of the segments: in a line, further apart than eggs.
func newMargin(rng *rand.Rand, b *body) colony {
	c := colony{
		diameter: between(rng, 0.06, 0.2),
		colour:   [3]float64{between(rng, 0.6, 0.9), between(rng, 0.55, 0.85), between(rng, 0.4, 0.8)},
	}
	opacity := logBetween(rng, 0.1, 0.8)
	gap := between(rng, 0.38, 0.9)
	w := between(rng, 0.8, 0.95)
	if chance(rng, 0.7) {
		w = -w
	}
	t := between(rng, 0.5, 9) * b.size
	for range whole(rng, 5, 20) {
		t += gap * (1 + 0.25*rng.NormFloat64())
		if t > b.length {
			break
		}
		r := c.diameter / 2 * (1 + 0.2*rng.NormFloat64())
		c.eggs = append(c.eggs, egg{t: t, y: w * b.profile(t), ra: max(0.02, r), rb: max(0.02, r*0.8), opacity: opacity})
	}
	return c
}

// worm is a pale thread with two short feelers at its free end, fixed on or
// near the rostrum: a path in mm along and off the body.
type worm struct {
	path    [][2]float64 // scene mm
	feelers [2][][2]float64
	radius  float64
	taper   float64 // share of the radius that is lost towards the free end
	opacity float64
	z       float64
	colour  [3]float64
}

func newWorm(rng *rand.Rand, b *body) worm {
	w := worm{
		radius: between(rng, 0.025, 0.08), opacity: logBetween(rng, 0.12, 0.9),
		colour: [3]float64{between(rng, 0.6, 0.85), between(rng, 0.58, 0.82), between(rng, 0.5, 0.78)},
	}
	t := between(rng, -2.0, 0.9) * b.size
	v := between(rng, 0.1, 1.05)
	if b.dorsal {
		v = between(rng, -0.9, 0.9)
	}
	x, y, nx, ny := b.at(t, v)
	w.z = b.z(max(t, 0), min(v, 0.9)) + between(rng, 0, 0.3)
	angle := math.Atan2(ny, nx) + between(rng, -1.6, 1.6)
	length := between(rng, 0.5, 2.4)
	bend := between(rng, -1.5, 1.5)
	const pace = 0.05
	for s := 0.0; s < length; s += pace {
		w.path = append(w.path, [2]float64{x, y})
		angle += bend*pace + rng.NormFloat64()*0.1
		x += pace * math.Cos(angle)
		y += pace * math.Sin(angle)
	}
	for i, side := range []float64{-0.5, 0.5} {
		a, fx, fy := angle+side, x, y
		for range whole(rng, 3, 7) {
			w.feelers[i] = append(w.feelers[i], [2]float64{fx, fy})
			a += rng.NormFloat64() * 0.15
			fx += pace * math.Cos(a)
			fy += pace * math.Sin(a)
		}
	}
	return w
}

// tuft is fine fuzz standing off one place of the surface.
type tuft struct {
	x, y    float64
	hairs   [][2][2]float64
	opacity float64
	z       float64
}

func newTuft(rng *rand.Rand, b *body) tuft {
	t, v := between(rng, -1.5, 8)*b.size, 1.0
	if chance(rng, 0.5) {
		v = -1
	}
	x, y, nx, ny := b.at(t, v)
	f := tuft{x: x, y: y, opacity: logBetween(rng, 0.08, 0.5), z: between(rng, -0.3, 0.8)}
	up := math.Atan2(ny*v, nx*v)
	long := between(rng, 0.2, 0.7)
	for range whole(rng, 25, 90) {
		px, py := x+0.25*rng.NormFloat64(), y+0.25*rng.NormFloat64()
		a, l := up+0.6*rng.NormFloat64(), long*between(rng, 0.4, 1)
		f.hairs = append(f.hairs, [2][2]float64{{px, py}, {px + l*math.Cos(a), py + l*math.Sin(a)}})
	}
	return f
}
