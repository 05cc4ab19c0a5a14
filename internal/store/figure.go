package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"holdfast"
	"holdfast/desk"
)

// KeepFigures keeps what was computed of a lot, replacing any before.
func (s *Store) KeepFigures(ctx context.Context, f desk.FigureRow) error {
	if !json.Valid(f.Body) {
		return &holdfast.Error{Kind: holdfast.Invalid, Field: "body", Message: "what was computed of a lot is not JSON"}
	}
	figures, err := json.Marshal(f.Figures)
	if err != nil {
		return err
	}
	var worst holdfast.LotRow
	worst.SetFigures(f.Figures)
	chance := notLooked
	if worst.Chance != nil {
		chance = *worst.Chance
	}
	return s.write(ctx, func(ctx context.Context, t *session) error {
		_, err := t.exec(ctx, `INSERT INTO lot_figure (lot, row_key, key, as_of, sharp, chance, figures) VALUES ($1, $2, $3, $4, $5, $6, $7)
			ON CONFLICT (lot) DO UPDATE SET row_key = excluded.row_key, key = excluded.key, as_of = excluded.as_of, sharp = excluded.sharp,
				chance = excluded.chance, figures = excluded.figures`,
			f.Lot, f.RowKey, f.Key, int(f.AsOf), flag(f.Sharp), chance, string(figures))
		if err != nil {
			return err
		}
		_, err = t.exec(ctx, `INSERT INTO lot_figure_body (lot, body) VALUES ($1, $2) ON CONFLICT (lot) DO UPDATE SET body = excluded.body`, f.Lot, string(f.Body))
		return err
	}, nil)
}

// Figures returns what is kept of a lot, or nil.
func (s *Store) Figures(ctx context.Context, lot string) (*desk.FigureRow, error) {
	f := desk.FigureRow{Lot: lot}
	var figures, body string
	var sharp int
	err := s.read(ctx, func(t *session) error {
		return t.row(ctx, `SELECT f.row_key, f.key, f.as_of, f.sharp, f.figures, b.body FROM lot_figure f JOIN lot_figure_body b ON b.lot = f.lot WHERE f.lot = $1`,
			[]any{lot}, &f.RowKey, &f.Key, &f.AsOf, &sharp, &figures, &body)
	})
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	f.Sharp, f.Body = sharp != 0, json.RawMessage(body)
	return &f, json.Unmarshal([]byte(figures), &f.Figures)
}

// FigureKeys returns the key of what is kept, by lot.
func (s *Store) FigureKeys(ctx context.Context) (map[string]desk.FigureKey, error) {
	all := map[string]desk.FigureKey{}
	err := s.read(ctx, func(t *session) error {
		return t.each(ctx, `SELECT lot, key, sharp FROM lot_figure`, nil, func(scan scan) error {
			var lot, key string
			var sharp int
			err := scan(&lot, &key, &sharp)
			all[lot] = desk.FigureKey{Key: key, Sharp: sharp != 0}
			return err
		})
	})
	return all, err
}

// withFigures puts into a row what is kept of its lot. What was computed before
// the row changed is marked as old.
func (s *session) withFigures(ctx context.Context, r *holdfast.LotRow) error {
	var rowKey, figures string
	err := s.row(ctx, `SELECT row_key, as_of, figures FROM lot_figure WHERE lot = $1`, []any{r.ID}, &rowKey, &r.FigureAsOf, &figures)
	if errors.Is(err, sql.ErrNoRows) {
		return nil
	}
	if err != nil {
		return err
	}
	var all []holdfast.Figure
	if err := json.Unmarshal([]byte(figures), &all); err != nil {
		return err
	}
	r.SetFigures(all)
	r.FigureOld = rowKey != r.Evidence
	return nil
}
