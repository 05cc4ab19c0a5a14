package water

import (
	"math"

	"holdfast/science/ref"
)

// Reading is what was measured of one water. A reading that nobody took is
// nil: it is never filled in and never enters a result.
type Reading struct {
	TempC *float64 `json:"temp_c,omitempty"`
	PH    *float64 `json:"ph,omitempty"`
	// ECUS is the conductivity in µS/cm at 25 C.
	ECUS *float64 `json:"ec_us_cm,omitempty"`
	// GH and KH are total and carbonate hardness in degrees.
	GH *float64 `json:"gh_dh,omitempty"`
	KH *float64 `json:"kh_dh,omitempty"`
	// TAN is total ammonia, mg/l as N; NO2 and NO3 are nitrite and nitrate, mg/l
	// as the ion.
	TAN *float64 `json:"tan_mg_l_n,omitempty"`
	NO2 *float64 `json:"no2_mg_l,omitempty"`
	NO3 *float64 `json:"no3_mg_l,omitempty"`
	// O2 is dissolved oxygen in mg/l.
	O2 *float64 `json:"o2_mg_l,omitempty"`
}

// Check returns everything that cannot be, one error a field.
func (r Reading) Check() []*ref.InputError {
	var errs []*ref.InputError
	add := func(err error) {
		if in, ok := err.(*ref.InputError); ok {
			errs = append(errs, in)
		}
	}
	if r.PH != nil {
		add(CheckPH("ph", *r.PH))
	}
	for _, f := range []struct {
		field, what string
		v           *float64
		hi          float64
		unit        string
	}{
		{"temp_c", "temperature", r.TempC, 50, "C"},
		{"ec_us_cm", "conductivity", r.ECUS, 20000, "µS/cm"},
		{"gh_dh", "total hardness", r.GH, 60, "degrees"},
		{"kh_dh", "carbonate hardness", r.KH, 60, "degrees"},
		{"tan_mg_l_n", "total ammonia", r.TAN, 1000, "mg/l as N"},
		{"no2_mg_l", "nitrite", r.NO2, 1000, "mg/l"},
		{"no3_mg_l", "nitrate", r.NO3, 5000, "mg/l"},
		{"o2_mg_l", "oxygen", r.O2, 60, "mg/l"},
	} {
		if f.v != nil {
			add(within(f.field, f.what, *f.v, 0, f.hi, f.unit))
		}
	}
	return errs
}

// Portion is some litres of a water.
type Portion struct {
	Litres float64
	Reading
}

// Mix returns what the portions make when poured together.
//
// Everything but pH is the mean weighted by litres, and is known only if it is
// known of every portion. pH is not: it comes from total alkalinity and total
// carbonate, which are, so it needs pH, carbonate hardness and temperature of
// every portion; the mixture is taken as shut off from the air. Total ammonia
// counts into the alkalinity where every portion has it.
//
// The error is a *ref.InputError for a field of the readings, or for litres
// when a portion is below zero or all are nothing. Source: stumm1996
func Mix(portions ...Portion) (Reading, error) {
	total := 0.0
	for _, p := range portions {
		if errs := p.Check(); len(errs) > 0 {
			return Reading{}, errs[0]
		}
		if !(p.Litres >= 0) || math.IsInf(p.Litres, 0) {
			return Reading{}, ref.Inputf("litres", "Give litres, 0 for none.", "%g litres cannot be poured", p.Litres)
		}
		total += p.Litres
	}
	if total == 0 {
		return Reading{}, ref.Inputf("litres", "Give the litres of each water.", "there is nothing to mix")
	}
	mean := func(of func(Reading) *float64) *float64 {
		sum := 0.0
		for _, p := range portions {
			if p.Litres == 0 {
				continue
			}
			v := of(p.Reading)
			if v == nil {
				return nil
			}
			sum += p.Litres / total * *v
		}
		return &sum
	}
	out := Reading{
		TempC: mean(func(r Reading) *float64 { return r.TempC }),
		ECUS:  mean(func(r Reading) *float64 { return r.ECUS }),
		GH:    mean(func(r Reading) *float64 { return r.GH }),
		KH:    mean(func(r Reading) *float64 { return r.KH }),
		TAN:   mean(func(r Reading) *float64 { return r.TAN }),
		NO2:   mean(func(r Reading) *float64 { return r.NO2 }),
		NO3:   mean(func(r Reading) *float64 { return r.NO3 }),
		O2:    mean(func(r Reading) *float64 { return r.O2 }),
	}
	carbon := mean(func(r Reading) *float64 { return r.carbon(out.TAN != nil) })
	if carbon != nil {
		alk, ammonia := out.alkalinity(), out.ammonia(out.TAN != nil)
		c := carbonateAt(*out.TempC, ionicStrength(alk, out.ECUS))
		ph := solvePH(func(h float64) float64 { return c.charges(h, *carbon, ammonia) - alk })
		out.PH = &ph
	}
	return out, nil
}

// alkalinity returns eq/l from the carbonate hardness.
func (r Reading) alkalinity() float64 { return *r.KH * MeqPerDegree / 1000 }

// ammonia returns mol/l of total ammonia, 0 when it is not to be counted.
func (r Reading) ammonia(counts bool) float64 {
	if !counts {
		return 0
	}
	return *r.TAN / 1000 / massN
}

// carbon returns total carbonate in mol/l, nil when a reading is missing.
func (r Reading) carbon(withAmmonia bool) *float64 {
	if r.PH == nil || r.KH == nil || r.TempC == nil {
		return nil
	}
	alk := r.alkalinity()
	c := carbonateAt(*r.TempC, ionicStrength(alk, r.ECUS))
	carbon := c.carbonFor(alk, r.ammonia(withAmmonia), *r.PH)
	return &carbon
}
