package storetest

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"holdfast"
	"holdfast/desk"
)

// Readings are jobs that a restart does not lose, and give up at last.
func testReadings(t *testing.T, fresh Fresh) {
	again := fresh(t)
	s := again()
	ctx := t.Context()
	check := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	open := func(want ...string) {
		t.Helper()
		all, err := s.OpenReadings(ctx, 10)
		check(err)
		var got []string
		for _, w := range all {
			got = append(got, w.SHA256+" "+w.Lot+" "+w.Way)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Fatalf("waiting: %s", diff)
		}
	}
	open()
	check(s.WantReadings(ctx, "A", "m1", []string{"p1", "p2", "p3"}))
	check(s.WantReadings(ctx, "A", "m1", []string{"p1"})) // waits already
	open("p1 A m1", "p2 A m1", "p3 A m1")
	if all, err := s.OpenReadings(ctx, 2); err != nil || len(all) != 2 {
		t.Errorf("asked for 2 and got %d, %v", len(all), err)
	}
	check(s.TryReading(ctx, "p1"))
	check(s.KeepReading(ctx, "p1", "m1", json.RawMessage(`{"sharp":1}`)))
	check(s.WantReadings(ctx, "A", "m1", []string{"p1"})) // was read so
	check(s.Close())

	s = again()
	defer s.Close()
	open("p2 A m1", "p3 A m1")
	for range desk.ReadingTries {
		check(s.TryReading(ctx, "p2"))
	}
	open("p3 A m1")
	check(s.WantReadings(ctx, "B", "m2", []string{"p2", "p1"})) // another way is another chance
	open("p2 B m2", "p1 B m2", "p3 A m1")                       // whoever came last is looking on
	rows, err := s.Readings(ctx, []string{"p1", "p2", "nobody"})
	check(err)
	if diff := cmp.Diff(map[string]desk.ReadingRow{
		"p1": {Wanted: "m2", Have: "m1", Body: json.RawMessage(`{"sharp":1}`)}, "p2": {Wanted: "m2"},
	}, rows); diff != "" {
		t.Error(diff)
	}
	check(s.KeepReading(ctx, "nobody", "m2", json.RawMessage(`{}`)))
	if rows, err := s.Readings(ctx, []string{"nobody"}); err != nil || len(rows) != 0 {
		t.Errorf("a reading nobody asked for is kept: %v, %v", rows, err)
	}
	wantKind(t, s.KeepReading(ctx, "p1", "m2", json.RawMessage(`{`)), holdfast.Invalid)
}

func testNotes(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	ctx := t.Context()
	for _, n := range []struct{ lot, name, value string }{
		{"A", "B", `1`}, {"B", "A", `[2]`}, {"A", "x", `3`}, {"A", "B", `{"a":4}`},
	} {
		if err := s.KeepNote(ctx, n.lot, n.name, json.RawMessage(n.value)); err != nil {
			t.Fatal(err)
		}
	}
	for range 2 { // taking away what is gone is no error
		if err := s.KeepNote(ctx, "A", "x", nil); err != nil {
			t.Fatal(err)
		}
	}
	for lot, want := range map[string]map[string]json.RawMessage{
		"A": {"B": json.RawMessage(`{"a":4}`)}, "B": {"A": json.RawMessage(`[2]`)}, "C": {},
	} {
		got, err := s.Notes(ctx, lot)
		if diff := cmp.Diff(want, got); diff != "" || err != nil {
			t.Errorf("bench of %s: %s, %v", lot, diff, err)
		}
	}
	wantKind(t, s.KeepNote(ctx, "A", "y", json.RawMessage(`nonsense`)), holdfast.Invalid)
}
