package freedom

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// slowDetect is P(T > k) from the definition in rational arithmetic: the
// double sum over infested caught and over positives of either kind.
func slowDetect(N, D, n, k int, se, sp *big.Rat) *big.Rat {
	one := big.NewRat(1, 1)
	binom := func(n, k int, p *big.Rat) *big.Rat {
		out, q := comb(n, k), new(big.Rat).Sub(one, p)
		for range k {
			out.Mul(out, p)
		}
		for range n - k {
			out.Mul(out, q)
		}
		return out
	}
	fp := new(big.Rat).Sub(one, sp)
	miss := new(big.Rat)
	for y := max(0, n-(N-D)); y <= min(D, n); y++ {
		w := mul(comb(D, y), comb(N-D, n-y), new(big.Rat).Inv(comb(N, n)))
		for j := 0; j <= min(k, y); j++ {
			for i := 0; i <= min(k-j, n-y); i++ {
				miss.Add(miss, mul(w, binom(y, j, se), binom(n-y, i, fp)))
			}
		}
	}
	return one.Sub(one, miss)
}

func TestDetectAgainstRational(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		N := rapid.IntRange(1, 40).Draw(t, "N")
		D := rapid.IntRange(0, N).Draw(t, "D")
		n := rapid.IntRange(0, N).Draw(t, "n")
		k := rapid.IntRange(0, min(n, 5)).Draw(t, "k")
		how := Seeing{rapid.Float64Range(0.05, 1).Draw(t, "se"), rapid.SampledFrom([]float64{1, 0.99, 0.96}).Draw(t, "sp")}
		if rapid.IntRange(0, 4).Draw(t, "perfect") == 0 {
			how.Sensitivity = 1
		}
		got, err := Detect(N, D, n, k, how)
		if err != nil {
			t.Fatal(err)
		}
		want, _ := slowDetect(N, D, n, k, rat(how.Sensitivity), rat(how.Specificity)).Float64()
		if math.Abs(got-want) > 1e-12 || (want > 1e-200 && math.Abs(got/want-1) > 1e-10) {
			t.Fatalf("got %.17g, want %.17g", got, want)
		}
	})
}

// The smallest n is the smallest: the twin tries every one.
func TestSampleSizeIsTheSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		N := rapid.IntRange(1, 25).Draw(t, "N")
		d := Design{
			Population: N, Prevalence: rapid.Float64Range(0.01, 1).Draw(t, "p"), Confidence: rapid.Float64Range(0.3, 0.99).Draw(t, "c"),
			How: seeings.Draw(t, "how"), Allow: rapid.IntRange(0, 2).Draw(t, "k"),
		}
		if d.How.Check() != nil {
			return
		}
		if rapid.Bool().Draw(t, "cutpoint") {
			d.LotSpecificity = rapid.Float64Range(0.3, 0.99).Draw(t, "lotSpecificity")
		}
		D := DesignInfested(N, d.Prevalence)
		c, ls := d.Confidence, d.LotSpecificity
		wantN, wantK := 0, 0
		for n := 1; n <= N && wantN == 0; n++ {
			k := d.Allow
			if ls > 0 {
				for k = 0; ; k++ {
					alarm, _ := slowDetect(N, 0, n, k, rat(d.How.Sensitivity), rat(d.How.Specificity)).Float64()
					if 1-alarm >= ls-1e-12 {
						break
					}
				}
			}
			found, _ := slowDetect(N, D, n, k, rat(d.How.Sensitivity), rat(d.How.Specificity)).Float64()
			if found >= c-1e-12 {
				wantN, wantK = n, k
			}
		}
		plan, err := SampleSize(d)
		if wantN == 0 {
			if !isNoAnswer(err) {
				t.Fatalf("got %+v, %v, want no answer", plan, err)
			}
			return
		}
		if err != nil || plan.Look != wantN || plan.Allow != wantK {
			t.Fatalf("got %+v, %v, want %d and %d", plan, err, wantN, wantK)
		}
	})
}

