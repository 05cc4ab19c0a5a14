package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"holdfast"
	"holdfast/science/clearance"
)

// How badly a lot's figures are wanted.
const (
	wantSharper = iota + 1 // they are there and could be better
	wantAny                // there are none
	wantSeen               // somebody looked at the page
)

// queue holds the lots whose figures are to be worked out.
type queue struct {
	mu    sync.Mutex
	lots  map[string]int
	order []string
	// busy is the lot that is being worked out, wanted as much as busyHow says;
	// stop ends that.
	busy    string
	busyHow int
	stop    context.CancelFunc
	since   time.Time
	lasted  time.Duration // how long one lot took lately
	wake    chan struct{}
}

func newQueue() queue {
	return queue{lots: map[string]int{}, wake: make(chan struct{}, 1), lasted: 4 * time.Second}
}

// want asks for a lot. One that somebody looks at does not wait for another that
// nobody does: that is put back.
func (q *queue) want(lot string, how int) {
	q.mu.Lock()
	if q.lots[lot] == 0 {
		q.order = append(q.order, lot)
	}
	q.lots[lot] = max(q.lots[lot], how)
	if how == wantSeen && q.busy == lot {
		q.busyHow = how
	} else if how == wantSeen && q.busy != "" && q.busyHow < how {
		q.stop()
	}
	q.mu.Unlock()
	select {
	case q.wake <- struct{}{}:
	default:
	}
}

// next takes the lot that is wanted most, of several the first. The context it
// returns ends when another lot is wanted more.
func (q *queue) next(ctx context.Context) (_ context.Context, lot string, how int, ok bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	best := -1
	for i, l := range q.order {
		if best < 0 || q.lots[l] > q.lots[q.order[best]] {
			best = i
		}
	}
	if best < 0 {
		q.busy = ""
		return ctx, "", 0, false
	}
	lot = q.order[best]
	how = q.lots[lot]
	q.order = slices.Delete(q.order, best, best+1)
	delete(q.lots, lot)
	ctx, q.stop = context.WithCancel(ctx)
	q.busy, q.busyHow, q.since = lot, how, time.Now()
	return ctx, lot, how, true
}

// done notes that the lot is finished and, if all of it was worked out, how long
// it took.
func (q *queue) done(whole bool) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if whole {
		q.lasted = (2*q.lasted + time.Since(q.since)) / 3
	}
	q.stop()
	q.busy = ""
}

// back puts a lot that had to make room in front of those wanted as much.
func (q *queue) back(lot string, how int) {
	q.mu.Lock()
	defer q.mu.Unlock()
	if q.lots[lot] == 0 {
		q.order = slices.Insert(q.order, 0, lot)
	}
	q.lots[lot] = max(q.lots[lot], how)
}

// ahead is how many lots somebody looked at come before a lot that somebody looks
// at now, the one being worked out counted.
func (q *queue) ahead(lot string) (n int) {
	if q.busy == lot {
		return 0
	}
	if q.busy != "" && q.busyHow == wantSeen {
		n++
	}
	for _, l := range q.order {
		if l == lot {
			break
		}
		if q.lots[l] == wantSeen {
			n++
		}
	}
	return n
}

// wait is how many lots come before one that somebody looks at, and about how
// long it will take if nobody asks for another before it.
func (q *queue) wait(lot string) (ahead int, d time.Duration) {
	q.mu.Lock()
	defer q.mu.Unlock()
	ahead = q.ahead(lot)
	d = time.Duration(ahead+1) * q.lasted
	if q.busy == lot || q.busy != "" && q.busyHow == wantSeen {
		// What takes longer than others did may take half as long again.
		took := time.Since(q.since)
		d += max(-took, took/2-q.lasted)
	}
	return ahead, max(d, time.Second)
}

// inSeconds is a time as people wait for it.
func inSeconds(d time.Duration) string {
	if n := math.Ceil(d.Seconds()); n > 1 {
		return fmt.Sprintf("%.0f seconds", n)
	}
	return "a second"
}

// Waiting returns how many lots wait for their figures.
func (l *Life) Waiting() int {
	l.queue.mu.Lock()
	defer l.queue.mu.Unlock()
	n := len(l.queue.order)
	if l.queue.busy != "" {
		n++
	}
	return n
}

// Work works out figures in the background, one lot at a time, until ctx ends:
// those of lots whose pages were looked at first, then those of lots that have
// none, then sharper ones, and among these those on hold before those for sale. A
// lot that somebody looks at interrupts one that nobody does. Every day has figures
// of its own. failed is told of
// lots whose figures could not be worked out; the work goes on.
func (l *Life) Work(ctx context.Context, failed func(lot string, err error)) {
	ctx = clearance.Yielding(clearance.Gently(ctx), func() { l.stand(ctx) }) // whoever turns a page comes first
	minute := time.NewTicker(time.Minute)
	defer minute.Stop()
	var day holdfast.Day
	for ctx.Err() == nil {
		if today, err := l.desk.Today(ctx); err == nil && today != day {
			if err := l.scan(ctx); err != nil {
				failed("", err)
			}
			day = today
		}
		soon, lot, how, ok := l.queue.next(ctx)
		if !ok {
			select {
			case <-ctx.Done():
			case <-l.queue.wake:
			case <-minute.C:
			}
			continue
		}
		switch err := l.refresh(soon, lot, how); {
		case err == nil || ctx.Err() != nil:
		case soon.Err() != nil:
			l.queue.back(lot, how)
		default:
			failed(lot, err)
		}
	}
}

