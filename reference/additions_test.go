package reference

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"holdfast/science/ref"
)

func ownCondition() Condition {
	return Condition{
		ID: OwnPrefix + "blue_spot", Name: "Blue spots", Kind: Disease, Isolation: OwnTank,
		CarriedBy: []string{"neocaridina"}, Sites: []string{"carapace"},
		Look: []Claim{{Say: "Blue spots that spread.", From: Judgement}},
		Do:   []Claim{{Say: "Keep apart.", From: Judgement}},
	}
}

func TestWithAddsAndLeavesTheOldBookAlone(t *testing.T) {
	old := Builtin()
	b, err := old.With(Additions{Version: 3, Conditions: []Condition{ownCondition()}, LocalNames: map[string][]string{RostrumWorm: {"whiskers"}}})
	if err != nil {
		t.Fatal(err)
	}
	if b.Version != 3 || old.Version != 0 {
		t.Errorf("versions %d and %d", b.Version, old.Version)
	}
	if hits := b.Search("whiskers"); len(hits) != 1 || hits[0].ID != RostrumWorm {
		t.Errorf("the shop's own word finds %v", hits)
	}
	if len(old.Search("whiskers")) != 0 || len(old.Search("blue spots")) != 0 {
		t.Error("the old book changed")
	}
	if !slices.Contains(ids(b.CanCarry("neocaridina")), OwnPrefix+"blue_spot") {
		t.Error("the shop's condition is carried by nobody")
	}
}

func TestWithRefuses(t *testing.T) {
	change := func(f func(*Condition)) Additions {
		c := ownCondition()
		f(&c)
		return Additions{Conditions: []Condition{c}}
	}
	for name, c := range map[string]struct {
		a    Additions
		want string
	}{
		"another's id":   {change(func(c *Condition) { c.ID = RostrumWorm }), "not one of yours"},
		"same id twice":  {Additions{Conditions: []Condition{ownCondition(), ownCondition()}}, "twice"},
		"no source":      {change(func(c *Condition) { c.Look[0].From = "" }), "no source"},
		"bad link":       {change(func(c *Condition) { c.Alike = []Alike{{ID: "nix", Claim: Claim{Say: "x", From: Judgement}}} }), "nix"},
		"dose":           {change(func(c *Condition) { c.Do[0].Say = "Give 3 mg/L." }), "caution"},
		"unknown name":   {Additions{LocalNames: map[string][]string{"nix": {"x"}}}, "nix"},
		"empty name":     {Additions{LocalNames: map[string][]string{RostrumWorm: {" "}}}, "empty name"},
		"unknown kind":   {change(func(c *Condition) { c.Kind = "curse" }), "curse"},
		"unknown animal": {change(func(c *Condition) { c.CarriedBy = []string{"whale"} }), "whale"},
	} {
		b, err := Builtin().With(c.a)
		var in *ref.InputError
		if b != nil || !errors.As(err, &in) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
