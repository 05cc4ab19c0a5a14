package darkroom

import (
	"math"

	"holdfast/photo"
)

// Of raising local contrast: the reach of "local" as a share of the picture,
// the contrast that detail is brought to, and by how much at most, so that
// noise in an empty corner stays noise.
const (
	raiseReach = 0.05
	raiseTo    = 0.16
	raiseMost  = 3.5
	raiseFloor = 0.02
)

// Raised returns the picture with its local contrast raised: each pixel's
// lightness L becomes
//
//	mean + gain (L - mean),  gain = min(3.5, 0.16 / (0.02 + spread))
//
// with mean and spread (standard deviation) of the lightness about it, the mean
// drawn a little towards the middle, and the colours are kept in proportion.
func Raised(m *photo.Image) *photo.Image {
	luma := m.Luma()
	sigma := max(2, raiseReach*float64(max(m.W, m.H)))
	mean := luma.Blur(sigma)
	square := photo.NewPlane(luma.W, luma.H)
	for i, v := range luma.Pix {
		square.Pix[i] = v * v
	}
	square = square.Blur(sigma)
	out := photo.NewImage(m.W, m.H)
	for i, v := range luma.Pix {
		l, mu := float64(v), float64(mean.Pix[i])
		spread := math.Sqrt(max(0, float64(square.Pix[i])-mu*mu))
		gain := min(raiseMost, raiseTo/(raiseFloor+spread))
		if gain < 1 {
			gain = 1
		}
		to := mu + (0.45-mu)*0.35 + gain*(l-mu)
		k := max(0, to) / max(l, 0.004)
		for c := range 3 {
			out.Pix[3*i+c] = uint8(min(255, float64(m.Pix[3*i+c])*k+0.5))
		}
	}
	return out
}

// resized returns the picture at w by h pixels, averaged where it shrinks.
func resized(m *photo.Image, w, h int) *photo.Image {
	out := photo.NewImage(w, h)
	p := photo.NewPlane(m.W, m.H)
	for c := range 3 {
		for i := range p.Pix {
			p.Pix[i] = float32(m.Pix[3*i+c])
		}
		q := p.Resample(w, h)
		for i, v := range q.Pix {
			out.Pix[3*i+c] = uint8(min(255, max(0, v+0.5)))
		}
	}
	return out
}
