package photo

import "testing"

// TestFineByDirection: a smear along x takes the fine structure from that
// direction and leaves most of it across.
func TestFineByDirection(t *testing.T) {
	p := noisePlane(640, 480, 0.3, 9).Blur(1.5)
	smeared := NewPlane(p.W, p.H)
	for y := range p.H {
		for x := range p.W {
			for k := -4; k <= 4; k++ {
				smeared.Pix[y*p.W+x] += p.At(x+k, y) / 9
			}
		}
	}
	body := middleTiles(640/TileSide, 480/TileSide)
	measure := func(p *Plane) (least, most float64) {
		return fineByDirection(p.Blur(slopeSigma), p.Resample(320, 240).Blur(2), body, 640/TileSide, 0)
	}
	l, m := measure(p)
	if m-l > 0.2 {
		t.Errorf("no direction differs, yet %.2f to %.2f", l, m)
	}
	ls, ms := measure(smeared)
	if ls > l-0.7 || ms < ls+0.7 {
		t.Errorf("smeared %.2f to %.2f, before %.2f to %.2f", ls, ms, l, m)
	}
}
