package store

import (
	"context"
	"database/sql"
	"errors"

	"holdfast"
)

// Engine is what differs between databases.
type Engine interface {
	// Writer is the pool that transactions which change something run in.
	// It is nil when the database was opened for reading only.
	Writer() *sql.DB
	// Reader is the pool for everything else.
	Reader() *sql.DB
	// Snapshot makes a read transaction see one state from start to end.
	Snapshot() *sql.TxOptions
	// Inspect returns what the database itself finds wrong with its files.
	Inspect(ctx context.Context, tx *sql.Tx) ([]string, error)
	// Backup writes a consistent copy to a file that must not exist yet, while
	// others go on reading and writing.
	Backup(ctx context.Context, path string) error
	// Scrub overwrites what was deleted, so that it cannot be read from the
	// files of the database any more.
	Scrub(ctx context.Context) error
	// Hurry lets commits return before they are on the disk, until Settle has put
	// everything there.
	Hurry(ctx context.Context) error
	Settle(ctx context.Context) error
	// Close releases the files.
	Close() error
}

// Store implements desk.Store on an [Engine].
type Store struct {
	engine Engine
	sum    holdfast.Summariser
	cache  *cache
	// turn holds one token: who has it may change the journal. The database
	// would make writers wait as well, but the cache has to follow in the same
	// order.
	turn chan struct{}
}

// New returns the store on an engine whose schema is up to date. sum computes
// the rows of lots.
func New(e Engine, sum holdfast.Summariser) *Store {
	s := &Store{engine: e, sum: sum, turn: make(chan struct{}, 1)}
	if e.Writer() != nil {
		s.cache = newCache(cachedEvents)
	}
	return s
}

// Close releases the database. Calls that still run fail.
func (s *Store) Close() error { return s.engine.Close() }

// Backup writes a consistent copy to a file that must not exist yet. Opening
// the copy restores it.
func (s *Store) Backup(ctx context.Context, path string) error { return s.engine.Backup(ctx, path) }

// Fill runs f, whose entries need not be on the disk one by one; all of them are
// when Fill returns nil. It is for filling a folder that nobody uses yet and that
// is thrown away when f fails: if the machine stops in between, the database may
// be beyond repair.
func (s *Store) Fill(ctx context.Context, f func(context.Context) error) error {
	if s.engine.Writer() == nil {
		return readOnly
	}
	if err := s.engine.Hurry(ctx); err != nil {
		return err
	}
	err := f(ctx)
	return errors.Join(err, s.engine.Settle(context.WithoutCancel(ctx)))
}

// readOnly is what every change gets from a store opened for reading.
var readOnly = &holdfast.Error{Kind: holdfast.Refused, Message: "the data folder is open for reading only", Hint: "Record it in the running desk."}

// write runs f in one transaction and commits, or leaves everything as it was.
// after runs once the commit is certain, before the next writer's turn.
//
// A context that ends stops the wait for the turn. From there on the statements
// run without it: whether a commit happened is then never in doubt.
func (s *Store) write(ctx context.Context, f func(context.Context, *session) error, after func()) error {
	if s.engine.Writer() == nil {
		return readOnly
	}
	select {
	case s.turn <- struct{}{}:
		defer func() { <-s.turn }()
	case <-ctx.Done():
		return ctx.Err()
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	steady := context.WithoutCancel(ctx)
	tx, err := s.engine.Writer().BeginTx(steady, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback()
	if err := f(steady, newSession(tx)); err != nil {
		return err
	}
	if err := tx.Commit(); err != nil {
		return err
	}
	if after != nil {
		after()
	}
	return nil
}

// read runs f in one transaction that sees one state from start to end.
func (s *Store) read(ctx context.Context, f func(*session) error) error {
	tx, err := s.engine.Reader().BeginTx(ctx, s.engine.Snapshot())
	if err != nil {
		return err
	}
	defer tx.Rollback()
	return f(newSession(tx))
}

func notFound(err error, message string) error {
	if errors.Is(err, sql.ErrNoRows) {
		return &holdfast.Error{Kind: holdfast.NotFound, Message: message}
	}
	return err
}
