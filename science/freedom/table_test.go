package freedom

import (
	"math"
	"testing"
)

// A lot made of its own distribution is the same lot.
func TestLotOfItsOwnDistribution(t *testing.T) {
	l := mustLot(t, 60, DefaultPrior())
	same, err := LotOf(60, l.Distribution())
	if err != nil {
		t.Fatal(err)
	}
	look := Repeat(Seeing{0.8, 1}.Clean(), 20)
	a, err := l.Look(look)
	if err != nil {
		t.Fatal(err)
	}
	b, err := same.Look(look)
	if err != nil || math.Abs(a.Clear()-b.Clear()) > 1e-12 {
		t.Errorf("%v against %v (%v)", a.Clear(), b.Clear(), err)
	}
	for _, bad := range [][]float64{nil, {0, 0}, {1, -1}, {math.NaN()}, {1, 1, 1, 1}} {
		if _, err := LotOf(2, bad); err == nil {
			t.Errorf("%v made a lot", bad)
		}
	}
}
