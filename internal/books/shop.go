package books

import (
	"context"
	"fmt"
	"iter"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/paper"
	"holdfast/money"
)

// Shop returns every table of the shop: lots, tanks, deliveries, the register's
// tables and the whole journal. Rows are read while they are written.
func Shop(ctx context.Context, d *desk.Desk) ([]paper.Sheet, error) {
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	b := book{ctx, d, zone}
	lots, err := b.lots()
	if err != nil {
		return nil, err
	}
	tanks, err := b.tanks()
	if err != nil {
		return nil, err
	}
	deliveries, err := b.deliveries()
	if err != nil {
		return nil, err
	}
	return []paper.Sheet{lots, tanks, deliveries, b.journal()}, nil
}

type book struct {
	ctx  context.Context
	desk *desk.Desk
	zone *time.Location
}

// columns reads "title|kind" with kind n for a count, d for a day, s for a
// share and nothing for a text.
func columns(spec ...string) []paper.Column {
	var out []paper.Column
	for _, s := range spec {
		title, kind, _ := strings.Cut(s, "|")
		c := paper.Column{Title: title}
		switch {
		case kind == "n":
			c.Kind = paper.Count
		case kind == "d":
			c.Kind = paper.Date
		case kind == "s":
			c.Kind = paper.Share
		}
		out = append(out, c)
	}
	return out
}

func (b book) day(m holdfast.Micros) paper.Cell {
	if m == 0 {
		return paper.Cell{}
	}
	return paper.D(m.In(b.zone))
}

func (b book) lots() (paper.Sheet, error) {
	rows, _, err := b.desk.Store.Lots(b.ctx, desk.LotQuery{Sort: desk.ByOldest})
	if err != nil {
		return paper.Sheet{}, err
	}
	s := paper.Sheet{Name: "Lots", Columns: columns("Lot", "Strain", "Species", "Supplier", "Delivery", "State", "Opened|d", "On the list|n", "Dead on arrival|n",
		"Died since|n", "Sold|n", "Alive|n", "Tanks", "Price each", "Worst condition", "Likely clear of it|s", "Bag risk|s", "Last look|d", "Last sign|d", "Last dose|d", "Contradictions|n")}
	var cells [][]paper.Cell
	for _, r := range rows {
		var tanks []string
		for _, p := range r.Places {
			tanks = append(tanks, p.Tank)
		}
		price := paper.Cell{}
		if r.Price != nil {
			if text, err := money.Decimal(r.Price.Minor, r.Price.Currency); err == nil {
				price = paper.T(text + " " + r.Price.Currency)
			}
		}
		chance, bag := paper.Cell{}, paper.Cell{}
		if r.Chance != nil {
			chance, bag = paper.S(*r.Chance), paper.S(*r.BagRisk)
		}
		cells = append(cells, []paper.Cell{paper.T(r.ID), paper.T(r.Strain), paper.T(r.Species), paper.T(r.Supplier), paper.T(r.Consignment), paper.T(string(r.Status)),
			b.day(r.OpenedAt), paper.N(int64(r.Declared)), paper.N(int64(r.DOA)), paper.N(int64(r.Deaths)), paper.N(int64(r.Sold)), paper.N(int64(r.Alive)),
			paper.T(strings.Join(tanks, ", ")), price, paper.T(r.Worst), chance, bag, b.day(r.LastLook), b.day(r.LastSign), b.day(r.LastDose), paper.N(int64(r.Contradictions))})
	}
	s.Rows = paper.Rows(cells)
	return s, nil
}

func (b book) tanks() (paper.Sheet, error) {
	rows, err := b.desk.Store.Tanks(b.ctx)
	if err != nil {
		return paper.Sheet{}, err
	}
	s := paper.Sheet{Name: "Tanks", Columns: columns("Tank", "Name", "System", "Use", "Place in the walk|n", "Litres", "At least", "At most", "Last measured|d")}
	var cells [][]paper.Cell
	for _, t := range rows {
		cells = append(cells, []paper.Cell{paper.T(t.ID), paper.T(t.Name), paper.T(t.System), paper.T(t.Use), paper.N(int64(t.Place)),
			paper.T(fmt.Sprintf("%.1f", t.Litres)), paper.T(fmt.Sprintf("%.1f", t.Low)), paper.T(fmt.Sprintf("%.1f", t.High)), b.day(t.LastAt)})
	}
	s.Rows = paper.Rows(cells)
	return s, nil
}

func (b book) deliveries() (paper.Sheet, error) {
	rows, _, err := b.desk.Store.Consignments(b.ctx, 0, 0)
	if err != nil {
		return paper.Sheet{}, err
	}
	s := paper.Sheet{Name: "Deliveries", Columns: columns("Delivery", "Supplier", "Arrived|d", "Declared origin", "Boxes|n", "Lots")}
	var cells [][]paper.Cell
	for _, c := range rows {
		cells = append(cells, []paper.Cell{paper.T(c.ID), paper.T(c.Supplier), b.day(c.At), paper.T(c.Origin), paper.N(int64(c.Boxes)), paper.T(strings.Join(c.Lots, ", "))})
	}
	s.Rows = paper.Rows(cells)
	return s, nil
}

// journal is every entry as it was accepted, payload included, so that nothing
// the desk knows is missing from the workbook. A look at hundreds of animals is
// longer than a cell holds and is cut there with a word saying so; the JSON
// lines hold it whole.
func (b book) journal() paper.Sheet {
	return paper.Sheet{Name: "Journal", Columns: columns("Number|n", "Entry", "Happened", "Written", "Who", "Lot", "Tank", "Kind", "What it says", "Hash"),
		Rows: iter.Seq2[[]paper.Cell, error](func(yield func([]paper.Cell, error) bool) {
			stopped := fmt.Errorf("stopped")
			err := b.desk.Store.Each(b.ctx, 0, func(e holdfast.Entry) error {
				at := func(m holdfast.Micros) paper.Cell { return paper.T(m.In(b.zone).Format("2006-01-02 15:04:05 -07:00")) }
				row := []paper.Cell{paper.N(e.Seq), paper.T(string(e.ID)), at(e.OccurredAt), at(e.RecordedAt), paper.T(e.Who), paper.T(e.Lot), paper.T(e.Tank),
					paper.T(string(e.Kind)), paper.T(string(e.Payload)), paper.T(e.Hash.String())}
				if !yield(row, nil) {
					return stopped
				}
				return nil
			})
			if err != nil && err != stopped {
				yield(nil, err)
			}
		})}
}
