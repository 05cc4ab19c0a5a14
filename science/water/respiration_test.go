package water

import (
	"errors"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/ref"
)

func perGram(t *testing.T, rate func(Animals, float64) (Rate, error), mass, temp float64) Rate {
	t.Helper()
	r, err := rate(Animals{Count: 1, MassG: mass}, temp)
	if err != nil {
		t.Fatal(err)
	}
	return Rate{r.Value / mass, r.Low / mass, r.High / mass}
}

// Source: Liu et al. 2010, abstract: 0.1497 to 0.9053 mg of oxygen and 0.0165 to
// 0.0866 mg of ammonia a gram and hour between 12 C with 1.93 g and 30 C with
// 0.12 g. Two separate fits are joined here, so the corners agree to a seventh
// (oxygen) and to a fifth (ammonia).
func TestRespirationAtTheCornersOfTheTrial(t *testing.T) {
	closeTo(t, "oxygen, cold and large", perGram(t, OxygenUse, 1.93, 12).Value, 0.1497, 0.15*0.1497)
	closeTo(t, "oxygen, warm and small", perGram(t, OxygenUse, 0.12, 30).Value, 0.9053, 0.15*0.9053)
	closeTo(t, "ammonia, cold and large", perGram(t, AmmoniaOutput, 1.93, 12).Value, 0.0165, 0.2*0.0165)
	closeTo(t, "ammonia, warm and small", perGram(t, AmmoniaOutput, 0.12, 30).Value, 0.0866, 0.2*0.0866)
}

// Other sources must fall between Low and High: whiteleg shrimp of 0.15 g at
// 20 C 0.0060 mg/g/min (Villarreal et al. 1994, abstract); the general rule for
// crustaceans 0.125 ml W^0.759 an hour at 20 C (Sushchenya 1972, from memory).
func TestRespirationAgainstOtherSources(t *testing.T) {
	r := perGram(t, OxygenUse, 0.15, 20)
	for name, got := range map[string]float64{"whiteleg shrimp": 0.0060 * 60, "crustaceans": 0.125 * 0.2370 * 1.429 / 0.15} {
		if got < r.Low || got > r.High {
			t.Errorf("%s take %g mg/g/h, outside %g to %g", name, got, r.Low, r.High)
		}
	}
}

func TestRespirationProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Animals{Count: rapid.IntRange(1, 500).Draw(t, "n"), MassG: rapid.Float64Range(0.02, 3).Draw(t, "mass")}
		temp := rapid.Float64Range(10, 30).Draw(t, "temp")
		litres := rapid.Float64Range(1, 300).Draw(t, "litres")
		r, err := OxygenUse(a, temp)
		if err != nil {
			t.Fatal(err)
		}
		warmer, _ := OxygenUse(a, temp+1)
		if !(r.Low < r.Value && r.Value < r.High && r.Value < warmer.Value) {
			t.Fatalf("%+v, warmer %+v", r, warmer)
		}
		s, err := WhenAirFails(a, litres, temp, 8)
		if err != nil {
			t.Fatal(err)
		}
		if !(s.HoursToFive.Low < s.HoursToFive.High && s.HoursToFive.Value*2-s.HoursToTwo.Value < 1e-9*s.HoursToTwo.Value) {
			t.Fatalf("8 to 5 takes half as long as 8 to 2: %+v", s)
		}
		bigger, _ := WhenAirFails(a, 2*litres, temp, 8)
		if bigger.AmmoniaADay.Value >= s.AmmoniaADay.Value || bigger.HoursToTwo.Value <= s.HoursToTwo.Value {
			t.Fatal("more water gives more time")
		}
	})
	if s, err := WhenAirFails(Animals{10, 0.2}, 10, 24, 1); err != nil || s.HoursToTwo.Value != 0 {
		t.Errorf("below 2 mg/l no time is left: %+v, %v", s, err)
	}
}

func TestRespirationRefuses(t *testing.T) {
	for field, f := range map[string]func() error{
		"count":  func() error { _, err := WhenAirFails(Animals{0, 0.2}, 10, 24, 8); return err },
		"mass":   func() error { _, err := OxygenUse(Animals{10, 900}, 24); return err },
		"temp":   func() error { _, err := AmmoniaOutput(Animals{10, 0.2}, 60); return err },
		"volume": func() error { _, err := WhenAirFails(Animals{10, 0.2}, -1, 24, 8); return err },
		"o2":     func() error { _, err := WhenAirFails(Animals{10, 0.2}, 10, 24, -1); return err },
	} {
		var in *ref.InputError
		if err := f(); !errors.As(err, &in) || in.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
}
