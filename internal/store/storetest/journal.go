package storetest

import (
	"context"
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"holdfast"
	"holdfast/desk"
)

func testEmpty(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	seq, hash, err := s.Head(t.Context())
	if err != nil || seq != 0 || hash != (holdfast.Hash{}) {
		t.Errorf("head of nothing is %d, %s, %v", seq, hash, err)
	}
	_, err = s.Entry(t.Context(), new(Maker).Entry("A", "", Look(1, 0)).ID)
	wantKind(t, err, holdfast.NotFound)
	_, err = s.LotRow(t.Context(), "A")
	wantKind(t, err, holdfast.NotFound)
	_, err = s.Consignment(t.Context(), "C")
	wantKind(t, err, holdfast.NotFound)
	if events, err := s.Events(t.Context(), Lot("A")); err != nil || len(events) != 0 {
		t.Errorf("unknown lot has events %v, %v", events, err)
	}
	if rows, n, err := s.Lots(t.Context(), desk.LotQuery{Limit: 50}); err != nil || len(rows) != 0 || n != 0 {
		t.Errorf("lots of nothing: %v, %d, %v", rows, n, err)
	}
	if r, err := s.Append(t.Context(), desk.Batch{}); err != nil || len(r) != 0 {
		t.Errorf("appending nothing: %v, %v", r, err)
	}
}

func testAppend(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	entries := m.Arrival()
	tricky := m.Entry("A", "T1", &holdfast.Note{Text: "<5 & \"more\" 日本 \u2028 é\n\\ $1 '"})
	entries = append(entries, tricky)
	for i, r := range must(t, s, entries...) {
		if r.Seq != int64(i+1) {
			t.Errorf("entry %d has no. %d", i, r.Seq)
		}
	}
	var all []holdfast.Entry
	if err := s.Each(t.Context(), 0, func(e holdfast.Entry) error { all = append(all, e); return nil }); err != nil {
		t.Fatal(err)
	}
	for i, e := range all {
		want, _ := entries[i].Canonical()
		got, err := e.Canonical()
		if err != nil || string(got) != string(want) {
			t.Errorf("entry %d came back as\n%s, want\n%s", i, got, want)
		}
		ev, err := s.Entry(t.Context(), e.ID)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(e, ev.Entry); diff != "" || ev.Payload == nil {
			t.Errorf("Entry and Each disagree: %s", diff)
		}
	}
	if len(all) != len(entries) {
		t.Errorf("%d entries, want %d", len(all), len(entries))
	}
	stop := errors.New("enough")
	n := 0
	err := s.Each(t.Context(), 3, func(e holdfast.Entry) error {
		n++
		if e.Seq != 4 {
			t.Errorf("first after 3 is no. %d", e.Seq)
		}
		return stop
	})
	if !errors.Is(err, stop) || n != 1 {
		t.Errorf("Each returned %v after %d calls, want the callback's error after 1", err, n)
	}
}

func testChain(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	must(t, s, m.Arrival()...)
	for range 5 {
		must(t, s, m.Entry("A", "T1", &holdfast.Death{Count: 1}))
	}
	var hash holdfast.Hash
	var seq int64
	err := s.Each(t.Context(), 0, func(e holdfast.Entry) error {
		canonical, err := e.Canonical()
		seq++
		hash = hash.Link(canonical)
		if e.Seq != seq || e.Hash != hash {
			t.Errorf("entry no. %d has hash %s, want no. %d with %s", e.Seq, e.Hash, seq, hash)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	headSeq, headHash, err := s.Head(t.Context())
	if err != nil || headSeq != seq || headHash != hash {
		t.Errorf("head is no. %d %s %v, want no. %d %s", headSeq, headHash, err, seq, hash)
	}
}

func testAgain(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	entries := m.Arrival()
	first := must(t, s, entries...)

	// The whole batch again, as a phone sends it that never got its answer. It
	// expects what no longer holds, which does not matter: nothing is new.
	again, err := s.Append(t.Context(), desk.Batch{Entries: entries, Unchanged: []desk.Standing{{Subject: Lot("A")}}})
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range again {
		if want := (desk.Receipt{ID: first[i].ID, Seq: first[i].Seq, Already: true}); r != want {
			t.Errorf("receipt %+v, want %+v", r, want)
		}
	}
	wantHead(t, s, int64(len(entries)))

	// Known and new ones mixed, one of them twice.
	fresh1 := m.Entry("A", "T1", &holdfast.Death{Count: 2})
	mixed, err := s.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{entries[0], fresh1, fresh1}})
	if err != nil {
		t.Fatal(err)
	}
	n := int64(len(entries))
	want := []desk.Receipt{{ID: entries[0].ID, Seq: 1, Already: true}, {ID: fresh1.ID, Seq: n + 1}, {ID: fresh1.ID, Seq: n + 1, Already: true}}
	if diff := cmp.Diff(want, mixed); diff != "" {
		t.Error(diff)
	}

	// The same id with other content, in the journal and inside one batch.
	other := m.Entry("A", "T1", &holdfast.Death{Count: 3})
	other.ID = fresh1.ID
	new1 := m.Entry("B", "T2", &holdfast.Death{Count: 1})
	_, err = s.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{new1, other}})
	wantKind(t, err, holdfast.Conflict)
	if !strings.Contains(err.Error(), string(other.ID)) {
		t.Errorf("the conflict does not name the entry: %v", err)
	}
	changed := new1
	changed.Who = "Bo"
	_, err = s.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{new1, changed}})
	wantKind(t, err, holdfast.Conflict)
	wantHead(t, s, n+1)
}

