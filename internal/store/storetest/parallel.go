package storetest

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"

	"holdfast"
	"holdfast/desk"
)

// testParallel: writers at the same time get one chain without gaps, nobody's
// entry is lost, and of two that expect the same standing one is refused.
func testParallel(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	n := int64(len(must(t, s, m.Arrival()...)))
	const writers, each = 8, 12
	var wg sync.WaitGroup
	for w := range writers {
		wg.Go(func() {
			m := &Maker{Stream: uint16(w + 1)}
			for i := range each {
				lot, tank := "A", "T1"
				if (w+i)%2 == 0 {
					lot, tank = "B", "T2"
				}
				batch := []holdfast.Entry{m.Entry(lot, tank, &holdfast.Death{Count: 0}), m.Entry("", tank, &holdfast.TopUp{Litres: 1})}
				if _, err := s.Append(context.Background(), desk.Batch{Entries: batch}); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	wantHead(t, s, n+2*writers*each)
	var hash holdfast.Hash
	seq := int64(0)
	err := s.Each(t.Context(), 0, func(e holdfast.Entry) error {
		canonical, err := e.Canonical()
		hash, seq = hash.Link(canonical), seq+1
		if e.Seq != seq || e.Hash != hash {
			t.Errorf("no. %d breaks the chain", e.Seq)
		}
		return err
	})
	if err != nil || seq != n+2*writers*each {
		t.Fatalf("%d entries in the chain, %v", seq, err)
	}
	a, err := s.Events(t.Context(), Lot("A"))
	if err != nil {
		t.Fatal(err)
	}
	b, err := s.Events(t.Context(), Lot("B"))
	if err != nil || len(a)+len(b) != 4+writers*each {
		t.Errorf("%d + %d events of the lots, %v, want %d", len(a), len(b), err, 4+writers*each)
	}
	if r := lotRow(t, s, "A"); r.HeadSeq != a[len(a)-1].Seq {
		t.Errorf("row is of entry no. %d, the last is no. %d", r.HeadSeq, a[len(a)-1].Seq)
	}

	standing := desk.Standing{Subject: Lot("A"), Seq: a[len(a)-1].Seq}
	results := make([]error, writers)
	for w := range writers {
		e := (&Maker{Stream: uint16(100 + w)}).Entry("A", "T1", &holdfast.Death{Count: 1})
		wg.Go(func() {
			_, results[w] = s.Append(context.Background(), desk.Batch{Entries: []holdfast.Entry{e}, Unchanged: []desk.Standing{standing}})
		})
	}
	wg.Wait()
	accepted := 0
	for _, err := range results {
		if err == nil {
			accepted++
			continue
		}
		wantKind(t, err, holdfast.Conflict)
	}
	if accepted != 1 {
		t.Errorf("%d of %d writers that expect the same standing were accepted", accepted, writers)
	}
}

// testReadersWhileWriting: a reader never sees half a batch, and what it reads
// never goes back.
func testReadersWhileWriting(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	must(t, s, m.Arrival()...)
	ctx, stop := context.WithCancel(t.Context())
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			last := 0
			for ctx.Err() == nil {
				events, err := s.Events(ctx, Lot("A"))
				if errors.Is(err, context.Canceled) {
					return
				}
				switch {
				case err != nil:
					t.Error(err)
					return
				case len(events) < last:
					t.Errorf("saw %d events after %d", len(events), last)
				case len(events)%2 != 0: // opened, placed, then pairs
					t.Errorf("saw half a batch: %d events", len(events))
				}
				last = len(events)
			}
		})
	}
	for i := range 50 {
		must(t, s, m.Entry("A", "T1", &holdfast.Death{Count: 0}), m.Entry("A", "T1", &holdfast.Note{Text: fmt.Sprint(i)}))
		if events, err := s.Events(t.Context(), Lot("A")); err != nil || len(events) != 2+2*(i+1) {
			t.Errorf("own write %d is not read back: %d events, %v", i, len(events), err)
		}
	}
	stop()
	wg.Wait()
}

// testCancelled: a caller that gave up leaves nothing behind.
func testCancelled(t *testing.T, fresh Fresh) {
	s := started(t, fresh)
	m := &Maker{}
	n := int64(len(must(t, s, m.Arrival()...)))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := s.Append(ctx, desk.Batch{Entries: []holdfast.Entry{m.Entry("A", "T1", &holdfast.Death{Count: 1})}}); !errors.Is(err, context.Canceled) {
		t.Errorf("error is %v", err)
	}
	if _, err := s.Verify(ctx, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("verify: error is %v", err)
	}
	wantHead(t, s, n)
	must(t, s, m.Entry("A", "T1", &holdfast.Death{Count: 1}))
}
