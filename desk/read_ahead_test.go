package desk_test

import (
	"context"
	"errors"
	"testing"
)

// Reading ahead records nothing, in an empty shop and in one with lots, and ends
// when it is told to.
func TestReadAheadChangesNothing(t *testing.T) {
	r := newRoom(t)
	r.must(r.ReadAhead(r.ctx))
	r.lot(12)
	head, _, err := r.Store.Head(r.ctx)
	r.must(err)
	r.must(r.ReadAhead(r.ctx))
	if now, _, err := r.Store.Head(r.ctx); err != nil || now != head {
		t.Errorf("the journal ends at %d, before it did at %d (%v)", now, head, err)
	}
	ctx, cancel := context.WithCancel(r.ctx)
	cancel()
	if err := r.ReadAhead(ctx); !errors.Is(err, context.Canceled) {
		t.Errorf("told to end: %v", err)
	}
}