// stand waits while a first answer is worked out, or Turn does.
func (l *Life) stand(ctx context.Context) {
	l.one.Lock()
	l.one.Unlock() // to have waited is all
	if l.Turn != nil {
		l.Turn(ctx)
	}
}

// Settle works out everything that is wanted now, and returns. Tests and those
// who have no background wait for it.
func (l *Life) Settle(ctx context.Context) error {
	if err := l.scan(ctx); err != nil {
		return err
	}
	for {
		soon, lot, how, ok := l.queue.next(ctx)
		if !ok {
			return nil
		}
		err := l.refresh(soon, lot, how)
		if err != nil && ctx.Err() == nil && soon.Err() != nil {
			l.queue.back(lot, how)
		} else if err != nil {
			return fmt.Errorf("lot %s: %w", lot, err)
		}
	}
}

// liveFirst are the states of lots that still have animals, those first about
// which somebody decides today.
var liveFirst = [][]holdfast.Status{{holdfast.Held, holdfast.Recalled}, {holdfast.Released, holdfast.Disclosed}, {holdfast.Colony}}

// scan asks for the figures of every lot that still has animals and no current
// ones: those on hold, then those for sale, then those that stay. Closed lots are
// not asked for.
func (l *Life) scan(ctx context.Context) error {
	kept, err := l.desk.Store.FigureKeys(ctx)
	if err != nil {
		return err
	}
	for _, statuses := range liveFirst {
		rows, _, err := l.desk.Store.Lots(ctx, LotQuery{Sort: ByOldest, Statuses: statuses})
		if err != nil {
			return err
		}
		for _, r := range rows {
			if _, ok := kept[r.ID]; ok || len(Tracked(r.Species)) == 0 {
				l.queue.want(r.ID, wantSharper) // refresh finds out whether they are current
			} else {
				l.queue.want(r.ID, wantAny)
			}
		}
	}
	return nil
}

// refresh brings the figures of one lot up to date. A lot that has none gets a
// first answer and is asked for again.
func (l *Life) refresh(ctx context.Context, lot string, how int) error {
	whole := false
	defer func() { l.queue.done(whole) }()
	v, err := l.desk.bare(ctx, lot)
	if err != nil {
		var gone *holdfast.Error
		if errors.As(err, &gone) && gone.Kind == holdfast.NotFound {
			return nil // its opening was undone
		}
		return err
	}
	if v.Lot.Status == holdfast.Closed {
		return nil
	}
	qs, key, err := v.asked()
	if err != nil {
		return err
	}
	row, err := l.desk.Store.Figures(ctx, lot)
	if err != nil {
		return err
	}
	if row != nil && row.Key == key && row.Sharp {
		return nil
	}
	if row == nil {
		all, err := l.work(ctx, v, qs, true, true)
		if err != nil {
			return err
		}
		if err := l.keep(ctx, v, key, all, false); err != nil {
			return err
		}
		if how == wantAny {
			l.queue.want(lot, wantSharper)
			return nil
		}
	}
	whole = true
	_, err = l.sharpen(ctx, v, qs, key)
	return err
}

func (l *Life) sharpen(ctx context.Context, v *LotView, qs []question, key string) ([]Answer, error) {
	all, err := l.work(ctx, v, qs, false, true)
	if err != nil {
		return nil, err
	}
	return all, l.keep(ctx, v, key, all, true)
}

// fresh makes the view's figures current, for a decision that rests on them;
// whole asks for all of them even if one decides it. If that takes too long it
// refuses and says about when to come again.
func (l *Life) fresh(ctx context.Context, v *LotView, whole bool) error {
	if v.State.Current() && !l.Coarse {
		return nil
	}
	qs, key, err := v.asked()
	if err != nil {
		return err
	}
	soon, stop := context.WithTimeout(ctx, l.FreshWait)
	defer stop()
	var all []Answer
	if l.Coarse {
		all, err = l.work(ctx, v, qs, true, whole)
	} else {
		all, err = l.sharpen(soon, v, qs, key)
	}
	if soon.Err() != nil && ctx.Err() == nil {
		l.queue.want(v.Lot.ID, wantSeen)
		_, wait := l.queue.wait(v.Lot.ID)
		return refused(fmt.Sprintf("The figures of this lot are still being worked out from what was recorded last: about %s more. Nothing was decided.", inSeconds(wait)),
			"Send it again then; the page keeps what you typed.")
	}
	if err != nil {
		return err
	}
	v.State = FigureState{AsOf: v.Today}
	return v.take(l.desk.Evidence, qs, byCondition(all))
}

// Changed asks for new figures of the lots that entries bear on.
func (l *Life) Changed(entries []holdfast.Entry) {
	if l.Coarse {
		return
	}
	for _, e := range entries {
		switch e.Kind {
		case holdfast.KindMoultPull, holdfast.KindTaskTicked, holdfast.KindTaskSkipped, holdfast.KindNote, holdfast.KindPhotoAdded, holdfast.KindVisit:
			continue
		}
		if ev, err := e.Decode(); err == nil {
			for _, s := range ev.Subjects() {
				if s.Type == holdfast.SubjectLot {
					l.queue.want(s.ID, wantSharper)
				}
			}
		}
	}
}
