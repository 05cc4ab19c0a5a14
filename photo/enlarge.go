package photo

import (
	"image"
	"math"

	"holdfast/science/ref"
)

// Enlarge returns the part of an opened file inside a box, which is in pixels of
// the stored file and is cut to the frame. As few pixels are decoded as give the
// part long pixels on its longer side; it comes out at that size or, where the
// file has not as many, as it is stored. raise shows it by RaiseContrast over an
// eighth of its longer side. It is not turned upright: see Image.Upright.
//
// It returns a *FileError for a damaged file, and a *ref.InputError for a box
// outside the frame.
func (d *Decoder) Enlarge(src *Source, x, y, w, h float64, long int, raise bool) (*Image, error) {
	if !(w > 0 && h > 0 && x < float64(src.W) && y < float64(src.H) && x+w > 0 && y+h > 0) || long < 1 {
		return nil, ref.Inputf("box", "", "a part of %g by %g pixels at (%g, %g) of %d by %d", w, h, x, y, src.W, src.H)
	}
	denom := ReductionFor(max(w, h), float64(long))
	m, err := d.Decode(src, denom)
	if err != nil {
		return nil, err
	}
	f := 1 / float64(denom)
	return m.Part(x*f, y*f, w*f, h*f, long, raise)
}

// Part returns what lies in a box of m, cut to the frame: reduced to long
// pixels on its longer side where it has more, and with its contrast raised
// over an eighth of that if wanted. It returns a *ref.InputError for a box that
// holds no pixels.
func (m *Image) Part(x, y, w, h float64, long int, raise bool) (*Image, error) {
	if !(w > 0 && h > 0 && x < float64(m.W) && y < float64(m.H) && x+w > 0 && y+h > 0) || long < 1 {
		return nil, ref.Inputf("box", "", "a part of %g by %g pixels at (%g, %g) of %d by %d", w, h, x, y, m.W, m.H)
	}
	x0, y0 := math.Floor(max(0, x)), math.Floor(max(0, y))
	x1, y1 := math.Ceil(min(float64(m.W), x+w)), math.Ceil(min(float64(m.H), y+h))
	m = m.Crop(image.Rect(int(x0), int(y0), int(x1), int(y1)))
	if k := float64(long) / float64(max(m.W, m.H)); k < 1 {
		m = m.Resample(max(1, int(math.Round(k*float64(m.W)))), max(1, int(math.Round(k*float64(m.H)))))
	}
	if raise {
		m = m.RaiseContrast(float64(max(m.W, m.H)) / 8)
	}
	return m, nil
}

// Resample returns m at w by h pixels; see Plane.Resample.
func (m *Image) Resample(w, h int) *Image {
	out := NewImage(w, h)
	channels := m.resample(w, h, func(dst []float32, pix []uint8) {
		for i, v := range pix {
			dst[i] = float32(v)
		}
	})
	for c, p := range channels {
		for i, v := range p.Pix {
			out.Pix[3*i+c] = uint8(max(0, min(255, v+0.5)))
		}
	}
	return out
}
