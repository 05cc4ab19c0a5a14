package desk

import (
	"errors"
	"testing"

	"holdfast"
	"holdfast/science/clearance"
)

func TestConditionInForce(t *testing.T) {
	file, err := clearance.ConditionFile("rostrum_worm")
	if err != nil {
		t.Fatal(err)
	}
	beliefs := map[string]holdfast.BeliefsSet{"rostrum_worm": {Condition: "rostrum_worm", File: file,
		Figures: map[string]holdfast.OwnFigure{"MoultMean": {Low: 20, High: 30}, "HOn": {Low: 0, High: 0}, "praziquantel": {Low: .9, High: .99}, "infested": {Low: .8, High: .8}}}}
	c, err := ConditionInForce(beliefs, "rostrum_worm")
	if err != nil {
		t.Fatal(err)
	}
	if b := c.Figures[clearance.MoultMean]; b.Low != 20 || b.High != 30 || b.Basis != "own" {
		t.Errorf("moults: %+v", b)
	}
	if got := c.Figures[clearance.HOn].Mean(); got != 0 {
		t.Errorf("hatching on the animal %g, want 0", got)
	}
	if got := c.Treatments["praziquantel"].Kill; got.Low != .9 || got.High != .99 {
		t.Errorf("kill: %+v", got)
	}
	if got := c.Infested.Mean(); got != .8 {
		t.Errorf("infested %g, want .8", got)
	}
	plain, err := ConditionInForce(beliefs, "ciliates")
	if err != nil || plain.ID != "ciliates" {
		t.Errorf("a condition nobody spoke of: %v, %v", plain, err)
	}
	if _, err := ConditionInForce(nil, "no_such"); err == nil {
		t.Error("a condition without a life cycle was given one")
	}
}

func TestBeliefsThatMakeNoConditionAreRefusedAtTheirFigure(t *testing.T) {
	for field, b := range map[string]holdfast.BeliefsSet{
		"Stay":      {Condition: "rostrum_worm", Figures: map[string]holdfast.OwnFigure{"Stay": {Low: .2, High: 5}, "Lay": {Low: .1, High: 1}}},
		"HOn":       {Condition: "rostrum_worm", Figures: map[string]holdfast.OwnFigure{"HOn": {Low: 3, High: 3}}},
		"MoultMean": {Condition: "rostrum_worm", Figures: map[string]holdfast.OwnFigure{"MoultMean": {Low: 0, High: 30}}},
		"nonsense":  {Condition: "rostrum_worm", Figures: map[string]holdfast.OwnFigure{"nonsense": {Low: 1, High: 2}}},
		"file":      {Condition: "rostrum_worm", File: []byte(`{"id":"rostrum_worm"}`)},
	} {
		err := CheckBeliefs(b)
		var p holdfast.Problems
		if !errors.As(err, &p) || len(p) != 1 || p[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	other, err := clearance.ConditionFile("ciliates")
	if err != nil {
		t.Fatal(err)
	}
	if err := CheckBeliefs(holdfast.BeliefsSet{Condition: "rostrum_worm", File: other}); err == nil {
		t.Error("the file of another condition was accepted")
	}
}
