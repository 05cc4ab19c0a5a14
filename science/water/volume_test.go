package water_test

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/ref"
	"holdfast/science/water"
)

// tb is what *testing.T and *rapid.T share.
type tb interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

func near(t tb, what string, got, want, rel float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > rel*math.Max(math.Abs(want), 1e-300) {
		t.Errorf("%s = %.10g, want %.10g (relative %g)", what, got, want, rel)
	}
}

func litres(t tb, tank water.Tank) water.Volume {
	t.Helper()
	v, err := tank.Volume()
	if err != nil {
		t.Fatalf("%+v: %v", tank, err)
	}
	return v
}

// Volumes that a textbook gives: 231 cubic inches are one US gallon (NIST
// Handbook 44, Appendix C); areas of circle, hexagon and half disc from
// Euclid.
func TestVolumeOfKnownSolids(t *testing.T) {
	const inch = 2.54
	for name, c := range map[string]struct {
		tank water.Tank
		want float64
	}{
		"231 cubic inches":          {water.Tank{Shape: water.Box, LengthCM: 11 * inch, WidthCM: 7 * inch, FillCM: 3 * inch}, 3.785411784},
		"cylinder":                  {water.Tank{Shape: water.Cylinder, DiameterCM: 20, FillCM: 100 / math.Pi}, 10},
		"hexagon":                   {water.Tank{Shape: water.Hexagon, SideCM: 20, FillCM: 50}, 1.5 * math.Sqrt(3) * 20},
		"half disc before a box":    {water.Tank{Shape: water.BowFront, LengthCM: 40, WidthCM: 10, BowCM: 20, FillCM: 10}, 4 + math.Pi*2},
		"quarter circle":            {water.Tank{Shape: water.Corner, LengthCM: 40, BowCM: 40 - 40/math.Sqrt2, FillCM: 10}, math.Pi * 4},
		"triangle":                  {water.Tank{Shape: water.Corner, LengthCM: 40, FillCM: 10}, 8},
		"five-sided corner":         {water.Tank{Shape: water.Corner, LengthCM: 40, ReturnCM: 20, FillCM: 10}, 14},
		"box measured outside":      {water.Tank{Shape: water.Box, LengthCM: 51.2, WidthCM: 31.2, FillCM: 20.6, Outside: true, GlassMM: 6}, 30},
		"thicker bottom":            {water.Tank{Shape: water.Box, LengthCM: 51.2, WidthCM: 31.2, FillCM: 21, Outside: true, GlassMM: 6, BaseGlassMM: 10}, 30},
		"cylinder measured without": {water.Tank{Shape: water.Cylinder, DiameterCM: 21, FillCM: 100/math.Pi + 0.5, Outside: true, GlassMM: 5}, 10},
		"counted in":                {water.Tank{Shape: water.KnownFill, KnownFillL: 98, SumpL: 2}, 100},
		"counted in, then gravel":   {water.Tank{Shape: water.KnownFill, KnownFillL: 98, KnownFillBare: true, SubstrateL: 10, SubstratePorosity: 0.4, HardscapeL: 2}, 90},
	} {
		near(t, name, litres(t, c.tank).Litres, c.want, 1e-12)
	}
}

// The ledger of a furnished tank, worked by hand: 80 x 40 x 33 cm are 105.6 l;
// 3 cm of gravel are 9.6 l of which 0.6 is stone.
func TestVolumeLedger(t *testing.T) {
	v := litres(t, water.Tank{Shape: water.Box, LengthCM: 80, WidthCM: 40, HeightCM: 40, FillCM: 33, SubstrateCM: 3, HardscapeL: 2.4, HardscapeMeasured: true, SumpL: 0.9})
	want := []float64{105.6, -5.76, -2.4, 0.9}
	if len(v.Parts) != len(want) {
		t.Fatalf("parts: %+v", v.Parts)
	}
	for i, p := range v.Parts {
		near(t, p.Name, p.Litres, want[i], 1e-12)
	}
	near(t, "litres", v.Litres, 98.34, 1e-12)
	near(t, "brim", v.BrimL, 128, 1e-12)
	// By hand: tape 0.5 cm on 80, 40, 33 and 3 cm; porosity 0.1; 10 % of 2.4; 15 % of 0.9.
	half := math.Sqrt(sq(0.5*40*31.2/1000) + sq(0.5*80*31.2/1000) + sq(0.5*3.2) + sq(0.5*3.2*0.6) + sq(0.96) + sq(0.24) + sq(0.135))
	near(t, "half width", (v.High-v.Low)/2, half, 1e-9)
	near(t, "share", v.Share(), half/98.34, 1e-9)
	if v.Doubts[0].Field != "fill_cm" {
		t.Errorf("the water line should matter most, got %+v", v.Doubts)
	}
}

func sq(x float64) float64 { return x * x }

