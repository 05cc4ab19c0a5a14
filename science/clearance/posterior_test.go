package clearance

import (
	"context"
	"errors"
	"math"
	"reflect"
	"runtime"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/ref"
)

func evidence(t *testing.T, c Case) Result {
	t.Helper()
	r, err := Evidence(context.Background(), c)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// TestStaticLot looks once at a lot in which nothing happens: one worm on each
// infested animal. The chance of clear is then the chance that the lot was never
// infested.
//
// Source: testdata/checks, inspection_ref.csv, I6 (quadrature).
func TestStaticLot(t *testing.T) {
	cond := fixedCondition(t, map[Figure]float64{LoadMean: 1e-9, FAdult: 1, Lay: 0, AdultLife: 1e12, Shed: 0,
		HostHaz: 0, Stress: 0, SAdult: .6, Photo: 1, FPAdult: 0, FPEgg: 0}, nil)
	cond.Figures[Prev] = Belief{Kind: "beta", A: .9, B: 4}
	half := .5
	c := Case{Condition: cond, Animals: 200, Tanks: []Tank{{VolumeL: 100}}, Infested: &half, Runs: 40000, Seed: 2,
		Looks: []Look{{Day: 1, Animals: 30}}, Days: []float64{0, 1}}
	want := 0.0
	for _, r := range readReference(t, "inspection_ref.csv") {
		if r.scenario == "I6" {
			want = r.value
		}
	}
	r := evidence(t, c)
	if got := r.Mixed.Points[0].Clear; math.Abs(got.Value-.5) > 1e-9 {
		t.Errorf("before the look %g, want .5", got.Value)
	}
	if got := r.Mixed.Points[1].Clear; math.Abs(got.Value-want) > 4*got.SE || got.SE > .005 {
		t.Errorf("after the look %.5f ± %.5f, want %.5f", got.Value, got.SE, want)
	}
	if got, want := r.Mixed.Points[1].BagRisk, staticBag(.9, 4, .6, 30, 200, 10); math.Abs(got.Value-want) > 4*got.SE || got.SE > .005 {
		t.Errorf("bag risk %.5f ± %.5f, want %.5f", got.Value, got.SE, want)
	}
}

// staticBag is the chance that a bag of m of n animals holds a carrier after a
// clean look at k with sensitivity se: the share infested is Beta(a, b), the
// number binomial given at least one, and the lot was infested with chance half.
func staticBag(a, b, se float64, k, n, m int) float64 {
	lg := func(x float64) float64 { l, _ := math.Lgamma(x); return l }
	choose := func(n, k int) float64 { return lg(float64(n+1)) - lg(float64(k+1)) - lg(float64(n-k+1)) }
	// Midpoints over u = √p, which takes the edge off the density at 0.
	const grid = 20000
	var like, bag float64
	for g := range grid {
		u := (float64(g) + .5) / grid
		p := u * u
		density := math.Exp((a-1)*math.Log(p)+(b-1)*math.Log1p(-p)+lg(a+b)-lg(a)-lg(b)) * 2 * u / grid
		if density < 1e-14 {
			continue
		}
		any := -math.Expm1(float64(n) * math.Log1p(-p))
		all := math.Pow(1-p*se, float64(k)) // clean look, I binomial
		none := math.Pow(1-p, float64(n))
		// A bag clean as well: of its m animals j were also looked at.
		clean := 0.0
		for j := max(0, k+m-n); j <= min(k, m); j++ {
			h := math.Exp(choose(k, j) + choose(n-k, m-j) - choose(n, m))
			clean += h * math.Pow(1-p, float64(m)) * math.Pow(1-p*se, float64(k-j))
		}
		like += density * (all - none) / any
		bag += density * (all - clean) / any
	}
	return .5 * bag / (.5 + .5*like)
}

// TestBagRiskByHand takes bags apart animal by animal.
func TestBagRiskByHand(t *testing.T) {
	for _, c := range []struct {
		alive, infested, m int
		want               float64
	}{
		{10, 0, 3, 0}, {10, 10, 1, 1}, {10, 1, 1, .1}, {10, 1, 10, 1}, {0, 0, 5, 0}, {5, 1, 9, 1},
		{4, 2, 2, 1 - 1./6}, {200, 5, 10, 1 - (190.*189*188*187*186)/(200.*199*198*197*196)},
	} {
		if got := BagRisk(c.alive, c.infested, c.m); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%d of %d, bag of %d: %g, want %g", c.infested, c.alive, c.m, got, c.want)
		}
	}
}

