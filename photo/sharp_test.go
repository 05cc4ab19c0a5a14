package photo

import (
	"math"
	"testing"
)

// TestNoiseLevel checks the estimate against noise of known size, on flat
// ground, on a ramp, and beside texture that fills less than half.
func TestNoiseLevel(t *testing.T) {
	for _, sd := range []float64{0.005, 0.02, 0.05} {
		flat := noisePlane(300, 200, sd, 5)
		ramp := noisePlane(300, 200, sd, 6)
		busy := noisePlane(300, 200, sd, 7)
		for y := range 200 {
			for x := range 300 {
				ramp.Pix[y*300+x] += float32(0.001 * float64(x+y))
				if x < 90 && (x/2+y/2)%2 == 0 {
					busy.Pix[y*300+x] += 0.3
				}
			}
		}
		for name, c := range map[string]struct {
			p   *Plane
			tol float64
		}{"flat": {flat, 0.03}, "ramp": {ramp, 0.03}, "busy": {busy, 0.60}} {
			if got := NoiseLevel(c.p); math.Abs(got/sd-1) > c.tol {
				t.Errorf("%s: %g for %g", name, got, sd)
			}
		}
	}
	if got := NoiseLevel(NewPlane(2, 2)); got != 0 {
		t.Errorf("too small: %g", got)
	}
}

// checks is a chequered patch in the middle of flat ground.
func checks(sd, blur float64, seed uint64) *Plane {
	p := noisePlane(640, 480, 0, seed)
	for y := 160; y < 320; y++ {
		for x := 220; x < 420; x++ {
			if (x/8+y/8)%2 == 0 {
				p.Pix[y*640+x] = 0.8
			}
		}
	}
	p = p.Blur(blur)
	n := noisePlane(640, 480, sd, seed)
	for i := range p.Pix {
		p.Pix[i] += n.Pix[i] - 0.5
	}
	return p
}

// TestNoiseDoesNotCountAsSharpness: the plain variance of a Laplacian would
// rank the noisy soft frame first.
func TestNoiseDoesNotCountAsSharpness(t *testing.T) {
	sharp := MeasureSharpness(checks(0.005, 1, 1), nil).Value
	soft := MeasureSharpness(checks(0.06, 6, 2), nil).Value
	if sharp < 2*soft {
		t.Errorf("sharp %g, soft and noisy %g", sharp, soft)
	}
	last := math.Inf(1)
	for _, blur := range []float64{0, 1, 2, 3, 5} {
		v := MeasureSharpness(checks(0.01, blur, 3), nil).Value
		if v >= last {
			t.Errorf("blur %g: %g, not below %g", blur, v, last)
		}
		last = v
	}
}

func TestSharpnessIsOfTheMiddle(t *testing.T) {
	middle := checks(0.005, 0, 1)
	border := NewPlane(640, 480)
	for y := range 480 {
		for x := range 640 { // the same patch moved into the corner
			border.Pix[y*640+x] = middle.At((x+220)%640, (y+160)%480)
		}
	}
	if m, b := MeasureSharpness(middle, nil).Value, MeasureSharpness(border, nil).Value; m < 2*b {
		t.Errorf("middle %g, corner %g", m, b)
	}
}

func TestSharpnessOfNextToNothing(t *testing.T) {
	if s := MeasureSharpness(NewPlane(31, 500), nil); s.Value != 0 || len(s.Tiles) != 0 {
		t.Errorf("%+v", s)
	}
	if s := MeasureSharpness(NewPlane(64, 64), nil); s.Value != 0 || len(s.Tiles) != 4 {
		t.Errorf("black: %+v", s)
	}
}

func TestExposure(t *testing.T) {
	m := NewImage(40, 40)
	if e := MeasureExposure(m); e.Black != 1 || len(e.Notes()) != 1 {
		t.Errorf("black: %+v %q", e, e.Notes())
	}
	for i := range m.Pix {
		m.Pix[i] = 120
	}
	if e := MeasureExposure(m); e.Black+e.White+e.Glare != 0 || len(e.Notes()) != 0 || math.Abs(e.Mean-120.0/255) > 1e-9 {
		t.Errorf("grey: %+v %q", e, e.Notes())
	}
	for y := 15; y < 22; y++ {
		for x := 15; x < 22; x++ {
			copy(m.Pix[3*(y*40+x):], []uint8{255, 255, 255})
		}
	}
	e := MeasureExposure(m)
	if math.Abs(e.Glare-49.0/400) > 1e-9 || math.Abs(e.White-49.0/1600) > 1e-9 || len(e.Notes()) != 1 {
		t.Errorf("glint: %+v %q", e, e.Notes())
	}
	for i := range m.Pix {
		m.Pix[i] = 255
	}
	if e := MeasureExposure(m); e.White != 1 || len(e.Notes()) != 1 {
		t.Errorf("white: %+v %q", e, e.Notes())
	}
}
