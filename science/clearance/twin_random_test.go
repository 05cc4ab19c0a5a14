package clearance

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// mostSigma is how many standard errors, of both programs together, two answers may
// lie apart: by chance one value in two million does. Seeds are fixed, so that a
// machine never decides.
const mostSigma = 5

// evenly returns a number drawn evenly from lo to hi.
func evenly(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// invented makes up a scenario of the form of the check files, small enough for the
// twin.
func invented(r *rand.Rand, n int) Scenario {
	s := Scenario{Name: fmt.Sprintf("invented %d", n), Days: []float64{5, 15, 30, 45}}
	s.P = ScenarioFigures{MoultMean: evenly(r, 8, 25), MoultCV: evenly(r, .1, .6), MatMean: evenly(r, 4, 15), MatCV: evenly(r, .1, .6),
		MuA: evenly(r, .02, .1), MuJ: evenly(r, .02, .1), MuL: evenly(r, .3, 1), MuF: evenly(r, .1, .5), MuE: evenly(r, 0, .2),
		Lay: evenly(r, .1, .6), DevMean: evenly(r, 3, 10), DevCV: evenly(r, .1, .4), HatchMean: evenly(r, .5, 2), Beta: evenly(r, .05, .4),
		Shed: evenly(r, 0, .7), Leave: evenly(r, .1, .8), PullEff: evenly(r, .4, 1), PMiss: evenly(r, 0, .3), BathEff: evenly(r, .5, .98),
		KJ: evenly(r, .3, 1.2), KL: evenly(r, .3, 1.5), HostHaz: evenly(r, 0, .02), Stress: evenly(r, 0, .1), HOn: evenly(r, 0, 1), Stay: evenly(r, 0, 1),
		Via: evenly(r, .3, 1), NI: -1, Prev: evenly(r, .1, .4), LoadMean: evenly(r, .5, 2), LoadK: evenly(r, .3, 2), FAdult: evenly(r, 0, 1), Age: evenly(r, 3, 20)}
	s.S = ScenarioPlan{N: 10 + r.IntN(20), V: evenly(r, 8, 20), PullF: r.IntN(3), PullA: float64(r.IntN(4)), PullB: evenly(r, 10, 45), Horizon: 46, Cap: 5000}
	day := evenly(r, 0, 6)
	for range r.IntN(4) {
		days := evenly(r, 1, 4)
		s.S.Baths = append(s.S.Baths, [2]float64{day, days})
		day += days + evenly(r, 3, 14)
	}
	return s
}

// asCase writes a scenario as a case, which the twin reads.
func (s *Scenario) asCase(t *testing.T) Case {
	p := s.P
	certain := 1.0
	c := Case{Condition: fixedCondition(t, map[Figure]float64{
		MoultMean: p.MoultMean, MoultCV: p.MoultCV, MatMean: p.MatMean, MatCV: p.MatCV, AdultLife: 1 / p.MuA, JuvHaz: p.MuJ, Lay: p.Lay,
		DevMean: p.DevMean, DevCV: p.DevCV, EggHaz: p.MuE, HOn: p.HOn, Stay: p.Stay, Via: p.Via, HatchMean: p.HatchMean, Beta: p.Beta, LarvaLife: 1 / p.MuL,
		Shed: p.Shed, Leave: p.Leave, FreeLife: 1 / p.MuF, PullEff: p.PullEff, PMiss: p.PMiss, KJ: p.KJ, KL: p.KL, HostHaz: p.HostHaz, Stress: p.Stress,
		Prev: p.Prev, LoadMean: p.LoadMean, LoadK: p.LoadK, FAdult: p.FAdult, Age: p.Age, MoultQ10: 1, WormQ10: 1,
	}, map[string]float64{"praziquantel": p.BathEff}), Animals: s.S.N, Tanks: []Tank{{VolumeL: s.S.V}}, Infested: &certain, Days: s.Days, Bag: 5}
	for _, b := range s.S.Baths {
		c.Doses = append(c.Doses, Dose{Treatment: "praziquantel", Day: b[0], Days: b[1]})
	}
	if s.S.PullF > 0 {
		c.Pulls = []Pulls{{From: s.S.PullA, To: s.S.PullB, PerDay: s.S.PullF}}
	}
	return c
}

// TestTwinInventedScenarios holds what `holdfast course --scenarios` prints for
// made-up scenarios against the event-queue twin.
func TestTwinInventedScenarios(t *testing.T) {
	many, runs := 12, 8000
	if testing.Short() {
		many, runs = 4, 2500
	}
	var z2 float64
	n := 0
	for i := range many {
		r := rand.New(rand.NewPCG(2026, uint64(i)))
		made := invented(r, i)
		b, err := json.Marshal(made) // as it would stand in a file
		if err != nil {
			t.Fatal(err)
		}
		var s Scenario
		if err := json.Unmarshal(b, &s); err != nil {
			t.Fatal(err)
		}
		free, err := s.Free(context.Background(), runs, 5)
		if err != nil {
			t.Fatal(err)
		}
		c := s.asCase(t)
		p, err := c.prepared()
		if err != nil {
			t.Fatal(err)
		}
		days := twins(p, runs, uint64(100+i))
		for d, f := range free {
			k := int(days[d].sum.free)
			want, se := float64(k)/float64(runs), shareError(k, runs)
			z := (f.Free - want) / math.Hypot(f.SE, se)
			z2, n = z2+z*z, n+1
			if math.Abs(z) > mostSigma {
				t.Errorf("%s day %g: free %.4f ± %.4f, twin %.4f ± %.4f\n%+v", s.Name, f.Day, f.Free, f.SE, want, se, s)
			}
		}
	}
	t.Logf("%d values, mean z² %.2f", n, z2/float64(n))
}

// TestTwinInventedLots does the same for made-up lots with everything else that can
// be done: temperatures that change, hospitals, moves there and back, doses that held
// in part, dips, animals sold, dead and taken out.
func TestTwinInventedLots(t *testing.T) {
	many, runs := 10, 8000
	if testing.Short() {
		many, runs = 3, 2500
	}
	var z2 float64
	n := 0
	for i := range many {
		r := rand.New(rand.NewPCG(1126, uint64(i)))
		made := invented(r, i)
		c := made.asCase(t)
		c.Condition = fixedCondition(t, func() map[Figure]float64 {
			v, _ := c.Condition.values()
			all := map[Figure]float64{}
			for f := range v {
				all[Figure(f)] = v[f]
			}
			all[MoultQ10], all[WormQ10] = evenly(r, 1.5, 3), evenly(r, 1.5, 3)
			return all
		}(), map[string]float64{"praziquantel": made.P.BathEff, "sodium_chloride_dip": evenly(r, .3, .9)})
		tanks := 1 + r.IntN(3)
		c.Tanks = nil
		for k := range tanks {
			tank := Tank{VolumeL: evenly(r, 3, 20), Temp: []TempFrom{{0, evenly(r, 20, 28)}}}
			for day := evenly(r, 4, 12); day < 40; day += evenly(r, 5, 20) {
				tank.Temp = append(tank.Temp, TempFrom{day, evenly(r, 20, 28)})
			}
			c.Tanks = append(c.Tanks, tank)
			if k == 0 {
				continue
			}
			there := evenly(r, 2, 15)
			c.Moves = append(c.Moves, Move{Day: there, Animals: 1 + r.IntN(8), From: 0, To: k}, Move{Day: there + evenly(r, 3, 20), Animals: 50, From: k, To: 0})
			c.Doses = append(c.Doses, Dose{Treatment: "sodium_chloride_dip", Day: there + evenly(r, .1, 2), Tank: k})
			c.Pulls = append(c.Pulls, Pulls{From: there, To: there + 20, PerDay: 1 + r.IntN(2), Tank: k})
		}
		for k := range c.Doses {
			if r.IntN(2) == 0 {
				c.Doses[k].Lost = r.Float64()
			}
		}
		for range r.IntN(4) {
			c.Exits = append(c.Exits, Exit{Day: evenly(r, 1, 40), Animals: 1 + r.IntN(3), Dead: r.IntN(2) == 0, Tank: r.IntN(tanks)})
		}
		c.Runs, c.Seed = runs, uint64(40+i)
		p, err := c.prepared()
		if err != nil {
			t.Fatal(err)
		}
		s := newSample(p, mixed)
		if err := s.grow(context.Background(), runs); err != nil {
			t.Fatal(err)
		}
		days := twins(p, runs, uint64(700+i))
		check := func(what string, day, ours, ourSquares, theirs, theirSquares float64) {
			k := float64(runs)
			a, b := ours/k, theirs/k
			se := math.Sqrt((max(ourSquares/k-a*a, .25/k) + max(theirSquares/k-b*b, .25/k)) / k)
			z := (a - b) / se
			z2, n = z2+z*z, n+1
			if math.Abs(z) > mostSigma {
				t.Errorf("lot %d day %g: %s %.4f, twin %.4f (%.1f standard errors)\n%+v", i, day, what, a, b, z, c)
			}
		}
		for d, day := range p.Days {
			var free, infested, infested2, alive, alive2 float64
			for j := range runs {
				if s.end[j] <= day+evening {
					free++
				}
				x, y := float64(s.infested[j*s.days+d]), float64(s.alive[j*s.days+d])
				infested, infested2, alive, alive2 = infested+x, infested2+x*x, alive+y, alive2+y*y
			}
			f := &days[d]
			check("free", day, free, free, f.sum.free, f.squares.free)
			check("infested", day, infested, infested2, f.sum.infested, f.squares.infested)
			check("alive", day, alive, alive2, f.sum.alive, f.squares.alive)
		}
		if slices.Contains(s.capped, true) {
			t.Errorf("lot %d passed the cap, which the twin does not know", i)
		}
	}
	t.Logf("%d values, mean z² %.2f", n, z2/float64(n))
}
