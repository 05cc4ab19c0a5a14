package dose

import (
	"regexp"
	"strings"

	"holdfast/science/ref"
	"holdfast/science/water"
	"holdfast/science/water/unit"
)

// Typed is a dose as a person writes it down, every quantity with its unit. An
// empty field is one that nobody filled in.
type Typed struct {
	// Volume is the water really there ("120 l"), VolumeError how far it may be
	// off either way ("3 %").
	Volume      string
	VolumeError string
	// Target is the active ingredient wanted ("2.5 mg/l"), or a label's rate
	// ("1 tablet per 40 l").
	Target string
	// Strength of the product ("50 %"); empty takes the pure substance.
	Strength string
	// Scale is the smallest step of what it is measured with ("0.01 g").
	Scale string
	// Ingredient is an id of the table, or empty.
	Ingredient string
	// For is how long it runs, Change the regular water change ("30 % every
	// 3 d"), Redose how often it is dosed up again, HalfLife and Absorb how fast
	// it fades and is taken up.
	For, Change, Redose, HalfLife, Absorb string
}

// Read turns what was typed into a course, or into a label's rate when the
// target is one and the strength does not say what a tablet or dose holds: then
// label is not nil. The errors are every *ref.InputError, one a field, under
// the names volume, volume-error, target, strength, scale, ingredient, for,
// change, redose, half-life and absorb.
func (t Typed) Read() (course Course, label *LabelDose, errs []*ref.InputError) {
	r := &typedReader{Typed: t}
	r.volume()
	r.strength()
	label = r.target()
	measured := r.course.Strength.Unit
	if label != nil {
		measured = label.Unit
	}
	r.scale(measured)
	r.ingredient()
	r.times()
	return r.course, label, r.errs
}

type typedReader struct {
	Typed
	course Course
	errs   []*ref.InputError
}

// quantity reads one quantity above zero and notes what is wrong with it.
func (r *typedReader) quantity(field, text string, want ...unit.Kind) (unit.Quantity, bool) {
	q, err := unit.ParsePositive(field, text, want...)
	return q, r.ok(err)
}

func (r *typedReader) ok(err error) bool {
	if in, is := err.(*ref.InputError); is {
		r.errs = append(r.errs, in)
	}
	return err == nil
}

func (r *typedReader) volume() {
	q, ok := r.quantity("volume", r.Volume, unit.Volume)
	if !ok {
		return
	}
	v := water.Volume{Litres: q.Base()}
	if r.VolumeError != "" {
		e, ok := r.quantity("volume-error", r.VolumeError, unit.Share)
		if !ok {
			return
		}
		if e.Base() >= 1 {
			r.ok(ref.Inputf("volume-error", "Write it like 3 %.", "a volume that may be off by %s says nothing", r.VolumeError))
			return
		}
		v.Low, v.High = v.Litres*(1-e.Base()), v.Litres*(1+e.Base())
	}
	r.course.Volume = v
}

func (r *typedReader) strength() {
	r.course.Strength = Pure
	r.course.Strength.Text = "100 % (none was given)"
	if r.Strength == "" {
		return
	}
	s, err := ParseStrength("strength", r.Strength)
	if r.ok(err) {
		r.course.Strength = s
	}
}

// target sets the concentration wanted, or returns the label's rate.
func (r *typedReader) target() *LabelDose {
	q, ok := r.quantity("target", r.Target, unit.Concentration, unit.TabletsPerVolume, unit.DosesPerVolume, unit.Share)
	if !ok {
		r.errs[len(r.errs)-1].Hint = "Write it like 2.5 mg/l, 2.5 ppm or 30 g/l, or as a label has it: 1 tablet per 40 l, one dose per 40 l, 5 ml per 100 l."
		return nil
	}
	label := &LabelDose{PerLitre: q.Base()}
	switch q.Kind() {
	case unit.Concentration:
		r.course.MgL = q.Base()
		return nil
	case unit.TabletsPerVolume:
		label.Unit = Tablet
	case unit.DosesPerVolume:
		label.Unit = Dose
	case unit.Share:
		if strings.Contains(r.Target, "%") || byWeight.MatchString(r.Target) {
			r.ok(ref.Inputf("target", "Write it like 2.5 mg/l, 10 g/l or 1 % w/v.", "%q of a tank can be meant in several ways", r.Target))
			return nil
		}
		label.Unit, label.PerLitre = Millilitre, 1000*q.Base()
	}
	if s := r.course.Strength; r.Strength != "" && s.Unit == label.Unit {
		r.course.MgL = label.PerLitre * s.MgPer
		return nil
	}
	return label
}

// byWeight finds a unit of weight: mg/kg of a tank is no rate that a label has,
// and could be read as mg/l or as millilitres.
var byWeight = regexp.MustCompile(`(?i)(^|[^a-z])([kmuµμ]?g|oz|lb)([^a-z]|$)`)

func (r *typedReader) scale(u Unit) {
	r.course.Measure = Usual(u)
	if r.Scale == "" {
		return
	}
	kind := map[Unit]unit.Kind{Gram: unit.Mass, Millilitre: unit.Volume, Tablet: unit.Tablets, Dose: unit.Doses}[u]
	q, ok := r.quantity("scale", r.Scale, kind)
	if !ok {
		return
	}
	step := q.Base()
	if u == Millilitre {
		step *= 1000
	}
	r.course.Measure = Measure{Step: step}
}

func (r *typedReader) ingredient() {
	if r.Ingredient == "" {
		return
	}
	i, err := Find(r.Ingredient)
	if !r.ok(err) {
		return
	}
	if r.course.Suspended = i.Suspension; i.Solubility != nil {
		r.course.SolubilityMgL = i.Solubility.LowMgL
	}
}

func (r *typedReader) times() {
	for _, t := range []struct {
		field, text string
		days        *float64
	}{
		{"for", r.For, &r.course.Days}, {"half-life", r.HalfLife, &r.course.HalfLifeDays},
		{"absorb", r.Absorb, &r.course.AbsorbDays}, {"redose", r.Redose, &r.course.RedoseDays},
	} {
		if t.text == "" {
			continue
		}
		if q, ok := r.quantity(t.field, t.text, unit.Time); ok {
			*t.days = q.Base()
		}
	}
	if r.Change == "" {
		return
	}
	c, err := unit.ParseRepeat("change", r.Change, unit.Share)
	if r.ok(err) {
		r.course.ChangeShare, r.course.ChangeDays = c.Amount.Base(), c.Every.Base()
	}
}
