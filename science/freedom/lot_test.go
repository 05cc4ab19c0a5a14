package freedom

import (
	"math"
	"math/big"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mathext"
	"pgregory.net/rapid"
)

var (
	shares = rapid.OneOf(rapid.Float64Range(leastChance, 1), rapid.SampledFrom([]float64{0, 1, 0.5, 1e-6, 1 - 1e-6}))
	priors = rapid.Custom(func(t *rapid.T) Prior {
		return Prior{shares.Draw(t, "infested"), rapid.Float64Range(0.05, 20).Draw(t, "a"), rapid.Float64Range(0.05, 20).Draw(t, "b")}
	})
	chances = rapid.Custom(func(t *rapid.T) Chance {
		c := Chance{shares.Draw(t, "ifInfested"), shares.Draw(t, "ifNot")}
		if c.check() != nil {
			c = Chance{0.25, 0.75}
		}
		return c
	})
	seeings = rapid.Custom(func(t *rapid.T) Seeing {
		s := Seeing{rapid.Float64Range(0.1, 1).Draw(t, "se"), 1}
		if rapid.Bool().Draw(t, "mistakes") {
			s.Specificity = rapid.Float64Range(0.95, 1).Draw(t, "sp")
		}
		return s
	})
)

func TestLookAgainstRational(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 40).Draw(t, "alive")
		p := priors.Draw(t, "prior")
		kinds := rapid.SliceOfN(chances, 1, 4).Draw(t, "kinds")
		animals := rapid.SliceOfN(rapid.SampledFrom(kinds), 0, n).Draw(t, "animals")
		before := slowLot(n, p)
		joint := before.look(animals)
		sum := new(big.Rat)
		for _, x := range joint {
			sum.Add(sum, x)
		}
		lot := mustLot(t, n, p)
		sameLot(t, "prior", lot, before)
		got, err := lot.Look(animals)
		if sum.Sign() == 0 {
			if !isNoAnswer(err) {
				t.Fatalf("impossible records gave %v", err)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		sameLot(t, "posterior", got, joint)
		ev, _ := sum.Float64()
		close12(t, "evidence", math.Exp(got.LogEvidence()), ev, 1e-10)
		shuffled := slices.Clone(animals)
		slices.Reverse(shuffled)
		if again, _ := lot.Look(shuffled); !slices.Equal(again.mass, got.mass) {
			t.Fatal("the order of animals changed the posterior")
		}
	})
}

// Brute force over every configuration of a small lot, with nothing shared
// with the polynomials: draws the catch by enumeration too.
func TestLookByEnumeration(t *testing.T) {
	const n = 6
	p := Prior{0.7, 0.8, 2.5}
	animals := []Chance{{0.2, 1}, {0.8, 0.05}, {0.6, 0.9}}
	want := make([]float64, n+1)
	lot := mustLot(t, n, p)
	cases := 0
	for i := range n {
		for j := range n {
			for k := range n {
				if i == j || j == k || i == k {
					continue // an ordered catch of three
				}
				for config := range 1 << n {
					d, w := 0, 1.0
					for bit := range n {
						d += config >> bit & 1
					}
					for c, animal := range []int{i, j, k} {
						if config>>animal&1 == 1 {
							w *= animals[c].IfInfested
						} else {
							w *= animals[c].IfNotInfested
						}
					}
					ways, _ := comb(n, d).Float64()
					want[d] += lot.P(d) / ways * w
					cases++
				}
			}
		}
	}
	sum := 0.0
	for _, w := range want {
		sum += w
	}
	got, err := lot.Look(animals)
	if err != nil || cases != 120*64 {
		t.Fatal(err, cases)
	}
	for d, w := range want {
		if math.Abs(got.P(d)-w/sum) > 1e-13 {
			t.Errorf("P(%d) = %v, enumeration says %v", d, got.P(d), w/sum)
		}
	}
}

