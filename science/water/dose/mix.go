package dose

import (
	"fmt"
	"math"

	"holdfast/science/ref"
	"holdfast/science/water"
)

// Order is one dose that somebody wants in some water.
type Order struct {
	// Volume is the true water, with how sure it is.
	Volume water.Volume
	// MgL is the active ingredient wanted, mg/l.
	MgL      float64
	Strength Strength
	// Measure is what it is measured out with; the zero value takes Usual.
	Measure Measure
	// SolubilityMgL is what a litre surely takes up, 0 when not known.
	SolubilityMgL float64
	Suspended     bool
}

// Mix is a dose as it can be given.
type Mix struct {
	ActiveMg float64 `json:"active_mg"`
	// Amount is the product needed, InHand what can be measured of it.
	Amount float64 `json:"amount"`
	InHand float64 `json:"in_hand"`
	Unit   Unit    `json:"unit"`
	// Rounding is InHand over Amount, less one.
	Rounding float64 `json:"rounding"`
	// MgL is what InHand makes in the stated volume; Low and High also carry
	// the doubt of the volume.
	MgL  float64 `json:"mg_l"`
	Low  float64 `json:"mg_l_low"`
	High float64 `json:"mg_l_high"`
	// Direct reports whether the amount may be measured directly. When not,
	// Stock says how, or NoStock why there is none.
	Direct  bool   `json:"direct"`
	Stock   *Stock `json:"stock,omitempty"`
	NoStock string `json:"no_stock,omitempty"`
	// DissolveL is the water that surely dissolves it, 0 when not known.
	DissolveL float64 `json:"dissolve_l,omitempty"`
}

// Mix works the order out.
//
//	amount = target · litres / strength
//
// The errors are *ref.InputError for volume, target, strength or scale. A
// target or volume outside what can be meant is refused (0.0001 mg/l to 400 g/l;
// 1 ml to a million litres).
func (o Order) Mix() (Mix, error) {
	if err := o.check(); err != nil {
		return Mix{}, err
	}
	measure := o.Measure
	if measure.Step == 0 {
		measure = Usual(o.Strength.Unit)
	}
	if err := measure.check("scale"); err != nil {
		return Mix{}, err
	}
	m := Mix{ActiveMg: o.MgL * o.Volume.Litres, Unit: o.Strength.Unit}
	m.Amount = m.ActiveMg / o.Strength.MgPer
	m.InHand = measure.Round(m.Amount)
	m.Rounding = m.InHand/m.Amount - 1
	m.MgL = m.InHand * o.Strength.MgPer / o.Volume.Litres
	m.Direct = measure.Enough(m.Amount) || m.Unit == Tablet || m.Unit == Dose
	given := m.InHand
	if !m.Direct && m.Unit == Gram {
		stock, err := MakeStock(m.Amount, o.Strength, measure, o.SolubilityMgL, o.Suspended)
		if err != nil {
			m.NoStock = err.Error()
		} else {
			m.Stock, given = &stock, stock.DoseG
			m.MgL = given * o.Strength.MgPer / o.Volume.Litres
		}
	}
	m.Low, m.High = m.spread(o, given)
	if o.SolubilityMgL > 0 && !o.Suspended {
		m.DissolveL = m.ActiveMg / o.SolubilityMgL
	}
	return m, nil
}

func (m Mix) spread(o Order, given float64) (low, high float64) {
	low, high = m.MgL, m.MgL
	if o.Volume.High > 0 {
		low = given * o.Strength.MgPer / o.Volume.High
	}
	if o.Volume.Low > 0 {
		high = given * o.Strength.MgPer / o.Volume.Low
	}
	return low, high
}

func (o Order) check() error {
	if !(o.Volume.Litres >= 0.001 && o.Volume.Litres <= 1e6) {
		return ref.Inputf("volume", "Give the water that is really there, such as 98 l.", "%g l of water cannot be dosed", o.Volume.Litres)
	}
	if !(o.MgL >= 1e-4 && o.MgL <= 4e5) {
		return ref.Inputf("target", "Give what is wanted in each litre, such as 2.5 mg/l.", "a target of %g mg/l cannot be meant", o.MgL)
	}
	if !(o.Strength.MgPer > 0) || math.IsInf(o.Strength.MgPer, 0) {
		return ref.Inputf("strength", "Copy the strength from the label, such as 50 %.", "a product without active ingredient cannot be dosed")
	}
	return nil
}

// AtOtherStrength returns the amount that powders of other strengths (shares)
// would need, for the person to notice a misread label.
func (m Mix) AtOtherStrength(shares ...float64) []float64 {
	var out []float64
	for _, s := range shares {
		out = append(out, m.ActiveMg/1000/s)
	}
	return out
}

// LabelDose is a dose as a label states it: so many tablets, doses or
// millilitres to so much water, whatever they hold.
type LabelDose struct {
	PerLitre float64
	Unit     Unit
}

// Mix returns how much of the product the water needs by its label. What is in
// the water in mg/l is not known then. The error is a *ref.InputError.
func (l LabelDose) Mix(v water.Volume, measure Measure) (Mix, error) {
	order := Order{Volume: v, MgL: 1, Strength: Pure}
	if err := order.check(); err != nil {
		return Mix{}, err
	}
	if !(l.PerLitre > 0) || math.IsInf(l.PerLitre, 0) {
		return Mix{}, ref.Inputf("target", "Copy it from the label, such as 1 tablet per 40 l.", "a dose of nothing cannot be given")
	}
	if measure.Step == 0 {
		measure = Usual(l.Unit)
	}
	if err := measure.check("scale"); err != nil {
		return Mix{}, err
	}
	m := Mix{Amount: l.PerLitre * v.Litres, Unit: l.Unit}
	m.InHand = measure.Round(m.Amount)
	m.Rounding = m.InHand/m.Amount - 1
	m.Direct = measure.Enough(m.Amount) || l.Unit == Tablet || l.Unit == Dose
	return m, nil
}

// Follow runs a course of a label's rate. What is in the water is not known in
// mg/l, so the concentrations of the Run are shares of the label's dose: 1 is one
// whole dose, and a change of 30 % of the water takes 0.3 of it out. The course's
// own MgL, Strength and solubility are not used. The errors are those of Mix and of
// Course.Follow.
func (l LabelDose) Follow(c Course) (Run, error) {
	mix, err := l.Mix(c.Volume, c.Measure)
	if err != nil {
		return Run{}, err
	}
	// 1 "mg" a litre, out of a product that holds so many "mg" that the label's
	// rate makes it: only the ratio to one dose is ever read.
	c.MgL, c.Strength, c.SolubilityMgL, c.Suspended = 1, Strength{MgPer: 1 / l.PerLitre, Unit: l.Unit}, 0, false
	run, err := c.Follow()
	run.Mix = mix
	return run, err
}

func litresText(l float64) string {
	if l < 1 {
		return fmt.Sprintf("%.0f ml", math.Ceil(1000*l))
	}
	return fmt.Sprintf("%.1f l", math.Ceil(10*l)/10)
}
