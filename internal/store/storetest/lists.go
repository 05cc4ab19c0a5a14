package storetest

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
)

func lotRow(t *testing.T, s *store.Store, id string) holdfast.LotRow {
	t.Helper()
	r, err := s.LotRow(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func testLotRows(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	n := int64(len(must(t, s, m.Arrival()...)))
	must(t, s, m.Entry("A", "", &holdfast.DOA{Count: 4}), m.Entry("A", "T1", Look(30, 0)))
	got := lotRow(t, s, "A")
	chance := 30.0 / 31
	bag := (1 - chance) / 10
	events, err := s.Events(t.Context(), Lot("A"))
	if err != nil {
		t.Fatal(err)
	}
	want := holdfast.LotRow{
		ID: "A", Strain: "Red_Fire 100%", Species: "neocaridina", Consignment: "C1", Supplier: "Brook Farm", Status: holdfast.Held,
		Declared: 100, Alive: 96, AliveLow: 96, AliveHigh: 96, DOA: 4, OpenedAt: events[0].OccurredAt, LastLook: events[3].OccurredAt,
		Places:  []holdfast.Place{{Tank: "T1", Since: events[1].OccurredAt, Count: 96}},
		Figures: []holdfast.Figure{{Condition: "rostrum_worm", Chance: chance, High: 1, BagRisk: bag, Looked: 30}},
		Worst:   "rostrum_worm", Chance: &chance, BagRisk: &bag,
		SignOf: []string{}, Suspects: []string{}, Price: &holdfast.Money{Minor: 120, Currency: "EUR"},
		HeadSeq: n + 2, Fold: holdfast.FoldVersion, Model: "test",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	counts, err := s.LotCounts(t.Context())
	if diff := cmp.Diff(map[holdfast.Status]int{holdfast.Held: 2}, counts); diff != "" || err != nil {
		t.Error(diff, err)
	}
}

// testRowsFollow: a row is computed again when anything it was computed from
// changes.
func testRowsFollow(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	must(t, s, m.Arrival()...)
	must(t, s, m.Entry("A", "T1", &holdfast.LotSplit{NewLot: "A2", Count: 20, Stock: Stock("C1", "Red")}))
	must(t, s, m.Entry("A2", "T1", &holdfast.LotSplit{NewLot: "A3", Count: 10, Stock: Stock("C1", "Red")}))
	must(t, s, m.Entry("A3", "", &holdfast.LotMerged{Into: "B", Count: 5}))
	if r := lotRow(t, s, "B"); r.Chance != nil {
		t.Fatalf("nobody looked and the chance is %v", *r.Chance)
	}
	look := m.Entry("A", "T1", Look(30, 1))
	must(t, s, look)
	for _, id := range []string{"A", "A2", "A3", "B"} {
		if r := lotRow(t, s, id); len(r.Figures) != 1 || r.Figures[0].Looked != 30 || r.Figures[0].Positive != 1 {
			t.Errorf("lot %s: figures %+v do not hold the look at the lot it came from", id, r.Figures)
		}
	}
	must(t, s, m.Correct(look, Lot("A")))
	for _, id := range []string{"A", "A2", "A3", "B"} {
		if r := lotRow(t, s, id); len(r.Figures) != 0 {
			t.Errorf("lot %s still has figures of a look that was undone: %+v", id, r.Figures)
		}
	}

	// An ancestor of which nothing was known when the row was computed.
	must(t, s, m.Entry("X", "", &holdfast.LotMerged{Into: "A", Count: 3}))
	must(t, s, m.Entry("X", "", Look(12, 0)))
	if r := lotRow(t, s, "A3"); len(r.Figures) != 1 || r.Figures[0].Looked != 12 {
		t.Errorf("figures %+v do not hold the look at a lot merged in two lots above", r.Figures)
	}

	// The delivery.
	must(t, s, m.Entry("", "", &holdfast.ConsignmentReceived{Consignment: "C1", Supplier: "Mill Pond", Boxes: 2}))
	for _, id := range []string{"A", "A2", "A3", "B"} {
		if r := lotRow(t, s, id); r.Supplier != "Mill Pond" {
			t.Errorf("lot %s has supplier %q", id, r.Supplier)
		}
	}

	// The shop's settings.
	shop := holdfast.DefaultSettings()
	shop.BagSize = 20
	before := *lotRow(t, s, "A").BagRisk
	must(t, s, m.Entry("", "", &shop))
	if after := *lotRow(t, s, "A").BagRisk; after != before/2 {
		t.Errorf("bag risk is %v with bags twice the size, was %v", after, before)
	}
}

// testRowsUndone: what was undone leaves the lists and comes back with the
// correction of the correction.
func testRowsUndone(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	arrival := m.Arrival()
	must(t, s, arrival...)
	var undo []holdfast.Entry
	for _, e := range arrival {
		undo = append(undo, m.Correct(e))
	}
	must(t, s, undo...)
	wantNone := func() {
		t.Helper()
		lots, n, err := s.Lots(t.Context(), desk.LotQuery{})
		if len(lots) != 0 || n != 0 || err != nil {
			t.Errorf("undone lots are listed: %v, %d, %v", lots, n, err)
		}
		tanks, err := s.Tanks(t.Context())
		if len(tanks) != 0 || err != nil {
			t.Errorf("undone tanks are listed: %v, %v", tanks, err)
		}
		cs, n, err := s.Consignments(t.Context(), 0, 10)
		if len(cs) != 0 || n != 0 || err != nil {
			t.Errorf("undone deliveries are listed: %v, %d, %v", cs, n, err)
		}
	}
	wantNone()
	must(t, s, m.Correct(undo[2]), m.Correct(undo[3]))
	if _, n, err := s.Lots(t.Context(), desk.LotQuery{}); n != 1 || err != nil {
		t.Errorf("%d lots, %v, want the one that was restored", n, err)
	}
	if c, err := s.Consignment(t.Context(), "C1"); err != nil || !slices.Equal(c.Lots, []string{"A"}) {
		t.Errorf("delivery %+v, %v", c, err)
	}
}

func testOtherRows(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	must(t, s, m.Arrival()...)
	ph := 7.1
	must(t, s,
		m.Entry("", "T0", TankSet("First", 0)),
		m.Entry("", "T1", &holdfast.WaterMeasured{Water: holdfast.Water{PH: &ph}}),
		m.Entry("", "T2", &holdfast.Alarm{What: "heater"}),
		m.Entry("", "T9", TankSet("Gone", 9)),
		m.Entry("", "", &holdfast.ConsignmentReceived{Consignment: "C2", Supplier: "acorn Aquatics", Boxes: 1}),
		m.Entry("", "", &holdfast.ConsignmentReceived{Consignment: "C3", Supplier: "Brook Farm", Boxes: 1}))
	closed := TankSet("Gone", 9)
	closed.Closed = true
	must(t, s, m.Entry("", "T9", closed))

	tanks, err := s.Tanks(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var order []string
	for _, r := range tanks {
		order = append(order, r.ID)
	}
	if diff := cmp.Diff([]string{"T0", "T1", "T2"}, order); diff != "" {
		t.Fatal(diff)
	}
	if tanks[1].Last == nil || *tanks[1].Last.PH != ph || tanks[1].Litres != 54 || !slices.Equal(tanks[2].Alarms, []string{"heater"}) {
		t.Errorf("rows of tanks: %+v", tanks)
	}

	cs, n, err := s.Consignments(t.Context(), 1, 2)
	if err != nil || n != 3 || len(cs) != 2 || cs[0].ID != "C2" || cs[1].ID != "C1" {
		t.Errorf("deliveries after the newest: %+v, %d, %v", cs, n, err)
	}
	if c, err := s.Consignment(t.Context(), "C1"); err != nil || c.Supplier != "Brook Farm" || !slices.Equal(c.Lots, []string{"A", "B"}) {
		t.Errorf("delivery C1: %+v, %v", c, err)
	}
	names, err := s.Suppliers(t.Context())
	if diff := cmp.Diff([]string{"acorn Aquatics", "Brook Farm"}, names); diff != "" || err != nil {
		t.Error(diff, err)
	}
}

func testLots(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	arrivals := []struct {
		consignment, supplier string
	}{{"C1", "Brook Farm"}, {"C2", "Élan 50%_x"}}
	var batch []holdfast.Entry
	for _, a := range arrivals {
		batch = append(batch, m.Entry("", "", &holdfast.ConsignmentReceived{Consignment: a.consignment, Supplier: a.supplier, Boxes: 1}))
	}
	add := func(id, consignment, strain, species, tank string, declared, looked int) {
		stock := Stock(consignment, strain)
		stock.Species = species
		batch = append(batch, m.Entry(id, "", &holdfast.LotOpened{Stock: stock, Declared: declared}))
		if tank != "" {
			batch = append(batch, m.Entry(id, tank, &holdfast.LotPlaced{}))
		}
		if looked > 0 {
			batch = append(batch, m.Entry(id, tank, Look(looked, 0)))
		}
	}
	add("L1", "C1", "Red Fire", "neocaridina", "T1", 50, 10)
	add("L2", "C1", "blue Dream", "neocaridina", "T10", 70, 60)
	add("L3", "C2", "Crystal Red", "caridina", "", 30, 0)
	add("L4", "C2", `100%_\wild`, "caridina", "T2", 90, 10)
	add("L5", "C1", "Amber", "neocaridina", "T1", 20, 30)
	batch = append(batch, m.Entry("L2", "T10", &holdfast.Release{Line: holdfast.LineClear, LineValue: .95, BagSize: 10, Alive: 70, Model: "test"}),
		m.Entry("L5", "T1", &holdfast.Gone{Count: 20}))
	must(t, s, batch...)

	for _, c := range []struct {
		name  string
		q     desk.LotQuery
		want  []string
		total int
	}{
		{"all", desk.LotQuery{}, []string{"L1", "L2", "L3", "L4", "L5"}, 5},
		{"chance: L2 is released, L5 closed", desk.LotQuery{Sort: desk.ByChance}, []string{"L1", "L4", "L3", "L2", "L5"}, 5},
		{"chance low", desk.LotQuery{Sort: desk.ByChanceLow}, []string{"L3", "L1", "L4", "L5", "L2"}, 5},
		{"newest", desk.LotQuery{Sort: desk.ByNewest}, []string{"L5", "L4", "L3", "L2", "L1"}, 5},
		{"oldest", desk.LotQuery{Sort: desk.ByOldest}, []string{"L1", "L2", "L3", "L4", "L5"}, 5},
		{"alive", desk.LotQuery{Sort: desk.ByAlive}, []string{"L4", "L2", "L1", "L3", "L5"}, 5},
		{"strain", desk.LotQuery{Sort: desk.ByStrain}, []string{"L4", "L5", "L2", "L3", "L1"}, 5},
		{"supplier", desk.LotQuery{Sort: desk.BySupplier}, []string{"L1", "L2", "L5", "L3", "L4"}, 5},
		{"status", desk.LotQuery{Sort: desk.ByStatusSort}, []string{"L5", "L1", "L3", "L4", "L2"}, 5},
		{"page", desk.LotQuery{Sort: desk.ByChance, Offset: 1, Limit: 3}, []string{"L4", "L3", "L2"}, 5},
		{"chance of those not held", desk.LotQuery{Sort: desk.ByChance, Statuses: []holdfast.Status{holdfast.Closed, holdfast.Released}}, []string{"L2", "L5"}, 2},
		{"past the end", desk.LotQuery{Offset: 9, Limit: 2}, nil, 5},
		{"no limit with offset", desk.LotQuery{Offset: 3}, []string{"L4", "L5"}, 5},
		{"one status", desk.LotQuery{Statuses: []holdfast.Status{holdfast.Released}}, []string{"L2"}, 1},
		{"two statuses", desk.LotQuery{Statuses: []holdfast.Status{holdfast.Held, holdfast.Closed}}, []string{"L1", "L3", "L4", "L5"}, 4},
		{"supplier is exact", desk.LotQuery{Supplier: "Brook"}, nil, 0},
		{"one supplier", desk.LotQuery{Supplier: "Élan 50%_x"}, []string{"L3", "L4"}, 2},
		{"species", desk.LotQuery{Species: "caridina"}, []string{"L3", "L4"}, 2},
		{"text in a strain", desk.LotQuery{Text: "RED"}, []string{"L1", "L3"}, 2},
		{"text in a supplier", desk.LotQuery{Text: "élan"}, []string{"L3", "L4"}, 2},
		{"text in a tank", desk.LotQuery{Text: "t10"}, []string{"L2"}, 1},
		{"text in an id", desk.LotQuery{Text: "l4"}, []string{"L4"}, 1},
		{"words", desk.LotQuery{Text: " fire  brook "}, []string{"L1"}, 1},
		{"percent is no wildcard", desk.LotQuery{Text: "0%_"}, []string{"L3", "L4"}, 2},
		{"underscore is no wildcard", desk.LotQuery{Text: "l_"}, nil, 0},
		{"backslash", desk.LotQuery{Text: `\wild`}, []string{"L4"}, 1},
		{"quote", desk.LotQuery{Text: `' OR 1=1 --`}, nil, 0},
		{"zero byte", desk.LotQuery{Text: "\x00amber"}, []string{"L5"}, 1},
		{"everything", desk.LotQuery{Text: "t", Statuses: []holdfast.Status{holdfast.Held}, Supplier: "Brook Farm", Species: "neocaridina", Sort: desk.ByAlive, Limit: 5}, []string{"L1"}, 1},
	} {
		rows, total, err := s.Lots(t.Context(), c.q)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		var got []string
		for _, r := range rows {
			got = append(got, r.ID)
		}
		if diff := cmp.Diff(c.want, got); diff != "" || total != c.total {
			t.Errorf("%s: %d lots in all, want %d; %s", c.name, total, c.total, diff)
		}
	}
	_, _, err := s.Lots(t.Context(), desk.LotQuery{Sort: "moon; DROP TABLE entry"})
	wantKind(t, err, holdfast.Invalid)

	// Pages of any size put together are the whole list, once each.
	all, _, err := s.Lots(t.Context(), desk.LotQuery{Sort: desk.ByChance})
	if err != nil {
		t.Fatal(err)
	}
	for size := 1; size <= 6; size++ {
		var pages []holdfast.LotRow
		for at := 0; at < len(all); at += size {
			rows, _, err := s.Lots(t.Context(), desk.LotQuery{Sort: desk.ByChance, Offset: at, Limit: size})
			if err != nil {
				t.Fatal(err)
			}
			pages = append(pages, rows...)
		}
		if diff := cmp.Diff(all, pages); diff != "" {
			t.Errorf("pages of %d: %s", size, diff)
		}
	}
}
