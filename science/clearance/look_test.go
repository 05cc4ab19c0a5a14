package clearance

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// likelihoodOf is the whole way: carriers one by one, then the clean ones.
func likelihoodOf(alive int, s seen, carriers []chances, clean chances) float64 {
	var t table
	t.begin(s)
	for _, c := range carriers {
		t.add(c)
	}
	return t.likelihood(alive, clean)
}

// readInspections reads the cases; JSON keys n and N differ only by case, which
// encoding/json cannot tell apart, so they are read as a plain map.
func readInspections(t *testing.T) []map[string]any {
	return readJSON[[]map[string]any](t, "inspection.json")
}

func num(m map[string]any, k string) float64 { f, _ := m[k].(float64); return f }

// TestInspections compares with the enumeration of all samples and outcomes, and
// the posterior of a lot that was looked at once with a quadrature.
//
// Source: testdata/checks, inspection_ref.csv (reference.py).
func TestInspections(t *testing.T) {
	want := map[string]reference{}
	for _, r := range readReference(t, "inspection_ref.csv") {
		want[r.scenario] = r
	}
	n := 0
	for _, c := range readInspections(t) {
		name := c["name"].(string)
		w, ok := want[name]
		if !ok {
			t.Fatalf("%s: no reference", name)
		}
		n++
		alive := int(num(c, "N"))
		s := seen{n: int(num(c, "n")), worms: int(num(c, "k")), both: -1}
		var got, tol float64
		switch c["type"] {
		case "single":
			carriers := make([]chances, int(num(c, "I")))
			for i := range carriers {
				carriers[i] = chances{worm: num(c, "p")}
			}
			got, tol = likelihoodOf(alive, s, carriers, chances{worm: num(c, "fp")}), 1e-9*w.value
		case "joint":
			s.worms, s.eggs = int(num(c, "kA")), int(num(c, "kE"))
			var carriers []chances
			for _, x := range c["inf"].([]any) {
				p := x.([]any)
				carriers = append(carriers, chances{p[0].(float64), p[1].(float64)})
			}
			got, tol = likelihoodOf(alive, s, carriers, chances{num(c, "fpA"), num(c, "fpE")}), 1e-9*w.value
		case "static":
			got, tol = staticPosterior(c, alive, s), 1e-6
		}
		if !(math.Abs(got-w.value) <= tol) {
			t.Errorf("%s %s: %.12g, want %.12g", name, w.quantity, got, w.value)
		}
	}
	if n < 6 {
		t.Fatalf("only %d cases", n)
	}
}

// staticPosterior integrates the likelihood of a clean look over the share
// infested, I binomial given at least one, by quadrature in u = √p.
func staticPosterior(c map[string]any, alive int, s seen) float64 {
	prior := distuv.Beta{Alpha: num(c, "a"), Beta: num(c, "b")}
	clean := make([]float64, alive+1)
	var tab table
	tab.begin(s)
	for i := 1; i <= alive; i++ {
		tab.add(chances{worm: num(c, "Se")})
		clean[i] = tab.likelihood(alive, chances{})
	}
	like := func(u float64) float64 {
		p := u * u
		b := distuv.Binomial{N: float64(alive), P: p}
		sum := 0.0
		for i := 1; i <= alive; i++ {
			sum += b.Prob(float64(i)) * clean[i]
		}
		return prior.Prob(p) * 2 * u * sum / -math.Expm1(float64(alive)*math.Log1p(-p))
	}
	l := quad.Fixed(like, 1e-7, 1-1e-9, 1000, quad.Legendre{}, 0)
	pi := num(c, "pi")
	return (1 - pi) / ((1 - pi) + pi*l)
}

// slowLikelihood takes every sample of n of the animals and every outcome.
func slowLikelihood(animals []chances, s seen) float64 {
	total, samples := 0.0, 0
	for mask := range 1 << len(animals) {
		var sample []chances
		for i, a := range animals {
			if mask>>i&1 == 1 {
				sample = append(sample, a)
			}
		}
		if len(sample) != s.n {
			continue
		}
		samples++
		for outcome := range 1 << (2 * s.n) {
			p, worms, eggs, both := 1.0, 0, 0, 0
			for i, a := range sample {
				w, e := outcome>>(2*i)&1, outcome>>(2*i+1)&1
				p *= pick(w, a.worm) * pick(e, a.egg)
				worms, eggs, both = worms+w, eggs+e, both+w*e
			}
			if worms == s.worms && eggs == s.eggs && (s.both < 0 || both == s.both) {
				total += p
			}
		}
	}
	return total / float64(samples)
}

func pick(yes int, p float64) float64 {
	if yes == 1 {
		return p
	}
	return 1 - p
}

// TestLikelihoodAgainstEnumeration compares the recursion with the enumeration
// for every possible count, also where animals with both signs were recorded.
func TestLikelihoodAgainstEnumeration(t *testing.T) {
	carriers := []chances{{.9, .5}, {.3, .02}, {.02, .7}}
	clean := chances{.02, .03}
	const alive, n = 7, 4
	animals := append([]chances{}, carriers...)
	for len(animals) < alive {
		animals = append(animals, clean)
	}
	total := 0.0
	for worms := range n + 1 {
		for eggs := range n + 1 {
			s := seen{n, worms, eggs, -1}
			sum := 0.0
			for both := range min(worms, eggs) + 1 {
				s.both = both
				got, want := likelihoodOf(alive, s, carriers, clean), slowLikelihood(animals, s)
				if math.Abs(got-want) > 1e-9*want+1e-15 {
					t.Errorf("%+v: %.12g, want %.12g", s, got, want)
				}
				sum += got
			}
			s.both = -1
			got := likelihoodOf(alive, s, carriers, clean)
			if math.Abs(got-sum) > 1e-9*sum+1e-15 {
				t.Errorf("%+v: %.12g, but by both %.12g", s, got, sum)
			}
			total += got
		}
	}
	if math.Abs(total-1) > 1e-12 {
		t.Errorf("all outcomes sum to %.15g", total)
	}
}

// TestLens checks the chances of one animal against MODEL's formulas.
func TestLens(t *testing.T) {
	var v Values
	v[SAdult], v[SJuv], v[SEgg], v[Photo], v[FPAdult], v[FPEgg] = .6, .1, .4, .9, .003, .004
	l := Look{View: .5}
	s := l.lens(&v, 2)
	got := s.of(load{adults: 2, juveniles: 3, eggs: 1})
	want := chances{1 - .997*math.Pow(1-.27, 2)*math.Pow(1-.045, 3), .004}
	if math.Abs(got.worm-want.worm) > 1e-12 || got.egg != want.egg {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got := s.of(load{eggs: 2}).egg; math.Abs(got-(1-.996*(1-.18))) > 1e-12 {
		t.Errorf("egg row seen with chance %g", got)
	}
	if got := s.of(load{}); got != s.false {
		t.Errorf("a clean animal: %+v", got)
	}
	l.Confirmed = true
	s = l.lens(&v, 2)
	if got := s.of(load{}); got != (chances{}) {
		t.Errorf("a clean animal at a look that was confirmed: %+v", got)
	}
}
