package water

import "math"

// standardConductivity is that of sea water of salinity 35 at 15 C, mS/cm.
const standardConductivity = 42.914

var (
	pssA = [...]float64{0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081}
	pssB = [...]float64{0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144}
	pssC = [...]float64{0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9}
)

// SalinityFromConductivity returns the practical salinity of sea water (or
// diluted sea salt) from its uncorrected conductivity in mS/cm.
//
// tempC is -2 to 35 on the 1968 scale (1.00024 times today's), pressure in
// dbar, 0 at the surface. Below salinity 2 the 1986 extension for diluted sea
// water is used. It is not meant for common salt. The error is a
// *ref.InputError for ec or temp. Source: fofonoff1983, hill1986
func SalinityFromConductivity(mSCm, tempC, pressure float64) (float64, error) {
	err := firstError(
		within("ec", "conductivity", mSCm, 0, 80, "mS/cm"),
		within("temp", "temperature", tempC, -2, 35, "C"),
	)
	if err != nil {
		return 0, err
	}
	rt := conductivityRatio(mSCm, tempC, pressure)
	sp := practicalSalinity(rt, tempC)
	if sp >= 2 {
		return sp, nil
	}
	return dilute(rt, tempC, sp) * 2 / dilute(ratioAtTwo(tempC), tempC, 2), nil
}

// conductivityRatio returns the ratio at the sample's own temperature and
// surface pressure, Rt.
func conductivityRatio(mSCm, t, p float64) float64 {
	r := mSCm / standardConductivity
	rt35 := pssC[0] + t*(pssC[1]+t*(pssC[2]+t*(pssC[3]+t*pssC[4])))
	rp := 1 + p*(2.070e-5+p*(-6.370e-10+p*3.989e-15))/
		(1+t*(3.426e-2+t*4.464e-4)+r*(4.215e-1-t*3.107e-3))
	return r / (rp * rt35)
}

func practicalSalinity(rt, t float64) float64 {
	x := math.Sqrt(math.Max(rt, 0))
	var a, b float64
	for i := len(pssA) - 1; i >= 0; i-- {
		a = a*x + pssA[i]
		b = b*x + pssB[i]
	}
	return a + temperatureTerm(t)*b
}

func temperatureTerm(t float64) float64 { return (t - 15) / (1 + 0.0162*(t-15)) }

// dilute takes from sp what the 1978 scale adds at low salinity.
func dilute(rt, t, sp float64) float64 {
	x := 400 * math.Max(rt, 0)
	y := math.Sqrt(100 * math.Max(rt, 0))
	return sp - pssA[0]/(1+1.5*x+x*x) - pssB[0]*temperatureTerm(t)/(1+y+y*y+y*y*y)
}

// ratioAtTwo returns the ratio at which the 1978 scale gives 2, by bisection.
func ratioAtTwo(t float64) float64 {
	lo, hi := 0.0, 0.2
	for range 60 {
		mid := (lo + hi) / 2
		if practicalSalinity(mid, t) < 2 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
