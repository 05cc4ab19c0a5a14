package clearance

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"
)

// TestBranching compares the chance that one juvenile's progeny dies out with
// the exact fixed point of the branching process.
//
// Source: testdata/checks, branching_ref.csv (reference.py, no simulation).
func TestBranching(t *testing.T) {
	want := map[string]float64{}
	for _, r := range readReference(t, "branching_ref.csv") {
		want[r.scenario] = r.value
	}
	cases := readJSON[[]Scenario](t, "branching.json")
	for _, s := range cases {
		w, ok := want[s.Name]
		if !ok {
			t.Fatalf("%s: no reference", s.Name)
		}
		got, err := s.Free(context.Background(), runs(20000), 11)
		if err != nil {
			t.Fatal(err)
		}
		if z := (got[0].Free - w) / got[0].SE; math.Abs(z) > 4 {
			t.Errorf("%s: %.5f, want %.5f (z %.2f)", s.Name, got[0].Free, w, z)
		}
	}
	if len(cases) == 0 {
		t.Fatal("no cases")
	}
}

// TestPerfect checks the limits of a perfect bath and perfect pulls.
//
// Source: testdata/checks/README.md, row (iv).
func TestPerfect(t *testing.T) {
	cases := readJSON[[]Scenario](t, "perfect.json")
	for _, s := range cases {
		got, err := s.Free(context.Background(), 5000, 3)
		if err != nil {
			t.Fatal(err)
		}
		first, last := got[0].Free, got[len(got)-1].Free
		switch s.P.HOn {
		case 0:
			if first != 0 || last != 1 {
				t.Errorf("%s: %g at first and %g at last, want exactly 0 and 1", s.Name, first, last)
			}
		case 1:
			if last > .001 {
				t.Errorf("%s: %g at last, want at most .001", s.Name, last)
			}
		}
	}
	if len(cases) < 2 {
		t.Fatal("too few cases")
	}
}

