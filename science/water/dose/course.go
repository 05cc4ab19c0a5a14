package dose

import (
	"math"

	"holdfast/science/ref"
	"holdfast/science/water"
)

// Course is a bath over days: what fades, what is changed, when it is dosed
// again. Topping up what evaporated takes no medicine out and is no loss.
type Course struct {
	Order
	// Days is how long it runs.
	Days float64
	// ChangeShare of the water is replaced every ChangeDays; 0 for none.
	ChangeShare float64
	ChangeDays  float64
	// RedoseDays is how often it is dosed up to the target again; 0 means at
	// each change.
	RedoseDays float64
	// HalfLifeDays is how fast it breaks down, AbsorbDays how fast substrate,
	// plants and plastic take it up, each as the time to the half; 0 for not.
	HalfLifeDays float64
	AbsorbDays   float64
}

// Happening is what a point of the curve stands beside.
type Happening string

// What can happen at a point.
const (
	Dosed   Happening = "dosed"
	Changed Happening = "changed"
	Redosed Happening = "redosed"
	Faded   Happening = ""
)

// Point is what is in the water at one moment. Two points of one day are just
// before and just after something happened.
type Point struct {
	Day float64 `json:"day"`
	// MgL is the concentration if every dose were exact.
	MgL float64 `json:"mg_l"`
	// WeighedMgL is it with what the scale can really weigh.
	WeighedMgL float64   `json:"weighed_mg_l"`
	After      Happening `json:"after,omitempty"`
}

// Redose is one further dose.
type Redose struct {
	Day float64 `json:"day"`
	// Amount brings the water back to the target exactly; InHand is what can be
	// measured, reckoned from what is really in the water then, so that
	// roundings do not pile up. Both in the product's unit.
	Amount float64 `json:"amount"`
	InHand float64 `json:"in_hand"`
}

// Run is a course followed to its end.
type Run struct {
	Mix      Mix
	Redoses  []Redose
	Curve    []Point
	EndMgL   float64
	LowestMg float64
}

const maxEvents = 2000

// Follow runs the course and returns its doses and its curve, a point a day and
// two at every happening.
//
//	C(t) = C0 · 2^(-t/h),  1/h = 1/half-life + 1/absorption
//	a change of share f: C → (1-f) C;  a re-dose: C → target
//
// Nothing is changed or dosed at the moment the course ends. The errors are
// *ref.InputError for days, change, redose, half_life or absorb, and those of
// Order.Mix.
func (c Course) Follow() (Run, error) {
	if err := c.checkCourse(); err != nil {
		return Run{}, err
	}
	mix, err := c.Order.Mix()
	if err != nil {
		return Run{}, err
	}
	measure := c.Measure
	if measure.Step == 0 {
		measure = Usual(c.Strength.Unit)
	}
	run := Run{Mix: mix, LowestMg: c.MgL}
	perUnit := c.Strength.MgPer / c.Volume.Litres // mg/l that one unit makes
	rate := c.lossPerDay()
	exact, weighed, day := c.MgL, mix.MgL, 0.0
	run.Curve = append(run.Curve, Point{0, exact, weighed, Dosed})
	for _, next := range c.moments() {
		left := math.Exp(-rate * (next.day - day))
		exact, weighed, day = exact*left, weighed*left, next.day
		run.LowestMg = math.Min(run.LowestMg, exact)
		run.Curve = append(run.Curve, Point{day, exact, weighed, Faded})
		if next.change {
			exact, weighed = exact*(1-c.ChangeShare), weighed*(1-c.ChangeShare)
			run.LowestMg = math.Min(run.LowestMg, exact)
			run.Curve = append(run.Curve, Point{day, exact, weighed, Changed})
		}
		if next.redose {
			in := measure.Round(math.Max(0, (c.MgL-weighed)/perUnit))
			run.Redoses = append(run.Redoses, Redose{Day: day, Amount: (c.MgL - exact) / perUnit, InHand: in})
			exact, weighed = c.MgL, weighed+in*perUnit
			run.Curve = append(run.Curve, Point{day, exact, weighed, Redosed})
		}
	}
	run.EndMgL = exact
	return run, nil
}

