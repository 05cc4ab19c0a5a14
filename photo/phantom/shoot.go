package phantom

import (
	"math"
	"math/rand/v2"

	"holdfast/photo"
)

// Shot is how a scene is photographed.
type Shot struct {
	// W and H are the size in pixels, PxPerMM the scale.
	W, H    int
	PxPerMM float64
	// FocusMM is the height of the plane of focus above the middle of the body,
	// towards the camera; BlurPerMM the blur (standard deviation) for each mm
	// away from it; BaseBlurPx the blur in focus, in pixels.
	FocusMM, BlurPerMM, BaseBlurPx float64
	// MotionPx is how far the picture moved while the shutter was open, and
	// MotionAngle the direction.
	MotionPx, MotionAngle float64
	// ShiftX and ShiftY move the frame, in pixels; Roll turns it, in radians;
	// Zoom enlarges it (1 as it is).
	ShiftX, ShiftY, Roll, Zoom float64
	// StepX and StepY are how far the animal has moved over the ground, in
	// pixels.
	StepX, StepY float64
	// Exposure brings the animal's bright parts (90th percentile) to this
	// linear level, with white as 1.
	Exposure float64
	// Noise is the standard deviation at white from shot noise, Smooth the blur
	// by which the camera hides it, Sharpen its unsharp mask.
	Noise, Smooth, Sharpen float64
	// Tint multiplies the colours, Fall darkens the corners.
	Tint [3]float64
	Fall float64
	// Quality of the JPEG.
	Quality int
	// Seed of the noise.
	Seed uint64
}

// NewShot draws how a scene is photographed, at w by h pixels.
func NewShot(seed uint64, r Ranges, s *Scene, w, h int) Shot {
	rng := rand.New(rand.NewPCG(seed, 0x5407))
	c := Shot{
		W: w, H: h, PxPerMM: logBetween(rng, r.pxPerMM.lo, r.pxPerMM.hi) * float64(w) / 1500,
		BlurPerMM: logBetween(rng, r.blurPerMM.lo, r.blurPerMM.hi), Zoom: 1,
		Exposure: between(rng, 0.2, 0.8), Noise: logBetween(rng, r.noise.lo, r.noise.hi),
		Smooth: between(rng, 0, 0.8), Quality: whole(rng, r.jpegQuality[0], r.jpegQuality[1]),
		Fall: between(rng, 0, 0.5), Seed: rng.Uint64(),
	}
	c.BaseBlurPx = between(rng, 0.5, 1.3) * max(1, c.PxPerMM/70)
	// Focus was meant for the eye or the gills and misses by chance.
	aim := s.body.z(between(rng, 0, 5)*s.body.size, between(rng, -0.5, 0.7))
	c.FocusMM = aim + r.focusMiss*rng.NormFloat64()
	if chance(rng, 0.15) { // missed altogether
		c.FocusMM += between(rng, 1, 4) * float64(1-2*whole(rng, 0, 1))
	}
	if chance(rng, 0.25) {
		c.MotionPx, c.MotionAngle = logBetween(rng, 1, 9), between(rng, 0, math.Pi)
	}
	if chance(rng, 0.6) {
		c.Sharpen = between(rng, 0.2, 1.2)
	}
	for i := range c.Tint {
		c.Tint[i] = math.Exp(0.06 * rng.NormFloat64())
	}
	return c
}

// WarpTo returns the truth for aligning: where a point of the ground in the
// photograph c lies in the photograph d of the same scene.
func (c Shot) WarpTo(d Shot) photo.Warp {
	a, b := c.PxPerMM*c.Zoom, d.PxPerMM*d.Zoom
	f, turn := b/a, d.Roll-c.Roll
	sin, cos := math.Sincos(turn)
	w := photo.Warp{f * cos, -f * sin, 0, f * sin, f * cos, 0}
	x, y := w.At(float64(c.W)/2+c.ShiftX, float64(c.H)/2+c.ShiftY)
	w[2], w[5] = float64(d.W)/2+d.ShiftX-x, float64(d.H)/2+d.ShiftY-y
	return w
}

// Photo is a photograph with its truth.
type Photo struct {
	*photo.Image
	Truth Truth
	// Quality is the JPEG quality that the camera was set to.
	Quality int
}

// JPEG returns the photograph as its camera would have stored it.
func (p *Photo) JPEG() []byte {
	b, err := p.Image.JPEG(p.Quality)
	if err != nil { // larger than the format allows
		panic(err)
	}
	return b
}

