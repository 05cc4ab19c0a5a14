package freedom

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestFrequency(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0, 1).Draw(t, "p")
		k, n := Frequency(p)
		if k < 0 || k > n {
			t.Fatal(k, n)
		}
		rare := min(p, 1-p)
		if got := float64(k) / float64(n); math.Abs(got-p) > max(rare/8, 1e-4) {
			t.Fatalf("%v became %d in %d", p, k, n)
		}
		if (k == 0 || k == n) && rare > 1e-4 {
			t.Fatalf("%v became %d in %d", p, k, n)
		}
	})
	for p, want := range map[float64]string{
		0: "practically never", 1: "practically always", 0.9507: "19 times in 20", 0.8: "4 times in 5", 0.0101: "1 time in 100",
	} {
		if got := times(p); got != want {
			t.Errorf("%v: %q, want %q", p, got, want)
		}
	}
}

func TestPercent(t *testing.T) {
	for p, want := range map[float64]string{
		0: "0 %", 1: "100 %", 0.5: "50 %", 0.95: "95 %", 0.9532: "95.3 %", 0.987: "98.7 %", 0.0123: "1.2 %", 1e-9: "under 0.01 %", 1 - 1e-9: "over 99.99 %", 0.81237: "81 %",
	} {
		if got := percent(p); got != want {
			t.Errorf("%v: %q, want %q", p, got, want)
		}
	}
}

func TestFirstLookIsTheCommandsFigure(t *testing.T) {
	for _, c := range []struct {
		population int
		prevalence float64
		how        Seeing
		enough     bool
		sentence   string
	}{
		{200, 0.05, Seeing{0.8, 1}, true, "Look at 64 of these 200 first: if 10 of them carried it, you would find at least one 19 times in 20, although you miss 1 carrier in 5."},
		{200, 0.05, PerfectSeeing, true, "Look at 51 of these 200 first: if 10 of them carried it, you would find at least one 19 times in 20."},
		{20, 0.05, PerfectSeeing, true, "Look at 19 of these 20 first: if one of them carried it, you would find it 19 times in 20."},
		{20, 0.05, Seeing{0.8, 1}, false, "Look at all 20, and again another day: one look at every animal finds a single carrier only 4 times in 5, because you miss 1 carrier in 5."},
		{1, 1, PerfectSeeing, true, "Look at the one animal: if all of them carried it, you would find at least one practically always."},
	} {
		a, err := FirstLook(c.population, c.prevalence, 0.95, c.how)
		if err != nil || a.Enough != c.enough || a.Sentence != c.sentence {
			t.Errorf("%+v, %v\nwant %s", a, err, c.sentence)
		}
		plan, err := SampleSize(Design{Population: c.population, Prevalence: c.prevalence, Confidence: 0.95, How: c.how})
		if c.enough && (err != nil || plan.Look != a.Look || plan.Confidence != a.Chance) {
			t.Error(plan, a, err)
		}
		if !c.enough && (!isNoAnswer(err) || a.Look != c.population) {
			t.Error(a, err)
		}
	}
	if _, err := FirstLook(0, 0.05, 0.95, PerfectSeeing); !isInput(err) {
		t.Error(err)
	}
	if _, err := FirstLook(10, 0, 0.95, PerfectSeeing); !isInput(err) {
		t.Error(err)
	}
}

func TestRecordWords(t *testing.T) {
	for want, r := range map[string]Record{
		"You looked at 10 of 200 animals and none showed signs. The chance of clear goes from 52 % to 79 %; up to 22 of 200 may still carry it (19 times in 20 no more).": {10, 0, 200, Seeing{0.8, 1}, 0.95, DefaultPrior()},
		"You looked at 30 of 200 animals and 2 showed signs. The lot carries it: about 20 of 200, 9 times in 10 between 6 and 41.":                                        {30, 2, 200, Seeing{0.8, 1}, 0.95, DefaultPrior()},
		"You looked at 30 animals and 2 showed signs. In a large lot like them between 0 and 26 of 100 may carry it, most likely about 6.":                                {30, 2, 0, Seeing{0.8, 0.98}, 0.95, DefaultPrior()},
	} {
		e, err := Judge(r)
		if err != nil || e.Words(r) != want {
			t.Errorf("%v\ngot  %s\nwant %s", err, e.Words(r), want)
		}
	}
	r := Record{30, 1, 200, Seeing{0.8, 0.99}, 0.95, DefaultPrior()}
	if e, err := Judge(r); err != nil || !strings.Contains(e.Words(r), "may be a mistake") {
		t.Error(e.Words(r), err)
	}
}

