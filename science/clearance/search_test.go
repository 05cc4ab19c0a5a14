package clearance

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"slices"
	"testing"

	"holdfast/science/ref"
)

// question is a lot of unknown state on the day of arrival, with invented costs.
func question() Question {
	half := .5
	return Question{
		Case:   Case{Animals: 200, Tanks: []Tank{{VolumeL: 100}}, Infested: &half, Seed: 4, Runs: 300, Days: []float64{0}},
		Costs:  Costs{TankDay: 100, Pull: 20, Dose: 500, Look: 10, Animal: 250, Loss: 30000},
		Prices: &Prices{Sale: 300, Disclosed: 100, Claim: 20000, KeepDay: 50, KeepDays: 180, PutDown: 5},
	}
}

func threeDoses() Course {
	return Course{Treatment: "praziquantel", First: 1, Doses: 3, Gap: 14, PullsPerDay: 1, PullUntil: 70, LookAnimals: 30, LooksBefore: []float64{14, 0}}
}

// TestOutlookIsEvidence checks that a course tried on the lots of a standing gives
// what Evidence says of the same plan, at arrival and after looks and doses.
func TestOutlookIsEvidence(t *testing.T) {
	now := Case{Animals: 200, Tanks: []Tank{{VolumeL: 100}}, Seed: 9, Runs: 3000, Days: []float64{0}}
	later := now
	later.Today = 20
	later.Doses = []Dose{{Treatment: "praziquantel", Day: 2, Days: 4}}
	later.Pulls = []Pulls{{From: 1, To: 20, PerDay: 1, Done: true, Missed: []int{4}}}
	later.Looks = []Look{{Day: 1, Animals: 30, Worms: 2, Eggs: 1}, {Day: 16, Animals: 30}}
	later.Exits = []Exit{{Day: 5, Animals: 2, Dead: true}, {Day: 6, Animals: 10}}
	for name, c := range map[string]Case{"now": now, "later": later} {
		if testing.Short() {
			c.Runs = 800
		}
		course := threeDoses()
		course.First, course.PullUntil, course.Release = c.Today+1, c.Today+70, c.Today+60
		q := Question{Case: c, Candidates: []Course{course}}
		ans, err := Compare(context.Background(), q, nil)
		if err != nil {
			t.Fatal(err)
		}
		d := ans.Courses[0].Days[0]
		plan, err := c.Apply(course, c.Today+60)
		if err != nil {
			t.Fatal(err)
		}
		plan.Days, plan.Seed, plan.Runs = []float64{c.Today + 60}, 31, 3*c.Runs
		r := evidence(t, plan)
		p := r.Mixed.Points[0]
		clean := 1.0
		for _, l := range r.Mixed.Looks {
			if l.Planned {
				clean *= l.Expected
			}
		}
		t.Logf("%s: clear %.3f ± %.3f, evidence %.3f ± %.3f; clean %.3f, %.3f", name, d.Clear.Value, d.Clear.SE, p.Clear.Value, p.Clear.SE, d.LooksClean, clean)
		if z := (d.Clear.Value - p.Clear.Value) / math.Hypot(d.Clear.SE, p.Clear.SE); math.Abs(z) > 4 {
			t.Errorf("%s: clear %.4f ± %.4f, evidence %.4f ± %.4f", name, d.Clear.Value, d.Clear.SE, p.Clear.Value, p.Clear.SE)
		}
		if z := (d.BagRisk.Value - p.BagRisk.Value) / math.Hypot(d.BagRisk.SE, p.BagRisk.SE); math.Abs(z) > 4 {
			t.Errorf("%s: bag risk %.4f ± %.4f, evidence %.4f ± %.4f", name, d.BagRisk.Value, d.BagRisk.SE, p.BagRisk.Value, p.BagRisk.SE)
		}
		if math.Abs(d.LooksClean-clean) > .04 {
			t.Errorf("%s: looks clean %.4f, evidence %.4f", name, d.LooksClean, clean)
		}
	}
}