// Shoot photographs the scene.
func (s *Scene) Shoot(c Shot) *Photo {
	scale := c.PxPerMM * c.Zoom
	sin, cos := math.Sincos(c.Roll)
	ground := view{scale: scale, sin: sin, cos: cos, dx: float64(c.W)/2 + c.ShiftX, dy: float64(c.H)/2 + c.ShiftY}
	v := ground
	v.dx, v.dy = v.dx+c.StepX, v.dy+c.StepY
	back := s.groundPlanes(ground, c)
	front, finds, exposure := s.draw(v, c.W, c.H, c.Exposure, back)
	blurPx := func(z float64) float64 {
		return math.Hypot(c.BaseBlurPx, c.BlurPerMM*math.Abs(z-c.FocusMM)*scale)
	}
	// What the truth counts as blur holds the motion too, as the standard
	// deviation of an even smear.
	blurMM := func(z float64) float64 {
		return math.Hypot(blurPx(z), c.MotionPx/math.Sqrt(12)) / scale
	}
	truth := Truth{PxPerMM: scale, Strain: s.strain.name}
	for _, f := range finds {
		if f.finish(c.W, c.H, blurMM, s.parts(f)) {
			truth.Finds = append(truth.Finds, f)
		}
	}
	for _, e := range s.eyes {
		x, y, _, _ := s.body.at(e.t, e.w)
		px, py := v.px(x, y)
		if px >= 0 && py >= 0 && px < float64(c.W) && py < float64(c.H) {
			truth.Eyes = append(truth.Eyes, [2]float64{px, py})
		}
	}
	truth.BodyBlurMM, truth.BodyShare = front.bodyBlur(blurMM)
	rgb := front.defocus(blurPx)
	front.layOn(rgb, back)
	img := c.develop(rgb, exposure)
	return &Photo{Image: img, Truth: truth, Quality: c.Quality}
}

// parts is how many parts a find would have with all of it in the frame.
func (s *Scene) parts(f Find) int {
	n := 0
	switch f.Kind {
	case Eggs:
		for _, c := range s.colonies {
			if c.diameter == f.DiameterMM && c.gap == f.GapMM {
				n = len(c.eggs)
			}
		}
	case Worm:
		for _, w := range s.worms {
			if 2*w.radius == f.DiameterMM {
				n = (len(w.path) + len(w.feelers[0]) + len(w.feelers[1])) / 2
			}
		}
	}
	return n
}

// bright is the level of the brighter parts of what is in front.
func (l *layer) bright() float64 {
	var v []float64
	for i := 0; i < len(l.a); i += 97 {
		if l.a[i] > 0.9 {
			v = append(v, float64(max(l.r[i], l.g[i], l.b[i])))
		}
	}
	if len(v) == 0 {
		return 0.3
	}
	median(v) // sorts
	return v[len(v)*9/10]
}

func (l *layer) bodyBlur(blur func(z float64) float64) (mm, share float64) {
	var v []float64
	n := 0
	for i := 0; i < len(l.a); i += 61 {
		n++
		if l.a[i] > 0.7 {
			v = append(v, blur(float64(l.z[i])))
		}
	}
	return median(v), float64(len(v)) / float64(n)
}

// sigmas are the blurs, in pixels, that are computed for the whole picture;
// others are mixed from the two nearest.
var sigmas = []float64{0.4, 0.8, 1.3, 2, 3, 4.5, 7, 11, 17, 26}

// defocus blurs what is in front, each pixel by its own height, and returns
// premultiplied colour planes; the opacity planes stays in l.a.
func (l *layer) defocus(blur func(z float64) float64) [3]*photo.Plane {
	sigma := l.softBlur(blur)
	planes := [4]*photo.Plane{l.plane(l.r), l.plane(l.g), l.plane(l.b), l.plane(l.a)}
	var out [4]*photo.Plane
	for k := range planes {
		out[k] = photo.NewPlane(l.w, l.h)
		var lower, upper *photo.Plane
		for level := 0; level+1 < len(sigmas); level++ {
			lo, hi := float32(sigmas[level]), float32(sigmas[level+1])
			if level > 0 {
				lower, upper = upper, nil
			}
			for i, s := range sigma.Pix {
				if s < lo && level > 0 || s >= hi && level+2 < len(sigmas) {
					continue
				}
				if lower == nil {
					lower = wideBlur(planes[k], sigmas[level])
				}
				if upper == nil {
					upper = wideBlur(planes[k], sigmas[level+1])
				}
				t := max(0, min(1, (s-lo)/(hi-lo)))
				out[k].Pix[i] = lower.Pix[i]*(1-t) + upper.Pix[i]*t
			}
		}
	}
	copy(l.a, out[3].Pix)
	return [3]*photo.Plane{out[0], out[1], out[2]}
}

func (l *layer) plane(pix []float32) *photo.Plane { return &photo.Plane{W: l.w, H: l.h, Pix: pix} }

// softBlur is the blur of each pixel, carried a little beyond the outlines so
// that a blurred outline spreads over the ground.
func (l *layer) softBlur(blur func(z float64) float64) *photo.Plane {
	weighted, weight := photo.NewPlane(l.w, l.h), photo.NewPlane(l.w, l.h)
	for i, a := range l.a {
		weighted.Pix[i], weight.Pix[i] = a*float32(blur(float64(l.z[i]))), a
	}
	for _, spread := range []float64{2, 12} {
		wb, ab := wideBlur(weighted, spread), wideBlur(weight, spread)
		for i := range weighted.Pix {
			if weight.Pix[i] < 0.05 && ab.Pix[i] > 1e-4 {
				weighted.Pix[i], weight.Pix[i] = wb.Pix[i]/ab.Pix[i], 1
			}
		}
	}
	for i, a := range weight.Pix {
		if a > 0 {
			weighted.Pix[i] /= a
		}
	}
	return weighted
}

