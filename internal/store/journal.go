package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"slices"

	"holdfast"
)

// columns of an entry, in the order in which scanEntry reads them.
const columns = `e.seq, e.id, e.occurred_at, e.offset_min, e.recorded_at, e.who, e.site, e.lot, e.tank, e.kind, e.v, e.payload, e.hash`

func scanEntry(scan scan) (holdfast.Entry, error) {
	var e holdfast.Entry
	var payload string
	var hash []byte
	err := scan(&e.Seq, &e.ID, &e.OccurredAt, &e.OffsetMin, &e.RecordedAt, &e.Who, &e.Site, &e.Lot, &e.Tank, &e.Kind, &e.Version, &payload, &hash)
	e.Payload = []byte(payload)
	copy(e.Hash[:], hash)
	return e, err
}

// Entry returns one entry, or a NotFound error.
func (s *Store) Entry(ctx context.Context, id holdfast.ID) (holdfast.Event, error) {
	var ev holdfast.Event
	err := s.read(ctx, func(t *session) (err error) {
		ev, err = t.event(ctx, id)
		return err
	})
	return ev, notFound(err, fmt.Sprintf("there is no entry %s", id))
}

// event returns one entry decoded, or sql.ErrNoRows.
func (s *session) event(ctx context.Context, id holdfast.ID) (holdfast.Event, error) {
	e, err := s.entry(ctx, id)
	if err != nil {
		return holdfast.Event{}, err
	}
	return decode(e)
}

func (s *session) entry(ctx context.Context, id holdfast.ID) (holdfast.Entry, error) {
	return scanEntry(func(dest ...any) error {
		return s.row(ctx, `SELECT `+columns+` FROM entry e WHERE e.id = $1`, []any{id}, dest...)
	})
}

func decode(e holdfast.Entry) (holdfast.Event, error) {
	ev, err := e.Decode()
	if err != nil {
		return ev, fmt.Errorf("entry %s (no. %d): %w", e.ID, e.Seq, err)
	}
	return ev, nil
}

// Events returns the events that bear on a subject, in order of acceptance. The
// payloads are shared between callers and must not be changed.
func (s *Store) Events(ctx context.Context, sub holdfast.Subject) ([]holdfast.Event, error) {
	if events, ok := s.cache.get(sub); ok {
		return slices.Clone(events), nil
	}
	age := s.cache.age()
	var events []holdfast.Event
	err := s.read(ctx, func(t *session) (err error) {
		events, err = t.events(ctx, sub)
		return err
	})
	if err != nil {
		return nil, err
	}
	s.cache.offer(age, sub, slices.Clip(events))
	return slices.Clone(events), nil
}

// Lot returns the fold of the events that bear on a lot; see desk.Journal. What
// was folded is kept beside the events: a page, and a day's round even more, asks
// for the same lot many times between two entries.
func (s *Store) Lot(ctx context.Context, id string) (*holdfast.Lot, error) {
	sub := holdfast.Subject{Type: holdfast.SubjectLot, ID: id}
	if l := s.cache.lot(sub); l != nil {
		return l, nil
	}
	events, err := s.Events(ctx, sub)
	if err != nil {
		return nil, err
	}
	l := holdfast.FoldLot(id, events)
	s.cache.keepLot(sub, l)
	return l, nil
}

func (s *session) events(ctx context.Context, sub holdfast.Subject) ([]holdfast.Event, error) {
	var events []holdfast.Event
	err := s.each(ctx, `SELECT `+columns+` FROM entry_subject s JOIN entry e ON e.seq = s.seq
		WHERE s.subject_type = $1 AND s.subject_id = $2 ORDER BY s.seq`, []any{sub.Type, sub.ID}, func(scan scan) error {
		e, err := scanEntry(scan)
		if err != nil {
			return err
		}
		ev, err := decode(e)
		events = append(events, ev)
		return err
	})
	return events, err
}

// eventsAt returns the events with these numbers.
func (s *session) eventsAt(ctx context.Context, seqs []int64) ([]holdfast.Event, error) {
	events := make([]holdfast.Event, 0, len(seqs))
	for _, seq := range seqs {
		e, err := scanEntry(func(dest ...any) error {
			return s.row(ctx, `SELECT `+columns+` FROM entry e WHERE e.seq = $1`, []any{seq}, dest...)
		})
		if err != nil {
			return nil, err
		}
		ev, err := decode(e)
		if err != nil {
			return nil, err
		}
		events = append(events, ev)
	}
	return events, nil
}

// Each calls f for every entry after seq in order of acceptance, inside one
// read transaction, until f returns an error, and returns that error.
func (s *Store) Each(ctx context.Context, after int64, f func(holdfast.Entry) error) error {
	return s.read(ctx, func(t *session) error { return t.entries(ctx, after, f) })
}

func (s *session) entries(ctx context.Context, after int64, f func(holdfast.Entry) error) error {
	return s.each(ctx, `SELECT `+columns+` FROM entry e WHERE e.seq > $1 ORDER BY e.seq`, []any{after}, func(scan scan) error {
		e, err := scanEntry(scan)
		if err != nil {
			return err
		}
		return f(e)
	})
}

// head is where the chain of the site ends.
type head struct {
	site string // "" before the first entry
	seq  int64
	hash holdfast.Hash
}

func (s *session) head(ctx context.Context) (head, error) {
	var h head
	var hash []byte
	err := s.row(ctx, `SELECT site, seq, hash FROM site_head ORDER BY site LIMIT 1`, nil, &h.site, &h.seq, &hash)
	if errors.Is(err, sql.ErrNoRows) {
		return head{}, nil
	}
	copy(h.hash[:], hash)
	return h, err
}

// Head returns the number and hash of the last accepted entry; 0 and the zero
// hash when there is none.
func (s *Store) Head(ctx context.Context) (int64, holdfast.Hash, error) {
	h, err := s.headNow(ctx)
	return h.seq, h.hash, err
}

// Site returns the site whose journal this is, or "" while it is empty.
func (s *Store) Site(ctx context.Context) (string, error) {
	h, err := s.headNow(ctx)
	return h.site, err
}

func (s *Store) headNow(ctx context.Context) (h head, err error) {
	err = s.read(ctx, func(t *session) (err error) {
		h, err = t.head(ctx)
		return err
	})
	return h, err
}
