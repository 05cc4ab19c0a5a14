package e2e

import (
	"bytes"
	"encoding/json"
	"io"
	"slices"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
	"holdfast/internal/store/sqlite"
)

// The invented shop's journal, written out and read into an empty folder, makes
// the same shop: the same chain, the same rows, byte by byte.
func TestJournalMakesTheSameShop(t *testing.T) {
	w := newWorld(t)
	// It goes from one to the other as it is written, never whole in memory.
	r, out := io.Pipe()
	go func() { out.CloseWithError(w.store.Export(t.Context(), out)) }()
	twin, err := sqlite.Open(t.Context(), t.TempDir(), desk.Summary{Evidence: w.Evidence, Life: true}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer twin.Close()
	if err := twin.Import(t.Context(), r); err != nil {
		t.Fatal(err)
	}
	a, b := stateOf(t, w.store), stateOf(t, twin)
	if !bytes.Equal(a, b) {
		t.Errorf("the twin stands elsewhere: %d bytes of state, %d in the shop", len(b), len(a))
	}
	if findings, err := twin.Verify(t.Context(), nil); err != nil || len(findings) > 0 {
		t.Errorf("verify finds %v (%v)", findings, err)
	}
	var first, second bytes.Buffer
	if err := w.store.Export(t.Context(), &first); err != nil {
		t.Fatal(err)
	}
	if err := twin.Export(t.Context(), &second); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(first.Bytes(), second.Bytes()) || first.Len() < 1<<20 {
		t.Errorf("the twin writes another journal, %d bytes and %d", second.Len(), first.Len())
	}
	if slices.Equal(a, []byte("null")) {
		t.Error("nothing was compared")
	}
}

// stateOf is every row of every list, and the chain's head.
func stateOf(t *testing.T, s *store.Store) []byte {
	t.Helper()
	ctx := t.Context()
	lots, n, err := s.Lots(ctx, desk.LotQuery{})
	if err != nil || n < 100 {
		t.Fatalf("%d lots (%v)", n, err)
	}
	for i := range lots { // the model's figures are kept beside the journal and worked out again
		if r := &lots[i]; r.Evidence != "" {
			r.Figures, r.Worst, r.Chance, r.BagRisk, r.FigureAsOf, r.FigureOld = nil, "", nil, nil, 0, false
		}
	}
	tanks, err := s.Tanks(ctx)
	if err != nil {
		t.Fatal(err)
	}
	deliveries, _, err := s.Consignments(ctx, 0, 0)
	if err != nil {
		t.Fatal(err)
	}
	seq, hash, err := s.Head(ctx)
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(struct {
		Lots       []holdfast.LotRow
		Tanks      []holdfast.TankRow
		Deliveries []holdfast.ConsignmentRow
		Seq        int64
		Hash       string
	}{lots, tanks, deliveries, seq, hash.String()})
	if err != nil {
		t.Fatal(err)
	}
	return b
}
