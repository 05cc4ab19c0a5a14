package desk

import (
	"context"
	"fmt"
	"math"

	"holdfast"
	"holdfast/science/clearance"
)

// MissPrice is what missing one task of the lot's course would cost.
type MissPrice struct {
	Kind TaskKind
	Day  holdfast.Day
	// Points is how much the chance of clear on the day of release would fall, in
	// points of a hundred; SE its Monte Carlo error.
	Points, SE float64
	// Days is how many days later the same chance would be reached; nil if not
	// within four weeks.
	Days *float64
	// About says that the figures were put between those of neighbouring days.
	About bool
}

// mustPoints is from how many points of chance on a miss is called out. Judgement.
const mustPoints = 1.0

// Must reports whether the task must not slip: it costs a point of chance or
// more, and more than chance in the calculation explains.
func (p MissPrice) Must() bool { return p.Points >= mustPoints && p.Points > 2*p.SE }

// Says is the price in a sentence.
func (p MissPrice) Says() string {
	if p.Points < 0.05 || p.Points < p.SE {
		return "Missing it would hardly change the chance on the day of release."
	}
	points := fmt.Sprintf("%.1f points", p.Points)
	if p.Points >= 9.95 {
		points = fmt.Sprintf("%.0f points", p.Points)
	}
	s := "Missing it costs " + points + " of chance on the day of release"
	switch {
	case p.Days == nil:
		return s + ", and four weeks more do not make it good."
	case *p.Days >= 1:
		if d := math.Ceil(*p.Days); d == 1 {
			s += ", or a day"
		} else {
			s += fmt.Sprintf(", or about %.0f days", d)
		}
	}
	return s + "."
}

// MissPrices works out what missing each task of the lot's course that is still
// to come would cost, from runs simulated lots each. b is the lot's
// [LotView.Base] against the course's condition. None without a course.
func (v *LotView) MissPrices(ctx context.Context, b *CourseBase, runs int) ([]MissPrice, error) {
	c, ok := coursePlan(v.Lot)
	if !ok || c.Release < b.From {
		return nil, nil
	}
	base := b.Warmed(b.Case, c.TempC)
	base.Runs = runs
	plan, err := base.Apply(b.Course(*c), b.At(c.Release))
	if err != nil {
		return nil, err
	}
	steps, err := clearance.Misses(ctx, plan, b.At(c.Release))
	if err != nil {
		return nil, err
	}
	var out []MissPrice
	for _, s := range steps {
		kind := map[string]TaskKind{"dose": TaskDose, "pull": TaskPull, "look": TaskLook}[s.What]
		out = append(out, MissPrice{Kind: kind, Day: b.Day(s.Day), Points: max(0, -100*s.Gain), SE: 100 * s.GainSE, Days: s.Delay, About: s.Between})
	}
	return out, nil
}
