package photo

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"holdfast/science/ref"
)

// drawRuler draws a scale: a light strip with dark ticks, every fifth longer
// and every tenth longer still, on a busy ground.
func drawRuler(w, h int, spacing, angle float64, seed uint64) *Plane {
	rng := rand.New(rand.NewPCG(seed, 3))
	p := NewPlane(w, h)
	sin, cos := math.Sincos(angle)
	phase := rng.Float64() * spacing
	for y := range h {
		for x := range w {
			dx, dy := float64(x)-float64(w)/2, float64(y)-float64(h)/2
			u, v := dx*cos+dy*sin+phase, dy*cos-dx*sin // along and across
			light := 0.35 + 0.1*math.Sin(dx/37)*math.Cos(dy/23)
			if math.Abs(v) < 0.18*float64(h) {
				light = 0.8
				k := math.Round(u / spacing)
				long := 0.25
				switch int(math.Abs(k)) % 10 {
				case 0:
					long = 0.6
				case 5:
					long = 0.4
				}
				if math.Abs(u-k*spacing) < 0.12*spacing && v > 0.18*float64(h)*(1-2*long) {
					light = 0.15
				}
			}
			light *= 1 - 0.3*dx/float64(w)
			p.Pix[y*w+x] = float32(light + 0.03*rng.NormFloat64())
		}
	}
	return p.Blur(0.8)
}

// TestFindRuler checks the spacing of drawn rulers at all angles to half a
// percent, which is far less than the quarter that the finders tolerate.
func TestFindRuler(t *testing.T) {
	for i, c := range []struct{ spacing, angle float64 }{
		{9.3, 0.1}, {14.2, -0.5}, {21.7, 1.2}, {33.1, 1.571}, {12.4, 2.4}, {41.9, 0},
	} {
		r, err := FindRuler(drawRuler(900, 600, c.spacing, c.angle, uint64(i)))
		if err != nil {
			t.Errorf("%+v: %v", c, err)
			continue
		}
		turn := math.Mod(math.Abs(r.Angle-c.angle), math.Pi)
		if math.Abs(r.Spacing/c.spacing-1) > 0.005 || min(turn, math.Pi-turn) > 0.05 {
			t.Errorf("%+v: %+v", c, r)
		}
	}
}

func TestWhereThereIsNoRuler(t *testing.T) {
	for name, p := range map[string]*Plane{
		"noise": noisePlane(600, 400, 0.1, 1), "flat": NewPlane(600, 400), "tiny": NewPlane(20, 20),
		"gravel": mustDecode(t, "real/gravel.png").Luma(), "grass": mustDecode(t, "real/grass.png").Luma(),
	} {
		r, err := FindRuler(p)
		var no *ref.NoAnswer
		if !errors.As(err, &no) {
			t.Errorf("%s: %+v, %v", name, r, err)
		}
	}
}

func TestScaleFromTaps(t *testing.T) {
	if s, err := ScaleFromTaps(Point{10, 10}, Point{610, 810}, 20); err != nil || s != 50 {
		t.Errorf("%g, %v", s, err)
	}
	for _, c := range []struct {
		b  Point
		mm float64
	}{{Point{610, 810}, 0}, {Point{610, 810}, math.NaN()}, {Point{11, 10}, 20}, {Point{610, 810}, 1e-3}} {
		if s, err := ScaleFromTaps(Point{10, 10}, c.b, c.mm); err == nil {
			t.Errorf("%+v: %g", c, s)
		}
	}
}
