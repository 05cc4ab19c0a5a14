package lots

import (
	"fmt"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/store/storetest"
)

// BenchmarkYear records a shop's year: 365 days of 60 entries, one batch a day,
// with 140 lots in 40 tanks.
func BenchmarkYear(b *testing.B) {
	for b.Loop() {
		s, err := sqlite.Open(b.Context(), b.TempDir(), storetest.Summariser{}, sqlite.Options{})
		if err != nil {
			b.Fatal(err)
		}
		m := &storetest.Maker{}
		for day := range 365 {
			if _, err := s.Append(b.Context(), desk.Batch{Entries: dayOf(m, day)}); err != nil {
				b.Fatal(err)
			}
		}
		if err := s.Close(); err != nil {
			b.Fatal(err)
		}
	}
}

// dayOf makes the entries of a day. Lots live for about 100 days.
func dayOf(m *storetest.Maker, day int) []holdfast.Entry {
	var all []holdfast.Entry
	if day%30 == 0 {
		id := fmt.Sprintf("C%d", day)
		all = append(all, m.Entry("", "", &holdfast.ConsignmentReceived{Consignment: id, Supplier: "Brook Farm", Boxes: 2}))
		for l := range 11 {
			lot := fmt.Sprintf("L%d", day/30*11+l)
			all = append(all, m.Entry(lot, "", &holdfast.LotOpened{Stock: storetest.Stock(id, "Red Fire"), Declared: 100}),
				m.Entry(lot, fmt.Sprintf("T%d", (day/30*11+l)%40), &holdfast.LotPlaced{}))
		}
	}
	newest := day / 30 * 11
	for i := 0; len(all) < 60; i++ {
		l := max(0, newest-22) + i%33
		lot, tank := fmt.Sprintf("L%d", l), fmt.Sprintf("T%d", l%40)
		if i%11 == 0 {
			all = append(all, m.Entry(lot, tank, storetest.Look(10, 0)))
		} else {
			all = append(all, m.Entry(lot, tank, &holdfast.Death{Count: i / 55}))
		}
	}
	return all
}

// BenchmarkAppend records one death in a lot with hundreds of entries. The disk
// is waited for, which is most of it.
func BenchmarkAppend(b *testing.B) {
	s, err := sqlite.Open(b.Context(), b.TempDir(), storetest.Summariser{}, sqlite.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { s.Close() })
	m := &storetest.Maker{}
	batch := m.Arrival()
	for range 400 {
		batch = append(batch, m.Entry("A", "T1", &holdfast.Death{Count: 0}))
	}
	if _, err := s.Append(b.Context(), desk.Batch{Entries: batch}); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := s.Append(b.Context(), desk.Batch{Entries: []holdfast.Entry{m.Entry("A", "T1", &holdfast.Death{Count: 0})}}); err != nil {
			b.Fatal(err)
		}
	}
}
