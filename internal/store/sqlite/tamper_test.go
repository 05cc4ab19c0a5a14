package sqlite_test

import (
	"database/sql"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/store/storetest"
)

// shop fills a folder with a small journal in which every table has rows, and
// returns the entries. Entry no. 9 is a look at lot A.
func shop(t *testing.T, dir string) []holdfast.Entry {
	t.Helper()
	s := open(t, dir)
	defer s.Close()
	m := &storetest.Maker{}
	all := m.Arrival()
	all = append(all,
		m.Entry("A", "T1", &holdfast.Death{Count: 2}),
		m.Entry("A", "T1", storetest.Look(30, 0)),
		m.Entry("A", "T1", &holdfast.LotSplit{NewLot: "A2", Count: 20, Stock: storetest.Stock("C1", "Red_Fire 100%")}),
		m.Entry("B", "T2", &holdfast.Death{Count: 5}))
	all = append(all, m.Correct(all[10], storetest.Lot("B"), storetest.Tank("T2")), m.Entry("", "T2", &holdfast.TopUp{Litres: 3}))
	if _, err := s.Append(t.Context(), desk.Batch{Entries: all}); err != nil {
		t.Fatal(err)
	}
	return all
}

// raw opens the database file past the store.
func raw(t *testing.T, dir string) *sql.DB {
	t.Helper()
	db, err := sql.Open("sqlite", filepath.Join(dir, sqlite.FileName))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { db.Close() })
	return db
}

