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

// drawAnswers ticks any options of any questions.
func drawAnswers(t *rapid.T, m *Model) Answers {
	a := Answers{}
	for _, q := range m.questions {
		if !rapid.Bool().Draw(t, q.ID+" asked") {
			continue
		}
		for _, o := range q.Options {
			if rapid.IntRange(0, 4).Draw(t, q.ID+" "+o.ID) == 0 {
				a[q.ID] = append(a[q.ID], o.ID)
			}
		}
	}
	return a
}

func shares(t interface{ Fatal(...any) }, m *Model, a Answers) map[string]float64 {
	r, err := m.Rank(a)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]float64{}
	for _, s := range r.Suspects {
		out[s.ID] = s.Share
	}
	return out
}

func TestSharesAreSharesWhateverIsTicked(t *testing.T) {
	m := Default()
	rapid.Check(t, func(t *rapid.T) {
		a := drawAnswers(t, m)
		sum := 0.
		r, err := m.Rank(a)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range r.Suspects {
			if math.IsNaN(s.Share) || s.Share < 0 || s.Share > 1 {
				t.Fatalf("%s has share %g", s.ID, s.Share)
			}
			for _, w := range s.Weights {
				if math.IsNaN(w.Factor) || math.IsInf(w.Factor, 0) || w.Factor < 0 {
					t.Fatalf("%s has weight %v", s.ID, w)
				}
			}
			sum += s.Share
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Fatalf("shares sum to %.15g", sum)
		}
		looks, err := m.Next(a)
		if err != nil {
			t.Fatal(err)
		}
		left := Entropy(slices.Collect(maps.Values(shares(t, m, a))))
		for _, l := range looks {
			if math.IsNaN(l.Bits) || l.Bits < 0 || l.Bits > left+1e-9 {
				t.Fatalf("%s tells %g bits of %g", l.Question, l.Bits, left)
			}
		}
	})
}

func TestOrderOfAnswersDoesNotMatter(t *testing.T) {
	m := Default()
	rapid.Check(t, func(t *rapid.T) {
		a := drawAnswers(t, m)
		b := Answers{}
		for q, options := range a {
			b[q] = rapid.Permutation(slices.Concat(options, options)).Draw(t, "order "+q)
		}
		x, y := shares(t, m, a), shares(t, m, b)
		if !maps.Equal(x, y) {
			t.Fatalf("%v differs from %v", x, y)
		}
	})
}

// TestOneAnswerCannotDoMoreThanTheCap adds one answer to any others and looks
// at the odds of every two suspects that it leaves possible.
func TestOneAnswerCannotDoMoreThanTheCap(t *testing.T) {
	m := Default()
	rapid.Check(t, func(t *rapid.T) {
		a := drawAnswers(t, m)
		q := rapid.SampledFrom(m.questions).Draw(t, "question")
		b := maps.Clone(a)
		delete(b, q.ID)
		before := shares(t, m, b)
		b[q.ID] = []string{rapid.SampledFrom(q.Options).Draw(t, "option").ID}
		after := shares(t, m, b)
		least, most := math.Inf(1), 0.
		for id, s := range after {
			if s > 1e-290 && before[id] > 1e-290 { // below, the quotient loses digits
				least, most = min(least, s/before[id]), max(most, s/before[id])
			}
		}
		if most > least*Cap*(1+1e-6) {
			t.Fatalf("%s changes odds %g-fold", q.ID, most/least)
		}
	})
}

func TestImpossibleSignRemovesASuspect(t *testing.T) {
	for _, c := range []struct {
		id, question, option string
	}{
		{"saddle", "sex", "male"},
		{"berried", "sex", "male"},
		{"spermatophore", "sex", "young"},
		{"failed_moult", "sex", "berried"},
		{"gut", "site", "glass_plants"},
	} {
		r, err := Default().Rank(Answers{c.question: {c.option}})
		if err != nil {
			t.Fatal(err)
		}
		last := r.Suspects[slices.IndexFunc(r.Suspects, func(s Suspect) bool { return s.ID == c.id })]
		if last.Share != 0 || !last.RuledOut {
			t.Errorf("%s with %s %s keeps %g", c.id, c.question, c.option, last.Share)
		}
	}
	for _, s := range Default().Suspects() {
		if got := shares(t, Default(), Answers{})[s]; got <= 0 {
			t.Errorf("%s starts with %g", s, got)
		}
	}
}

