package darkroom

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"runtime"
	"runtime/debug"
	"sync"
	"time"

	"holdfast/desk"
	"holdfast/photo"
)

// Worker reads the photographs that wait to be read. What waits stands in the
// store, so a restart goes on where the last run ended.
type Worker struct {
	Room *Room
	Desk *desk.Desk
	Log  *slog.Logger
	// AtOnce is how many photographs are read at the same time; 0 means one a
	// core, at most four.
	AtOnce int
	wake   chan struct{}
}

// NewWorker returns a worker that is not running yet.
func NewWorker(r *Room, d *desk.Desk, log *slog.Logger) *Worker {
	return &Worker{Room: r, Desk: d, Log: log, wake: make(chan struct{}, 1)}
}

// Wake tells a waiting worker to look at once.
func (w *Worker) Wake() {
	select {
	case w.wake <- struct{}{}:
	default:
	}
}

// pollEvery is how long a worker sleeps when nothing waits or reading is
// paused; photographs may also be added by another process.
const pollEvery = 3 * time.Second

// Run reads until ctx ends.
func (w *Worker) Run(ctx context.Context) {
	for ctx.Err() == nil {
		n, err := w.Once(ctx)
		if err != nil && ctx.Err() == nil {
			w.Log.Error("reading photographs", "error", err)
		}
		if n > 0 && err == nil {
			continue
		}
		select {
		case <-ctx.Done():
		case <-w.wake:
		case <-time.After(pollEvery):
		}
	}
}

// Once reads one round of waiting photographs, unless reading is paused, and
// says how many.
func (w *Worker) Once(ctx context.Context) (int, error) {
	if paused, err := w.Desk.ReadingPaused(ctx); err != nil || paused {
		return 0, err
	}
	atOnce := cmp.Or(w.AtOnce, min(4, runtime.GOMAXPROCS(0)))
	wants, err := w.Desk.Store.OpenReadings(ctx, atOnce)
	if err != nil {
		return 0, err
	}
	faults := make([]error, len(wants))
	var wg sync.WaitGroup
	for i, want := range wants {
		wg.Go(func() { faults[i] = w.read(ctx, want) })
	}
	wg.Wait()
	return len(wants), errors.Join(faults...)
}

// read reads one photograph. A file that cannot be read is an answer too, and one
// that makes the reading panic is given up after a few tries as any other fault:
// it must not take the desk with it.
func (w *Worker) read(ctx context.Context, want desk.Want) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("reading photograph %s panicked: %v\n%s", want.SHA256, p, debug.Stack())
		}
	}()
	way, err := desk.ParseWay(want.Way)
	if err != nil {
		return err
	}
	if err := w.Desk.Store.TryReading(ctx, want.SHA256); err != nil {
		return err
	}
	models, err := w.Desk.Models(ctx, way.Models)
	if err != nil {
		return err
	}
	reading, err := w.Room.Reading(want.SHA256, way.PxPerMM, models)
	if err != nil {
		return err
	}
	body, err := json.Marshal(reading)
	if err != nil {
		return err
	}
	return w.Desk.Store.KeepReading(ctx, want.SHA256, want.Way, body)
}

// Reading reads one photograph and makes its small picture from the same
// pixels. What is wrong with the file stands in the reading.
func (r *Room) Reading(sum string, pxPerMM float64, models photo.Models) (*desk.Reading, error) {
	fault := func(err error) (*desk.Reading, error) {
		var fe *photo.FileError
		if errors.As(err, &fe) {
			return &desk.Reading{Fault: fe.Message}, nil
		}
		return nil, err
	}
	data, err := r.Read(sum)
	if err != nil {
		return fault(err)
	}
	src, err := r.dec.Open(data)
	if err != nil {
		return fault(err)
	}
	denom := src.Reduction(pxPerMM)
	img, err := r.dec.Decode(src, denom)
	if err != nil {
		return fault(err)
	}
	reading := desk.ReadingOf(src, photo.Analyse(img, src.W, src.H, pxPerMM, models, 0))
	findGills(img, reading)
	for _, width := range []int{240, 480} {
		p := Print{Width: width}
		if err := r.keepQuietly(r.path(sum, p), made(img, src, denom, p)); err != nil {
			return nil, err
		}
	}
	return reading, nil
}

func (r *Room) keepQuietly(path string, img *photo.Image) error {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.keep(path, img)
}
