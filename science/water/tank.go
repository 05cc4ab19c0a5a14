package water

import (
	"math"

	"holdfast/science/ref"
)

// Shape is the ground plan of a tank, or the way its litres became known.
type Shape string

// The shapes a tank can have.
const (
	// Box: length (left to right) by width (front to back).
	Box Shape = "box"
	// BowFront: a box whose front bulges; width is taken at the sides and bow
	// is how far the middle of the front stands before the corners.
	BowFront Shape = "bow_front"
	// Cylinder: diameter.
	Cylinder Shape = "cylinder"
	// Corner: two equal back panes of length at a right angle; return is the
	// short pane at each end (0 for none) and bow is how far the front stands
	// before the straight line between the returns (0 for a flat front). A
	// quarter circle is return 0 and bow 0.2929 of the length.
	Corner Shape = "corner"
	// Hexagon: regular, by the length of one side.
	Hexagon Shape = "hexagon"
	// KnownFill: the litres were counted or timed as they went in.
	KnownFill Shape = "known_fill"
)

// Tank is what a person measured about one tank, as they wrote it down: it is
// stored as it stands, and a field that nobody filled in stays zero. Volume
// turns it into litres.
//
// All lengths are from one side of the glass: inside, or, with Outside set,
// outside, and then the glass is taken off.
type Tank struct {
	Shape Shape `json:"shape"`
	// LengthCM is left to right; for a corner tank one back pane.
	LengthCM float64 `json:"length_cm,omitempty"`
	// WidthCM is front to back; for a bow front at the sides.
	WidthCM    float64 `json:"width_cm,omitempty"`
	BowCM      float64 `json:"bow_cm,omitempty"`
	ReturnCM   float64 `json:"return_cm,omitempty"`
	DiameterCM float64 `json:"diameter_cm,omitempty"`
	SideCM     float64 `json:"side_cm,omitempty"`
	// HeightCM is the height of the glass, only used to say what the tank would
	// hold to the brim; 0 when not measured.
	HeightCM float64 `json:"height_cm,omitempty"`
	// FillCM is the height of the water: from the inside of the bottom pane, or,
	// with Outside set, from its underside. The substrate counts as water here
	// and is taken off below.
	FillCM  float64 `json:"fill_cm,omitempty"`
	Outside bool    `json:"outside,omitempty"`
	GlassMM float64 `json:"glass_mm,omitempty"`
	// BaseGlassMM is the bottom pane, 0 when as thick as the sides.
	BaseGlassMM float64 `json:"base_glass_mm,omitempty"`
	// TapeErrorCM is how far each length may be off either way, nine times in
	// ten; 0 takes TapeError.
	TapeErrorCM float64 `json:"tape_error_cm,omitempty"`

	// KnownFillL are the litres counted in, for the shape KnownFill.
	KnownFillL float64 `json:"known_fill_l,omitempty"`
	// KnownFillError is the share by which they may be off either way; 0 takes
	// FillError.
	KnownFillError float64 `json:"known_fill_error,omitempty"`
	// KnownFillBare says that the substrate and hardscape went in afterwards
	// and the level was brought back to the same mark: they are taken off then.
	KnownFillBare bool `json:"known_fill_bare,omitempty"`

	// SubstrateCM is the mean depth of the substrate, or SubstrateL its litres
	// as bought; at most one of the two.
	SubstrateCM float64 `json:"substrate_cm,omitempty"`
	SubstrateL  float64 `json:"substrate_l,omitempty"`
	// SubstratePorosity is the share of the substrate that is water; 0 takes
	// Porosity.
	SubstratePorosity float64 `json:"substrate_porosity,omitempty"`
	// HardscapeL is the water pushed away by stones, wood and equipment. It and
	// the substrate do not change litres that were counted in around them.
	HardscapeL float64 `json:"hardscape_l,omitempty"`
	// HardscapeMeasured says that HardscapeL was measured in a bucket.
	HardscapeMeasured bool `json:"hardscape_measured,omitempty"`
	// SumpL is the water in sump, filter and hoses that mixes with the tank.
	SumpL float64 `json:"sump_l,omitempty"`
}

