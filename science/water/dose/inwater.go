package dose

import (
	"cmp"
	"math"
	"slices"
)

// Event is something that changed what is in the water of a bath.
type Event struct {
	// Day is when, after the bath began.
	Day float64
	// ChangeShare of the water was replaced with water that holds none of it, then
	// AddMgL came in.
	ChangeShare float64
	AddMgL      float64
}

// InWater returns what is in the water at day, mg/l, after everything that
// really happened up to then, whatever was planned.
//
//	C = Σ dose · 2^(-(day-dayᵢ)/h) · Π (1-f) over the changes since
//
// halfLifeDays is the time to the half by decay and uptake together, 0 for no
// loss. events need no order; of one day they count in the order given. Those
// after day do not count.
func InWater(events []Event, halfLifeDays, day float64) float64 {
	sorted := slices.Clone(events)
	slices.SortStableFunc(sorted, func(a, b Event) int { return cmp.Compare(a.Day, b.Day) })
	c, at := 0.0, 0.0
	fade := func(to float64) {
		if halfLifeDays > 0 && to > at {
			c *= math.Exp2(-(to - at) / halfLifeDays)
		}
		at = to
	}
	for _, e := range sorted {
		if e.Day > day {
			break
		}
		fade(e.Day)
		c = c*(1-math.Min(1, math.Max(0, e.ChangeShare))) + math.Max(0, e.AddMgL)
	}
	fade(day)
	return c
}

// HalfLife returns the time in days in which half is lost by decay and uptake
// together, 0 for no loss.
func (c Course) HalfLife() float64 {
	if rate := c.lossPerDay(); rate > 0 {
		return math.Ln2 / rate
	}
	return 0
}