func (c Course) lossPerDay() float64 {
	rate := 0.0
	for _, half := range []float64{c.HalfLifeDays, c.AbsorbDays} {
		if half > 0 {
			rate += math.Ln2 / half
		}
	}
	return rate
}

// moment is a time at which the curve has a point.
type moment struct {
	day            float64
	change, redose bool
}

// moments merges whole days, changes, re-doses and the end, in order.
func (c Course) moments() []moment {
	redoseDays := c.RedoseDays
	if redoseDays == 0 {
		redoseDays = c.ChangeDays
	}
	var out []moment
	day, change, redose := 1.0, c.ChangeDays, redoseDays
	nth := func(step, at float64) float64 { // the next multiple, without drift
		return (math.Round(at/step) + 1) * step
	}
	for {
		next := math.Min(c.Days, day)
		if c.ChangeDays > 0 {
			next = math.Min(next, change)
		}
		if redoseDays > 0 {
			next = math.Min(next, redose)
		}
		m := moment{day: next}
		const same = 1e-9
		if c.ChangeDays > 0 && change <= next+same {
			m.change, change = true, nth(c.ChangeDays, change)
		}
		if redoseDays > 0 && redose <= next+same {
			m.redose, redose = true, nth(redoseDays, redose)
		}
		if day <= next+same {
			day++
		}
		if next >= c.Days-same {
			return append(out, moment{day: c.Days})
		}
		out = append(out, m)
	}
}

func (c Course) checkCourse() error {
	if !(c.Days > 0 && c.Days <= 365) {
		return ref.Inputf("days", "Give how long the bath runs, such as 4 d; at most 365 d.", "a bath of %g days cannot be", c.Days)
	}
	if c.ChangeDays != 0 || c.ChangeShare != 0 {
		if !(c.ChangeShare > 0 && c.ChangeShare <= 1) {
			return ref.Inputf("change", "Write it like 30 % every 3 d.", "a change of %g %% of the water cannot be", 100*c.ChangeShare)
		}
		if !(c.ChangeDays > 0) || c.Days/c.ChangeDays > maxEvents {
			return ref.Inputf("change", "Write it like 30 % every 3 d.", "a change every %g days cannot be", c.ChangeDays)
		}
	}
	if c.RedoseDays != 0 && (!(c.RedoseDays > 0) || c.Days/c.RedoseDays > maxEvents) {
		return ref.Inputf("redose", "Write it like 2 d.", "a dose every %g days cannot be", c.RedoseDays)
	}
	if !(c.HalfLifeDays >= 0) || (c.HalfLifeDays > 0 && c.HalfLifeDays < 0.01) {
		return ref.Inputf("half_life", "Write it like 4 d; leave it out for no decay.", "a half-life of %g days cannot be", c.HalfLifeDays)
	}
	if !(c.AbsorbDays >= 0) || (c.AbsorbDays > 0 && c.AbsorbDays < 0.01) {
		return ref.Inputf("absorb", "Write it like 10 d; leave it out for none.", "a half-time of %g days cannot be", c.AbsorbDays)
	}
	return nil
}

// Clearing is what it takes to bring a medicine down at the end.
type Clearing struct {
	// Changes of Share each, or OnceShare of the water in one go.
	Changes   int     `json:"changes"`
	Share     float64 `json:"share"`
	OnceShare float64 `json:"once_share"`
	// WaitDays is how long decay alone takes, nil when it does not fade.
	WaitDays *float64 `json:"wait_days"`
}

// Clear plans the way from one concentration to a residue (both mg/l) by
// changes of a share each. Carbon goes back in when the bath is over and not
// before. The error is a *ref.InputError.
func (c Course) Clear(fromMgL, residueMgL, share float64) (Clearing, error) {
	n, err := water.ChangesUntil(fromMgL, residueMgL, share)
	if err != nil {
		return Clearing{}, err
	}
	out := Clearing{Changes: n, Share: share, OnceShare: math.Max(0, 1-residueMgL/fromMgL)}
	if rate := c.lossPerDay(); rate > 0 {
		wait := math.Max(0, math.Log(fromMgL/residueMgL)/rate)
		out.WaitDays = &wait
	}
	return out, nil
}
