package storetest

import (
	"fmt"

	"holdfast"
)

// Summariser computes rows with figures that mean nothing but depend on
// everything a real one may depend on: the lot, the lots it came from, its
// delivery and the shop's settings. Lots of the species "modelled" have their
// figures beside the row, which rest on how many are alive.
type Summariser struct {
	// Version is what Model returns; "test" when empty.
	Version string
}

// Model implements [holdfast.Summariser].
func (s Summariser) Model() string {
	if s.Version != "" {
		return s.Version
	}
	return "test"
}

// LotRow implements [holdfast.Summariser].
func (s Summariser) LotRow(l *holdfast.Lot, c *holdfast.Consignment, shop holdfast.ShopSet, lot func(string) (*holdfast.Lot, error)) (holdfast.LotRow, error) {
	looked, positive, err := tally(l, lot, map[string]bool{})
	if err != nil {
		return holdfast.LotRow{}, err
	}
	r := holdfast.LotRow{
		ID: l.ID, Strain: l.Strain, Species: l.Species, Consignment: l.Consignment, Supplier: c.Supplier, Parent: l.Parent,
		Status: l.Status, Declared: l.Declared, Alive: l.Alive.N, AliveLow: l.Alive.Low, AliveHigh: l.Alive.High,
		DOA: l.DOA, Deaths: l.Deaths, Sold: l.Sold, Places: append([]holdfast.Place{}, l.Places...), OpenedAt: l.OpenedAt,
		Figures: []holdfast.Figure{}, LastDose: l.LastDose, LastLook: l.LastLook,
		SignOf: []string{}, Suspects: append([]string{}, l.Suspects...), Price: l.Price, Contradictions: len(l.Contradictions),
	}
	for _, at := range l.LastSign {
		r.LastSign = max(r.LastSign, at)
	}
	if l.Species == "modelled" {
		r.Evidence = fmt.Sprint("alive ", l.Alive.N)
		return r, nil
	}
	if looked > 0 {
		chance := float64(looked) / float64(looked+1+20*positive)
		bag := (1 - chance) / float64(shop.BagSize)
		r.Worst, r.Chance, r.BagRisk = "rostrum_worm", &chance, &bag
		r.Figures = append(r.Figures, holdfast.Figure{Condition: r.Worst, Chance: chance, High: 1, BagRisk: bag, Looked: looked, Positive: positive})
	}
	return r, nil
}

// tally counts animals looked at in the lot and in every lot it came from.
func tally(l *holdfast.Lot, lot func(string) (*holdfast.Lot, error), seen map[string]bool) (looked, positive int, err error) {
	seen[l.ID] = true
	from := []string{}
	if l.Parent != "" {
		from = append(from, l.Parent)
	}
	for _, ev := range l.Events {
		switch p := ev.Payload.(type) {
		case *holdfast.Inspection:
			n, k := p.Tally("rostrum_worm")
			looked, positive = looked+n, positive+k
		case *holdfast.LotMerged:
			if p.Into == l.ID {
				from = append(from, ev.Lot)
			}
		}
	}
	for _, id := range from {
		if seen[id] {
			continue
		}
		other, err := lot(id)
		if err != nil {
			return 0, 0, err
		}
		n, k, err := tally(other, lot, seen)
		if err != nil {
			return 0, 0, err
		}
		looked, positive = looked+n, positive+k
	}
	return looked, positive, nil
}
