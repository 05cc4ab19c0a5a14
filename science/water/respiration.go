package water

import (
	"math"

	"holdfast/science/ref"
)

// Respiration of shrimp, fitted to a freshwater glass prawn of the Palaemonidae
// (12 to 30 C, 0.12 to 1.93 g). No figures for dwarf Atyidae were found; a
// general rule for crustaceans gives little more than half as much.
var (
	OxygenPerGram = ref.Param{Value: 0.3114, Low: 0.15, High: 0.65, Unit: "mg/g/h", Basis: ref.Relative, Source: "liu2010",
		Note: "Oxygen taken by an animal of 1 g at 21 C, the middle of the trial; a frightened or crowded one takes more."}
	OxygenMassPower = ref.Param{Value: -0.2414, Low: -0.35, High: -0.15, Unit: "power", Basis: ref.Relative, Source: "liu2010",
		Note: "How oxygen for each gram falls as the animal grows."}
	OxygenWarmth = ref.Param{Value: 0.0749, Low: 0.05, High: 0.1, Unit: "1/C", Basis: ref.Relative, Source: "liu2010",
		Note: "Rise for each degree; ten degrees double it."}
	AmmoniaPerGram = ref.Param{Value: 0.0307, Low: 0.012, High: 0.08, Unit: "mg/g/h", Basis: ref.Relative, Source: "liu2010",
		Note: "Total ammonia as N given off by an animal of 1 g at 21 C; a starved one gives less."}
	AmmoniaMassPower = ref.Param{Value: -0.3007, Low: -0.45, High: -0.15, Unit: "power", Basis: ref.Relative, Source: "liu2010",
		Note: "How ammonia for each gram falls as the animal grows."}
	AmmoniaWarmth = ref.Param{Value: 0.0530, Low: 0.03, High: 0.08, Unit: "1/C", Basis: ref.Relative, Source: "liu2010",
		Note: "Rise for each degree."}
	// OxygenEnough and OxygenFails bound what shrimp can live in.
	OxygenEnough = ref.Param{Value: 5, Low: 4, High: 6, Unit: "mg/l", Basis: ref.Practice, Note: "Keep above it."}
	OxygenFails  = ref.Param{Value: 2, Low: 1.3, High: 3, Unit: "mg/l", Basis: ref.Practice, Note: "Animals fail below it."}
)

// middleC is the temperature at which the mass laws above were averaged.
const middleC = 21

// Animals is a group of one size.
type Animals struct {
	Count int `json:"count"`
	// MassG is one animal's weight in grams: a 2 cm dwarf shrimp about 0.1, a
	// grown one 0.15 to 0.3.
	MassG float64 `json:"mass_g"`
}

// Rate is a figure with the range that its parameters leave.
type Rate struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// OxygenUse returns the oxygen that animals take in mg/h.
//
//	R = n · W · a · W^b · exp(k (t - 21))
//
// Low and High move the rate for one gram to its bounds; the other parameters
// stay. tempC is 5 to 35. The error is a *ref.InputError for count, mass or
// temp. Source: liu2010
func OxygenUse(a Animals, tempC float64) (Rate, error) {
	return a.rate(OxygenPerGram, OxygenMassPower, OxygenWarmth, tempC)
}

// AmmoniaOutput returns the total ammonia, as N, that animals give off in
// mg/h; as OxygenUse. Source: liu2010
func AmmoniaOutput(a Animals, tempC float64) (Rate, error) {
	return a.rate(AmmoniaPerGram, AmmoniaMassPower, AmmoniaWarmth, tempC)
}

func (a Animals) rate(perGram, power, warmth ref.Param, tempC float64) (Rate, error) {
	err := firstError(
		within("count", "number of animals", float64(a.Count), 0, 1e6, ""),
		within("mass", "mass of one animal", a.MassG, 0.001, 50, "g"),
		within("temp", "temperature", tempC, 5, 35, "C"),
	)
	if err != nil {
		return Rate{}, err
	}
	unit := float64(a.Count) * a.MassG * math.Pow(a.MassG, power.Value) * math.Exp(warmth.Value*(tempC-middleC))
	return Rate{unit * perGram.Value, unit * perGram.Low, unit * perGram.High}, nil
}

// Still is what happens in a tank whose air and filter have stopped.
type Still struct {
	// HoursToFive and HoursToTwo are how long the oxygen lasts to 5 and 2 mg/l
	// when nothing but the animals takes it and none comes in; Low is the safer.
	HoursToFive Rate `json:"hours_to_five"`
	HoursToTwo  Rate `json:"hours_to_two"`
	// AmmoniaADay is the rise of total ammonia in mg/l as N a day without a
	// filter.
	AmmoniaADay Rate `json:"ammonia_a_day"`
}

// WhenAirFails returns how long animals in litres of water have, from oxygen o2
// in mg/l. Bacteria, plants at night and solvents take oxygen too, the surface
// lets some in; neither is counted, so act at Low. The error is a
// *ref.InputError.
func WhenAirFails(a Animals, litres, tempC, o2 float64) (Still, error) {
	err := firstError(
		within("volume", "volume", litres, 0.05, 1e6, "l"),
		within("o2", "oxygen", o2, 0, 60, "mg/l"),
		within("count", "number of animals", float64(a.Count), 1, 1e6, ""),
	)
	if err != nil {
		return Still{}, err
	}
	use, err := OxygenUse(a, tempC)
	if err != nil {
		return Still{}, err
	}
	ammonia, err := AmmoniaOutput(a, tempC)
	if err != nil {
		return Still{}, err
	}
	last := func(to float64) Rate {
		spare := math.Max(0, o2-to) * litres
		return Rate{spare / use.Value, spare / use.High, spare / use.Low}
	}
	day := 24 / litres
	return Still{
		HoursToFive: last(OxygenEnough.Value), HoursToTwo: last(OxygenFails.Value),
		AmmoniaADay: Rate{day * ammonia.Value, day * ammonia.Low, day * ammonia.High},
	}, nil
}
