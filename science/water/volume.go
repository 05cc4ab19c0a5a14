package water

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"holdfast/science/ref"
)

// Part is one line of the ledger that makes a volume.
type Part struct {
	// Name says what the line is, in a person's words.
	Name string `json:"name"`
	// Litres is what it adds, or with a minus sign takes away.
	Litres float64 `json:"litres"`
}

// Doubt is one thing that makes a volume uncertain.
type Doubt struct {
	// Field is the JSON name of the measure.
	Field string `json:"field"`
	// Litres is the half width that this measure alone gives the volume.
	Litres float64 `json:"litres"`
}

// Volume is how many litres there are, and how sure that is.
type Volume struct {
	// Litres is the water that a dose is to be reckoned on.
	Litres float64 `json:"litres"`
	// Low and High hold the true figure about nine times in ten.
	Low  float64 `json:"low"`
	High float64 `json:"high"`
	// Parts add up to Litres.
	Parts []Part `json:"parts,omitempty"`
	// Doubts are the measures that matter, the largest first.
	Doubts []Doubt `json:"doubts,omitempty"`
	// BrimL is what the bare glass holds to its rim, 0 when its height was not
	// measured. Never dose on it.
	BrimL float64 `json:"brim_l,omitempty"`
}

// Share returns the half width of v as a share of its litres.
func (v Volume) Share() float64 {
	if v.Litres <= 0 {
		return 0
	}
	return (v.High - v.Low) / 2 / v.Litres
}

// Volume returns the litres of water in the tank.
//
//	litres = area · fill  -  substrate · (1 - porosity)  -  hardscape  +  sump
//
// Low and High are a 90 % interval: each measure is moved by its own half
// width, and the changes are added in quadrature, as for independent errors.
//
// The error is the first of Check, or says that what is in the tank leaves no
// water; both are *ref.InputError with the field's JSON name.
//
// Source: jcgm100
func (t Tank) Volume() (Volume, error) {
	if errs := t.Check(); len(errs) > 0 {
		return Volume{}, errs[0]
	}
	if t.Shape != KnownFill && (t.planAreaCM2() <= 0 || t.insideFill() <= 0) {
		return Volume{}, ref.Inputf("glass_mm", "Give the thickness of one pane, in millimetres.", "glass of %g mm leaves no inside", t.GlassMM)
	}
	parts := t.parts()
	v := Volume{Litres: sum(parts), Parts: parts, BrimL: t.brim()}
	if v.Litres <= 0 {
		field := "hardscape_l"
		if t.HardscapeL == 0 {
			field = "substrate_l"
		}
		return Volume{}, ref.Inputf(field, "Give the litres that it takes away from the water.", "what is in the tank leaves no water (%.1f l)", v.Litres)
	}
	v.spread(t.doubts())
	return v, nil
}

// spread adds doubts in quadrature, as for independent errors, and lists those
// that matter, the largest first.
func (v *Volume) spread(doubts []Doubt) {
	slices.SortStableFunc(doubts, func(a, b Doubt) int { return cmp.Compare(b.Litres, a.Litres) })
	half := 0.0
	for _, d := range doubts {
		if d.Litres > 0 {
			v.Doubts = append(v.Doubts, d)
			half = math.Hypot(half, d.Litres)
		}
	}
	v.Low, v.High = positive(v.Litres-half), v.Litres+half
}

func sum(parts []Part) float64 {
	var s float64
	for _, p := range parts {
		s += p.Litres
	}
	return s
}

// insideFill returns the height of the water above the bottom pane, in cm.
func (t Tank) insideFill() float64 {
	if !t.Outside {
		return t.FillCM
	}
	return t.FillCM - t.baseGlassCM()
}

func (t Tank) baseGlassCM() float64 {
	if t.BaseGlassMM > 0 {
		return t.BaseGlassMM / mmPerCM
	}
	return t.GlassMM / mmPerCM
}

func (t Tank) brim() float64 {
	h := t.HeightCM
	if t.Outside {
		h -= t.baseGlassCM()
	}
	return t.planAreaCM2() * positive(h) / cm3PerL
}

func (t Tank) porosity() float64 {
	if t.SubstratePorosity > 0 {
		return t.SubstratePorosity
	}
	return Porosity.Value
}

// parts lists the ledger. Lines that are zero are left out.
func (t Tank) parts() []Part {
	area := t.planAreaCM2()
	var parts []Part
	add := func(name string, litres float64) {
		if litres != 0 {
			parts = append(parts, Part{Name: name, Litres: litres})
		}
	}
	if t.Shape == KnownFill {
		add("Counted in", t.KnownFillL)
	} else {
		add("Glass, inside, to the water line", area*positive(t.insideFill())/cm3PerL)
	}
	if t.Shape != KnownFill || t.KnownFillBare {
		bulk := t.SubstrateL + area*t.SubstrateCM/cm3PerL
		add(fmt.Sprintf("Substrate, the solid part of %.1f L", bulk), -bulk*(1-t.porosity()))
		add("Stones, wood, equipment", -t.HardscapeL)
	}
	add("Sump, filter and hoses", t.SumpL)
	return parts
}

// doubts returns the half width that each measure gives the volume, found by
// moving that measure alone.
func (t Tank) doubts() []Doubt {
	tape := TapeError.Value
	if t.TapeErrorCM > 0 {
		tape = t.TapeErrorCM
	}
	fill := FillError.Value
	if t.KnownFillError > 0 {
		fill = t.KnownFillError
	}
	hardscape := HardscapeError.Value
	if t.HardscapeMeasured {
		hardscape = BucketError.Value
	}
	porosity := (Porosity.High - Porosity.Low) / 2
	if t.SubstratePorosity > 0 {
		porosity /= 2 // somebody knows this bed
	}
	moved := func(change func(*Tank)) float64 {
		other := t
		change(&other)
		return math.Abs(sum(other.parts()) - sum(t.parts()))
	}
	// A measure that was not given does not move.
	by := func(field *float64, step float64) {
		if *field > 0 {
			*field += step
		}
	}
	return []Doubt{
		{"length_cm", moved(func(o *Tank) { by(&o.LengthCM, tape) })},
		{"width_cm", moved(func(o *Tank) { by(&o.WidthCM, tape) })},
		{"bow_cm", moved(func(o *Tank) { by(&o.BowCM, -math.Min(tape, o.BowCM/2)) })},
		{"return_cm", moved(func(o *Tank) { by(&o.ReturnCM, -math.Min(tape, o.ReturnCM/2)) })},
		{"diameter_cm", moved(func(o *Tank) { by(&o.DiameterCM, tape) })},
		{"side_cm", moved(func(o *Tank) { by(&o.SideCM, tape) })},
		{"fill_cm", moved(func(o *Tank) { by(&o.FillCM, tape) })},
		{"glass_mm", moved(func(o *Tank) { by(&o.GlassMM, GlassError.Value*mmPerCM) })},
		{"known_fill_l", moved(func(o *Tank) { by(&o.KnownFillL, fill*o.KnownFillL) })},
		{"substrate_cm", moved(func(o *Tank) { by(&o.SubstrateCM, tape) })},
		{"substrate_l", moved(func(o *Tank) { by(&o.SubstrateL, 0.1*o.SubstrateL) })},
		{"substrate_porosity", moved(func(o *Tank) { o.SubstratePorosity = o.porosity() + porosity })},
		{"hardscape_l", moved(func(o *Tank) { by(&o.HardscapeL, hardscape*o.HardscapeL) })},
		{"sump_l", moved(func(o *Tank) { by(&o.SumpL, SumpError.Value*o.SumpL) })},
	}
}
