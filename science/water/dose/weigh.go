package dose

import (
	"math"

	"holdfast/science/ref"
)

// Measure is how finely the person can measure a product out.
type Measure struct {
	// Step is the smallest change that the scale, syringe or knife shows, in the
	// product's unit.
	Step float64
}

// StepsAtLeast is how many steps of a scale a weighing must have: below it the
// last digit alone is more than 2.5 % of the dose either way.
const StepsAtLeast = 20

// Usual returns the measure that most people have for a unit: a scale to
// 0.01 g, a syringe to 0.1 ml, a quarter of a tablet or dose.
func Usual(u Unit) Measure {
	switch u {
	case Gram:
		return Measure{0.01}
	case Millilitre:
		return Measure{0.1}
	}
	return Measure{0.25}
}

// Round returns the amount nearest to want that can be measured.
func (m Measure) Round(want float64) float64 {
	steps := math.Round(want / m.Step)
	// Dividing by the inverse keeps 0.49 from becoming 0.49000000000000005.
	if inverse := 1 / m.Step; math.Abs(inverse-math.Round(inverse)) < 1e-9*inverse {
		return steps / math.Round(inverse)
	}
	return steps * m.Step
}

// Enough reports whether the amount is large enough to be measured directly.
// Tablets and doses are counted, not weighed: half a step either way is all.
func (m Measure) Enough(want float64) bool { return want >= StepsAtLeast*m.Step*(1-1e-9) }

func (m Measure) check(field string) error {
	if m.Step > 0 && !math.IsInf(m.Step, 0) {
		return nil
	}
	return ref.Inputf(field, "Give the smallest step of the scale, such as 0.01 g.", "a step of %g cannot be", m.Step)
}

// Stock is a solution made to measure out less than a scale can weigh.
type Stock struct {
	// WeighG of product go into water up to InML; TakeML of that is one dose.
	WeighG float64 `json:"weigh_g"`
	InML   float64 `json:"in_ml"`
	TakeML float64 `json:"take_ml"`
	// MgPerL is the active ingredient in the stock.
	MgPerL float64 `json:"mg_per_l"`
	// DoseG is the product in TakeML, as really made.
	DoseG float64 `json:"dose_g"`
	// Suspended says that it does not dissolve: shake, and draw at once.
	Suspended bool `json:"suspended,omitempty"`
}

// sips are the volumes that a syringe or jug measures well, ml.
var sips = []float64{5, 10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000}

// MakeStock plans a stock for a dose of amountG grams of a powder of the given
// strength: enough weighed for the scale, weak enough to dissolve.
//
// solubilityMgL is how much active ingredient a litre of water surely takes
// up, 0 when not known; suspended says that the ingredient is used as a shaken
// suspension and has no such limit. It is a *ref.NoAnswer when even two litres a
// dose would be too strong to dissolve or the jug would pass 20 litres.
func MakeStock(amountG float64, s Strength, m Measure, solubilityMgL float64, suspended bool) (Stock, error) {
	if s.Unit != Gram {
		return Stock{}, ref.Inputf("strength", "A stock is made from a powder.", "a product counted in %ss is not weighed", s.Unit)
	}
	if !(amountG > 0) {
		return Stock{}, ref.Inputf("amount", "Give grams above zero.", "there is nothing to weigh")
	}
	if err := m.check("scale"); err != nil {
		return Stock{}, err
	}
	weigh := m.Round(math.Max(StepsAtLeast*m.Step, amountG))
	for _, take := range sips {
		in := tidy(weigh / amountG * take)
		stock := Stock{WeighG: weigh, InML: in, TakeML: take, Suspended: suspended}
		stock.MgPerL = weigh * s.MgPer / in * 1000
		stock.DoseG = weigh * take / in
		if solubilityMgL > 0 && !suspended && stock.MgPerL > solubilityMgL {
			continue
		}
		if math.Abs(stock.DoseG/amountG-1) > 0.01 { // a jug this small cannot be read so finely
			continue
		}
		if in > 20000 {
			break
		}
		return stock, nil
	}
	return Stock{}, &ref.NoAnswer{Reason: "it does not dissolve in a jug that one can handle: use a finer scale"}
}

// tidy rounds to three figures, whole millilitres at least.
func tidy(ml float64) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(ml))-2)
	return math.Round(ml/math.Max(unit, 1)) * math.Max(unit, 1)
}

// CheckStock refuses a stock that a person wants to make stronger than the
// ingredient dissolves: activeMg in litres of water. low and high bound what
// a litre takes up, in mg. sure is false between the two.
func CheckStock(activeMg, litres, low, high float64) (sure bool, err error) {
	if !(litres > 0) {
		return false, ref.Inputf("stock", "Give the water for the stock, such as 1 l.", "%g litres hold nothing", litres)
	}
	if activeMg/litres > high {
		return false, ref.Inputf("stock", "Take at least "+litresText(activeMg/high)+", better "+litresText(activeMg/low)+".",
			"%.0f mg do not dissolve in %.2g l: grains would stay", activeMg, litres)
	}
	return activeMg/litres <= low, nil
}