// TestBagRiskLaws checks that the risk lies between 0 and 1 and grows with the
// bag and with the infested.
func TestBagRiskLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 300).Draw(t, "alive")
		d := rapid.IntRange(0, n-1).Draw(t, "infested")
		m := rapid.IntRange(1, n).Draw(t, "bag")
		p := BagRisk(n, d, m)
		if p < 0 || p > 1 || BagRisk(n, d+1, m) < p || BagRisk(n, d, m+1) < p-1e-15 {
			t.Fatalf("%d of %d, bag of %d: %g", d, n, m, p)
		}
	})
}

// TestBagRiskByDrawing fills bags by lot from runs drawn by their weight.
func TestBagRiskByDrawing(t *testing.T) {
	c := small(t)
	c.Animals, c.Days, c.Runs = 20, []float64{12}, 4000
	c.Looks = []Look{{Day: 6, Animals: 10, Worms: 1}}
	p, err := c.prepared()
	if err != nil {
		t.Fatal(err)
	}
	s := newStudy(p)
	if err := s.grow(context.Background(), c.Runs); err != nil {
		t.Fatal(err)
	}
	w := weigh(s.stages[mixed], 1, 1, true)
	sm := s.stages[mixed][0].sample
	total := mean(w.infested) * float64(sm.n)
	k, bags, bad := key(3), runs(400000), 0
	for b := range bags {
		u, i := k.child(uint64(b)).unit(0)*total, 0
		for ; i < sm.n-1 && u > w.infested[i]; i++ {
			u -= w.infested[i]
		}
		alive, infested := int(sm.alive[i]), int(sm.infested[i])
		for m := range min(p.Bag, alive) {
			if k.child(uint64(b)).unit(at(1, uint64(m)))*float64(alive-m) < float64(infested) {
				bad++
				break
			}
		}
	}
	got := line(p, s.stages[mixed]).Points[0].BagRisk.Value
	want := float64(bad) / float64(bags)
	if math.Abs(got-want) > 4*math.Sqrt(want*(1-want)/float64(bags)) {
		t.Errorf("bag risk %.4f, by drawing %.4f", got, want)
	}
}

// TestSameOnAnyCores asks the same question with one worker and with several.
func TestSameOnAnyCores(t *testing.T) {
	c := plan(2, 14, 1, 20, 40, 60)
	c.Runs, c.Looks = 600, []Look{{Day: 30, Animals: 20, Worms: 1}, {Day: 50, Animals: 20, Planned: true}}
	before := runtime.GOMAXPROCS(1)
	one := evidence(t, c)
	runtime.GOMAXPROCS(7)
	many := evidence(t, c)
	runtime.GOMAXPROCS(before)
	if !reflect.DeepEqual(one, many) {
		t.Errorf("one core: %+v\nseven: %+v", one.Mixed.Points, many.Mixed.Points)
	}
}

// TestErrorIsHonest repeats a question with other seeds and compares the spread of
// the answers with the error stated.
func TestErrorIsHonest(t *testing.T) {
	c := plan(3, 14, 1, 42)
	p := .5
	c.Infested, c.Runs, c.Looks = &p, 500, []Look{{Day: 28, Animals: 30, Worms: 1}, {Day: 42, Animals: 30}}
	var clear, bag, clearSE, bagSE []float64
	for seed := range uint64(40) {
		c.Seed = seed
		q, err := c.prepared()
		if err != nil {
			t.Fatal(err)
		}
		s := newStudy(q)
		if err := s.stages[mixed][0].grow(context.Background(), q.Runs); err != nil {
			t.Fatal(err)
		}
		pt := line(q, s.stages[mixed]).Points[0]
		clear, clearSE = append(clear, pt.Clear.Value), append(clearSE, pt.Clear.SE)
		bag, bagSE = append(bag, pt.BagRisk.Value), append(bagSE, pt.BagRisk.SE)
	}
	for name, x := range map[string][2][]float64{"clear": {clear, clearSE}, "bag risk": {bag, bagSE}} {
		m, v := mean(x[0]), 0.0
		for _, y := range x[0] {
			v += (y - m) * (y - m) / 39
		}
		// 39 degrees of freedom: the ratio of deviations lies in .68 to 1.36 with
		// chance .998 (chi-squared).
		if ratio := math.Sqrt(v) / mean(x[1]); ratio < .68 || ratio > 1.36 {
			t.Errorf("%s: spread %.4f, stated error %.4f", name, math.Sqrt(v), mean(x[1]))
		}
	}
}

