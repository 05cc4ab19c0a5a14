package clearance

import (
	"context"
	"math"
	"testing"
)

// TestStandSoonAgreesWithStand holds a rough standing against a whole one: over many
// seeds the mean agrees, and the errors that are told cover the spread.
func TestStandSoonAgreesWithStand(t *testing.T) {
	c := Case{Animals: 60, Tanks: []Tank{{VolumeL: 40}}, Today: 17, Days: []float64{17}, Seed: 3, Runs: 2000,
		Looks: []Look{{Day: 1, Animals: 20, Worms: 1}, {Day: 15, Animals: 20}}, Doses: []Dose{{Treatment: "praziquantel", Day: 2, Days: 4}}}
	ctx := context.Background()
	q := Question{Case: c, Alone: true, Candidates: []Course{{Treatment: "praziquantel", DoseDays: []float64{18}, PullsPerDay: 1, Release: 50}}}
	s, err := Stand(ctx, c)
	if err != nil {
		t.Fatal(err)
	}
	whole, err := s.Compare(ctx, q, nil)
	if err != nil {
		t.Fatal(err)
	}
	want := whole.Courses[0].Days[0].Clear
	over, stop := context.WithCancel(ctx)
	stop()
	const seeds = 40
	var sum, squares, told float64
	for i := range seeds {
		c.Seed, c.Runs = uint64(100+i), 200
		q.Case = c
		s, err := StandSoon(ctx, over, c) // in no time at all, so with the fewest
		if err != nil {
			t.Fatal(err)
		}
		a, err := s.Compare(ctx, q, nil)
		if err != nil {
			t.Fatal(err)
		}
		x := a.Courses[0].Days[0].Clear
		sum, squares, told = sum+x.Value, squares+x.Value*x.Value, told+x.SE*x.SE
	}
	mean := sum / seeds
	spread := math.Sqrt(max(0, squares/seeds-mean*mean))
	// 4 standard errors, and 1/25 for the bias of weights that sum to one.
	if d := math.Abs(mean - want.Value); d > 4*math.Hypot(spread/math.Sqrt(seeds), want.SE)+1./leastESS {
		t.Errorf("%.3f in the mean of rough standings, %.3f ± %.3f from a whole one", mean, want.Value, want.SE)
	}
	if told := math.Sqrt(told / seeds); spread > 1.5*told {
		t.Errorf("rough answers spread by %.3f and say %.3f", spread, told)
	}
	t.Logf("%.3f (spread %.3f, told %.3f), whole %.3f", mean, spread, math.Sqrt(told/seeds), want.Value)
}
