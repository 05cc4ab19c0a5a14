package desk

import (
	"context"
	"errors"
	"slices"
	"strings"

	"holdfast"
)

// Together returns the entries that were recorded in one go with this one, as
// the first of them: a section's "none dead", a delivery with its lots, a
// signature with the release that rests on it. They follow it in the journal,
// recorded at the same instant by the same person, a microsecond apart.
func (d *Desk) Together(ctx context.Context, id holdfast.ID) ([]holdfast.ID, error) {
	first, err := d.Store.Entry(ctx, id)
	if err != nil {
		return nil, err
	}
	var ids []holdfast.ID
	err = d.Store.Each(ctx, first.Seq-1, func(e holdfast.Entry) error {
		if e.RecordedAt != first.RecordedAt || e.Who != first.Who || e.OccurredAt != first.OccurredAt+holdfast.Micros(len(ids)) {
			return errEnough
		}
		ids = append(ids, e.ID)
		return nil
	})
	if err != nil && !errors.Is(err, errEnough) {
		return nil, err
	}
	return ids, nil
}

// errEnough ends a walk through the journal.
var errEnough = errors.New("enough")

// UndoTogether takes back everything that was recorded in one go with an entry,
// newest first, in one batch. It returns the id of the first correction.
func (d *Desk) UndoTogether(ctx context.Context, by Actor, id holdfast.ID, reason string) (holdfast.ID, error) {
	ids, err := d.Together(ctx, id)
	if err != nil {
		return "", err
	}
	notes := make([]note, 0, len(ids))
	for _, one := range slices.Backward(ids) {
		n, err := d.correction(ctx, one, reason)
		if err != nil {
			return "", err
		}
		notes = append(notes, n)
	}
	return d.writeFirst(ctx, by, notes...)
}

// Undo appends a correction of one entry: what it said no longer counts, and
// both stay in the journal. Undoing an undo restores.
func (d *Desk) Undo(ctx context.Context, by Actor, id holdfast.ID, reason string) (holdfast.ID, error) {
	n, err := d.correction(ctx, id, reason)
	if err != nil {
		return "", err
	}
	return d.writeFirst(ctx, by, n)
}

// correction is what takes the entry with an id back.
func (d *Desk) correction(ctx context.Context, id holdfast.ID, reason string) (note, error) {
	ev, err := d.Store.Entry(ctx, id)
	if err != nil {
		return note{}, err
	}
	if strings.TrimSpace(reason) == "" {
		reason = "Undone right after it was entered."
	}
	return takesBack(ev, holdfast.Correction{Reason: reason}), nil
}

// takesBack is a correction of an entry, about everything that it bears on.
func takesBack(ev holdfast.Event, c holdfast.Correction) note {
	c.Corrects, c.About = ev.ID, []holdfast.SubjectRef{}
	for _, s := range ev.Subjects() {
		c.About = append(c.About, holdfast.SubjectRef(s))
	}
	return note{ev.Lot, ev.Tank, &c}
}
