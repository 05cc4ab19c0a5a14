package water

import "math"

const (
	kPaPerAtm = 101.325
	// mgPerML is the mass of a millilitre of oxygen at 0 C and 1 atm, in mg.
	mgPerML = 1.42905
)

// OxygenSaturation returns the oxygen that water in contact with moist air
// holds, in mg/l.
//
//	ln C = -139.34411 + 1.575701e5/T - 6.642308e7/T² + 1.243800e10/T³ - 8.621949e11/T⁴
//	       - S (1.7674e-2 - 10.754/T + 2140.7/T²)
//
// tempC is 0 to 40 C, pressureKPa the true (station) pressure, 50 to 110 kPa,
// 101.325 at sea level; salinity 0 to 45 g/kg. Pressure acts through the dry
// part of the air, so 0.9 atm holds 0.898 of the oxygen at 20 C, not 0.9.
// The error is a *ref.InputError for temp, pressure or salinity.
// Source: benson1984
func OxygenSaturation(tempC, pressureKPa, salinity float64) (float64, error) {
	err := firstError(
		within("temp", "temperature", tempC, 0, 40, "C"),
		within("pressure", "pressure", pressureKPa, 50, 110, "kPa"),
		within("salinity", "salinity", salinity, 0, 45, "g/kg"),
	)
	if err != nil {
		return 0, err
	}
	return oxygenAtOneAtm(tempC, salinity) * oxygenPressureFactor(tempC, pressureKPa/kPaPerAtm), nil
}

func oxygenAtOneAtm(tempC, salinity float64) float64 {
	t := kelvin(tempC)
	return math.Exp(-139.34411 + 1.575701e5/t - 6.642308e7/(t*t) + 1.243800e10/(t*t*t) - 8.621949e11/(t*t*t*t) -
		salinity*(1.7674e-2-10.754/t+2140.7/(t*t)))
}

// oxygenPressureFactor returns the saturation at p atm over that at one.
func oxygenPressureFactor(tempC, p float64) float64 {
	if p == 1 {
		return 1
	}
	vapour := VapourPressureAtm(tempC)
	theta := 0.000975 - 1.426e-5*tempC + 6.436e-8*tempC*tempC
	return p * (1 - vapour/p) * (1 - theta*p) / ((1 - vapour) * (1 - theta))
}

// VapourPressureAtm returns the pressure of water vapour over fresh water in
// atm, tempC 0 to 40. Source: benson1984
func VapourPressureAtm(tempC float64) float64 {
	t := kelvin(tempC)
	return math.Exp(11.8571 - 3840.70/t - 216961/(t*t))
}

// oxygenByWeiss returns the saturation at one atmosphere by an older, separate
// fit, in mg/l; tests hold it against OxygenSaturation. Source: weiss1970
func oxygenByWeiss(tempC, salinity float64) float64 {
	t := kelvin(tempC) / 100
	return mgPerML * math.Exp(-173.4292+249.6339/t+143.3483*math.Log(t)-21.8492*t+
		salinity*(-0.033096+0.014259*t-0.0017000*t*t))
}

// PressureAtAltitude returns the air pressure of the standard atmosphere in
// kPa; metres is the height above the sea, -400 to 5000. Weather moves it by
// up to 4 %. Source: icao1993
func PressureAtAltitude(metres float64) (float64, error) {
	if err := within("altitude", "height above the sea", metres, -400, 5000, "m"); err != nil {
		return 0, err
	}
	return kPaPerAtm * math.Pow(1-2.25577e-5*metres, 5.25588), nil
}