func verify(t *testing.T, dir string, sum holdfast.Summariser) []store.Finding {
	t.Helper()
	s, err := sqlite.OpenReadOnly(t.Context(), dir, sum)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	findings, err := s.Verify(t.Context(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return findings
}

func TestEntriesCannotBeChanged(t *testing.T) {
	dir := t.TempDir()
	shop(t, dir)
	for _, text := range []string{`UPDATE entry SET who = 'Eve' WHERE seq = 3`, `DELETE FROM entry WHERE seq = 13`, `DELETE FROM entry`} {
		if _, err := raw(t, dir).Exec(text); err == nil || !strings.Contains(err.Error(), "accepted entry") {
			t.Errorf("%s: %v", text, err)
		}
	}
	if found := verify(t, dir, storetest.Summariser{}); len(found) > 0 {
		t.Errorf("findings %v", found)
	}
}

// TestVerifyFinds changes a data folder in every way and asks what verify says.
func TestVerifyFinds(t *testing.T) {
	type want struct {
		code string
		seq  int64
		of   string   // lot, tank or delivery
		says []string // each stands in the text
	}
	payload := func(p holdfast.Payload) string {
		e := new(storetest.Maker).Entry("A", "T1", p)
		return string(e.Payload)
	}
	row := func(code, of string, says ...string) want { return want{code: code, of: of, says: says} }
	for _, c := range []struct {
		name string
		sql  []string
		want []want
	}{
		{"payload changed to another that reads", []string{`UPDATE entry SET payload = '` + payload(&holdfast.Death{Count: 3}) + `' WHERE seq = 8`},
			[]want{{store.EntryChanged, 8, "A", []string{"no. 8", "death", "lot A", "changed"}},
				row(store.RowWrong, "A", "lot A", "deaths is 2, should be 3", "alive is 78, should be 77")}},
		{"payload with white space", []string{`UPDATE entry SET payload = '{"count": 2}' WHERE seq = 8`},
			[]want{{store.EntryUnread, 8, "A", []string{"canonical"}}, {store.RowsUnchecked, 0, "", nil}}},
		{"payload that is no payload", []string{`UPDATE entry SET payload = 'x' WHERE seq = 8`},
			[]want{{store.EntryUnread, 8, "A", []string{"payload"}}, {store.EntryChanged, 8, "A", nil}, {store.RowsUnchecked, 0, "", nil}}},
		{"kind of the future", []string{`UPDATE entry SET v = 9 WHERE seq = 8`},
			[]want{{store.EntryUnread, 8, "A", []string{"version 9"}}, {store.EntryChanged, 8, "A", nil}, {store.RowsUnchecked, 0, "", nil}}},
		{"author changed", []string{`UPDATE entry SET who = 'Eve' WHERE seq = 1`},
			[]want{{store.EntryChanged, 1, "T1", []string{"no. 1", "tank T1"}}}},
		{"time changed", []string{`UPDATE entry SET recorded_at = recorded_at + 1 WHERE seq = 13`},
			[]want{{store.EntryChanged, 13, "T2", nil}}},
		{"site changed", []string{`UPDATE entry SET site = 'other' WHERE seq = 8`},
			[]want{{store.EntrySite, 8, "A", []string{"site other"}}, {store.EntryChanged, 8, "A", nil}}},
		{"hash changed", []string{`UPDATE entry SET hash = zeroblob(32) WHERE seq = 8`},
			[]want{{store.EntryChanged, 8, "A", nil}, {store.EntryChanged, 9, "A", nil}}},
		{"entry deleted", []string{`DELETE FROM entry_subject WHERE seq = 8`, `DELETE FROM entry WHERE seq = 8`},
			[]want{{store.EntryMissing, 8, "", []string{"Entry no. 8 is missing"}}, row(store.RowWrong, "A", "deaths is 2, should be 0")}},
		{"entries deleted", []string{`DELETE FROM entry_subject WHERE seq IN (1, 2)`, `DELETE FROM entry WHERE seq IN (1, 2)`},
			[]want{{store.EntryMissing, 1, "", []string{"no. 1 to 2 are missing"}}, row(store.RowWrong, "T1"), row(store.RowWrong, "T2")}},
		{"last entry deleted", []string{`DELETE FROM entry_subject WHERE seq = 13`, `DELETE FROM entry WHERE seq = 13`},
			[]want{{store.EntryMissing, 13, "", []string{"ends with no. 12, but 13"}}, row(store.RowWrong, "T2", "head_seq is 13, should be 12")}},
		{"entry deleted with its rows left listed", []string{`DELETE FROM entry WHERE seq = 13`},
			[]want{{store.EntryMissing, 13, "", nil}, {store.SubjectWrong, 13, "T2", []string{"does not bear"}}, row(store.RowWrong, "T2")}},
		{"two entries swapped", []string{`UPDATE entry SET seq = 99 WHERE seq = 6`, `UPDATE entry SET seq = 6 WHERE seq = 7`, `UPDATE entry SET seq = 7 WHERE seq = 99`},
			[]want{{store.EntryChanged, 6, "B", nil}, {store.EntryChanged, 7, "A", nil}, {store.EntryChanged, 8, "A", nil},
				{store.SubjectMissing, 7, "A", nil}, {store.SubjectWrong, 6, "A", nil}, {store.SubjectMissing, 6, "B", nil}, {store.SubjectWrong, 7, "B", nil},
				{store.SubjectMissing, 7, "T1", nil}, {store.SubjectWrong, 6, "T1", nil}, {store.SubjectMissing, 6, "T2", nil}, {store.SubjectWrong, 7, "T2", nil}, row(store.RowWrong, "T1", "head_seq is 6, should be 7")}},
		{"head with another hash", []string{`UPDATE site_head SET hash = zeroblob(32)`},
			[]want{{store.HeadWrong, 13, "T2", []string{"no. 13", "another hash"}}}},
		{"head too low", []string{`UPDATE site_head SET seq = 12`}, []want{{store.HeadWrong, 13, "", []string{"says no. 12", "no. 13"}}}},
		{"head of another site", []string{`UPDATE site_head SET site = 'x'`}, []want{{store.HeadWrong, 0, "", []string{`"x"`, `"main"`}}}},
		{"no head", []string{`DELETE FROM site_head`}, []want{{store.HeadWrong, 0, "", []string{"missing"}}}},
		{"two heads", []string{`INSERT INTO site_head VALUES ('x', 0, zeroblob(32))`}, []want{{store.HeadWrong, 0, "", []string{"2 heads"}}}},
		{"subject missing", []string{`DELETE FROM entry_subject WHERE subject_type = 'lot' AND seq = 9`},
			[]want{{store.SubjectMissing, 9, "A", []string{"no. 9", "lot A"}}}},
		{"subject of a correction missing", []string{`DELETE FROM entry_subject WHERE subject_id = 'T2' AND seq = 12`},
			[]want{{store.SubjectMissing, 12, "T2", []string{"no. 12", "tank T2"}}}},
		{"subject too many", []string{`INSERT INTO entry_subject VALUES ('lot', 'B', 8), ('tank', 'T7', 8)`},
			[]want{{store.SubjectWrong, 8, "B", []string{"no. 8", "lot B"}}, {store.SubjectWrong, 8, "T7", nil}}},
		{"correction unmarked", []string{`UPDATE entry SET corrects = '' WHERE seq = 12`}, []want{{store.SubjectWrong, 12, "", []string{"correction"}}}},
		{"row changed", []string{`UPDATE lot_body SET body = replace(body, '"alive":78', '"alive":79') WHERE id = 'A'`},
			[]want{row(store.RowWrong, "A", "lot A", "alive is 79, should be 78")}},
		{"row with a field more", []string{`UPDATE lot_body SET body = replace(body, '"id"', '"x":1,"id"') WHERE id = 'A'`},
			[]want{row(store.RowWrong, "A", "x is 1, should be absent")}},
		{"row written differently", []string{`UPDATE lot_body SET body = replace(body, '"id":', '"id": ') WHERE id = 'A'`},
			[]want{row(store.RowWrong, "A", "written differently")}},
		{"row unreadable", []string{`UPDATE tank_row SET body = 'x' WHERE id = 'T1'`}, []want{row(store.RowWrong, "T1", "not readable")}},
		{"column changed", []string{`UPDATE lot_row SET status = 'released', chance_key = 1, search = '' WHERE id = 'B'`},
			[]want{row(store.RowWrong, "B", "state released, should be held", "chance 1, should be -1", "search text")}},
		{"row deleted", []string{`DELETE FROM lot_body WHERE id = 'A'`, `DELETE FROM tank_row WHERE id = 'T1'`, `DELETE FROM consignment_row`},
			[]want{row(store.RowMissing, "C1", "consignment C1"), row(store.RowMissing, "A"), row(store.RowMissing, "T1")}},
		{"lot not listed", []string{`DELETE FROM lot_row WHERE id = 'A'`}, []want{row(store.RowWrong, "A", "not listed")}},
		{"row of nothing", []string{`INSERT INTO lot_body VALUES ('Z', '{}')`, `INSERT INTO tank_row VALUES ('Z', 0, 0, 1, '{}')`},
			[]want{row(store.RowExtra, "Z", "lot Z"), row(store.RowExtra, "Z", "tank Z")}},
		{"lot's origin forgotten", []string{`DELETE FROM lot_reads`}, []want{row(store.RowWrong, "A2", "lots it came from")}},
		{"tank's and delivery's columns", []string{`UPDATE tank_row SET place = 7, closed = 1 WHERE id = 'T2'`, `UPDATE consignment_row SET arrived_at = 0, supplier = 'X'`},
			[]want{row(store.RowWrong, "C1", "arrival 0", "supplier X"), row(store.RowWrong, "T2", "place 7", "closed 1")}},
		{"rows of another version", []string{`UPDATE meta SET value = '0' WHERE name = 'rows_fold'`}, []want{row(store.RowsOld, "", "another version")}},
		{"lists of another version", []string{`UPDATE meta SET value = '0' WHERE name = 'subjects_fold'`, `DELETE FROM entry_subject WHERE subject_type = 'lot'`}, []want{row(store.RowsOld, "", "another version")}},
		{"index that lost a row", []string{`PRAGMA writable_schema = 1`, `UPDATE sqlite_schema SET sql = 'CREATE INDEX lot_row_consignment ON lot_row (status)' WHERE name = 'lot_row_consignment'`},
			[]want{{code: store.FileDamaged, says: []string{"lot_row_consignment"}}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			shop(t, dir)
			db := raw(t, dir)
			db.SetMaxOpenConns(1)
			for _, text := range append([]string{`DROP TRIGGER entry_never_changes`, `DROP TRIGGER entry_never_leaves`}, c.sql...) {
				if r, err := db.Exec(text); err != nil {
					t.Fatalf("%s: %v", text, err)
				} else if n, _ := r.RowsAffected(); n == 0 && !strings.HasPrefix(text, "DROP") && !strings.HasPrefix(text, "PRAGMA") {
					t.Fatalf("%s changed nothing", text)
				}
			}
			db.Close()
			found := verify(t, dir, storetest.Summariser{})
			if len(found) < len(c.want) {
				t.Fatalf("found %s", show(found))
			}
			for i, w := range c.want {
				f := found[i]
				if f.Code != w.code || f.Seq != w.seq || f.ID != w.of {
					t.Errorf("finding %d is %s, no. %d, %q, want %s, no. %d, %q", i, f.Code, f.Seq, f.ID, w.code, w.seq, w.of)
				}
				for _, says := range w.says {
					if !strings.Contains(f.Says, says) {
						t.Errorf("finding %d says %q without %q", i, f.Says, says)
					}
				}
			}
			if c.want[0].code != store.FileDamaged && len(found) > len(c.want) {
				t.Errorf("found more: %s", show(found))
			}
		})
	}
}

func show(found []store.Finding) string {
	b, _ := json.MarshalIndent(found, "", " ")
	return string(b)
}

// TestVerifyStops: a folder in which everything is wrong does not give a list
// without end.
func TestVerifyStops(t *testing.T) {
	dir := t.TempDir()
	s := open(t, dir)
	m := &storetest.Maker{}
	batch := m.Arrival()
	for range 1500 {
		batch = append(batch, m.Entry("A", "T1", &holdfast.Death{Count: 0}))
	}
	if _, err := s.Append(t.Context(), desk.Batch{Entries: batch}); err != nil {
		t.Fatal(err)
	}
	s.Close()
	db := raw(t, dir)
	for _, text := range []string{`DROP TRIGGER entry_never_changes`, `UPDATE entry SET who = 'Eve'`} {
		if _, err := db.Exec(text); err != nil {
			t.Fatal(err)
		}
	}
	db.Close()
	found := verify(t, dir, storetest.Summariser{})
	if n := len(found); n != 1001 || found[n-1].Code != store.TooMany {
		t.Errorf("%d findings, the last is %+v", n, found[n-1])
	}
}
