package clearance

import (
	"math"
	"testing"
)

// Before anything happened, carriers are what the lot arrived with, and a look
// shows of them what its seeing says.
func TestSightOfALotJustArrived(t *testing.T) {
	c := Case{Animals: 80, Tanks: []Tank{{VolumeL: 50}}, Today: 0.01, Days: []float64{0.01}, Runs: 2000, Seed: 5}
	s, err := Stand(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	got, err := s.Sight(t.Context(), 7)
	if err != nil {
		t.Fatal(err)
	}
	sum, mean := 0.0, 0.0
	for d, p := range got.Carriers {
		sum += p
		mean += p * float64(d)
	}
	q, err := Quick(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	now := q.Mixed.Points[0]
	if math.Abs(sum-1) > 1e-9 || got.Alive != 80 || math.Abs(mean/80-now.Infested) > .02 || math.Abs(got.Carriers[0]-.5) > .02 {
		t.Errorf("%v in all, %d alive, %v carriers against %v", sum, got.Alive, mean/80, now.Infested)
	}
	if got.Clear > got.Carriers[0] || math.Abs(got.Clear-now.Clear.Value) > .02 {
		t.Errorf("clear %v, no carriers %v, %v as Quick has it", got.Clear, got.Carriers[0], now.Clear.Value)
	}
	if len(got.Seen) != 7 {
		t.Fatal(got.Seen)
	}
	for i, x := range got.Seen {
		if x < 0 || x > 1 || i > 0 && x < got.Seen[i-1] {
			t.Errorf("quantiles of what is seen: %v", got.Seen)
		}
	}
}

// Quick is Evidence with fewer runs: the same runs, the same answer.
func TestQuickAgreesWithEvidence(t *testing.T) {
	c := Case{Animals: 60, Tanks: []Tank{{VolumeL: 50}}, Today: 20, Days: []float64{20}, Runs: 2000, Seed: 5,
		Looks: []Look{{Day: 3, Animals: 10}}}
	q, err := Quick(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	e, err := Evidence(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	if e.Mixed.Runs != 2000 || q.Mixed.Points[0].Clear.Value != e.Mixed.Points[0].Clear.Value || q.Mixed.Points[0].BagRisk.Value != e.Mixed.Points[0].BagRisk.Value {
		t.Errorf("quick %+v, evidence %+v of %d runs", q.Mixed.Points[0], e.Mixed.Points[0], e.Mixed.Runs)
	}
}
