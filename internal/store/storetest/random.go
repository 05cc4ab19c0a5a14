package storetest

import (
	"fmt"

	"pgregory.net/rapid"

	"holdfast"
)

// Journal draws the batches of a small shop's journal: everything about few
// lots, tanks and deliveries, so that much of it collides, with corrections of
// earlier and later entries and with entries that are dated before others.
func Journal(t *rapid.T) [][]holdfast.Entry {
	m := &Maker{}
	all := m.Arrival()
	for range rapid.IntRange(0, 30).Draw(t, "entries") {
		all = append(all, entry(t, m, all))
	}
	if rapid.Bool().Draw(t, "shuffled") {
		all = rapid.Permutation(all).Draw(t, "order")
	}
	var batches [][]holdfast.Entry
	for len(all) > 0 {
		n := rapid.IntRange(1, min(8, len(all))).Draw(t, "batch")
		batches, all = append(batches, all[:n]), all[n:]
	}
	return batches
}

func entry(t *rapid.T, m *Maker, before []holdfast.Entry) holdfast.Entry {
	name := func(label string, names ...string) string { return rapid.SampledFrom(names).Draw(t, label) }
	lot, tank := name("lot", "A", "B", "D"), name("tank", "T1", "T2", "T3")
	n := rapid.IntRange(1, 40).Draw(t, "n")
	var e holdfast.Entry
	switch rapid.IntRange(0, 15).Draw(t, "kind") {
	case 0:
		e = m.Entry(lot, name("maybe", "", tank), &holdfast.LotSplit{NewLot: name("new", "A", "B", "D", "F"), Count: n, Stock: Stock("C1", "Red")})
	case 1:
		e = m.Entry(lot, "", &holdfast.LotMerged{Into: name("into", "A", "B", "D"), Count: n})
	case 2:
		e = m.Entry(lot, tank, &holdfast.LotMoved{From: name("from", "T1", "T2", "T3"), Count: n})
	case 3:
		e = m.Entry(lot, tank, &holdfast.Death{Count: n})
	case 4:
		e = m.Entry(lot, "", Look(n, rapid.IntRange(0, 1).Draw(t, "positive")))
	case 5:
		e = m.Entry(lot, "", &holdfast.Counted{Count: n})
	case 6:
		e = m.Entry("", "", &holdfast.ConsignmentReceived{Consignment: name("delivery", "C1", "C2"), Supplier: name("supplier", "Brook Farm", "Mill Pond"), Boxes: n})
	case 7:
		e = m.Entry(lot, "", &holdfast.LotOpened{Stock: Stock(name("delivery", "C1", "C2"), name("strain", "Red", "Blue <5>")), Declared: n})
	case 8:
		shop := holdfast.DefaultSettings()
		shop.BagSize = n
		e = m.Entry("", "", &shop)
	case 9:
		p := TankSet("Tank", n)
		p.Closed = rapid.Bool().Draw(t, "closed")
		e = m.Entry("", tank, p)
	case 10:
		e = m.Entry("", tank, &holdfast.Alarm{What: "air", Over: rapid.Bool().Draw(t, "over")})
	case 11:
		e = m.Entry(lot, "", &holdfast.Release{Line: holdfast.LineClear, LineValue: .95, BagSize: 10, Alive: n, Model: "test"})
	case 12:
		e = m.Entry(lot, "", &holdfast.Note{Text: fmt.Sprintf("%d é \u2028 \"q\"", n)})
	case 13:
		also := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"A", "B", "D", "F"}), 0, 3, rapid.ID[string]).Draw(t, "also")
		e = m.Entry(lot, "", &holdfast.Hold{Reason: "many dead", Suspect: "listed_disease", Also: also})
	case 14:
		e = m.Entry("", "", &holdfast.PapersAdded{Consignment: name("delivery", "C1", "C2"), Papers: holdfast.Papers{Certificate: fmt.Sprint(n)}})
	default:
		e = m.Correct(rapid.SampledFrom(before).Draw(t, "corrected"))
	}
	e.OccurredAt += holdfast.Micros(rapid.IntRange(-20, 20).Draw(t, "days")) * Day
	return e
}
