package clearance

import (
	"context"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestForkedRunsAreWhole checks that courses whose runs go on from each other's find
// what each finds alone, lot by lot: whoever lives when, exactly, and the chance of a
// look but for rounding.
func TestForkedRunsAreWhole(t *testing.T) {
	shared := 0
	rapid.Check(t, func(rt *rapid.T) {
		c := small(t)
		c.Condition.Cap = rapid.SampledFrom([]int{100, 150, 20000}).Draw(rt, "cap")
		c.Runs, c.Days, c.Seed = 100, []float64{0}, rapid.Uint64().Draw(rt, "seed")
		c.Animals = rapid.IntRange(5, 30).Draw(rt, "animals")
		c.Tanks[0].Temp = []TempFrom{{0, rapid.Float64Range(20, 28).Draw(rt, "warm")}, {40, 24}}
		if rapid.Bool().Draw(rt, "later") {
			c.Today = 12
			away := -1
			c.Looks = []Look{{Day: 1, Animals: 3, Worms: 1}, {Day: 12, Animals: 4, Worms: 1, PositivesTo: &away}}
			c.Doses = []Dose{{Treatment: "praziquantel", Day: 2, Days: 4}}
			c.Exits = []Exit{{Day: 3, Animals: 1, Dead: true}, {Day: 5, Animals: 1}}
			c.Pulls = []Pulls{{From: 0, To: 12, PerDay: 1, Done: true}}
		}
		first, gap := c.Today+1+float64(rapid.IntRange(0, 3).Draw(rt, "first")), float64(rapid.IntRange(4, 25).Draw(rt, "gap"))
		treatment := rapid.SampledFrom([]string{"praziquantel", "sodium_chloride_dip"}).Draw(rt, "treatment")
		var courses []Course
		for range rapid.IntRange(2, 6).Draw(rt, "courses") {
			x := Course{Treatment: treatment, First: first, Gap: gap, Doses: rapid.IntRange(1, 4).Draw(rt, "doses"), PullsPerDay: rapid.IntRange(0, 1).Draw(rt, "pulls"),
				LookAnimals: 2, LooksBefore: []float64{7, 0}}
			if rapid.Bool().Draw(rt, "stops") {
				x.PullUntil = c.Today + float64(rapid.IntRange(1, 60).Draw(rt, "until"))
			}
			if rapid.IntRange(0, 3).Draw(rt, "fixed") == 0 {
				x.Release = math.Ceil(first+gap*float64(x.Doses)) + 14
			}
			courses = append(courses, x)
		}
		s, err := Stand(context.Background(), c)
		if err != nil {
			rt.Skip(err)
		}
		a := ask{line: ReleaseLine{Clear: .9}, until: c.Today + 90, step: 7, pulled: 30}
		var layouts []*layout
		for _, x := range courses {
			l, err := s.lay(x, a)
			if err != nil {
				rt.Fatal(err)
			}
			layouts = append(layouts, l)
		}
		seen := 0
		for _, b := range s.bushes(layouts) {
			var fs []future
			for _, w := range b {
				fs = append(fs, layouts[w.at].plan)
				if seen++; w.before >= 0 {
					shared++
				}
			}
			together, err := s.tryAll(context.Background(), fs, b)
			if err != nil {
				rt.Fatal(err)
			}
			for i := range together {
				whole, err := s.try(context.Background(), fs[i])
				if err != nil {
					rt.Fatal(err)
				}
				x, alone := together[i].sample, whole.sample
				near := func(a, b float64) bool { return a == b || math.Abs(a-b) < 1e-9 } // a change of temperature later on rounds otherwise
				if !slices.EqualFunc(x.end, alone.end, near) || !slices.Equal(x.infested, alone.infested) || !slices.Equal(x.alive, alone.alive) || !slices.Equal(x.capped, alone.capped) {
					rt.Fatalf("course %+v from %+v is another lot than alone", layouts[b[i].at].Course, b[i])
				}
				for _, two := range [][2][]float64{{x.like, alone.like}, {x.signs, alone.signs}, {x.clean, alone.clean}, {x.falsely, alone.falsely}} {
					for j := range two[0] {
						if p, q := math.Exp(two[0][j]), math.Exp(two[1][j]); !(math.Abs(p-q) <= 1e-12) {
							rt.Fatalf("a look of course %+v: %g, alone %g", layouts[b[i].at].Course, p, q)
						}
					}
				}
			}
		}
		if seen != len(courses) {
			rt.Fatalf("%d of %d courses were tried", seen, len(courses))
		}
	})
	if shared == 0 {
		t.Error("no course went on from another: nothing was tested")
	}
}
