package signs

import (
	"math"
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

func TestMarksAreAnswersOrRefused(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := Mark{
			Dots: rapid.IntRange(-2, 40).Draw(t, "dots"),
			Rows: rapid.IntRange(-2, 6).Draw(t, "rows"),
			MM:   rapid.SampledFrom([]float64{-1, 0, 0.1, 1, 50, math.NaN(), math.Inf(1)}).Draw(t, "mm"),
		}
		a, err := FromMark(k)
		bad := k.Dots < 0 || k.Rows < 0 || !(k.MM > 0) || math.IsInf(k.MM, 1)
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
