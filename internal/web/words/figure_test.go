package words

import (
	"testing"

	"holdfast/science/clearance"
)

// A figure without words of its own would be shown under the name that only
// the data file knows, and two under one name could not be told apart.
func TestEveryFigureHasAName(t *testing.T) {
	c, err := clearance.LoadCondition("rostrum_worm")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]string{}
	for f := range c.Figures {
		name := clearance.Figure(f).String()
		said := Figure(name)
		if said == "" || seen[said] != "" {
			t.Errorf("%s is called %q, as is %q", name, said, seen[said])
		}
		seen[said] = name
	}
	if len(seen)+1 != len(figures) { // and whether the lot carries it at all
		t.Errorf("%d words for %d figures", len(figures), len(seen))
	}
}