func TestClosedForms(t *testing.T) {
	// A perfect look at everything settles the matter.
	lot := mustLot(t, 200, DefaultPrior())
	after, err := lot.Look(Repeat(PerfectSeeing.Clean(), 200))
	if err != nil || after.Clear() != 1 || after.Infested() != 0 {
		t.Error(after.Clear(), err)
	}
	// Nothing seen, nothing learned.
	if after, err = lot.Look(Repeat(Chance{1, 1}, 77)); err != nil || math.Abs(after.Clear()-lot.Clear()) > 1e-14 {
		t.Error(after.Clear(), err)
	}
	// D uniform on 0..N: after n clean of N the chance of clear is (n+1)/(N+1).
	uniform := mustLot(t, 99, Prior{1, 1, 1})
	if after, err = uniform.Look(Repeat(PerfectSeeing.Clean(), 49)); err != nil || math.Abs(after.Clear()-0.5) > 1e-14 {
		t.Error(after.Clear(), err)
	}
	// One animal, sensitivity s: Bayes on paper.
	one := mustLot(t, 1, Prior{0.4, 1, 1})
	if after, err = one.Look([]Chance{Seeing{0.8, 1}.Clean()}); err != nil || math.Abs(after.Clear()-0.8/(0.8+0.2*0.2)) > 1e-15 {
		t.Error(after.Clear(), err)
	}
	if got := (Lot{}).Clear(); got != 1 {
		t.Error("an empty lot is clear, got", got)
	}
}

func TestTakeEqualsLookAndRandomRemoval(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "alive")
		lot := mustLot(t, n, priors.Draw(t, "prior"))
		animals := rapid.SliceOfN(chances, 0, n).Draw(t, "animals")
		// Taking animals of which nothing was seen is thinning.
		taken, err := lot.Take(Repeat(Chance{1, 1}, len(animals)))
		if err != nil {
			t.Fatal(err)
		}
		thinned, err := lot.Thin(n - len(animals))
		if err != nil {
			t.Fatal(err)
		}
		for d := range n - len(animals) + 1 {
			if math.Abs(taken.P(d)-thinned.P(d)) > 1e-13 {
				t.Fatalf("P(%d): taken %v, thinned %v", d, taken.P(d), thinned.P(d))
			}
		}
		// Looking and taking foresee the records equally well.
		a, errA := lot.Look(animals)
		b, errB := lot.Take(animals)
		if isNoAnswer(errA) != isNoAnswer(errB) {
			t.Fatal(errA, errB)
		}
		if errA == nil && math.Abs(a.LogEvidence()-b.LogEvidence()) > 1e-9 {
			t.Fatal(a.LogEvidence(), b.LogEvidence())
		}
	})
}

func TestRemovePositivesAgreesWithTake(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 60).Draw(t, "alive")
		lot := mustLot(t, n, Prior{0.9, 0.8, 2})
		k := rapid.IntRange(1, n).Draw(t, "positive")
		see := Seeing{rapid.Float64Range(0.2, 0.99).Draw(t, "se"), 1}
		clean := Repeat(see.Clean(), rapid.IntRange(0, n-k).Draw(t, "clean"))
		looked, err := lot.Look(append(Repeat(see.Positive(), k), clean...))
		if err != nil {
			t.Fatal(err)
		}
		a, err := looked.RemovePositives(k)
		if err != nil {
			t.Fatal(err)
		}
		b, err := lot.Take(Repeat(see.Positive(), k))
		if err != nil {
			t.Fatal(err)
		}
		if b, err = b.Look(clean); err != nil {
			t.Fatal(err)
		}
		for d := range n - k + 1 {
			close12(t, "P(d)", a.P(d), b.P(d), 1e-10)
		}
	})
	lot := mustLot(t, 50, DefaultPrior())
	if _, err := lot.RemovePositives(1); !isInput(err) {
		t.Error("removing an unseen positive gave", err)
	}
}

