package clearance

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
)

// fixedCondition is the rostrum worm with one value for every figure, so that
// two programs can be compared without drawing truths.
func fixedCondition(t testing.TB, values map[Figure]float64, kills map[string]float64) *Condition {
	t.Helper()
	c, err := LoadCondition("rostrum_worm")
	if err != nil {
		t.Fatal(err)
	}
	for f := range c.Figures {
		x := c.Figures[f].Mean()
		if v, ok := values[Figure(f)]; ok {
			x = v
		}
		c.Figures[f] = Belief{Kind: "fix", A: x, Low: x, High: x}
	}
	for id, tr := range c.Treatments {
		k, ok := kills[id]
		if !ok {
			k = tr.Kill.Mean()
		}
		tr.Kill = Belief{Kind: "fix", A: k, Low: k, High: k}
		c.Treatments[id] = tr
	}
	return c
}

func (c *Condition) values() (v Values, kill map[string]float64) {
	for f := range c.Figures {
		v[f] = c.Figures[f].A
	}
	kill = map[string]float64{}
	for id, t := range c.Treatments {
		kill[id] = t.Kill.A
	}
	return v, kill
}

// small is a lot small enough for the twin, with clocks quick enough for much to
// happen.
func small(t testing.TB) Case {
	certain := 1.0
	return Case{
		Condition: fixedCondition(t, map[Figure]float64{
			MoultMean: 14, MatMean: 9, AdultLife: 20, Lay: .3, DevMean: 6, HOn: .4, HatchMean: 1.5, Beta: .3,
			FreeLife: 4, Leave: .4, Prev: .25, LoadMean: 1.2, Shed: .4, HostHaz: .01, Stress: .05, PMiss: .15,
			PullEff: .7, SAdult: .6, SJuv: .2, SEgg: .4, FPAdult: .01, FPEgg: .01, MoultQ10: 2.2, WormQ10: 2.5, EggHaz: .02,
		}, map[string]float64{"praziquantel": .8, "sodium_chloride_dip": .6}),
		Animals: 20, Tanks: []Tank{{VolumeL: 12}}, Infested: &certain, Seed: 21, Bag: 5,
	}
}

// outcome is what a twin shows on one day.
type outcome struct{ free, infested, alive, bag float64 }

// fitting are the lots that showed on a day what had been found until then.
type fitting struct {
	n            int
	sum, squares outcome
}

func (f *fitting) add(o outcome) {
	f.n++
	s, q := &f.sum, &f.squares
	s.free, s.infested, s.alive, s.bag = s.free+o.free, s.infested+o.infested, s.alive+o.alive, s.bag+o.bag
	q.free, q.infested, q.alive, q.bag = q.free+o.free*o.free, q.infested+o.infested*o.infested, q.alive+o.alive*o.alive, q.bag+o.bag*o.bag
}

// twins follows n lots with the twin. Once a look does not turn out as recorded
// the lot is thrown away: plain rejection, no weights.
func twins(c *Case, n int, seed uint64) []fitting {
	days := make([]fitting, len(c.Days))
	v, kill := c.Condition.values()
	for i := range n {
		w := &twin{c: c, v: v, kill: kill, rng: rand.New(rand.NewPCG(seed, uint64(i)))}
		w.start()
		w.schedule()
		looks := c.Looks
		fits := true
		for d, day := range c.Days {
			for fits && len(looks) > 0 && looks[0].Day <= day {
				fits = w.take(looks[0])
				looks = looks[1:]
			}
			if !fits {
				break
			}
			w.until(day)
			o := outcome{infested: float64(w.infested()), alive: float64(w.alive(0))}
			if len(w.live) == 0 {
				o.free = 1
			}
			o.bag = bagByCount(w.alive(0), w.infested(), c.Bag)
			days[d].add(o)
		}
	}
	return days
}

// take makes a look and lets its positives go; it reports whether the look turned
// out as recorded.
func (w *twin) take(l Look) bool {
	w.until(l.Day)
	worms, eggs, positive := w.look(l)
	if worms != l.Worms || eggs != l.Eggs {
		return false
	}
	if l.PositivesTo != nil {
		w.now += tick
		w.change(func() {
			for _, h := range positive {
				if *l.PositivesTo < 0 {
					w.out(h)
				} else {
					h.tank = *l.PositivesTo
				}
			}
		})
	}
	return true
}

// bagByCount takes every bag apart: the chance that none of m animals, taken one
// after the other, carries anything.
func bagByCount(alive, infested, m int) float64 {
	clean := 1.0
	for i := range min(m, alive) {
		clean *= max(0, float64(alive-infested-i)) / float64(alive-i)
	}
	return 1 - clean
}

