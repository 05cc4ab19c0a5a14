package acclimate

import (
	"math"

	"holdfast/science/ref"
	"holdfast/science/water"
)

// Bag is a closed bag on the road.
type Bag struct {
	WaterL float64 `json:"water_l"`
	GasL   float64 `json:"gas_l"`
	// OxygenShare of the gas: 0.21 for air, about 0.9 when filled from a
	// cylinder.
	OxygenShare float64       `json:"oxygen_share"`
	Animals     water.Animals `json:"animals"`
	TempC       float64       `json:"temp_c"`
	// Hours since it was closed.
	Hours float64 `json:"hours"`
}

// FilledFromCylinder is the oxygen in a bag that was pressed flat and filled.
var FilledFromCylinder = ref.Param{Value: 0.9, Low: 0.6, High: 0.98, Unit: "share", Basis: ref.Guess,
	Note: "Share of oxygen in the gas of a bag filled from a cylinder."}

// Left is what a bag still holds.
type Left struct {
	// Hours from closing until the water holds no more than 2 mg/l; plan with
	// Low.
	Hours water.Rate `json:"hours"`
	// LateHours is how much later than now the box may be; below zero when its
	// time is over.
	LateHours water.Rate `json:"late_hours"`
	// AmmoniaMgL is the total ammonia given off so far, mg/l as N; the low pH of
	// a closed bag keeps most of it harmless.
	AmmoniaMgL water.Rate `json:"ammonia_mg_l_n"`
}

// gasMgPerL returns the oxygen in a litre of pure oxygen gas at one atmosphere
// less its water vapour, mg.
func gasMgPerL(tempC float64) float64 {
	const gasConstant, mgPerMol = 0.082057, 31998.0 // l atm/(mol K)
	return (1 - water.VapourPressureAtm(tempC)) / (gasConstant * (tempC + 273.15)) * mgPerMol
}

// airShare is the share of oxygen in air.
const airShare = 0.2095

// Oxygen returns how long the oxygen of the bag lasts.
//
//	hours = (oxygen in gas and water - what is left at 2 mg/l) / use
//
// The use is a published law of mass and temperature, the bag is taken as
// shaken so that water and gas keep pace, and bacteria are not counted: a dead
// animal or a dirty bag takes its share too. Carbon dioxide or cold may end it
// sooner. The error is a *ref.InputError for water_l, gas_l, oxygen_share,
// count, mass, temp or hours. Source: liu2010, benson1984
func (b Bag) Oxygen() (Left, error) {
	for _, c := range []struct {
		field, what string
		v, lo, hi   float64
	}{
		{"water_l", "litres of water", b.WaterL, 0.02, 100}, {"gas_l", "litres of gas", b.GasL, 0, 200},
		{"oxygen_share", "share of oxygen", b.OxygenShare, 0.05, 1}, {"hours", "hours", b.Hours, 0, 500},
		{"count", "number of animals", float64(b.Animals.Count), 1, 1e5},
	} {
		if !(c.v >= c.lo && c.v <= c.hi) {
			return Left{}, ref.Inputf(c.field, "Measure or estimate it, and say so.", "%s of %g is outside %g to %g", c.what, c.v, c.lo, c.hi)
		}
	}
	use, err := water.OxygenUse(b.Animals, b.TempC)
	if err != nil {
		return Left{}, err
	}
	ammonia, err := water.AmmoniaOutput(b.Animals, b.TempC)
	if err != nil {
		return Left{}, err
	}
	full, err := water.OxygenSaturation(b.TempC, 101.325, 0)
	if err != nil {
		return Left{}, err
	}
	end := water.OxygenFails.Value / full * airShare // share of oxygen in the gas at the end
	spare := 0.0
	if b.OxygenShare > end {
		gasEnd := b.GasL * (1 - b.OxygenShare) / (1 - end) // what is not oxygen stays
		spare = (b.GasL*b.OxygenShare-gasEnd*end)*gasMgPerL(b.TempC) +
			(b.OxygenShare/airShare*full-water.OxygenFails.Value)*b.WaterL
	}
	hours := water.Rate{Value: spare / use.Value, Low: spare / use.High, High: spare / use.Low}
	perHour := b.Hours / b.WaterL
	return Left{
		Hours:      hours,
		LateHours:  water.Rate{Value: hours.Value - b.Hours, Low: hours.Low - b.Hours, High: hours.High - b.Hours},
		AmmoniaMgL: water.Rate{Value: ammonia.Value * perHour, Low: ammonia.Low * perHour, High: ammonia.High * perHour},
	}, nil
}

// FloatMinutes returns how long a bag must float until its difference from the
// tank, in degrees, no longer matters.
//
//	minutes = tau · ln(difference / 0.5 C)
func FloatMinutes(difference float64) float64 {
	return math.Max(0, FloatTau.Value*math.Log(math.Abs(difference)/Equal.Value))
}
