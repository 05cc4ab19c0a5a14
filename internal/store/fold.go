package store

import (
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"slices"

	"holdfast"
)

// folder folds subjects and computes their rows inside one transaction, in
// which the journal does not change any more.
type folder struct {
	s   *session
	sum holdfast.Summariser
	// cache and w save reading again what was decoded already; both may be nil.
	cache *cache
	w     *writer
	// site is read from the head of the chain when it is "".
	site string
	// truth names the entries of subjects whose list in entry_subject is wrong.
	truth map[holdfast.Subject][]int64

	events map[holdfast.Subject][]holdfast.Event
	lots   map[string]*holdfast.Lot
	shop   *holdfast.ShopSet
	held   int
}

func newFolder(s *session, sum holdfast.Summariser, c *cache, w *writer) *folder {
	f := &folder{s: s, sum: sum, cache: c, w: w}
	f.forget()
	return f
}

func (f *folder) forget() {
	f.events, f.lots, f.held = map[holdfast.Subject][]holdfast.Event{}, map[string]*holdfast.Lot{}, 0
}

// spare drops what was loaded when it has become much: a batch may touch every
// lot there is.
func (f *folder) spare() {
	if f.held > cachedEvents {
		f.forget()
	}
}

func (f *folder) load(ctx context.Context, sub holdfast.Subject) ([]holdfast.Event, error) {
	if events, ok := f.events[sub]; ok {
		return events, nil
	}
	events, known := f.cache.get(sub)
	if known && f.w != nil {
		known = !f.w.reordered[sub]
		events = slices.Concat(events, f.w.fresh[sub])
	}
	if !known {
		var err error
		if seqs, wrong := f.truth[sub]; wrong {
			events, err = f.s.eventsAt(ctx, seqs)
		} else {
			events, err = f.s.events(ctx, sub)
		}
		if err != nil {
			return nil, err
		}
	}
	events = slices.Clip(events) // states share them: who appends to one must not write here
	f.events[sub] = events
	f.held += cost(events)
	return events, nil
}

func (f *folder) lot(ctx context.Context, id string) (*holdfast.Lot, error) {
	if l, ok := f.lots[id]; ok {
		return l, nil
	}
	events, err := f.load(ctx, holdfast.Subject{Type: holdfast.SubjectLot, ID: id})
	if err != nil {
		return nil, err
	}
	l := holdfast.FoldLot(id, events)
	f.lots[id] = l
	return l, nil
}

func (f *folder) settings(ctx context.Context) (holdfast.ShopSet, error) {
	if f.shop == nil {
		if f.site == "" {
			h, err := f.s.head(ctx)
			if err != nil {
				return holdfast.ShopSet{}, err
			}
			f.site = h.site
		}
		events, err := f.load(ctx, holdfast.Subject{Type: holdfast.SubjectShop, ID: f.site})
		if err != nil {
			return holdfast.ShopSet{}, err
		}
		shop := holdfast.FoldShop(events)
		f.shop = &shop
	}
	return *f.shop, nil
}

// lotRow computes the row of a lot and names the other lots it was computed
// from. A lot of which no entry is in force, such as one whose opening was
// undone, has no row.
func (f *folder) lotRow(ctx context.Context, id string) (row *holdfast.LotRow, reads []string, err error) {
	l, err := f.lot(ctx, id)
	if err != nil || len(l.Events) == 0 {
		return nil, nil, err
	}
	events, err := f.load(ctx, holdfast.Subject{Type: holdfast.SubjectConsignment, ID: l.Consignment})
	if err != nil {
		return nil, nil, err
	}
	shop, err := f.settings(ctx)
	if err != nil {
		return nil, nil, err
	}
	others := map[string]bool{}
	r, err := f.sum.LotRow(l, holdfast.FoldConsignment(l.Consignment, events), shop, func(other string) (*holdfast.Lot, error) {
		others[other] = true
		return f.lot(ctx, other)
	})
	if err != nil {
		return nil, nil, fmt.Errorf("row of lot %s: %w", id, err)
	}
	delete(others, id)
	r.ID, r.HeadSeq, r.Fold, r.Model = id, l.HeadSeq, holdfast.FoldVersion, f.sum.Model()
	return &r, slices.Sorted(maps.Keys(others)), nil
}

