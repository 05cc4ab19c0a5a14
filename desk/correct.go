package desk

import (
	"context"
	"strings"

	"holdfast"
)

// Undo appends a correction of one entry: what it said no longer counts, and
// both stay in the journal. Undoing an undo restores.
func (d *Desk) Undo(ctx context.Context, by Actor, id holdfast.ID, reason string) (holdfast.ID, error) {
	ev, err := d.Store.Entry(ctx, id)
	if err != nil {
		return "", err
	}
	if strings.TrimSpace(reason) == "" {
		reason = "Undone right after it was entered."
	}
	c := &holdfast.Correction{Corrects: id, Reason: reason, About: []holdfast.SubjectRef{}}
	for _, s := range ev.Subjects() {
		c.About = append(c.About, holdfast.SubjectRef{Type: s.Type, ID: s.ID})
	}
	ids, err := d.write(ctx, by, nil, note{ev.Lot, ev.Tank, c})
	if err != nil {
		return "", err
	}
	return ids[0], nil
}
