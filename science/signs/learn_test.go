package signs

import (
	"errors"
	"maps"
	"math"
	"slices"
	"testing"

	"holdfast/science/ref"
	"pgregory.net/rapid"
)

func TestNoCasesChangeNothing(t *testing.T) {
	m, err := Learn(nil)
	if err != nil {
		t.Fatal(err)
	}
	a := Answers{"site": {"belly"}, "form": {"finger"}}
	x, y := shares(t, m, a), shares(t, Default(), a)
	for id := range x {
		if math.Abs(x[id]-y[id]) > 1e-12 {
			t.Errorf("%s: %g and %g", id, x[id], y[id])
		}
	}
	for _, l := range m.Learned() {
		if l.Cases != 0 || l.PriorWeight != 1 {
			t.Errorf("%+v", l)
		}
	}
}

// TestLearnMovesByTheDirichletMean checks a row by hand before the cap: "still
// there after the moult" for the rostrum worm is "sometimes" beside two
// "often", so 0.2/1.4; 30 laboratory cases that all show it make it
// (20·0.2/1.4 + 30) / 50.
func TestLearnMovesByTheDirichletMean(t *testing.T) {
	base := builtin()
	s := slices.Index(base.ids, "rostrum_worm")
	q := slices.IndexFunc(base.questions, func(q Question) bool { return q.ID == "moult" })
	if got := base.look[s][q][2]; math.Abs(got-0.2/1.4) > 1e-12 {
		t.Fatalf("starts from %g", got)
	}
	counts := make([][][]float64, len(base.ids))
	for i := range counts {
		counts[i] = make([][]float64, len(base.questions))
		for k := range counts[i] {
			counts[i][k] = make([]float64, len(base.questions[k].Options))
		}
	}
	counts[s][q][2] = 30
	seen := make([]float64, len(base.ids))
	seen[s] = 30
	moved := base.moved(counts, seen, 30)
	if got, want := moved.look[s][q][2], (20*0.2/1.4+30)/50; math.Abs(got-want) > 1e-12 {
		t.Errorf("moved to %.15g, want %.15g", got, want)
	}
	sum := 0.
	for _, w := range base.start {
		sum += w
	}
	if got, want := moved.start[s], (100*base.start[s]/sum+30)/130; math.Abs(got-want) > 1e-12 {
		t.Errorf("start %.15g, want %.15g", got, want)
	}
}

func TestLearnIsMonotone(t *testing.T) {
	a := Answers{"site": {"shell"}, "form": {"finger"}, "motion": {"glides"}}
	last := shares(t, Default(), a)["other_flatworm"]
	var cases []Case
	for range 6 {
		cases = append(cases, Case{Truth: "other_flatworm", Answers: a, Proof: Microscope})
		m, err := Learn(cases)
		if err != nil {
			t.Fatal(err)
		}
		now := shares(t, m, a)["other_flatworm"]
		if now <= last {
			t.Errorf("after %d cases %g, before %g", len(cases), now, last)
		}
		last = now
	}
}

func TestProofCountsByItsWorth(t *testing.T) {
	for proof, want := range map[Proof]float64{Laboratory: 20. / 21, Microscope: 20 / 20.8, Response: 20 / 20.3} {
		m, err := Learn([]Case{{Truth: "ciliates", Answers: Answers{"site": {"legs"}}, Proof: proof}})
		if err != nil {
			t.Fatal(err)
		}
		i := slices.IndexFunc(m.Learned(), func(l Learned) bool { return l.ID == "ciliates" })
		if got := m.Learned()[i].PriorWeight; math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: prior weight %g, want %g", proof, got, want)
		}
	}
}

func TestProofLiftsTheImpossible(t *testing.T) {
	a := Answers{"sex": {"male"}, "site": {"behind_head"}}
	m, err := Learn([]Case{{Truth: "saddle", Answers: a, Proof: Laboratory}})
	if err != nil {
		t.Fatal(err)
	}
	if shares(t, Default(), a)["saddle"] != 0 || shares(t, m, a)["saddle"] == 0 {
		t.Error("a proven case does not count against the table's impossible")
	}
}

func TestLearnWithoutOrderAndNaN(t *testing.T) {
	base := Default()
	rapid.Check(t, func(t *rapid.T) {
		var cases []Case
		for range rapid.IntRange(0, 5).Draw(t, "cases") {
			cases = append(cases, Case{
				Truth:   rapid.SampledFrom(base.ids).Draw(t, "truth"),
				Answers: drawAnswers(t, base),
				Proof:   rapid.SampledFrom(slices.Sorted(maps.Keys(proofWeight))).Draw(t, "proof"),
			})
		}
		a := drawAnswers(t, base)
		m, err := Learn(cases)
		if err != nil {
			t.Fatal(err)
		}
		slices.Reverse(cases)
		n, err := Learn(cases)
		if err != nil {
			t.Fatal(err)
		}
		x, y := shares(t, m, a), shares(t, n, a)
		for id := range x {
			if math.IsNaN(x[id]) || math.Abs(x[id]-y[id]) > 1e-9 {
				t.Fatalf("%s: %g and %g", id, x[id], y[id])
			}
		}
	})
}

func TestLearnRefuses(t *testing.T) {
	for _, c := range []Case{
		{Truth: "bigfoot", Proof: Laboratory},
		{Truth: "ciliates", Proof: "rumour"},
		{Truth: "ciliates", Proof: Laboratory, Answers: Answers{"site": {"nose"}}},
	} {
		_, err := Learn([]Case{c})
		var in *ref.InputError
		if !errors.As(err, &in) {
			t.Errorf("%+v: %v", c, err)
		}
	}
}
