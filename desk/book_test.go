package desk_test

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/reference"
	"holdfast/science/signs"
)

func blueSpots() desk.OwnEntry {
	return desk.OwnEntry{
		Entry: reference.Condition{Name: "Blue spots", Kind: reference.Disease, Isolation: reference.OwnTank, CarriedBy: []string{"neocaridina"},
			Look:  []reference.Claim{{Say: "Blue spots <1 mm> that spread.", From: reference.Judgement}},
			Do:    []reference.Claim{{Say: "Keep apart.", From: reference.CommonPractice}},
			Alike: []reference.Alike{{ID: "pigment", Claim: reference.Claim{Say: "Pigment does not spread.", From: reference.Judgement}}}},
		Names: []string{"measles"}, Looks: signs.Answers{"site": {"shell"}, "form": {"patch"}, "time": {"days"}}, Start: "usual",
	}
}

func TestOwnEntryIsFoundRankedAndLinked(t *testing.T) {
	d := newRoom(t)
	ctx := t.Context()
	id, first, err := d.WriteEntry(ctx, d.me(), blueSpots())
	if err != nil {
		t.Fatal(err)
	}
	b, err := d.Book(ctx)
	if err != nil || len(b.Passed) > 0 {
		t.Fatalf("%v %q", err, b.Passed)
	}
	if hits := b.Reference.Search("measles"); len(hits) != 1 || hits[0].ID != id {
		t.Errorf("the local name finds %v", hits)
	}
	c, ok := b.Reference.Condition(id)
	if !ok || !c.Own() || c.Look[0].Say != "Blue spots <1 mm> that spread." || b.Reference.Version != 1 {
		t.Errorf("%+v, version %d", c, b.Reference.Version)
	}
	back := b.Reference.Related("look-alike", "pigment")
	if !slices.ContainsFunc(back, func(l reference.Link) bool { return l.ID == id }) {
		t.Errorf("pigment does not lead back to it: %v", back)
	}
	if !slices.Contains(b.Signs.Suspects(), id) {
		t.Error("it takes no part in the ranking")
	}
	// A new version, then taken back: the first one holds again.
	e := blueSpots()
	e.Entry.ID, e.Entry.Name = id, "Blue patches"
	_, second, err := d.WriteEntry(ctx, d.me(), e)
	if err != nil {
		t.Fatal(err)
	}
	if b, _ = d.Book(ctx); b.Called(id) != "Blue patches" || len(b.Kept.Past) != 2 {
		t.Errorf("called %q, %d versions", b.Called(id), len(b.Kept.Past))
	}
	if _, err := d.Undo(ctx, d.me(), second, ""); err != nil {
		t.Fatal(err)
	}
	if b, _ = d.Book(ctx); b.Called(id) != "Blue spots" || b.Reference.Version != 3 {
		t.Errorf("called %q, version %d", b.Called(id), b.Reference.Version)
	}
	if _, err := d.Undo(ctx, d.me(), first, ""); err != nil {
		t.Fatal(err)
	}
	if b, _ = d.Book(ctx); b.Called(id) != id {
		t.Error("it is still there after it was taken back")
	}
}

func TestOwnEntryRefuses(t *testing.T) {
	d := newRoom(t)
	for name, f := range map[string]func(*desk.OwnEntry){
		"missing source":       func(e *desk.OwnEntry) { e.Entry.Look[0].From = "" },
		"invented source":      func(e *desk.OwnEntry) { e.Entry.Look[0].From = "somebody2099" },
		"dose without caution": func(e *desk.OwnEntry) { e.Entry.Do[0].Say = "Give 3 mg/L." },
		"broken link":          func(e *desk.OwnEntry) { e.Entry.Alike[0].ID = "nix" },
		"brand pattern":        func(e *desk.OwnEntry) { e.Entry.Do[0].Say = "Use WormAway." },
		"brand as a name":      func(e *desk.OwnEntry) { e.Names = []string{"WormAway"} },
		"no looks in words":    func(e *desk.OwnEntry) { e.Entry.Look = nil },
		"unknown sign":         func(e *desk.OwnEntry) { e.Looks = signs.Answers{"site": {"moon"}} },
		"another's id":         func(e *desk.OwnEntry) { e.Entry.ID = reference.RostrumWorm },
		"no name":              func(e *desk.OwnEntry) { e.Entry.Name = "!" },
	} {
		e := blueSpots()
		e.Entry.Look, e.Entry.Do, e.Entry.Alike = slices.Clone(e.Entry.Look), slices.Clone(e.Entry.Do), slices.Clone(e.Entry.Alike)
		f(&e)
		if _, _, err := d.WriteEntry(t.Context(), d.me(), e); err == nil {
			t.Errorf("%s was kept", name)
		}
	}
	b, err := d.Book(t.Context())
	if err != nil || len(b.Kept.All) != 0 {
		t.Errorf("refused entries stand in the journal: %d (%v)", len(b.Kept.All), err)
	}
}

