package reference

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func found(hits []Hit) []string {
	var out []string
	for _, h := range hits {
		out = append(out, h.ID)
	}
	return out
}

func TestSearchFindsWhatPeopleType(t *testing.T) {
	for _, c := range []struct{ query, want string }{
		{"scutariella", RostrumWorm},
		{"beard worm", RostrumWorm},
		{"green fungus", GreenGrowth},
		{"VORTICELLA", Ciliates},
		{"white ring", "failed_moult"},
		{"holtodrilus", SegmentedWorm},
		{"crystal red", "caridina_bee"},
		{"salt", "sodium_chloride_dip"},
		{"fenbendazole", "benzimidazole"},
		{"yellow head", "yellow_head"},
		{"saddle", "saddle"},
	} {
		hits := Builtin().Search(c.query)
		if first := found(hits[:min(3, len(hits))]); !slices.Contains(first, c.want) {
			t.Errorf("%q finds %v first, not %s", c.query, first, c.want)
		}
	}
}

func TestSearchIsBoundedAndNeedsEveryWord(t *testing.T) {
	b := Builtin()
	for _, q := range []string{"", "   ", "!!!", "scutariella bicycle"} {
		if hits := b.Search(q); len(hits) != 0 {
			t.Errorf("%q finds %v", q, found(hits))
		}
	}
	b.Search(strings.Repeat("worm ", 100_000))
	rapid.Check(t, func(t *rapid.T) {
		q := rapid.StringN(0, 40, -1).Draw(t, "query")
		hits := b.Search(q)
		if up := b.Search(strings.ToUpper(q)); strings.ToLower(strings.ToUpper(q)) == strings.ToLower(q) && len(up) != len(hits) {
			t.Fatalf("%q finds %d, in capitals %d", q, len(hits), len(up))
		}
		for _, h := range hits {
			if h.Score <= 0 || h.ID == "" || h.Name == "" {
				t.Fatalf("%+v", h)
			}
		}
	})
}

func TestLinksGoBothWays(t *testing.T) {
	b := Builtin()
	n := 0
	check := func(what, id string) {
		for _, l := range b.Related(what, id) {
			n++
			if l.Name == "" {
				t.Errorf("%s %s: link to the nameless %s", what, id, l.ID)
			}
			if !slices.ContainsFunc(b.Related(l.What, l.ID), func(back Link) bool { return back.ID == id && kindOf(back.What) == kindOf(what) }) {
				t.Errorf("%s %s links to %s %s, which does not link back", what, id, l.What, l.ID)
			}
		}
	}
	for _, c := range b.Everything() {
		check(c.What(), c.ID)
	}
	for _, k := range b.Species() {
		check("species", k.ID)
	}
	for _, m := range b.Medicines() {
		check("medicine", m.ID)
	}
	for _, g := range b.Groups() {
		check("group", g.ID)
	}
	for _, l := range b.Listed().Diseases {
		check("listed disease", l.ID)
	}
	if n < 200 {
		t.Fatalf("only %d links", n)
	}
}

func TestEveryLookAlikeIsReached(t *testing.T) {
	b := Builtin()
	for _, c := range b.LookAlikes() {
		if len(b.Related("condition", c.ID)) == 0 {
			t.Errorf("nothing links to %s: nobody will find it", c.ID)
		}
	}
}
