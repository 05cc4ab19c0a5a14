package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
	"holdfast/internal/store/storetest"
)

func started(t *testing.T) (*engine, *store.Store) {
	t.Helper()
	e := &engine{file: filepath.Join(t.TempDir(), FileName)}
	s, err := e.start(t.Context(), storetest.Summariser{}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { e.Close() })
	return e, s
}

// TestPragmas: they hold for every connection of a pool, not for the first one.
func TestPragmas(t *testing.T) {
	e, _ := started(t)
	for _, c := range []struct {
		pragma string
		writer bool
		want   string
	}{
		{"foreign_keys", true, "1"}, {"foreign_keys", false, "1"},
		{"journal_mode", true, "wal"}, {"journal_mode", false, "wal"},
		{"synchronous", true, "2"}, // FULL
		{"secure_delete", true, "1"},
		{"busy_timeout", true, "10000"}, {"busy_timeout", false, "10000"},
		{"trusted_schema", true, "0"}, {"trusted_schema", false, "0"},
	} {
		pool, n := e.reader, readers
		if c.writer {
			pool, n = e.writer, 1
		}
		var held []*sql.Conn // so that the next one is another
		for range n {
			conn, err := pool.Conn(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			held = append(held, conn)
			var got string
			if err := conn.QueryRowContext(t.Context(), "PRAGMA "+c.pragma).Scan(&got); err != nil || got != c.want {
				t.Errorf("%s is %s, %v, want %s", c.pragma, got, err, c.want)
			}
		}
		for _, conn := range held {
			conn.Close()
		}
	}
}

// TestFillSyncsAgain: commits are synced after a folder was filled, also when that
// failed, and what was filled in has left the log.
func TestFillSyncsAgain(t *testing.T) {
	e, s := started(t)
	synchronous := func() (mode string) {
		if err := e.writer.QueryRowContext(t.Context(), "PRAGMA synchronous").Scan(&mode); err != nil {
			t.Fatal(err)
		}
		return mode
	}
	for _, failed := range []error{nil, errors.New("broken")} {
		err := s.Fill(t.Context(), func(context.Context) error {
			if mode := synchronous(); mode != "0" {
				t.Errorf("synchronous is %s while filling", mode)
			}
			return failed
		})
		if !errors.Is(err, failed) {
			t.Errorf("filling says %v, want %v", err, failed)
		}
		if mode := synchronous(); mode != "2" {
			t.Errorf("synchronous is %s after filling, want 2", mode)
		}
		if info, err := os.Stat(e.file + "-wal"); err == nil && info.Size() > 0 {
			t.Errorf("%d bytes are left in the log", info.Size())
		}
	}
}

func TestBinding(t *testing.T) {
	e, _ := started(t)
	storetest.Binding(t, e.writer)
	storetest.Binding(t, e.reader)
}

// TestFullDisk: when there is no room left, the batch is refused whole, and
// recording goes on when there is room again.
func TestFullDisk(t *testing.T) {
	e, s := started(t)
	m := &storetest.Maker{}
	if _, err := s.Append(t.Context(), desk.Batch{Entries: m.Arrival()}); err != nil {
		t.Fatal(err)
	}
	if _, err := e.writer.Exec(`PRAGMA max_page_count = 60`); err != nil {
		t.Fatal(err)
	}
	batch := func() []holdfast.Entry {
		var all []holdfast.Entry
		for range 20 {
			all = append(all, m.Entry("A", "T1", &holdfast.Death{}), m.Entry("B", "T2", storetest.Look(10, 0)))
		}
		return all
	}
	accepted := int64(7)
	var refused []holdfast.Entry
	for range 100 {
		refused = batch()
		if _, err := s.Append(t.Context(), desk.Batch{Entries: refused}); err != nil {
			break
		}
		accepted += 40
		refused = nil
	}
	if refused == nil {
		t.Fatal("the disk never filled up")
	}
	if seq, _, err := s.Head(t.Context()); seq != accepted || err != nil {
		t.Errorf("head is no. %d, %v, want %d", seq, err, accepted)
	}
	storetest.Sound(t, s)
	if _, err := e.writer.Exec(`PRAGMA max_page_count = 100000`); err != nil {
		t.Fatal(err)
	}
	receipts, err := s.Append(t.Context(), desk.Batch{Entries: refused})
	if err != nil || receipts[0].Seq != accepted+1 || receipts[0].Already {
		t.Errorf("the same batch with room again: %+v, %v", receipts, err)
	}
	storetest.Sound(t, s)
}
