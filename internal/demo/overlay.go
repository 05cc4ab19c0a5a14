package demo

import (
	"context"

	"holdfast"
	"holdfast/desk"
)

// overlay holds a day's entries back so that they reach the store in one
// transaction, and shows them to whoever reads before that.
type overlay struct {
	desk.Store
	head    int64
	waiting []holdfast.Entry
	byID    map[holdfast.ID]holdfast.Event
	bySub   map[holdfast.Subject][]holdfast.Event
	lots    map[string]foldedLot
}

// foldedLot is a lot with so many of its entries waiting.
type foldedLot struct {
	waiting int
	lot     *holdfast.Lot
}

func newOverlay(ctx context.Context, s desk.Store) (*overlay, error) {
	head, _, err := s.Head(ctx)
	return &overlay{Store: s, head: head, byID: map[holdfast.ID]holdfast.Event{}, bySub: map[holdfast.Subject][]holdfast.Event{}, lots: map[string]foldedLot{}}, err
}

// Append keeps the batch for the day's end.
func (o *overlay) Append(ctx context.Context, b desk.Batch) ([]desk.Receipt, error) {
	if b.Buyer != nil {
		if err := o.SaveBuyer(ctx, *b.Buyer); err != nil {
			return nil, err
		}
	}
	var receipts []desk.Receipt
	for _, e := range b.Entries {
		o.head++
		e.Seq = o.head
		ev, err := e.Decode()
		if err != nil {
			return nil, err
		}
		o.byID[e.ID] = ev
		for _, s := range ev.Subjects() {
			o.bySub[s] = append(o.bySub[s], ev)
		}
		o.waiting = append(o.waiting, e)
		receipts = append(receipts, desk.Receipt{ID: e.ID, Seq: e.Seq})
	}
	return receipts, nil
}

// Entry looks among the waiting entries first.
func (o *overlay) Entry(ctx context.Context, id holdfast.ID) (holdfast.Event, error) {
	if ev, ok := o.byID[id]; ok {
		return ev, nil
	}
	return o.Store.Entry(ctx, id)
}

// Events adds the waiting entries to the stored ones.
func (o *overlay) Events(ctx context.Context, s holdfast.Subject) ([]holdfast.Event, error) {
	kept, err := o.Store.Events(ctx, s)
	if err != nil || len(o.bySub[s]) == 0 {
		return kept, err
	}
	return append(append([]holdfast.Event{}, kept...), o.bySub[s]...), nil
}

// Lot folds the waiting entries onto the stored ones; between two entries of a
// lot it is folded once.
func (o *overlay) Lot(ctx context.Context, id string) (*holdfast.Lot, error) {
	sub := holdfast.Subject{Type: holdfast.SubjectLot, ID: id}
	waiting := len(o.bySub[sub])
	if waiting == 0 {
		return o.Store.Lot(ctx, id)
	}
	if kept, ok := o.lots[id]; ok && kept.waiting == waiting {
		return kept.lot, nil
	}
	events, err := o.Events(ctx, sub)
	if err != nil {
		return nil, err
	}
	l := holdfast.FoldLot(id, events)
	o.lots[id] = foldedLot{waiting, l}
	return l, nil
}

// flush writes the day in one transaction.
func (o *overlay) flush(ctx context.Context) error {
	if len(o.waiting) == 0 {
		return nil
	}
	_, err := o.Store.Append(ctx, desk.Batch{Entries: o.waiting})
	o.waiting = nil
	clear(o.byID)
	clear(o.bySub)
	clear(o.lots)
	return err
}
