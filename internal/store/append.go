package store

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"holdfast"
	"holdfast/desk"
)

// Append accepts the batch in one transaction; see desk.Journal.
func (s *Store) Append(ctx context.Context, b desk.Batch) ([]desk.Receipt, error) {
	if len(b.Entries) == 0 {
		return nil, nil
	}
	for _, e := range b.Entries {
		if err := e.Check(); err != nil {
			return nil, fmt.Errorf("entry %s: %w", e.ID, err)
		}
	}
	var receipts []desk.Receipt
	var w *writer
	var f *folder
	err := s.write(ctx, func(ctx context.Context, t *session) (err error) {
		if receipts, err = t.known(ctx, b.Entries); err != nil || allKnown(receipts) {
			return err
		}
		for _, u := range b.Unchanged {
			if err := t.unchanged(ctx, u); err != nil {
				return err
			}
		}
		if w, err = newWriter(ctx, t, b.Entries[0].Site); err != nil {
			return err
		}
		if err := w.appendNew(ctx, b.Entries, receipts); err != nil {
			return err
		}
		if b.Buyer != nil {
			if err := t.saveBuyer(ctx, *b.Buyer); err != nil {
				return err
			}
		}
		f = newFolder(t, s.sum, s.cache, w)
		return f.write(ctx, w.touched)
	}, func() {
		if w != nil {
			s.cache.commit(w.touched, f.events, f.lots)
		}
	})
	if err != nil {
		return nil, err
	}
	return receipts, nil
}

// known returns a receipt for each entry: filled in for those that are in the
// journal already. An entry that is there with other content is a conflict.
func (s *session) known(ctx context.Context, entries []holdfast.Entry) ([]desk.Receipt, error) {
	receipts := make([]desk.Receipt, len(entries))
	for i, e := range entries {
		old, err := s.entry(ctx, e.ID)
		if errors.Is(err, sql.ErrNoRows) {
			continue
		}
		if err != nil {
			return nil, err
		}
		if err := sameEntry(old, e); err != nil {
			return nil, err
		}
		receipts[i] = desk.Receipt{ID: e.ID, Seq: old.Seq, Already: true}
	}
	return receipts, nil
}

func sameEntry(old, e holdfast.Entry) error {
	a, err := old.Canonical()
	if err != nil {
		return err
	}
	b, err := e.Canonical()
	if err != nil {
		return err
	}
	if bytes.Equal(a, b) {
		return nil
	}
	return &holdfast.Error{Kind: holdfast.Conflict, Field: "id",
		Message: fmt.Sprintf("entry %s was recorded before with other content (no. %d, %s by %s)", e.ID, old.Seq, old.Kind, old.Who),
		Hint:    "Look at what is recorded; if both happened, record this one again as a new entry."}
}

func allKnown(receipts []desk.Receipt) bool {
	for _, r := range receipts {
		if !r.Already {
			return false
		}
	}
	return true
}

// unchanged refuses when the subject has moved on since the caller read it.
func (s *session) unchanged(ctx context.Context, u desk.Standing) error {
	var seq int64
	err := s.row(ctx, `SELECT coalesce(max(seq), 0) FROM entry_subject WHERE subject_type = $1 AND subject_id = $2`, []any{u.Subject.Type, u.Subject.ID}, &seq)
	if err != nil || seq == u.Seq {
		return err
	}
	if u.Seq == 0 {
		return &holdfast.Error{Kind: holdfast.Conflict, Field: string(u.Subject.Type),
			Message: fmt.Sprintf("%s %s exists already", u.Subject.Type, u.Subject.ID), Hint: "Choose another name."}
	}
	return &holdfast.Error{Kind: holdfast.Conflict, Field: string(u.Subject.Type),
		Message: fmt.Sprintf("something was recorded for %s %s in the meantime; nothing of yours was kept", u.Subject.Type, u.Subject.ID),
		Hint:    "Look at it again, then repeat what you wanted to do."}
}

// writer puts entries at the end of the chain inside one transaction.
type writer struct {
	s    *session
	head head
	// touched are the subjects that got an entry.
	touched map[holdfast.Subject]bool
	// fresh holds the new events of each subject in order; nil keeps none. A
	// subject in reordered also got an earlier entry, so that its events are to
	// be read again.
	fresh     map[holdfast.Subject][]holdfast.Event
	reordered map[holdfast.Subject]bool
}

// newWriter locks the head of the site's chain. The first entry ever names the
// site.
func newWriter(ctx context.Context, s *session, site string) (*writer, error) {
	if _, err := s.exec(ctx, `UPDATE site_head SET seq = seq`); err != nil { // waits for other writers
		return nil, err
	}
	h, err := s.head(ctx)
	if err != nil {
		return nil, err
	}
	if h.site == "" {
		h.site = site
		if _, err := s.exec(ctx, `INSERT INTO site_head (site, seq, hash) VALUES ($1, 0, $2)`, site, h.hash[:]); err != nil {
			return nil, err
		}
	}
	return &writer{s: s, head: h, touched: map[holdfast.Subject]bool{},
		fresh: map[holdfast.Subject][]holdfast.Event{}, reordered: map[holdfast.Subject]bool{}}, nil
}

