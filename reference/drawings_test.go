package reference

import (
	"fmt"
	"strings"
	"testing"

	"holdfast/reference/drawing"
)

// TestDrawingsAgreeWithTheBook: every entry that has a look has a drawing, no
// drawing is left over, and what is drawn is of the length the book gives.
func TestDrawingsAgreeWithTheBook(t *testing.T) {
	used := map[string]bool{AnimalDrawing: true}
	measured := 0
	for _, c := range Builtin().Everything() {
		if c.Kind == Unknown {
			continue
		}
		d, ok := Drawing(c.Drawing)
		if !ok {
			t.Errorf("%s: no drawing %q", c.ID, c.Drawing)
			continue
		}
		used[c.Drawing] = true
		mm, ok := d.MM[c.ID]
		if !ok || c.SizeMM[1] == 0 {
			continue
		}
		measured++
		if mm < c.SizeMM[0] || mm > c.SizeMM[1] {
			t.Errorf("%s is drawn %.2f mm long, the book says %g to %g", c.ID, mm, c.SizeMM[0], c.SizeMM[1])
		}
	}
	for _, n := range drawing.Names() {
		if !used[n] {
			t.Errorf("drawing %s belongs to nothing", n)
		}
	}
	if measured < 20 {
		t.Fatalf("only %d lengths were compared", measured)
	}
}

// TestTheAnimalNamesItsSites: the numbers on the drawing are those of the
// book, in the description as well.
func TestTheAnimalNamesItsSites(t *testing.T) {
	d, _ := Drawing(AnimalDrawing)
	n := 0
	for _, s := range Builtin().Sites() {
		if s.Number == 0 {
			continue
		}
		n++
		if words := fmt.Sprintf("%d %s", s.Number, strings.ToLower(s.Name)); !strings.Contains(strings.ToLower(d.Desc), words) {
			t.Errorf("the description does not say %q", words)
		}
		if !strings.Contains(d.SVG, fmt.Sprintf(">%d</text>", s.Number)) {
			t.Errorf("no number %d on the drawing", s.Number)
		}
	}
	if n < 15 {
		t.Fatalf("only %d numbered sites", n)
	}
}
