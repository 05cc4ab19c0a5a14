package signs

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func TestMarksLeadWhereTheyShould(t *testing.T) {
	for _, c := range []struct {
		mark  Mark
		where string
		want  string
	}{
		{Mark{Dots: 14, Rows: 3, MM: 0.15}, "gill_chamber", "egg_row"},
		{Mark{MM: 1.8}, "rostrum", "rostrum_worm"},
		{Mark{MM: 2.5}, "belly", "segmented_worm"},
	} {
		a, err := FromMark(c.mark)
		if err != nil {
			t.Fatal(err)
		}
		a["site"] = []string{c.where}
		r, err := Default().Rank(a)
		if err != nil {
			t.Fatal(err)
		}
		if r.Suspects[0].ID != c.want {
			t.Errorf("%+v at %s: %s leads", c.mark, c.where, r.Suspects[0].ID)
		}
	}
}

// A tuft has no length and little form: it names ciliates, but a fibre as well.
func TestTuftNamesCiliatesAndDebris(t *testing.T) {
	a, err := FromMark(Mark{Tuft: true})
	if err != nil {
		t.Fatal(err)
	}
	if _, ok := a["size"]; ok {
		t.Error("a tuft was given a length")
	}
	a["site"] = []string{"rostrum"}
	r, err := Default().Rank(a)
	if err != nil {
		t.Fatal(err)
	}
	first := []string{r.Suspects[0].ID, r.Suspects[1].ID}
	if !slices.Contains(first, "ciliates") || !slices.Contains(first, "debris") {
		t.Errorf("a tuft at the rostrum leads to %v", first)
	}
}

func TestMarksAreAnswersOrRefused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := Mark{
			Dots: rapid.IntRange(-2, 40).Draw(t, "dots"),
			Rows: rapid.IntRange(-2, 6).Draw(t, "rows"),
			Tuft: rapid.Bool().Draw(t, "tuft"),
			MM:   rapid.SampledFrom([]float64{-1, 0, 0.1, 1, 50, math.NaN(), math.Inf(1)}).Draw(t, "mm"),
		}
		a, err := FromMark(k)
		bad := k.Dots < 0 || k.Rows < 0 || k.Tuft && (k.Dots > 0 || k.Rows > 0) || !(k.MM >= 0) || math.IsInf(k.MM, 1)
		if bad != (err != nil) {
			t.Fatalf("%+v: %v", k, err)
		}
		if err != nil {
			return
		}
		if _, err := Default().Rank(a); err != nil {
			t.Fatalf("%+v: %v", k, err)
		}
	})
}