func TestThinAgainstRational(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 40).Draw(t, "alive")
		p := priors.Draw(t, "prior")
		m := rapid.IntRange(0, n).Draw(t, "left")
		got, err := mustLot(t, n, p).Thin(m)
		if err != nil {
			t.Fatal(err)
		}
		sameLot(t, "thinned", got, slowLot(n, p).thin(m))
		// A thinned beta-binomial is a beta-binomial.
		sameLot(t, "prior of the smaller lot", got, slowLot(m, p))
	})
}

func TestBagRisk(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "alive")
		p := priors.Draw(t, "prior")
		m := rapid.IntRange(1, n).Draw(t, "bag")
		lot := mustLot(t, n, p)
		risk, err := lot.BagRisk(m)
		if err != nil {
			t.Fatal(err)
		}
		close12(t, "bag risk", risk, slowLot(n, p).bagRisk(m), 1e-12)
		bags, err := lot.BuyersAtRisk(m)
		if err != nil {
			t.Fatal(err)
		}
		if all, _ := lot.BagRisk(n); math.Abs(all-bags.Any) > 1e-13 {
			t.Fatalf("the whole lot as one bag: %v, not clear: %v", all, bags.Any)
		}
		if bags.Expected < bags.Any-1e-13 || bags.Expected > float64(bags.Number)*risk+1e-13 {
			t.Fatalf("expected carrying bags %v, any %v, number %d, risk %v", bags.Expected, bags.Any, bags.Number, risk)
		}
	})
	// 1 infested of 200, bags of 10: one of 20 bags.
	l := Lot{mass: make([]float64, 201)}
	l.mass[1] = 1
	if bags, _ := l.BuyersAtRisk(10); bags.Number != 20 || math.Abs(bags.Expected-1) > 1e-13 || math.Abs(bags.Risk-0.05) > 1e-15 {
		t.Error(bags)
	}
}

func TestJoin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := mustLot(t, rapid.IntRange(0, 30).Draw(t, "n"), priors.Draw(t, "prior"))
		b := mustLot(t, rapid.IntRange(0, 30).Draw(t, "m"), priors.Draw(t, "other"))
		j, err := a.Join(b)
		if err != nil {
			t.Fatal(err)
		}
		close12(t, "clear", j.Clear(), a.Clear()*b.Clear(), 1e-13)
		close12(t, "mean", j.Mean(), a.Mean()+b.Mean(), 1e-12)
		close12(t, "sum", sum(j.mass), 1, 1e-13)
	})
}

func sum(xs []float64) float64 {
	s := 0.0
	for _, x := range xs {
		s += x
	}
	return s
}

func TestIntroduceAgainstRational(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 25).Draw(t, "alive")
		p := priors.Draw(t, "prior")
		i := shares.Draw(t, "chance")
		share := rapid.Float64Range(0.01, 0.99).Draw(t, "share")
		got, err := mustLot(t, n, p).Introduce(i, share)
		if err != nil {
			t.Fatal(err)
		}
		before := slowLot(n, p)
		b := rat((1 - share) / share)
		want := make(exact, n+1)
		for d := range want {
			want[d] = mul(before[d], rat(1-i))
		}
		want[n].Add(want[n], mul(before[n], rat(i)))
		for d, m := range before[:n] {
			free := n - d
			any := new(big.Rat).Sub(big.NewRat(1, 1), slowBetaBinomial(free, 0, big.NewRat(1, 1), b))
			for x := 1; x <= free; x++ {
				w := mul(rat(i), m, slowBetaBinomial(free, x, big.NewRat(1, 1), b))
				want[d+x].Add(want[d+x], w.Quo(w, any))
			}
		}
		sameLot(t, "after introduction", got, want)
		if n > 0 {
			f, _ := before[0].Float64()
			close12(t, "clear", got.Clear(), f*(1-i), 1e-12)
		}
	})
}

