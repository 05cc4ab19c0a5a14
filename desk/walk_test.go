package desk_test

import (
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
)

// The walk goes from the cleanest water to the worst, with a hygiene stop before
// each worse section, whatever order the tanks stand in.
func TestWalkGoesFromCleanToWorse(t *testing.T) {
	r := newRoom(t)
	for _, id := range []string{"4", "5"} {
		r.must(second(r.SetTank(r.ctx, r.me(), desk.TankForm{ID: id, Use: "quarantine", Place: 1, Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}})))
	}
	in := func(tank string) string {
		t.Helper()
		_, lots, err := r.Receive(r.ctx, r.me(), desk.Arrival{Supplier: "Invented Farm", Boxes: 1,
			Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 100, Tank: tank}}})
		r.must(err)
		return lots[0]
	}
	suspected, found, clean := in("1"), in("4"), in("5")
	in("3") // nobody has looked
	r.must(r.Hold(r.ctx, r.me(), suspected, "white tails", "listed_disease"))
	r.look(found, 30, 1)
	r.must(r.Release(r.ctx, r.me(), clean, desk.ReleaseForm{Override: "a test needs a lot that is released"}))
	day, err := r.Today(r.ctx)
	r.must(err)
	walk, err := r.Round(r.ctx, day)
	r.must(err)
	var order []string
	last := desk.Clean - 1
	for i, s := range walk.Sections {
		if s.Zone <= last {
			t.Errorf("section %d is %v, after %v", i, s.Zone, last)
		}
		last = s.Zone
		if (s.Hygiene == nil) != (i == 0) {
			t.Errorf("section %d: hygiene stop %v", i, s.Hygiene != nil)
		}
		for _, st := range s.Stops {
			order = append(order, st.ID)
		}
	}
	if got := strings.Join(order, " "); got != "5 3 4 1" {
		t.Errorf("the walk goes %s, want 5 3 4 1", got)
	}

	// The stop stays done when other animals make another tank the first.
	stop := walk.Sections[1].Hygiene
	r.must(r.Tick(r.ctx, r.me(), "", stop.Tank, stop.Key, ""))
	r.must(second(r.SetTank(r.ctx, r.me(), desk.TankForm{ID: "6", Use: "quarantine", Place: 0, Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}})))
	in("6")
	walk, err = r.Round(r.ctx, day)
	r.must(err)
	if s := walk.Sections[1]; s.Stops[0].ID != "6" || s.Hygiene.Open() {
		t.Errorf("with tank %s first in the section, the stop is open: %v", s.Stops[0].ID, s.Hygiene.Open())
	}
}

// A normal bad day does not nag; one that the lot's own past makes unlikely does.
func TestABadDayDoesNotNag(t *testing.T) {
	for _, c := range []struct {
		name    string
		past    []int // dead on each day before
		today   int
		unusual bool
	}{
		{"a first death", []int{0, 0, 0, 0, 0, 0, 0, 0}, 1, false},
		{"two after none", []int{0, 0, 0, 0, 0, 0, 0, 0}, 2, false},
		{"three where two or three are usual", []int{2, 3, 2, 2, 3, 2, 2, 3}, 4, false},
		{"five where one a day is usual", []int{1, 1, 1, 1, 1, 1, 1, 1}, 6, true},
		{"ten after none", []int{0, 0, 0, 0, 0, 0, 0, 0}, 10, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := newRoom(t)
			lot := r.lot(200)
			for _, n := range c.past {
				r.days(1)
				r.must(r.Dead(r.ctx, r.me(), lot, "1", n, "", ""))
			}
			r.days(1)
			r.must(r.Dead(r.ctx, r.me(), lot, "1", c.today, "", ""))
			day, err := r.Today(r.ctx)
			r.must(err)
			walk, err := r.Round(r.ctx, day)
			r.must(err)
			if got := walk.Sections[0].Stops[0].Unusual; (got != "") != c.unusual {
				t.Errorf("it says %q", got)
			}
		})
	}
}

// With the line drawn on the bag, the gate speaks of the bag, and says what
// selling the whole lot would mean for all buyers together.
func TestLineOnTheBag(t *testing.T) {
	r := newRoom(t)
	s, err := r.Settings(r.ctx)
	r.must(err)
	s.Line, s.BagLine = holdfast.LineBag, 0.02
	r.must(r.SetShop(r.ctx, r.me(), s))
	lot := r.lot(100)
	r.look(lot, 30, 0)
	zone, err := r.Zone(r.ctx)
	r.must(err)
	found := false
	for _, g := range r.view(lot).Gate(zone) {
		if g.Key != "line_rostrum_worm" {
			continue
		}
		found = true
		if !strings.HasPrefix(g.Name, "Bag of 10: at most 2") || !strings.Contains(g.Says, "at least one buyer gets it if the whole lot is sold") {
			t.Errorf("%s: %s", g.Name, g.Says)
		}
	}
	if !found {
		t.Error("the gate has no line for the rostrum worm")
	}
	r.must(r.Release(r.ctx, r.me(), lot, desk.ReleaseForm{Override: "the days are not over, and a test must see the record"}))
	rel := r.view(lot).Lot.Released.Payload.(*holdfast.Release)
	if rel.Line != holdfast.LineBag || rel.LineValue != 0.02 || len(rel.Figures) == 0 || rel.Figures[0].BuyersRisk <= rel.Figures[0].BagRisk {
		t.Errorf("the release froze %+v", rel)
	}
	// What was signed stays, also when it is taken back.
	zone, err = r.Zone(r.ctx)
	r.must(err)
	signed := desk.Signed(r.view(lot).Lot, zone)
	if len(signed) != 1 || signed[0].TakenBack || signed[0].Who != "Jo" {
		t.Fatalf("signed: %+v", signed)
	}
	r.must(second(r.UndoTogether(r.ctx, r.me(), r.view(lot).Lot.Overrides[0].ID, "")))
	rec, err := r.Record(r.ctx, lot)
	r.must(err)
	if l := r.view(lot).Lot; l.Status != holdfast.Held || len(rec.Overrides) != 1 || !rec.Overrides[0].TakenBack {
		t.Errorf("taken back, the lot is %s and the record says %+v", l.Status, rec.Overrides)
	}
}