func testBad(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	good := m.Entry("A", "", &holdfast.LotOpened{Stock: Stock("C1", "Red"), Declared: 10})
	bad := m.Entry("A", "", &holdfast.Death{Count: -1})
	spaced := m.Entry("A", "", &holdfast.Death{Count: 1})
	spaced.Payload = []byte(`{"count": 1}`)
	unknown := m.Entry("A", "", &holdfast.Death{Count: 1})
	unknown.Kind = "weather"
	nameless := m.Entry("", "", &holdfast.Note{Text: "x"})
	nameless.Who = ""
	for _, e := range []holdfast.Entry{bad, spaced, unknown, nameless} {
		_, err := s.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{good, e}})
		var p holdfast.Problems
		if !errors.As(err, &p) || len(p) == 0 {
			t.Errorf("%s %s: error is %v, want problems", e.Kind, e.Payload, err)
		}
	}
	wantHead(t, s, 0)
}

func testSite(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	must(t, s, m.Arrival()...)
	foreign := m.Entry("A", "T1", &holdfast.Death{Count: 1})
	foreign.Site = "elsewhere"
	_, err := s.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{foreign}})
	wantKind(t, err, holdfast.Invalid)
	if site, err := s.Site(t.Context()); err != nil || site != "main" {
		t.Errorf("site is %q, %v", site, err)
	}
}

func testUnchanged(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	n := int64(len(must(t, s, m.Arrival()...)))
	try := func(st ...desk.Standing) error {
		t.Helper()
		_, err := s.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{m.Entry("A", "T1", &holdfast.Death{Count: 1})}, Unchanged: st})
		return err
	}
	// The delivery arrived with entry 3 and got its last lot with entry 5; lot A
	// was placed with entry 6.
	if err := try(desk.Standing{Subject: Lot("A"), Seq: 6}, desk.Standing{Subject: Consignment("C1"), Seq: 5}, desk.Standing{Subject: Lot("new")}); err != nil {
		t.Fatal(err)
	}
	for _, st := range []desk.Standing{{Subject: Lot("A"), Seq: 6}, {Subject: Lot("A")}, {Subject: Tank("T1")}, {Subject: Lot("new"), Seq: 1}} {
		err := try(desk.Standing{Subject: Lot("B"), Seq: 7}, st)
		wantKind(t, err, holdfast.Conflict)
		if !strings.Contains(err.Error(), st.Subject.ID) {
			t.Errorf("the conflict does not name %s: %v", st.Subject.ID, err)
		}
	}
	wantHead(t, s, n+1)
}

// testNothingKept: an entry that fails after others were written takes them
// with it.
func testNothingKept(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	n := int64(len(must(t, s, m.Arrival()...)))
	before, err := s.LotRow(t.Context(), "A")
	if err != nil {
		t.Fatal(err)
	}
	foreign := m.Entry("B", "T2", &holdfast.Death{Count: 1})
	foreign.Site = "elsewhere"
	_, err = s.Append(t.Context(), desk.Batch{Entries: []holdfast.Entry{
		m.Entry("A", "T1", &holdfast.Death{Count: 9}), m.Entry("Z", "", &holdfast.LotOpened{Stock: Stock("C9", "Red"), Declared: 5}), foreign}})
	if err == nil {
		t.Fatal("a batch with an entry of another site was accepted")
	}
	wantHead(t, s, n)
	after, err := s.LotRow(t.Context(), "A")
	if diff := cmp.Diff(before, after); diff != "" || err != nil {
		t.Errorf("row changed: %s %v", diff, err)
	}
	if events, err := s.Events(t.Context(), Lot("Z")); err != nil || len(events) != 0 {
		t.Errorf("lot Z has %d events, %v", len(events), err)
	}
	_, err = s.LotRow(t.Context(), "Z")
	wantKind(t, err, holdfast.NotFound)
	must(t, s, m.Entry("A", "T1", &holdfast.Death{Count: 1}))
	wantHead(t, s, n+1)
	if r, err := s.LotRow(t.Context(), "A"); err != nil || r.Deaths != 1 {
		t.Errorf("deaths %d, %v, want 1", r.Deaths, err)
	}
}