func TestRecountAndBirths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "alive")
		lot := mustLot(t, n, priors.Draw(t, "prior"))
		more := rapid.IntRange(0, 30).Draw(t, "more")
		r, err := lot.Recount(n + more)
		if err != nil {
			t.Fatal(err)
		}
		close12(t, "clear", r.Clear(), lot.Clear(), 1e-12)
		close12(t, "share", r.Mean()/float64(n+more), lot.Mean()/float64(n), 1e-11)
		b, err := lot.Births(more)
		if err != nil {
			t.Fatal(err)
		}
		if b.Clear() != lot.Clear() || b.Mean() != lot.Mean() || b.Alive() != n+more {
			t.Fatal("births changed the infested")
		}
	})
}

func TestLookWeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 25).Draw(t, "alive")
		p := priors.Draw(t, "prior")
		weak := rapid.IntRange(1, n).Draw(t, "weak")
		animals := rapid.SliceOfN(chances, 0, weak).Draw(t, "animals")
		odds := rapid.Float64Range(0.1, 20).Draw(t, "odds")
		lot := mustLot(t, n, p)
		got, err := lot.LookWeak(weak, odds, animals)
		// From the definition: x of D infested are among the weak with weight
		// C(w,x) C(N-w,D-x) o^x, and the catch is random among the weak.
		c := slowProduct(animals)
		before := slowLot(n, p)
		want, total := make(exact, n+1), new(big.Rat)
		for d := range want {
			num, den := new(big.Rat), new(big.Rat)
			power := big.NewRat(1, 1)
			for x := 0; x <= min(weak, d); x++ {
				w := mul(comb(weak, x), comb(n-weak, d-x), power)
				power = mul(power, rat(odds))
				den.Add(den, w)
				l := new(big.Rat)
				for j := range c {
					l.Add(l, mul(comb(weak-len(animals), x-j), c[j]))
				}
				num.Add(num, mul(w, l, new(big.Rat).Inv(comb(weak, x))))
			}
			want[d] = mul(before[d], num, den.Inv(den))
			total.Add(total, want[d])
		}
		if total.Sign() == 0 {
			if !isNoAnswer(err) {
				t.Fatal(err)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		sameLot(t, "weak", got, want)
		ev, _ := total.Float64()
		close12(t, "evidence", math.Exp(got.LogEvidence()), ev, 1e-9)
	})
}

func TestFound(t *testing.T) {
	lot := mustLot(t, 100, DefaultPrior())
	same, err := lot.Found(0)
	if err != nil || math.Abs(same.Clear()-lot.Clear()) > 1e-15 {
		t.Error("clean animals picked by eye changed the lot", err)
	}
	got, err := lot.Found(3)
	if err != nil || got.Clear() != 0 || got.Quantile(0) != 0 || got.P(2) != 0 || got.P(3) == 0 {
		t.Error(got.Clear(), err)
	}
	clear, _ := lot.Look(Repeat(PerfectSeeing.Clean(), 100))
	if _, err := clear.Found(1); !isNoAnswer(err) {
		t.Error("found one in a surely clear lot:", err)
	}
}

func TestMoreCleanIsTheSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "alive")
		lot := mustLot(t, n, priors.Draw(t, "prior"))
		see := seeings.Draw(t, "seeing")
		if see.Check() != nil {
			return
		}
		line := ClearLine(rapid.Float64Range(0.5, 0.99).Draw(t, "line"))
		if rapid.Bool().Draw(t, "bag") {
			line = BagLine(rapid.IntRange(1, 12).Draw(t, "m"), rapid.Float64Range(0.001, 0.2).Draw(t, "risk"))
		}
		var sofar []Chance
		for range rapid.IntRange(0, n/2).Draw(t, "sofar") {
			c := see.Clean()
			if rapid.IntRange(0, 9).Draw(t, "sign") == 0 {
				c = see.Positive()
			}
			if c.check() != nil {
				return
			}
			sofar = append(sofar, c)
		}
		want := -1
		for m := 0; m <= n-len(sofar); m++ {
			after, err := lot.Look(append(Repeat(see.Clean(), m), sofar...))
			if err == nil && line.Met(after) {
				want = m
				break
			}
		}
		got, err := lot.MoreClean(line, sofar, see)
		switch {
		case want < 0 && !isNoAnswer(err):
			t.Fatalf("no number does, yet got %d, %v", got, err)
		case want >= 0 && (err != nil || got != want):
			t.Fatalf("got %d, %v, want %d", got, err, want)
		}
	})
}

