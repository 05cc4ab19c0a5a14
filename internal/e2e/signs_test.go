package e2e

import (
	"strings"
	"testing"

	"holdfast/internal/web/webtest"
)

// TestFromAWhiteThingToTheNextStep is a newcomer with a phone who sees a white
// thing between the eyes: how many touches to a suspicion and a next look.
func TestFromAWhiteThingToTheNextStep(t *testing.T) {
	b := webtest.New(t)
	s := open(t)
	b.Look(webtest.Phone, webtest.Light)
	b.Go(s.url + "/round")
	touches := 0
	touch := func(do func()) { do(); touches++ }
	touch(func() { b.Press("What might this be?") })
	touch(func() { b.Click(`input[name="site"][value="rostrum"] + span`) })
	touch(func() { b.Press("Weigh it") })
	if got := b.Text("#suspects"); !strings.Contains(got, "Rostrum worm") {
		t.Fatalf("after the place alone: %s", got)
	}
	next := b.Text("#next")
	if next == "" {
		t.Fatal("the page does not say what to look at next")
	}
	touch(func() { b.Click(`#seen details:has(input[name="colour"]) summary`) })
	touch(func() { b.Click(`input[name="colour"][value="white"] + span`) })
	touch(func() { b.Press("Weigh again") })
	if got := b.Text("#suspects"); !strings.Contains(got, "Rostrum worm") || !strings.Contains(b.Text("main"), "What else looks like it") {
		t.Errorf("after place and colour: %s", got)
	}
	t.Logf("%d touches from the round to suspects, look-alikes and the next look; 3 to the first answer. Next: %.80s", touches, next)
	if touches > 8 {
		t.Errorf("%d touches, more than a minute with wet hands", touches)
	}
}
