package desk

import (
	"context"
	"testing"
	"time"
)

// take is next for a test that knows what comes.
func take(t *testing.T, q *queue, want string) context.Context {
	t.Helper()
	ctx, lot, _, ok := q.next(t.Context())
	if lot != want || ok != (want != "") {
		t.Fatalf("next is %q, want %q", lot, want)
	}
	return ctx
}

func TestQueueOrder(t *testing.T) {
	q := newQueue()
	q.want("sharper", wantSharper)
	q.want("none 1", wantAny)
	q.want("none 2", wantAny)
	q.want("seen", wantSeen)
	q.want("sharper", wantSharper) // asked for twice, worked out once
	for _, want := range []string{"seen", "none 1", "none 2", "sharper", ""} {
		take(t, &q, want)
		if want != "" {
			q.done(false)
		}
	}
}

// TestQueueMakesRoom: a lot whose page is looked at interrupts one that nobody
// looks at, which comes again before its equals; two that are looked at take turns.
func TestQueueMakesRoom(t *testing.T) {
	q := newQueue()
	q.want("a", wantSharper)
	q.want("b", wantSharper)
	a := take(t, &q, "a")
	if q.want("b", wantAny); a.Err() != nil {
		t.Fatal("a lot that nobody looks at interrupted another")
	}
	q.want("seen", wantSeen)
	if a.Err() == nil {
		t.Fatal("a page that was opened waits")
	}
	if n, _ := q.wait("seen"); n != 0 {
		t.Errorf("%d lots before one that interrupted", n)
	}
	q.done(false)
	q.back("a", wantSharper)
	seen := take(t, &q, "seen")
	q.want("seen 2", wantSeen)
	if seen.Err() != nil {
		t.Error("the page opened later interrupted the earlier one")
	}
	n, after := q.wait("seen 2")
	if _, now := q.wait("seen"); n != 1 || now > after {
		t.Errorf("%d lots before the second, it takes %v, the first %v", n, after, now)
	}
	q.done(true)
	for _, want := range []string{"seen 2", "b", "a"} { // b has none by now, a could be better
		take(t, &q, want)
		q.done(false)
	}
	take(t, &q, "")
}

// TestQueueKeepsWhoIsWatched: the page of the lot being worked out was opened, so
// another page does not interrupt it.
func TestQueueKeepsWhoIsWatched(t *testing.T) {
	q := newQueue()
	q.want("a", wantAny)
	a := take(t, &q, "a")
	q.want("a", wantSeen)
	if q.want("b", wantSeen); a.Err() != nil {
		t.Error("it was interrupted")
	}
}

// TestWhatTakesLongIsNotPromisedSoon: a lot that has taken longer than others did is
// not said to be ready in a second.
func TestWhatTakesLongIsNotPromisedSoon(t *testing.T) {
	q := newQueue()
	q.want("a", wantSeen)
	take(t, &q, "a")
	q.since = time.Now().Add(-2 * time.Minute)
	if _, d := q.wait("a"); d < time.Minute {
		t.Errorf("after two minutes it is promised in %v", d)
	}
	for d, want := range map[time.Duration]string{0: "a second", time.Second: "a second", 1500 * time.Millisecond: "2 seconds", time.Minute: "60 seconds"} {
		if got := inSeconds(d); got != want {
			t.Errorf("%v is said %q, want %q", d, got, want)
		}
	}
}
