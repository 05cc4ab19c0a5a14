package storetest

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
)

// Figures stand beside the rows: lists show them and are ordered by them, verify
// looks past them, and they are old once the row has changed.
func testFigures(t *testing.T, fresh Fresh) {
	again := fresh(t)
	s := again()
	ctx := t.Context()
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	m := &Maker{}
	must(t, s, m.Arrival()...)
	for _, id := range []string{"M1", "M2", "M3"} {
		stock := Stock("C1", "Blue")
		stock.Species = "modelled"
		must(t, s, m.Entry(id, "", &holdfast.LotOpened{Declared: 40, Stock: stock}))
	}
	if f, err := s.Figures(ctx, "M1"); err != nil || f != nil {
		t.Errorf("before anything was kept: %v, %v", f, err)
	}
	if r := lotRow(t, s, "M1"); r.Chance != nil || r.FigureOld || r.FigureAsOf != 0 {
		t.Errorf("row without figures: %+v", r)
	}
	row := func(lot string, chance float64) desk.FigureRow {
		return desk.FigureRow{Lot: lot, RowKey: "alive 40", Key: "k" + lot, AsOf: 20000, Sharp: chance > .5,
			Figures: []holdfast.Figure{{Condition: "green_growth", Chance: 1}, {Condition: "rostrum_worm", Chance: chance, BagRisk: .1}}, Body: json.RawMessage(`[1]`)}
	}
	check(s.KeepFigures(ctx, row("M1", .3)))
	check(s.KeepFigures(ctx, row("M2", .2)))
	check(s.KeepFigures(ctx, row("M2", .9)))
	check(s.KeepFigures(ctx, row("A", .99))) // its row has figures of its own
	wantKind(t, s.KeepFigures(ctx, desk.FigureRow{Lot: "M3", Body: json.RawMessage(`{`)}), holdfast.Invalid)
	check(s.Close())

	s = again()
	defer s.Close()
	got, err := s.Figures(ctx, "M2")
	check(err)
	want := row("M2", .9)
	if diff := cmp.Diff(&want, got); diff != "" {
		t.Error(diff)
	}
	keys, err := s.FigureKeys(ctx)
	check(err)
	if diff := cmp.Diff(map[string]desk.FigureKey{"M1": {Key: "kM1"}, "M2": {Key: "kM2", Sharp: true}, "A": {Key: "kA", Sharp: true}}, keys); diff != "" {
		t.Error(diff)
	}
	r := lotRow(t, s, "M1")
	if r.Worst != "rostrum_worm" || r.Chance == nil || *r.Chance != .3 || *r.BagRisk != .1 || len(r.Figures) != 2 || r.FigureOld || r.FigureAsOf != 20000 {
		t.Errorf("row with figures: %+v", r)
	}
	if r := lotRow(t, s, "A"); r.Chance != nil {
		t.Errorf("a row with figures of its own took others: %+v", r)
	}
	order := func(sort desk.LotSort) (ids []string) {
		t.Helper()
		all, _, err := s.Lots(ctx, desk.LotQuery{Sort: sort, Species: "modelled"})
		check(err)
		for _, r := range all {
			ids = append(ids, r.ID)
		}
		return ids
	}
	if diff := cmp.Diff([]string{"M2", "M1", "M3"}, order(desk.ByChance)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]string{"M3", "M1", "M2"}, order(desk.ByChanceLow)); diff != "" {
		t.Error(diff)
	}
	must(t, s, m.Entry("M1", "", &holdfast.DOA{Count: 4}))
	if r := lotRow(t, s, "M1"); !r.FigureOld || *r.Chance != .3 {
		t.Errorf("after the lot changed: %+v", r)
	}
	clean(t, s)
}

func clean(t *testing.T, s *store.Store) {
	t.Helper()
	if found, err := s.Verify(t.Context(), nil); err != nil || len(found) > 0 {
		t.Errorf("verify: %v, %v", found, err)
	}
}