func testSubjects(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	arrival := m.Arrival()
	split := m.Entry("A", "T1", &holdfast.LotSplit{NewLot: "A2", Count: 20, Stock: Stock("C1", "Red_Fire 100%")})
	moved := m.Entry("B", "T1", &holdfast.LotMoved{From: "T2", Count: 5})
	merged := m.Entry("A2", "", &holdfast.LotMerged{Into: "B", Count: 20})
	shop := m.Entry("", "", &holdfast.ShopSet{Name: "S", Zone: "UTC", Currency: "EUR", Line: "clear", ClearLine: .9, BagLine: .01, BagSize: 8, DaysHere: 28, DaysSinceSign: 14, LookWithinDays: 7, LookSize: 30, WeekDeathShare: .03})
	// The corrections name nothing of what the corrected entries bear on.
	undo, undoMove := m.Correct(split), m.Correct(moved)
	must(t, s, append(arrival, split, moved, merged, shop, undo, undoMove)...)
	for _, c := range []struct {
		subject holdfast.Subject
		want    []holdfast.ID
	}{
		{Lot("A"), []holdfast.ID{arrival[3].ID, arrival[5].ID, split.ID, undo.ID}},
		{Lot("A2"), []holdfast.ID{split.ID, merged.ID, undo.ID}},
		{Lot("B"), []holdfast.ID{arrival[4].ID, arrival[6].ID, moved.ID, merged.ID, undoMove.ID}},
		{Tank("T1"), []holdfast.ID{arrival[0].ID, arrival[5].ID, moved.ID, undoMove.ID}},
		{Tank("T2"), []holdfast.ID{arrival[1].ID, arrival[6].ID, moved.ID, undoMove.ID}},
		{Consignment("C1"), []holdfast.ID{arrival[2].ID, arrival[3].ID, arrival[4].ID}},
		{holdfast.Subject{Type: holdfast.SubjectShop, ID: "main"}, []holdfast.ID{shop.ID}},
	} {
		events, err := s.Events(t.Context(), c.subject)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(c.want, ids(events)); diff != "" {
			t.Errorf("%v: %s", c.subject, diff)
		}
	}
}

// testCorrectionFirst: whichever order a phone's entries arrive in, a correction
// is found by everything that the corrected entry bears on.
func testCorrectionFirst(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	must(t, s, m.Arrival()...)
	moved := m.Entry("A", "T2", &holdfast.LotMoved{From: "T1", Count: 7})
	undo := m.Correct(moved)
	redo := m.Correct(undo)
	for _, e := range []holdfast.Entry{redo, undo, moved} {
		if _, err := s.Events(t.Context(), Lot("A")); err != nil { // as a page would, between the two
			t.Fatal(err)
		}
		must(t, s, e)
	}
	for _, sub := range []holdfast.Subject{Lot("A"), Tank("T1"), Tank("T2")} {
		events, err := s.Events(t.Context(), sub)
		if err != nil {
			t.Fatal(err)
		}
		got := ids(events)
		if diff := cmp.Diff([]holdfast.ID{redo.ID, undo.ID, moved.ID}, got[max(0, len(got)-3):]); diff != "" {
			t.Errorf("%v: %s", sub, diff)
		}
	}
	if r := lotRow(t, s, "A"); len(r.Places) != 2 || r.Places[1].Count != 7 {
		t.Errorf("places %+v: the correction was itself undone, so want 7 in T2", r.Places)
	}
}

// testFill: what was put in while filling is there, also when the place is opened
// again, and the store goes on as before; an error of who fills comes back.
func testFill(t *testing.T, fresh Fresh) {
	open := fresh(t)
	s := open()
	m := &Maker{}
	broken := errors.New("broken")
	if err := s.Fill(t.Context(), func(context.Context) error { return broken }); !errors.Is(err, broken) {
		t.Errorf("a broken filling says %v", err)
	}
	if err := s.Fill(t.Context(), func(ctx context.Context) error {
		_, err := s.Append(ctx, desk.Batch{Entries: m.Arrival()})
		return err
	}); err != nil {
		t.Fatal(err)
	}
	must(t, s, m.Entry("A", "T1", &holdfast.Death{Count: 1}))
	Sound(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open()
	defer s.Close()
	if l, err := s.Lot(t.Context(), "A"); err != nil || l.Deaths != 1 {
		t.Errorf("opened again: %+v, %v", l, err)
	}
	Sound(t, s)
}

func testReopen(t *testing.T, fresh Fresh) {
	open := fresh(t)
	s := open()
	m := &Maker{}
	must(t, s, m.Arrival()...)
	seq, hash, err := s.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	before, _, err := s.Lots(t.Context(), desk.LotQuery{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = open()
	defer func() { s.Close() }()
	seq2, hash2, err := s.Head(t.Context())
	if err != nil || seq2 != seq || hash2 != hash {
		t.Errorf("head is %d %s %v, was %d %s", seq2, hash2, err, seq, hash)
	}
	after, _, err := s.Lots(t.Context(), desk.LotQuery{})
	if diff := cmp.Diff(before, after); diff != "" || err != nil {
		t.Errorf("rows differ: %s %v", diff, err)
	}
	must(t, s, m.Entry("A", "T1", &holdfast.Death{Count: 1}))
	wantHead(t, s, seq+1)
}