// Detection grows with animals looked at, with animals infested and with
// sensitivity, and approaches the unlimited lot.
func TestDetectLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		N := rapid.IntRange(2, 2000).Draw(t, "N")
		D := rapid.IntRange(1, N-1).Draw(t, "D")
		n := rapid.IntRange(1, N-1).Draw(t, "n")
		k := rapid.IntRange(0, 4).Draw(t, "k")
		how := Seeing{rapid.Float64Range(0.1, 0.9).Draw(t, "se"), rapid.Float64Range(0.95, 1).Draw(t, "sp")}
		f := func(D, n, k int, how Seeing) float64 {
			p, err := Detect(N, D, n, k, how)
			if err != nil {
				t.Fatal(err)
			}
			return p
		}
		base := f(D, n, k, how)
		for name, more := range map[string]float64{
			"one more looked at": f(D, n+1, k, how),
			"one more infested":  f(D+1, n, k, how),
			"sharper eyes":       f(D, n, k, Seeing{how.Sensitivity + 0.1, how.Specificity}),
		} {
			if more < base-1e-12 {
				t.Fatalf("%s lowered %v to %v", name, base, more)
			}
		}
		if fewer := f(D, n, k+1, how); fewer > base+1e-12 {
			t.Fatalf("tolerating one more raised %v to %v", base, fewer)
		}
	})
	for _, k := range []int{0, 2, 7} {
		finite, err := Detect(MaxAnimals, MaxAnimals/20, 100, k, Seeing{0.8, 0.99})
		if err != nil {
			t.Fatal(err)
		}
		unlimited, err := DetectUnlimited(0.05, 100, k, Seeing{0.8, 0.99})
		if err != nil || math.Abs(finite-unlimited) > 1e-4 {
			t.Error(finite, unlimited, err)
		}
	}
}

func TestSampleSizeExtremes(t *testing.T) {
	perfect := PerfectSeeing
	for _, c := range []struct {
		d    Design
		want int // 0: no answer
	}{
		{Design{Population: 1, Prevalence: 0.05, Confidence: 0.95, How: perfect}, 1},
		{Design{Population: 1, Prevalence: 1, Confidence: 0.95, How: Seeing{0.9, 1}}, 0},
		{Design{Population: 20, Prevalence: 0.05, Confidence: 0.95, How: perfect}, 19},  // D = 1: freedom.md section 2
		{Design{Population: 20, Prevalence: 0.001, Confidence: 0.95, How: perfect}, 19}, // below 1/N
		{Design{Population: 100, Prevalence: 1, Confidence: 0.95, How: perfect}, 1},     // all infested
		{Design{Population: 100, Prevalence: 1, Confidence: 0.95, How: perfect, Allow: 4}, 5},
		{Design{Population: MaxAnimals, Prevalence: 0.1, Confidence: 0.95, How: perfect}, 29},
		{Design{Population: MaxAnimals, Prevalence: 1e-6, Confidence: 0.95, How: perfect}, 950_000}, // one in a million
		{Design{Prevalence: 1e-6, Confidence: 0.5, How: perfect}, 693_147},                          // ⌈ln 2 / 1e-6⌉ less what ln(1-p) adds
		{Design{Prevalence: 1e-7, Confidence: 0.99, How: perfect}, 0},
		{Design{Population: 100, Prevalence: 0.07, Confidence: 0.95, How: perfect}, 34}, // 0.07·100 is 7 infested, not 8
		{Design{Population: 10, Prevalence: 0.5, Confidence: 0.95, How: perfect, Allow: 10}, 0},
	} {
		plan, err := SampleSize(c.d)
		if c.want == 0 {
			if !isNoAnswer(err) {
				t.Errorf("%+v: %d, %v, want no answer", c.d, plan.Look, err)
			}
			continue
		}
		if err != nil || plan.Look != c.want {
			t.Errorf("%+v: %d, %v, want %d", c.d, plan.Look, err, c.want)
		}
		if plan.Confidence < c.d.Confidence-slack || plan.Confidence > 1 {
			t.Errorf("%+v: reached %v", c.d, plan.Confidence)
		}
	}
	if D := DesignInfested(100, 0.07); D != 7 {
		t.Error("7 % of 100 is", D)
	}
}