func TestNothingAndEverythingTickedTellNothing(t *testing.T) {
	m := Default()
	all := Answers{}
	for _, q := range m.questions {
		if q.Kind == Setting {
			continue
		}
		for _, o := range q.Options {
			all[q.ID] = append(all[q.ID], o.ID)
		}
	}
	start := shares(t, m, nil)
	for _, a := range []Answers{{}, {"site": nil}, all} {
		for id, got := range shares(t, m, a) {
			if math.Abs(got-start[id]) > 1e-12 {
				t.Errorf("%d answers: %s has %g, started with %g", len(a), id, got, start[id])
			}
		}
	}
	if math.Abs(start[Other]-otherShare) > 1e-12 {
		t.Errorf("something else starts with %g", start[Other])
	}
}

func TestSomethingElseWinsWhenNothingFits(t *testing.T) {
	for _, a := range []Answers{
		{"site": {"gut_line"}, "form": {"insect"}, "colour": {"silver"}, "motion": {"jerks"}, "depth": {"apart"}, "moult": {"stays"}},
		{"site": {"belly"}, "form": {"crown"}, "colour": {"silver"}, "depth": {"inside"}, "motion": {"loops"}, "time": {"hours"}},
		{"site": {"neck"}, "form": {"cotton"}, "colour": {"silver"}, "depth": {"loose"}, "motion": {"swims"}, "size": {"over_10_mm"}},
	} {
		r, err := Default().Rank(a)
		if err != nil {
			t.Fatal(err)
		}
		if !r.NothingFits || r.Ask != AskMicroscope {
			t.Errorf("%v: %s leads with %.2f", a, r.Suspects[0].ID, r.Suspects[0].Share)
		}
	}
}

func TestUnknownAnswersAreRefused(t *testing.T) {
	for _, a := range []Answers{{"sight": {"rostrum"}}, {"site": {"nose"}}} {
		_, err := Default().Rank(a)
		var in *ref.InputError
		if !errors.As(err, &in) || in.Hint == "" {
			t.Errorf("%v: %v", a, err)
		}
		if _, err := Default().Next(a); !errors.As(err, &in) {
			t.Errorf("next, %v: %v", a, err)
		}
	}
}

func TestSizeOption(t *testing.T) {
	size := Default().questions[slices.IndexFunc(Default().questions, func(q Question) bool { return q.ID == "size" })]
	for _, c := range []struct {
		mm   float64
		want string
	}{{0.1, "under_0_3_mm"}, {0.3, "0_3_to_1_mm"}, {0.999, "0_3_to_1_mm"}, {1, "1_to_3_mm"}, {2.9, "1_to_3_mm"}, {3, "3_to_10_mm"}, {10, "over_10_mm"}, {60, "over_10_mm"}} {
		got, err := SizeOption(c.mm)
		if err != nil || got != c.want || size.option(got) < 0 {
			t.Errorf("%g mm: %q, %v", c.mm, got, err)
		}
	}
	for _, mm := range []float64{0, -1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got, err := SizeOption(mm); err == nil {
			t.Errorf("%g mm: %q", mm, got)
		}
	}
}

func TestWhiteThingBetweenTheEyes(t *testing.T) {
	r, err := Default().Rank(Answers{"site": {"rostrum"}, "colour": {"white"}, "animal": {"neocaridina"}})
	if err != nil {
		t.Fatal(err)
	}
	if r.Suspects[0].ID != "rostrum_worm" || r.Suspects[0].Share > 0.95 {
		t.Errorf("%s leads with %.2f: wanted the rostrum worm, and doubt", r.Suspects[0].ID, r.Suspects[0].Share)
	}
	looks, err := Default().Next(Answers{"site": {"rostrum"}, "colour": {"white"}, "animal": {"neocaridina"}})
	if err != nil {
		t.Fatal(err)
	}
	if first := looks[0].Question; first != "form" && first != "motion" {
		t.Errorf("the next look is %s", first)
	}
}
