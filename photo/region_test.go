package photo

import (
	"math"
	"strings"
	"testing"
)

// TestRegionsLieAboutTheEye draws a dark disc on a pale ground.
func TestRegionsLieAboutTheEye(t *testing.T) {
	const w, h, scale = 1200, 900, 80.0
	m := NewImage(w, h)
	for y := range h {
		for x := range w {
			v := uint8(170)
			if math.Hypot(float64(x)-400, float64(y)-300) < 0.45*scale {
				v = 12
			}
			for c := range 3 {
				m.Pix[3*(y*w+x)+c] = v
			}
		}
	}
	r := Analyse(m, w, h, scale, Models{}, 12)
	if len(r.Regions) != 2 || r.Regions[0].Place != Rostrum || r.Regions[1].Place != Gills {
		t.Fatalf("%+v", r.Regions)
	}
	for i, mm := range []float64{3.2, 6.5} {
		g := r.Regions[i]
		left, right := max(0, 400-mm*scale), min(w, 400+mm*scale)
		if math.Abs(g.X-left) > 8 || math.Abs(g.X+g.W-right) > 8 || !g.Sure {
			t.Errorf("%s: %+v, want %g to %g", g.Place, g, left, right)
		}
		if g.X < 0 || g.Y < 0 || g.X+g.W > w || g.Y+g.H > h {
			t.Errorf("%s leaves the picture: %+v", g.Place, g)
		}
	}
	if r = Analyse(m, w, h, 0, Models{}, 12); len(r.Regions) != 2 || r.Regions[0].Sure {
		t.Errorf("without a scale: %+v", r.Regions)
	}
}

func TestRaiseContrast(t *testing.T) {
	m := NewImage(200, 100)
	for i := range m.W * m.H {
		x, y := i%m.W, i/m.W
		v := uint8(120)
		if (x/4+y/4)%2 == 0 {
			v = 128
		}
		m.Pix[3*i], m.Pix[3*i+1], m.Pix[3*i+2] = v, v/2, v/3
	}
	before, after := spreadOf(m), spreadOf(m.RaiseContrast(12))
	if after < 2.5*before || after > contrastMost*before+0.005 {
		t.Errorf("standard deviation %.4f became %.4f", before, after)
	}
	flat := NewImage(50, 50)
	for i := range flat.Pix {
		flat.Pix[i] = 77
	}
	for _, v := range flat.RaiseContrast(10).Pix {
		if v != 77 {
			t.Fatalf("a flat picture changed to %d", v)
		}
	}
}

func spreadOf(m *Image) float64 {
	l := m.Luma()
	var s, q float64
	for _, v := range l.Pix {
		s, q = s+float64(v), q+float64(v)*float64(v)
	}
	n := float64(len(l.Pix))
	return math.Sqrt(q/n - s*s/n/n)
}

// TestEnlargeShowsThePlace reads a part of the test picture, whose pixels follow
// its own rule (testdata/formats/make.sh): red is 40 + x, green 60 + y.
func TestEnlargeShowsThePlace(t *testing.T) {
	var d Decoder
	for _, name := range []string{"picture.png", "picture.jpg"} {
		src, err := d.Open(mustRead(t, "formats/"+name))
		if err != nil {
			t.Fatal(err)
		}
		m, err := d.Enlarge(src, 100, 60, 40, 40, 20, false)
		if err != nil {
			t.Fatal(err)
		}
		if m.W != 20 || m.H != 20 {
			t.Fatalf("%s: %d by %d", name, m.W, m.H)
		}
		i := 3 * (15*m.W + 19) // about stored pixel (138.5, 90.5), off the drawn disc
		if r, g := float64(m.Pix[i]), float64(m.Pix[i+1]); math.Abs(r-178.5) > 6 || math.Abs(g-150.5) > 6 {
			t.Errorf("%s: red %g, green %g", name, r, g)
		}
		if m, err = d.Enlarge(src, -50, -50, 1000, 1000, 5000, true); err != nil || m.W != src.W || m.H != src.H {
			t.Errorf("%s: the whole: %v", name, err)
		}
		for _, box := range [][4]float64{{200, 0, 10, 10}, {0, 0, 0, 5}, {math.NaN(), 0, 5, 5}, {0, 0, math.NaN(), 5}} {
			if _, err := d.Enlarge(src, box[0], box[1], box[2], box[3], 100, false); err == nil {
				t.Errorf("%s: the part %v was shown", name, box)
			}
		}
	}
}

// TestWhiteBandsCannotTell draws a red animal with and without white bands on a
// dark and on a pale ground.
func TestWhiteBandsCannotTell(t *testing.T) {
	for _, c := range []struct {
		name          string
		ground, bands bool
		want          bool
	}{{"plain", false, false, false}, {"banded", false, true, true}, {"pale ground", true, true, false}} {
		const w, h = 900, 600
		m := NewImage(w, h)
		for y := range h {
			for x := range w {
				p := m.Pix[3*(y*w+x) : 3*(y*w+x)+3]
				switch {
				case x > 200 && x < 700 && y > 200 && y < 400 && c.bands && x/40%3 == 0:
					p[0], p[1], p[2] = 230, 225, 220
				case x > 200 && x < 700 && y > 200 && y < 400:
					p[0], p[1], p[2] = 190, 60, 40
				case c.ground:
					p[0], p[1], p[2] = 235, 235, 230
				default:
					p[0], p[1], p[2] = 20, 30, 25
				}
			}
		}
		got := false
		for _, why := range Analyse(m, w, h, WorkingScale, Models{}, 12).CannotTell {
			got = got || strings.HasPrefix(why, "white")
		}
		if got != c.want {
			t.Errorf("%s: white said %v", c.name, got)
		}
	}
}
