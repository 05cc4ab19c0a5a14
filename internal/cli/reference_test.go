package cli

import (
	"encoding/json"
	"strings"
	"testing"

	"holdfast/reference"
)

func TestReferenceSearchAndShow(t *testing.T) {
	status, out, _ := command("", "reference", "search", "--json", "beard", "worm")
	var found struct{ Hits []reference.Hit }
	if err := json.Unmarshal([]byte(out), &found); err != nil || status != StatusDone {
		t.Fatalf("status %d: %v", status, err)
	}
	if len(found.Hits) == 0 || found.Hits[0].ID != reference.RostrumWorm {
		t.Errorf("found %+v", found.Hits)
	}
	status, out, _ = command("", "reference", "search", "nosuchword")
	if status != StatusNoAnswer || out != "" {
		t.Errorf("nothing found: status %d, %q", status, out)
	}
}

// TestReferenceShowsEverything prints every entry both ways: each claim must
// come with its origin.
func TestReferenceShowsEverything(t *testing.T) {
	b := reference.Builtin()
	var all []string
	for _, e := range b.Everything() {
		all = append(all, e.ID)
	}
	for _, m := range b.Medicines() {
		all = append(all, m.ID)
	}
	for _, k := range b.Species() {
		all = append(all, k.ID)
	}
	for _, p := range b.Topics() {
		all = append(all, p.ID)
	}
	for _, l := range b.Listed().Diseases {
		all = append(all, l.ID)
	}
	for _, id := range all {
		status, out, errs := command("", "reference", "show", id)
		if status != StatusDone || !strings.Contains(out, "not a diagnosis") {
			t.Errorf("%s: status %d, %s%s", id, status, out, errs)
		}
		status, out, _ = command("", "reference", "show", "--json", id)
		if status != StatusDone || !json.Valid([]byte(out)) {
			t.Errorf("%s as JSON: status %d", id, status)
		}
	}
	if len(all) < 70 {
		t.Fatalf("only %d entries", len(all))
	}
	_, out, _ := command("", "reference", "show", "rostrum_worm")
	if !strings.Contains(out, "Maciaszek") || !strings.Contains(out, "common practice") {
		t.Errorf("no sources:\n%s", out)
	}
}

func TestReferenceList(t *testing.T) {
	_, out, _ := command("", "reference", "list", "--carried-by", "neocaridina_davidi")
	if !strings.Contains(out, "rostrum_worm") || strings.Contains(out, "crayfish_plague") {
		t.Errorf("carried:\n%s", out)
	}
	if status, _, errs := command("", "reference", "list", "--json", "--carried-by", "whale"); status != StatusInput || !strings.Contains(errs, "neocaridina") {
		t.Errorf("status %d, %s", status, errs)
	}
	if status, _, errs := command("", "reference", "show", "--json", "rostrum_wurm"); status != StatusInput || !strings.Contains(errs, "hint") {
		t.Errorf("status %d, %s", status, errs)
	}
}

func TestReferenceDraw(t *testing.T) {
	for _, id := range []string{"animal", "rostrum_worm", "muscle_stress", "planaria"} {
		if status, out, errs := command("", "reference", "draw", id); status != StatusDone || !strings.HasPrefix(out, "<svg ") {
			t.Errorf("%s: status %d, %s", id, status, errs)
		}
	}
	for _, id := range []string{"other", "unicorn"} {
		if status, out, _ := command("", "reference", "draw", id); status != StatusInput || out != "" {
			t.Errorf("%s: status %d, %q", id, status, out)
		}
	}
}
