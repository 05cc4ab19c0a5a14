package e2e

import (
	"crypto/rand"
	"log/slog"
	"net/http/httptest"
	"sync/atomic"
	"testing"
	"time"

	"holdfast/desk"
	"holdfast/internal/darkroom"
	"holdfast/internal/media"
	"holdfast/internal/store"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/web"
)

// morning is when the clock of every test stands at first.
var morning = time.Date(2026, 9, 1, 8, 0, 0, 0, time.UTC)

// clock is moved by hand. Each look at it is a millisecond later, so that no
// two things happen at once.
type clock struct{ micros atomic.Int64 }

func (c *clock) now() time.Time { return time.UnixMicro(c.micros.Add(1000)).UTC() }

func (c *clock) set(t time.Time) { c.micros.Store(t.UnixMicro()) }

func (c *clock) pass(days int) { c.micros.Add(int64(days) * (24 * time.Hour).Microseconds()) }

// shop is a running desk on a store of its own.
type shop struct {
	*desk.Desk
	clock  *clock
	url    string
	server *web.Server
	store  *store.Store
	// worker reads photographs when a test tells it to.
	worker *darkroom.Worker
}

// read reads every photograph that waits.
func (s *shop) read(t testing.TB) {
	t.Helper()
	for {
		n, err := s.worker.Once(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if n == 0 {
			return
		}
	}
}

func open(t testing.TB) *shop { return openDir(t, t.TempDir()) }

// openDir is a running desk on a data folder.
func openDir(t testing.TB, dir string) *shop {
	t.Helper()
	evidence := desk.NewMemo(desk.Static{})
	st, err := sqlite.Open(t.Context(), dir, desk.Summary{Evidence: evidence, Life: true}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = st.Close() })
	c := &clock{}
	c.set(morning)
	d := &desk.Desk{Store: st, Evidence: evidence, Site: "shop", Now: c.now, Random: rand.Reader}
	life := d.UseLife()
	life.FirstWait, life.FreshWait, life.MostRuns = time.Minute, 4*time.Minute, 1000 // a busy machine is no fault of the pages
	photos := media.Open(dir)
	room := darkroom.Open(dir, photos, nil)
	worker := darkroom.NewWorker(room, d, slog.New(slog.DiscardHandler))
	s, err := web.New(web.Config{Desk: d, Photos: photos, Pictures: room, Wake: worker.Wake, Runs: 100})
	if err != nil {
		t.Fatal(err)
	}
	ts := httptest.NewServer(s)
	t.Cleanup(ts.Close)
	t.Cleanup(s.Stop)
	return &shop{d, c, ts.URL, s, st, worker}
}
