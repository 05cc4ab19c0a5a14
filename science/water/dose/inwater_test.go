package dose

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/water"
)

// By hand: 2.5 mg/l, half-life 4 d; day 3: 2.5·2^(-3/4) = 1.48651; a change of
// 30 %: 1.04056; 1.4 mg/l more: 2.44056; day 5: ·2^(-1/2) = 1.72573.
func TestInWaterByHand(t *testing.T) {
	events := []Event{{Day: 3, ChangeShare: 0.3, AddMgL: 1.4}, {Day: 0, AddMgL: 2.5}, {Day: 9, AddMgL: 100}}
	for day, want := range map[float64]float64{0: 2.5, 3: 2.5*math.Pow(2, -0.75)*0.7 + 1.4, 5: (2.5*math.Pow(2, -0.75)*0.7 + 1.4) * math.Sqrt(0.5)} {
		if got := InWater(events, 4, day); math.Abs(got-want) > 1e-12 {
			t.Errorf("day %g: %g mg/l, want %g", day, got, want)
		}
	}
	if got := InWater(events, 0, 8); math.Abs(got-(2.5*0.7+1.4)) > 1e-12 {
		t.Errorf("without decay %g", got)
	}
}

// What really happened, told event by event, is the curve of the plan whenever
// it went as planned.
func TestInWaterIsThePlansCurve(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Course{Order: Order{Volume: water.Volume{Litres: rapid.Float64Range(5, 500).Draw(t, "litres")}, MgL: rapid.Float64Range(0.5, 10).Draw(t, "target"),
			Strength: Strength{MgPer: 500, Unit: Gram}}, Days: rapid.Float64Range(1, 20).Draw(t, "days"),
			ChangeShare: 0.3, ChangeDays: rapid.Float64Range(0.5, 5).Draw(t, "change"), HalfLifeDays: rapid.Float64Range(0.5, 20).Draw(t, "half"), AbsorbDays: rapid.Float64Range(0, 20).Draw(t, "absorb")}
		if c.AbsorbDays < 0.02 {
			c.AbsorbDays = 0
		}
		run, err := c.Follow()
		if err != nil {
			t.Fatal(err)
		}
		perUnit := c.Strength.MgPer / c.Volume.Litres
		events := []Event{{AddMgL: run.Mix.MgL}}
		for _, r := range run.Redoses {
			events = append(events, Event{Day: r.Day, ChangeShare: c.ChangeShare, AddMgL: r.InHand * perUnit})
		}
		last := run.Curve[len(run.Curve)-1]
		for _, p := range run.Curve {
			if p.After != Redosed && p.Day != last.Day {
				continue
			}
			if got := InWater(events, c.HalfLife(), p.Day); math.Abs(got-p.WeighedMgL) > 1e-9*c.MgL {
				t.Fatalf("day %g: %g mg/l, the curve says %g", p.Day, got, p.WeighedMgL)
			}
		}
	})
}
