package storetest

import (
	"bytes"
	"context"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
)

// Sound fails when a check of the store finds anything.
func Sound(t interface {
	Helper()
	Errorf(string, ...any)
}, s *store.Store) {
	t.Helper()
	findings, err := s.Verify(context.Background(), nil)
	if err != nil {
		t.Errorf("verify: %v", err)
	}
	for _, f := range findings {
		t.Errorf("verify: %s: %s", f.Code, f.Says)
	}
	rows, _, err := s.Lots(context.Background(), desk.LotQuery{})
	if err != nil {
		t.Errorf("lots: %v", err)
	}
	for _, r := range rows {
		kept, err := s.Lot(context.Background(), r.ID)
		if err != nil {
			t.Errorf("lot %s: %v", r.ID, err)
			continue
		}
		events, err := s.Events(context.Background(), Lot(r.ID))
		if diff := cmp.Diff(holdfast.FoldLot(r.ID, events), kept); err != nil || diff != "" {
			t.Errorf("lot %s is not what its events fold to: %s, %v", r.ID, diff, err)
		}
	}
}

// exported returns what Export writes.
func exported(t *rapid.T, s *store.Store) []byte {
	var b bytes.Buffer
	if err := s.Export(context.Background(), &b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// lists returns everything that the lists show.
func lists(t *rapid.T, s *store.Store) any {
	var all struct {
		Lots  []holdfast.LotRow
		Tanks []holdfast.TankRow
		Cs    []holdfast.ConsignmentRow
	}
	var err error
	ctx := context.Background()
	if all.Lots, _, err = s.Lots(ctx, desk.LotQuery{}); err != nil {
		t.Fatal(err)
	}
	if all.Tanks, err = s.Tanks(ctx); err != nil {
		t.Fatal(err)
	}
	if all.Cs, _, err = s.Consignments(ctx, 0, 0); err != nil {
		t.Fatal(err)
	}
	return all
}

// opened opens a new place that is closed when the property was tried once.
func opened(t *rapid.T, tt *testing.T, fresh Fresh) *store.Store {
	s := fresh(tt)()
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	})
	return s
}

// tries runs a property 40 times, in a short run 10 times: each needs new
// stores, and every commit waits for the disk.
func tries(t *testing.T, property func(*rapid.T)) {
	n, limit := 0, 40
	if testing.Short() {
		limit = 10
	}
	failed := false // then rapid looks for a smaller case, as often as it likes
	rapid.Check(t, func(t *rapid.T) {
		if n++; n > limit && !failed {
			return
		}
		failed = true // holds if the property does not return
		property(t)
		failed = t.Failed()
	})
}

// testRandomJournals: whatever happened and in whatever order it arrived, what
// was computed step by step is what the entries give as a whole; and a journal
// that was exported and imported is the same in everything.
func testRandomJournals(t *testing.T, fresh Fresh) {
	tt := t
	tries(t, func(t *rapid.T) {
		ctx := context.Background()
		a := opened(t, tt, fresh)
		for _, batch := range Journal(t) {
			if _, err := a.Append(ctx, desk.Batch{Entries: batch}); err != nil {
				t.Fatal(err)
			}
		}
		Sound(t, a)
		file := exported(t, a)
		b := opened(t, tt, fresh)
		if err := b.Import(ctx, bytes.NewReader(file)); err != nil {
			t.Fatal(err)
		}
		Sound(t, b)
		if again := exported(t, b); !bytes.Equal(file, again) {
			t.Fatalf("exported\n%s\nimported and exported again\n%s", file, again)
		}
		if diff := cmp.Diff(lists(t, a), lists(t, b)); diff != "" {
			t.Fatal(diff)
		}
	})
}

// testAnyOrder: the entries of a subject do not depend on the order of arrival.
func testAnyOrder(t *testing.T, fresh Fresh) {
	tt := t
	tries(t, func(t *rapid.T) {
		ctx := context.Background()
		journal := Journal(t)
		in := func(order [][]holdfast.Entry) map[holdfast.Subject]map[holdfast.ID]bool {
			s := opened(t, tt, fresh)
			subjects := map[holdfast.Subject]map[holdfast.ID]bool{}
			for _, batch := range order {
				if _, err := s.Append(ctx, desk.Batch{Entries: batch}); err != nil {
					t.Fatal(err)
				}
			}
			for _, sub := range []holdfast.Subject{Lot("A"), Lot("B"), Lot("D"), Lot("F"), Tank("T1"), Tank("T2"), Tank("T3"), Consignment("C1"), Consignment("C2"), {Type: holdfast.SubjectShop, ID: "main"}} {
				events, err := s.Events(ctx, sub)
				if err != nil {
					t.Fatal(err)
				}
				subjects[sub] = map[holdfast.ID]bool{}
				for _, id := range ids(events) {
					subjects[sub][id] = true
				}
			}
			return subjects
		}
		other := [][]holdfast.Entry{}
		for chunk := range slices.Chunk(rapid.Permutation(slices.Concat(journal...)).Draw(t, "other order"), rapid.IntRange(1, 8).Draw(t, "size")) {
			other = append(other, chunk)
		}
		if diff := cmp.Diff(in(journal), in(other)); diff != "" {
			t.Fatal(diff)
		}
	})
}

