package web_test

import (
	"net/http"
	"slices"
	"testing"

	"holdfast"
	"holdfast/internal/web"
)

// What was tapped on the animal in hand is part of the look that is saved;
// sides alone, carried over from the one before, are not.
func TestSavingKeepsTheAnimalInHand(t *testing.T) {
	for _, c := range []struct {
		say           []string
		looked, found int
	}{{nil, 1, 0}, {[]string{"rostrum_worm"}, 2, 1}} {
		d, lots := stocked(t, 1)
		v := serve(t, web.Config{Desk: d})
		at := "/lots/" + lots[0] + "/look"
		sides := []string{"side", "left", "side", "right"}
		first := want(t, v.post(at, want(t, v.get(at), http.StatusOK).sent("#look", append(sides, "do", "next")...)), http.StatusOK)
		typed := append(slices.Clone(sides), "do", "save")
		for _, s := range c.say {
			typed = append(typed, "say", s)
		}
		want(t, v.post(at, first.sent("#look", typed...)), http.StatusSeeOther)
		l, err := d.Lot(t.Context(), lots[0])
		if err != nil {
			t.Fatal(err)
		}
		for _, ev := range l.All {
			if p, ok := ev.Payload.(*holdfast.Inspection); ok {
				if p.Looked() != c.looked || p.Positive() != c.found {
					t.Errorf("%v tapped: looked at %d, found %d", c.say, p.Looked(), p.Positive())
				}
				c.looked = -1
			}
		}
		if c.looked != -1 {
			t.Error("no look was saved")
		}
	}
}
