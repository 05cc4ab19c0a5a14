package freedom

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// Hui and Walter's own example, two tuberculin tests in two populations, and
// their estimates, both from memory of the 1980 paper (four printed decimals).
// Two tests in two populations have as many figures as unknowns, so the
// likeliest values reproduce the cells exactly; that the estimates below come
// out to the last printed digit confirms the memory.
var huiWalter = []Twofold{
	{Both: 14, OnlyFirst: 4, OnlySecond: 9, Neither: 528},
	{Both: 887, OnlyFirst: 31, OnlySecond: 37, Neither: 367},
}

func TestMostLikelyOnHuiWalter(t *testing.T) {
	se, sp, share := mostLikely(huiWalter)
	for name, c := range map[string][2]float64{
		"sensitivity 1": {se[0], 1 - 0.0339}, "sensitivity 2": {se[1], 1 - 0.0312},
		"specificity 1": {sp[0], 1 - 0.0067}, "specificity 2": {sp[1], 1 - 0.0159},
		"share 1": {share[0], 0.0268}, "share 2": {share[1], 0.7168},
	} {
		if math.Abs(c[0]-c[1]) > 0.00006 {
			t.Errorf("%s: %.5f, printed %.4f", name, c[0], c[1])
		}
	}
	for l, c := range huiWalter {
		n, pi := float64(c.total()), share[l]
		both := pi*se[0]*se[1] + (1-pi)*(1-sp[0])*(1-sp[1])
		if math.Abs(both*n-float64(c.Both)) > 1e-3 {
			t.Errorf("lot %d: %v both ways, want %d", l, both*n, c.Both)
		}
	}
}

