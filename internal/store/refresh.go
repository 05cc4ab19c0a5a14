package store

import (
	"context"
	"database/sql"
	"errors"
	"strconv"

	"holdfast"
)

// refreshed is how many rows are computed in one transaction, and how many
// entries are held at a time while all are read.
const refreshed = 200

// Refresh computes again what another version of the folds or of the model
// computed: what each entry bears on at once, the rows in batches. progress,
// which may be nil, is told how many rows are done. What was interrupted goes on
// the next time.
func (s *Store) Refresh(ctx context.Context, progress func(done, total int)) error {
	var listed string
	var current bool
	err := s.read(ctx, func(t *session) (err error) {
		if listed, err = t.meta(ctx, metaSubjects); err != nil {
			return err
		}
		current, err = t.rowsCurrent(ctx, s.sum.Model())
		return err
	})
	if err != nil {
		return err
	}
	if listed != foldVersion {
		if err := s.write(ctx, func(ctx context.Context, t *session) error { return t.listAgain(ctx) }, s.cache.clear); err != nil {
			return err
		}
	}
	if current {
		return nil
	}
	return s.refreshRows(ctx, progress)
}

func (s *Store) refreshRows(ctx context.Context, progress func(done, total int)) error {
	var old []holdfast.Subject
	err := s.read(ctx, func(t *session) (err error) {
		old, err = t.outdated(ctx, s.sum.Model())
		return err
	})
	if err != nil {
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
	return s.write(ctx, func(ctx context.Context, t *session) error {
		if err := t.dropOutdated(ctx, s.sum.Model()); err != nil {
			return err
		}
		return t.setRowsCurrent(ctx, s.sum.Model())
	}, nil)
}

// listAgain lists every entry under what it bears on, as this version sees it.
func (s *session) listAgain(ctx context.Context) error {
	if _, err := s.exec(ctx, `DELETE FROM entry_subject`); err != nil {
		return err
	}
	for after, more := int64(0), true; more; {
		var page []holdfast.Entry
		err := s.each(ctx, `SELECT `+columns+` FROM entry e WHERE e.seq > $1 ORDER BY e.seq LIMIT $2`, []any{after, refreshed}, func(scan scan) error {
			e, err := scanEntry(scan)
			page = append(page, e)
			return err
		})
		if err != nil {
			return err
		}
		for _, e := range page {
			if err := s.list(ctx, e); err != nil {
				return err
			}
			after = e.Seq
		}
		more = len(page) == refreshed
	}
	return s.setMeta(ctx, metaSubjects, foldVersion)
}

// list lists one entry of which everything that it may correct is in the
// journal already.
func (s *session) list(ctx context.Context, e holdfast.Entry) error {
	ev, err := decode(e)
	if err != nil {
		return err
	}
	subjects, err := s.subjectsOf(ctx, ev)
	if err != nil {
		return err
	}
	for _, sub := range subjects {
		if _, err := s.bears(ctx, e.Seq, sub); err != nil {
			return err
		}
	}
	return nil
}

// dropOutdated deletes the rows of subjects on which no entry bears any more.
func (s *session) dropOutdated(ctx context.Context, model string) error {
	for _, q := range []struct {
		text string
		args []any
	}{
		{`DELETE FROM lot_row WHERE fold <> $1 OR model <> $2`, []any{holdfast.FoldVersion, model}},
		{`DELETE FROM lot_body WHERE id NOT IN (SELECT id FROM lot_row)`, nil},
		{`DELETE FROM lot_reads WHERE lot NOT IN (SELECT id FROM lot_row)`, nil},
		{`DELETE FROM tank_row WHERE fold <> $1`, []any{holdfast.FoldVersion}},
		{`DELETE FROM consignment_row WHERE fold <> $1`, []any{holdfast.FoldVersion}},
	} {
		if _, err := s.exec(ctx, q.text, q.args...); err != nil {
			return err
		}
	}
	return nil
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
	metaSubjects = "subjects_fold" // version that listed the entries under what they bear on
	metaFold     = "rows_fold"     // version that computed all rows
	metaModel    = "rows_model"
)

var foldVersion = strconv.Itoa(holdfast.FoldVersion)

// rowsCurrent reports whether this version of the folds and this model computed
// all rows, and the lists of entries that they were computed from.
func (s *session) rowsCurrent(ctx context.Context, model string) (bool, error) {
	for _, m := range []struct{ name, want string }{{metaSubjects, foldVersion}, {metaFold, foldVersion}, {metaModel, model}} {
		if have, err := s.meta(ctx, m.name); err != nil || have != m.want {
			return false, err
		}
	}
	return true, nil
}

func (s *session) setRowsCurrent(ctx context.Context, model string) error {
	if err := s.setMeta(ctx, metaFold, foldVersion); err != nil {
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
		if sub.Type != holdfast.SubjectShop && sub.Type != holdfast.SubjectBook && !current[sub] {
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
