package web

import (
	"context"
	"sync"
)

// turns lets what somebody waits for go before what takes long: while any of it is
// at work, the rest stands still.
type turns struct {
	mu   sync.Mutex
	busy int
	free chan struct{} // closed when nothing urgent is left
}

// first runs what somebody waits for.
func (t *turns) first(do func() error) error {
	t.mu.Lock()
	if t.busy++; t.busy == 1 {
		t.free = make(chan struct{})
	}
	t.mu.Unlock()
	defer func() {
		t.mu.Lock()
		defer t.mu.Unlock()
		if t.busy--; t.busy == 0 {
			close(t.free)
		}
	}()
	return do()
}

// yield waits until nothing urgent is at work, or ctx ends.
func (t *turns) yield(ctx context.Context) {
	for ctx.Err() == nil {
		t.mu.Lock()
		busy, free := t.busy, t.free
		t.mu.Unlock()
		if busy == 0 {
			return
		}
		select {
		case <-free:
		case <-ctx.Done():
		}
	}
}
