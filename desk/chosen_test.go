package desk

import (
	"math"
	"math/bits"
	"testing"

	"pgregory.net/rapid"

	"holdfast"
	"holdfast/science/freedom"
)

var shrimp = holdfast.Stock{Consignment: "C", Strain: "x", Species: "neocaridina_davidi"}

// lookAt returns a clean look at n animals from all sides, changed as wanted.
func lookAt(n, positive int, change func(*holdfast.Inspection)) *holdfast.Inspection {
	p := &holdfast.Inspection{By: holdfast.ByLens, Random: true, LookedFor: []string{"rostrum_worm"}}
	for i := range n {
		a := holdfast.Animal{No: i + 1, Seen: holdfast.Sides}
		if i < positive {
			a.Findings = []holdfast.Finding{{Condition: "rostrum_worm"}}
		}
		p.Animals = append(p.Animals, a)
	}
	if change != nil {
		change(p)
	}
	return p
}

// clearAfter returns the chance of clear of the rostrum worm.
func clearAfter(t testing.TB, alive int, sight eyes, looks ...holdfast.Payload) holdfast.Figure {
	t.Helper()
	a, err := Static{}.Assess(Case{Lot: lotOf(t, append([]holdfast.Payload{&holdfast.LotOpened{Stock: shrimp, Declared: alive}}, looks...)...), BagSize: 5, Sight: sight})
	if err != nil {
		t.Fatal(err)
	}
	if a[0].Why != "" {
		t.Fatal(a[0].Why)
	}
	return a[0].Figure
}

func weakFirst(among int) func(*holdfast.Inspection) {
	return func(p *holdfast.Inspection) {
		p.Random, p.Chosen, p.Among = false, holdfast.ChosenWeak, among
	}
}

func asCaught(among int) func(*holdfast.Inspection) {
	return func(p *holdfast.Inspection) {
		p.Random, p.Chosen, p.Among = false, holdfast.ChosenAsCaught, among
	}
}

// What is not random never counts as random: animals caught as they came count
// on the lower reading, weak ones by odds of their own.
func TestChoicesAreNeverCountedAsRandom(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		alive := rapid.IntRange(20, 120).Draw(rt, "alive")
		n := rapid.IntRange(1, alive/2).Draw(rt, "looked")
		from := rapid.IntRange(n, alive-1).Draw(rt, "among")
		prior := clearAfter(t, alive, nil).Chance
		random := clearAfter(t, alive, nil, lookAt(n, 0, nil)).Chance
		caught := clearAfter(t, alive, nil, lookAt(n, 0, asCaught(from))).Chance
		unknown := clearAfter(t, alive, nil, lookAt(n, 0, asCaught(0))).Chance
		weak := clearAfter(t, alive, nil, lookAt(n, 0, weakFirst(from))).Chance
		picked := clearAfter(t, alive, nil, lookAt(n, 0, func(p *holdfast.Inspection) { p.Random = false })).Chance
		if !(caught < random && caught > prior) {
			rt.Fatalf("as caught %v, random %v, before %v", caught, random, prior)
		}
		if unknown > caught+1e-12 {
			rt.Fatalf("not knowing how many could be caught proves more (%v) than knowing (%v)", unknown, caught)
		}
		if weak <= prior || weak == random {
			rt.Fatalf("weak ones %v, random %v, before %v", weak, random, prior)
		}
		if math.Abs(picked-prior) > 1e-12 {
			rt.Fatalf("an old entry of picked animals moved the chance from %v to %v", prior, picked)
		}
	})
}

// All animals looked at leave nothing to choose.
func TestChoiceOfAllIsALookAtAll(t *testing.T) {
	all := clearAfter(t, 30, nil, lookAt(30, 0, func(p *holdfast.Inspection) { p.Chosen = holdfast.ChosenAll })).Chance
	for name, change := range map[string]func(*holdfast.Inspection){"as caught": asCaught(30), "weak": weakFirst(30)} {
		if got := clearAfter(t, 30, nil, lookAt(30, 0, change)).Chance; math.Abs(got-all) > 1e-9 {
			t.Errorf("%s, all of them: %v, want %v", name, got, all)
		}
	}
	if f := clearAfter(t, 30, nil, lookAt(12, 2, weakFirst(14))); f.Chance != 0 || f.Positive != 2 {
		t.Errorf("two weak ones with worms: %+v", f)
	}
}

func TestPicturesOfSeveralProveLessThanSingleLooks(t *testing.T) {
	pictures := clearAfter(t, 60, nil, lookAt(6, 0, func(p *holdfast.Inspection) { p.Pool = 5 }))
	single := clearAfter(t, 60, nil, lookAt(30, 0, nil))
	few := clearAfter(t, 60, nil, lookAt(6, 0, nil))
	if !(pictures.Chance < single.Chance && pictures.Chance > few.Chance) || pictures.Looked != 30 {
		t.Errorf("6 pictures of 5: %v of %d, 30 single: %v, 6 single: %v", pictures.Chance, pictures.Looked, single.Chance, few.Chance)
	}
	if f := clearAfter(t, 60, nil, lookAt(6, 2, func(p *holdfast.Inspection) { p.Pool = 5 })); f.Chance != 0 || f.Positive != 2 {
		t.Errorf("two pictures with worms: %+v", f)
	}
}

