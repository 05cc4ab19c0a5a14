package store

import (
	"context"
	"database/sql"
)

// session is a transaction that prepares each statement once: a batch runs the
// same few statements thousands of times.
type session struct {
	tx    *sql.Tx
	stmts map[string]*sql.Stmt
}

func newSession(tx *sql.Tx) *session { return &session{tx: tx, stmts: map[string]*sql.Stmt{}} }

func (s *session) stmt(ctx context.Context, text string) (*sql.Stmt, error) {
	if st, ok := s.stmts[text]; ok {
		return st, nil
	}
	st, err := s.tx.PrepareContext(ctx, text) // closed with the transaction
	if err != nil {
		return nil, err
	}
	s.stmts[text] = st
	return st, nil
}

// exec runs a statement and returns how many rows it changed.
func (s *session) exec(ctx context.Context, text string, args ...any) (int64, error) {
	st, err := s.stmt(ctx, text)
	if err != nil {
		return 0, err
	}
	r, err := st.ExecContext(ctx, args...)
	if err != nil {
		return 0, err
	}
	return r.RowsAffected()
}

// row reads the first row of an answer into dest, or returns sql.ErrNoRows.
func (s *session) row(ctx context.Context, text string, args []any, dest ...any) error {
	st, err := s.stmt(ctx, text)
	if err != nil {
		return err
	}
	return st.QueryRowContext(ctx, args...).Scan(dest...)
}

// each calls f for every row of an answer. f must not run another statement:
// some drivers have one answer open at a time.
func (s *session) each(ctx context.Context, text string, args []any, f func(scan) error) error {
	st, err := s.stmt(ctx, text)
	if err != nil {
		return err
	}
	rows, err := st.QueryContext(ctx, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := f(rows.Scan); err != nil {
			return err
		}
	}
	return rows.Err()
}

// scan reads the columns of one row.
type scan func(dest ...any) error

// texts returns the single text column of an answer.
func (s *session) texts(ctx context.Context, text string, args ...any) ([]string, error) {
	var all []string
	err := s.each(ctx, text, args, func(scan scan) error {
		var t string
		if err := scan(&t); err != nil {
			return err
		}
		all = append(all, t)
		return nil
	})
	return all, err
}
