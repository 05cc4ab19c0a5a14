package freedom

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestTreat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "alive")
		lot := mustLot(t, n, priors.Draw(t, "prior"))
		clears := rapid.Float64Range(0, 1).Draw(t, "clears")
		left := priors.Draw(t, "left")
		left.A = rapid.SampledFrom([]float64{left.A, 1e-6, 1e6}).Draw(t, "a")
		got, err := lot.Treat(clears, left)
		if err != nil {
			t.Fatal(err)
		}
		close12(t, "sum", sum(got.mass), 1, 1e-12)
		close12(t, "clear", got.Clear(), lot.Clear()+clears*lot.Infested(), 1e-12)
		// Those left are as the prior has them, given at least one.
		shape := mustLot(t, n, Prior{1, left.A, left.B})
		d := rapid.IntRange(1, n).Draw(t, "d")
		if inf := got.Infested(); inf > 1e-200 && shape.P(d) > 1e-200 {
			close12(t, "shape", got.P(d)/inf, shape.P(d)/shape.Infested(), 1e-10)
		}
	})
	empty, err := Lot{}.Treat(0.5, DefaultPrior())
	if err != nil || empty.Clear() != 1 {
		t.Error(empty, err)
	}
	lot := mustLot(t, 10, DefaultPrior())
	if _, err := lot.Treat(math.NaN(), DefaultPrior()); !isInput(err) {
		t.Error(err)
	}
	if _, err := lot.Treat(0.5, Prior{}); !isInput(err) {
		t.Error(err)
	}
}

// A lot split at random and joined again on the same levels is judged level by
// level; lots joined that know nothing of each other multiply their chances.
func TestBeliefJoin(t *testing.T) {
	belief := func(n int) Belief {
		b, err := NewBelief(mustLot(t, n, DefaultPrior()), 3)
		if err != nil {
			t.Fatal(err)
		}
		b, err = b.Update(func(level float64, l Lot) (Lot, error) { return l.Look(Repeat(Seeing{level, 1}.Clean(), 5)) })
		if err != nil {
			t.Fatal(err)
		}
		return b
	}
	a, b := belief(20), belief(30)
	joined, err := a.Join(b)
	if err != nil {
		t.Fatal(err)
	}
	want, total := 0.0, 0.0
	for i := range a.lots {
		w := math.Exp(a.lots[i].logEv + b.lots[i].logEv)
		want += w * a.lots[i].Clear() * b.lots[i].Clear()
		total += w
	}
	if got := joined.Figure(Lot.Clear).Value; math.Abs(got-want/total) > 1e-13 {
		t.Error(got, want/total)
	}
	if joined.Lot().Alive() != 50 {
		t.Error(joined.Lot().Alive())
	}
	one, _ := NewBelief(mustLot(t, 5, DefaultPrior()), 1)
	if _, err := a.Join(one); !isInput(err) {
		t.Error(err)
	}
	if both, err := (Belief{}).Join(Belief{}); err != nil || both.Lot().Clear() != 1 {
		t.Error(err)
	}
	a.lots[0].logEv = math.Inf(-1)
	if dropped, err := a.Join(b); err != nil || dropped.weights()[0] != 0 {
		t.Error(err)
	}
	huge, _ := NewBelief(mustLot(t, MaxAnimals, DefaultPrior()), 3)
	if _, err := huge.Join(b); !isInput(err) {
		t.Error(err)
	}
}
