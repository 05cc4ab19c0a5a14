package water

import (
	"math"

	"holdfast/science/ref"
)

// TimedFill finds the litres of a tank from how long it takes to fill at a
// flow that was timed with a jug.
type TimedFill struct {
	JugL float64 `json:"jug_l"`
	// JugSeconds are the times that the jug took, at least two.
	JugSeconds []float64 `json:"jug_seconds"`
	// FillSeconds is how long the tank took at the same tap.
	FillSeconds float64 `json:"fill_seconds"`
	// JugError is the share by which the jug's mark may be off; 0 takes 0.02.
	JugError float64 `json:"jug_error,omitempty"`
}

// StopwatchError is the half width of one timing, s.
var StopwatchError = ref.Param{Value: 0.5, Low: 0.2, High: 1, Unit: "s", Basis: ref.Guess,
	Note: "Half width of a jug timed by hand."}

// Volume returns the litres that ran in.
//
//	V = jug · fill time / mean jug time
//
// Low and High as in Tank.Volume; the spread of the timings counts, so a tap
// whose pressure wanders shows. The error is a *ref.InputError with the field's
// JSON name. Source: jcgm100
func (f TimedFill) Volume() (Volume, error) {
	err := firstError(
		within("jug_l", "jug", f.JugL, 0.2, 50, "l"),
		within("fill_seconds", "filling time", f.FillSeconds, 5, 86400, "s"),
		within("jug_error", "error of the jug", f.JugError, 0, 0.2, ""),
	)
	for _, s := range f.JugSeconds {
		err = firstError(err, within("jug_seconds", "time of a jug", s, 1, 3600, "s"))
	}
	if err == nil && len(f.JugSeconds) < 2 {
		err = ref.Inputf("jug_seconds", "Time the jug twice or more, once before and once after.", "%d timing says nothing about the tap's steadiness", len(f.JugSeconds))
	}
	if err != nil {
		return Volume{}, err
	}
	mean, spread := meanAndSpread(f.JugSeconds)
	litres := f.JugL * f.FillSeconds / mean
	jug := f.JugError
	if jug == 0 {
		jug = 0.02
	}
	n := float64(len(f.JugSeconds))
	v := Volume{Litres: litres, Parts: []Part{{Name: "By a timed fill", Litres: litres}}}
	v.spread([]Doubt{
		{"jug_l", jug * litres},
		{"jug_seconds", math.Hypot(StopwatchError.Value/math.Sqrt(n), 2*spread/math.Sqrt(n)) / mean * litres},
		{"fill_seconds", StopwatchError.Value / f.FillSeconds * litres},
	})
	return v, nil
}

// meanAndSpread returns the mean and the standard deviation of two or more.
func meanAndSpread(xs []float64) (mean, sd float64) {
	for _, x := range xs {
		mean += x / float64(len(xs))
	}
	for _, x := range xs {
		sd += (x - mean) * (x - mean) / float64(len(xs)-1)
	}
	return mean, math.Sqrt(sd)
}
