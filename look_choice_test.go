package holdfast

import (
	"strings"
	"testing"
)

// A look of an old journal has none of the newer fields and reads back as it
// was written.
func TestOldLooksStillRead(t *testing.T) {
	old := `{"by":"lens","random":true,"looked_for":["rostrum_worm"],"planned":1,"animals":[{"no":1,"seen":["left"]}]}`
	e := event(t, 1, t0, "", look(1, 0))
	e.Entry.Payload = []byte(old)
	line, err := e.Entry.Canonical()
	if err != nil {
		t.Fatal(err)
	}
	back, err := ReadEntry(line)
	if err != nil {
		t.Fatal(err)
	}
	ev, err := back.Decode()
	if err != nil {
		t.Fatal(err)
	}
	p := ev.Payload.(*Inspection)
	if p.Chosen != "" || p.Looked() != 1 || !p.Random {
		t.Errorf("read as %+v", p)
	}
	var again Entry
	if err := again.Encode(p); err != nil || string(again.Payload) != old {
		t.Errorf("written again as %s (%v)", again.Payload, err)
	}
}

func TestHowAnimalsWereChosenHoldsTogether(t *testing.T) {
	id := MakeID(1_800_000_000_000, [10]byte{1})
	for name, c := range map[string]struct {
		change func(*Inspection)
		field  string // the field that is refused, or ""
	}{
		"drawn":                      {func(p *Inspection) { p.Chosen = ChosenRandom }, ""},
		"all":                        {func(p *Inspection) { p.Chosen = ChosenAll }, ""},
		"weak":                       {func(p *Inspection) { p.Chosen, p.Random, p.Among = ChosenWeak, false, 12 }, ""},
		"as caught, nobody counted":  {func(p *Inspection) { p.Chosen, p.Random = ChosenAsCaught, false }, ""},
		"pictures of five":           {func(p *Inspection) { p.Chosen, p.Pool = ChosenRandom, 5 }, ""},
		"second":                     {func(p *Inspection) { p.Chosen, p.Random, p.Second = ChosenAgain, false, id }, ""},
		"weak and random":            {func(p *Inspection) { p.Chosen = ChosenWeak }, "chosen"},
		"drawn and not random":       {func(p *Inspection) { p.Chosen, p.Random = ChosenRandom, false }, "chosen"},
		"by magic":                   {func(p *Inspection) { p.Chosen = "magic" }, "chosen"},
		"among fewer than looked at": {func(p *Inspection) { p.Chosen, p.Random, p.Among = ChosenWeak, false, 9 }, "among"},
		"among, though random":       {func(p *Inspection) { p.Chosen, p.Among = ChosenRandom, 50 }, "among"},
		"minus five in a picture":    {func(p *Inspection) { p.Pool = -5 }, "pool"},
		"a picture of a thousand":    {func(p *Inspection) { p.Pool = 1000 }, "pool"},
		"second of nothing":          {func(p *Inspection) { p.Chosen, p.Random = ChosenAgain, false }, "second"},
		"second and random":          {func(p *Inspection) { p.Chosen, p.Second = ChosenRandom, id }, "second"},
		"second of a name":           {func(p *Inspection) { p.Chosen, p.Random, p.Second = ChosenAgain, false, "x" }, "second"},
	} {
		p := look(10, 0)
		c.change(p)
		var k checker
		p.check(&k)
		got := ""
		for _, q := range k.problems {
			got += q.Field + " "
		}
		if c.field == "" && got != "" || c.field != "" && !strings.Contains(got, c.field) {
			t.Errorf("%s: refused at %q, want %q", name, got, c.field)
		}
	}
	p := look(6, 1)
	p.Pool = 5
	if n, k := p.Tally("rostrum_worm"); n != 30 || k != 1 || p.Looked() != 30 {
		t.Errorf("6 pictures of 5: %d looked at (%d), %d with signs", p.Looked(), n, k)
	}
}

func TestSightIsFoldedAndTakenBack(t *testing.T) {
	set := func(n int, a float64) Event {
		return event(t, n, t0+Micros(n), "", &SightSet{By: ByEye, Condition: "rostrum_worm", A: a, B: 6, Carriers: 12})
	}
	key := SightKey{ByEye, "rostrum_worm"}
	s := FoldShop([]Event{set(1, 4), set(2, 5)})
	if s.Sight[key].A != 5 || s.Name != DefaultSettings().Name {
		t.Errorf("folded %+v", s)
	}
	back := set(3, 0)
	back.Payload.(*SightSet).B = 0
	if s = FoldShop([]Event{set(1, 4), back}); len(s.Sight) != 0 {
		t.Errorf("the guess does not hold again: %+v", s.Sight)
	}
	var k checker
	for _, bad := range []*SightSet{{By: "nose", Condition: "x", A: 1, B: 1}, {By: ByEye, Condition: "x", A: -1, B: 1}, {By: ByEye, Condition: "x", A: 1, B: 0}, {By: ByEye, Condition: "", A: 1, B: 1}} {
		k.problems = nil
		if bad.check(&k); len(k.problems) == 0 {
			t.Errorf("%+v was taken", bad)
		}
	}
}
