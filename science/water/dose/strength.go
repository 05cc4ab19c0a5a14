package dose

import (
	"fmt"

	"holdfast/science/ref"
	"holdfast/science/water/unit"
)

// Unit is what a product is measured out in.
type Unit string

// Units of a product in the hand.
const (
	Gram       Unit = "g"
	Millilitre Unit = "ml"
	Tablet     Unit = "tablet"
	Dose       Unit = "dose"
)

// Strength is how much active ingredient one unit of a product holds.
type Strength struct {
	// MgPer is milligrams of active ingredient in one Unit.
	MgPer float64
	Unit  Unit
	// Text is the strength as it was written.
	Text string
}

// Pure is a powder that is nothing but the active ingredient.
var Pure = Strength{MgPer: 1000, Unit: Gram, Text: "100 %"}

// ParseStrength reads a product's strength: "50 %" (weight in weight),
// "5 % w/v" or "50 mg/ml" (a liquid), "50 mg per tablet", "0.5 g per dose". The
// error is a *ref.InputError for field.
func ParseStrength(field, text string) (Strength, error) {
	q, err := unit.ParsePositive(field, text, unit.Share, unit.Concentration, unit.MassPerTablet, unit.MassPerDose)
	if err != nil {
		return Strength{}, err
	}
	s := Strength{Text: text}
	switch q.Kind() {
	case unit.Share:
		if q.Base() > 1 {
			return Strength{}, ref.Inputf(field, "Copy the per cent of active ingredient from the label, at most 100 %.", "%q is more than the whole", text)
		}
		s.MgPer, s.Unit = 1000*q.Base(), Gram
	case unit.Concentration:
		s.MgPer, s.Unit = q.Base()/1000, Millilitre
		if s.MgPer > 1500 {
			return Strength{}, ref.Inputf(field, "Copy the strength from the label, such as 50 mg/ml.", "%q is heavier than any solution", text)
		}
	case unit.MassPerTablet:
		s.MgPer, s.Unit = 1000*q.Base(), Tablet
	case unit.MassPerDose:
		s.MgPer, s.Unit = 1000*q.Base(), Dose
	}
	return s, nil
}

// Share returns the strength of a powder as a share, 0 for anything else.
func (s Strength) Share() float64 {
	if s.Unit != Gram {
		return 0
	}
	return s.MgPer / 1000
}

// Times says how much more of this product than of the pure ingredient is
// needed, for the person to see a misread label: 20 for a 5 % powder.
func (s Strength) Times() (float64, error) {
	if s.Unit != Gram || s.MgPer <= 0 {
		return 0, &ref.NoAnswer{Reason: fmt.Sprintf("a product counted in %ss has no pure form to compare with", s.Unit)}
	}
	return 1000 / s.MgPer, nil
}
