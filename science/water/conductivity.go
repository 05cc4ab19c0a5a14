package water

import (
	"math"

	"holdfast/science/ref"
)

// Temperature coefficients of conductivity per degree: StandardMethods for
// natural water, MeterDefault as most pocket meters have it.
const (
	ConductivityStandardMethods = 0.0191
	ConductivityMeterDefault    = 0.02
)

// Conductivity25 returns what a conductivity measured without temperature
// correction would be at 25 C.
//
//	EC25 = EC / (1 + a (t - 25))
//
// ec is in any unit, tempC 0 to 40, a one of the coefficients above. Most
// meters correct by themselves: then this must not be used again.
// Source: standardmethods
func Conductivity25(ec, tempC, a float64) float64 { return ec / (1 + a*(tempC-25)) }

// ConductivityFromTDS returns EC25 in µS/cm behind a TDS meter's figure in
// ppm. factor is the meter's own, between 0.4 and 1: 0.5 (NaCl scale), 0.64 or
// 0.7 (natural water). Two meters on one water differ by 40 %, so a TDS
// without its factor is refused. The error is a *ref.InputError for factor or
// tds.
func ConductivityFromTDS(tds, factor float64) (float64, error) {
	if factor == 0 {
		return 0, ref.Inputf("factor", "Look in the meter's leaflet: 0.5, 0.64 or 0.7.", "a TDS reading means nothing without the meter's factor")
	}
	err := firstError(
		within("factor", "TDS factor", factor, 0.4, 1, ""),
		within("tds", "TDS", tds, 0, 1e5, "ppm"),
	)
	return tds / factor, err
}

// molarConductivity lists the conductivity of common salt at 25 C in
// S cm²/mol by the square root of its concentration in mol/l.
// Source: crcconductivity
var molarConductivity = [][2]float64{
	{0, 126.39}, {0.0005, 124.44}, {0.001, 123.68}, {0.005, 120.59}, {0.01, 118.45},
	{0.02, 115.70}, {0.05, 111.01}, {0.1, 106.69},
}

const massNaCl = 58.443

// saltConductivity returns EC25 in µS/cm of a salt solution of mgL mg/l, up to
// 0.1 mol/l, interpolated in the square root of the concentration.
func saltConductivity(mgL float64) float64 {
	c := mgL / 1000 / massNaCl
	for i := 1; i < len(molarConductivity); i++ {
		lo, hi := molarConductivity[i-1], molarConductivity[i]
		if c <= hi[0] || i == len(molarConductivity)-1 {
			at := (math.Sqrt(c) - math.Sqrt(lo[0])) / (math.Sqrt(hi[0]) - math.Sqrt(lo[0]))
			return 1000 * c * (lo[1] + at*(hi[1]-lo[1])) // S cm²/mol · mol/l = mS/cm
		}
	}
	return 0
}

// SaltForConductivity returns how many mg/l of common salt raise the
// conductivity of a water from ec0 to ec1 (µS/cm, both at 25 C). The water's
// own salts are treated as if they were common salt too: they only set where
// on the curve the rise begins. The error is a *ref.InputError for ec_before
// or ec_after. Source: crcconductivity
func SaltForConductivity(ec0, ec1 float64) (float64, error) {
	err := firstError(
		within("ec_before", "conductivity before", ec0, 0, 8000, "µS/cm"),
		within("ec_after", "conductivity after", ec1, 0, 8000, "µS/cm"),
	)
	if err == nil && ec1 <= ec0 {
		err = ref.Inputf("ec_after", "Stir, wait and read again.", "the conductivity did not rise (%g to %g µS/cm)", ec0, ec1)
	}
	if err != nil {
		return 0, err
	}
	return saltFor(ec1) - saltFor(ec0), nil
}

// saltFor inverts saltConductivity by bisection.
func saltFor(ec float64) float64 {
	lo, hi := 0.0, 6000.0
	for range 60 {
		mid := (lo + hi) / 2
		if saltConductivity(mid) < ec {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
