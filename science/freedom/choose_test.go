package freedom

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 1)) }

func TestChooseLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		seed := rapid.Uint64().Draw(t, "seed")
		N := rapid.IntRange(1, 500).Draw(t, "N")
		n := rapid.IntRange(0, N).Draw(t, "n")
		got, err := Choose(seeded(seed), N, n)
		if err != nil || len(got) != n || !slices.IsSorted(got) || len(slices.Compact(slices.Clone(got))) != n {
			t.Fatal(got, err)
		}
		if n > 0 && (got[0] < 1 || got[n-1] > N) {
			t.Fatal(got)
		}
		if again, _ := Choose(seeded(seed), N, n); !slices.Equal(got, again) {
			t.Fatal("the same seed chose others")
		}
	})
}

// Every set is equally likely: 20,000 choices of 2 of 5, chi-squared over the
// 10 sets; 9 degrees of freedom exceed 33.7 once in 10,000 seeds.
func TestChooseIsFair(t *testing.T) {
	rng, counts := seeded(7), map[[2]int]float64{}
	const runs = 20_000
	for range runs {
		c, err := Choose(rng, 5, 2)
		if err != nil {
			t.Fatal(err)
		}
		counts[[2]int{c[0], c[1]}]++
	}
	chi := 0.0
	for _, c := range counts {
		chi += (c - runs/10) * (c - runs/10) / (runs / 10)
	}
	if len(counts) != 10 || chi > 33.7 {
		t.Error(len(counts), chi)
	}
}

func TestSpread(t *testing.T) {
	rng, mean := seeded(8), 0.0
	const runs = 5000
	for range runs {
		take, err := Spread(rng, []int{10, 0, 30, 60}, 20)
		if err != nil || take[0]+take[1]+take[2]+take[3] != 20 || take[1] != 0 || take[0] > 10 {
			t.Fatal(take, err)
		}
		mean += float64(take[2]) / runs
	}
	// Hypergeometric mean 20·30/100 = 6, variance 6·0.7·80/99 = 3.39.
	if math.Abs(mean-6) > 4*math.Sqrt(3.39/runs) {
		t.Error(mean)
	}
}

func TestPlanCatches(t *testing.T) {
	tank := Spots{4, 3, 2}
	plan, err := PlanCatches(seeded(9), tank, 60, 5)
	if err != nil || len(plan) != 60 {
		t.Fatal(len(plan), err)
	}
	for lap := range 2 { // every spot once before any twice
		seen := map[Catch]bool{}
		for _, c := range plan[lap*24 : lap*24+24] {
			if c.Across < 1 || c.Across > 4 || c.Back < 1 || c.Back > 3 || c.Level < 1 || c.Level > 2 || c.Keep < 1 || c.Keep > 5 {
				t.Fatal(c)
			}
			c.Keep = 0
			seen[c] = true
		}
		if len(seen) != 24 {
			t.Errorf("lap %d visits %d of 24 spots", lap, len(seen))
		}
	}
}

func TestWhatBiasDoes(t *testing.T) {
	lot := mustLot(t, 100, DefaultPrior())
	caught := Repeat(Seeing{0.8, 1}.Clean(), 20)
	b, err := WhatBiasDoes(lot, 30, 3, caught)
	if err != nil {
		t.Fatal(err)
	}
	plain, _ := lot.Look(caught)
	if math.Abs(b.AsRandom-plain.Clear()) > 1e-12 || !(b.IfSpared < b.AsRandom && b.AsRandom < b.IfCarriers) || b.Cautious != b.IfSpared {
		t.Error(b)
	}
	if !strings.Contains(b.Sentence, "Only 30 of 100 could be caught") {
		t.Error(b.Sentence)
	}
}

func TestAllocate(t *testing.T) {
	how := Seeing{0.8, 1}
	lot := mustLot(t, 60, DefaultPrior())
	sure := Lot{mass: append([]float64{1}, make([]float64, 60)...)}
	work := []Work{
		{Lot: lot, How: how, PerAnimal: 30, Setup: 60, Harm: 400, Hold: 90},
		{Lot: sure, How: how, PerAnimal: 30, Setup: 60, Harm: 400, Hold: 90}, // surely clear: looking is worth nothing
		{Lot: lot, How: how, PerAnimal: 30, Setup: 60, Harm: 400, Hold: 90, Most: 5},
		{Lot: lot, How: how, PerAnimal: 45, Setup: 60, Harm: 100, HarmEach: 20, Hold: 90},
	}
	got, err := Allocate(work, 3600)
	if err != nil {
		t.Fatal(err)
	}
	spent, before, after := 0, 0.0, 0.0
	for i, p := range got {
		spent += p.Seconds
		before += p.Before
		after += p.After
		if p.After > p.Before+1e-12 {
			t.Errorf("looking at lot %d makes it worse: %+v", i, p)
		}
	}
	if spent > 3600 || after >= before || got[1].Animals != 0 || got[2].Animals > 5 || got[0].Animals == 0 {
		t.Errorf("%+v", got)
	}
	none, err := Allocate(work, 0)
	if err != nil || none[0].Animals != 0 || none[0].Clean != 1 {
		t.Error(none, err)
	}
}