func TestMoreCleanOfAKnownCarrier(t *testing.T) {
	lot := mustLot(t, 100, DefaultPrior())
	carrier, err := lot.Found(1)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := carrier.MoreClean(ClearLine(0.95), nil, PerfectSeeing); !isNoAnswer(err) {
		t.Error("a known carrier was cleared by looking:", err)
	}
	m, err := carrier.MoreClean(BagLine(10, 0.2), nil, Seeing{0.8, 1})
	if err != nil || m <= 0 {
		t.Error(m, err)
	}
}

func TestAllCleanAndIfOnePositive(t *testing.T) {
	lot := mustLot(t, 80, DefaultPrior())
	see := Seeing{0.8, 0.99}
	clean, err := lot.AllClean(30, see)
	if err != nil {
		t.Fatal(err)
	}
	want := 0.0
	for d := range 81 { // P(all clean | D) by the hypergeometric sum
		pmf := make([]float64, 31)
		lo, hi := hypergeometric(pmf, 80, d, 30)
		for y := lo; y <= hi; y++ {
			want += lot.P(d) * pmf[y] * math.Pow(0.2, float64(y)) * math.Pow(0.99, float64(30-y))
		}
	}
	if math.Abs(clean-want) > 1e-13 {
		t.Error(clean, want)
	}
	if none, err := (Lot{mass: []float64{0, 0, 1}}).AllClean(1, PerfectSeeing); none != 0 || err != nil {
		t.Error(none, err)
	}
	sure, err := lot.IfOnePositive(30, Seeing{0.8, 1})
	if err != nil || sure.Clear() != 0 {
		t.Error(sure.Clear(), err)
	}
	maybe, err := lot.IfOnePositive(30, see)
	none, _ := lot.Look(Repeat(see.Clean(), 30))
	if err != nil || maybe.Clear() <= 0 || maybe.Clear() >= none.Clear() {
		t.Error(maybe.Clear(), err)
	}
}

// Laws of every distribution that any history leads to.
func TestHistoryLaws(t *testing.T) { rapid.Check(t, historyLaws) }

func FuzzHistoryLaws(f *testing.F) { f.Fuzz(rapid.MakeFuzz(historyLaws)) }

func historyLaws(t *rapid.T) {
	lot := mustLot(t, rapid.IntRange(0, 300).Draw(t, "alive"), priors.Draw(t, "prior"))
	for range rapid.IntRange(1, 12).Draw(t, "events") {
		n := lot.Alive()
		var next Lot
		var err error
		switch rapid.IntRange(0, 7).Draw(t, "event") {
		case 0, 1:
			next, err = lot.Look(rapid.SliceOfN(chances, 0, min(n, 20)).Draw(t, "animals"))
		case 2:
			next, err = lot.Thin(rapid.IntRange(0, n).Draw(t, "left"))
		case 3:
			next, err = lot.Introduce(shares.Draw(t, "i"), rapid.Float64Range(0.01, 0.9).Draw(t, "share"))
		case 4:
			next, err = lot.Births(rapid.IntRange(0, 50).Draw(t, "born"))
		case 5:
			next, err = lot.Recount(rapid.IntRange(0, n+20).Draw(t, "count"))
		case 6:
			next, err = lot.Take(rapid.SliceOfN(chances, 0, min(n, 5)).Draw(t, "taken"))
		case 7:
			next, err = lot.Found(rapid.IntRange(0, min(n, 3)).Draw(t, "found"))
		}
		if err != nil {
			if !isNoAnswer(err) && !isInput(err) {
				t.Fatal(err)
			}
			continue
		}
		lot = next
		if s := sum(lot.dist()); math.Abs(s-1) > 1e-12 {
			t.Fatalf("sums to %v", s)
		}
		for d, p := range lot.dist() {
			if p < 0 || p > 1+1e-12 || math.IsNaN(p) {
				t.Fatalf("P(%d) = %v", d, p)
			}
		}
		if c, i := lot.Clear(), lot.Infested(); math.Abs(c+i-1) > 1e-12 {
			t.Fatal(c, i)
		}
		if m := lot.Mean(); m < 0 || m > float64(lot.Alive())*(1+1e-12) {
			t.Fatal("mean", m)
		}
		if lo, hi := lot.Quantile(0.05), lot.Quantile(0.95); lo > hi || hi > lot.Alive() {
			t.Fatal(lo, hi)
		}
		last := 0.0
		for m := range lot.Alive() + 1 {
			r, err := lot.BagRisk(m)
			if err != nil || r < last-1e-13 || r > 1 {
				t.Fatalf("bag of %d: %v after %v, %v", m, r, last, err)
			}
			last = r
		}
	}
}

