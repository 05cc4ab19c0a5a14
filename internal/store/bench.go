package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"holdfast"
	"holdfast/desk"
)

// WantReadings asks that photographs be read in a way.
func (s *Store) WantReadings(ctx context.Context, lot, way string, shas []string) error {
	if len(shas) == 0 {
		return nil
	}
	return s.write(ctx, func(ctx context.Context, t *session) error {
		var last int64
		if err := t.row(ctx, `SELECT COALESCE(max(asked), 0) FROM photo_reading`, nil, &last); err != nil {
			return err
		}
		for i, sha := range shas {
			_, err := t.exec(ctx, `INSERT INTO photo_reading (sha, lot, wanted, have, tries, asked, body) VALUES ($1, $2, $3, '', 0, $4, '')
				ON CONFLICT (sha) DO UPDATE SET lot = excluded.lot, wanted = excluded.wanted, tries = 0, asked = excluded.asked
				WHERE photo_reading.wanted <> excluded.wanted`, sha, lot, way, last+int64(i)+1)
			if err != nil {
				return err
			}
		}
		return nil
	}, nil)
}

// OpenReadings returns photographs that wait to be read, those of the lot that
// was asked for last before others, the longest waiting first.
func (s *Store) OpenReadings(ctx context.Context, limit int) ([]desk.Want, error) {
	var all []desk.Want
	err := s.read(ctx, func(t *session) error {
		return t.each(ctx, `SELECT sha, lot, wanted FROM photo_reading WHERE wanted <> have AND tries < $1
			ORDER BY CASE WHEN lot = (SELECT lot FROM photo_reading WHERE wanted <> have AND tries < $1 ORDER BY asked DESC LIMIT 1) THEN 0 ELSE 1 END, asked LIMIT $2`,
			[]any{desk.ReadingTries, limit}, func(scan scan) error {
				var w desk.Want
				err := scan(&w.SHA256, &w.Lot, &w.Way)
				all = append(all, w)
				return err
			})
	})
	return all, err
}

// TryReading counts a try before it is made.
func (s *Store) TryReading(ctx context.Context, sha string) error {
	return s.write(ctx, func(ctx context.Context, t *session) error {
		_, err := t.exec(ctx, `UPDATE photo_reading SET tries = tries + 1 WHERE sha = $1`, sha)
		return err
	}, nil)
}

// KeepReading keeps what a photograph was read as. Of one that nobody asked for
// it keeps nothing.
func (s *Store) KeepReading(ctx context.Context, sha, way string, body json.RawMessage) error {
	if !json.Valid(body) {
		return &holdfast.Error{Kind: holdfast.Invalid, Field: "body", Message: "what a photograph was read as is not JSON"}
	}
	return s.write(ctx, func(ctx context.Context, t *session) error {
		_, err := t.exec(ctx, `UPDATE photo_reading SET have = $2, body = $3 WHERE sha = $1`, sha, way, string(body))
		return err
	}, nil)
}

// Readings returns what is known of photographs.
func (s *Store) Readings(ctx context.Context, shas []string) (map[string]desk.ReadingRow, error) {
	all := make(map[string]desk.ReadingRow, len(shas))
	err := s.read(ctx, func(t *session) error {
		for _, sha := range shas {
			var r desk.ReadingRow
			var body string
			err := t.row(ctx, `SELECT wanted, have, tries, body FROM photo_reading WHERE sha = $1`, []any{sha}, &r.Wanted, &r.Have, &r.Tries, &body)
			if errors.Is(err, sql.ErrNoRows) {
				continue
			}
			if err != nil {
				return err
			}
			if body != "" {
				r.Body = json.RawMessage(body)
			}
			all[sha] = r
		}
		return nil
	})
	return all, err
}

// KeepNote keeps a JSON value under a name on the bench of a lot; nil takes it
// away.
func (s *Store) KeepNote(ctx context.Context, lot, name string, value json.RawMessage) error {
	if value != nil && !json.Valid(value) {
		return &holdfast.Error{Kind: holdfast.Invalid, Field: "value", Message: "what is to be kept on the bench is not JSON"}
	}
	return s.write(ctx, func(ctx context.Context, t *session) error {
		if value == nil {
			_, err := t.exec(ctx, `DELETE FROM bench_note WHERE lot = $1 AND name = $2`, lot, name)
			return err
		}
		_, err := t.exec(ctx, `INSERT INTO bench_note (lot, name, value) VALUES ($1, $2, $3)
			ON CONFLICT (lot, name) DO UPDATE SET value = excluded.value`, lot, name, string(value))
		return err
	}, nil)
}

// Notes returns everything kept on the bench of a lot.
func (s *Store) Notes(ctx context.Context, lot string) (map[string]json.RawMessage, error) {
	all := map[string]json.RawMessage{}
	err := s.read(ctx, func(t *session) error {
		return t.each(ctx, `SELECT name, value FROM bench_note WHERE lot = $1`, []any{lot}, func(scan scan) error {
			var name, value string
			err := scan(&name, &value)
			all[name] = json.RawMessage(value)
			return err
		})
	})
	return all, err
}
