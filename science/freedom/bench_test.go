package freedom

import "testing"

// What a page asks of the largest lots. The aims: below 5 ms for 10,000
// animals, below 100 ms for 100,000.

func benchLot(b *testing.B, n int) Lot {
	l, err := NewLot(n, DefaultPrior())
	if err != nil {
		b.Fatal(err)
	}
	return l
}

func BenchmarkLook(b *testing.B) {
	see := Seeing{0.8, 0.995}
	for _, c := range []struct {
		name               string
		alive, clean, seen int
	}{
		{"200_30of_2pos", 200, 28, 2},
		{"10k_5000of_20pos", 10_000, 4980, 20},
		{"10k_all_20pos", 10_000, 9980, 20},
		{"100k_10000of_20pos", 100_000, 9980, 20},
	} {
		b.Run(c.name, func(b *testing.B) {
			lot := benchLot(b, c.alive)
			animals := append(Repeat(see.Clean(), c.clean), Repeat(see.Positive(), c.seen)...)
			for b.Loop() {
				if _, err := lot.Look(animals); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkMoreClean(b *testing.B) {
	for _, c := range []struct {
		name string
		n    int
	}{{"200", 200}, {"10k", 10_000}, {"100k", 100_000}} {
		b.Run(c.name, func(b *testing.B) {
			lot := benchLot(b, c.n)
			for b.Loop() {
				if _, err := lot.MoreClean(ClearLine(0.8), nil, Seeing{0.8, 1}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkBagRisk(b *testing.B) {
	lot := benchLot(b, 10_000)
	for b.Loop() {
		if _, err := lot.BagRisk(10); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkThin(b *testing.B) {
	for _, c := range []struct {
		name    string
		n, left int
	}{{"10k_one_death", 10_000, 9999}, {"10k_sold_100", 10_000, 9900}, {"10k_half", 10_000, 5000}, {"2k_half", 2000, 1000}} {
		b.Run(c.name, func(b *testing.B) {
			lot := benchLot(b, c.n)
			for b.Loop() {
				if _, err := lot.Thin(c.left); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkJoin(b *testing.B) {
	x, y := benchLot(b, 5000), benchLot(b, 5000)
	for b.Loop() {
		if _, err := x.Join(y); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPageQuestions(b *testing.B) {
	how := Seeing{0.8, 0.995}
	for _, n := range []struct {
		name string
		n    int
	}{{"200", 200}, {"10k", 10_000}, {"100k", 100_000}} {
		lot := benchLot(b, n.n)
		sofar := append(Repeat(how.Clean(), 19), how.Positive())
		for name, ask := range map[string]func() error{
			"FirstLook": func() error { _, err := FirstLook(n.n, 0.05, 0.95, how); return err },
			"CutPoint": func() error {
				_, err := SampleSize(Design{Population: n.n, Prevalence: 0.05, Confidence: 0.95, How: Seeing{0.9, 0.99}, LotSpecificity: 0.95})
				return err
			},
			"Judge": func() error {
				_, err := Judge(Record{Looked: 60, Positive: 1, Population: n.n, How: how, Confidence: 0.95, Prior: DefaultPrior()})
				return err
			},
			"Next":           func() error { _, err := lot.Next(ClearLine(0.8), sofar, how); return err },
			"InfestedLimits": func() error { _, _, err := InfestedLimits(n.n, 60, 1, 0.95, how); return err },
		} {
			b.Run(name+"_"+n.name, func(b *testing.B) {
				for b.Loop() {
					if err := ask(); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}

func BenchmarkBelief(b *testing.B) {
	belief, err := NewBelief(benchLot(b, 200), 11)
	if err != nil {
		b.Fatal(err)
	}
	next := func(level float64) Seeing { return Seeing{0.4 + 0.5*level, 1} }
	for b.Loop() {
		if _, err := belief.MoreClean(ClearLine(0.95), nil, next); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkAllocateHour(b *testing.B) {
	work := make([]Work, 8)
	for i := range work {
		work[i] = Work{Lot: benchLot(b, 100+50*i), How: Seeing{0.8, 1}, PerAnimal: 25, Setup: 120, Harm: 500, Hold: 80}
	}
	for b.Loop() {
		if _, err := Allocate(work, 3600); err != nil {
			b.Fatal(err)
		}
	}
}
