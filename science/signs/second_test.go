package signs

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"slices"
	"strings"
	"testing"

	"go.yaml.in/yaml/v4"
)

// reread is one description as the second reader ticked it.
type reread struct {
	ID      string  `yaml:"id"`
	Match   string  `yaml:"match"`
	Read    string  `yaml:"read"`
	Tells   string  `yaml:"tells"`
	Answers Answers `yaml:"answers"`
}

func readSecond(t *testing.T) []reread {
	t.Helper()
	text, err := os.ReadFile("testdata/second.yaml")
	if err != nil {
		t.Fatal(err)
	}
	frozen, err := os.ReadFile("testdata/second.sha256")
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(text)
	if got := hex.EncodeToString(sum[:]); got != strings.TrimSpace(string(frozen)) {
		t.Fatalf("the second reader's lists were changed: hash %s", got)
	}
	var all []reread
	if err := yaml.Load(text, &all, yaml.WithKnownFields()); err != nil {
		t.Fatal(err)
	}
	return all
}

// agreement counts two readers' yes and no over the same things.
type agreement struct{ both, first, second, neither int }

func (a *agreement) add(first, second bool) {
	switch {
	case first && second:
		a.both++
	case first:
		a.first++
	case second:
		a.second++
	default:
		a.neither++
	}
}

// kappa is Cohen's (1960): agreement beyond what the two readers' own habits
// would give by chance.
func (a agreement) kappa() float64 {
	n := float64(a.both + a.first + a.second + a.neither)
	seen := float64(a.both+a.neither) / n
	yes := float64(a.both+a.first) / n * float64(a.both+a.second) / n
	no := float64(a.neither+a.second) / n * float64(a.neither+a.first) / n
	return (seen - yes - no) / (1 - yes - no)
}

func TestKappa(t *testing.T) {
	// A worked example given in many textbooks: 20 yes-yes, 5 and 10 split, 15
	// no-no; seen 0.7, by chance 0.5, kappa 0.4 (from memory; checked by hand).
	if k := (agreement{20, 5, 10, 15}).kappa(); k < 0.4-1e-12 || k > 0.4+1e-12 {
		t.Errorf("kappa %g, want 0.4", k)
	}
}

// TestSecondReader compares the two readers' lists of the same cases and ranks
// both. The figures it prints stand in docs/SCIENCE.md.
func TestSecondReader(t *testing.T) {
	cases := readCases(t)
	second := readSecond(t)
	if 3*len(second) < len(cases) {
		t.Fatalf("%d of %d cases were read twice, wanted a third", len(second), len(cases))
	}
	m := Default()
	var asked, ticked agreement
	jointly, overlap, same := 0, 0, 0
	var one, two, named, namedOne tallied
	for _, r := range second {
		i := slices.IndexFunc(cases, func(c described) bool { return c.ID == r.ID })
		if i < 0 || r.Read == "" || r.Tells == "" || r.Match != "named" && r.Match != "likely" {
			t.Fatalf("%s: no such case, or nothing on what was read", r.ID)
		}
		c := cases[i]
		for _, q := range m.Questions() {
			a, b := c.Answers[q.ID], r.Answers[q.ID]
			asked.add(len(a) > 0, len(b) > 0)
			common := 0
			for _, o := range q.Options {
				x, y := slices.Contains(a, o.ID), slices.Contains(b, o.ID)
				ticked.add(x, y)
				if x && y {
					common++
				}
			}
			if len(a) > 0 && len(b) > 0 {
				jointly++
				if common > 0 {
					overlap++
				}
				if common == len(a) && common == len(b) {
					same++
				}
			}
		}
		first, err := m.Rank(c.Answers)
		if err != nil {
			t.Fatal(err)
		}
		again, err := m.Rank(r.Answers)
		if err != nil {
			t.Fatalf("%s: %v", r.ID, err)
		}
		p, q := place(first, c), place(again, c)
		one.count(p)
		two.count(q)
		if r.Match == "named" {
			named.count(q)
			namedOne.count(p)
		}
		if q > 0 {
			t.Logf("%s %s: place %d on the first list, %d on the second, behind %s", r.ID, c.Truth, p+1, q+1, again.Suspects[0].ID)
		}
	}
	t.Logf("%d cases read twice; whether a question is answered at all: kappa %.2f; single ticks: kappa %.2f", len(second), asked.kappa(), ticked.kappa())
	t.Logf("of %d questions that both answered: some tick in common in %d, the same ticks in %d", jointly, overlap, same)
	t.Logf("first list:  first %d, in three %d, of %d", one.first, one.three, one.all)
	t.Logf("second list: first %d, in three %d, of %d", two.first, two.three, two.all)
	t.Logf("where the text is surely the same: first list %d and %d, second list %d and %d, of %d", namedOne.first, namedOne.three, named.first, named.three, named.all)
	if two.first*2 <= two.all || two.three*100 < two.all*90 {
		t.Errorf("second lists: first %d, in three %d, of %d: wanted most and nine in ten", two.first, two.three, two.all)
	}
}

// tallied counts how often the truth came first and in the first three.
type tallied struct{ first, three, all int }

func (x *tallied) count(place int) {
	x.all++
	if place == 0 {
		x.first++
	}
	if place < 3 {
		x.three++
	}
}
