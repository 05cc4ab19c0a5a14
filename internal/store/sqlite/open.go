package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"

	"github.com/gofrs/flock"
	_ "modernc.org/sqlite" // the driver "sqlite"

	"holdfast"
	"holdfast/internal/store"
)

// FileName is the database in the data folder, lockName the lock beside it.
const (
	FileName = "holdfast.db"
	lockName = "holdfast.lock"
)

// readers is how many read transactions run at the same time.
const readers = 8

// Options say how to open a data folder.
type Options struct {
	// Progress is told how many rows are done while rows of an earlier version
	// are computed again. It may be nil.
	Progress func(done, total int)
}

// Open opens the data folder for reading and writing, makes it when it is
// missing, and brings schema and rows up to date. While another desk has it,
// the error is of kind Busy.
func Open(ctx context.Context, dir string, sum holdfast.Summariser, opts Options) (*store.Store, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil { // buyers' names are nobody else's business
		return nil, err
	}
	lock, err := lockFolder(dir)
	if err != nil {
		return nil, err
	}
	e := &engine{file: filepath.Join(dir, FileName), lock: lock}
	s, err := e.start(ctx, sum, opts)
	if err != nil {
		e.Close()
		return nil, err
	}
	return s, nil
}

func (e *engine) start(ctx context.Context, sum holdfast.Summariser, opts Options) (*store.Store, error) {
	var err error
	if e.writer, err = connect(e.file, writing); err != nil {
		return nil, err
	}
	e.writer.SetMaxOpenConns(1)
	if err := migrate(ctx, e.writer); err != nil {
		return nil, fmt.Errorf("open %s: %w", e.file, err)
	}
	if e.reader, err = connect(e.file, reading); err != nil {
		return nil, err
	}
	e.reader.SetMaxOpenConns(readers)
	e.reader.SetMaxIdleConns(readers)
	s := store.New(e, sum)
	return s, s.Refresh(ctx, opts.Progress)
}

// OpenReadOnly opens a data folder beside a running desk, or a folder that
// nobody has open. It changes nothing.
func OpenReadOnly(ctx context.Context, dir string, sum holdfast.Summariser) (*store.Store, error) {
	e := &engine{file: filepath.Join(dir, FileName)}
	if _, err := os.Stat(e.file); errors.Is(err, fs.ErrNotExist) {
		return nil, &holdfast.Error{Kind: holdfast.NotFound, Field: "data", Message: fmt.Sprintf("there is no desk in the folder %s", dir),
			Hint: "Name the folder that holds " + FileName + "."}
	}
	var err error
	if e.reader, err = connect(e.file, reading); err != nil {
		return nil, err
	}
	e.reader.SetMaxOpenConns(readers)
	if err := checkVersion(ctx, e.reader); err != nil {
		e.Close()
		return nil, fmt.Errorf("open %s: %w", e.file, err)
	}
	return store.New(e, sum), nil
}

// lockFolder takes the lock that only one desk can have.
func lockFolder(dir string) (*flock.Flock, error) {
	lock := flock.New(filepath.Join(dir, lockName), flock.SetPermissions(0o600))
	got, err := lock.TryLock()
	if err != nil {
		return nil, fmt.Errorf("lock the data folder: %w", err)
	}
	if !got {
		return nil, &holdfast.Error{Kind: holdfast.Busy, Field: "data", Message: fmt.Sprintf("another desk has the folder %s open", dir),
			Hint: "Stop it first or name another folder. Verify and export work beside it."}
	}
	return lock, nil
}

// Both pools get their pragmas with each connection: run once on a pool they
// would hold for one connection only.
var (
	common  = []string{"busy_timeout(10000)", "foreign_keys(1)", "trusted_schema(0)", "cache_size(-32768)", "temp_store(2)"}
	writing = url.Values{
		// A commit is on the disk before it is acknowledged, and what is deleted
		// is overwritten.
		"_pragma": append([]string{"journal_mode(WAL)", "synchronous(FULL)", "secure_delete(1)", "journal_size_limit(67108864)"}, common...),
		"_txlock": {"immediate"}, "_dqs": {"0"}, "_defensive": {"1"},
	}
	reading = url.Values{"mode": {"ro"}, "_pragma": common, "_dqs": {"0"}, "_defensive": {"1"}}
)

func connect(file string, params url.Values) (*sql.DB, error) {
	abs, err := filepath.Abs(file)
	if err != nil {
		return nil, err
	}
	path := filepath.ToSlash(abs)
	if path[0] != '/' { // a drive letter
		path = "/" + path
	}
	return sql.Open("sqlite", (&url.URL{Scheme: "file", Path: path, RawQuery: params.Encode()}).String())
}
