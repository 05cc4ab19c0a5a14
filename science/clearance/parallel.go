package clearance

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// batch is how many runs a worker takes at a time: enough that taking costs
// nothing, few enough that one heavy batch does not keep everyone waiting.
const batch = 16

type gently struct{}

// Gently returns a context in which work leaves one core to others, if there is
// more than one: for what nobody waits for. The answers are the same.
func Gently(ctx context.Context) context.Context { return context.WithValue(ctx, gently{}, true) }

type yielding struct{}

// Yielding returns a context in which work calls turn before every few runs; turn
// may wait, so that something more urgent goes first. The answers are the same.
func Yielding(ctx context.Context, turn func()) context.Context {
	return context.WithValue(ctx, yielding{}, turn)
}

// each calls do for every i in 0..n-1, on as many workers as there are cores,
// each taking batch of them at a time; newWorker makes one worker's do. Each i
// must write only what belongs to i, so that the outcome does not depend on who
// did it. It ends early with ctx's error.
func each(ctx context.Context, n, batch int, newWorker func() func(i int)) error {
	workers := max(1, min(runtime.GOMAXPROCS(0), (n+batch-1)/batch))
	if ctx.Value(gently{}) != nil {
		workers = max(1, min(workers, runtime.GOMAXPROCS(0)-1))
	}
	turn, _ := ctx.Value(yielding{}).(func())
	var next atomic.Int64
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() {
			do := newWorker()
			for ctx.Err() == nil {
				if turn != nil {
					turn()
				}
				from := int(next.Add(int64(batch))) - batch
				if from >= n {
					return
				}
				for i := from; i < min(from+batch, n); i++ {
					do(i)
				}
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}