func TestDesignErrors(t *testing.T) {
	good := Design{Population: 100, Prevalence: 0.05, Confidence: 0.95, How: PerfectSeeing}
	if _, err := SampleSize(good); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(*Design){
		"population":        func(d *Design) { d.Population = -1 },
		"huge population":   func(d *Design) { d.Population = MaxAnimals + 1 },
		"prevalence 0":      func(d *Design) { d.Prevalence = 0 },
		"prevalence nan":    func(d *Design) { d.Prevalence = math.NaN() },
		"confidence 1":      func(d *Design) { d.Confidence = 1 },
		"allow":             func(d *Design) { d.Allow = -1 },
		"sensitivity":       func(d *Design) { d.How.Sensitivity = 0 },
		"useless":           func(d *Design) { d.How = Seeing{0.3, 0.7} },
		"lot specificity":   func(d *Design) { d.LotSpecificity = 1 },
		"infested alone":    func(d *Design) { d.Population, d.Infested = 0, 3 },
		"infested too many": func(d *Design) { d.Infested = 101 },
	} {
		d := good
		spoil(&d)
		if _, err := SampleSize(d); !isInput(err) {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := Approximate(d); !isInput(err) {
			t.Errorf("%s, approximations: %v", name, err)
		}
	}
	for name, f := range map[string]func() error{
		"detect N":        func() error { _, err := Detect(0, 0, 0, 0, PerfectSeeing); return err },
		"detect D":        func() error { _, err := Detect(5, 6, 1, 0, PerfectSeeing); return err },
		"detect n":        func() error { _, err := Detect(5, 1, 6, 0, PerfectSeeing); return err },
		"detect k":        func() error { _, err := Detect(5, 1, 1, -1, PerfectSeeing); return err },
		"detect how":      func() error { _, err := Detect(5, 1, 1, 0, Seeing{}); return err },
		"unlimited p":     func() error { _, err := DetectUnlimited(2, 1, 0, PerfectSeeing); return err },
		"unlimited n":     func() error { _, err := DetectUnlimited(0.1, -1, 0, PerfectSeeing); return err },
		"unlimited k":     func() error { _, err := DetectUnlimited(0.1, 1, -1, PerfectSeeing); return err },
		"unlimited how":   func() error { _, err := DetectUnlimited(0.1, 1, 0, Seeing{}); return err },
		"strata":          func() error { _, err := DetectStrata(nil, PerfectSeeing); return err },
		"stratum":         func() error { _, err := DetectStrata([]Stratum{{5, 6, 1}}, PerfectSeeing); return err },
		"groups":          func() error { _, err := DetectGroups(-1, 0.1, 1, 0.9); return err },
		"groups p":        func() error { _, err := DetectGroups(5, math.NaN(), 1, 0.9); return err },
		"pools number":    func() error { _, _, err := Pools{0, 5, PerfectSeeing}.Detect(50, 1); return err },
		"pools size":      func() error { _, _, err := Pools{1, 0, PerfectSeeing}.DetectUnlimited(0.1); return err },
		"pools overfull":  func() error { _, _, err := Pools{11, 5, PerfectSeeing}.Detect(50, 1); return err },
		"pools infested":  func() error { _, _, err := Pools{1, 5, PerfectSeeing}.Detect(50, 51); return err },
		"pools p":         func() error { _, _, err := Pools{1, 5, PerfectSeeing}.DetectUnlimited(-1); return err },
		"pools needed c":  func() error { _, err := PoolsNeeded(50, 0.1, 1, 5, PerfectSeeing); return err },
		"pools needed k":  func() error { _, err := PoolsNeeded(50, 0.1, 0.9, 0, PerfectSeeing); return err },
		"pool prevalence": func() error { _, _, err := PoolPrevalence(3, 2, 5, 0.95); return err },
		"pool prev size":  func() error { _, _, err := PoolPrevalence(1, 2, 0, 0.95); return err },
	} {
		if err := f(); !isInput(err) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Pools of one are single looks; pools seen perfectly are one big look.
func TestPoolLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		N := rapid.IntRange(1, 60).Draw(t, "N")
		D := rapid.IntRange(0, N).Draw(t, "D")
		how := seeings.Draw(t, "how")
		if how.Check() != nil {
			return
		}
		n := rapid.IntRange(1, N).Draw(t, "n")
		found, quiet, err := Pools{n, 1, how}.Detect(N, D)
		if err != nil {
			t.Fatal(err)
		}
		single, _ := Detect(N, D, n, 0, how)
		if math.Abs(found-single) > 1e-12 {
			t.Fatalf("pools of one find %v, single looks %v", found, single)
		}
		if alarm, _ := Detect(N, 0, n, 0, how); math.Abs(quiet+alarm-1) > 1e-12 {
			t.Fatal(quiet, alarm)
		}
		k := rapid.IntRange(1, N).Draw(t, "k")
		r := rapid.IntRange(1, N/k).Draw(t, "r")
		if found, _, err = (Pools{r, k, PerfectSeeing}).Detect(N, D); err != nil {
			t.Fatal(err)
		}
		if one, _ := Detect(N, D, r*k, 0, PerfectSeeing); math.Abs(found-one) > 1e-12 {
			t.Fatalf("%d perfect pools of %d find %v, one look at all %v", r, k, found, one)
		}
	})
}