// The allocation is the best there is: the twin tries every one.
func TestAllocateIsTheBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		work := make([]Work, 3)
		for i := range work {
			work[i] = Work{
				Lot: mustLot(t, rapid.IntRange(0, 12).Draw(t, "N"), priors.Draw(t, "prior")), How: Seeing{rapid.Float64Range(0.3, 1).Draw(t, "se"), 1},
				PerAnimal: rapid.IntRange(1, 9).Draw(t, "per"), Setup: rapid.IntRange(0, 9).Draw(t, "setup"),
				Harm: rapid.Float64Range(0, 100).Draw(t, "harm"), HarmEach: rapid.Float64Range(0, 10).Draw(t, "each"), Hold: rapid.Float64Range(0, 60).Draw(t, "hold"),
			}
		}
		seconds := rapid.IntRange(0, 90).Draw(t, "seconds")
		got, err := Allocate(work, seconds)
		if err != nil {
			t.Fatal(err)
		}
		total := got[0].After + got[1].After + got[2].After
		curves := make([][]Portion, 3)
		for i, w := range work {
			if curves[i], err = w.curve(seconds); err != nil {
				t.Fatal(err)
			}
		}
		best := math.Inf(1)
		for _, a := range curves[0] {
			for _, b := range curves[1] {
				for _, c := range curves[2] {
					if a.Seconds+b.Seconds+c.Seconds <= seconds {
						best = min(best, a.After+b.After+c.After)
					}
				}
			}
		}
		if math.Abs(total-best) > 1e-9*(1+best) {
			t.Fatalf("loss %v, best %v", total, best)
		}
	})
}

func TestChooseErrors(t *testing.T) {
	rng := seeded(1)
	lot := mustLot(t, 10, DefaultPrior())
	good := Work{Lot: lot, How: PerfectSeeing, PerAnimal: 1}
	bad := func(spoil func(*Work)) error {
		w := good
		spoil(&w)
		_, err := Allocate([]Work{w}, 60)
		return err
	}
	for name, err := range map[string]error{
		"choose none":   func() error { _, err := Choose(rng, 0, 0); return err }(),
		"choose many":   func() error { _, err := Choose(rng, 5, 6); return err }(),
		"spread bag":    func() error { _, err := Spread(rng, []int{-1}, 0); return err }(),
		"spread many":   func() error { _, err := Spread(rng, []int{3}, 4); return err }(),
		"catch spots":   func() error { _, err := PlanCatches(rng, Spots{0, 1, 1}, 1, 1); return err }(),
		"catch number":  func() error { _, err := PlanCatches(rng, Spots{1, 1, 1}, -1, 1); return err }(),
		"catch net":     func() error { _, err := PlanCatches(rng, Spots{1, 1, 1}, 1, 0); return err }(),
		"bias odds":     func() error { _, err := WhatBiasDoes(lot, 5, 0.5, nil); return err }(),
		"bias nan":      func() error { _, err := WhatBiasDoes(lot, 5, math.NaN(), nil); return err }(),
		"bias weak":     func() error { _, err := WhatBiasDoes(lot, 50, 2, nil); return err }(),
		"work how":      bad(func(w *Work) { w.How = Seeing{} }),
		"work time":     bad(func(w *Work) { w.PerAnimal = 0 }),
		"work setup":    bad(func(w *Work) { w.Setup = -1 }),
		"work most":     bad(func(w *Work) { w.Most = 11 }),
		"work harm":     bad(func(w *Work) { w.Harm = math.NaN() }),
		"work hold":     bad(func(w *Work) { w.Hold = -1 }),
		"work infinite": bad(func(w *Work) { w.HarmEach = math.Inf(1) }),
		"seconds":       func() error { _, err := Allocate(nil, -1); return err }(),
	} {
		if !isInput(err) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// The quick way through the would-be positives gives what the look itself gives.
func TestCleanLossesAreThoseOfTheLook(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 80).Draw(t, "alive")
		lot, err := NewLot(n, Prior{Infested: rapid.SampledFrom([]float64{0, 0.2, 0.5, 1}).Draw(t, "infested"), A: rapid.Float64Range(0.2, 4).Draw(t, "a"), B: rapid.Float64Range(0.2, 9).Draw(t, "b")})
		if err != nil {
			t.Fatal(err)
		}
		w := Work{Lot: lot, How: Seeing{rapid.SampledFrom([]float64{0.05, 0.4, 0.8, 1}).Draw(t, "se"), 1}, PerAnimal: 10, Harm: rapid.Float64Range(0, 900).Draw(t, "harm"), HarmEach: rapid.Float64Range(0, 20).Draw(t, "each"), Hold: rapid.Float64Range(0, 90).Draw(t, "hold")}
		quick := w.cleanLosses()
		for k := 0; k <= n; k++ {
			loss, clean, err := quick(k)
			if err != nil {
				t.Fatal(err)
			}
			wantLoss, wantClean, err := w.expectedLoss(k)
			if err != nil {
				t.Fatal(err)
			}
			if math.Abs(loss-wantLoss) > 1e-9*(1+wantLoss) || math.Abs(clean-wantClean) > 1e-11 {
				t.Fatalf("%d looked at: loss %v and clean %v, want %v and %v", k, loss, clean, wantLoss, wantClean)
			}
		}
	})
}