// appendNew appends the entries that have no receipt yet and gives them one. An
// entry that stands twice in the batch is appended once.
func (w *writer) appendNew(ctx context.Context, entries []holdfast.Entry, receipts []desk.Receipt) error {
	first := make(map[holdfast.ID]int, len(entries))
	for i, e := range entries {
		if receipts[i].Already {
			continue
		}
		if j, twice := first[e.ID]; twice {
			old := entries[j]
			old.Seq = receipts[j].Seq
			if err := sameEntry(old, e); err != nil {
				return err
			}
			receipts[i] = desk.Receipt{ID: e.ID, Seq: receipts[j].Seq, Already: true}
			continue
		}
		first[e.ID] = i
		seq, err := w.append(ctx, e)
		if err != nil {
			return err
		}
		receipts[i] = desk.Receipt{ID: e.ID, Seq: seq}
	}
	return w.end(ctx)
}

// append adds one checked entry that is not in the journal.
func (w *writer) append(ctx context.Context, e holdfast.Entry) (int64, error) {
	if e.Site != w.head.site {
		return 0, &holdfast.Error{Kind: holdfast.Invalid, Field: "site",
			Message: fmt.Sprintf("entry %s is of site %s; this is the journal of site %s", e.ID, e.Site, w.head.site),
			Hint:    "Keep each site in a data folder of its own."}
	}
	canonical, err := e.Canonical()
	if err != nil {
		return 0, err
	}
	w.head.seq++
	w.head.hash = w.head.hash.Link(canonical)
	e.Seq, e.Hash = w.head.seq, w.head.hash
	ev, err := decode(e)
	if err != nil {
		return 0, err
	}
	_, err = w.s.exec(ctx, `INSERT INTO entry (seq, id, occurred_at, offset_min, recorded_at, who, site, lot, tank, kind, v, payload, corrects, hash)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14)`,
		e.Seq, e.ID, e.OccurredAt, e.OffsetMin, e.RecordedAt, e.Who, e.Site, e.Lot, e.Tank, e.Kind, e.Version, string(e.Payload), corrects(ev), e.Hash[:])
	if err != nil {
		return 0, err
	}
	return e.Seq, w.addSubjects(ctx, ev)
}

// corrects returns the entry that ev undoes, or "".
func corrects(ev holdfast.Event) holdfast.ID {
	if c, ok := ev.Payload.(*holdfast.Correction); ok {
		return c.Corrects
	}
	return ""
}

// addSubjects notes what the event bears on. A correction bears on whatever the
// corrected entry bears on, whichever of the two arrived first.
func (w *writer) addSubjects(ctx context.Context, ev holdfast.Event) error {
	subjects, err := w.s.subjectsOf(ctx, ev)
	if err != nil {
		return err
	}
	for _, sub := range subjects {
		if _, err := w.bears(ctx, ev.Seq, sub); err != nil {
			return err
		}
		if w.fresh != nil {
			w.fresh[sub] = append(w.fresh[sub], ev)
		}
	}
	return w.spread(ctx, ev.ID, subjects)
}

func (w *writer) bears(ctx context.Context, seq int64, sub holdfast.Subject) (isNew bool, err error) {
	isNew, err = w.s.bears(ctx, seq, sub)
	if isNew {
		w.touched[sub] = true
	}
	return isNew, err
}

// bears lists an entry under a subject, unless it stands there already.
func (s *session) bears(ctx context.Context, seq int64, sub holdfast.Subject) (isNew bool, err error) {
	n, err := s.exec(ctx, `INSERT INTO entry_subject (subject_type, subject_id, seq) VALUES ($1, $2, $3) ON CONFLICT DO NOTHING`, sub.Type, sub.ID, seq)
	return n > 0, err
}

// spread gives the subjects of an entry to the corrections of it that came
// before it.
func (w *writer) spread(ctx context.Context, id holdfast.ID, subjects []holdfast.Subject) error {
	type correction struct {
		seq int64
		id  holdfast.ID
	}
	var earlier []correction
	err := w.s.each(ctx, `SELECT seq, id FROM entry WHERE corrects = $1 AND corrects <> ''`, []any{id}, func(scan scan) error {
		var c correction
		err := scan(&c.seq, &c.id)
		earlier = append(earlier, c)
		return err
	})
	if err != nil {
		return err
	}
	for _, c := range earlier {
		var added []holdfast.Subject
		for _, sub := range subjects {
			isNew, err := w.bears(ctx, c.seq, sub)
			if err != nil {
				return err
			}
			if isNew {
				w.reordered[sub] = true
				added = append(added, sub)
			}
		}
		if len(added) > 0 { // ends: each round adds a row or stops
			if err := w.spread(ctx, c.id, added); err != nil {
				return err
			}
		}
	}
	return nil
}

// subjectsOf returns everything the event bears on.
func (s *session) subjectsOf(ctx context.Context, ev holdfast.Event) ([]holdfast.Subject, error) {
	all := ev.Subjects()
	seen := map[holdfast.ID]bool{ev.ID: true}
	for id := corrects(ev); id != "" && !seen[id]; {
		seen[id] = true
		target, err := s.event(ctx, id)
		if errors.Is(err, sql.ErrNoRows) {
			break
		}
		if err != nil {
			return nil, err
		}
		all = union(all, target.Subjects())
		id = corrects(target)
	}
	return all, nil
}

// end writes the head of the chain back.
func (w *writer) end(ctx context.Context) error {
	_, err := w.s.exec(ctx, `UPDATE site_head SET seq = $1, hash = $2 WHERE site = $3`, w.head.seq, w.head.hash[:], w.head.site)
	return err
}
