package desk

import (
	"context"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"holdfast"
	"holdfast/money"
	"holdfast/reference"
)

// Desk serves one site. Now and Random are its only sources of time and
// chance.
type Desk struct {
	Store    Store
	Evidence Evidence
	// Life is the life-cycle model, set by UseLife; nil leaves every answer to
	// Evidence.
	Life   *Life
	Site   string
	Now    func() time.Time
	Random io.Reader

	sight keptSight
	zones zones
}

// Actor is who does something, and with which name the entry got on the form
// that was sent: a form sent twice then writes one entry.
type Actor struct {
	Who string
	// ID is the id the form carried; empty makes a new one.
	ID holdfast.ID
	// At is when it happened, if not now.
	At time.Time
}

// note is one entry to write, before it has id and time.
type note struct {
	lot, tank string
	payload   holdfast.Payload
}

// NewID returns a fresh entry id, for a form to carry.
func (d *Desk) NewID() (holdfast.ID, error) {
	var r [10]byte
	if _, err := io.ReadFull(d.Random, r[:]); err != nil {
		return "", fmt.Errorf("random bytes for an id: %w", err)
	}
	return holdfast.MakeID(d.Now().UnixMilli(), r), nil
}

// write appends notes as one batch: all happened at the actor's time, a
// microsecond apart so that they fold in the order given. Only the first
// carries the actor's id.
func (d *Desk) write(ctx context.Context, by Actor, unchanged []Standing, notes ...note) ([]holdfast.ID, error) {
	return d.writeBatch(ctx, by, Batch{Unchanged: unchanged}, notes...)
}

// writeBatch is write for a batch that carries more than entries.
func (d *Desk) writeBatch(ctx context.Context, by Actor, batch Batch, notes ...note) ([]holdfast.ID, error) {
	if by.ID != "" {
		done, err := d.repeated(ctx, by.ID, notes[0])
		if done || err != nil {
			return []holdfast.ID{by.ID}, err
		}
	}
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	now := d.Now()
	at := by.At
	if at.IsZero() {
		at = now
	}
	_, offset := at.In(zone).Zone()
	ids := make([]holdfast.ID, len(notes))
	for i, n := range notes {
		id := by.ID
		if i > 0 || id == "" {
			if id, err = d.NewID(); err != nil {
				return nil, err
			}
		}
		e := holdfast.Entry{ID: id, OccurredAt: holdfast.MicrosOf(at) + holdfast.Micros(i), OffsetMin: offset / 60,
			RecordedAt: holdfast.MicrosOf(now), Who: by.Who, Site: d.Site, Lot: n.lot, Tank: n.tank}
		if err := e.Encode(n.payload); err != nil {
			return nil, err
		}
		if err := e.Check(); err != nil {
			return nil, err
		}
		batch.Entries = append(batch.Entries, e)
		ids[i] = id
	}
	if _, err := d.Store.Append(ctx, batch); err != nil {
		return nil, err
	}
	if d.Life != nil {
		d.Life.Changed(batch.Entries)
	}
	return ids, nil
}

// writeFirst is write for those who need the id of the first entry alone.
func (d *Desk) writeFirst(ctx context.Context, by Actor, notes ...note) (holdfast.ID, error) {
	ids, err := d.write(ctx, by, nil, notes...)
	if err != nil {
		return "", err
	}
	return ids[0], nil
}

// repeated reports whether a form with this id was written before: then the
// second sending changes nothing. The same id with another content is a
// conflict, shown to the person.
func (d *Desk) repeated(ctx context.Context, id holdfast.ID, n note) (bool, error) {
	before, err := d.Store.Entry(ctx, id)
	var known *holdfast.Error
	if errors.As(err, &known) && known.Kind == holdfast.NotFound {
		return false, nil
	}
	if err != nil {
		return false, err
	}
	var same holdfast.Entry
	if err := same.Encode(n.payload); err != nil {
		return false, err
	}
	if before.Kind == same.Kind && string(before.Entry.Payload) == string(same.Payload) && before.Lot == n.lot && before.Tank == n.tank {
		return true, nil
	}
	return false, &holdfast.Error{Kind: holdfast.Conflict,
		Message: "This form was sent before with other values; what was kept is the first one.",
		Hint:    "Open the page again and enter what should be added."}
}