func TestLocalNamesAreKeptAndDroppedAgain(t *testing.T) {
	d := newRoom(t)
	if _, err := d.NameEntry(t.Context(), d.me(), reference.RostrumWorm, []string{"whiskers"}); err != nil {
		t.Fatal(err)
	}
	b, _ := d.Book(t.Context())
	if hits := b.Reference.Search("whiskers"); len(hits) != 1 || hits[0].ID != reference.RostrumWorm {
		t.Errorf("%v", hits)
	}
	if _, err := d.NameEntry(t.Context(), d.me(), reference.RostrumWorm, nil); err != nil {
		t.Fatal(err)
	}
	if b, _ = d.Book(t.Context()); len(b.Reference.Search("whiskers")) != 0 {
		t.Error("the name is still there")
	}
	var e *holdfast.Error
	if _, err := d.NameEntry(t.Context(), d.me(), "nix", []string{"x"}); !errors.As(err, &e) || e.Kind != holdfast.NotFound {
		t.Errorf("%v", err)
	}
}

func TestConfirmedCaseMovesTheSignsAndIsTakenBack(t *testing.T) {
	d := newRoom(t)
	answers := signs.Answers{"site": {"belly"}, "form": {"finger"}}
	share := func() float64 {
		b, err := d.Book(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		r, err := b.Signs.Rank(answers)
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range r.Suspects {
			if s.ID == reference.SegmentedWorm {
				return s.Share
			}
		}
		return math.NaN()
	}
	before := share()
	id, err := d.Confirm(t.Context(), d.me(), "", holdfast.CaseConfirmed{Truth: reference.SegmentedWorm, Proof: holdfast.ProofLaboratory, Signs: answers})
	if err != nil {
		t.Fatal(err)
	}
	if after := share(); !(after > before) {
		t.Errorf("the share went from %g to %g", before, after)
	}
	if _, err := d.Undo(t.Context(), d.me(), id, ""); err != nil {
		t.Fatal(err)
	}
	if after := share(); after != before {
		t.Errorf("taken back, but %g instead of %g", after, before)
	}
	for name, p := range map[string]holdfast.CaseConfirmed{
		"unknown truth": {Truth: "nix", Proof: holdfast.ProofLaboratory, Signs: answers},
		"unknown sign":  {Truth: reference.SegmentedWorm, Proof: holdfast.ProofLaboratory, Signs: signs.Answers{"site": {"moon"}}},
		"no sign":       {Truth: reference.SegmentedWorm, Proof: holdfast.ProofLaboratory},
		"no proof":      {Truth: reference.SegmentedWorm, Signs: answers},
	} {
		if _, err := d.Confirm(t.Context(), d.me(), "", p); err == nil {
			t.Errorf("%s was kept", name)
		}
	}
}

func TestConfirmedNotifiableCaseHoldsItsLot(t *testing.T) {
	d := newRoom(t)
	lot := arrive(t, d)
	if _, err := d.Confirm(t.Context(), d.me(), lot, holdfast.CaseConfirmed{Truth: reference.ListedDisease, Proof: holdfast.ProofLaboratory, By: "state laboratory", Signs: signs.Answers{"deaths": {"fast"}}}); err != nil {
		t.Fatal(err)
	}
	l, err := d.Lot(t.Context(), lot)
	if err != nil || !slices.Contains(l.Suspects, reference.ListedDisease) || l.Status != holdfast.Held {
		t.Errorf("suspects %v, status %s (%v)", l.Suspects, l.Status, err)
	}
}

// arrive receives one lot of a supplier that declared an origin.
func arrive(t *testing.T, d *room) string {
	t.Helper()
	_, lots, err := d.Receive(t.Context(), d.me(), desk.Arrival{Supplier: "Reed", Lines: []desk.ArrivalLine{{Strain: "blue velvet", Declared: 100}}})
	if err != nil {
		t.Fatal(err)
	}
	return lots[0]
}

func clearOf(t *testing.T, d *room, lot string) float64 {
	t.Helper()
	v, err := d.View(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range v.Assessed {
		if a.Condition.ID == reference.RostrumWorm {
			return a.Figure.Chance
		}
	}
	t.Fatal("no figure for the rostrum worm")
	return 0
}

func TestDeclarationsMoveThePrior(t *testing.T) {
	d := newRoom(t)
	lot := arrive(t, d)
	l, err := d.Lot(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	unsaid := clearOf(t, d, lot)
	say := func(backed string, answers map[string]string) (holdfast.ID, float64) {
		t.Helper()
		id, err := d.Declare(t.Context(), d.me(), holdfast.Declared{Consignment: l.Consignment, Answers: answers, Backed: backed})
		if err != nil {
			t.Fatal(err)
		}
		return id, clearOf(t, d, lot)
	}
	back := func(id holdfast.ID) {
		t.Helper()
		if _, err := d.Undo(t.Context(), d.me(), id, ""); err != nil {
			t.Fatal(err)
		}
		if got := clearOf(t, d, lot); got != unsaid {
			t.Errorf("taken back, the chance is %g, before anything was said %g", got, unsaid)
		}
	}
	id, only := say(holdfast.BackedSaid, map[string]string{"origin": "indoor"})
	back(id)
	id, shown := say(holdfast.BackedShown, map[string]string{"origin": "indoor"})
	back(id)
	id, seen := say(holdfast.BackedSeen, map[string]string{"origin": "indoor"})
	back(id)
	if !(unsaid < only && only < shown && shown < seen) {
		t.Errorf("indoors: unsaid %g, said %g, shown %g, seen %g", unsaid, only, shown, seen)
	}
	id, wild := say(holdfast.BackedSaid, map[string]string{"origin": "wild"})
	back(id)
	_, worms := say(holdfast.BackedSaid, map[string]string{"origin": "wild", "seen": "worms", "shared_water": "shared", "bred_or_traded": "bought_lately"})
	if !(worms < wild && wild < unsaid) {
		t.Errorf("unsaid %g, wild %g, everything against it %g", unsaid, wild, worms)
	}
	v, err := d.View(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	if a := v.Signs(); !slices.Equal(a["origin"], []string{"wild"}) || !slices.Equal(a["animal"], []string{"neocaridina"}) {
		t.Errorf("the signs begin with %v", a)
	}
}

func TestDeclarationBeforeBuyingGoesWithTheDelivery(t *testing.T) {
	d := newRoom(t)
	if _, err := d.Declare(t.Context(), d.me(), holdfast.Declared{Supplier: "reed ", Answers: map[string]string{"origin": "pond"}, Words: map[string]string{"treatments": "salt, a week before"}, Backed: holdfast.BackedSaid}); err != nil {
		t.Fatal(err)
	}
	l, err := d.Lot(t.Context(), arrive(t, d))
	if err != nil {
		t.Fatal(err)
	}
	c, err := d.Consignment(t.Context(), l.Consignment)
	if err != nil || len(c.Declared) != 1 {
		t.Fatalf("%d declarations with the delivery (%v)", len(c.Declared), err)
	}
	lines := desk.Declarations(c)
	if len(lines) != 2 || !strings.Contains(lines[0].Answer+lines[1].Answer, "salt, a week before") {
		t.Errorf("%+v", lines)
	}
	// It went with one delivery; the next must be asked anew.
	l2, _ := d.Lot(t.Context(), arrive(t, d))
	if c, _ := d.Consignment(t.Context(), l2.Consignment); len(c.Declared) != 0 {
		t.Error("one declaration went with two deliveries")
	}
}

func TestDeclareRefuses(t *testing.T) {
	d := newRoom(t)
	for name, p := range map[string]holdfast.Declared{
		"nothing":          {Supplier: "Reed", Backed: holdfast.BackedSaid},
		"unknown answer":   {Supplier: "Reed", Answers: map[string]string{"origin": "moon"}, Backed: holdfast.BackedSaid},
		"unknown question": {Supplier: "Reed", Words: map[string]string{"moon": "x"}, Backed: holdfast.BackedSaid},
		"no supplier":      {Answers: map[string]string{"origin": "pond"}, Backed: holdfast.BackedSaid},
		"no delivery":      {Consignment: "nix", Answers: map[string]string{"origin": "pond"}, Backed: holdfast.BackedSaid},
		"no backing":       {Supplier: "Reed", Answers: map[string]string{"origin": "pond"}},
	} {
		if _, err := d.Declare(t.Context(), d.me(), p); err == nil {
			t.Errorf("%s was kept", name)
		}
	}
}
