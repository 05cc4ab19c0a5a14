package freedom

import (
	"errors"
	"math"
	"math/big"

	"pgregory.net/rapid"

	"holdfast/science/ref"
)

// exact is the slow twin of Lot: the same definitions in rational arithmetic,
// written over the 2^N configurations' symmetric sums and nothing else.
type exact []*big.Rat

func rat(x float64) *big.Rat { return new(big.Rat).SetFloat64(x) }

func comb(n, k int) *big.Rat {
	if k < 0 || k > n {
		return new(big.Rat)
	}
	return new(big.Rat).SetInt(new(big.Int).Binomial(int64(n), int64(k)))
}

func mul(xs ...*big.Rat) *big.Rat {
	out := big.NewRat(1, 1)
	for _, x := range xs {
		out.Mul(out, x)
	}
	return out
}

// risingRat is Γ(x+k)/Γ(x).
func risingRat(x *big.Rat, k int) *big.Rat {
	out := big.NewRat(1, 1)
	for i := range k {
		out.Mul(out, new(big.Rat).Add(x, big.NewRat(int64(i), 1)))
	}
	return out
}

// slowBetaBinomial is C(n,d) B(d+a, n-d+b)/B(a,b) by rising factorials.
func slowBetaBinomial(n, d int, a, b *big.Rat) *big.Rat {
	num := mul(comb(n, d), risingRat(a, d), risingRat(b, n-d))
	return num.Quo(num, risingRat(new(big.Rat).Add(a, b), n))
}

func slowLot(n int, p Prior) exact {
	out := make(exact, n+1)
	for d := range out {
		out[d] = mul(rat(p.Infested), slowBetaBinomial(n, d, rat(p.A), rat(p.B)))
	}
	out[0].Add(out[0], new(big.Rat).Sub(big.NewRat(1, 1), rat(p.Infested)))
	return out
}

func (e exact) normalise() exact {
	sum := new(big.Rat)
	for _, p := range e {
		sum.Add(sum, p)
	}
	out := make(exact, len(e))
	for i, p := range e {
		out[i] = new(big.Rat).Quo(p, sum)
	}
	return out
}

// slowProduct multiplies (b_i + a_i z) out, coefficient by coefficient.
func slowProduct(animals []Chance) []*big.Rat {
	c := []*big.Rat{big.NewRat(1, 1)}
	for _, x := range animals {
		next := make([]*big.Rat, len(c)+1)
		for i := range next {
			next[i] = new(big.Rat)
			if i < len(c) {
				next[i].Add(next[i], mul(c[i], rat(x.IfNotInfested)))
			}
			if i > 0 {
				next[i].Add(next[i], mul(c[i-1], rat(x.IfInfested)))
			}
		}
		c = next
	}
	return c
}

// look returns the unnormalised posterior: its sum is the evidence.
func (e exact) look(animals []Chance) exact {
	n, c := len(e)-1, slowProduct(animals)
	out := make(exact, len(e))
	for d := range out {
		l := new(big.Rat)
		for j := range c {
			l.Add(l, mul(comb(n-len(animals), d-j), c[j]))
		}
		out[d] = mul(e[d], l, new(big.Rat).Inv(comb(n, d)))
	}
	return out
}

func (e exact) thin(m int) exact {
	n := len(e) - 1
	out := make(exact, m+1)
	for d := range out {
		out[d] = new(big.Rat)
		for D, p := range e {
			out[d].Add(out[d], mul(p, comb(D, d), comb(n-D, m-d), new(big.Rat).Inv(comb(n, m))))
		}
	}
	return out
}

func (e exact) bagRisk(m int) float64 {
	sum := new(big.Rat)
	n := len(e) - 1
	for d, p := range e {
		miss := mul(comb(n-d, m), new(big.Rat).Inv(comb(n, m)))
		sum.Add(sum, mul(p, miss.Sub(big.NewRat(1, 1), miss)))
	}
	f, _ := sum.Float64()
	return f
}

func close12(t *rapid.T, what string, got, want, rel float64) {
	t.Helper()
	if math.Abs(got-want) > rel*math.Abs(want)+1e-280 || math.IsNaN(got) {
		t.Fatalf("%s = %.17g, want %.17g", what, got, want)
	}
}

func sameLot(t *rapid.T, what string, got Lot, want exact) {
	t.Helper()
	want = want.normalise()
	if got.Alive() != len(want)-1 {
		t.Fatalf("%s: %d alive, want %d", what, got.Alive(), len(want)-1)
	}
	for d, p := range want {
		w, _ := p.Float64()
		close12(t, what, got.P(d), w, 1e-11)
	}
}

func mustLot(t interface{ Fatal(...any) }, n int, p Prior) Lot {
	l, err := NewLot(n, p)
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func isNoAnswer(err error) bool {
	var no *ref.NoAnswer
	return errors.As(err, &no)
}

func isInput(err error) bool {
	var in *ref.InputError
	return errors.As(err, &in)
}
