package sqlite_test

import (
	"bytes"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/store/storetest"
)

// newest is the version of the schema that this program writes.
const newest = 3

// heads are the last hashes of the old journals, computed from the files by
// CPython 3.11.7 with the lines in docs/journal.md.
var heads = map[int]string{
	1: "4dbefd6ca1be30037bbadb7686990e986e64330baa40d49a4bf9ceb7dd406e48",
	2: "4dbefd6ca1be30037bbadb7686990e986e64330baa40d49a4bf9ceb7dd406e48",
	3: "4dbefd6ca1be30037bbadb7686990e986e64330baa40d49a4bf9ceb7dd406e48",
}

var writeOld = flag.Bool("write-old-file", false, "write testdata/vN.db and vN.jsonl of the newest version")

// TestWriteOldFile writes the file of the newest version, once, before the next
// version is begun.
func TestWriteOldFile(t *testing.T) {
	if !*writeOld {
		t.Skip("runs with -write-old-file")
	}
	dir := t.TempDir()
	shop(t, dir)
	s, err := sqlite.Open(t.Context(), dir, storetest.Summariser{Version: "old"}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if err := s.SaveBuyer(t.Context(), desk.Buyer{Pseudonym: "b-1", Name: "Ada", Contact: "ada@example.org"}); err != nil {
		t.Fatal(err)
	}
	if err := s.Remember(t.Context(), "columns", "Brook Farm", []byte(`{"strain":"B"}`)); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join("testdata", fmt.Sprintf("v%d", newest))
	if err := os.Remove(name + ".db"); err != nil && !os.IsNotExist(err) {
		t.Fatal(err)
	}
	if err := s.Backup(t.Context(), name+".db"); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name+".jsonl", []byte(export(t, s)), 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestOldFiles opens the files that every version so far has written.
func TestOldFiles(t *testing.T) {
	for v := 1; v <= newest; v++ {
		name := filepath.Join("testdata", fmt.Sprintf("v%d", v))
		t.Run(filepath.Base(name), func(t *testing.T) {
			db, err := os.ReadFile(name + ".db")
			if err != nil {
				t.Fatal(err)
			}
			journal, err := os.ReadFile(name + ".jsonl")
			if err != nil {
				t.Fatal(err)
			}
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, sqlite.FileName), db, 0o600); err != nil {
				t.Fatal(err)
			}
			s := open(t, dir)
			defer s.Close()
			storetest.Sound(t, s)
			if got := export(t, s); got != string(journal) {
				t.Errorf("the journal reads\n%s, want\n%s", got, journal)
			}
			if _, hash, err := s.Head(t.Context()); hash.String() != heads[v] || err != nil {
				t.Errorf("the head is %s, %v, want %s", hash, err, heads[v])
			}
			if b, err := s.Buyer(t.Context(), "b-1"); b.Name != "Ada" || err != nil {
				t.Errorf("buyer %+v, %v", b, err)
			}
			if m, err := s.Recall(t.Context(), "columns", "Brook Farm"); string(m) != `{"strain":"B"}` || err != nil {
				t.Errorf("memory %s, %v", m, err)
			}
			m := &storetest.Maker{Stream: 9}
			if _, err := s.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{m.Entry("A", "T1", &holdfast.Death{Count: 1})}}); err != nil {
				t.Errorf("it takes no entry: %v", err)
			}
			storetest.Sound(t, s)

			imported := open(t, t.TempDir())
			defer imported.Close()
			if err := imported.Import(t.Context(), bytes.NewReader(journal)); err != nil {
				t.Errorf("its export: %v", err)
			}
			storetest.Sound(t, imported)
		})
	}
}

// TestEveryMigrationHasItsFile: whoever adds a migration writes the file of the
// version before.
func TestEveryMigrationHasItsFile(t *testing.T) {
	files, err := fs.Glob(os.DirFS("migrations"), "*.sql")
	if err != nil || len(files) != newest {
		t.Errorf("%d migrations, %v, and the newest version is %d", len(files), err, newest)
	}
}

// TestOtherVersions: a folder of a newer program, or read-only of an older one,
// is refused and left as it is.
func TestOtherVersions(t *testing.T) {
	dir := t.TempDir()
	shop(t, dir)
	exec := func(text string) {
		t.Helper()
		db := raw(t, dir)
		defer db.Close()
		if _, err := db.Exec(text); err != nil {
			t.Fatal(err)
		}
	}
	exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)`)
	_, err := sqlite.Open(t.Context(), dir, storetest.Summariser{}, sqlite.Options{})
	wantKind(t, err, holdfast.Refused)
	if !strings.Contains(err.Error(), "99") {
		t.Errorf("the error does not name the version: %v", err)
	}
	_, err = sqlite.OpenReadOnly(t.Context(), dir, storetest.Summariser{})
	wantKind(t, err, holdfast.Refused)
	exec(`DELETE FROM goose_db_version WHERE version_id >= 1`)
	_, err = sqlite.OpenReadOnly(t.Context(), dir, storetest.Summariser{})
	wantKind(t, err, holdfast.Refused)
	for v := 1; v <= newest; v++ {
		exec(fmt.Sprintf(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (%d, 1)`, v))
	}
	s := open(t, dir)
	defer s.Close()
	storetest.Sound(t, s)
}

