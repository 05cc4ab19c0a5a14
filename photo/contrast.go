package photo

import "math"

// Limits of raising local contrast.
const (
	contrastWanted = 0.18 // local standard deviation of lightness aimed at
	contrastMost   = 3.0  // largest gain, so that flat parts do not become noise
	contrastFloor  = 0.02
)

// RaiseContrast returns a copy of m in which faint detail shows more: in each
// neighbourhood of radius pixels (a Gaussian's standard deviation) lightness is
// spread about its mean until its standard deviation is 0.18 of white, by a
// factor of 1 to 3. Hue is kept; what would leave the range is cut. It shows
// nothing that the picture does not hold, but it makes noise larger too.
func (m *Image) RaiseContrast(radius float64) *Image {
	luma := m.Luma()
	square := NewPlane(m.W, m.H)
	for i, v := range luma.Pix {
		square.Pix[i] = v * v
	}
	mean, square := wideMean(luma, radius), wideMean(square, radius)
	out := NewImage(m.W, m.H)
	for i, v := range luma.Pix {
		mu := mean.Pix[i]
		sd := math.Sqrt(float64(max(0, square.Pix[i]-mu*mu)))
		gain := max(1, min(contrastMost, contrastWanted/(sd+contrastFloor)))
		add := 255 * float32(gain-1) * (v - mu)
		for c := range 3 {
			out.Pix[3*i+c] = uint8(max(0, min(255, float32(m.Pix[3*i+c])+add+0.5)))
		}
	}
	return out
}

// wideMean is Blur on a reduced picture, where the blur is so wide that
// nothing is lost by it.
func wideMean(p *Plane, sigma float64) *Plane {
	f := 1
	for sigma/float64(f) > 6 {
		f *= 2
	}
	w, h := max(1, p.W/f), max(1, p.H/f)
	return p.Resample(w, h).Blur(sigma/float64(f)).Resample(p.W, p.H)
}
