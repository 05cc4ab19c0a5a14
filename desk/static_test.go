package desk

import (
	"fmt"
	"math"
	"math/bits"
	"testing"

	"holdfast"
	"holdfast/science/freedom"
)

// enumerate computes the chance of clear of a lot of n animals by listing every
// pattern of infestation and, for each, the likelihood of a look at the given
// animals, averaged over which animals were caught: the definition, without the
// algebra that the model uses.
func enumerate(n int, prior freedom.Prior, looked, positive int, by string) float64 {
	clear, total := 0.0, 0.0
	for level := range levels {
		full := atLevels(sensitivity[by].Unsure)[level]
		for pattern := range 1 << n {
			d := bits.OnesCount(uint(pattern))
			p := prior.Infested * betaBinomialPattern(n, d, prior.A, prior.B)
			if d == 0 {
				p += 1 - prior.Infested
			}
			like, draws := 0.0, 0.0
			for caught := range 1 << n {
				if bits.OnesCount(uint(caught)) != looked {
					continue
				}
				draws++
				y := bits.OnesCount(uint(caught & pattern))
				if positive > y {
					continue
				}
				like += binom(y, positive) * math.Pow(full, float64(positive)) * math.Pow(1-full, float64(y-positive))
			}
			w := p * like / draws
			total += w
			if d == 0 {
				clear += w
			}
		}
	}
	return clear / total
}

// betaBinomialPattern is the chance of one given pattern with d of n infested.
func betaBinomialPattern(n, d int, a, b float64) float64 {
	lg := func(x float64) float64 { v, _ := math.Lgamma(x); return v }
	return math.Exp(lg(float64(d)+a) + lg(float64(n-d)+b) - lg(float64(n)+a+b) + lg(a+b) - lg(a) - lg(b))
}

func binom(n, k int) float64 {
	x := 1.0
	for i := range k {
		x *= float64(n-i) / float64(i+1)
	}
	return x
}

func TestStaticAgainstEnumeration(t *testing.T) {
	cases := 0
	for n := 1; n <= 7; n++ {
		for looked := 1; looked <= n; looked++ {
			for positive := range min(looked, 2) + 1 {
				l := lotWithLook(t, n, looked, positive, holdfast.ByLens)
				got, err := Static{}.Assess(Case{Lot: l, BagSize: 10})
				if err != nil {
					t.Fatal(err)
				}
				want := enumerate(n, priors["rostrum_worm"], looked, positive, holdfast.ByLens)
				if positive > 0 {
					want = 0 // no animal is recorded positive without the worm
				}
				if x := got[0].Figure.Chance; math.Abs(x-want) > 1e-9 {
					t.Errorf("%d of %d looked at of %d: chance %v, by enumeration %v", positive, looked, n, x, want)
				}
				cases++
			}
		}
	}
	if cases < 50 {
		t.Fatalf("%d cases were compared", cases)
	}
}

func lotWithLook(t *testing.T, n, looked, positive int, by string) *holdfast.Lot {
	t.Helper()
	p := &holdfast.Inspection{By: by, Random: true, LookedFor: []string{"rostrum_worm", "segmented_worm", "green_growth"}}
	for i := range looked {
		a := holdfast.Animal{No: i + 1, Seen: holdfast.Sides}
		if i < positive {
			a.Findings = []holdfast.Finding{{Condition: "rostrum_worm"}}
		}
		p.Animals = append(p.Animals, a)
	}
	return lotOf(t, &holdfast.LotOpened{Declared: n, Stock: holdfast.Stock{Consignment: "C", Strain: "x", Species: "neocaridina_davidi"}}, p)
}

func lotOf(t testing.TB, payloads ...holdfast.Payload) *holdfast.Lot {
	t.Helper()
	var events []holdfast.Event
	for i, p := range payloads {
		e := holdfast.Entry{ID: holdfast.ID(fmt.Sprintf("e%d", i)), OccurredAt: holdfast.Micros(1_780_000_000_000_000 + i*86_400_000_000), Lot: "A", Site: "s", Who: "Jo", Seq: int64(i + 1)}
		if err := e.Encode(p); err != nil {
			t.Fatal(err)
		}
		ev, err := e.Decode()
		if err != nil {
			t.Fatal(err)
		}
		events = append(events, ev)
	}
	return holdfast.FoldLot("A", events)
}

// Removing the animals with signs leaves the others as they are, and deaths at
// random never make a lot less likely clear.
func TestStaticRemovalsAndDeaths(t *testing.T) {
	stock := holdfast.Stock{Consignment: "C", Strain: "x", Species: "neocaridina_davidi"}
	look := lotWithLook(t, 20, 10, 2, holdfast.ByLens).Events[1].Payload
	chance := func(extra ...holdfast.Payload) (float64, float64) {
		a, err := Static{}.Assess(Case{Lot: lotOf(t, append([]holdfast.Payload{&holdfast.LotOpened{Stock: stock, Declared: 20}, look}, extra...)...), BagSize: 5})
		if err != nil {
			t.Fatal(err)
		}
		return a[0].Figure.Chance, a[0].Figure.BagRisk
	}
	with, bagWith := chance()
	without, bagWithout := chance(&holdfast.Removal{Count: 2, Positive: true, Reason: "had worms"})
	if with != 0 || without <= 0 || bagWithout >= bagWith {
		t.Errorf("chance %v and bag %v with the two, %v and %v without them", with, bagWith, without, bagWithout)
	}
	dead, _ := chance(&holdfast.Removal{Count: 2, Positive: true, Reason: "had worms"}, &holdfast.Death{Count: 5})
	if dead < without {
		t.Errorf("five random deaths took the chance from %v to %v", without, dead)
	}
}

// With a contradiction in the books the figure is withheld and says why.
func TestStaticSaysWhenTheBooksContradict(t *testing.T) {
	l := lotOf(t, &holdfast.LotOpened{Declared: 5, Stock: holdfast.Stock{Consignment: "C", Strain: "x", Species: "neocaridina_davidi"}},
		&holdfast.Death{Count: 9}, &holdfast.Births{Count: 3})
	a, err := Static{}.Assess(Case{Lot: l, BagSize: 10})
	if err != nil {
		t.Fatal(err)
	}
	for _, x := range a {
		f := x.Figure
		if math.IsNaN(f.Chance) || f.Chance < 0 || f.Chance > 1 || math.IsNaN(f.BagRisk) || f.BagRisk < 0 || f.BagRisk > 1 {
			t.Errorf("figure %+v", f)
		}
	}
}
