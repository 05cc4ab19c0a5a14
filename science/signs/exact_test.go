package signs

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"
)

// TestPosteriorAgreesWithEnumeration lists every world of suspect and answers
// to four questions of the table, adds up those that agree with what was
// ticked, and compares.
func TestPosteriorAgreesWithEnumeration(t *testing.T) {
	m := Default()
	asked := []string{"colour", "depth", "deaths", "sex"}
	var qs []int
	for _, id := range asked {
		qs = append(qs, slices.IndexFunc(m.questions, func(q Question) bool { return q.ID == id }))
	}
	for _, ticked := range [][][]int{
		{{0}, {0}, {0}, {1}},
		{{0, 1}, {2}, {0, 1}, {0, 1, 2}},
		{{5}, {3, 4}, {}, {2}},
		{{}, {1}, {2}, {}},
	} {
		brute := make([]float64, len(m.ids))
		world := make([]int, len(qs))
		var walk func(k int)
		walk = func(k int) {
			if k < len(qs) {
				for o := range m.questions[qs[k]].Options {
					world[k] = o
					walk(k + 1)
				}
				return
			}
			for i, options := range ticked {
				if len(options) > 0 && !slices.Contains(options, world[i]) {
					return
				}
			}
			for s := range m.ids {
				p := m.start[s]
				for i, q := range qs {
					p *= m.look[s][q][world[i]]
				}
				brute[s] += p
			}
		}
		walk(0)
		normalise(brute)
		given := make([][]int, len(m.questions))
		for i, q := range qs {
			given[q] = ticked[i]
		}
		for s, got := range m.posterior(given) {
			if math.Abs(got-brute[s]) > 1e-13 {
				t.Errorf("%v: %s has %.16g, enumeration %.16g", ticked, m.ids[s], got, brute[s])
			}
		}
	}
}

// TestGainAgreesWithScipy reads gains worked out by scipy the other way round.
func TestGainAgreesWithScipy(t *testing.T) {
	text, err := os.ReadFile("testdata/gain.json")
	if err != nil {
		t.Fatal(err)
	}
	var data struct {
		Scipy string
		Cases []struct {
			Share         []float64
			Rows          [][]float64
			Entropy, Gain float64
		}
	}
	if err := json.Unmarshal(text, &data); err != nil {
		t.Fatal(err)
	}
	if len(data.Cases) < 20 || data.Scipy == "" {
		t.Fatalf("read %d cases of scipy %q", len(data.Cases), data.Scipy)
	}
	for i, c := range data.Cases {
		if got := Entropy(c.Share); math.Abs(got-c.Entropy) > 1e-12 {
			t.Errorf("case %d: entropy %.15g, scipy %.15g", i, got, c.Entropy)
		}
		if got := Gain(c.Share, c.Rows); math.Abs(got-c.Gain) > 1e-12 {
			t.Errorf("case %d: gain %.15g, scipy %.15g", i, got, c.Gain)
		}
	}
}

// TestNextAgreesWithEnumeration works out the gain of a look by ranking once
// for each answer.
func TestNextAgreesWithEnumeration(t *testing.T) {
	m := Default()
	a := Answers{"site": {"gill_chamber"}, "colour": {"white"}}
	looks, err := m.Next(a)
	if err != nil {
		t.Fatal(err)
	}
	if len(looks) < 10 {
		t.Fatalf("only %d looks", len(looks))
	}
	before := shares(t, m, a)
	for _, l := range looks {
		bits := entropyOf(before)
		q := m.questions[slices.IndexFunc(m.questions, func(q Question) bool { return q.ID == l.Question })]
		for _, o := range l.Answers {
			b := Answers{q.ID: {o.Option}, "site": a["site"], "colour": a["colour"]}
			bits -= o.Chance * entropyOf(shares(t, m, b))
		}
		if math.Abs(bits-l.Bits) > 1e-10 {
			t.Errorf("%s: %.12g bits, enumeration %.12g", l.Question, l.Bits, bits)
		}
	}
	if !slices.IsSortedFunc(looks, func(x, y NextLook) int { return int(math.Copysign(1, y.Bits-x.Bits)) }) {
		t.Error("not the most telling first")
	}
}

func entropyOf(share map[string]float64) float64 {
	var all []float64
	for _, p := range share {
		all = append(all, p)
	}
	return Entropy(all)
}
