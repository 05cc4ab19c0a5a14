package storetest

import (
	"encoding/binary"
	"fmt"

	"holdfast"
)

// Start is when the tests' shop opens: 2026-01-01 08:00 UTC.
const Start = holdfast.Micros(1_767_254_400_000_000)

// Day is a day of 24 hours.
const Day = holdfast.Micros(86_400_000_000)

// Maker makes entries one after the other, an hour apart, with ids that are the
// same in every run.
type Maker struct {
	// N is how many it has made.
	N uint64
	// Stream keeps the ids of several makers apart.
	Stream uint16
}

// Entry returns the next entry, of the site "main".
func (m *Maker) Entry(lot, tank string, p holdfast.Payload) holdfast.Entry {
	m.N++
	at := Start + holdfast.Micros(m.N)*3_600_000_000
	e := holdfast.Entry{ID: m.id(at), OccurredAt: at, OffsetMin: 60, RecordedAt: at + 5_000_000, Who: "Ada", Site: "main", Lot: lot, Tank: tank}
	if err := e.Encode(p); err != nil {
		panic(fmt.Sprintf("encode %s: %v", p.Kind(), err))
	}
	return e
}

func (m *Maker) id(at holdfast.Micros) holdfast.ID {
	var random [10]byte
	binary.BigEndian.PutUint16(random[:], m.Stream)
	binary.BigEndian.PutUint64(random[2:], m.N)
	return holdfast.MakeID(int64(at/1000), random)
}

// Correct returns an entry that undoes e, which bears on the given subjects.
func (m *Maker) Correct(e holdfast.Entry, about ...holdfast.Subject) holdfast.Entry {
	c := &holdfast.Correction{Corrects: e.ID, Reason: "a slip"}
	for _, s := range about {
		c.About = append(c.About, holdfast.SubjectRef(s))
	}
	return m.Entry("", "", c)
}

// Stock returns what a lot of the delivery is.
func Stock(consignment, strain string) holdfast.Stock {
	return holdfast.Stock{Consignment: consignment, Strain: strain, Species: "neocaridina", Price: &holdfast.Money{Minor: 120, Currency: "EUR"}}
}

// Look returns a look at n animals of which the first k show the worm.
func Look(n, k int) *holdfast.Inspection {
	p := &holdfast.Inspection{By: holdfast.ByLens, Random: true, LookedFor: []string{"rostrum_worm"}, Planned: n}
	for i := range n {
		a := holdfast.Animal{No: i + 1, Seen: []holdfast.Side{holdfast.Left, holdfast.Head}}
		if i < k {
			a.Findings = []holdfast.Finding{{Condition: "rostrum_worm", Sign: "worm"}}
		}
		p.Animals = append(p.Animals, a)
	}
	return p
}

// TankSet returns a tank at a place on the walk.
func TankSet(name string, place int) *holdfast.TankSet {
	return &holdfast.TankSet{Name: name, Place: place, Use: "quarantine", Shape: holdfast.Shape{Form: "litres", KnownFillL: 54}, Litres: 54, Low: 52, High: 56}
}

// Lot names a lot as a subject, Tank a tank, Consignment a delivery.
func Lot(id string) holdfast.Subject { return holdfast.Subject{Type: holdfast.SubjectLot, ID: id} }

// Tank names a tank as a subject.
func Tank(id string) holdfast.Subject { return holdfast.Subject{Type: holdfast.SubjectTank, ID: id} }

// Consignment names a delivery as a subject.
func Consignment(id string) holdfast.Subject {
	return holdfast.Subject{Type: holdfast.SubjectConsignment, ID: id}
}

// Arrival returns the entries of a delivery C1 with two lots in tanks T1 and T2.
func (m *Maker) Arrival() []holdfast.Entry {
	return []holdfast.Entry{
		m.Entry("", "T1", TankSet("Left", 1)),
		m.Entry("", "T2", TankSet("Right", 2)),
		m.Entry("", "", &holdfast.ConsignmentReceived{Consignment: "C1", Supplier: "Brook Farm", Boxes: 2}),
		m.Entry("A", "", &holdfast.LotOpened{Stock: Stock("C1", "Red_Fire 100%"), Declared: 100}),
		m.Entry("B", "", &holdfast.LotOpened{Stock: Stock("C1", "Blue Dream"), Declared: 80}),
		m.Entry("A", "T1", &holdfast.LotPlaced{}),
		m.Entry("B", "T2", &holdfast.LotPlaced{}),
	}
}
