package sqlite_test

import (
	"path/filepath"
	"testing"

	"holdfast/internal/store"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/store/storetest"
)

func open(t *testing.T, dir string) *store.Store {
	t.Helper()
	s, err := sqlite.Open(t.Context(), dir, storetest.Summariser{}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestStore(t *testing.T) {
	storetest.Run(t, func(t *testing.T) func() *store.Store {
		dir := filepath.Join(t.TempDir(), "data")
		return func() *store.Store { return open(t, dir) }
	})
}