// The figures behind a volume that nobody measured.
var (
	// TapeError is the half width of a length read off a tape.
	TapeError = ref.Param{Value: 0.5, Low: 0.3, High: 1, Unit: "cm", Basis: ref.Guess,
		Note: "Half width of a tape reading on a full tank, water line included."}
	// GlassError is the half width of a glass thickness.
	GlassError = ref.Param{Value: 0.1, Low: 0.05, High: 0.2, Unit: "cm", Basis: ref.Guess,
		Note: "Half width of a pane's thickness."}
	// FillError is the half width of counted litres as a share.
	FillError = ref.Param{Value: 0.03, Low: 0.01, High: 0.1, Unit: "share", Basis: ref.Guess,
		Note: "Half width of litres counted with a marked bucket."}
	// Porosity is the share of water in settled gravel, sand or soil.
	Porosity = ref.Param{Value: 0.40, Low: 0.30, High: 0.50, Unit: "share", Basis: ref.Relative, Source: "freezecherry1979",
		Note: "Beds of gravel and sand; baked soil granules hold more inside themselves."}
	// HardscapeError is the half width of a guessed hardscape as a share.
	HardscapeError = ref.Param{Value: 0.4, Low: 0.2, High: 0.6, Unit: "share", Basis: ref.Guess,
		Note: "Half width of the litres of stones and wood guessed by eye."}
	// BucketError is the half width of a hardscape measured in a bucket.
	BucketError = ref.Param{Value: 0.1, Low: 0.05, High: 0.2, Unit: "share", Basis: ref.Guess,
		Note: "Half width of litres read off the wall of a bucket."}
	// SumpError is the half width of the water in sump and hoses.
	SumpError = ref.Param{Value: 0.15, Low: 0.05, High: 0.3, Unit: "share", Basis: ref.Guess,
		Note: "Half width of the water in a sump, filter and hoses."}
)

const (
	maxLengthCM = 1000
	maxGlassMM  = 60
	maxLitres   = 1e6
	mmPerCM     = 10
	cm3PerL     = 1000
)

// Check returns everything that is wrong with t, one error a field, with the
// field's JSON name; nil when Volume will answer. It judges each field by
// itself; whether what is in the tank leaves any water is Volume's to say.
func (t Tank) Check() []*ref.InputError {
	w := &wrongs{}
	t.checkPlan(w)
	if t.Shape != KnownFill {
		t.checkFill(w)
	}
	t.checkContents(w)
	return w.errs
}

// wrongs collects what is wrong, field by field.
type wrongs struct{ errs []*ref.InputError }

func (w *wrongs) add(field, hint, format string, args ...any) {
	w.errs = append(w.errs, ref.Inputf(field, hint, format, args...))
}

func (w *wrongs) length(field, what string, v float64, need bool) {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0) || v < 0:
		w.add(field, "Give centimetres, such as 40.", "the %s must be a number of centimetres, not %g", what, v)
	case v == 0 && need:
		w.add(field, "Measure it and give centimetres.", "the %s is missing", what)
	case v > maxLengthCM:
		w.add(field, "Did you mean millimetres? Give centimetres.", "a %s of %g cm is more than %d m", what, v, maxLengthCM/100)
	}
}

func (w *wrongs) upTo(max float64, unit, hint, field, what string, v float64) {
	if !(v >= 0) || v > max {
		w.add(field, hint, "the %s must be 0 to %g%s, not %g", what, max, unit, v)
	}
}