func compareTwins(t *testing.T, c Case, n int) {
	t.Helper()
	c.Runs = 20000
	if testing.Short() {
		n, c.Runs = n/10, 4000
	}
	p, err := c.prepared()
	if err != nil {
		t.Fatal(err)
	}
	r, err := Evidence(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	days := twins(p, n, 77)
	var z2 float64
	var m int
	check := func(day float64, what string, got, se float64, n int, s, q float64) {
		k := float64(n)
		want := s / k
		twinSE := math.Sqrt(max(q/k-want*want, .25/k) / k)
		z := (got - want) / math.Hypot(se, twinSE)
		z2, m = z2+z*z, m+1
		if math.Abs(z) > 4 {
			t.Errorf("day %g: %s %.4f ± %.4f, twin %.4f ± %.4f (z %.1f)", day, what, got, se, want, twinSE, z)
		}
	}
	for d, pt := range r.Mixed.Points {
		f := &days[d]
		if f.n < 50 {
			t.Fatalf("day %g: only %d of %d twins fit", pt.Day, f.n, n)
		}
		check(pt.Day, "clear", pt.Clear.Value, pt.Clear.SE, f.n, f.sum.free, f.squares.free)
		check(pt.Day, "bag risk", pt.BagRisk.Value, pt.BagRisk.SE, f.n, f.sum.bag, f.squares.bag)
		if len(c.Looks) == 0 {
			check(pt.Day, "alive", pt.Alive, 0, f.n, f.sum.alive, f.squares.alive)
		}
	}
	t.Logf("%d twins of %d fit; %d values, mean z² %.2f; clear at last %.3f", days[len(days)-1].n, n, m, z2/float64(m), r.Mixed.Points[len(r.Mixed.Points)-1].Clear.Value)
}

// TestTwinEverythingDone compares with the twin under temperature changes, baths
// and dips (one half lost), stress and deaths, pulls with days missed, animals
// sold, dead, moved to a hospital and back.
func TestTwinEverythingDone(t *testing.T) {
	c := small(t)
	c.Tanks = []Tank{{VolumeL: 12, Temp: []TempFrom{{0, 22}, {9, 26.5}, {25, 24}}}, {VolumeL: 4, Temp: []TempFrom{{0, 28}}}}
	c.Doses = []Dose{{Treatment: "praziquantel", Day: 2, Days: 3}, {Treatment: "praziquantel", Day: 16, Days: 2, Lost: .5},
		{Treatment: "sodium_chloride_dip", Day: 7, Tank: 1}, {Treatment: "sodium_chloride_dip", Day: 12}}
	c.Pulls = []Pulls{{From: 1, To: 30, PerDay: 2}, {From: 5, To: 20, PerDay: 1, Tank: 1}}
	c.Exits = []Exit{{Day: 8, Animals: 3}, {Day: 10, Animals: 2, Dead: true}}
	c.Moves = []Move{{Day: 5, Animals: 6, From: 0, To: 1}, {Day: 20, Animals: 20, From: 1, To: 0}}
	c.Days = []float64{1, 6, 11, 18, 26, 40}
	compareTwins(t, c, 20000)
}

// TestTwinLooks compares the weighted answer with plain rejection: lots are
// followed by the twin, looked at, and kept only if they show what was found.
func TestTwinLooks(t *testing.T) {
	c := small(t)
	c.Doses = []Dose{{Treatment: "praziquantel", Day: 6, Days: 3}, {Treatment: "praziquantel", Day: 17, Days: 3}}
	c.Pulls = []Pulls{{From: 0, To: 40, PerDay: 1}}
	c.Looks = []Look{{Day: 5, Animals: 8, Worms: 1, Eggs: 1}, {Day: 24, Animals: 10, View: .8}}
	c.Days = []float64{5, 15, 24, 40}
	compareTwins(t, c, 30000)
}

// TestTwinPositivesLeave does the same where the animals with signs were taken out
// of the lot after the look.
func TestTwinPositivesLeave(t *testing.T) {
	out := -1
	c := small(t)
	c.Doses = []Dose{{Treatment: "praziquantel", Day: 8, Days: 3}}
	c.Pulls = []Pulls{{From: 0, To: 40, PerDay: 2}}
	c.Looks = []Look{{Day: 4, Animals: 12, Worms: 2, Eggs: 1, PositivesTo: &out}, {Day: 20, Animals: 10}}
	c.Days = []float64{4, 10, 20, 32}
	compareTwins(t, c, 40000)
}

// TestTwinHospital does the same where they were moved to a hospital, dipped
// there, looked at there, and moved back.
func TestTwinHospital(t *testing.T) {
	hospital := 1
	c := small(t)
	c.Tanks = append(c.Tanks, Tank{VolumeL: 3})
	c.Doses = []Dose{{Treatment: "praziquantel", Day: 12, Days: 3}, {Treatment: "sodium_chloride_dip", Day: 5, Tank: 1}}
	c.Pulls = []Pulls{{From: 0, To: 40, PerDay: 1}, {From: 0, To: 40, PerDay: 2, Tank: 1}}
	c.Looks = []Look{{Day: 4, Animals: 12, Worms: 1, Eggs: 1, PositivesTo: &hospital}}
	c.Moves = []Move{{Day: 15, Animals: 20, From: 1, To: 0}}
	c.Days = []float64{6, 12, 20, 32}
	compareTwins(t, c, 30000)
}

// TestTwinFigures compares at the default figures without deaths.
func TestTwinFigures(t *testing.T) {
	c := small(t)
	c.Condition = fixedCondition(t, map[Figure]float64{HostHaz: 0, Stress: 0, MoultMean: 20, LoadMean: 1, Prev: .15}, nil)
	c.Pulls = []Pulls{{From: 0, To: 60, PerDay: 1}}
	c.Doses = []Dose{{Treatment: "praziquantel", Day: 1, Days: 4}, {Treatment: "praziquantel", Day: 15, Days: 4}}
	c.Days = []float64{10, 25, 45, 60}
	compareTwins(t, c, 10000)
}
