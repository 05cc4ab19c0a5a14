package clearance

import (
	"encoding/json"
	"math"

	"gonum.org/v1/gonum/mathext"

	"holdfast/science/ref"
)

// Belief is what is believed of one number: a distribution with the range that
// people read and the knowledge it rests on.
type Belief struct {
	// Kind is "ln" (lognormal), "beta", "unif" or "fix".
	Kind string
	// A and B are median and standard deviation of the logarithm (ln), the two
	// shapes (beta), both ends (unif), or the value and nothing (fix).
	A, B float64
	// Low and High bound the 90 % interval.
	Low, High float64
	Unit      string
	Basis     ref.Basis
	// Source is a key of ref.Sources; empty for practice and guesses.
	Source string
	Note   string
}

// beliefJSON is a belief as data files write it. The parameters may be left out:
// low and high then determine them, which is how a person changes a belief.
type beliefJSON struct {
	Kind   string    `json:"kind,omitempty"`
	Value  *float64  `json:"value,omitempty"`
	Median *float64  `json:"median,omitempty"`
	Spread *float64  `json:"spread,omitempty"`
	A      *float64  `json:"a,omitempty"`
	B      *float64  `json:"b,omitempty"`
	From   *float64  `json:"from,omitempty"`
	To     *float64  `json:"to,omitempty"`
	Low    *float64  `json:"low,omitempty"`
	High   *float64  `json:"high,omitempty"`
	Unit   string    `json:"unit,omitempty"`
	Basis  ref.Basis `json:"basis,omitempty"`
	Source string    `json:"source,omitempty"`
	Note   string    `json:"note,omitempty"`
}

// UnmarshalJSON reads a belief. What the object does not say is kept from the
// belief's present value, so that {"low": 20, "high": 28} narrows a lognormal.
// Setting a range or a value makes the basis "own" unless the object names one.
func (b *Belief) UnmarshalJSON(data []byte) error {
	var j beliefJSON
	if err := json.Unmarshal(data, &j); err != nil {
		return err
	}
	n := *b
	if j.Kind != "" {
		n.Kind = j.Kind
	}
	if j.Value != nil && j.Kind == "" {
		n.Kind = "fix"
	}
	if j.Unit != "" {
		n.Unit = j.Unit
	}
	if j.Note != "" {
		n.Note = j.Note
	}
	n.Basis = j.Basis
	if j.Basis == "" {
		n.Basis = ref.Own
	}
	n.Source = j.Source
	if err := n.set(j); err != nil {
		return err
	}
	*b = n
	return nil
}

func (b *Belief) set(j beliefJSON) error {
	pair := func(x, y *float64) bool { return x != nil && y != nil }
	if pair(j.Low, j.High) {
		b.Low, b.High = *j.Low, *j.High
	}
	switch {
	case b.Kind == "fix" && j.Value != nil:
		b.A, b.B, b.Low, b.High = *j.Value, 0, *j.Value, *j.Value
	case b.Kind == "ln" && pair(j.Median, j.Spread):
		b.A, b.B = *j.Median, *j.Spread
	case b.Kind == "beta" && pair(j.A, j.B):
		b.A, b.B = *j.A, *j.B
	case b.Kind == "unif" && pair(j.From, j.To):
		b.A, b.B = *j.From, *j.To
	case pair(j.Low, j.High):
		return b.Fit(*j.Low, *j.High)
	default:
		return ref.Inputf("figures", `Give "low" and "high" of a 90 % interval, or "value".`, "a belief of kind %q lacks its numbers", b.Kind)
	}
	if !pair(j.Low, j.High) && b.Kind != "fix" {
		b.Low, b.High = b.Quantile(.05), b.Quantile(.95)
	}
	return b.check()
}

// MarshalJSON writes the belief so that UnmarshalJSON reads it back.
func (b Belief) MarshalJSON() ([]byte, error) {
	j := beliefJSON{Kind: b.Kind, Low: &b.Low, High: &b.High, Unit: b.Unit, Basis: b.Basis, Source: b.Source, Note: b.Note}
	switch b.Kind {
	case "fix":
		j.Value = &b.A
	case "ln":
		j.Median, j.Spread = &b.A, &b.B
	case "beta":
		j.A, j.B = &b.A, &b.B
	case "unif":
		j.From, j.To = &b.A, &b.B
	}
	return json.Marshal(j)
}

