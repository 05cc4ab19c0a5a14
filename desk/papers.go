package desk

import (
	"context"

	"holdfast"
)

// AddPapers keeps papers that came after their delivery or sale was entered, or
// puts one right; of a sale, lot is the lot that was sold.
func (d *Desk) AddPapers(ctx context.Context, by Actor, lot string, p holdfast.PapersAdded) (holdfast.ID, error) {
	if p.Sale == "" {
		if _, err := d.Consignment(ctx, p.Consignment); err != nil {
			return "", err
		}
		return d.writeFirst(ctx, by, note{payload: &p})
	}
	if _, _, err := d.SaleOf(ctx, lot, p.Sale); err != nil {
		return "", err
	}
	return d.writeFirst(ctx, by, note{lot: lot, payload: &p})
}

// SaleOf returns a sale of a lot that is in force, and the lot.
func (d *Desk) SaleOf(ctx context.Context, lot string, sale holdfast.ID) (*holdfast.Lot, holdfast.Event, error) {
	l, err := d.Lot(ctx, lot)
	if err != nil {
		return nil, holdfast.Event{}, err
	}
	for _, ev := range l.Events {
		if ev.ID == sale && ev.Kind == holdfast.KindSale {
			return l, ev, nil
		}
	}
	return nil, holdfast.Event{}, &holdfast.Error{Kind: holdfast.NotFound, Message: "That sale is not in force.", Hint: "Look at the page of lot " + lot + "."}
}
