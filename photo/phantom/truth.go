package phantom

import (
	"math"
	"slices"
)

// Truth is what is really in a photograph.
type Truth struct {
	// PxPerMM is the scale in stored pixels a millimetre.
	PxPerMM float64
	// Eyes are the middles of the eyes that lie in the frame, in pixels.
	Eyes [][2]float64
	// Finds are the colonies, worms and tufts of which at least half lies in the
	// frame.
	Finds []Find
	// BodyBlurMM is the median blur over the animal: the standard deviation of a
	// Gaussian, in mm. 0.03 and below counts as sharp.
	BodyBlurMM float64
	// Strain names how the shell looks.
	Strain string
	// BodyShare is the share of the picture that the animal covers.
	BodyShare float64
}

// Find is one thing to find.
type Find struct {
	Kind Kind
	// X, Y, W, H is the box round all its parts, in pixels, inside the frame.
	X, Y, W, H float64
	// Dots are the eggs' middles, or points along a worm.
	Dots []Dot
	// Contrast is the median over the parts of what they add to min(R, G, B),
	// linear, with white as 1 and cut there, behind whatever lies before them,
	// glints included, before blur.
	Contrast float64
	// BlurMM is the median blur over the parts, as a standard deviation.
	BlurMM float64
	// DiameterMM is of an egg or a worm, GapMM from egg to egg.
	DiameterMM, GapMM float64
	// Rows of a colony.
	Rows int

	z       []float64
	lo, hi  [2]float64
	started bool
}

// Dot is a part of a find, in pixels.
type Dot struct {
	X, Y     float64
	contrast float64
	at       int
}

// Resolvable tells whether a person with good eyes could make the find out:
//
//	eggs: contrast above 0.04 and blur below 0.45 of an egg's diameter
//	worms and tufts: contrast above 0.02 and blur below 0.06 mm
func (f Find) Resolvable() bool {
	if f.Kind == Eggs {
		return f.Contrast > 0.04 && f.BlurMM < 0.45*f.DiameterMM
	}
	return f.Contrast > 0.02 && f.BlurMM < 0.06
}

// grow widens the box to hold a disc.
func (f *Find) grow(x, y, r float64) {
	if !f.started {
		f.lo, f.hi, f.started = [2]float64{x - r, y - r}, [2]float64{x + r, y + r}, true
		return
	}
	f.lo = [2]float64{min(f.lo[0], x-r), min(f.lo[1], y-r)}
	f.hi = [2]float64{max(f.hi[0], x+r), max(f.hi[1], y+r)}
}

// track begins to note how much of each pixel's present content later paint
// leaves visible.
func (d *drawing) track() {
	d.visible = make([]float32, d.w*d.h)
	for i := range d.visible {
		d.visible[i] = 1
	}
}

// settle turns each part's contrast into the find's, now that everything is
// painted: what the picture holds at the part with and without it.
func (d *drawing) settle(finds []Find, exposure float64) {
	for k := range finds {
		f := &finds[k]
		var c []float64
		for _, p := range f.Dots {
			added := p.contrast
			if f.Kind == Eggs {
				added *= float64(d.visible[p.at])
			}
			with := d.whiteness(p.at)
			c = append(c, min(1, exposure*with)-min(1, exposure*(with-added)))
		}
		f.Contrast = median(c)
	}
}

// median returns the middle value, 0 of nothing. It sorts its argument.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	return v[len(v)/2]
}

// finish sets the box inside the frame and the blur, and tells whether enough
// of the find is to be seen.
func (f *Find) finish(w, h int, blur func(z float64) float64, parts int) bool {
	if !f.started || len(f.Dots)*2 < parts || len(f.Dots) < 4 {
		return false
	}
	var b []float64
	for _, z := range f.z {
		b = append(b, blur(z))
	}
	f.BlurMM = median(b)
	x0, y0 := max(0, f.lo[0]), max(0, f.lo[1])
	x1, y1 := min(float64(w), f.hi[0]), min(float64(h), f.hi[1])
	f.X, f.Y, f.W, f.H = x0, y0, x1-x0, y1-y0
	return f.W > 0 && f.H > 0 && !math.IsNaN(f.Contrast)
}