// TestCourseCost works a cost out by hand: no deaths, no looks.
func TestCourseCost(t *testing.T) {
	q := question()
	q.Case.Condition = fixedCondition(t, map[Figure]float64{HostHaz: 0, Stress: 0}, nil)
	c := Course{Treatment: "praziquantel", DoseDays: []float64{2, 16}, PullsPerDay: 2, PullUntil: 20, Release: 30}
	q.Candidates = []Course{c}
	ans, err := Compare(context.Background(), q, nil)
	if err != nil {
		t.Fatal(err)
	}
	d := ans.Courses[0].Days[0]
	want := 100*30. + 500*2 + 20*2*20 + (1-d.Clear.Value)*30000
	if math.Abs(d.Cost-want) > 1e-6 || d.LooksClean != 1 {
		t.Errorf("cost %g, by hand %g; looks clean %g", d.Cost, want, d.LooksClean)
	}
	for _, w := range ans.WaysOut {
		if w.Way == "disclosed" && (w.Money != 200*100 || w.Bags != 20 || w.Harmed != 0 || w.Knowing <= 0) {
			t.Errorf("disclosed: %+v", w)
		}
		if w.Way == "release now" && math.Abs(w.Money-(200*300-(1-w.Clear)*30000)) > 1e-6 {
			t.Errorf("release now: %+v", w)
		}
	}
	if len(ans.WaysOut) != 6 {
		t.Errorf("%d ways out", len(ans.WaysOut))
	}
}

// TestCourseDays checks where a release may lie: after the doses, each look at
// least seven days after every bath.
func TestCourseDays(t *testing.T) {
	s := &Standing{c: &Case{Today: 3}}
	c := threeDoses()
	c, err := c.complete(fixedCondition(t, nil, nil), ask{pulled: 36})
	if err != nil {
		t.Fatal(err)
	}
	days, looks := c.days(s, ask{until: 80, step: 1})
	// Baths on days 1 to 5, 15 to 19, 29 to 33: looks may lie on 12 to 14, 26 to 28
	// and from 40 on; the two are 14 d apart.
	if want := []float64{40, 41, 42, 54}; !slices.Equal(days[:4], want) {
		t.Errorf("release on %v, want %v first", days[:4], want)
	}
	if looks[0] != 26 || slices.Contains(looks, 30) {
		t.Errorf("looks on %v", looks)
	}
}

// TestMoultedBy compares with the renewal reference: fixed figures, the day by
// which a share has moulted.
//
// Source: testdata/checks, renewal_ref.csv.
func TestMoultedBy(t *testing.T) {
	c := fixedCondition(t, map[Figure]float64{MoultMean: 24, MoultCV: .35, MoultQ10: 2}, nil)
	n := 0
	for i, r := range readReference(t, "renewal_ref.csv") {
		day := []float64{7, 14, 21, 28, 35, 42}[i]
		if got := MoultedBy(c, 24, r.value); math.Abs(got-day) > .03*day {
			t.Errorf("%g moulted by day %.2f, want %g", r.value, got, day)
		}
		if got := MoultedBy(c, 34, r.value); math.Abs(got-day/2) > .03*day/2 {
			t.Errorf("at 34 °C: %g moulted by day %.2f, want %g", r.value, got, day/2)
		}
		n++
	}
	if n != 6 {
		t.Fatalf("%d rows", n)
	}
}

