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
