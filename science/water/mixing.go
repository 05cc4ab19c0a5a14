package water

import (
	"math"

	"holdfast/science/ref"
)

// FillingShare returns the share of new water in a vessel that held litres and
// has had flow (litres per unit of time) run into it for a time, nothing
// leaving.
//
//	x = q t / (V + q t)
func FillingShare(litres, flow, time float64) float64 {
	return flow * time / (litres + flow*time)
}

// OverflowShare is FillingShare with the surplus running over, well mixed.
//
//	x = 1 - exp(-q t / V)
func OverflowShare(litres, flow, time float64) float64 {
	return -math.Expm1(-flow * time / litres)
}

// LeftAfterChanges returns the share of the old water after n changes of a
// share each.
func LeftAfterChanges(share float64, n int) float64 { return math.Pow(1-share, float64(n)) }

// ChangesUntil returns how many changes of a share each bring a concentration
// from one figure down to another, in water that holds none of it. The error is
// a *ref.InputError for share, from or to.
func ChangesUntil(from, to, share float64) (int, error) {
	err := firstError(
		within("change", "share changed", share, 0.01, 0.99, ""),
		within("from", "concentration", from, 0, 1e6, "mg/l"),
		within("to", "residue", to, 1e-9, 1e6, "mg/l"),
	)
	if err != nil {
		return 0, err
	}
	if from <= to {
		return 0, nil
	}
	// The small allowance keeps 0.5 of 2 to 1 at one change, not two.
	return int(math.Ceil(math.Log(to/from)/math.Log(1-share) - 1e-9)), nil
}

// Nitrate is what sets the nitrate of a tank that gets regular changes.
type Nitrate struct {
	// RiseMgLDay is how much it rises a day without a change, mg/l.
	RiseMgLDay float64
	// SourceMgL is the nitrate of the water poured in.
	SourceMgL float64
	// LimitMgL is the most that is wanted, just before a change.
	LimitMgL float64
}

func (n Nitrate) check() error {
	return firstError(
		within("rise", "daily rise", n.RiseMgLDay, 0, 100, "mg/l"),
		within("source", "nitrate of the new water", n.SourceMgL, 0, 500, "mg/l"),
		within("limit", "limit", n.LimitMgL, 0.1, 1000, "mg/l"),
	)
}

// Highest returns the nitrate just before each change once it has settled.
//
//	peak = source + rise · days / share
//
// share is the part of the water changed every so many days. The error is a
// *ref.InputError.
func (n Nitrate) Highest(share, days float64) (float64, error) {
	err := firstError(n.check(),
		within("change", "share changed", share, 0.01, 1, ""),
		within("every", "days between changes", days, 0.1, 365, "d"))
	if err != nil {
		return 0, err
	}
	return n.SourceMgL + n.RiseMgLDay*days/share, nil
}

// Share returns the share to change every so many days so that the nitrate
// settles at the limit and no higher. It is a *ref.NoAnswer when the new water
// itself is at the limit, or when even a whole change would not do.
func (n Nitrate) Share(days float64) (float64, error) {
	err := firstError(n.check(), within("every", "days between changes", days, 0.1, 365, "d"))
	if err != nil {
		return 0, err
	}
	if n.SourceMgL >= n.LimitMgL {
		return 0, &ref.NoAnswer{Reason: "the water poured in holds as much nitrate as the limit allows: use other water"}
	}
	share := n.RiseMgLDay * days / (n.LimitMgL - n.SourceMgL)
	if share > 1 {
		return 0, &ref.NoAnswer{Reason: "not even changing all of it so seldom keeps the limit: change more often, feed less or keep fewer"}
	}
	return share, nil
}

// Course returns the nitrate just before and just after each of count changes,
// from a first figure now: 2·count values.
func (n Nitrate) Course(nowMgL, share, days float64, count int) []float64 {
	var out []float64
	level := nowMgL
	for range count {
		level += n.RiseMgLDay * days
		out = append(out, level)
		level += share * (n.SourceMgL - level)
		out = append(out, level)
	}
	return out
}
