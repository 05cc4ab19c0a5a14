package pages

import (
	"context"
	"crypto/rand"
	"database/sql"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/demo"
	"holdfast/internal/media"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/web"
)

// shop is a desk with its server and a second way into its file.
type shop struct {
	*desk.Desk
	server *web.Server
	bare   *sql.DB
	now    time.Time
}

func open(b *testing.B, site string) *shop {
	b.Helper()
	dir := b.TempDir()
	evidence := desk.NewMemo(desk.Static{})
	store, err := sqlite.Open(b.Context(), dir, desk.Summary{Evidence: evidence}, sqlite.Options{})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = store.Close() })
	s := &shop{now: time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)}
	s.Desk = &desk.Desk{Store: store, Evidence: evidence, Site: site, Random: rand.Reader, Now: func() time.Time { return s.now }}
	if s.server, err = web.New(web.Config{Desk: s.Desk, Photos: media.Open(dir)}); err != nil {
		b.Fatal(err)
	}
	if s.bare, err = sql.Open("sqlite", "file:"+filepath.Join(dir, sqlite.FileName)+"?mode=ro"); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = s.bare.Close() })
	return s
}

// BenchmarkDemo asks for every kind of page of the invented shop, beside a bare
// SELECT of the entries of one lot.
func BenchmarkDemo(b *testing.B) {
	s := open(b, "demo")
	if err := demo.Seed(b.Context(), s.Store, s.Evidence, s.now, nil); err != nil {
		b.Fatal(err)
	}
	rows, _, err := s.Store.Lots(b.Context(), desk.LotQuery{Statuses: []holdfast.Status{holdfast.Held}, Sort: desk.ByChance})
	if err != nil || len(rows) == 0 {
		b.Fatalf("no lot is held (%v)", err)
	}
	lot := "/lots/" + rows[0].ID
	deliveries, _, err := s.Store.Consignments(b.Context(), 0, 1)
	if err != nil {
		b.Fatal(err)
	}
	for _, path := range []string{"/round", "/lots", lot, lot + "/look", lot + "/record", lot + "/treat", "/tanks", "/tanks/14", "/receive",
		"/deliveries/" + deliveries[0].ID, "/register", "/reference", "/signs", "/settings"} {
		b.Run(path, func(b *testing.B) {
			s.measure(b, path, `SELECT e.payload FROM entry e JOIN entry_subject s USING (seq) WHERE s.subject_type = 'lot' AND s.subject_id = $1 ORDER BY e.seq`, rows[0].ID)
		})
	}
}

// BenchmarkRound walks 150 tanks, each with a lot of two months, beside a bare
// SELECT of their rows.
func BenchmarkRound(b *testing.B) {
	const tanks = 150
	s := open(b, "big")
	ctx, jo := b.Context(), desk.Actor{Who: "Jo"}
	today := s.now
	s.now = today.AddDate(0, 0, -60)
	for i := range tanks {
		id := fmt.Sprint(i + 1)
		if _, err := s.SetTank(ctx, jo, desk.TankForm{ID: id, Place: i, Use: "quarantine", Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}}); err != nil {
			b.Fatal(err)
		}
		if _, _, err := s.Receive(ctx, jo, desk.Arrival{Supplier: fmt.Sprintf("Farm %d", i%12), Boxes: 1,
			Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 150, Tank: id}}}); err != nil {
			b.Fatal(err)
		}
	}
	for s.now.Before(today.AddDate(0, 0, -1)) {
		s.now = s.now.AddDate(0, 0, 6)
		live(b, s, ctx, jo)
	}
	s.now = today
	b.Run("/round", func(b *testing.B) { s.measure(b, "/round", `SELECT body FROM lot_body`) })
}

// live ticks everything that the round asks for on a day.
func live(b *testing.B, s *shop, ctx context.Context, by desk.Actor) {
	b.Helper()
	day, err := s.Today(ctx)
	if err != nil {
		b.Fatal(err)
	}
	walk, err := s.Round(ctx, day)
	if err != nil {
		b.Fatal(err)
	}
	for _, sec := range walk.Sections {
		for _, st := range sec.Stops {
			for _, t := range st.Tasks {
				switch t.Kind {
				case desk.TaskPull:
					err = s.Pull(ctx, by, t.Lot, t.Tank, nil, t.Key, "")
				case desk.TaskDead:
					err = s.Dead(ctx, by, t.Lot, t.Tank, 0, "", t.Key)
				case desk.TaskWater:
					temp := 22.5
					err = s.Measure(ctx, by, t.Tank, holdfast.Water{TempC: &temp}, "", t.Key)
				}
				if err != nil {
					b.Fatal(err)
				}
			}
		}
	}
}

// measure reports the middle of how long a page takes, the slowest of the run
// (on a busy machine that is the machine), and how the middle compares with the
// bare SELECT.
func (s *shop) measure(b *testing.B, path, bare string, args ...any) {
	b.Helper()
	var page, sel []time.Duration
	for b.Loop() {
		r := httptest.NewRequest("GET", "http://localhost"+path, nil)
		r.Header.Set("Accept-Encoding", "gzip")
		w := httptest.NewRecorder()
		t0 := time.Now()
		s.server.ServeHTTP(w, r)
		took := time.Since(t0)
		if w.Code != http.StatusOK || w.Body.Len() == 0 {
			b.Fatalf("%s: status %d", path, w.Code)
		}
		t1 := time.Now()
		n := count(b, s.bare, bare, args)
		page, sel = append(page, took), append(sel, time.Since(t1))
		if n == 0 {
			b.Fatal("the bare SELECT finds nothing")
		}
	}
	slices.Sort(page)
	slices.Sort(sel)
	ms := func(d time.Duration) float64 { return d.Seconds() * 1000 }
	b.ReportMetric(ms(page[len(page)/2]), "page-ms")
	b.ReportMetric(ms(page[len(page)-1]), "worst-ms")
	b.ReportMetric(ms(sel[len(sel)/2]), "bare-ms")
	b.ReportMetric(ms(page[len(page)/2])/ms(sel[len(sel)/2]), "page/bare")
}

func count(b *testing.B, db *sql.DB, text string, args []any) int {
	b.Helper()
	rows, err := db.QueryContext(b.Context(), text, args...)
	if err != nil {
		b.Fatal(err)
	}
	defer rows.Close()
	n := 0
	for rows.Next() {
		var body string
		if err := rows.Scan(&body); err != nil {
			b.Fatal(err)
		}
		n++
	}
	if err := rows.Err(); err != nil {
		b.Fatal(err)
	}
	return n
}
