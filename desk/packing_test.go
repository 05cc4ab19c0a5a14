package desk_test

import (
	"strings"
	"testing"

	"holdfast/desk"
	"holdfast/intake"
)

// What a list says beside strain, number and price stands in the delivery's note.
func TestPackingWords(t *testing.T) {
	for _, c := range []struct {
		lines []intake.Line
		want  string
	}{
		{nil, ""},
		{[]intake.Line{{Strain: "Amano"}}, ""},
		{[]intake.Line{{Strain: "Amano", Bag: "7"}}, ""}, // the bag is the box
		{[]intake.Line{{Strain: "Amano", Box: "1", Bag: "7", Size: "3-4  cm", Sex: "mixed", Notes: "2 DOA\nexpected"}, {Strain: "Red"}, {Strain: "Blue", Notes: "strong"}},
			"Amano: bag 7, 3-4 cm, mixed, 2 DOA expected; Blue: strong"},
	} {
		if got := desk.PackingWords(c.lines); got != c.want {
			t.Errorf("%q, want %q", got, c.want)
		}
	}
	many := make([]intake.Line, 500)
	for i := range many {
		many[i] = intake.Line{Strain: "Amano", Notes: strings.Repeat("é", 40)}
	}
	if got := desk.PackingWords(many); len(got) > 2000 || !strings.Contains(got, "more lines, see the file") {
		t.Errorf("%d bytes: %.60s", len(got), got)
	}
	many[0].Notes = strings.Repeat("x", 5000)
	if got := desk.PackingWords(many); got != "and of 500 more lines, see the file" {
		t.Errorf("%.100q", got)
	}
}