// TestMeanField compares mean counts with the linear equations they obey.
//
// Source: testdata/checks, meanfield_ref.csv (reference.py, matrix exponential).
func TestMeanField(t *testing.T) {
	type mean struct{ value, se, total float64 }
	got := map[string]mean{}
	for _, s := range readJSON[[]Scenario](t, "meanfield.json") {
		tr, v := s.trial()
		const n = 1500 // takes a second; with fewer the rare kinds are too few
		tallies := make([]tally, n)
		kill := []float64{s.P.BathEff}
		err := each(context.Background(), n, batch, func() func(int) {
			r := tr.newRun()
			return func(i int) {
				tallies[i] = newTally(s.Days)
				r.tally = &tallies[i]
				r.follow(runKey(5, i), &v, kill, nil, nil)
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		for d, day := range s.Days {
			for name, of := range map[string]func(*tally) int{
				"juv":       func(c *tally) int { return c.juveniles[d] },
				"adult":     func(c *tally) int { return c.adults[d] },
				"eggs":      func(c *tally) int { return c.eggs[d] },
				"larvae":    func(c *tally) int { return c.larvae[d] },
				"displaced": func(c *tally) int { return c.displaced[d] },
			} {
				var sum, sq float64
				for i := range tallies {
					x := float64(of(&tallies[i]))
					sum, sq = sum+x, sq+x*x
				}
				m := sum / float64(n)
				got[fmt.Sprintf("%s mean %s d%g", s.Name, name, day)] = mean{m, math.Sqrt((sq/float64(n) - m*m) / float64(n)), sum}
			}
		}
	}
	var z2 float64
	var k int
	for _, w := range readReference(t, "meanfield_ref.csv") {
		g, ok := got[w.scenario+" "+w.quantity]
		if !ok {
			t.Fatalf("no answer for %s %s", w.scenario, w.quantity)
		}
		if g.total < 30 {
			if math.Abs(g.value-w.value) > .01 {
				t.Errorf("%s %s: %g, want %g", w.scenario, w.quantity, g.value, w.value)
			}
			continue
		}
		z := (g.value - w.value) / g.se
		z2, k = z2+z*z, k+1
		if math.Abs(z) > 4 {
			t.Errorf("%s %s: %g, want %g (z %.2f)", w.scenario, w.quantity, g.value, w.value, z)
		}
	}
	t.Logf("%d values, mean z² %.2f", k, z2/float64(k))
}

func newTally(days []float64) tally {
	n := len(days)
	return tally{times: days, juveniles: make([]int, n), adults: make([]int, n), eggs: make([]int, n), larvae: make([]int, n), displaced: make([]int, n)}
}

// TestRenewal compares the share of hosts that have moulted by a day with the
// equilibrium Gamma renewal.
//
// Source: testdata/checks, renewal_ref.csv (reference.py, quadrature).
func TestRenewal(t *testing.T) {
	got := map[string]float64{}
	n := runs(4000)
	const places = 25
	for _, c := range readJSON[[]struct {
		Mean, CV float64
		Days     []float64
	}](t, "renewal.json") {
		tr := &trial{places: places, horizon: 60, limit: 1, asked: newCalendar(nil, 60), looks: newCalendar(nil, 60)}
		tr.schedules = []schedule{newSchedule(Tank{VolumeL: 1}, 0, nil, nil, nil, 60)}
		r := tr.newRun()
		v := Values{MoultMean: c.Mean, MoultCV: c.CV, MoultQ10: 1, WormQ10: 1, MatCV: 1, DevCV: 1}
		first := make([]float64, 0, n*places)
		for i := range n {
			r.begin(runKey(7, i), &v, nil, nil, nil)
			for h := range places {
				first = append(first, r.moults[r.clock(h).first])
			}
		}
		for _, day := range c.Days {
			moulted := 0
			for _, x := range first {
				if x <= day {
					moulted++
				}
			}
			got[fmt.Sprintf("mean %g cv %g P(moulted by d%g)", c.Mean, c.CV, day)] = float64(moulted) / float64(len(first))
		}
	}
	for _, w := range readReference(t, "renewal_ref.csv") {
		g, ok := got[w.scenario+" "+w.quantity]
		if !ok {
			t.Fatalf("no answer for %s %s", w.scenario, w.quantity)
		}
		if z := (g - w.value) / math.Sqrt(g*(1-g)/float64(n*places)); math.Abs(z) > 4 {
			t.Errorf("%s %s: %.5f, want %.5f (z %.2f)", w.scenario, w.quantity, g, w.value, z)
		}
	}
}

// TestMonotone counts runs that more pulls or more doses made clear later, on
// the same random numbers: there must be none.
//
// Source: testdata/checks, monotone.csv.
func TestMonotone(t *testing.T) {
	scenarios := map[string]Scenario{}
	for _, s := range readJSON[[]Scenario](t, "scenarios.json") {
		scenarios[s.Name] = s
	}
	done := map[string][2]int{} // later, earlier
	for _, w := range readReference(t, "monotone.csv") {
		direction, what, _ := strings.Cut(w.quantity, ": ")
		s, ok := scenarios[w.scenario]
		if !ok {
			t.Fatalf("no scenario %s", w.scenario)
		}
		key := w.scenario + " " + what
		if _, ok := done[key]; !ok {
			later, earlier := moreOf(t, s, what)
			done[key] = [2]int{later, earlier}
		}
		switch n := done[key]; {
		case direction == "later" && n[0] != 0:
			t.Errorf("%s: %d runs later", key, n[0])
		case direction == "earlier" && w.tolerance == "must be > 0" && n[1] == 0:
			t.Errorf("%s: none earlier", key)
		}
	}
}

// moreOf follows the same runs with more and more of something and counts how
// often a step made a run clear later, and earlier.
func moreOf(t *testing.T, s Scenario, what string) (later, earlier int) {
	t.Helper()
	var plans []Scenario
	if strings.HasPrefix(what, "more pulls") {
		for f := range 3 {
			p := s
			p.S.PullF = f
			plans = append(plans, p)
		}
	} else {
		for d := range len(s.S.Baths) + 1 {
			p := s
			p.S.Baths = s.S.Baths[:d]
			plans = append(plans, p)
		}
	}
	var before []float64
	for _, p := range plans {
		ends, _, err := p.ends(context.Background(), runs(1500), 13)
		if err != nil {
			t.Fatal(err)
		}
		for j := range before {
			switch {
			case ends[j] > before[j]:
				later++
			case ends[j] < before[j]:
				earlier++
			}
		}
		before = ends
	}
	return later, earlier
}
