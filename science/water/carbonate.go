package water

import (
	"math"

	"holdfast/science/ref"
)

const massCO2 = 44.0095

// airCO2 is the pressure of carbon dioxide in outdoor air, atm. A shut room
// with people in it holds two or three times as much, which lowers the aired
// pH by 0.3 to 0.5.
const airCO2 = 425e-6

// CarbonicPK1 returns the first dissociation constant of carbonic acid as a
// negative logarithm, tempC 0 to 90. Source: plummer1982
func CarbonicPK1(tempC float64) float64 {
	t := kelvin(tempC)
	return 356.3094 + 0.06091964*t - 21834.37/t - 126.8339*math.Log10(t) + 1684915/(t*t)
}

// carbonicPK2 returns the second one. Source: plummer1982
func carbonicPK2(tempC float64) float64 {
	t := kelvin(tempC)
	return 107.8871 + 0.03252849*t - 5151.79/t - 38.92561*math.Log10(t) + 563713.9/(t*t)
}

// henryCO2 returns mol of CO2 in a litre under one atmosphere of it.
// Source: plummer1982
func henryCO2(tempC float64) float64 {
	t := kelvin(tempC)
	return pow10(108.3865 + 0.01985076*t - 6919.53/t - 40.45154*math.Log10(t) + 669365/(t*t))
}

// waterPK returns the negative logarithm of the ion product of water.
// Source: harned1958
func waterPK(tempC float64) float64 {
	t := kelvin(tempC)
	return 4470.99/t - 6.0875 + 0.01706*t
}

// daviesLog returns log10 of a single ion's activity coefficient at an ionic
// strength in mol/l up to about 0.5. Source: stumm1996
func daviesLog(ionic, tempC float64) float64 {
	dielectric := 87.74 - 0.40008*tempC + 9.398e-4*tempC*tempC - 1.41e-6*tempC*tempC*tempC
	a := 1.82483e6 * math.Pow(dielectric*kelvin(tempC), -1.5)
	return -a * (math.Sqrt(ionic)/(1+math.Sqrt(ionic)) - 0.3*ionic)
}

// CO2 returns the dissolved carbon dioxide that goes with an alkalinity and a
// pH, in mg/l.
//
//	[CO2] = 44.0095 · alk · γ · 10^(pK1 - pH)
//
// alkMeqL is in meq/l (carbonate hardness), ph below 8.3, ionic the ionic
// strength in mol/l (0 for ideal; soft tank water about 0.005, which lowers
// the answer by 7 %). It holds only where the alkalinity is carbonate: tannins,
// phosphate buffers and active soils break it.
//
// The errors are a *ref.InputError for kh, ph, temp or ionic, and a
// *ref.NoAnswer above pH 8.3. Source: plummer1982
func CO2(alkMeqL, ph, tempC, ionic float64) (float64, error) {
	err := firstError(
		within("kh", "carbonate hardness", alkMeqL, 0, 20, "meq/l"),
		CheckPH("ph", ph),
		within("temp", "temperature", tempC, 0, 50, "C"),
		within("ionic", "ionic strength", ionic, 0, 0.5, "mol/l"),
	)
	if err != nil {
		return 0, err
	}
	if ph > 8.3 {
		return 0, &ref.NoAnswer{Reason: "above pH 8.3 hardly any carbon dioxide is left and this formula fails"}
	}
	return alkMeqL * massCO2 * pow10(CarbonicPK1(tempC)+daviesLog(ionic, tempC)-ph), nil
}

// carbonate holds the constants at one temperature and ionic strength, for
// concentrations in mol/l and the activity of hydrogen (what a pH meter shows).
type carbonate struct {
	k1, k2, kw, kn float64
	gamma          float64 // activity coefficient of a single charge
}

func carbonateAt(tempC, ionic float64) carbonate {
	log1 := daviesLog(ionic, tempC) // a double charge has four times as much
	return carbonate{
		k1:    pow10(-CarbonicPK1(tempC) - log1),
		k2:    pow10(-carbonicPK2(tempC) + log1 - 4*log1),
		kw:    pow10(-waterPK(tempC) - log1),
		kn:    pow10(-AmmoniaPKa(tempC, 0)),
		gamma: pow10(log1),
	}
}

// charges returns the alkalinity in eq/l that total carbonate and total
// ammonia (mol/l) make at hydrogen ion activity h.
func (c carbonate) charges(h, carbon, ammonia float64) float64 {
	d := h*h + c.k1*h + c.k1*c.k2
	return carbon*(c.k1*h+2*c.k1*c.k2)/d + ammonia*c.kn/(c.kn+h) + c.kw/h - h/c.gamma
}

// carbonFor returns the total carbonate in mol/l that goes with an alkalinity
// in eq/l and a total ammonia in mol/l at a pH; 0 when the rest alone makes up
// the alkalinity.
func (c carbonate) carbonFor(alk, ammonia, ph float64) float64 {
	h := pow10(-ph)
	d := h*h + c.k1*h + c.k1*c.k2
	return math.Max(0, (alk-c.charges(h, 0, ammonia))*d/(c.k1*h+2*c.k1*c.k2))
}

// ionicStrength estimates mol/l from an alkalinity in eq/l and, where it was
// measured, a conductivity in µS/cm at 25 C. Source: griffin1973
func ionicStrength(alk float64, ec *float64) float64 {
	i := math.Max(alk, 0)
	if ec != nil {
		i = math.Max(i, 1.27e-5**ec)
	}
	return math.Min(i, 0.5)
}

// solvePH returns the pH at which f, which grows with pH, is zero.
func solvePH(f func(h float64) float64) float64 {
	lo, hi := 0.0, 14.0
	for range 60 {
		mid := (lo + hi) / 2
		if f(pow10(-mid)) < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// airedPH returns the pH of water whose carbon dioxide is in balance with air
// that holds co2 atm of it; alk in eq/l, total ammonia in mol/l.
func airedPH(alk, ammonia, tempC, co2 float64) float64 {
	c := carbonateAt(tempC, ionicStrength(alk, nil))
	gas := henryCO2(tempC) * co2
	return solvePH(func(h float64) float64 {
		carbon := gas * (1 + c.k1/h + c.k1*c.k2/(h*h))
		return c.charges(h, carbon, ammonia) - alk
	})
}

// AiredPH returns the pH that water of a carbonate hardness comes to when air
// has driven its surplus carbon dioxide out: what a bag rises to after it is
// opened and what a tank with air running keeps. alkMeqL in meq/l, tempC 0 to
// 50. Room air and plants move it by half a unit. Source: plummer1982
func AiredPH(alkMeqL, tempC float64) (float64, error) {
	err := firstError(
		within("kh", "carbonate hardness", alkMeqL, 0, 20, "meq/l"),
		within("temp", "temperature", tempC, 0, 50, "C"),
	)
	if err != nil {
		return 0, err
	}
	return airedPH(alkMeqL/1000, 0, tempC, airCO2), nil
}