// The Inspect page's figure is the exact lot's, and its promise holds.
func TestNextKeepsItsPromise(t *testing.T) {
	lot := mustLot(t, 200, Prior{0.3, 0.749, 2.171})
	how := Seeing{0.8, 1}
	line := ClearLine(0.95)
	sofar := Repeat(how.Clean(), 10)
	o, err := lot.Next(line, sofar, how)
	if err != nil || o.Reached || o.More == 0 {
		t.Fatal(o, err)
	}
	if !strings.HasPrefix(o.Sentence, "19 more clean ones and you are at 95 %") || !strings.Contains(o.Sentence, "the lot carries it") {
		t.Error(o.Sentence)
	}
	then, err := lot.Next(line, append(sofar, Repeat(how.Clean(), o.More)...), how)
	if err != nil || !then.Reached || !strings.Contains(then.Sentence, "Stop here") {
		t.Error(then.Sentence, err)
	}
	if early, _ := lot.Next(line, append(sofar, Repeat(how.Clean(), o.More-1)...), how); early.Reached || early.More != 1 {
		t.Error(early.Sentence)
	}
	// The chance of good luck is the product of what each next look promises.
	luck := 1.0
	for i := range o.More {
		a, _ := lot.Look(append(sofar, Repeat(how.Clean(), i)...))
		b, _ := lot.Look(append(sofar, Repeat(how.Clean(), i+1)...))
		luck *= math.Exp(b.LogEvidence() - a.LogEvidence())
	}
	if math.Abs(luck-o.GoodLuck) > 1e-12 {
		t.Error(luck, o.GoodLuck)
	}
	unsure, err := lot.Next(BagLine(10, 0.01), sofar, Seeing{0.8, 0.995})
	if err != nil || !strings.Contains(unsure.Sentence, "bring the chance of clear to") || !strings.Contains(unsure.Sentence, "a bag risk of 1 %") {
		t.Error(unsure.Sentence, err)
	}
	small := mustLot(t, 20, DefaultPrior())
	never, err := small.Next(ClearLine(0.99), nil, Seeing{0.6, 1})
	if err != nil || never.Why == "" || never.Sentence != never.Why || never.Reached {
		t.Error(never, err)
	}
	if _, err := lot.Next(ClearLine(2), nil, how); !isInput(err) {
		t.Error(err)
	}
	if _, err := lot.Next(line, Repeat(how.Clean(), 201), how); !isInput(err) {
		t.Error(err)
	}
}

func TestNextOfContradictions(t *testing.T) {
	known, err := mustLot(t, 6, DefaultPrior()).Found(5)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := known.Next(BagLine(2, 0.5), Repeat(PerfectSeeing.Clean(), 3), PerfectSeeing); !isNoAnswer(err) {
		t.Error("three surely clean of six with five infested gave", err)
	}
	// None or five of six: one of the last two cannot be the only one.
	gap := Lot{mass: []float64{0.5, 0, 0, 0, 0, 0.5, 0}}
	o, err := gap.Next(ClearLine(0.9), nil, PerfectSeeing)
	if err != nil || o.More != 2 || o.IfOne.Alive() != 6 {
		t.Error(o, err)
	}
	o, err = gap.Next(ClearLine(0.9), Repeat(PerfectSeeing.Clean(), 1), PerfectSeeing)
	if err != nil || o.More != 1 {
		t.Error(o, err)
	}
	clear := Lot{mass: []float64{0.3, 0, 0, 0, 0, 0, 0.7}}
	if o, err = clear.Next(ClearLine(0.9), nil, Seeing{0.5, 1}); err != nil || o.More < 2 || o.IfOne.Clear() != 0 {
		t.Error(o, err)
	}
	if o, err = clear.Next(ClearLine(0.9), nil, Seeing{0.9, 1}); err != nil || o.More != 2 {
		t.Error(o, err)
	}
}

func TestSmallWords(t *testing.T) {
	for share, want := range map[float64]string{0.01: "under 1", 0.43: "4", 0.99: "almost 10", 1: "10"} {
		if got := tenths(share); got != want {
			t.Errorf("%v: %q, want %q", share, got, want)
		}
	}
	for se, want := range map[float64]string{1: "", 0.6: ", although you miss 2 carriers in 5", 0.9: ", although you miss 1 carrier in 10", 1 - 1e-9: ""} {
		if got := (Seeing{se, 1}).missing("although"); got != want {
			t.Errorf("%v: %q, want %q", se, got, want)
		}
	}
	lot := mustLot(t, 100, Prior{0.01, 1, 50})
	o, err := lot.Next(BagLine(10, 0.2), nil, PerfectSeeing)
	if err != nil || !o.Reached || !strings.HasPrefix(o.Sentence, "You are there: a bag of 10 carries it ") {
		t.Error(o.Sentence, err)
	}
	for _, c := range []struct {
		left, sofar int
		want        string
	}{{20, 0, "Looking at all 20 animals"}, {5, 15, "Looking at all 5 others too"}, {0, 20, "All animals have been looked at"}} {
		if err := unreachable(BagLine(10, 0.01), c.left, c.sofar); !strings.HasPrefix(err.Error(), c.want) || !strings.Contains(err.Error(), "a bag risk of 1 % for 10 animals") {
			t.Error(err)
		}
	}
	plan, err := SampleSize(Design{Prevalence: 0.02, Confidence: 0.9, How: Seeing{0.9, 0.99}, Allow: 2})
	if err != nil || plan.Words(Design{Prevalence: 0.02, How: Seeing{0.9, 0.99}}) != "Look at 190 animals of this large lot: if 1 in 50 carried it, you would find more than 2 with signs 9 times in 10, although you miss 1 carrier in 10." {
		t.Error(plan.Words(Design{Prevalence: 0.02, How: Seeing{0.9, 0.99}}), err)
	}
}
