// Package work keeps long calculations beside the pages. Each runs once for its
// key, tells how far it is and what it has so far, can be cancelled, and is
// remembered for whoever asks next. Nothing in it is state that matters: what was
// forgotten is computed again.
package work

import (
	"context"
	"fmt"
	"runtime/debug"
	"sync"
	"time"
)

// State is how a calculation stands.
type State struct {
	// Value is what there is so far; nil at first.
	Value any
	// Done of Total parts are done, as far as that is known.
	Done, Total int
	// Ended says that nothing more comes; Err why nothing came. A cancelled one
	// keeps what it had.
	Ended, Cancelled bool
	Err              error
}

// Tell reports what there is so far, and how far the calculation is.
type Tell func(value any, done, total int)

// Run is a calculation. It ends early when ctx does.
type Run func(ctx context.Context, tell Tell) (any, error)

// Bench runs calculations, a few at a time; those that somebody waits for come
// first. The zero Bench is not usable: see New.
type Bench struct {
	mu     sync.Mutex
	jobs   map[string]*job
	order  []string // oldest first
	keep   int
	slots  int
	urgent []*job
	later  []*job
	ctx    context.Context
	stop   context.CancelFunc
}

type job struct {
	state   State
	run     Run
	ctx     context.Context
	cancel  context.CancelFunc
	started bool
	changed chan struct{} // closed and replaced whenever the state changes
}

// New returns a bench that runs so many calculations at a time and remembers so
// many.
func New(slots, keep int) *Bench {
	ctx, stop := context.WithCancel(context.Background())
	return &Bench{jobs: map[string]*job{}, keep: keep, slots: slots, ctx: ctx, stop: stop}
}

// Stop ends everything that runs or waits, for good.
func (b *Bench) Stop() { b.stop() }

// Do returns how the calculation of a key stands, and begins it if it is not
// known. urgent ones are begun before the others.
func (b *Bench) Do(key string, urgent bool, run Run) State {
	b.mu.Lock()
	defer b.mu.Unlock()
	if j, ok := b.jobs[key]; ok {
		if urgent && !j.started {
			b.later = without(b.later, j)
			b.urgent = append(without(b.urgent, j), j)
			b.begin()
		}
		return j.state
	}
	j := &job{run: run, changed: make(chan struct{})}
	j.ctx, j.cancel = context.WithCancel(b.ctx)
	b.jobs[key] = j
	b.order = append(b.order, key)
	b.forgetOld()
	if urgent {
		b.urgent = append(b.urgent, j)
	} else {
		b.later = append(b.later, j)
	}
	b.begin()
	return j.state
}

func without(list []*job, j *job) []*job {
	for i, x := range list {
		if x == j {
			return append(list[:i:i], list[i+1:]...)
		}
	}
	return list
}

// forgetOld drops the oldest that ended once there are too many.
func (b *Bench) forgetOld() {
	for i := 0; len(b.order) > b.keep && i < len(b.order); {
		if key := b.order[i]; b.jobs[key].state.Ended {
			delete(b.jobs, key)
			b.order = append(b.order[:i:i], b.order[i+1:]...)
		} else {
			i++
		}
	}
}

// begin starts what may start; the lock is held.
func (b *Bench) begin() {
	for b.slots > 0 {
		var j *job
		switch {
		case len(b.urgent) > 0:
			j, b.urgent = b.urgent[0], b.urgent[1:]
		case len(b.later) > 0:
			j, b.later = b.later[0], b.later[1:]
		default:
			return
		}
		if j.state.Ended {
			continue
		}
		j.started = true
		b.slots--
		go b.work(j)
	}
}

func (b *Bench) work(j *job) {
	value, err := j.tried(func(value any, done, total int) {
		b.mu.Lock()
		defer b.mu.Unlock()
		if value != nil {
			j.state.Value = value
		}
		j.state.Done, j.state.Total = done, total
		j.change()
	})
	b.mu.Lock()
	defer b.mu.Unlock()
	b.slots++
	if !j.state.Ended { // else it was cancelled meanwhile
		j.state.Ended, j.state.Err = true, err
		if err == nil {
			j.state.Value = value
		}
		j.change()
	}
	j.cancel()
	b.begin()
}

// tried runs the calculation; one that panics has failed and takes nobody with it,
// as a page's handler would.
func (j *job) tried(tell Tell) (value any, err error) {
	defer func() {
		if p := recover(); p != nil {
			value, err = nil, fmt.Errorf("calculation panicked: %v\n%s", p, debug.Stack())
		}
	}()
	return j.run(j.ctx, tell)
}

func (j *job) change() {
	close(j.changed)
	j.changed = make(chan struct{})
}

// Wait returns how a known calculation stands once enough says so or it has
// ended, at the latest after the time or when ctx ends.
func (b *Bench) Wait(ctx context.Context, key string, atMost time.Duration, enough func(State) bool) State {
	limit := time.NewTimer(atMost)
	defer limit.Stop()
	for {
		b.mu.Lock()
		j, ok := b.jobs[key]
		if !ok {
			b.mu.Unlock()
			return State{}
		}
		state, changed := j.state, j.changed
		b.mu.Unlock()
		if state.Ended || enough(state) {
			return state
		}
		select {
		case <-changed:
		case <-limit.C:
			return state
		case <-ctx.Done():
			return state
		}
	}
}

// Cancel ends a calculation; what it has so far is kept.
func (b *Bench) Cancel(key string) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if j, ok := b.jobs[key]; ok && !j.state.Ended {
		j.state.Ended, j.state.Cancelled = true, true
		j.cancel()
		j.change()
	}
}

// Forget drops what is known of a key, so that it is computed again.
func (b *Bench) Forget(key string) {
	b.Cancel(key)
	b.mu.Lock()
	defer b.mu.Unlock()
	delete(b.jobs, key)
	for i, k := range b.order {
		if k == key {
			b.order = append(b.order[:i:i], b.order[i+1:]...)
			return
		}
	}
}