// More clean animals never lower the chance of clear, and a better look never
// makes a clean animal prove less.
func TestCleanAnimalsHelp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 200).Draw(t, "alive")
		lot := mustLot(t, n, priors.Draw(t, "prior"))
		k := rapid.IntRange(0, n-1).Draw(t, "looked")
		se := rapid.Float64Range(0.01, 0.9).Draw(t, "se")
		base, e1 := lot.Look(Repeat(Seeing{se, 1}.Clean(), k))
		more, e2 := lot.Look(Repeat(Seeing{se, 1}.Clean(), k+1))
		better, e3 := lot.Look(Repeat(Seeing{se + 0.1, 1}.Clean(), k))
		if e1 != nil || e2 != nil || e3 != nil {
			t.Fatal(e1, e2, e3)
		}
		if more.Clear() < base.Clear()-1e-13 || better.Clear() < base.Clear()-1e-13 {
			t.Fatal(base.Clear(), more.Clear(), better.Clear())
		}
	})
}

func TestBadInput(t *testing.T) {
	lot := mustLot(t, 10, DefaultPrior())
	nan := math.NaN()
	for name, f := range map[string]func() error{
		"negative lot":       func() error { _, err := NewLot(-1, DefaultPrior()); return err },
		"huge lot":           func() error { _, err := NewLot(MaxAnimals+1, DefaultPrior()); return err },
		"prior share":        func() error { _, err := NewLot(5, Prior{nan, 1, 1}); return err },
		"prior a":            func() error { _, err := NewLot(5, Prior{0.5, 0, 1}); return err },
		"prior b":            func() error { _, err := NewLot(5, Prior{0.5, 1, math.Inf(1)}); return err },
		"looked too many":    func() error { _, err := lot.Look(Repeat(Chance{1, 1}, 11)); return err },
		"chance nan":         func() error { _, err := lot.Look([]Chance{{nan, 1}}); return err },
		"chance tiny":        func() error { _, err := lot.Look([]Chance{{1e-31, 1}}); return err },
		"impossible animal":  func() error { _, err := lot.Look([]Chance{{0, 0}}); return err },
		"took too many":      func() error { _, err := lot.Take(Repeat(Chance{1, 1}, 11)); return err },
		"took nonsense":      func() error { _, err := lot.Take([]Chance{{2, 1}}); return err },
		"thinned up":         func() error { _, err := lot.Thin(11); return err },
		"introduced nan":     func() error { _, err := lot.Introduce(nan, 0.5); return err },
		"introduced share 1": func() error { _, err := lot.Introduce(0.1, 1); return err },
		"negative births":    func() error { _, err := lot.Births(-1); return err },
		"recount of nothing": func() error { _, err := (Lot{}).Recount(5); return err },
		"bag too large":      func() error { _, err := lot.BagRisk(11); return err },
		"bag of none":        func() error { _, err := lot.BuyersAtRisk(0); return err },
		"line of one":        func() error { _, err := lot.MoreClean(ClearLine(1), nil, PerfectSeeing); return err },
		"useless look":       func() error { _, err := lot.MoreClean(ClearLine(0.9), nil, Seeing{0.5, 0.5}); return err },
		"weak too few":       func() error { _, err := lot.LookWeak(1, 2, Repeat(Chance{1, 1}, 2)); return err },
		"weak odds":          func() error { _, err := lot.LookWeak(5, 0, nil); return err },
		"found too many":     func() error { _, err := lot.Found(11); return err },
		"levels":             func() error { _, err := NewBelief(lot, 0); return err },
		"unsure":             func() error { _, err := (Unsure{0, 1}).At(0.5); return err },
		"level":              func() error { _, err := (Unsure{1, 1}).At(1); return err },
	} {
		if err := f(); !isInput(err) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Far outside float64: the twin would need minutes, the closed form does not.
// With D uniform, n clean seen with sensitivity s give
// P(D=0) = 1 / Σ_D E[(1-s)^Y], and Σ_D E[(1-s)^Y] = (N+1) E over p of (1-sp)^n.
func TestLargeLotAgainstClosedForm(t *testing.T) {
	const n, looked, s = 10_000, 6_000, 0.9
	lot := mustLot(t, n, Prior{1, 1, 1})
	after, err := lot.Look(Repeat(Seeing{s, 1}.Clean(), looked))
	if err != nil {
		t.Fatal(err)
	}
	// ∫(1-sp)^n dp = (1-(1-s)^(n+1)) / (s(n+1))
	want := 1 / ((n + 1) * (1 - math.Pow(1-s, looked+1)) / (s * (looked + 1)))
	if got := after.Clear(); math.Abs(got/want-1) > 1e-11 {
		t.Errorf("clear %v, closed form %v", got, want)
	}
	// Contradicting evidence at odds beyond 1e-1000 still gives a distribution.
	before, err := NewLot(n, Prior{1, 1, 1})
	if err != nil {
		t.Fatal(err)
	}
	if before, err = before.Found(9_000); err != nil {
		t.Fatal(err)
	}
	odd, err := before.Look(append(Repeat(Seeing{0.95, 1}.Clean(), 5000), Repeat(Chance{0.5, 0.5}, 3)...))
	if err != nil || math.Abs(sum(odd.mass)-1) > 1e-12 || odd.Clear() != 0 || odd.Quantile(0.5) < 9000 {
		t.Error(err, odd.Quantile(0.5))
	}
}

func TestSeeingTimes(t *testing.T) {
	if got := (Seeing{0.8, 0.99}).Times(2); math.Abs(got.Sensitivity-0.96) > 1e-15 || math.Abs(got.Specificity-0.9801) > 1e-15 {
		t.Error(got)
	}
	if got := (Seeing{1, 1}).Times(3); got != PerfectSeeing {
		t.Error(got)
	}
	if got := (Seeing{0.5, 1}).Times(0); got != (Seeing{0.5, 1}) {
		t.Error(got)
	}
}

// The shape of the default prior has the limits that DefaultShare states, to the
// digits in which they are written.
func TestDefaultPriorHasItsStatedLimits(t *testing.T) {
	p := DefaultPrior()
	for _, c := range []struct{ at, want, half float64 }{{0.05, DefaultShare.Low, 0.0005}, {0.95, DefaultShare.High, 0.005}} {
		if got := mathext.InvRegIncBeta(p.A, p.B, c.at); math.Abs(got-c.want) > c.half {
			t.Errorf("quantile %g of Beta(%g, %g) is %.4f, stated %g", c.at, p.A, p.B, got, c.want)
		}
	}
	if p.Infested != DefaultInfested.Value {
		t.Errorf("the chance of an infested source is %g, stated %g", p.Infested, DefaultInfested.Value)
	}
}
