package photo

import "math"

// Plane is one channel of a picture as real numbers, usually 0 (black) to 1
// (white) in the picture's own sRGB values, row by row from the top left.
type Plane struct {
	// W and H are the width and the height in pixels.
	W, H int
	// Pix has W*H values without padding.
	Pix []float32
}

// NewPlane returns a plane of zeros.
func NewPlane(w, h int) *Plane {
	return &Plane{W: w, H: h, Pix: make([]float32, w*h)}
}

// Row returns row y, to read or to change.
func (p *Plane) Row(y int) []float32 { return p.Pix[y*p.W : (y+1)*p.W : (y+1)*p.W] }

// At returns the value at (x, y) with the border repeated outside.
func (p *Plane) At(x, y int) float32 {
	return p.Pix[clampInt(y, p.H)*p.W+clampInt(x, p.W)]
}

// Sample returns the value between pixels by bilinear interpolation; (0, 0) is
// the middle of the first pixel.
func (p *Plane) Sample(x, y float64) float32 {
	fx, fy := math.Floor(x), math.Floor(y)
	ix, iy := int(fx), int(fy)
	tx, ty := float32(x-fx), float32(y-fy)
	top := p.At(ix, iy)*(1-tx) + p.At(ix+1, iy)*tx
	bottom := p.At(ix, iy+1)*(1-tx) + p.At(ix+1, iy+1)*tx
	return top*(1-ty) + bottom*ty
}

// clampInt brings i into 0 to n-1.
func clampInt(i, n int) int { return max(0, min(i, n-1)) }

// Whiteness returns min(R, G, B)/255. Pale dots on a saturated shell stand out
// in it more than in the luminance, because the shell lacks one primary.
func (m *Image) Whiteness() *Plane {
	return m.plane(func(r, g, b uint8) float32 { return whiteness(r, g, b) })
}

// Brightness returns max(R, G, B)/255, in which only what is dark in every
// primary is dark: the pigment of the eye.
func (m *Image) Brightness() *Plane {
	return m.plane(func(r, g, b uint8) float32 { return brightness(r, g, b) })
}

// Luma returns the weighted mean of R, G and B that stands for lightness in
// television and JPEG: 0.299, 0.587, 0.114. Source: itu-bt601.
func (m *Image) Luma() *Plane {
	out := NewPlane(m.W, m.H)
	pix := m.Pix[:3*len(out.Pix)]
	for i := range out.Pix {
		p := pix[3*i : 3*i+3 : 3*i+3]
		out.Pix[i] = luma(p[0], p[1], p[2])
	}
	return out
}

func whiteness(r, g, b uint8) float32  { return float32(min(r, g, b)) / 255 }
func brightness(r, g, b uint8) float32 { return float32(max(r, g, b)) / 255 }
func luma(r, g, b uint8) float32 {
	return (0.299*float32(r) + 0.587*float32(g) + 0.114*float32(b)) / 255
}

func (m *Image) plane(f func(r, g, b uint8) float32) *Plane {
	out := NewPlane(m.W, m.H)
	for i := range out.Pix {
		p := m.Pix[3*i : 3*i+3 : 3*i+3]
		out.Pix[i] = f(p[0], p[1], p[2])
	}
	return out
}

// Resample returns p at w by h pixels: the mean over each new pixel's
// footprint where it shrinks, bilinear interpolation where it grows. The
// footprint is that of a triangle as wide as two new pixels, so that edges do
// not alias.
func (p *Plane) Resample(w, h int) *Plane {
	if w == p.W && h == p.H {
		return p
	}
	across := resampleRows(p, w)
	return resampleColumns(across, h)
}

// taps holds the weights of one output sample.
type taps struct {
	first int
	w     []float32
}

// triangle returns for each of n output samples the weights on the have
// samples of the input.
func triangle(have, n int) []taps {
	scale := float64(have) / float64(n)
	support := max(scale, 1)
	out := make([]taps, n)
	for i := range out {
		centre := (float64(i)+0.5)*scale - 0.5
		lo := max(0, int(math.Ceil(centre-support)))
		hi := min(have-1, int(math.Floor(centre+support)))
		w := make([]float32, 0, hi-lo+1)
		var sum float64
		for j := lo; j <= hi; j++ {
			v := max(0, 1-math.Abs(float64(j)-centre)/support)
			w = append(w, float32(v))
			sum += v
		}
		for k := range w {
			w[k] /= float32(sum)
		}
		out[i] = taps{lo, w}
	}
	return out
}

// workingPlanes are Luma, Whiteness and Brightness, each resampled to w by h
// pixels.
func (m *Image) workingPlanes(w, h int) (light, white, bright *Plane) {
	p := m.resample(w, h, func(dst []float32, pix []uint8) {
		for i := 0; i+2 < len(dst) && i+2 < len(pix); i += 3 {
			r, g, b := pix[i], pix[i+1], pix[i+2]
			dst[i], dst[i+1], dst[i+2] = luma(r, g, b), whiteness(r, g, b), brightness(r, g, b)
		}
	})
	return p[0], p[1], p[2]
}

// resample turns each row of m into three values a pixel and resamples them, see
// Plane.Resample, which three together takes less time than one by one.
func (m *Image) resample(w, h int, convert func(dst []float32, pix []uint8)) [3]*Plane {
	p := [3]*Plane{NewPlane(w, m.H), NewPlane(w, m.H), NewPlane(w, m.H)}
	ts := triangle(m.W, w)
	row := make([]float32, 3*m.W)
	for y := range m.H {
		convert(row, m.Pix[3*y*m.W:3*(y+1)*m.W])
		to0, to1, to2 := p[0].Row(y)[:w], p[1].Row(y)[:w], p[2].Row(y)[:w]
		for x, t := range ts[:w] {
			var a, b, c float32
			src := row[3*t.first:]
			for k, v := range t.w {
				s := src[3*k : 3*k+3 : 3*k+3]
				a, b, c = a+s[0]*v, b+s[1]*v, c+s[2]*v
			}
			to0[x], to1[x], to2[x] = a, b, c
		}
	}
	for i := range p {
		if h != m.H {
			p[i] = resampleColumns(p[i], h)
		}
	}
	return p
}

func resampleRows(p *Plane, w int) *Plane {
	out := NewPlane(w, p.H)
	ts := triangle(p.W, w)
	for y := range p.H {
		src, dst := p.Row(y), out.Row(y)
		for x, t := range ts {
			var s float32
			for k, v := range src[t.first : t.first+len(t.w)] {
				s += v * t.w[k]
			}
			dst[x] = s
		}
	}
	return out
}

func resampleColumns(p *Plane, h int) *Plane {
	out := NewPlane(p.W, h)
	for y, t := range triangle(p.H, h) {
		dst := out.Row(y)
		k := 0
		for ; k+1 < len(t.w); k += 2 { // two rows a pass, to touch dst half as often
			a, b := p.Row(t.first + k)[:len(dst)], p.Row(t.first + k + 1)[:len(dst)]
			wa, wb := t.w[k], t.w[k+1]
			for x, v := range dst {
				dst[x] = v + wa*a[x] + wb*b[x]
			}
		}
		for ; k < len(t.w); k++ {
			for x, v := range p.Row(t.first + k) {
				dst[x] += t.w[k] * v
			}
		}
	}
	return out
}
