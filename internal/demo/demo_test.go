package demo_test

import (
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/demo"
	"holdfast/internal/store/sqlite"
)

func TestSeedMakesTheShopThatItPromises(t *testing.T) {
	if testing.Short() {
		t.Skip("a year takes some seconds to live")
	}
	ctx := t.Context()
	ev := desk.NewMemo(desk.Static{})
	s, err := sqlite.Open(ctx, t.TempDir(), desk.Summary{Evidence: ev, Life: true}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	today := time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC)
	if err := demo.Seed(ctx, s, ev, today, nil); err != nil {
		t.Fatal(err)
	}
	counts, err := s.LotCounts(ctx)
	if err != nil {
		t.Fatal(err)
	}
	t.Log(counts)
	total := 0
	for _, n := range counts {
		total += n
	}
	if total != 140 || counts[holdfast.Held] != 3 || counts[holdfast.Recalled] != 1 || counts[holdfast.Released] < 3 || counts[holdfast.Closed] < 60 {
		t.Errorf("lots by state %v: want 140 in all, 3 held, 1 recalled, some released, most closed", counts)
	}
	tanks, err := s.Tanks(ctx)
	if err != nil || len(tanks) != 40 {
		t.Errorf("%d tanks, want 40 (%v)", len(tanks), err)
	}
	suppliers, err := s.Suppliers(ctx)
	if err != nil || len(suppliers) != 12 {
		t.Errorf("%d suppliers, want 12 (%v)", len(suppliers), err)
	}
	rows, _, err := s.Lots(ctx, desk.LotQuery{Sort: desk.ByOldest})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		if r.Contradictions > 0 {
			t.Errorf("lot %s has contradictions: the demo shop keeps its books", r.ID)
		}
	}
	d := &desk.Desk{Store: s, Evidence: ev, Site: "demo"}
	b, err := d.Book(ctx)
	if err != nil || len(b.Passed) > 0 {
		t.Fatalf("%v %q", err, b.Passed)
	}
	if len(b.Kept.Cases) < 5 || len(b.Kept.Set) < 3 {
		t.Errorf("%d cases and %d entries of its own: the shop has learned nothing", len(b.Kept.Cases), len(b.Kept.Set))
	}
	for _, r := range rows {
		if r.Status != holdfast.Held {
			continue
		}
		l, err := d.Lot(ctx, r.ID)
		if err != nil {
			t.Fatal(err)
		}
		c, err := d.Consignment(ctx, l.Consignment)
		if err != nil || len(desk.Declarations(c)) == 0 {
			t.Errorf("the seller of lot %s, on hold, declared nothing (%v)", r.ID, err)
		}
	}

}
