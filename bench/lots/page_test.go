package lots

import (
	"crypto/rand"
	"fmt"
	"net/http"
	"net/http/httptest"
	"slices"
	"testing"
	"time"

	"holdfast/desk"
	"holdfast/internal/web"
)

// BenchmarkLotsPage asks for the whole page as a browser does, filters, figures,
// markup and compression included, and for the same rows by a bare SELECT.
func BenchmarkLotsPage(b *testing.B) {
	s, db := shop(b)
	d := &desk.Desk{Store: s, Evidence: desk.Static{}, Site: "big", Now: time.Now, Random: rand.Reader}
	server, err := web.New(web.Config{Desk: d})
	if err != nil {
		b.Fatal(err)
	}
	for _, c := range []struct {
		path, where string
		args        []any
	}{
		{"/lots?state=all", `1 = 1`, nil},
		{"/lots", `status IN ('held', 'released', 'recalled', 'disclosed', 'colony')`, nil},
		{"/lots?state=held&q=blue", `status IN ('held') AND search LIKE $1`, []any{"%blue%"}},
		{"/lots?state=all&q=bolt+t199", `search LIKE $1 AND search LIKE $2`, []any{"%bolt%", "%t199%"}},
		{"/lots?state=all&page=400", `1 = 1`, nil},
	} {
		offset := 0
		if c.path == "/lots?state=all&page=400" {
			offset = 399 * 50
		}
		bare := fmt.Sprintf(`SELECT body FROM lot_row JOIN lot_body USING (id) WHERE %s ORDER BY chance_key DESC, id LIMIT 50 OFFSET %d`, c.where, offset)
		b.Run(c.path, func(b *testing.B) {
			var page, sel []time.Duration
			for b.Loop() {
				t0 := time.Now()
				r := httptest.NewRequest("GET", "http://localhost"+c.path, nil)
				r.Header.Set("Accept-Encoding", "gzip")
				w := httptest.NewRecorder()
				server.ServeHTTP(w, r)
				took := time.Since(t0)
				if w.Code != http.StatusOK || w.Body.Len() == 0 {
					b.Fatalf("status %d", w.Code)
				}
				t1 := time.Now()
				selectBare(b, db, bare, c.args)
				page, sel = append(page, took), append(sel, time.Since(t1))
			}
			slices.Sort(page)
			slices.Sort(sel)
			ms := func(d time.Duration) float64 { return d.Seconds() * 1000 }
			b.ReportMetric(ms(page[len(page)/2]), "page-ms")
			b.ReportMetric(ms(page[len(page)-1]), "worst-ms")
			b.ReportMetric(ms(sel[len(sel)/2]), "bare-ms")
			b.ReportMetric(ms(page[len(page)/2])/ms(sel[len(sel)/2]), "page/bare")
		})
	}
}