func (b *Belief) check() error {
	ok := false
	switch b.Kind {
	case "fix":
		ok = b.A >= 0 && !math.IsInf(b.A, 1)
	case "ln":
		ok = b.A > 0 && b.B >= 0 && b.B < 10
	case "beta":
		ok = b.A > 0 && b.B > 0 && b.A < 1e9 && b.B < 1e9
	case "unif":
		ok = b.A >= 0 && b.B > b.A
	default:
		return ref.Inputf("figures", `Use "ln", "beta", "unif" or "fix".`, "unknown kind of belief %q", b.Kind)
	}
	if !ok {
		return ref.Inputf("figures", "Check the numbers of the belief.", "a belief of kind %q cannot have the numbers %g and %g", b.Kind, b.A, b.B)
	}
	return nil
}

// z95 is the 95 % point of the standard normal distribution.
const z95 = 1.6448536269514722

// Fit sets the belief to the distribution of its kind with 5 % below low and 5 %
// above high. A fixed belief becomes lognormal, or beta if high is at most 1 and
// the unit is a chance or a share. It returns an *ref.InputError when no such
// distribution exists.
func (b *Belief) Fit(low, high float64) error {
	if b.Kind == "fix" || b.Kind == "" {
		b.Kind = "ln"
		if (b.Unit == "chance" || b.Unit == "share") && high <= 1 {
			b.Kind = "beta"
		}
	}
	if !(low < high) || low < 0 || math.IsInf(high, 1) {
		return ref.Inputf("figures", "Give a low end below the high end.", "%g to %g is not a range", low, high)
	}
	b.Low, b.High = low, high
	switch b.Kind {
	case "ln":
		if low <= 0 {
			return ref.Inputf("figures", "Give a low end above 0.", "a lognormal cannot begin at %g", low)
		}
		b.A, b.B = math.Sqrt(low*high), math.Log(high/low)/(2*z95)
	case "unif":
		wide := (high - low) / .9
		b.A, b.B = max(0, low-wide*.05), high+wide*.05
	case "beta":
		if low <= 0 || high >= 1 {
			return ref.Inputf("figures", "Give ends above 0 and below 1.", "a chance cannot range from %g to %g", low, high)
		}
		b.A, b.B = fitBeta(low, high)
	}
	return b.check()
}

// fitBeta returns the shapes of the Beta distribution with 5 % below low and 5 %
// above high: for each sum of the shapes one share meets the lower end, and the
// sum that also meets the upper end is found by halving.
func fitBeta(low, high float64) (a, b float64) {
	shapes := func(sum float64) (a, b float64) {
		m := halve(0, 1, func(m float64) bool { return mathext.RegIncBeta(max(m*sum, 1e-12), max((1-m)*sum, 1e-12), low) > .05 })
		return m * sum, (1 - m) * sum
	}
	log := halve(-4, 14, func(l float64) bool {
		a, b := shapes(math.Exp(l))
		return mathext.RegIncBeta(max(a, 1e-12), max(b, 1e-12), high) < .95
	})
	return shapes(math.Exp(log))
}

// halve returns the point in (lo, hi) at which below turns from true to false.
func halve(lo, hi float64, below func(float64) bool) float64 {
	for range 44 { // to 1e-13 of the first interval
		mid := (lo + hi) / 2
		if below(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// draw returns a number from the belief.
func (b *Belief) draw(k key, n uint64) float64 {
	switch b.Kind {
	case "ln":
		return b.A * math.Exp(b.B*k.normal(n))
	case "beta":
		return k.beta(n, b.A, b.B)
	case "unif":
		return b.A + (b.B-b.A)*k.unit(n)
	}
	return b.A
}

// Mean returns the mean of the belief.
func (b *Belief) Mean() float64 {
	switch b.Kind {
	case "ln":
		return b.A * math.Exp(b.B*b.B/2)
	case "beta":
		return b.A / (b.A + b.B)
	case "unif":
		return (b.A + b.B) / 2
	}
	return b.A
}

// Quantile returns the value that the belief stays below with chance p, 0 < p < 1.
func (b *Belief) Quantile(p float64) float64 {
	switch b.Kind {
	case "ln":
		return b.A * math.Exp(b.B*mathext.NormalQuantile(p))
	case "beta":
		return halve(0, 1, func(x float64) bool { return mathext.RegIncBeta(b.A, b.B, x) < p })
	case "unif":
		return b.A + (b.B-b.A)*p
	}
	return b.A
}
