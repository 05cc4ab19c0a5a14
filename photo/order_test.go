package photo

import (
	"testing"

	"pgregory.net/rapid"
)

// The order is by falling score, no crop shows the place of a better one, no
// score rises, and the best stays the best.
func TestSpreadOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const perMM = 60
		var marks []Mark
		before := map[float64]float64{}
		for i := range rapid.IntRange(1, 40).Draw(t, "n") {
			at := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
			m := Mark{X: at("x", 0, 900), Y: at("y", 0, 600), W: at("w", 1, 200), H: at("h", 1, 200), Score: at("score", -8, 8), LengthMM: float64(i)}
			marks, before[m.LengthMM] = append(marks, m), m.Score
		}
		n := rapid.IntRange(1, 12).Draw(t, "keep")
		out := SpreadOut(marks, n, perMM)
		if len(out) == 0 || len(out) > n {
			t.Fatalf("%d of %d marks, at most %d", len(out), len(marks), n)
		}
		for i, m := range out {
			if m.Score > before[m.LengthMM] || before[out[0].LengthMM] < before[m.LengthMM] {
				t.Fatalf("crop %d: %g, before %g, the best %g", i, m.Score, before[m.LengthMM], before[out[0].LengthMM])
			}
			for _, o := range out[:i] {
				if o.Score < m.Score || sameCrops(o, m, perMM) {
					t.Fatalf("crop %d comes after a worse one or shows the same", i)
				}
			}
		}
	})
}

// Two legs side by side and one line far off: the far one comes second.
func TestSpreadOutLeavesOneLeg(t *testing.T) {
	legs := []Mark{{X: 0, Y: 0, W: 20, H: 60, Score: 3}, {X: 25, Y: 0, W: 20, H: 60, Score: 2.9}, {X: 900, Y: 500, W: 40, H: 40, Score: 2.6}}
	if out := SpreadOut(legs, 3, 60); len(out) != 3 || out[1].X != 900 {
		t.Errorf("%+v", out)
	}
}
