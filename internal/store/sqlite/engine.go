package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/gofrs/flock"

	"holdfast"
)

// engine implements store.Engine.
type engine struct {
	file   string
	lock   *flock.Flock // nil when opened for reading only
	writer *sql.DB      // nil when opened for reading only
	reader *sql.DB
}

func (e *engine) Writer() *sql.DB { return e.writer }
func (e *engine) Reader() *sql.DB { return e.reader }

// Snapshot: a deferred transaction sees the state of its first query.
func (e *engine) Snapshot() *sql.TxOptions { return &sql.TxOptions{ReadOnly: true} }

// maxFaults bounds how many faults of the file are listed.
const maxFaults = 20

// Inspect checks the pages of the file, that indexes agree with their tables,
// and that no reference dangles.
func (e *engine) Inspect(ctx context.Context, tx *sql.Tx) ([]string, error) {
	var found []string
	rows, err := tx.QueryContext(ctx, fmt.Sprintf(`PRAGMA integrity_check(%d)`, maxFaults))
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var says string
		if err := rows.Scan(&says); err != nil {
			return nil, err
		}
		if says != "ok" {
			found = append(found, says)
		}
	}
	return found, rows.Err()
}

// Backup copies the database as it stands at one moment. The copy gets its name
// once it is complete and on the disk.
func (e *engine) Backup(ctx context.Context, path string) (err error) {
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return &holdfast.Error{Kind: holdfast.Refused, Field: "path", Message: fmt.Sprintf("%s exists already; nothing was written", path), Hint: "Give the copy a new name."}
	}
	part, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*.part")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			os.Remove(part.Name())
		}
	}()
	defer part.Close()
	if _, err := e.reader.ExecContext(ctx, `VACUUM INTO $1`, part.Name()); err != nil {
		return fmt.Errorf("copy %s: %w", e.file, err)
	}
	if err := part.Sync(); err != nil {
		return err
	}
	if err := part.Close(); err != nil {
		return err
	}
	if err := os.Rename(part.Name(), path); err != nil {
		return err
	}
	return syncFolder(filepath.Dir(path))
}

// syncFolder makes a new name survive a power cut, where folders can be synced.
func syncFolder(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	if err := d.Sync(); err != nil && !errors.Is(err, errors.ErrUnsupported) && !errors.Is(err, fs.ErrInvalid) && !errors.Is(err, fs.ErrPermission) {
		return err
	}
	return nil
}

// Scrub moves everything into the database, where deleted content was
// overwritten, and empties the write-ahead log, where it was not.
func (e *engine) Scrub(ctx context.Context) error {
	var busy, frames, moved int
	if err := e.writer.QueryRowContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`).Scan(&busy, &frames, &moved); err != nil {
		return err
	}
	if busy != 0 {
		return &holdfast.Error{Kind: holdfast.Busy, Message: "it is deleted, but somebody is still reading an older state that holds it",
			Hint: "Erase it again when no export, check or copy is running."}
	}
	return nil
}

// Hurry switches the syncing of commits off, for the one connection that writes:
// another in its place would sync again.
func (e *engine) Hurry(ctx context.Context) error {
	_, err := e.writer.ExecContext(ctx, `PRAGMA synchronous = OFF`)
	return err
}

// Settle switches it on again and moves everything into the database, which
// syncs it: a sync is of the whole file, with what was written before.
func (e *engine) Settle(ctx context.Context) error {
	if _, err := e.writer.ExecContext(ctx, `PRAGMA synchronous = FULL`); err != nil {
		return err
	}
	var busy, frames, moved int
	if err := e.writer.QueryRowContext(ctx, `PRAGMA wal_checkpoint(TRUNCATE)`).Scan(&busy, &frames, &moved); err != nil {
		return err
	}
	if busy != 0 {
		return &holdfast.Error{Kind: holdfast.Busy, Message: "somebody is reading while the folder is filled", Hint: "Start again in a new folder."}
	}
	return nil
}

// Close closes the pools, the reader first so that the last connection, which
// can write, moves the log into the database, and then gives up the lock.
func (e *engine) Close() error {
	var errs []error
	if e.reader != nil {
		errs = append(errs, e.reader.Close())
	}
	if e.writer != nil {
		errs = append(errs, e.writer.Close())
	}
	if e.lock != nil {
		errs = append(errs, e.lock.Unlock())
	}
	return errors.Join(errs...)
}
