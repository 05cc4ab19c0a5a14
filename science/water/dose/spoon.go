package dose

import (
	"math"

	"holdfast/science/ref"
	"holdfast/science/water/unit"
)

// Powder is a salt as it is poured. Its poured density is half that of the
// crystal, and differs threefold between grains, so a spoon is no measure.
type Powder string

// Powders a dip is made with.
const (
	TableSalt Powder = "table_salt"
	FineSalt  Powder = "fine_sea_salt"
	Flakes    Powder = "coarse_flakes"
)

// Poured densities in g/ml, from the grams of one US tablespoon (14.787 ml).
var poured = map[Powder]ref.Param{
	TableSalt: {Value: 18 / 14.78676478125, Low: 16.5 / 14.78676478125, High: 19.5 / 14.78676478125, Unit: "g/ml", Basis: ref.Relative, Source: "usdasr",
		Note: "18 g a level tablespoon in household tables; heaped ones hold half as much again."},
	FineSalt: {Value: 15 / 14.78676478125, Low: 13 / 14.78676478125, High: 17 / 14.78676478125, Unit: "g/ml", Basis: ref.Practice,
		Note: "13 to 17 g a level tablespoon."},
	Flakes: {Value: 10 / 14.78676478125, Low: 8 / 14.78676478125, High: 12 / 14.78676478125, Unit: "g/ml", Basis: ref.Practice,
		Note: "8 to 12 g a level tablespoon."},
}

// CrystalDensity is that of common salt without the air between its grains,
// g/ml; weighing by it would be off by half.
const CrystalDensity = 2.165

// Poured returns the poured density of a powder.
func Poured(p Powder) (ref.Param, error) {
	d, ok := poured[p]
	if !ok {
		return ref.Param{}, ref.Inputf("salt", "Choose table_salt, fine_sea_salt or coarse_flakes, or weigh it.", "no such salt: %q", string(p))
	}
	return d, nil
}

// Spoonful is an amount in level spoons, for want of a scale.
type Spoonful struct {
	// Spoons is the count to the nearest quarter; they may hold Low to High
	// grams.
	Spoons float64 `json:"spoons"`
	Spoon  string  `json:"spoon"`
	LowG   float64 `json:"low_g"`
	HighG  float64 `json:"high_g"`
}

// InSpoons returns how many level spoons (a named unit, such as "tbsp_us" or
// "tsp_metric") of a powder come nearest to grams. The error is a
// *ref.InputError for salt, spoon or amount. A *ref.NoAnswer says that not even
// a quarter spoon is little enough.
func InSpoons(grams float64, p Powder, spoon string) (Spoonful, error) {
	density, err := Poured(p)
	if err != nil {
		return Spoonful{}, err
	}
	litres, err := volumeOf("spoon", spoon)
	if err != nil {
		return Spoonful{}, err
	}
	if !(grams > 0) || math.IsInf(grams, 0) {
		return Spoonful{}, ref.Inputf("amount", "Give grams above zero.", "%g g cannot be spooned", grams)
	}
	ml := 1000 * litres
	spoons := math.Round(4*grams/(ml*density.Value)) / 4
	if spoons == 0 {
		return Spoonful{}, &ref.NoAnswer{Reason: "that is less than a quarter of this spoon: weigh it, or make a stock solution"}
	}
	return Spoonful{Spoons: spoons, Spoon: spoon, LowG: spoons * ml * density.Low, HighG: spoons * ml * density.High}, nil
}

// volumeOf returns the litres of one named spoon or cup.
func volumeOf(field, name string) (float64, error) {
	q, err := unit.ParsePositive(field, "1 "+name, unit.Volume)
	if err != nil {
		return 0, err
	}
	return q.Base(), nil
}