// tankRow returns nil for a tank of which no entry is in force.
func (f *folder) tankRow(ctx context.Context, id string) (*holdfast.TankRow, error) {
	events, err := f.load(ctx, holdfast.Subject{Type: holdfast.SubjectTank, ID: id})
	if err != nil {
		return nil, err
	}
	t := holdfast.FoldTank(id, events)
	if len(t.Events) == 0 {
		return nil, nil
	}
	r := holdfast.RowOfTank(t)
	return &r, nil
}

// consignmentRow returns nil for a delivery of which nothing is in force.
func (f *folder) consignmentRow(ctx context.Context, id string) (*holdfast.ConsignmentRow, error) {
	events, err := f.load(ctx, holdfast.Subject{Type: holdfast.SubjectConsignment, ID: id})
	if err != nil {
		return nil, err
	}
	c := holdfast.FoldConsignment(id, events)
	if !c.Known && len(c.Lots) == 0 {
		return nil, nil
	}
	r := holdfast.RowOfConsignment(c)
	return &r, nil
}

// write computes and writes the rows that follow from the touched subjects.
func (f *folder) write(ctx context.Context, touched map[holdfast.Subject]bool) error {
	lots, err := f.affected(ctx, touched)
	if err != nil {
		return err
	}
	var rows []holdfast.Subject
	for _, id := range lots {
		rows = append(rows, holdfast.Subject{Type: holdfast.SubjectLot, ID: id})
	}
	for _, sub := range sorted(touched) {
		if sub.Type != holdfast.SubjectLot { // affected has the lots
			rows = append(rows, sub)
		}
	}
	return f.writeAll(ctx, rows)
}

// affected returns the lots whose row may differ once the touched subjects have
// changed: these lots, the lots whose rows were computed from them, the lots of
// a touched delivery, and every lot when the shop's settings changed.
func (f *folder) affected(ctx context.Context, touched map[holdfast.Subject]bool) ([]string, error) {
	lots := map[string]bool{}
	for sub := range touched {
		var more []string
		var err error
		switch sub.Type {
		case holdfast.SubjectLot:
			lots[sub.ID] = true
			more, err = f.s.texts(ctx, `SELECT lot FROM lot_reads WHERE other = $1`, sub.ID)
		case holdfast.SubjectConsignment:
			more, err = f.s.texts(ctx, `SELECT id FROM lot_row WHERE consignment = $1`, sub.ID)
		case holdfast.SubjectShop:
			more, err = f.s.texts(ctx, `SELECT id FROM lot_row`)
		}
		if err != nil {
			return nil, err
		}
		for _, id := range more {
			lots[id] = true
		}
	}
	return slices.Sorted(maps.Keys(lots)), nil
}

func (f *folder) writeLot(ctx context.Context, id string) error {
	f.spare()
	row, reads, err := f.lotRow(ctx, id)
	if err != nil {
		return err
	}
	if err := f.s.writeReads(ctx, id, reads); err != nil {
		return err
	}
	if row == nil {
		return f.s.dropRow(ctx, "lot_row", id)
	}
	body, err := json.Marshal(row)
	if err != nil {
		return fmt.Errorf("row of lot %s: %w", id, err)
	}
	return f.s.writeLotRow(ctx, lotColumns(*row), string(body))
}

func (f *folder) writeTank(ctx context.Context, id string) error {
	f.spare()
	row, err := f.tankRow(ctx, id)
	if err != nil {
		return err
	}
	if row == nil {
		return f.s.dropRow(ctx, "tank_row", id)
	}
	body, err := json.Marshal(row)
	if err != nil {
		return fmt.Errorf("row of tank %s: %w", id, err)
	}
	return f.s.writeTankRow(ctx, *row, string(body))
}

func (f *folder) writeConsignment(ctx context.Context, id string) error {
	f.spare()
	row, err := f.consignmentRow(ctx, id)
	if err != nil {
		return err
	}
	if row == nil {
		return f.s.dropRow(ctx, "consignment_row", id)
	}
	body, err := json.Marshal(row)
	if err != nil {
		return fmt.Errorf("row of consignment %s: %w", id, err)
	}
	return f.s.writeConsignmentRow(ctx, *row, string(body))
}
