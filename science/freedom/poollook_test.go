package freedom

import (
	"errors"
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/ref"
)

// slowPools is the chance of the records by laying out every way in which the
// infested can fall into the pools, in rational arithmetic.
func slowPools(alive, infested int, p Pools, positive int) *big.Rat {
	se, sp := new(big.Rat).SetFloat64(p.How.Sensitivity), new(big.Rat).SetFloat64(p.How.Specificity)
	one := big.NewRat(1, 1)
	var walk func(pool, left, infested int) *big.Rat
	walk = func(pool, left, infested int) *big.Rat {
		if pool == p.Number {
			return new(big.Rat).Set(one)
		}
		sum := new(big.Rat)
		all := new(big.Int).Binomial(int64(left), int64(p.Size))
		for i := 0; i <= min(p.Size, infested); i++ {
			if p.Size-i > left-infested {
				continue
			}
			ways := new(big.Int).Mul(new(big.Int).Binomial(int64(infested), int64(i)), new(big.Int).Binomial(int64(left-infested), int64(p.Size-i)))
			r := new(big.Rat).Sub(one, sp)
			if i > 0 {
				r.Set(se)
			}
			if pool >= positive {
				r.Sub(one, r)
			}
			r.Mul(r, new(big.Rat).SetFrac(ways, all))
			sum.Add(sum, r.Mul(r, walk(pool+1, left-p.Size, infested-i)))
		}
		return sum
	}
	return walk(0, alive, infested)
}

func TestLookPoolsAgainstRational(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.IntRange(1, 4).Draw(t, "size")
		number := rapid.IntRange(1, 4).Draw(t, "number")
		alive := size*number + rapid.IntRange(0, 8).Draw(t, "rest")
		positive := rapid.IntRange(0, number).Draw(t, "positive")
		how := Seeing{Sensitivity: rapid.SampledFrom([]float64{0.25, 0.5, 0.875, 1}).Draw(t, "se"), Specificity: rapid.SampledFrom([]float64{0.875, 1}).Draw(t, "sp")}
		p := Pools{Number: number, Size: size, How: how}
		before, err := NewLot(alive, Prior{Infested: 0.5, A: 1, B: 2})
		if err != nil {
			t.Fatal(err)
		}
		after, err := before.LookPools(p, positive)
		want, sum := make([]float64, alive+1), 0.0
		for d := range want {
			x, _ := slowPools(alive, d, p, positive).Float64()
			want[d] = before.P(d) * x
			sum += want[d]
		}
		var none *ref.NoAnswer
		if sum == 0 {
			if !errors.As(err, &none) {
				t.Fatalf("impossible records: %v", err)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		for d := range want {
			if w := want[d] / sum; math.Abs(after.P(d)-w) > 1e-12+1e-10*w {
				t.Fatalf("P(%d) = %v, want %v", d, after.P(d), w)
			}
		}
		if got := after.LogEvidence(); math.Abs(got-math.Log(sum)) > 1e-10 {
			t.Fatalf("evidence %v, want %v", got, math.Log(sum))
		}
	})
}

// Pools of one animal are a look at single animals, and a clean pool of many
// proves less than as many clean single looks.
func TestLookPoolsOfOne(t *testing.T) {
	lot, err := NewLot(200, DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	how := Seeing{Sensitivity: 0.8, Specificity: 0.98}
	pools, err := lot.LookPools(Pools{Number: 60, Size: 1, How: how}, 2)
	if err != nil {
		t.Fatal(err)
	}
	single, err := lot.Look(append(Repeat(how.Positive(), 2), Repeat(how.Clean(), 58)...))
	if err != nil {
		t.Fatal(err)
	}
	for d := 0; d <= 200; d++ {
		if math.Abs(pools.P(d)-single.P(d)) > 1e-12 {
			t.Fatalf("P(%d) = %v in pools of one, %v one by one", d, pools.P(d), single.P(d))
		}
	}
	how.Specificity = 1
	five, err := lot.LookPools(Pools{Number: 12, Size: 5, How: how}, 0)
	if err != nil {
		t.Fatal(err)
	}
	alone, err := lot.Look(Repeat(how.Clean(), 60))
	if err != nil {
		t.Fatal(err)
	}
	if !(five.Clear() < alone.Clear() && five.Clear() > lot.Clear()) {
		t.Errorf("clean: %v in fives, %v one by one, %v before", five.Clear(), alone.Clear(), lot.Clear())
	}
	// Detect asks the same of a known number infested.
	found, _, err := Pools{Number: 12, Size: 5, How: how}.Detect(200, 7)
	if err != nil {
		t.Fatal(err)
	}
	mass := make([]float64, 201)
	mass[7] = 1
	after, err := Lot{mass: mass}.LookPools(Pools{Number: 12, Size: 5, How: how}, 0)
	if err != nil || math.Abs(math.Exp(after.LogEvidence())-(1-found)) > 1e-12 {
		t.Errorf("no pool positive: %v, want %v (%v)", math.Exp(after.LogEvidence()), 1-found, err)
	}
	for _, bad := range []Pools{{Number: 0, Size: 5, How: how}, {Number: 41, Size: 5, How: how}, {Number: 2, Size: 0, How: how}} {
		if _, err := lot.LookPools(bad, 0); err == nil {
			t.Errorf("%+v was taken", bad)
		}
	}
	if _, err := lot.LookPools(Pools{Number: 2, Size: 5, How: how}, 3); err == nil {
		t.Error("3 of 2 pools were positive")
	}
}

func BenchmarkLookPools(b *testing.B) {
	lot, _ := NewLot(10_000, DefaultPrior())
	for b.Loop() {
		if _, err := lot.LookPools(Pools{Number: 40, Size: 5, How: Seeing{Sensitivity: 0.8, Specificity: 1}}, 1); err != nil {
			b.Fatal(err)
		}
	}
}