// wideBlur is Plane.Blur, done on a reduced picture where that makes no
// difference to be seen.
func wideBlur(p *photo.Plane, sigma float64) *photo.Plane {
	f := 1
	for sigma/float64(f) > 4 {
		f *= 2
	}
	if f == 1 || p.W < 8*f || p.H < 8*f {
		return p.Blur(sigma)
	}
	return p.Resample(p.W/f, p.H/f).Blur(sigma/float64(f)).Resample(p.W, p.H)
}

// groundPlanes draws the ground, blurred.
func (s *Scene) groundPlanes(v view, c Shot) [3]*photo.Plane {
	sigma := max(c.BaseBlurPx, s.ground.blur*v.scale*c.BlurPerMM/0.02)
	f := 1
	if sigma > 2 {
		f = 2
	}
	w, h := c.W/f, c.H/f
	back := newLayer(w, h)
	gv := view{scale: v.scale / float64(f), sin: v.sin, cos: v.cos, dx: v.dx / float64(f), dy: v.dy / float64(f)}
	for y := range h {
		for x := range w {
			mx, my := gv.mm(float64(x), float64(y))
			back.over(y*w+x, s.ground.at(mx, my, s.salt), 0)
		}
	}
	d := &drawing{layer: back, s: s, v: gv}
	for _, l := range s.ground.strand {
		d.stroke(d.beads(l.path, l.r0, l.r1, 0), func(u, v float64) rgba { return l.colour.lit(0.5 + 0.6*(1-v*v)) })
	}
	var out [3]*photo.Plane
	for k, pix := range [][]float32{back.r, back.g, back.b} {
		out[k] = wideBlur(back.plane(pix), min(40, sigma/float64(f))).Resample(c.W, c.H)
	}
	return out
}

// layOn fills what the blurred front leaves open.
func (l *layer) layOn(rgb, back [3]*photo.Plane) {
	for k := range rgb {
		for i := range rgb[k].Pix {
			rgb[k].Pix[i] += max(0, 1-l.a[i]) * back[k].Pix[i]
		}
	}
}

// develop turns light into a stored picture.
func (c Shot) develop(rgb [3]*photo.Plane, exposure float64) *photo.Image {
	rng := rand.New(rand.NewPCG(c.Seed, 0xde7))
	for k := range rgb {
		if c.MotionPx > 0.5 {
			rgb[k] = smear(rgb[k], c.MotionPx, c.MotionAngle)
		}
	}
	for y := range c.H {
		for x := range c.W {
			u, v := 2*float64(x)/float64(c.W)-1, 2*float64(y)/float64(c.H)-1
			fall := exposure * (1 - c.Fall*(u*u+v*v)/2)
			for k := range rgb {
				i := y*c.W + x
				l := float64(rgb[k].Pix[i]) * fall * c.Tint[k]
				// Shot noise grows with the root of the light; some is there in the dark.
				l += rng.NormFloat64() * c.Noise * math.Sqrt(max(0, l)+0.01)
				rgb[k].Pix[i] = float32(l)
			}
		}
	}
	img := photo.NewImage(c.W, c.H)
	for k := range rgb {
		p := rgb[k]
		if c.Smooth > 0.3 {
			p = p.Blur(c.Smooth)
		}
		for i, v := range p.Pix {
			p.Pix[i] = encodeSRGB(v)
		}
		soft := p
		if c.Sharpen > 0 {
			soft = p.Blur(1.1)
		}
		for i, v := range p.Pix {
			v += float32(c.Sharpen) * (v - soft.Pix[i])
			img.Pix[3*i+k] = uint8(max(0, min(255, math.Round(float64(v)*255))))
		}
	}
	return img
}

// encodeSRGB is the transfer function of IEC 61966-2-1 from a table.
func encodeSRGB(v float32) float32 {
	if v <= 0 {
		return 0
	}
	if v >= 1 {
		return 1
	}
	f := v * (srgbSteps - 1)
	i := int(f)
	t := f - float32(i)
	return srgbTable[i]*(1-t) + srgbTable[i+1]*t
}

const srgbSteps = 8192

var srgbTable = func() (t [srgbSteps + 1]float32) {
	for i := range t {
		v := float64(i) / (srgbSteps - 1)
		if v <= 0.0031308 {
			t[i] = float32(12.92 * v)
		} else {
			t[i] = float32(1.055*math.Pow(v, 1/2.4) - 0.055)
		}
	}
	return t
}()

// smear averages along a line of length px.
func smear(p *photo.Plane, px, angle float64) *photo.Plane {
	n := int(math.Ceil(px)) + 1
	out := photo.NewPlane(p.W, p.H)
	sin, cos := math.Sincos(angle)
	for k := range n {
		d := px * (float64(k)/float64(n-1) - 0.5)
		dx, dy := d*cos, d*sin
		for y := range p.H {
			for x := range p.W {
				out.Pix[y*p.W+x] += p.Sample(float64(x)+dx, float64(y)+dy) / float32(n)
			}
		}
	}
	return out
}
