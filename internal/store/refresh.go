package store

import (
	"context"
	"database/sql"
	"errors"
	"strconv"

	"holdfast"
)

// refreshed is how many rows are computed in one transaction.
const refreshed = 200

// Refresh computes again, in batches, the rows that another version of the
// folds or of the model computed. progress, which may be nil, is told how many
// are done. What was interrupted goes on the next time.
func (s *Store) Refresh(ctx context.Context, progress func(done, total int)) error {
	var old []holdfast.Subject
	var current bool
	err := s.read(ctx, func(t *session) (err error) {
		if current, err = t.rowsCurrent(ctx, s.sum.Model()); err != nil || current {
			return err
		}
		old, err = t.outdated(ctx, s.sum.Model())
		return err
	})
	if err != nil || current {
		return err
	}
	for done := 0; done < len(old); {
		if progress != nil {
			progress(done, len(old))
		}
		batch := old[done:min(len(old), done+refreshed)]
		err := s.write(ctx, func(ctx context.Context, t *session) error {
			return newFolder(t, s.sum, nil, nil).writeAll(ctx, batch)
		}, nil)
		if err != nil {
			return err
		}
		done += len(batch)
	}
	return s.write(ctx, func(ctx context.Context, t *session) error { return t.setRowsCurrent(ctx, s.sum.Model()) }, nil)
}

// writeAll computes and writes the rows of these subjects alone.
func (f *folder) writeAll(ctx context.Context, subjects []holdfast.Subject) (err error) {
	for _, sub := range subjects {
		switch sub.Type {
		case holdfast.SubjectLot:
			err = f.writeLot(ctx, sub.ID)
		case holdfast.SubjectTank:
			err = f.writeTank(ctx, sub.ID)
		case holdfast.SubjectConsignment:
			err = f.writeConsignment(ctx, sub.ID)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// Names in the table meta.
const (
	metaFold  = "rows_fold"
	metaModel = "rows_model"
)

// rowsCurrent reports whether this version of the folds and this model computed
// all rows.
func (s *session) rowsCurrent(ctx context.Context, model string) (bool, error) {
	fold, err := s.meta(ctx, metaFold)
	if err != nil {
		return false, err
	}
	by, err := s.meta(ctx, metaModel)
	return fold == strconv.Itoa(holdfast.FoldVersion) && by == model, err
}

func (s *session) setRowsCurrent(ctx context.Context, model string) error {
	if err := s.setMeta(ctx, metaFold, strconv.Itoa(holdfast.FoldVersion)); err != nil {
		return err
	}
	return s.setMeta(ctx, metaModel, model)
}

// meta returns what is noted under the name, or "".
func (s *session) meta(ctx context.Context, name string) (string, error) {
	var value string
	err := s.row(ctx, `SELECT value FROM meta WHERE name = $1`, []any{name}, &value)
	if errors.Is(err, sql.ErrNoRows) {
		return "", nil
	}
	return value, err
}

func (s *session) setMeta(ctx context.Context, name, value string) error {
	_, err := s.exec(ctx, `INSERT INTO meta (name, value) VALUES ($1, $2) ON CONFLICT (name) DO UPDATE SET value = excluded.value`, name, value)
	return err
}

// outdated returns the subjects whose rows are missing or of another version.
func (s *session) outdated(ctx context.Context, model string) ([]holdfast.Subject, error) {
	current := map[holdfast.Subject]bool{}
	for _, q := range []struct {
		of   holdfast.SubjectType
		text string
		args []any
	}{
		{holdfast.SubjectLot, `SELECT id FROM lot_row WHERE fold = $1 AND model = $2`, []any{holdfast.FoldVersion, model}},
		{holdfast.SubjectTank, `SELECT id FROM tank_row WHERE fold = $1`, []any{holdfast.FoldVersion}},
		{holdfast.SubjectConsignment, `SELECT id FROM consignment_row WHERE fold = $1`, []any{holdfast.FoldVersion}},
	} {
		ids, err := s.texts(ctx, q.text, q.args...)
		if err != nil {
			return nil, err
		}
		for _, id := range ids {
			current[holdfast.Subject{Type: q.of, ID: id}] = true
		}
	}
	all, err := s.subjects(ctx)
	var old []holdfast.Subject
	for _, sub := range all {
		if sub.Type != holdfast.SubjectShop && !current[sub] {
			old = append(old, sub)
		}
	}
	return old, err
}

// subjects returns everything that any entry bears on.
func (s *session) subjects(ctx context.Context) ([]holdfast.Subject, error) {
	var all []holdfast.Subject
	err := s.each(ctx, `SELECT DISTINCT subject_type, subject_id FROM entry_subject ORDER BY subject_type, subject_id`, nil, func(scan scan) error {
		var sub holdfast.Subject
		err := scan(&sub.Type, &sub.ID)
		all = append(all, sub)
		return err
	})
	return all, err
}
