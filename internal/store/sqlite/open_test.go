package sqlite_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/store/storetest"
)

// wantKind checks that err is meant for a person and of the kind.
func wantKind(t *testing.T, err error, kind holdfast.ErrorKind) {
	t.Helper()
	var e *holdfast.Error
	if !errors.As(err, &e) || e.Kind != kind || e.Message == "" || e.Hint == "" {
		t.Fatalf("error is %#v, want one of kind %s with message and hint", err, kind)
	}
}

func TestOneDesk(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a folder?#%41 é")
	s := open(t, dir)
	_, err := sqlite.Open(t.Context(), dir, storetest.Summariser{}, sqlite.Options{})
	wantKind(t, err, holdfast.Busy)

	m := &storetest.Maker{}
	if _, err := s.Append(t.Context(), desk.Batch{Entries: m.Arrival()}); err != nil {
		t.Fatal(err)
	}
	r, err := sqlite.OpenReadOnly(t.Context(), dir, storetest.Summariser{})
	if err != nil {
		t.Fatalf("reading beside a running desk: %v", err)
	}
	defer r.Close()
	for i := range int64(3) {
		seq, _, err := r.Head(t.Context())
		if want := 7 + i; err != nil || seq != want {
			t.Errorf("the reader sees no. %d, %v, want %d", seq, err, want)
		}
		if events, err := r.Events(t.Context(), storetest.Lot("A")); err != nil || int64(len(events)) != 2+i {
			t.Errorf("the reader sees %d events, %v, want %d", len(events), err, 2+i)
		}
		if _, err := s.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{m.Entry("A", "T1", &holdfast.Death{Count: 1})}}); err != nil {
			t.Fatal(err)
		}
	}
	_, err = r.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{m.Entry("A", "T1", &holdfast.Death{Count: 1})}})
	wantKind(t, err, holdfast.Refused)

	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	if s, err = sqlite.Open(t.Context(), dir, storetest.Summariser{}, sqlite.Options{}); err != nil {
		t.Fatalf("the lock outlived the desk: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

func TestReadOnlyAlone(t *testing.T) {
	dir := t.TempDir()
	_, err := sqlite.OpenReadOnly(t.Context(), dir, storetest.Summariser{})
	wantKind(t, err, holdfast.NotFound)
	s := open(t, dir)
	if _, err := s.Append(t.Context(), desk.Batch{Entries: new(storetest.Maker).Arrival()}); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	before, err := os.ReadFile(filepath.Join(dir, sqlite.FileName))
	if err != nil {
		t.Fatal(err)
	}
	r, err := sqlite.OpenReadOnly(t.Context(), dir, storetest.Summariser{})
	if err != nil {
		t.Fatal(err)
	}
	if seq, _, err := r.Head(t.Context()); seq != 7 || err != nil {
		t.Errorf("head is no. %d, %v", seq, err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	after, err := os.ReadFile(filepath.Join(dir, sqlite.FileName))
	if err != nil || string(after) != string(before) {
		t.Errorf("reading changed the file: %v", err)
	}
}