// TestSearch runs a small search and checks its promises.
func TestSearch(t *testing.T) {
	if testing.Short() {
		t.Skip("tries 30 courses")
	}
	q := question()
	q.Case.Runs = 200
	var last Progress
	ans, err := Search(context.Background(), q, func(p Progress) bool {
		if p.Done != last.Done+1 || p.Total < p.Done || p.Best == nil {
			t.Errorf("progress %+v after %+v", p, last)
		}
		last = p
		return true
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(ans.Courses) < 24 || len(ans.Practice) != 2 || len(ans.Finalists) == 0 || ans.Earliest == nil || ans.Cheapest == nil {
		t.Fatalf("%d courses, %d of practice, %d finalists", len(ans.Courses), len(ans.Practice), len(ans.Finalists))
	}
	if !slices.IsSortedFunc(ans.Courses, func(a, b Outlook) int { return byEarliest(&a, &b) }) {
		t.Error("courses are not in order")
	}
	for _, f := range ans.Finalists {
		for _, o := range []Outlook{f.Mixed, f.Never, f.Always} {
			if o.Best == nil || len(o.Forecast) == 0 {
				t.Errorf("a finalist without figures: %+v", o.Course)
			}
		}
	}
	// The best spot is not on an edge of the first grid unless the limits say so.
	best := ans.Courses[0].Course
	if best.Doses == 4 && !slices.ContainsFunc(ans.Courses, func(o Outlook) bool { return o.Course.Doses == 5 }) {
		t.Error("the best has four doses and five were not tried")
	}
	again, err := Search(context.Background(), q, nil)
	if err != nil {
		t.Fatal(err)
	}
	a, _ := json.Marshal(ans)
	b, _ := json.Marshal(again)
	if string(a) != string(b) {
		t.Error("the same search gave another answer")
	}
}

// TestSearchStops cancels a search from its progress and from its context.
func TestSearchStops(t *testing.T) {
	n := 0
	_, err := Search(context.Background(), question(), func(Progress) bool { n++; return n < 3 })
	if !errors.Is(err, context.Canceled) || n != 3 {
		t.Errorf("%v after %d courses", err, n)
	}
	ctx, cancel := context.WithCancel(context.Background())
	_, err = Search(ctx, question(), func(Progress) bool { cancel(); return true })
	if !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

// TestCourseErrors asks for courses that cannot be.
func TestCourseErrors(t *testing.T) {
	for name, spoil := range map[string]func(*Question){
		"none":      func(q *Question) { q.Candidates = nil },
		"treatment": func(q *Question) { q.Candidates[0].Treatment = "hope" },
		"gap":       func(q *Question) { q.Candidates[0].Gap = 0 },
		"order":     func(q *Question) { q.Candidates[0].DoseDays = []float64{9, 2} },
		"past":      func(q *Question) { q.Case.Today = 5 },
		"pulls":     func(q *Question) { q.Candidates[0].PullsPerDay = 9 },
		"looks":     func(q *Question) { q.Candidates[0].LookAnimals = 0 },
		"line":      func(q *Question) { q.Line.Clear = 1.5 },
		"until":     func(q *Question) { q.Until = 500 },
		"costs":     func(q *Question) { q.Costs.Dose = -1 },
		"prices":    func(q *Question) { q.Prices.Sale = math.NaN() },
		"animals":   func(q *Question) { q.Case.Animals = 0 },
	} {
		q := question()
		q.Candidates = []Course{threeDoses()}
		spoil(&q)
		var in *ref.InputError
		if _, err := Compare(context.Background(), q, nil); !errors.As(err, &in) {
			t.Errorf("%s: got %v, want an input error", name, err)
		}
	}
}

// planned is a lot in the middle of a course, one dose and two looks to come.
func planned() Case {
	c := Case{Animals: 100, Tanks: []Tank{{VolumeL: 60}}, Seed: 3, Runs: 400, Today: 10,
		Condition: nil, Days: []float64{10}}
	c.Doses = []Dose{{Treatment: "praziquantel", Day: 1, Days: 4}, {Treatment: "praziquantel", Day: 15, Days: 4}}
	c.Pulls = []Pulls{{From: 0, To: 10, PerDay: 1, Done: true}, {From: 11, To: 40, PerDay: 1}}
	c.Looks = []Look{{Day: 0, Animals: 20, Worms: 1}, {Day: 31, Animals: 20, Planned: true}, {Day: 45, Animals: 20, Planned: true}}
	return c
}

// TestMisses checks that every task of a plan has its price, and that missing a
// dose or a pull never helps beyond the Monte Carlo error.
func TestMisses(t *testing.T) {
	steps, err := Misses(context.Background(), planned(), 45)
	if err != nil {
		t.Fatal(err)
	}
	count := map[string]int{}
	for _, s := range steps {
		count[s.What]++
		if s.What != "look" && s.Gain > 3*s.GainSE+1e-9 {
			t.Errorf("missing a %s on day %g helps by %g ± %g", s.What, s.Day, s.Gain, s.GainSE)
		}
	}
	if count["dose"] != 1 || count["look"] != 2 || count["pull"] != 30 {
		t.Errorf("priced %v, want 1 dose, 2 looks, 30 days of pulls", count)
	}
	if !slices.IsSortedFunc(steps, func(a, b Step) int { return int(math.Copysign(1, a.Day-b.Day)) }) && steps[0].Day > steps[len(steps)-1].Day {
		t.Error("steps are not in order of day")
	}
}

// TestLevers checks that what could be done is weighed, and lifts.
func TestLevers(t *testing.T) {
	steps, err := Levers(context.Background(), planned(), 45)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]Step{}
	for _, s := range steps {
		got[s.What] = s
		t.Logf("%+v", s)
	}
	for _, what := range []string{"look", "dose", "pulls", "wait", "bag"} {
		if _, ok := got[what]; !ok {
			t.Errorf("no lever %q", what)
		}
	}
	for _, what := range []string{"dose", "pulls"} {
		if s := got[what]; s.Gain < -3*s.GainSE {
			t.Errorf("%s: gain %g ± %g", what, s.Gain, s.GainSE)
		}
	}
	if s := got["bag"]; s.BagGain >= 0 || s.Animals != 5 {
		t.Errorf("a smaller bag: %+v", s)
	}
	if s := got["look"]; s.Gain <= 0 || s.Day != 12 {
		t.Errorf("a look: %+v", s)
	}
	var in *ref.InputError
	if _, err := Levers(context.Background(), planned(), 3); !errors.As(err, &in) {
		t.Errorf("a day in the past: %v", err)
	}
}

func TestSkippedPullsCostAndClearLess(t *testing.T) {
	base := Course{Name: "all", Treatment: "praziquantel", First: 1, Doses: 2, Gap: 14, PullsPerDay: 1, PullUntil: 60, Release: 60}
	some := base
	some.Name = "some"
	for day := 1; day < 60; day++ {
		some.SkipPulls = append(some.SkipPulls, day)
	}
	none := base
	none.Name, none.PullsPerDay, none.PullUntil = "none", 0, 0
	q := Question{Case: Case{Animals: 100, Tanks: []Tank{{VolumeL: 60}}, Days: []float64{0}, Runs: 300, Seed: 3},
		Costs: Costs{Pull: 1}, Candidates: []Course{base, some, none}}
	a, err := Compare(t.Context(), q, nil)
	if err != nil {
		t.Fatal(err)
	}
	all, left, without := a.Courses[0].Days[0], a.Courses[1].Days[0], a.Courses[2].Days[0]
	if left.Clear.Value > all.Clear.Value || all.Clear.Value <= without.Clear.Value {
		t.Errorf("clear with pulls %g, nearly all left out %g, none planned %g", all.Clear.Value, left.Clear.Value, without.Clear.Value)
	}
	if left.Clear.Value > without.Clear.Value+.02 {
		t.Errorf("with a single pull %g, without any %g", left.Clear.Value, without.Clear.Value)
	}
	if got := all.Cost - left.Cost; got < 58.9 || got > 59.1 {
		t.Errorf("59 pulls left out save %g", got)
	}
	if all.Deaths <= 0 || all.Deaths >= 100 {
		t.Errorf("%g deaths expected", all.Deaths)
	}
}
