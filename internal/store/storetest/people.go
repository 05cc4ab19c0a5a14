package storetest

import (
	"encoding/json"
	"testing"

	"github.com/google/go-cmp/cmp"

	"holdfast"
	"holdfast/desk"
)

func testMemory(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	ctx := t.Context()
	if v, err := s.Recall(ctx, "columns", "Brook Farm"); v != nil || err != nil {
		t.Errorf("recalled %s, %v before anything was remembered", v, err)
	}
	// Two values of which one differs by topic and one by key: a driver that
	// binds $1, $2 in order of appearance mixes them up.
	for _, c := range []struct{ topic, key, value string }{
		{"columns", "Brook Farm", `{"a":1}`}, {"columns", "Mill", `[2]`}, {"Brook Farm", "columns", `"3"`}, {"columns", "Brook Farm", `{"a":4}`},
	} {
		if err := s.Remember(ctx, c.topic, c.key, json.RawMessage(c.value)); err != nil {
			t.Fatal(err)
		}
	}
	for _, c := range []struct{ topic, key, want string }{
		{"columns", "Brook Farm", `{"a":4}`}, {"columns", "Mill", `[2]`}, {"Brook Farm", "columns", `"3"`}, {"Mill", "columns", ``},
	} {
		v, err := s.Recall(ctx, c.topic, c.key)
		if string(v) != c.want || err != nil {
			t.Errorf("recalled %s %s as %s, %v, want %s", c.topic, c.key, v, err, c.want)
		}
	}
	wantKind(t, s.Remember(ctx, "x", "y", json.RawMessage(`{`)), holdfast.Invalid)
}

func testBuyers(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	ctx := t.Context()
	ada := desk.Buyer{Pseudonym: "b-1", Name: "Ada's tanks", Contact: "ada@example.org"}
	bo := desk.Buyer{Pseudonym: "b-2", Name: "Aquaria Bo"}
	for _, b := range []desk.Buyer{bo, {Pseudonym: "b-1", Name: "typo"}, ada} {
		if err := s.SaveBuyer(ctx, b); err != nil {
			t.Fatal(err)
		}
	}
	all, err := s.Buyers(ctx)
	if diff := cmp.Diff([]desk.Buyer{ada, bo}, all); diff != "" || err != nil {
		t.Error(diff, err)
	}
	if b, err := s.Buyer(ctx, "b-1"); b != ada || err != nil {
		t.Errorf("buyer is %+v, %v", b, err)
	}
	wantKind(t, s.SaveBuyer(ctx, desk.Buyer{Pseudonym: "a b", Name: "x"}), holdfast.Invalid)

	m := &Maker{}
	must(t, s, m.Arrival()...)
	// A buyer comes with the entries or not at all.
	sale := []holdfast.Entry{m.Entry("A", "T1", &holdfast.Sale{Buyer: "b-3", Count: 3})}
	cy := &desk.Buyer{Pseudonym: "b-3", Name: "Cy"}
	_, err = s.Append(ctx, desk.Batch{Entries: sale, Buyer: cy, Unchanged: []desk.Standing{{Subject: holdfast.Subject{Type: holdfast.SubjectLot, ID: "A"}}}})
	wantKind(t, err, holdfast.Conflict)
	_, err = s.Append(ctx, desk.Batch{Entries: sale, Buyer: &desk.Buyer{Pseudonym: "no name", Name: "Cy"}})
	wantKind(t, err, holdfast.Invalid)
	if _, err := s.Entry(ctx, sale[0].ID); err == nil {
		t.Error("a sale was kept without its buyer")
	}
	_, err = s.Buyer(ctx, "b-3")
	wantKind(t, err, holdfast.NotFound)
	if _, err := s.Append(ctx, desk.Batch{Entries: sale, Buyer: cy}); err != nil {
		t.Fatal(err)
	}
	if b, err := s.Buyer(ctx, "b-3"); b != *cy || err != nil {
		t.Errorf("buyer is %+v, %v", b, err)
	}

	must(t, s, m.Entry("A", "T1", &holdfast.Sale{Buyer: "b-1", Count: 3}))
	_, hash, err := s.Head(ctx)
	if err != nil {
		t.Fatal(err)
	}
	for range 2 { // erasing somebody who is gone is no error
		if err := s.EraseBuyer(ctx, "b-1"); err != nil {
			t.Fatal(err)
		}
	}
	_, err = s.Buyer(ctx, "b-1")
	wantKind(t, err, holdfast.NotFound)
	if _, after, err := s.Head(ctx); after != hash || err != nil {
		t.Errorf("erasing a buyer changed the chain: %v", err)
	}
}
