package clearance

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"holdfast/science/ref"
)

// TestConditionsLoad reads every condition that comes with the program, and
// checks that every figure says what it rests on and that ranges fit.
func TestConditionsLoad(t *testing.T) {
	ids := Conditions()
	if len(ids) < 4 {
		t.Fatalf("only %d conditions", len(ids))
	}
	for _, id := range ids {
		c, err := LoadCondition(id)
		if err != nil {
			t.Errorf("%s: %v", id, err)
			continue
		}
		if c.ID != id || c.Name == "" || c.Note == "" || len(c.Treatments) == 0 {
			t.Errorf("%s: id, name, note or treatments are missing", id)
		}
		beliefs := map[string]Belief{"infested": c.Infested}
		for f := range c.Figures {
			beliefs[Figure(f).String()] = c.Figures[f]
		}
		for name, tr := range c.Treatments {
			beliefs[name] = tr.Kill
		}
		for name, b := range beliefs {
			switch b.Basis {
			case ref.Seen, ref.Relative, ref.Practice, ref.Guess:
			default:
				t.Errorf("%s %s: basis %q", id, name, b.Basis)
			}
			if b.Note == "" || b.Unit == "" {
				t.Errorf("%s %s: no note or unit", id, name)
			}
			// The published ends are rounded: 8 % of either, or .05 of the chance.
			for p, end := range map[float64]float64{.05: b.Low, .95: b.High} {
				q := b.Quantile(p)
				if math.Abs(q-end) > .08*end && math.Abs(q-end) > .05 {
					t.Errorf("%s %s: %g %% point %g, the file says %g", id, name, 100*p, q, end)
				}
			}
		}
	}
}

// TestDefaultBeliefs compares the rostrum worm with the beliefs that the plan
// table was made from.
//
// Source: testdata/plans, priors.json.
func TestDefaultBeliefs(t *testing.T) {
	b, err := os.ReadFile("testdata/plans/priors.json")
	if err != nil {
		t.Fatal(err)
	}
	var want map[string][3]any
	if err := json.Unmarshal(b, &want); err != nil {
		t.Fatal(err)
	}
	if len(want) < 30 {
		t.Fatalf("only %d beliefs", len(want))
	}
	c, err := LoadCondition("rostrum_worm")
	if err != nil {
		t.Fatal(err)
	}
	for name, w := range want {
		var got Belief
		switch f, ok := FigureNamed(name); {
		case name == "BathEff":
			got = c.Treatments["praziquantel"].Kill
		case name == "DipEff":
			got = c.Treatments["sodium_chloride_dip"].Kill
		case ok:
			got = c.Figures[f]
		default:
			t.Errorf("no figure %s", name)
			continue
		}
		if got.Kind != w[0] || got.A != w[1] || got.B != w[2] {
			t.Errorf("%s: %s(%g, %g), want %v", name, got.Kind, got.A, got.B, w)
		}
	}
}

// TestBeliefFit checks that a fitted belief has its 5 and 95 % points where they
// were asked for, by gonum's distributions.
func TestBeliefFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(.01, .6).Draw(t, "low")
		high := rapid.Float64Range(low+.03, .98).Draw(t, "high")
		b := Belief{Kind: "beta"}
		if err := b.Fit(low, high); err != nil {
			t.Fatal(err)
		}
		d := distuv.Beta{Alpha: b.A, Beta: b.B}
		if math.Abs(d.CDF(low)-.05) > 1e-4 || math.Abs(d.CDF(high)-.95) > 1e-4 {
			t.Fatalf("%g to %g: shapes %g and %g give %g and %g", low, high, b.A, b.B, d.CDF(low), d.CDF(high))
		}
		l := Belief{Kind: "ln"}
		if err := l.Fit(low, high); err != nil {
			t.Fatal(err)
		}
		n := distuv.LogNormal{Mu: math.Log(l.A), Sigma: l.B}
		if math.Abs(n.CDF(low)-.05) > 1e-9 || math.Abs(n.CDF(high)-.95) > 1e-9 {
			t.Fatalf("%g to %g: lognormal gives %g and %g", low, high, n.CDF(low), n.CDF(high))
		}
	})
}

