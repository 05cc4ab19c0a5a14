package reference

import (
	"slices"
	"testing"
)

func ids(all []Condition) []string {
	var out []string
	for _, c := range all {
		out = append(out, c.ID)
	}
	return out
}

func TestIdsTheDeskWritesExist(t *testing.T) {
	for _, id := range []string{RostrumWorm, EggRow, SegmentedWorm, OtherFlatworm, Ciliates, GreenGrowth, MuscleParasite, ShellLesion, WaterMould, GillBulge, ListedDisease, CrayfishPlague, Other, CannotTell} {
		if c, ok := Builtin().Condition(id); !ok || !c.IsCondition() {
			t.Errorf("%s: not a condition of the book", id)
		}
	}
}

func TestFlags(t *testing.T) {
	var notifiable, deadly, tracked []string
	for _, c := range Conditions() {
		if c.NotifiableSuspect {
			notifiable = append(notifiable, c.ID)
		}
		if c.KillsNoCure {
			deadly = append(deadly, c.ID)
		}
		if c.Tracked {
			tracked = append(tracked, c.ID)
		}
	}
	for _, c := range []struct{ got, want []string }{
		{notifiable, []string{ListedDisease, CrayfishPlague}},
		{deadly, []string{GreenGrowth, MuscleParasite, ListedDisease, CrayfishPlague}},
		{tracked, []string{RostrumWorm, SegmentedWorm, GreenGrowth}},
	} {
		if !slices.Equal(c.got, c.want) {
			t.Errorf("got %v, want %v", c.got, c.want)
		}
	}
}

func TestCanCarry(t *testing.T) {
	neo := ids(CanCarry("neocaridina"))
	for _, want := range []string{RostrumWorm, SegmentedWorm, GreenGrowth, Ciliates} {
		if !slices.Contains(neo, want) {
			t.Errorf("cherry shrimp: %s is missing", want)
		}
	}
	for _, not := range []string{EggRow, Other, CannotTell, CrayfishPlague, "saddle", "planaria"} {
		if slices.Contains(neo, not) {
			t.Errorf("cherry shrimp: %s does not belong", not)
		}
	}
	if bySpecies := ids(CanCarry("neocaridina_davidi")); !slices.Equal(bySpecies, neo) {
		t.Errorf("by species %v, by group %v", bySpecies, neo)
	}
	if got := ids(CanCarry("crayfish")); !slices.Contains(got, CrayfishPlague) || slices.Contains(got, RostrumWorm) {
		t.Errorf("crayfish: %v", got)
	}
	unknown := ids(CanCarry("never heard of"))
	for _, g := range Builtin().Groups() {
		for _, id := range ids(CanCarry(g.ID)) {
			if !slices.Contains(unknown, id) {
				t.Errorf("an unknown animal is not thought to carry %s, which %s can", id, g.ID)
			}
		}
	}
}

func TestKeysAreNumberedFromOne(t *testing.T) {
	keys := Builtin().Keys()
	if len(keys) < 6 {
		t.Fatalf("only %d keys", len(keys))
	}
	for i, k := range keys {
		if k.Key != i+1 || k.KeyLabel == "" {
			t.Errorf("key %d is %s with number %d and label %q", i+1, k.ID, k.Key, k.KeyLabel)
		}
	}
}

func TestOriginNamesTheSource(t *testing.T) {
	c, _ := Builtin().Condition(RostrumWorm)
	if got := c.Look[0].Origin(); len(got) < 40 {
		t.Errorf("origin %q is not a citation", got)
	}
	if got := (Claim{From: Judgement}).Origin(); got != Judgement {
		t.Errorf("origin of a judgement: %q", got)
	}
}