// TestNotADesk: a file that is no database of ours is refused and kept.
func TestNotADesk(t *testing.T) {
	for name, content := range map[string]string{"text": strings.Repeat("not a database\n", 500), "short": "SQLite format 3\x00"} {
		dir := t.TempDir()
		file := filepath.Join(dir, sqlite.FileName)
		if err := os.WriteFile(file, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		if s, err := sqlite.Open(t.Context(), dir, storetest.Summariser{}, sqlite.Options{}); err == nil {
			s.Close()
			t.Errorf("%s was opened", name)
		}
		if s, err := sqlite.OpenReadOnly(t.Context(), dir, storetest.Summariser{}); err == nil {
			s.Close()
			t.Errorf("%s was opened for reading", name)
		}
		if after, err := os.ReadFile(file); err != nil || string(after) != content {
			t.Errorf("%s was changed: %v", name, err)
		}
	}
}

// TestRefresh: rows that another model or another version of the folds computed
// are computed again when the folder is opened, in batches.
func TestRefresh(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	m := &storetest.Maker{}
	batch := m.Arrival()
	for i := range 450 {
		batch = append(batch, m.Entry(fmt.Sprintf("L%d", i), "", &holdfast.LotOpened{Stock: storetest.Stock("C1", "Red"), Declared: 10}))
	}
	undone := m.Correct(batch[4]) // a lot that is placed and was never opened
	if _, err := s.Append(t.Context(), desk.Batch{Entries: append(batch, undone)}); err != nil {
		t.Fatal(err)
	}
	s.Close()

	newer := storetest.Summariser{Version: "newer"}
	found := verify(t, dir, newer)
	if len(found) != 1 || found[0].Code != "rows_old" {
		t.Errorf("before opening, verify finds %+v", found)
	}
	var told [][2]int
	s, err := sqlite.Open(t.Context(), dir, newer, sqlite.Options{Progress: func(done, total int) { told = append(told, [2]int{done, total}) }})
	if err != nil {
		t.Fatal(err)
	}
	// 452 lots, 2 tanks, 1 delivery; the tanks and the delivery are not the
	// model's.
	if want := fmt.Sprint([][2]int{{0, 452}, {200, 452}, {400, 452}}); fmt.Sprint(told) != want {
		t.Errorf("progress %v, want %s", told, want)
	}
	if r, err := s.LotRow(t.Context(), "L449"); err != nil || r.Model != "newer" {
		t.Errorf("row %+v, %v", r, err)
	}
	storetest.Sound(t, s)
	s.Close()

	db := raw(t, dir)
	for _, text := range []string{`UPDATE meta SET value = '0' WHERE name IN ('rows_fold', 'subjects_fold')`,
		`DELETE FROM entry_subject WHERE subject_id IN ('A', 'L7')`, `INSERT INTO entry_subject VALUES ('tank', 'T9', 3), ('lot', 'B', 1)`,
		`INSERT INTO tank_row VALUES ('T9', 0, 0, 0, '{}')`, `INSERT INTO lot_reads VALUES ('Z', 'A')`,
		`UPDATE lot_row SET fold = 0 WHERE id = 'B'`,
		`UPDATE lot_row SET fold = 0 WHERE id = 'A'`, `UPDATE lot_body SET body = '{}' WHERE id = 'A'`,
		`UPDATE tank_row SET fold = 0, body = '{}'`, `DELETE FROM consignment_row`, `DELETE FROM lot_row WHERE id = 'L3'`} {
		if _, err := db.Exec(text); err != nil {
			t.Fatal(err)
		}
	}
	db.Close()
	told = nil
	s, err = sqlite.Open(t.Context(), dir, newer, sqlite.Options{Progress: func(done, total int) { told = append(told, [2]int{done, total}) }})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if want := fmt.Sprint([][2]int{{0, 6}}); fmt.Sprint(told) != want {
		t.Errorf("progress %v, want %s", told, want)
	}
	storetest.Sound(t, s)
	told = nil
	if err := s.Refresh(t.Context(), func(int, int) { t.Error("rows that are up to date were computed again") }); err != nil {
		t.Error(err)
	}
}