// TestBeliefDraws compares the mean of drawn numbers with Mean, and the share
// below Quantile.
func TestBeliefDraws(t *testing.T) {
	n := runs(100000)
	for _, b := range []Belief{{Kind: "ln", A: 3, B: .5}, {Kind: "beta", A: .7, B: 2}, {Kind: "unif", A: 1, B: 3}, {Kind: "fix", A: 2}} {
		q := b.Quantile(.3)
		mean, variance, below := moments(n, q, func(k key) float64 { return b.draw(k, 0) })
		if math.Abs(mean-b.Mean()) > 4*math.Sqrt(variance/float64(n))+1e-12 {
			t.Errorf("%+v: mean %g, want %g", b, mean, b.Mean())
		}
		if b.Kind != "fix" && math.Abs(below-.3) > 4*math.Sqrt(.21/float64(n)) {
			t.Errorf("%+v: %g below the 30 %% point", b, below)
		}
	}
}

// TestBelieve changes beliefs as a person would.
func TestBelieve(t *testing.T) {
	c, err := LoadCondition("rostrum_worm")
	if err != nil {
		t.Fatal(err)
	}
	change := func(s string) error {
		var m map[string]json.RawMessage
		if err := json.Unmarshal([]byte(s), &m); err != nil {
			t.Fatal(err)
		}
		return c.Believe(m)
	}
	before := c.Clone()
	if err := change(`{"MoultMean": {"low": 20, "high": 28}, "HOn": {"value": 0}, "praziquantel": {"low": 0.9, "high": 0.99}}`); err != nil {
		t.Fatal(err)
	}
	m := c.Figures[MoultMean]
	if m.Kind != "ln" || math.Abs(m.A-math.Sqrt(560)) > 1e-12 || m.Basis != ref.Own || m.Unit != "d" {
		t.Errorf("MoultMean became %+v", m)
	}
	if h := c.Figures[HOn]; h.Kind != "fix" || h.A != 0 {
		t.Errorf("HOn became %+v", h)
	}
	if k := c.Treatments["praziquantel"].Kill; math.Abs(k.Quantile(.05)-.9) > 1e-4 {
		t.Errorf("kill became %+v", k)
	}
	if k := before.Treatments["praziquantel"].Kill; k.A != 4.636 {
		t.Errorf("the clone changed with it: %+v", k)
	}
	for _, bad := range []string{
		`{"Moult": {"value": 3}}`, `{"MoultMean": {"low": 5, "high": 2}}`, `{"MoultMean": {"low": -1, "high": 2}}`,
		`{"Via": {"low": 0.5, "high": 1.5}}`, `{"MoultMean": {}}`, `{"MoultMean": 3}`, `{"MoultMean": {"kind": "odd", "low": 1, "high": 2}}`,
		`{"MoultMean": {"value": -2}}`,
	} {
		var in *ref.InputError
		if err := change(bad); !errors.As(err, &in) {
			t.Errorf("%s: %v, want an input error", bad, err)
		}
	}
}

// TestConditionRoundTrip writes beliefs and reads them back.
func TestConditionRoundTrip(t *testing.T) {
	c, err := LoadCondition("segmented_worm")
	if err != nil {
		t.Fatal(err)
	}
	for f := range c.Figures {
		data, err := json.Marshal(c.Figures[f])
		if err != nil {
			t.Fatal(err)
		}
		var got Belief
		if err := json.Unmarshal(data, &got); err != nil {
			t.Fatal(err)
		}
		if got != c.Figures[f] {
			t.Errorf("%s: %+v came back as %+v", Figure(f), c.Figures[f], got)
		}
	}
}

// FuzzParseCondition must refuse, never break.
func FuzzParseCondition(f *testing.F) {
	for _, id := range Conditions() {
		b, err := ConditionFile(id)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
		f.Add([]byte(strings.Replace(string(b), `"low"`, `"lower"`, 3)))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := ParseCondition(data)
		if err != nil {
			return
		}
		var v Values
		kill := make([]float64, len(c.Treatments))
		c.draw(key(1), &v, kill, c.treatmentIDs())
		for i, x := range v {
			if math.IsNaN(x) || x < 0 {
				t.Errorf("%s drew %g", Figure(i), x)
			}
		}
	})
}