// Lot returns the state of a lot, or a NotFound error. It is shared between
// callers and must not be changed.
func (d *Desk) Lot(ctx context.Context, id string) (*holdfast.Lot, error) {
	l, err := d.Store.Lot(ctx, id)
	if err != nil {
		return nil, err
	}
	if len(l.All) == 0 {
		return nil, &holdfast.Error{Kind: holdfast.NotFound, Message: fmt.Sprintf("There is no lot %q.", id), Hint: "Look it up in Lots."}
	}
	return l, nil
}

// Tank returns the state of a tank, or a NotFound error.
func (d *Desk) Tank(ctx context.Context, id string) (*holdfast.Tank, error) {
	events, err := d.Store.Events(ctx, holdfast.Subject{Type: holdfast.SubjectTank, ID: id})
	if err != nil {
		return nil, err
	}
	t := holdfast.FoldTank(id, events)
	if !t.Known {
		return nil, &holdfast.Error{Kind: holdfast.NotFound, Message: fmt.Sprintf("There is no tank %q.", id), Hint: "Look it up in Tanks."}
	}
	return t, nil
}

// Consignment returns the state of a delivery, or a NotFound error.
func (d *Desk) Consignment(ctx context.Context, id string) (*holdfast.Consignment, error) {
	events, err := d.Store.Events(ctx, holdfast.Subject{Type: holdfast.SubjectConsignment, ID: id})
	if err != nil {
		return nil, err
	}
	c := holdfast.FoldConsignment(id, events)
	if !c.Known {
		return nil, &holdfast.Error{Kind: holdfast.NotFound, Message: fmt.Sprintf("There is no delivery %q.", id), Hint: "Look it up in Receive."}
	}
	return c, nil
}

// Settings returns the shop's settings as they stand.
func (d *Desk) Settings(ctx context.Context) (holdfast.ShopSet, error) {
	events, err := d.Store.Events(ctx, holdfast.Subject{Type: holdfast.SubjectShop, ID: d.Site})
	if err != nil {
		return holdfast.ShopSet{}, err
	}
	return holdfast.FoldShop(events), nil
}

// SetShop changes the shop's settings.
func (d *Desk) SetShop(ctx context.Context, by Actor, s holdfast.ShopSet) error {
	if _, err := time.LoadLocation(s.Zone); err != nil {
		return holdfast.Problems{{Field: "zone", Message: fmt.Sprintf("%q is not a time zone", s.Zone), Hint: "Write it as Europe/Berlin."}}
	}
	if _, ok := money.Exponent(s.Currency); !ok {
		return holdfast.Problems{{Field: "currency", Message: fmt.Sprintf("%q is no currency of ISO 4217", s.Currency), Hint: "Give its three letters, such as EUR."}}
	}
	_, err := d.write(ctx, by, nil, note{payload: &s})
	return err
}

// Zone returns the time zone of the site.
func (d *Desk) Zone(ctx context.Context) (*time.Location, error) {
	s, err := d.Settings(ctx)
	if err != nil {
		return nil, err
	}
	return d.zones.named(s.Zone), nil
}

// zones keeps the time zones that were asked for: each would be read from the
// machine's files anew, for every entry that is written.
type zones struct{ kept sync.Map }

// named returns a zone, or UTC for one that this machine's data no longer knows.
func (z *zones) named(name string) *time.Location {
	if kept, ok := z.kept.Load(name); ok {
		return kept.(*time.Location)
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		return time.UTC
	}
	z.kept.Store(name, zone)
	return zone
}

// Today returns the civil day of the site.
func (d *Desk) Today(ctx context.Context) (holdfast.Day, error) {
	zone, err := d.Zone(ctx)
	if err != nil {
		return 0, err
	}
	return holdfast.DayOf(holdfast.MicrosOf(d.Now()), zone), nil
}

// Tracked returns the conditions that the desk keeps a chance of clear of, for
// animals of a species group: what a look should look for.
func Tracked(species string) []reference.Condition {
	var out []reference.Condition
	for _, c := range reference.CanCarry(species) {
		if c.Tracked {
			out = append(out, c)
		}
	}
	return out
}

// ConditionOf returns the condition that a finding speaks of: itself, or the
// one it is a sign of (a row of eggs speaks of the worm).
func ConditionOf(id string) string {
	if c, ok := reference.Builtin().Condition(id); ok && c.SignOf != "" {
		return c.SignOf
	}
	return id
}

// Called returns the plain name of a condition.
func Called(id string) string {
	if c, ok := reference.Builtin().Condition(id); ok {
		return c.Name
	}
	return id
}
