package sqlite_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/store/storetest"
)

func export(t *testing.T, s *store.Store) string {
	t.Helper()
	var b bytes.Buffer
	if err := s.Export(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestBackup copies a folder while the desk records and opens the copies.
func TestBackup(t *testing.T) {
	dir := t.TempDir()
	shop(t, dir)
	s := open(t, dir)
	defer s.Close()
	if err := s.SaveBuyer(t.Context(), desk.Buyer{Pseudonym: "b-1", Name: "Ada"}); err != nil {
		t.Fatal(err)
	}
	stop, ended := make(chan bool), make(chan error, 1)
	go func() {
		m := &storetest.Maker{Stream: 1}
		for {
			select {
			case <-stop:
				ended <- nil
				return
			default:
			}
			if _, err := s.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{m.Entry("A", "T1", &holdfast.Death{}), m.Entry("B", "T2", storetest.Look(3, 0))}}); err != nil {
				ended <- err
				return
			}
		}
	}()
	var copies []string
	for range 3 {
		copied := t.TempDir()
		copies = append(copies, copied)
		if err := s.Backup(t.Context(), filepath.Join(copied, sqlite.FileName)); err != nil {
			t.Fatal(err)
		}
		if files, err := os.ReadDir(copied); err != nil || len(files) != 1 {
			t.Errorf("the copy left more than itself: %v, %v", files, err)
		}
	}
	close(stop)
	if err := <-ended; err != nil {
		t.Fatal(err)
	}
	_, whole, _ := strings.Cut(export(t, s), "\n")
	for _, copied := range copies {
		restored := open(t, copied)
		storetest.Sound(t, restored)
		_, part, _ := strings.Cut(export(t, restored), "\n")
		if !strings.HasPrefix(whole, part) || len(part) == 0 {
			t.Error("the copy is not the beginning of the journal")
		}
		if b, err := restored.Buyer(t.Context(), "b-1"); b.Name != "Ada" || err != nil {
			t.Errorf("the copy's buyer is %+v, %v", b, err)
		}
		if _, err := restored.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{(&storetest.Maker{Stream: 2}).Entry("A", "T1", &holdfast.Death{})}}); err != nil {
			t.Errorf("the copy takes no entry: %v", err)
		}
		if err := restored.Close(); err != nil {
			t.Error(err)
		}
	}

	taken := filepath.Join(copies[0], sqlite.FileName)
	before, err := os.ReadFile(taken)
	if err != nil {
		t.Fatal(err)
	}
	wantKind(t, s.Backup(t.Context(), taken), holdfast.Refused)
	if after, err := os.ReadFile(taken); err != nil || !bytes.Equal(before, after) {
		t.Errorf("a file that was there changed: %v", err)
	}
	if err := s.Backup(t.Context(), filepath.Join(dir, "no such folder", "copy.db")); err == nil {
		t.Error("a copy into no folder succeeded")
	}
}

// TestBackupReadOnly: a copy can be taken beside the desk that has the folder.
func TestBackupReadOnly(t *testing.T) {
	dir := t.TempDir()
	shop(t, dir)
	s := open(t, dir)
	defer s.Close()
	r, err := sqlite.OpenReadOnly(t.Context(), dir, storetest.Summariser{})
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	copied := t.TempDir()
	if err := r.Backup(t.Context(), filepath.Join(copied, sqlite.FileName)); err != nil {
		t.Fatal(err)
	}
	restored := open(t, copied)
	defer restored.Close()
	if a, b := export(t, s), export(t, restored); a != b {
		t.Errorf("the copy differs:\n%s\n%s", a, b)
	}
}

// TestErasedBuyer: the name of an erased buyer, and one that was replaced, stand
// in no file of the folder any more.
func TestErasedBuyer(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	defer s.Close()
	for i := range 200 {
		if err := s.SaveBuyer(t.Context(), desk.Buyer{Pseudonym: fmt.Sprintf("b-%d", i), Name: fmt.Sprintf("Person %d", i), Contact: strings.Repeat("x", i)}); err != nil {
			t.Fatal(err)
		}
	}
	for _, name := range []string{"Zephyrine Misspelt", "Zephyrine Quill"} {
		if err := s.SaveBuyer(t.Context(), desk.Buyer{Pseudonym: "b-77", Name: name, Contact: "9 Hollow Lane"}); err != nil {
			t.Fatal(err)
		}
	}
	if n := occurrences(t, dir, "Zephyrine Quill"); n == 0 {
		t.Fatal("the name stands nowhere: the test looks in the wrong place")
	}
	if err := s.EraseBuyer(t.Context(), "b-77"); err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{"Zephyrine", "Hollow Lane"} {
		if n := occurrences(t, dir, text); n > 0 {
			t.Errorf("%q still stands in the folder %d times", text, n)
		}
	}
	if all, err := s.Buyers(t.Context()); len(all) != 199 || err != nil {
		t.Errorf("%d buyers are left, %v", len(all), err)
	}
}

func occurrences(t *testing.T, dir, text string) int {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, f := range files {
		b, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		n += bytes.Count(b, []byte(text))
	}
	return n
}
