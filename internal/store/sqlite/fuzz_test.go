package sqlite_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"holdfast"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/store/storetest"
)

// FuzzImport: whatever the file holds, an import refuses it in words for a
// person and keeps nothing, or takes it whole: exported again it is the same
// journal. What the database does is not the same in every run, so run it with
// -fuzzminimizetime 5x, or shortening inputs takes all the time.
func FuzzImport(f *testing.F) {
	journal, err := os.ReadFile("testdata/v1.jsonl")
	if err != nil {
		f.Fatal(err)
	}
	f.Add(journal)
	f.Add(bytes.ReplaceAll(journal, []byte("\n"), []byte("\r\n\n")))
	f.Add(journal[:len(journal)/2])
	f.Add([]byte(`{"format":"holdfast-journal","version":1,"count":0,"hash":""}`))
	f.Add([]byte(`{"format":"holdfast-journal","version":1,"count":9000000000000000000,"seq":9000000000000000000,"site":"x","hash":"00"}` + "\n"))
	// Nearly every file is refused: those share a store, which stays empty.
	base := f.TempDir()
	empty, err := sqlite.Open(context.Background(), filepath.Join(base, "0"), storetest.Summariser{}, sqlite.Options{})
	if err != nil {
		f.Fatal(err)
	}
	f.Cleanup(func() { empty.Close() })
	accepted := 0
	f.Fuzz(func(t *testing.T, file []byte) {
		err := empty.Import(t.Context(), bytes.NewReader(file))
		if err != nil {
			var e *holdfast.Error
			var p holdfast.Problems
			if !errors.As(err, &e) && !errors.As(err, &p) {
				t.Fatalf("error not meant for a person: %v", err)
			}
		}
		seq, _, headErr := empty.Head(t.Context())
		if headErr != nil {
			t.Fatal(headErr)
		}
		if seq == 0 {
			return
		}
		if err != nil {
			t.Fatalf("%d entries of a refused file were kept", seq)
		}
		s := empty
		accepted++
		if empty, err = sqlite.Open(context.Background(), filepath.Join(base, strconv.Itoa(accepted)), storetest.Summariser{}, sqlite.Options{}); err != nil {
			t.Fatal(err)
		}
		defer s.Close()
		storetest.Sound(t, s)
		again := open(t, t.TempDir())
		defer again.Close()
		first := export(t, s)
		if err := again.Import(t.Context(), bytes.NewReader([]byte(first))); err != nil {
			t.Fatal(err)
		}
		if second := export(t, again); first != second {
			t.Fatalf("exported\n%s\nthen\n%s", first, second)
		}
	})
}