func TestLearnTwoWaysOnHuiWalter(t *testing.T) {
	priors := FlatLearnPriors()
	priors.Specificity = [2]Unsure{{1, 1}, {1, 1}}
	got, err := LearnTwoWays(rand.New(rand.NewPCG(1, 2)), huiWalter, priors, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	se, sp, share := mostLikely(huiWalter)
	for name, c := range map[string]struct {
		l    Learned
		want float64
	}{
		"se1": {got.Sensitivity[0], se[0]}, "se2": {got.Sensitivity[1], se[1]},
		"sp1": {got.Specificity[0], sp[0]}, "sp2": {got.Specificity[1], sp[1]},
		"p1": {got.Share[0], share[0]}, "p2": {got.Share[1], share[1]},
	} {
		if math.Abs(c.l.Share-c.want) > 0.01 || !(c.l.Low < c.want && c.want < c.l.High) || c.l.High-c.l.Low > 0.08 {
			t.Errorf("%s: %+v, likeliest %v", name, c.l, c.want)
		}
	}
	if len(got.Warnings) != 1 {
		t.Error(got.Warnings)
	}
	again, _ := LearnTwoWays(rand.New(rand.NewPCG(1, 2)), huiWalter, priors, 0.9)
	if again.Sensitivity != got.Sensitivity {
		t.Error("the same seed gave another answer")
	}
}

func TestLearnWarnsWhenItCannotTell(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	one, err := LearnTwoWays(rng, []Twofold{{4, 3, 5, 38}}, FlatLearnPriors(), 0.9)
	if err != nil || len(one.Warnings) < 2 || !strings.Contains(strings.Join(one.Warnings, " "), "One lot alone") {
		t.Error(one.Warnings, err)
	}
	alike, err := LearnTwoWays(rng, []Twofold{{4, 3, 5, 38}, {5, 3, 4, 38}}, FlatLearnPriors(), 0.9)
	if err != nil || !strings.Contains(strings.Join(alike.Warnings, " "), "carry it alike") {
		t.Error(alike.Warnings, err)
	}
	none, err := LearnTwoWays(rng, []Twofold{{}, {}}, FlatLearnPriors(), 0.9)
	if err != nil || !strings.Contains(strings.Join(none.Warnings, " "), "next to nothing") {
		t.Error(none.Warnings, err)
	}
	// With no data the limits are the prior's.
	if s := none.Specificity[0]; math.Abs(s.Share-20.0/21) > 0.01 {
		t.Error("prior mean 0.952, got", s.Share)
	}
}

// Intervals are honest: data simulated from known values, the share of 90 %
// intervals that hold the truth. Values are drawn from the priors, so exact
// Bayes covers on average exactly; 60 draws of two sensitivities give a
// standard error of 0.03.
func TestLearnTwoWaysCovers(t *testing.T) {
	runs := 60
	if testing.Short() {
		runs = 10
	}
	rng := rand.New(rand.NewPCG(5, 6))
	priors := LearnPriors{
		Sensitivity: [2]Unsure{{4, 4}, {8, 2}}, Specificity: [2]Unsure{{40, 1}, {40, 1}}, Share: Unsure{1, 2},
	}
	held, all := 0, 0
	for range runs {
		g := newGibbs(rng, make([]Twofold, 3), priors) // a draw from the prior
		lots := make([]Twofold, 3)
		for l := range lots {
			for range 60 {
				infested := rng.Float64() < g.share[l]
				var positive [2]bool
				for i := range 2 {
					p := 1 - g.sp[i]
					if infested {
						p = g.se[i]
					}
					positive[i] = rng.Float64() < p
				}
				switch positive {
				case [2]bool{true, true}:
					lots[l].Both++
				case [2]bool{true, false}:
					lots[l].OnlyFirst++
				case [2]bool{false, true}:
					lots[l].OnlySecond++
				default:
					lots[l].Neither++
				}
			}
		}
		got, err := LearnTwoWays(rng, lots, priors, 0.9)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 2 {
			all++
			if got.Sensitivity[i].Low <= g.se[i] && g.se[i] <= got.Sensitivity[i].High {
				held++
			}
		}
	}
	share, se := float64(held)/float64(all), math.Sqrt(0.9*0.1/float64(all))
	if math.Abs(share-0.9) > 3.5*se {
		t.Errorf("90 %% limits held the truth in %d of %d", held, all)
	}
}

func TestLearnSameWay(t *testing.T) {
	priors := FlatLearnPriors()
	priors.SameWay = true
	got, err := LearnTwoWays(rand.New(rand.NewPCG(7, 8)), []Twofold{{30, 10, 11, 9}, {1, 2, 1, 90}}, priors, 0.9)
	if err != nil || got.Sensitivity[0] != got.Sensitivity[1] || got.Specificity[0] != got.Specificity[1] {
		t.Error(got, err)
	}
	// 30 both and 21 once: 2·30/(2·30+21) of the looks at carriers saw it.
	if s := got.Sensitivity[0]; math.Abs(s.Share-60.0/81) > 0.05 {
		t.Error(s)
	}
}

func TestLearnConfirmed(t *testing.T) {
	got, err := LearnConfirmed([]Twofold{{8, 2, 10, 30}, {4, 1, 8, 60}}, Unsure{1, 1}, Unsure{1, 1}, 0.9)
	if err != nil {
		t.Fatal(err)
	}
	// Beta(13, 19) and Beta(13, 4).
	if s := got.Sensitivity[0]; s.Share != 13.0/32 || s.Belief != (Unsure{13, 19}) || !(s.Low < 0.3 && s.High > 0.5) {
		t.Error(s)
	}
	if s := got.Sensitivity[1]; s.Share != 13.0/17 {
		t.Error(s)
	}
	if w := got.Words("by eye", "with the lens"); w != "By eye you see about 4 in 10 carriers (3 to 6), with the lens you see about 8 in 10 carriers (6 to 9)." {
		t.Error(w)
	}
	if len(got.Warnings) != 1 {
		t.Error(got.Warnings)
	}
	few, err := LearnConfirmed([]Twofold{{1, 0, 1, 9}}, Unsure{1, 1}, Unsure{1, 1}, 0.9)
	if err != nil || len(few.Warnings) != 3 {
		t.Error(few.Warnings, err)
	}
}

func TestLearnErrors(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	ok := []Twofold{{1, 1, 1, 1}}
	flat := Unsure{1, 1}
	bad := FlatLearnPriors()
	bad.Share = Unsure{0, 1}
	for name, f := range map[string]func() error{
		"no lots":     func() error { _, err := LearnConfirmed(nil, flat, flat, 0.9); return err },
		"negative":    func() error { _, err := LearnConfirmed([]Twofold{{-1, 0, 0, 0}}, flat, flat, 0.9); return err },
		"confidence":  func() error { _, err := LearnConfirmed(ok, flat, flat, 1); return err },
		"prior":       func() error { _, err := LearnConfirmed(ok, Unsure{}, flat, 0.9); return err },
		"gibbs lots":  func() error { _, err := LearnTwoWays(rng, nil, FlatLearnPriors(), 0.9); return err },
		"gibbs conf":  func() error { _, err := LearnTwoWays(rng, ok, FlatLearnPriors(), 0); return err },
		"gibbs prior": func() error { _, err := LearnTwoWays(rng, ok, bad, 0.9); return err },
	} {
		if err := f(); !isInput(err) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