// TestResampling forces copies on a sample that could do without and compares
// with many plain runs.
func TestResampling(t *testing.T) {
	c := plan(2, 14, 1, 25, 45, 60)
	c.Looks = []Look{{Day: 20, Animals: 30, Worms: 6, Eggs: 2}, {Day: 40, Animals: 40, Worms: 1}, {Day: 55, Animals: 30}}
	c.Runs = 30000
	if testing.Short() {
		c.Runs = 10000
	}
	p, err := c.prepared()
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	many := []stage{{sample: newSample(p, mixed)}}
	if err := many[0].grow(ctx, c.Runs); err != nil {
		t.Fatal(err)
	}
	want := line(p, many)
	few := []stage{{sample: newSample(p, mixed)}}
	if err := few[0].grow(ctx, c.Runs/5); err != nil {
		t.Fatal(err)
	}
	for range maxResample {
		if few, err = resample(ctx, p, few); err != nil {
			t.Fatal(err)
		}
	}
	if len(few) < 3 {
		t.Fatalf("resampled only %d times", len(few)-1)
	}
	got := line(p, few)
	if got.Ancestors < fewAncestors {
		t.Fatalf("only %d ancestors", got.Ancestors)
	}
	for i, g := range got.Points {
		w := want.Points[i]
		for name, pair := range map[string][2]Share{"clear": {g.Clear, w.Clear}, "bag risk": {g.BagRisk, w.BagRisk}} {
			z := (pair[0].Value - pair[1].Value) / math.Hypot(pair[0].SE, pair[1].SE)
			t.Logf("day %g %s: %.4f ± %.4f, plain %.4f ± %.4f; ess %.0f, plain %.0f", g.Day, name, pair[0].Value, pair[0].SE, pair[1].Value, pair[1].SE, g.ESS, w.ESS)
			if math.Abs(z) > 4 {
				t.Errorf("day %g %s: %.4f ± %.4f, plain %.4f ± %.4f", g.Day, name, pair[0].Value, pair[0].SE, pair[1].Value, pair[1].SE)
			}
		}
	}
}

// TestPlannedLook checks that a planned look splits the chance: clear is the mean
// of clear if it is clean and clear if it is not.
func TestPlannedLook(t *testing.T) {
	c := plan(3, 14, 1, 60)
	c.Looks = []Look{{Day: 60, Animals: 30, Planned: true}}
	p := .6
	c.Infested, c.Runs = &p, 1000
	r := evidence(t, c)
	pt, l := r.Mixed.Points[0], r.Mixed.Looks[0]
	if got := l.Expected*pt.Clear.Value + (1-l.Expected)*l.ClearIfSigns; math.Abs(got-pt.ClearNow) > 1e-9 {
		t.Errorf("%g clean: clear %g, signs: clear %g; mixed %g, without the look %g", l.Expected, pt.Clear.Value, l.ClearIfSigns, got, pt.ClearNow)
	}
	if !(l.ClearIfSigns < pt.ClearNow && pt.ClearNow < pt.Clear.Value) {
		t.Errorf("signs %g, no look %g, clean %g are not in order", l.ClearIfSigns, pt.ClearNow, pt.Clear.Value)
	}
}

// TestImpossibleLook asks about counts that nothing can explain.
func TestImpossibleLook(t *testing.T) {
	c := small(t)
	c.Condition.Figures[FPEgg] = Belief{Kind: "fix"}
	c.Condition.Figures[SEgg] = Belief{Kind: "fix"}
	c.Looks, c.Days, c.Runs = []Look{{Day: 3, Animals: 5, Eggs: 2}}, []float64{5}, 200
	var no *ref.NoAnswer
	if _, err := Evidence(context.Background(), c); !errors.As(err, &no) {
		t.Errorf("got %v, want no answer", err)
	}
}

// TestBandAgainstNested compares the band with following many lots under each of
// many sets of figures.
func TestBandAgainstNested(t *testing.T) {
	if testing.Short() {
		t.Skip("takes 30,000 lots")
	}
	c := plan(3, 14, 1, 70)
	c.Runs = 4000
	r := evidence(t, c)
	const sets, each = 200, 150
	p, err := c.prepared()
	if err != nil {
		t.Fatal(err)
	}
	shares := nested(t, p, sets, each)
	low, high := shares[sets/20], shares[sets-1-sets/20]
	got := r.Mixed.Points[0].Clear
	t.Logf("band %.3f to %.3f, nested %.3f to %.3f", got.Low, got.High, low, high)
	if math.Abs(got.Low-low) > .08 || math.Abs(got.High-high) > .05 {
		t.Errorf("band %.3f to %.3f, nested %.3f to %.3f", got.Low, got.High, low, high)
	}
}