// insideByGrid counts grid points inside the outer ground plan and at least
// the glass away from its walls: the slow twin of planAreaCM2, written from
// the definition.
func insideByGrid(tank water.Tank, n int) float64 {
	g := tank.GlassMM / 10
	radius := func(chord, sagitta float64) float64 { return (chord*chord/4 + sagitta*sagitta) / (2 * sagitta) }
	var inside func(x, y float64) bool
	var w, h float64
	switch tank.Shape {
	case water.BowFront:
		w, h = tank.LengthCM, tank.WidthCM+tank.BowCM
		r := radius(tank.LengthCM, tank.BowCM)
		cx, cy := tank.LengthCM/2, h-r
		inside = func(x, y float64) bool {
			return x > g && x < w-g && y > g && (y < cy || math.Hypot(x-cx, y-cy) < r-g)
		}
	case water.Corner:
		w, h = tank.LengthCM, tank.LengthCM
		chord := math.Sqrt2 * (tank.LengthCM - tank.ReturnCM)
		m := (tank.LengthCM + tank.ReturnCM) / math.Sqrt2
		inside = func(x, y float64) bool {
			if x < g || y < g || (tank.ReturnCM > 0 && (x > w-g || y > h-g)) {
				return false
			}
			if tank.BowCM == 0 {
				return (x+y)/math.Sqrt2 < m-g
			}
			r := radius(chord, tank.BowCM)
			k := (m + tank.BowCM - r) / math.Sqrt2
			// Only the part of the circle between the returns is glass.
			half := math.Asin(chord / 2 / r)
			turn := math.Abs(math.Atan2(y-k, x-k) - math.Pi/4)
			return turn > half || math.Hypot(x-k, y-k) < r-g
		}
	case water.Hexagon:
		w, h = 2*tank.SideCM, math.Sqrt(3)*tank.SideCM
		flat := h / 2
		inside = func(x, y float64) bool {
			x, y = x-w/2, y-h/2
			for i := range 3 {
				a := float64(i)*math.Pi/3 + math.Pi/2
				if math.Abs(x*math.Cos(a)+y*math.Sin(a)) > flat-g {
					return false
				}
			}
			return true
		}
	}
	count := 0
	for i := range n {
		for j := range n {
			if inside((float64(i)+0.5)*w/float64(n), (float64(j)+0.5)*h/float64(n)) {
				count++
			}
		}
	}
	return float64(count) / float64(n*n) * w * h
}

func TestPlansAgainstGrid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tank := water.Tank{FillCM: 11, Outside: true, GlassMM: rapid.Float64Range(2, 19).Draw(t, "glass")}
		tank.BaseGlassMM = 10
		tank.Shape = rapid.SampledFrom([]water.Shape{water.BowFront, water.Corner, water.Hexagon}).Draw(t, "shape")
		switch tank.Shape {
		case water.BowFront:
			tank.LengthCM = rapid.Float64Range(30, 200).Draw(t, "length")
			tank.WidthCM = rapid.Float64Range(20, 80).Draw(t, "width")
			tank.BowCM = tank.LengthCM * rapid.Float64Range(0.01, 0.3).Draw(t, "bow")
		case water.Corner:
			tank.LengthCM = rapid.Float64Range(30, 120).Draw(t, "length")
			if rapid.Bool().Draw(t, "returns") {
				tank.ReturnCM = tank.LengthCM * rapid.Float64Range(0.2, 0.7).Draw(t, "return")
			}
			if rapid.Bool().Draw(t, "bowed") {
				tank.BowCM = (tank.LengthCM - tank.ReturnCM) * rapid.Float64Range(0.02, 0.29).Draw(t, "bow")
			}
		case water.Hexagon:
			tank.SideCM = rapid.Float64Range(15, 80).Draw(t, "side")
		}
		v := litres(t, tank)
		// A 500 by 500 grid misses at most about one cell a border cell.
		near(t, string(tank.Shape), v.Litres, insideByGrid(tank, 500)/100, 0.01)
	})
}

func drawTank(t *rapid.T) water.Tank {
	f := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	tank := water.Tank{
		Shape:    rapid.SampledFrom([]water.Shape{water.Box, water.BowFront, water.Cylinder, water.Corner, water.Hexagon, water.KnownFill}).Draw(t, "shape"),
		LengthCM: f("length", 30, 200), WidthCM: f("width", 20, 80), BowCM: f("bow", 0.5, 5),
		ReturnCM: f("return", 0, 20), DiameterCM: f("diameter", 20, 90), SideCM: f("side", 15, 60),
		FillCM: f("fill", 10, 60), GlassMM: f("glass", 3, 12), KnownFillL: f("known", 10, 300),
		HardscapeL: f("hardscape", 0, 1), SumpL: f("sump", 0, 30),
		Outside: rapid.Bool().Draw(t, "outside"),
	}
	if tank.Shape != water.KnownFill {
		tank.SubstrateCM = f("substrate", 0, 3)
	}
	return tank
}

func TestVolumeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tank := drawTank(t)
		v := litres(t, tank)
		total := 0.0
		for _, p := range v.Parts {
			total += p.Litres
		}
		near(t, "sum of parts", total, v.Litres, 1e-12)
		if v.Low < 0 || v.Low > v.Litres || v.High < v.Litres {
			t.Fatalf("interval %g to %g does not hold %g", v.Low, v.High, v.Litres)
		}
		if tank.Outside && tank.Shape != water.KnownFill {
			thicker := tank
			thicker.GlassMM++
			if litres(t, thicker).Litres >= v.Litres {
				t.Fatal("thicker glass must hold less")
			}
		}
		stones := tank
		stones.HardscapeL += 0.5
		if d := v.Litres - litres(t, stones).Litres; tank.Shape != water.KnownFill && math.Abs(d-0.5) > 1e-9 {
			t.Fatalf("half a litre of stones pushed %g l away", d)
		}
		looser := tank
		looser.TapeErrorCM = 2
		if tank.Shape != water.KnownFill && litres(t, looser).Share() <= v.Share() {
			t.Fatal("a worse tape must widen the interval")
		}
		text, err := json.Marshal(tank)
		if err != nil {
			t.Fatal(err)
		}
		var back water.Tank
		if err := json.Unmarshal(text, &back); err != nil || back != tank {
			t.Fatalf("stored %s, read %+v (%v)", text, back, err)
		}
	})
}

func TestTankSaysWhatIsWrong(t *testing.T) {
	good := water.Tank{Shape: water.Box, LengthCM: 80, WidthCM: 40, FillCM: 33}
	if errs := good.Check(); errs != nil {
		t.Fatalf("a good tank: %v", errs)
	}
	for name, c := range map[string]struct {
		field  string
		change func(*water.Tank)
	}{
		"no shape":            {"shape", func(t *water.Tank) { t.Shape = "pond" }},
		"no length":           {"length_cm", func(t *water.Tank) { t.LengthCM = 0 }},
		"millimetres":         {"length_cm", func(t *water.Tank) { t.LengthCM = 1200 }},
		"negative":            {"width_cm", func(t *water.Tank) { t.WidthCM = -3 }},
		"not a number":        {"fill_cm", func(t *water.Tank) { t.FillCM = math.NaN() }},
		"above the rim":       {"fill_cm", func(t *water.Tank) { t.HeightCM = 30 }},
		"deep gravel":         {"substrate_cm", func(t *water.Tank) { t.SubstrateCM = 34 }},
		"gravel twice":        {"substrate_l", func(t *water.Tank) { t.SubstrateCM, t.SubstrateL = 3, 9 }},
		"outside, no glass":   {"glass_mm", func(t *water.Tank) { t.Outside = true }},
		"glass in cm squared": {"glass_mm", func(t *water.Tank) { t.Outside, t.GlassMM = true, 600 }},
		"porosity in percent": {"substrate_porosity", func(t *water.Tank) { t.SubstratePorosity = 40 }},
		"negative stones":     {"hardscape_l", func(t *water.Tank) { t.HardscapeL = -1 }},
		"stones fill it":      {"hardscape_l", func(t *water.Tank) { t.HardscapeL = 200 }},
		"gravel fills it":     {"substrate_l", func(t *water.Tank) { t.SubstrateL = 400 }},
		"endless sump":        {"sump_l", func(t *water.Tank) { t.SumpL = math.Inf(1) }},
		"bow too deep":        {"bow_cm", func(t *water.Tank) { t.Shape, t.BowCM = water.BowFront, 41 }},
		"no bow":              {"bow_cm", func(t *water.Tank) { t.Shape = water.BowFront }},
		"return too long":     {"return_cm", func(t *water.Tank) { t.Shape, t.ReturnCM = water.Corner, 80 }},
		"corner bow too deep": {"bow_cm", func(t *water.Tank) { t.Shape, t.ReturnCM, t.BowCM = water.Corner, 40, 30 }},
		"nothing counted":     {"known_fill_l", func(t *water.Tank) { t.Shape = water.KnownFill }},
		"no diameter":         {"diameter_cm", func(t *water.Tank) { t.Shape = water.Cylinder }},
		"no side":             {"side_cm", func(t *water.Tank) { t.Shape = water.Hexagon }},
		"all glass":           {"glass_mm", func(t *water.Tank) { t.Outside, t.GlassMM, t.WidthCM = true, 60, 11 }},
		"tape":                {"tape_error_cm", func(t *water.Tank) { t.TapeErrorCM = -1 }},
	} {
		tank := good
		c.change(&tank)
		_, err := tank.Volume()
		var in *ref.InputError
		if !errors.As(err, &in) || in.Field != c.field || in.Hint == "" {
			t.Errorf("%s: got %#v, want a complaint about %s", name, err, c.field)
		}
	}
	several := water.Tank{Shape: water.Box, LengthCM: -1, FillCM: 2000}
	if n := len(several.Check()); n != 3 {
		t.Errorf("three fields are wrong, Check names %d", n)
	}
}