// Second looks at the same animals, against listing every pattern.
func TestSecondLookAgainstEnumeration(t *testing.T) {
	const n = 6
	for k := 1; k <= n; k++ {
		first := lookAt(k, 0, func(p *holdfast.Inspection) { p.By = holdfast.ByEye })
		second := lookAt(k, 0, func(p *holdfast.Inspection) { p.Random, p.Chosen, p.Second = false, holdfast.ChosenAgain, "e1" })
		got := clearAfter(t, n, nil, first, second)
		prior := priors["rostrum_worm"]
		clear, total := 0.0, 0.0
		for level := range levels {
			miss := (1 - atLevels(sensitivity[holdfast.ByEye].Unsure)[level]) * (1 - atLevels(sensitivity[holdfast.ByLens].Unsure)[level])
			for pattern := range 1 << n {
				d := bits.OnesCount(uint(pattern))
				p := prior.Infested * betaBinomialPattern(n, d, prior.A, prior.B)
				if d == 0 {
					p += 1 - prior.Infested
				}
				like, draws := 0.0, 0.0
				for caught := range 1 << n {
					if bits.OnesCount(uint(caught)) == k {
						draws++
						like += math.Pow(miss, float64(bits.OnesCount(uint(caught&pattern))))
					}
				}
				total += p * like / draws
				if d == 0 {
					clear += p * like / draws
				}
			}
		}
		if want := clear / total; math.Abs(got.Chance-want) > 1e-9 || got.Looked != k {
			t.Errorf("%d looked at twice: %v of %d, by listing %v", k, got.Chance, got.Looked, want)
		}
	}
}

// The same animals seen twice prove less than twice as many animals, more than
// once, and what only the second pair of eyes found is found.
func TestSecondLookIsNoFreshSample(t *testing.T) {
	again := func(positive int) *holdfast.Inspection {
		return lookAt(20, positive, func(p *holdfast.Inspection) { p.Random, p.Chosen, p.Second = false, holdfast.ChosenAgain, "e1" })
	}
	once := clearAfter(t, 100, nil, lookAt(20, 0, nil)).Chance
	twice := clearAfter(t, 100, nil, lookAt(20, 0, nil), again(0)).Chance
	fresh := clearAfter(t, 100, nil, lookAt(40, 0, nil)).Chance
	if !(once < twice && twice < fresh) {
		t.Errorf("once %v, the same twice %v, twice as many %v", once, twice, fresh)
	}
	if f := clearAfter(t, 100, nil, lookAt(20, 0, nil), again(1)); f.Chance != 0 || f.Positive != 1 {
		t.Errorf("found by the second pair of eyes only: %+v", f)
	}
	// The first look was taken back: the second proves presence only.
	l := lotOf(t, &holdfast.LotOpened{Stock: shrimp, Declared: 100}, again(0))
	a, err := Static{}.Assess(Case{Lot: l, BagSize: 5})
	if err != nil || math.Abs(a[0].Figure.Chance-clearAfter(t, 100, nil).Chance) > 1e-12 {
		t.Errorf("a second look without its first counts: %v", a[0].Figure.Chance)
	}
}

// What the shop learned of its eyes takes the place of the guess.
func TestLearnedSightIsUsed(t *testing.T) {
	sight := eyes{{By: holdfast.ByLens, Condition: "rostrum_worm"}: {By: holdfast.ByLens, Condition: "rostrum_worm", A: 3, B: 7, Carriers: 10}}
	guess, learned := clearAfter(t, 100, nil, lookAt(30, 0, nil)).Chance, clearAfter(t, 100, sight, lookAt(30, 0, nil)).Chance
	if learned >= guess {
		t.Errorf("seeing 3 in 10 proves %v, the guess of 8 in 10 proves %v", learned, guess)
	}
	m := NewMemo(Static{})
	l := lotOf(t, &holdfast.LotOpened{Stock: shrimp, Declared: 100}, lookAt(30, 0, nil))
	for _, s := range []eyes{nil, sight, nil} {
		a, err := m.Assess(Case{Lot: l, BagSize: 5, Sight: s})
		if err != nil {
			t.Fatal(err)
		}
		want := guess
		if s != nil {
			want = learned
		}
		if a[0].Figure.Chance != want {
			t.Errorf("remembered %v, want %v", a[0].Figure.Chance, want)
		}
	}
	var _ map[holdfast.SightKey]holdfast.SightSet = sight
	if got := eyes(nil).belief("rostrum_worm", holdfast.ByEye); got != (freedom.Unsure{A: 4, B: 6}) {
		t.Errorf("without learning the guess holds: %+v", got)
	}
}

// With a model that works day by day every look and dose is told with the chance
// of its evening, or without one where none was kept.
func TestReckonedByDay(t *testing.T) {
	l := lotOf(t, &holdfast.LotOpened{Stock: shrimp, Declared: 100}, lookAt(20, 0, nil), lookAt(6, 0, weakFirst(8)), &holdfast.Death{Count: 1}, lookAt(5, 0, asCaught(0)))
	v := &LotView{Lot: l, Shop: holdfast.DefaultSettings(), Case: Case{Lot: l, BagSize: 5}}
	cond := Tracked(l.Species)[0]
	day := holdfast.Micros(86_400e6)
	first := l.Events[1].OccurredAt
	got, err := v.Reckoned(Assessment{Condition: cond, Line: []Point{{At: first - day, Chance: 0.4}, {At: first + 3600e6, Chance: 0.7, Low: 0.6, High: 0.8}, {At: first + 20*day, Chance: 0.9}}})
	if err != nil || len(got) != 3 {
		t.Fatalf("%d steps, want the three looks (%v)", len(got), err)
	}
	if !got[0].Figure || got[0].Chance != 0.7 || got[0].Proof == nil || got[1].Figure || got[2].Figure {
		t.Errorf("chances %+v", got)
	}
	if got[1].Proof != nil || got[2].Proof != nil || got[1].How == got[2].How {
		t.Errorf("weak: %q, as caught: %q", got[1].How, got[2].How)
	}
}
