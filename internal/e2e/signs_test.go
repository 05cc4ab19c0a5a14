package e2e

import (
	"net/url"
	"os"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/webtest"
	"holdfast/reference"
	"holdfast/science/signs"
)

// signsShop has a delivery, an own entry, a local name, a case and a
// declaration, so that every page of the reference and the signs is full.
func signsShop(t *testing.T) (s *shop, lot, delivery string) {
	t.Helper()
	s = open(t)
	ctx, mara := t.Context(), desk.Actor{Who: "Mara"}
	delivery, lots, err := s.Receive(ctx, mara, desk.Arrival{Supplier: "Invented Farm", Origin: "farmed_indoor", Boxes: 1, Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 60}}})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Declare(ctx, mara, holdfast.Declared{Consignment: delivery, Answers: map[string]string{"origin": "indoor", "seen": "nothing"}, Words: map[string]string{"food": "spinach, the day before"}, Backed: holdfast.BackedSaid}); err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.WriteEntry(ctx, mara, desk.OwnEntry{Start: "usual", Names: []string{"measles"}, Looks: signs.Answers{"site": {"shell"}, "form": {"patch"}},
		Entry: reference.Condition{Name: "Blue spots", Kind: reference.Disease, Isolation: reference.OwnTank,
			Look: []reference.Claim{{Say: "Blue spots that spread over days.", From: reference.Judgement}}, Do: []reference.Claim{{Say: "Keep apart.", From: reference.CommonPractice}}}}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.NameEntry(ctx, mara, reference.RostrumWorm, []string{"whiskers"}); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Confirm(ctx, mara, lots[0], holdfast.CaseConfirmed{Truth: reference.RostrumWorm, Proof: holdfast.ProofMicroscope, By: "A friend of the shop", Signs: signs.Answers{"site": {"rostrum"}, "form": {"tentacled"}}}); err != nil {
		t.Fatal(err)
	}
	return s, lots[0], delivery
}

// TestSignsPagesEverywhere opens every page of the reference and the signs at
// every width, light and dark, and asks axe.
func TestSignsPagesEverywhere(t *testing.T) {
	b := webtest.New(t)
	s, lot, delivery := signsShop(t)
	lot, delivery = url.QueryEscape(lot), url.PathEscape(delivery)
	empty := open(t)
	for _, p := range []struct{ name, url string }{
		{"reference", s.url + "/reference"}, {"reference-own", s.url + "/reference/condition/own_blue_spots"}, {"reference-named", s.url + "/reference/condition/rostrum_worm"},
		{"reference-new", s.url + "/reference/new"}, {"reference-edit", s.url + "/reference/own/own_blue_spots"},
		{"signs", s.url + "/signs?lot=" + lot}, {"signs-one", s.url + "/signs?lot=" + lot + "&site=rostrum&colour=white"}, {"signs-hold", s.url + "/signs?deaths=fast&form=flecks"},
		{"signs-mark", s.url + "/signs?mark=dots&dots=8&rows=2&mm=0.2"},
		{"cases", s.url + "/signs/cases"}, {"cases-empty", empty.url + "/signs/cases"},
		{"case", s.url + "/signs/case?site=rostrum&form=finger&lot=" + lot}, {"case-empty", empty.url + "/signs/case"},
		{"ask", s.url + "/ask"}, {"ask-delivery", s.url + "/ask?delivery=" + delivery}, {"delivery", s.url + "/deliveries/" + delivery},
	} {
		b.Everywhere(p.url, os.Getenv("HOLDFAST_LOOK"), p.name, func() {
			if h := b.Text("main h1"); h == "" || h == "Not found" {
				t.Errorf("%s: the page is %q", p.name, h)
			}
		})
	}
}

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
