package photo

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"holdfast/science/ref"
)

// shopVerdicts draws verdicts whose truth follows the given weights of the row
// features, standardised as the built-in model does; without weights it follows
// the built-in model.
func shopVerdicts(n int, weights map[int]float64, seed uint64) []Verdict {
	rng := rand.New(rand.NewPCG(seed, 5))
	m := builtIn().Rows
	var out []Verdict
	for i := range n {
		x := make([]float64, len(m.Features))
		z := 0.0
		for j := range x {
			u := rng.NormFloat64()
			x[j] = m.Mean[j] + m.SD[j]*u
			z += weights[j] * u
		}
		if weights == nil {
			z = m.Score(x) - m.Bias
		}
		out = append(out, Verdict{Photo: fmt.Sprint("p", i/3), Features: x, Real: rng.Float64() < 1/(1+math.Exp(-z))})
	}
	return out
}

func TestRefitLearnsWhatAShopTeaches(t *testing.T) {
	// In this shop two features tell, and not the way the built-in model thinks.
	teach := map[int]float64{3: -2, 8: 1.5}
	r, err := RefitLogistic(builtIn().Rows, shopVerdicts(600, teach, 1), 200, "shop-1")
	if err != nil {
		t.Fatal(err)
	}
	if !r.Kept || r.Model.Version != "shop-1" || r.NewAUC < r.OldAUC+0.1 || !(r.Gain > r.SE) {
		t.Fatalf("not learned: %+v", *r)
	}
	if err := r.Model.Check(FeaturesOf(Dots)); err != nil {
		t.Error(err)
	}
	// On verdicts of the same shop that took no part.
	var real, nothing []float64
	for _, v := range shopVerdicts(600, teach, 2) {
		if s := r.Model.Score(v.Features); v.Real {
			real = append(real, s)
		} else {
			nothing = append(nothing, s)
		}
	}
	if a := rankShare(real, nothing); a < 0.80 {
		t.Errorf("AUC on fresh verdicts %.3f", a)
	}
}

// TestRefitKeepsTheOldWithoutReason holds that verdicts which say nothing new
// change nothing, in at least nine of ten shops.
func TestRefitKeepsTheOldWithoutReason(t *testing.T) {
	const shops = 20
	kept := 0
	for seed := range uint64(shops) {
		r, err := RefitLogistic(builtIn().Rows, shopVerdicts(120, nil, 10+seed), 40, "shop-1")
		if err != nil {
			t.Fatal(err)
		}
		if r.Kept {
			kept++
		} else if r.Model != builtIn().Rows {
			t.Fatal("not kept, but another model is returned")
		}
	}
	if kept > shops/10 {
		t.Errorf("%d of %d models that know nothing were kept", kept, shops)
	}
}

func TestRefitDoesNotDependOnOrder(t *testing.T) {
	v := shopVerdicts(300, map[int]float64{3: -2}, 3)
	a, err := RefitLogistic(builtIn().Rows, v, 100, "x")
	if err != nil {
		t.Fatal(err)
	}
	slices.Reverse(v)
	b, err := RefitLogistic(builtIn().Rows, v, 100, "x")
	if err != nil {
		t.Fatal(err)
	}
	if a.NewLoss != b.NewLoss || a.Kept != b.Kept || !slices.Equal(a.Model.Weight, b.Model.Weight) {
		t.Error("the order of the verdicts matters")
	}
}

func TestRefitRefusesTooLittle(t *testing.T) {
	var no *ref.NoAnswer
	if _, err := RefitLogistic(builtIn().Rows, shopVerdicts(20, nil, 1), 10, "x"); !errors.As(err, &no) {
		t.Errorf("20 verdicts: %v", err)
	}
	var bad *ref.InputError
	v := shopVerdicts(100, nil, 1)
	v[50].Features = v[50].Features[:3]
	if _, err := RefitLogistic(builtIn().Rows, v, 10, "x"); !errors.As(err, &bad) {
		t.Errorf("wrong number of features: %v", err)
	}
}
