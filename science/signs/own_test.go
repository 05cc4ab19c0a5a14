package signs

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/ref"
)

func ownBlue() Own {
	return Own{ID: "own_blue", Start: "usual", Who: AskMicroscope,
		Looks: Answers{"site": {"shell"}, "colour": {"own"}, "form": {"cysts"}}}
}

func TestOwnSuspectTakesPart(t *testing.T) {
	m, err := New([]Own{ownBlue()}, nil)
	if err != nil {
		t.Fatal(err)
	}
	r, err := m.Rank(Answers{"site": {"shell"}, "colour": {"own"}, "form": {"cysts"}})
	if err != nil {
		t.Fatal(err)
	}
	if r.Suspects[0].ID != "own_blue" || r.Ask != AskMicroscope {
		t.Errorf("%s leads with %.2f, ask %s", r.Suspects[0].ID, r.Suspects[0].Share, r.Ask)
	}
	sum := 0.
	for _, s := range r.Suspects {
		sum += s.Share
	}
	if math.Abs(sum-1) > 1e-12 || m.Suspects()[len(m.Suspects())-1] != Other {
		t.Errorf("shares sum to %g, last is %s", sum, m.Suspects()[len(m.Suspects())-1])
	}
	if len(Default().Suspects())+1 != len(m.Suspects()) {
		t.Error("the shipped model changed")
	}
}

// Own suspects must not push the truth of the frozen cases aside.
func TestOwnSuspectLeavesTheFrozenCasesRight(t *testing.T) {
	m, err := New([]Own{ownBlue()}, nil)
	if err != nil {
		t.Fatal(err)
	}
	cases := readCases(t)
	first := 0
	for _, c := range cases {
		r, err := m.Rank(c.Answers)
		if err != nil {
			t.Fatal(err)
		}
		if place(r, c) == 0 {
			first++
		}
	}
	if first < 57 {
		t.Errorf("only %d of %d still come first", first, len(cases))
	}
}

func TestOwnRefuses(t *testing.T) {
	for name, f := range map[string]func(*Own){
		"id that ships": func(o *Own) { o.ID = "rostrum_worm" },
		"no id":         func(o *Own) { o.ID = "" },
		"start":         func(o *Own) { o.Start = "often" },
		"who":           func(o *Own) { o.Who = "my brother" },
		"nothing":       func(o *Own) { o.Looks = nil },
		"settings only": func(o *Own) { o.Looks = Answers{"animal": {"prawn"}} },
		"bad option":    func(o *Own) { o.Looks = Answers{"site": {"moon"}} },
		"bad question":  func(o *Own) { o.Looks = Answers{"moon": {"site"}} },
	} {
		o := ownBlue()
		f(&o)
		var in *ref.InputError
		if _, err := New([]Own{o}, nil); !errors.As(err, &in) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := New([]Own{ownBlue(), ownBlue()}, nil); err == nil {
		t.Error("the same suspect twice was taken")
	}
}

func TestNewWithoutAnythingIsDefault(t *testing.T) {
	if m, err := New(nil, nil); err != nil || m != Default() {
		t.Errorf("%v", err)
	}
}

// A case of an own suspect moves its row; any answers give finite shares.
func TestOwnSuspectLearnsAndStaysFinite(t *testing.T) {
	cases := []Case{{Truth: "own_blue", Proof: Laboratory, Answers: Answers{"motion": {"glides"}}}}
	m, err := New([]Own{ownBlue()}, cases)
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range m.Learned() {
		if l.ID == "own_blue" && (l.Cases != 1 || l.PriorWeight >= 1) {
			t.Errorf("%+v", l)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		a := Answers{}
		for _, q := range m.Questions() {
			for _, o := range q.Options {
				if rapid.IntRange(0, 3).Draw(t, o.ID) == 0 {
					a[q.ID] = append(a[q.ID], o.ID)
				}
			}
		}
		r, err := m.Rank(a)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.
		for _, s := range r.Suspects {
			if math.IsNaN(s.Share) || s.Share < 0 {
				t.Fatalf("%s has %g", s.ID, s.Share)
			}
			sum += s.Share
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("sum %g", sum)
		}
	})
}

func BenchmarkNewWithCase(b *testing.B) {
	cases := []Case{{Truth: "rostrum_worm", Proof: Laboratory, Answers: Answers{"site": {"rostrum"}}}}
	for b.Loop() {
		if _, err := New([]Own{ownBlue()}, cases); err != nil {
			b.Fatal(err)
		}
	}
}

func TestChangesNamesWhatMoved(t *testing.T) {
	if c := Default().Changes(Default()); len(c) != 0 {
		t.Errorf("nothing moved, but %v", c)
	}
	m, err := Learn([]Case{{Truth: "rostrum_worm", Proof: Laboratory, Answers: Answers{"moult": {"stays"}}}})
	if err != nil {
		t.Fatal(err)
	}
	all := m.Changes(Default())
	if len(all) == 0 || all[0].Suspect != "rostrum_worm" || all[0].Question != "moult" || all[0].Option != "stays" || all[0].After <= all[0].Before {
		t.Errorf("the largest change is %+v", all)
	}
}
