package water

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/ref"
)

// Salt of known mass in known water must give the litres back, whatever the
// conductivity that the water began with.
func TestSaltFillGivesTheLitresBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		litres := rapid.Float64Range(10, 300).Draw(t, "litres")
		before := rapid.Float64Range(20, 800).Draw(t, "before")
		rise := rapid.Float64Range(60, 300).Draw(t, "rise")
		grams, err := SaltToMeasure(litres, before, rise)
		if err != nil {
			t.Fatal(err)
		}
		plain := SaltFill{SaltG: grams, ECBefore: before, ECAfter: before + rise}
		v, err := plain.Volume()
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(v.Litres/litres-1) > 1e-6 || v.Low >= litres || v.High <= litres || v.Low < 0 {
			t.Fatalf("%g l came back as %+v", litres, v)
		}
		wider := plain
		wider.WeighErrorG = grams
		w, err := wider.Volume()
		if err != nil || w.Share() <= v.Share() {
			t.Fatalf("a bad scale must widen: %v, %v", w, err)
		}
	})
}

// The jar replaces the table: a meter that shows a tenth too much on every
// rise then does no harm.
func TestSaltFillWithJar(t *testing.T) {
	const litres, before, grams = 80.0, 200.0, 6.0
	scale := 1.1
	rise := func(mgL float64) float64 { return scale * 2 * mgL } // a made-up straight meter
	s := SaltFill{
		SaltG: grams, ECBefore: before, ECAfter: before + rise(1000*grams/litres),
		JarL: 1, JarSaltG: 0.1, JarECAfter: before + rise(100),
	}
	v, err := s.Volume()
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "litres", v.Litres, litres, 1e-9)
}

// Source: the handbook table through PHREEQC's figure: 1 mmol/l is 58.443 mg/l
// and shows 122.92 µS/cm, so 5.8443 g in 100 l of pure water.
func TestSaltFillAgainstPHREEQC(t *testing.T) {
	v, err := SaltFill{SaltG: 5.8443, ECBefore: 0, ECAfter: 122.92}.Volume()
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "litres", v.Litres, 100, 1)
}

func TestTimedFill(t *testing.T) {
	f := TimedFill{JugL: 2, JugSeconds: []float64{20, 20}, FillSeconds: 900}
	v, err := f.Volume()
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "litres", v.Litres, 90, 1e-9)
	f.JugSeconds = []float64{18, 22}
	w, err := f.Volume()
	if err != nil {
		t.Fatal(err)
	}
	if w.Share() <= v.Share() {
		t.Errorf("a wandering tap must widen: %g, %g", v.Share(), w.Share())
	}
}

func TestVolumeMethodsSayWhatIsWrong(t *testing.T) {
	salt := SaltFill{SaltG: 5, ECBefore: 200, ECAfter: 300}
	for field, change := range map[string]func(*SaltFill){
		"salt_g":             func(s *SaltFill) { s.SaltG = -1 },
		"ec_after_us_cm":     func(s *SaltFill) { s.ECAfter = 203 },
		"ec_before_us_cm":    func(s *SaltFill) { s.ECBefore = math.NaN() },
		"jar_salt_g":         func(s *SaltFill) { s.JarL = 1 },
		"jar_ec_after_us_cm": func(s *SaltFill) { s.JarL, s.JarSaltG, s.JarECAfter = 1, 0.1, 150 },
	} {
		s := salt
		change(&s)
		_, err := s.Volume()
		var in *ref.InputError
		if !errors.As(err, &in) || in.Field != field || in.Hint == "" {
			t.Errorf("%s: %#v", field, err)
		}
	}
	timed := TimedFill{JugL: 2, JugSeconds: []float64{20, 21}, FillSeconds: 900}
	for field, change := range map[string]func(*TimedFill){
		"jug_l":        func(f *TimedFill) { f.JugL = 0 },
		"jug_seconds":  func(f *TimedFill) { f.JugSeconds = []float64{20} },
		"fill_seconds": func(f *TimedFill) { f.FillSeconds = -4 },
	} {
		f := timed
		change(&f)
		_, err := f.Volume()
		var in *ref.InputError
		if !errors.As(err, &in) || in.Field != field {
			t.Errorf("%s: %#v", field, err)
		}
	}
}
