package water

import "math"

// SeaWaterDensity returns the density of sea salt dissolved in water at one
// atmosphere, in kg/m³ (the 1980 equation of state).
//
// tempC is -2 to 40 C, salinity on the practical scale, close to g/kg, 0 to 42.
// Common salt differs: use BrineDensity for it. The error is a *ref.InputError
// for temp or salinity. Source: fofonoff1983
func SeaWaterDensity(tempC, salinity float64) (float64, error) {
	err := firstError(
		within("temp", "temperature", tempC, -2, 40, "C"),
		within("salinity", "salinity", salinity, 0, 42, "g/kg"),
	)
	if err != nil {
		return 0, err
	}
	return seaWaterDensity(tempC, salinity), nil
}

func seaWaterDensity(t, s float64) float64 {
	a := 8.24493e-1 + t*(-4.0899e-3+t*(7.6438e-5+t*(-8.2467e-7+t*5.3875e-9)))
	b := -5.72466e-3 + t*(1.0227e-4-t*1.6546e-6)
	return freshWaterDensity(t) + a*s + b*s*math.Sqrt(s) + 4.8314e-4*s*s
}

// freshWaterDensity returns the density of pure water in kg/m³.
// Source: fofonoff1983
func freshWaterDensity(t float64) float64 {
	return 999.842594 + t*(6.793952e-2+t*(-9.095290e-3+t*(1.001685e-4+t*(-1.120083e-6+t*6.536332e-9))))
}

// SaltSolubility is how much common salt water takes up, as a share of the
// solution's mass at 20 C; it hardly changes with temperature.
const SaltSolubility = 0.264

// brineAt20 lists the density of common salt in water at 20 C in kg/m³ by its
// share of the mass. Source: perry1997
var brineAt20 = [][2]float64{
	{0, 998.21}, {0.005, 1001.8}, {0.01, 1005.3}, {0.02, 1012.5}, {0.03, 1019.6}, {0.04, 1026.8}, {0.05, 1034.0},
	{0.06, 1041.3}, {0.07, 1048.6}, {0.08, 1055.9}, {0.09, 1063.3}, {0.10, 1070.7}, {0.12, 1085.7}, {0.14, 1100.8},
	{0.16, 1116.2}, {0.18, 1131.9}, {0.20, 1147.8}, {0.22, 1164.0}, {0.24, 1180.4}, {0.26, 1197.2},
}

// BrineDensity returns the density of common salt (NaCl) in water in kg/m³:
// the handbook's figure at 20 C, moved to tempC by a fitted model.
//
//	ρ(t) = ρ20 + m(t) - m(20),  1/m = (1-w)/ρ0 + w v,  v = (w + c2 + c3 t) / ((c0 w + c1) exp(1e-6 (t + c4)²))
//
// share is the mass of salt over the mass of solution, 0 to 0.264 (saturated);
// tempC is 0 to 40. Accuracy: within 0.0005 g/ml of printed tables from 10 to
// 40 C, 0.0015 at 0 C (TestBrineDensityAtOtherTemperatures). The error is a
// *ref.InputError for salt or temp. Source: perry1997, laliberte2004
func BrineDensity(tempC, share float64) (float64, error) {
	err := firstError(
		within("temp", "temperature", tempC, 0, 40, "C"),
		within("salt", "share of salt", share, 0, SaltSolubility, ""),
	)
	if err != nil {
		return 0, err
	}
	i := 1
	for i < len(brineAt20)-1 && share > brineAt20[i][0] {
		i++
	}
	lo, hi := brineAt20[i-1], brineAt20[i]
	at20 := lo[1] + (hi[1]-lo[1])*(share-lo[0])/(hi[0]-lo[0])
	return at20 + brineModel(tempC, share) - brineModel(20, share), nil
}

func brineModel(tempC, share float64) float64 {
	const c0, c1, c2, c3, c4 = -0.00324112223655149, 0.0636354335906616, 1.01371399467365, 0.0145951015210159, 3317.34854426537
	volume := (share + c2 + c3*tempC) / ((c0*share + c1) * math.Exp(1e-6*(tempC+c4)*(tempC+c4)))
	return 1 / ((1-share)/freshWaterDensity(tempC) + share*volume)
}

// Brine is common salt stirred into water, in every way that people state it.
type Brine struct {
	SaltG  float64 `json:"salt_g"`
	WaterL float64 `json:"water_l"`
	// GPerLWater is grams to each litre of water taken.
	GPerLWater float64 `json:"g_per_l_water"`
	// GPerL is grams in each litre of the finished brine.
	GPerL float64 `json:"g_per_l"`
	// Share is salt over the whole by mass (a per cent w/w is a hundredth).
	Share  float64 `json:"share"`
	KgM3   float64 `json:"kg_m3"`
	Litres float64 `json:"litres"`
	// SeaWater is GPerL over that of sea water (35.9 g/l).
	SeaWater float64 `json:"sea_water"`
}

// seaWaterGPerL is the salt in a litre of sea water of salinity 35 at 20 C.
const seaWaterGPerL = 35.9

// MixBrine returns what saltG grams of common salt in waterL litres of fresh
// water make at tempC. The error is a *ref.InputError for salt, volume or
// temp; more salt than dissolves is refused.
func MixBrine(saltG, waterL, tempC float64) (Brine, error) {
	err := firstError(
		within("temp", "temperature", tempC, 0, 40, "C"),
		within("salt", "mass of salt", saltG, 0, 1e6, "g"),
		within("volume", "volume of water", waterL, 1e-3, 1e5, "l"),
	)
	if err != nil {
		return Brine{}, err
	}
	waterG := waterL * freshWaterDensity(tempC)
	b := Brine{SaltG: saltG, WaterL: waterL, GPerLWater: saltG / waterL, Share: saltG / (saltG + waterG)}
	if b.Share > SaltSolubility {
		return Brine{}, within("salt", "share of salt", b.Share, 0, SaltSolubility, "(no more dissolves)")
	}
	if b.KgM3, err = BrineDensity(tempC, b.Share); err != nil {
		return Brine{}, err
	}
	b.Litres = (saltG + waterG) / b.KgM3
	b.GPerL = saltG / b.Litres
	b.SeaWater = b.GPerL / seaWaterGPerL
	return b, nil
}