// Pools against enumeration of every placing of 3 infested among 2 pools of 3
// and 2 others.
func TestPoolsByEnumeration(t *testing.T) {
	how := Seeing{0.7, 0.9}
	miss, all := 0.0, 0.0
	for config := range 1 << 8 {
		infested, first, second := 0, 0, 0
		for bit := range 8 {
			x := config >> bit & 1
			infested += x
			if bit < 3 {
				first += x
			} else if bit < 6 {
				second += x
			}
		}
		if infested != 3 {
			continue
		}
		all++
		w := 1.0
		for _, pool := range []int{first, second} {
			if pool > 0 {
				w *= 1 - how.Sensitivity
			} else {
				w *= how.Specificity
			}
		}
		miss += w
	}
	found, _, err := Pools{2, 3, how}.Detect(8, 3)
	if err != nil || all != 56 || math.Abs(found-(1-miss/all)) > 1e-14 {
		t.Error(found, 1-miss/all, all, err)
	}
}

func TestPoolsNeeded(t *testing.T) {
	for _, N := range []int{40, 100, 500} {
		for _, size := range []int{1, 2, 5, 10} {
			how := Seeing{0.8, 1}
			n, err := PoolsNeeded(N, 0.1, 0.9, size, how)
			if err != nil {
				t.Fatal(N, size, err)
			}
			D := DesignInfested(N, 0.1)
			reach := func(n int) float64 {
				f, _, err := Pools{n, size, how}.Detect(N, D)
				if err != nil {
					t.Fatal(err)
				}
				return f
			}
			if reach(n) < 0.9-slack || (n > 1 && reach(n-1) >= 0.9) {
				t.Error(N, size, n)
			}
		}
	}
	if _, err := PoolsNeeded(20, 0.05, 0.95, 5, Seeing{0.5, 1}); !isNoAnswer(err) {
		t.Error(err)
	}
	if _, err := PoolsNeeded(0, 1e-7, 0.95, 1, Seeing{0.5, 1}); !isNoAnswer(err) {
		t.Error(err)
	}
}

func TestStrata(t *testing.T) {
	how := Seeing{0.8, 1}
	// All infested in one bag of ten bags of twenty: three from each bag beats
	// thirty drawn from a wrong bag, and equals the chance in that bag.
	spread := make([]Stratum, 10)
	for i := range spread {
		spread[i] = Stratum{20, 0, 3}
	}
	spread[4].Infested = 10
	got, err := DetectStrata(spread, how)
	want, _ := Detect(20, 10, 3, 0, how)
	if err != nil || math.Abs(got-want) > 1e-13 {
		t.Error(got, want, err)
	}
	one, _ := DetectStrata([]Stratum{{20, 0, 20}, {20, 10, 0}}, how)
	if one != 0 {
		t.Error("emptying the wrong bag found something:", one)
	}
}

func FuzzSampleSize(f *testing.F) {
	f.Add(200, 0.05, 0.95, 0.8, 1.0, 0, 0.0)
	f.Add(0, 0.02, 0.99, 0.9, 0.98, 3, 0.95)
	f.Add(1, 1e-300, 0.5, 1.0, 1.0, 0, 0.5)
	f.Fuzz(func(t *testing.T, N int, p, c, se, sp float64, k int, ls float64) {
		if N > 5000 || k > 5000 {
			return // large ones are slow, not different
		}
		d := Design{Population: N, Prevalence: p, Confidence: c, How: Seeing{se, sp}, Allow: k, LotSpecificity: ls}
		plan, err := SampleSize(d)
		if err != nil {
			if !isInput(err) && !isNoAnswer(err) {
				t.Fatal(err)
			}
			return
		}
		if plan.Look < 1 || (N > 0 && plan.Look > N) || math.IsNaN(plan.Confidence) || plan.Confidence < c-slack || plan.Confidence > 1 {
			t.Fatalf("%+v gave %+v", d, plan)
		}
		if plan.LotSpecificity < 0 || plan.LotSpecificity > 1 || math.IsNaN(plan.LotSpecificity) {
			t.Fatal(plan)
		}
	})
}