// testImportRefuses: an import takes what Export wrote and nothing else, all or
// nothing.
func testImportRefuses(t *testing.T, fresh Fresh) {
	a := started(t, fresh)
	m := &Maker{}
	must(t, a, m.Arrival()...)
	must(t, a, m.Entry("A", "T1", &holdfast.Death{Count: 2}), m.Entry("A", "T1", &holdfast.Death{Count: 3}))
	var out bytes.Buffer
	if err := a.Export(t.Context(), &out); err != nil {
		t.Fatal(err)
	}
	good := out.String()
	lines := strings.SplitAfter(good, "\n") // the last one is empty
	n := len(lines) - 1
	join := func(parts ...[]string) string {
		var all strings.Builder
		for _, p := range parts {
			all.WriteString(strings.Join(p, ""))
		}
		return all.String()
	}
	b := started(t, fresh)
	for name, c := range map[string]struct{ file, says string }{
		"empty file":           {"", "ends here"},
		"another file":         {"id,strain\n1,red\n", "first line"},
		"no header":            {join(lines[1:]), "first line"},
		"later version":        {strings.Replace(good, `"version":1`, `"version":2`, 1), "version 2"},
		"cut short":            {join(lines[:n-1]), "ends here"},
		"cut in a line":        {good[:len(good)-20], "line 10"},
		"one more":             {good + lines[n-1], "goes on"},
		"changed":              {strings.Replace(good, `"count":3`, `"count":4`, 1), "hash"},
		"swapped":              {join(lines[:n-2], lines[n-1:n], lines[n-2:n-1]), "hash"},
		"twice":                {join(lines[:n-1], lines[n-2:n-1]), "second time"},
		"white space":          {strings.Replace(good, `"count":3`, `"count": 3`, 1), "canonical"},
		"other site in header": {strings.Replace(good, `"site":"main"`, `"site":"other"`, 1), "site"},
		"wrong count":          {strings.Replace(good, `"count":9`, `"count":8`, 1), "contradicts"},
		"buyers":               {`{"format":"holdfast-buyers","version":1,"count":0}`, "first line"},
	} {
		err := b.Import(t.Context(), strings.NewReader(c.file))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: error is %v, want one with %q", name, err, c.says)
		}
		wantHead(t, b, 0)
		if rows, _, err := b.Lots(t.Context(), desk.LotQuery{}); len(rows) > 0 || err != nil {
			t.Fatalf("%s: something was kept: %v, %v", name, rows, err)
		}
	}
	if err := b.Import(t.Context(), strings.NewReader(good)); err != nil {
		t.Fatal(err)
	}
	Sound(t, b)
	wantKind(t, b.Import(t.Context(), strings.NewReader(good)), holdfast.Refused)

	// Of an empty journal there is an export too.
	out.Reset()
	c, d := started(t, fresh), started(t, fresh)
	if err := c.Export(t.Context(), &out); err != nil {
		t.Fatal(err)
	}
	if err := d.Import(t.Context(), &out); err != nil {
		t.Fatal(err)
	}
	must(t, d, m.Arrival()...)
}

// testBuyersFile: buyers leave by a file of their own and by no other.
func testBuyersFile(t *testing.T, fresh Fresh) {
	a, b := started(t, fresh), started(t, fresh)
	ada := desk.Buyer{Pseudonym: "b-1", Name: "Ada's <tanks>", Contact: "ada@example.org\nDoor 2"}
	for _, buyer := range []desk.Buyer{ada, {Pseudonym: "b-2", Name: "Bo"}} {
		if err := a.SaveBuyer(t.Context(), buyer); err != nil {
			t.Fatal(err)
		}
	}
	m := &Maker{}
	must(t, a, m.Arrival()...)
	must(t, a, m.Entry("A", "T1", &holdfast.Sale{Buyer: "b-1", Count: 3}))
	var journal, people bytes.Buffer
	if err := a.Export(t.Context(), &journal); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(journal.String(), "Ada's") {
		t.Error("the export of the journal names a buyer")
	}
	if err := a.ExportBuyers(t.Context(), &people); err != nil {
		t.Fatal(err)
	}
	file := people.String()
	wantKind(t, b.ImportBuyers(t.Context(), strings.NewReader(file[:len(file)-30])), holdfast.Invalid)
	if all, err := b.Buyers(t.Context()); len(all) > 0 || err != nil {
		t.Errorf("half a file was kept: %v, %v", all, err)
	}
	for range 2 {
		if err := b.ImportBuyers(t.Context(), strings.NewReader(file)); err != nil {
			t.Fatal(err)
		}
	}
	all, err := b.Buyers(t.Context())
	if diff := cmp.Diff([]desk.Buyer{ada, {Pseudonym: "b-2", Name: "Bo"}}, all); diff != "" || err != nil {
		t.Error(diff, err)
	}
}

// testVerifySound: a check of a store in use finds nothing and tells how far it
// is.
func testVerifySound(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	Sound(t, s)
	m := &Maker{}
	must(t, s, m.Arrival()...)
	for range 300 {
		batch := []holdfast.Entry{m.Entry("A", "T1", &holdfast.Death{Count: 0}), m.Entry("B", "T2", &holdfast.Note{Text: "x"}), m.Entry("", "T1", &holdfast.TopUp{Litres: 1}), m.Entry("A", "", Look(3, 0))}
		must(t, s, batch...)
	}
	last := 0
	findings, err := s.Verify(t.Context(), func(done, total int) {
		if done <= last || done > total || total < 1207 {
			t.Errorf("progress %d of %d after %d", done, total, last)
		}
		last = done
	})
	if len(findings) > 0 || err != nil || last == 0 {
		t.Errorf("findings %v, %v, progress %d", findings, err, last)
	}
}