// checkPlan judges the measures of the shape itself.
func (t Tank) checkPlan(w *wrongs) {
	switch t.Shape {
	case Box:
		w.length("length_cm", "length", t.LengthCM, true)
		w.length("width_cm", "width", t.WidthCM, true)
	case BowFront:
		w.length("length_cm", "length", t.LengthCM, true)
		w.length("width_cm", "width at the sides", t.WidthCM, true)
		w.length("bow_cm", "bow", t.BowCM, true)
		if t.BowCM > t.LengthCM/2 {
			w.add("bow_cm", "The bow is how far the middle of the front stands before its corners.", "a bow of %g cm is more than half the length", t.BowCM)
		}
	case Cylinder:
		w.length("diameter_cm", "diameter", t.DiameterCM, true)
	case Corner:
		w.length("length_cm", "back pane", t.LengthCM, true)
		w.length("return_cm", "short end pane", t.ReturnCM, false)
		w.length("bow_cm", "bow", t.BowCM, false)
		if t.ReturnCM >= t.LengthCM && t.LengthCM > 0 {
			w.add("return_cm", "The return is the short pane at each end of the front.", "a return of %g cm is not shorter than the back pane", t.ReturnCM)
		} else if t.BowCM > (t.LengthCM-t.ReturnCM)/math.Sqrt2 {
			w.add("bow_cm", "The bow is how far the front stands before the straight line between its ends.", "a bow of %g cm is more than half the front", t.BowCM)
		}
	case Hexagon:
		w.length("side_cm", "side", t.SideCM, true)
	case KnownFill:
		if !(t.KnownFillL > 0) || t.KnownFillL > maxLitres {
			w.add("known_fill_l", "Give the litres that went in, such as 98.", "the litres filled in must be above 0 and at most a million, not %g", t.KnownFillL)
		}
		if t.SubstrateCM != 0 {
			w.add("substrate_cm", "Give the substrate in litres as bought (substrate_l).", "a depth of substrate cannot be used when only the litres of water are known")
		}
	default:
		w.add("shape", "Choose box, bow_front, cylinder, corner, hexagon or known_fill.", "no such shape: %q", string(t.Shape))
	}
}

// checkFill judges heights and glass of a tank that was measured.
func (t Tank) checkFill(w *wrongs) {
	w.length("fill_cm", "height of the water", t.FillCM, true)
	w.length("height_cm", "height of the glass", t.HeightCM, false)
	if t.HeightCM > 0 && t.FillCM > t.HeightCM {
		w.add("fill_cm", "Measure the water, not the glass.", "the water stands higher (%g cm) than the glass (%g cm)", t.FillCM, t.HeightCM)
	}
	w.length("substrate_cm", "depth of the substrate", t.SubstrateCM, false)
	if t.SubstrateCM > t.FillCM && t.FillCM > 0 {
		w.add("substrate_cm", "Give the mean depth of the substrate.", "the substrate (%g cm) is deeper than the water (%g cm)", t.SubstrateCM, t.FillCM)
	}
	if t.Outside && !(t.GlassMM > 0) {
		w.add("glass_mm", "Measure the pane at the rim, in millimetres, or measure inside.", "lengths taken outside need the thickness of the glass")
	}
}

// checkContents judges what is in the tank and how it was measured.
func (t Tank) checkContents(w *wrongs) {
	if t.SubstrateCM != 0 && t.SubstrateL != 0 {
		w.add("substrate_l", "Keep the depth or the litres.", "the substrate is given twice, as a depth and as litres")
	}
	const millimetres, share, litres = "Give millimetres, such as 6.", "Give a share, such as 0.4 for forty in a hundred.", "Give litres, 0 for none."
	w.upTo(maxGlassMM, " mm", millimetres, "glass_mm", "glass", t.GlassMM)
	w.upTo(maxGlassMM, " mm", millimetres, "base_glass_mm", "bottom glass", t.BaseGlassMM)
	w.upTo(0.95, "", share, "substrate_porosity", "porosity", t.SubstratePorosity)
	w.upTo(0.5, "", share, "known_fill_error", "error of the fill", t.KnownFillError)
	w.upTo(maxLitres, " l", litres, "substrate_l", "substrate", t.SubstrateL)
	w.upTo(maxLitres, " l", litres, "hardscape_l", "hardscape", t.HardscapeL)
	w.upTo(maxLitres, " l", litres, "sump_l", "water in sump and hoses", t.SumpL)
	w.upTo(10, " cm", "Give centimetres, such as 0.5.", "tape_error_cm", "error of the tape", t.TapeErrorCM)
}
