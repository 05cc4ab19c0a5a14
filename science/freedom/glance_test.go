package freedom

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The short way of judging clean animals says what the lot itself would say.
func TestGlanceCleanAgreesWithLook(t *testing.T) {
	short := 0
	rapid.Check(t, func(t *rapid.T) {
		alive := rapid.IntRange(1, 3000).Draw(t, "alive")
		l, err := NewLot(alive, Prior{
			Infested: rapid.Float64Range(0.01, 1).Draw(t, "infested"),
			A:        rapid.Float64Range(0.2, 5).Draw(t, "a"),
			B:        rapid.Float64Range(0.2, 20).Draw(t, "b"),
		})
		if err != nil {
			t.Fatal(err)
		}
		if k := rapid.IntRange(0, 1).Draw(t, "found"); k > 0 {
			if l, err = l.Found(k); err != nil {
				t.Fatal(err)
			}
		}
		how := Seeing{Sensitivity: rapid.Float64Range(0.01, 1).Draw(t, "sensitivity"), Specificity: rapid.Float64Range(0.9, 1).Draw(t, "specificity")}
		line := ClearLine(0.95)
		if rapid.Bool().Draw(t, "bag") {
			line = BagLine(rapid.IntRange(1, 20).Draw(t, "m"), 0.01)
		}
		n := rapid.IntRange(1, alive).Draw(t, "n")
		got, ok := line.glanceClean(l, how.Clean(), n)
		if !ok {
			return // the lot is made instead
		}
		short++
		after, err := l.look([]group{{how.Clean(), n}})
		if err != nil {
			t.Fatal(err)
		}
		want := line.glanceAt(after)
		for _, x := range []struct {
			what      string
			got, want float64
		}{{"clear", got.clear, want.clear}, {"infested", got.infested, want.infested}, {"risk", got.risk, want.risk}, {"evidence", got.logEv, want.logEv}} {
			if math.Abs(x.got-x.want) > 1e-11*math.Abs(x.want)+1e-16 {
				t.Fatalf("%s %.17g, the lot itself says %.17g", x.what, x.got, x.want)
			}
		}
	})
	if short < 5 {
		t.Errorf("the short way answered %d times only", short)
	}
}
