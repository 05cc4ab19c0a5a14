package clearance

import (
	"math"
	"testing"
)

// TestGivenUp checks that a run given up because it is sure to pass the limit is
// one that passes it when it is followed to the end, that its chance of clear is
// the same, that nothing before the day it was given up differs, and that what it
// counts after that day is hardly more than was there.
func TestGivenUp(t *testing.T) {
	certain := 1.0
	c := Case{Animals: 60, Tanks: []Tank{{VolumeL: 30}}, Infested: &certain, Seed: 5}
	for day := 0.0; day <= 120; day += 10 {
		c.Days = append(c.Days, day)
	}
	c.Looks = []Look{{Day: 40, Animals: 20, Planned: true}, {Day: 100, Animals: 20, Planned: true}}
	cond, err := LoadCondition("rostrum_worm")
	if err != nil {
		t.Fatal(err)
	}
	cond.Cap = 4000
	c.Condition = cond
	p, err := c.prepared()
	if err != nil {
		t.Fatal(err)
	}
	whole := *p
	whole.Looks = []Look{{Day: 40, Animals: 20}, {Day: 100, Animals: 20}} // made: followed until then
	soon, late := newSample(p, mixed), newSample(&whole, mixed)
	soon.room(300)
	late.room(300)
	a, b := soon.newWorker(), late.newWorker()
	b.whole.settled = math.Inf(1)
	given, carrying, there := 0, 0, 0
	for i := range 300 {
		a.do(i, particle{run: i})
		b.do(i, particle{run: i})
		if soon.end[i] != late.end[i] || soon.capped[i] != late.capped[i] {
			t.Fatalf("run %d: free from %g, followed on %g; capped %t, %t", i, soon.end[i], late.end[i], soon.capped[i], late.capped[i])
		}
		known := a.whole.known
		for d, day := range p.Days {
			x, y := soon.infested[i*soon.days+d], late.infested[i*late.days+d]
			switch {
			case day < known && x != y:
				t.Fatalf("run %d, day %g: %d carry, followed on %d", i, day, x, y)
			case day >= known && day < b.whole.known:
				carrying, there = carrying+int(x), there+int(y)
			}
		}
		for l, look := range p.Looks {
			x, y := soon.like[i*soon.looks+l], late.like[i*late.looks+l]
			switch {
			case look.Day < known && x != y:
				t.Fatalf("run %d, look %d: weight %g, followed on %g", i, l, x, y)
			case look.Day >= known && (!math.IsInf(x, -1) || y > math.Log(1e-4)):
				t.Fatalf("run %d, look %d: a clean look at so many worms has log chance %g, given up %g", i, l, y, x)
			}
		}
		if known < b.whole.known {
			given++
		}
	}
	if given < 20 || there == 0 {
		t.Fatalf("only %d runs were given up", given)
	}
	share := float64(carrying) / float64(there)
	t.Logf("%d of 300 runs given up; animals counted as carrying after that: %.3f times those that do", given, share)
	if share > 1.15 {
		t.Errorf("given-up runs count %.3f times as many carriers", share)
	}
}
