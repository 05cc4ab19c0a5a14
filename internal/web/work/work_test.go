package work

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"
)

const long = 10 * time.Second

func ended(State) bool { return false }

func TestRunsOnceForItsKey(t *testing.T) {
	b := New(2, 10)
	defer b.Stop()
	runs := make(chan int, 10)
	run := func(context.Context, Tell) (any, error) { runs <- 1; return 7, nil }
	for range 3 {
		b.Do("a", true, run)
	}
	if s := b.Wait(t.Context(), "a", long, ended); !s.Ended || s.Value != 7 || s.Err != nil {
		t.Errorf("%+v", s)
	}
	b.Do("a", true, run)
	if len(runs) != 1 {
		t.Errorf("ran %d times", len(runs))
	}
	b.Forget("a")
	b.Do("a", true, run)
	b.Wait(t.Context(), "a", long, ended)
	if len(runs) != 2 {
		t.Errorf("forgotten, it ran %d times", len(runs))
	}
}

func TestTellsAndIsCancelled(t *testing.T) {
	b := New(1, 10)
	defer b.Stop()
	b.Do("a", true, func(ctx context.Context, tell Tell) (any, error) {
		tell("half", 1, 2)
		<-ctx.Done()
		return nil, ctx.Err()
	})
	s := b.Wait(t.Context(), "a", long, func(s State) bool { return s.Value != nil })
	if s.Ended || s.Value != "half" || s.Done != 1 || s.Total != 2 {
		t.Errorf("%+v", s)
	}
	b.Cancel("a")
	if s = b.Wait(t.Context(), "a", long, ended); !s.Ended || !s.Cancelled || s.Value != "half" || s.Err != nil {
		t.Errorf("cancelled: %+v", s)
	}
	b.Do("b", true, func(context.Context, Tell) (any, error) { return nil, errors.New("no") })
	if s = b.Wait(t.Context(), "b", long, ended); !s.Ended || s.Err == nil {
		t.Errorf("the slot was not given back, or the error lost: %+v", s)
	}
}

func TestAPanicIsAnErrorOfItsOwnCalculation(t *testing.T) {
	b := New(1, 10)
	defer b.Stop()
	b.Do("a", true, func(context.Context, Tell) (any, error) { panic("no such lot") })
	if s := b.Wait(t.Context(), "a", long, ended); !s.Ended || s.Err == nil || !strings.Contains(s.Err.Error(), "no such lot") {
		t.Errorf("%+v", s)
	}
	b.Do("b", true, func(context.Context, Tell) (any, error) { return 7, nil })
	if s := b.Wait(t.Context(), "b", long, ended); s.Value != 7 {
		t.Errorf("the slot was not given back: %+v", s)
	}
}

func TestThoseWaitedForComeFirst(t *testing.T) {
	b := New(1, 10)
	defer b.Stop()
	hold, order := make(chan struct{}), make(chan string, 10)
	b.Do("holding", true, func(context.Context, Tell) (any, error) { <-hold; return nil, nil })
	run := func(name string) Run {
		return func(context.Context, Tell) (any, error) { order <- name; return nil, nil }
	}
	b.Do("later", false, run("later"))
	b.Do("last", false, run("last"))
	b.Do("urgent", true, run("urgent"))
	b.Do("last", true, run("last")) // somebody waits for it now
	close(hold)
	for _, key := range []string{"later", "last", "urgent"} {
		b.Wait(t.Context(), key, long, ended)
	}
	if got := fmt.Sprint(<-order, <-order, <-order); got != "urgentlastlater" {
		t.Errorf("order %s", got)
	}
}

func TestRemembersNotTooMuch(t *testing.T) {
	b := New(1, 3)
	defer b.Stop()
	for i := range 10 {
		key := fmt.Sprint(i)
		b.Do(key, true, func(context.Context, Tell) (any, error) { return i, nil })
		b.Wait(t.Context(), key, long, ended)
	}
	if n := len(b.jobs); n > 4 {
		t.Errorf("%d are remembered", n)
	}
	if s := b.Wait(t.Context(), "0", 0, ended); s.Value != nil {
		t.Errorf("the oldest is still there: %+v", s)
	}
}
