package freedom

import (
	"math"
	"testing"
)

func TestBeliefLevels(t *testing.T) {
	lot := mustLot(t, 200, DefaultPrior())
	se := Unsure{2, 2}
	at := func(levels int) (Belief, Band) {
		b, err := NewBelief(lot, levels)
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range []int{20, 40, 60} {
			b, err = b.Update(func(level float64, l Lot) (Lot, error) {
				s, err := se.At(level)
				if err != nil {
					return Lot{}, err
				}
				return l.Look(Repeat(Seeing{s, 1}.Clean(), n))
			})
			if err != nil {
				t.Fatal(err)
			}
		}
		return b, b.Figure(Lot.Clear)
	}
	b, few := at(11)
	_, many := at(99)
	if math.Abs(few.Value-many.Value) > 0.003 {
		t.Errorf("11 levels give %v, 99 give %v", few.Value, many.Value)
	}
	if !(few.Low < few.Value && few.Value < few.High) {
		t.Error(few)
	}
	if got := b.Lot().Clear(); math.Abs(got-few.Value) > 1e-12 {
		t.Error(got, few.Value)
	}
	// One level is the plain lot at the median.
	one, single := at(1)
	plain := lot
	med, _ := se.At(0.5)
	for _, n := range []int{20, 40, 60} {
		plain, _ = plain.Look(Repeat(Seeing{med, 1}.Clean(), n))
	}
	if single.Low != plain.Clear() || single.High != plain.Clear() || math.Abs(one.Lot().LogEvidence()-plain.LogEvidence()) > 1e-12 {
		t.Error(single, plain.Clear())
	}
	next := func(level float64) Seeing { s, _ := se.At(level); return Seeing{s, 1} }
	m, err := b.MoreClean(ClearLine(few.Value+0.01), nil, next)
	if err != nil || m <= 0 {
		t.Error(m, err)
	}
	for _, x := range []struct {
		m    int
		want bool
	}{{m, true}, {m - 1, false}} {
		after, _ := b.Update(func(level float64, l Lot) (Lot, error) { return l.Look(Repeat(next(level).Clean(), x.m)) })
		if ClearLine(few.Value+0.01).Met(after.Lot()) != x.want {
			t.Errorf("%d more clean: met is not %v", x.m, x.want)
		}
	}
}

// A level that the records rule out drops out and the rest carry on.
func TestBeliefDropsImpossibleLevels(t *testing.T) {
	known, _ := mustLot(t, 20, DefaultPrior()).Found(1)
	b, _ := NewBelief(known, 2)
	b, err := b.Update(func(level float64, l Lot) (Lot, error) {
		se := 0.5
		if level > 0.5 {
			se = 1
		}
		return l.Look(Repeat(Seeing{se, 1}.Clean(), 20))
	})
	if err != nil {
		t.Fatal(err)
	}
	if band := b.Figure(Lot.Mean); band.Low != band.High || band.Value < 1 {
		t.Error(band)
	}
	_, err = b.Update(func(_ float64, l Lot) (Lot, error) { return l.Look(Repeat(PerfectSeeing.Clean(), 20)) })
	if !isNoAnswer(err) {
		t.Error(err)
	}
}

// A count in doubt rides on the same levels: each level recounts to its own
// quantile.
func TestBeliefWithCountInDoubt(t *testing.T) {
	b, err := NewBelief(mustLot(t, 100, DefaultPrior()), 5)
	if err != nil {
		t.Fatal(err)
	}
	b, err = b.Update(func(level float64, l Lot) (Lot, error) { return l.Recount(int(90 + 20*level)) })
	if err != nil {
		t.Fatal(err)
	}
	if l := b.Lot(); l.Alive() != 108 || math.Abs(sum(l.mass)-1) > 1e-12 {
		t.Error(l.Alive(), sum(l.mass))
	}
	if _, err := b.MoreClean(ClearLine(0.8), nil, func(float64) Seeing { return Seeing{0.8, 1} }); err != nil {
		t.Error(err)
	}
	var zero Belief
	if band := zero.Figure(Lot.Clear); band != (Band{1, 1, 1}) || zero.Lot().Clear() != 1 {
		t.Error(band)
	}
	if next, err := zero.Update(func(_ float64, l Lot) (Lot, error) { return l.Births(3) }); err != nil || next.Lot().Alive() != 3 {
		t.Error(err)
	}
}
