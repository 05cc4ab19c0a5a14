package water

import (
	"math"

	"holdfast/science/ref"
)

// SaltFill finds the litres of a tank from common salt stirred into it and the
// rise of its conductivity: the way for odd shapes and full filters. All
// conductivities are in µS/cm at 25 C, read with one meter.
type SaltFill struct {
	SaltG    float64 `json:"salt_g"`
	ECBefore float64 `json:"ec_before_us_cm"`
	ECAfter  float64 `json:"ec_after_us_cm"`
	// A jar of the tank's own water with weighed salt takes the meter's scale and
	// the water's own salts out of the sum; all zero without one.
	JarSaltG   float64 `json:"jar_salt_g,omitempty"`
	JarL       float64 `json:"jar_l,omitempty"`
	JarECAfter float64 `json:"jar_ec_after_us_cm,omitempty"`
	// WeighErrorG is how far each weighing may be off; 0 takes 0.02 g.
	WeighErrorG float64 `json:"weigh_error_g,omitempty"`
}

// The doubts of the salt method that nobody measured.
var (
	// MeterStep is the half width of one conductivity reading, beside 1 % of it.
	MeterStep = ref.Param{Value: 2, Low: 1, High: 5, Unit: "µS/cm", Basis: ref.Guess,
		Note: "Half width of a pocket meter's reading after stirring and waiting."}
	// CurveError is how far salt's conductivity curve may be off in tank water.
	CurveError = ref.Param{Value: 0.03, Low: 0.02, High: 0.06, Unit: "share", Basis: ref.Guess,
		Note: "Meter scale, salt purity and the water's own salts, without a jar."}
)

// Volume returns the litres that the salt met.
//
//	V = salt / (c(after) - c(before))
//
// c is the salt concentration that shows a conductivity; with a jar the rise in
// the jar replaces c. Low and High as in Tank.Volume. The error is a
// *ref.InputError with the field's JSON name. Source: crcconductivity, jcgm100
func (s SaltFill) Volume() (Volume, error) {
	if err := s.check(); err != nil {
		return Volume{}, err
	}
	litres, err := s.litres()
	if err != nil {
		return Volume{}, err
	}
	v := Volume{Litres: litres, Parts: []Part{{Name: "By salt and conductivity", Litres: litres}}}
	weigh := s.WeighErrorG
	if weigh == 0 {
		weigh = 0.02
	}
	reading := func(ec float64) float64 { return MeterStep.Value + 0.01*ec }
	moved := func(field string, change func(*SaltFill)) Doubt {
		o := s
		change(&o)
		l, err := o.litres()
		if err != nil { // the rise is lost in the meter's error
			l = 2 * litres
		}
		return Doubt{field, math.Abs(l - litres)}
	}
	doubts := []Doubt{
		moved("salt_g", func(o *SaltFill) { o.SaltG += weigh }),
		moved("ec_before_us_cm", func(o *SaltFill) { o.ECBefore += reading(o.ECBefore) }),
		moved("ec_after_us_cm", func(o *SaltFill) { o.ECAfter -= reading(o.ECAfter) }),
	}
	if s.JarL > 0 {
		doubts = append(doubts,
			moved("jar_salt_g", func(o *SaltFill) { o.JarSaltG += weigh }),
			moved("jar_l", func(o *SaltFill) { o.JarL *= 1.01 }),
			moved("jar_ec_after_us_cm", func(o *SaltFill) { o.JarECAfter += reading(o.JarECAfter) }))
	} else {
		doubts = append(doubts, Doubt{"jar_l", CurveError.Value * litres})
	}
	v.spread(doubts)
	return v, nil
}

func (s SaltFill) check() error {
	err := firstError(
		within("salt_g", "mass of salt", s.SaltG, 0.1, 1e5, "g"),
		within("ec_before_us_cm", "conductivity before", s.ECBefore, 0, 8000, "µS/cm"),
		within("ec_after_us_cm", "conductivity after", s.ECAfter, 0, 8000, "µS/cm"),
		within("weigh_error_g", "error of the scale", s.WeighErrorG, 0, 100, "g"),
	)
	if err == nil && (s.JarL > 0 || s.JarSaltG > 0 || s.JarECAfter > 0) {
		err = firstError(
			within("jar_l", "jar", s.JarL, 0.05, 20, "l"),
			within("jar_salt_g", "salt in the jar", s.JarSaltG, 0.01, 50, "g"),
			within("jar_ec_after_us_cm", "conductivity of the jar", s.JarECAfter, 0, 20000, "µS/cm"),
		)
	}
	if err == nil && s.ECAfter-s.ECBefore < 10 {
		err = ref.Inputf("ec_after_us_cm", "Add salt until the meter rises by at least 50 µS/cm.",
			"a rise of %.0f µS/cm is too small to read", s.ECAfter-s.ECBefore)
	}
	return err
}

func (s SaltFill) litres() (float64, error) {
	rise := s.ECAfter - s.ECBefore
	if s.JarL > 0 {
		perRise := s.JarECAfter - s.ECBefore
		if perRise <= 0 || rise <= 0 {
			return 0, ref.Inputf("jar_ec_after_us_cm", "Stir the jar and read again.", "the jar's conductivity did not rise")
		}
		return s.SaltG / (s.JarSaltG / s.JarL) * perRise / rise, nil
	}
	mgL, err := SaltForConductivity(s.ECBefore, s.ECAfter)
	if err != nil {
		return 0, err
	}
	return 1000 * s.SaltG / mgL, nil
}

// SaltToMeasure returns the grams of salt that raise the conductivity of about
// litres of water from ec to ec + rise (µS/cm). Animals feel the rise: keep it
// below what their kind takes in an hour. The error is a *ref.InputError.
func SaltToMeasure(litres, ec, rise float64) (float64, error) {
	err := firstError(
		within("volume", "guessed volume", litres, 0.5, 1e5, "l"),
		within("rise", "rise", rise, 10, 1000, "µS/cm"),
	)
	if err != nil {
		return 0, err
	}
	mgL, err := SaltForConductivity(ec, ec+rise)
	return litres * mgL / 1000, err
}
