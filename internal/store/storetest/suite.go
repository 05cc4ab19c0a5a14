package storetest

import (
	"database/sql"
	"errors"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
)

// Fresh prepares an empty place for a journal and returns what opens it. Opened
// again after it was closed, the store holds what was put into it.
type Fresh func(t *testing.T) (open func() *store.Store)

// Run runs the suite. The places are opened with [Summariser].
func Run(t *testing.T, fresh Fresh) {
	for _, c := range []struct {
		name string
		test func(*testing.T, Fresh)
	}{
		{"empty store", testEmpty},
		{"append and read back", testAppend},
		{"chain", testChain},
		{"same id again", testAgain},
		{"bad entries", testBad},
		{"other site", testSite},
		{"unchanged", testUnchanged},
		{"all or nothing", testNothingKept},
		{"subjects", testSubjects},
		{"correction before its entry", testCorrectionFirst},
		{"rows of lots", testLotRows},
		{"rows follow other lots", testRowsFollow},
		{"rows of undone lots", testRowsUndone},
		{"rows of tanks and deliveries", testOtherRows},
		{"lots query", testLots},
		{"memory", testMemory},
		{"buyers", testBuyers},
		{"readings", testReadings},
		{"notes of the bench", testNotes},
		{"figures beside the rows", testFigures},
		{"parallel", testParallel},
		{"reading while writing", testReadersWhileWriting},
		{"cancelled", testCancelled},
		{"filled", testFill},
		{"opened again", testReopen},
		{"verify", testVerifySound},
		{"random journals", testRandomJournals},
		{"any order of arrival", testAnyOrder},
		{"import refuses", testImportRefuses},
		{"file of buyers", testBuyersFile},
	} {
		t.Run(c.name, func(t *testing.T) { c.test(t, fresh) })
	}
}

var _ desk.Store = (*store.Store)(nil)

// started opens a new place that is closed with the test.
func started(t *testing.T, fresh Fresh) *store.Store {
	t.Helper()
	s := fresh(t)()
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return s
}

// must appends a batch that has to be accepted as new.
func must(t *testing.T, s *store.Store, entries ...holdfast.Entry) []desk.Receipt {
	t.Helper()
	receipts, err := s.Append(t.Context(), desk.Batch{Entries: entries})
	if err != nil {
		t.Fatalf("append: %v", err)
	}
	for i, r := range receipts {
		if r.Already || r.ID != entries[i].ID {
			t.Fatalf("receipt %d is %+v, want entry %s as new", i, r, entries[i].ID)
		}
	}
	return receipts
}

// wantKind checks that err is meant for a person and of the kind.
func wantKind(t *testing.T, err error, kind holdfast.ErrorKind) {
	t.Helper()
	var e *holdfast.Error
	if !errors.As(err, &e) || e.Kind != kind {
		t.Fatalf("error is %v, want one of kind %s", err, kind)
	}
	if e.Message == "" {
		t.Errorf("error of kind %s says nothing", kind)
	}
}

// wantHead checks how many entries were accepted.
func wantHead(t *testing.T, s *store.Store, seq int64) {
	t.Helper()
	got, _, err := s.Head(t.Context())
	if err != nil || got != seq {
		t.Fatalf("head is no. %d, %v, want %d", got, err, seq)
	}
}

func ids(events []holdfast.Event) []holdfast.ID {
	all := make([]holdfast.ID, len(events))
	for i, ev := range events {
		all[i] = ev.ID
	}
	return all
}

// Binding checks that a driver binds $1, $2 by their numbers: some bind by order
// of appearance, which writes wrong data without an error.
func Binding(t *testing.T, db *sql.DB) {
	t.Helper()
	var got string
	if err := db.QueryRowContext(t.Context(), `SELECT CAST($2 AS TEXT) || CAST($1 AS TEXT) || CAST($2 AS TEXT)`, "a", "b").Scan(&got); err != nil || got != "bab" {
		t.Errorf("$2, $1, $2 of a, b gives %q, %v, want bab", got, err)
	}
}
