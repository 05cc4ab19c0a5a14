package desk

import (
	"maps"
	"slices"

	"holdfast"
)

// Summary computes the rows that lists show. It implements
// [holdfast.Summariser] and is handed to the store when it is opened.
type Summary struct {
	Evidence Evidence
	// Life says that figures come from the life-cycle model: they are kept beside
	// the rows, and a row says only what they rest on.
	Life bool
}

// Model implements [holdfast.Summariser].
func (s Summary) Model() string {
	if s.Life {
		return LifeModel + "+" + s.Evidence.Model()
	}
	return s.Evidence.Model()
}

// LotRow implements [holdfast.Summariser].
func (s Summary) LotRow(l *holdfast.Lot, c *holdfast.Consignment, shop holdfast.ShopSet, other func(string) (*holdfast.Lot, error)) (holdfast.LotRow, error) {
	row := holdfast.LotRow{
		ID: l.ID, Strain: l.Strain, Species: l.Species, Consignment: l.Consignment, Supplier: c.Supplier,
		Parent: l.Parent, Status: l.Status, Declared: l.Declared,
		Alive: l.Alive.N, AliveLow: l.Alive.Low, AliveHigh: l.Alive.High,
		DOA: l.DOA, Deaths: l.Deaths, Sold: l.Sold,
		Places: append([]holdfast.Place{}, l.Places...), OpenedAt: l.OpenedAt,
		LastDose: l.LastDose, LastLook: l.LastLook,
		Suspects: append([]string{}, l.Suspects...), Price: l.Price,
		Contradictions: len(l.Contradictions), Figures: []holdfast.Figure{},
		LastSign: l.NewestSign(), SignOf: slices.AppendSeq([]string{}, maps.Keys(l.LastSign)),
		HeadSeq: l.HeadSeq, Fold: holdfast.FoldVersion, Model: s.Model(),
	}
	slices.Sort(row.SignOf)
	known := Case{Lot: l, Consignment: c, BagSize: shop.BagSize, Beliefs: shop.Beliefs, Sight: shop.Sight, Other: other}
	if s.Life {
		row.Evidence = rowKey(known, shop)
		return row, nil
	}
	assessed, err := s.Evidence.Assess(known)
	if err != nil {
		return row, err
	}
	for _, a := range assessed {
		if !a.NotLooked && a.Why == "" {
			row.Figures = append(row.Figures, a.Figure)
		}
	}
	if w := Worst(assessed); w != nil {
		row.Worst = w.Condition.ID
		row.Chance, row.BagRisk = &w.Figure.Chance, &w.Figure.BagRisk
	}
	return row, nil
}
