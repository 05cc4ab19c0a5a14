package view_test

import (
	"bytes"
	"compress/gzip"
	"fmt"
	"io"
	"strings"
	"testing"

	"holdfast/internal/web/chart"
	"holdfast/internal/web/view"
	"holdfast/internal/web/webtest"
)

func fifty() []view.LotGroup {
	g := view.LotGroup{Heading: "Near the line"}
	for i := range 50 {
		p := float64(i+1) / 52
		g.Rows = append(g.Rows, view.LotRow{
			URL: fmt.Sprintf("/lots/%d", i), Mark: view.Held, Name: fmt.Sprintf("Crystal red %d", i), State: "Held",
			Where: fmt.Sprintf("Tank %d · Hollow Reed Exports · %d alive", i, i*3), Strip: chart.Strip{Chance: p, Low: p * .9, High: p, Line: .95},
			Condition: "rostrum worm", Next: "Look at 12 more on Fri 27 Nov.", When: "27 Nov", Money: "€141",
		})
	}
	return []view.LotGroup{g}
}

// A page of the list is light beside what every page shares.
func TestLotTableWeight(t *testing.T) {
	var page, zipped bytes.Buffer
	z := gzip.NewWriter(&zipped)
	if err := view.LotTable(0.95, fifty()).Render(t.Context(), io.MultiWriter(&page, z)); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	t.Logf("50 lots: %d bytes, %d zipped", page.Len(), zipped.Len())
	if zipped.Len() > 10_000 {
		t.Errorf("50 lots weigh %d bytes zipped", zipped.Len())
	}
	d := webtest.Parse(t, &page)
	if n := len(d.All("td.nm a")); n != 50 {
		t.Errorf("%d links, want 50", n)
	}
	if got := webtest.Text(d.All("td.ch")[25]); !strings.HasPrefix(got, "50") {
		t.Errorf("the row in the middle says %q", got)
	}
}

func BenchmarkLotTable(b *testing.B) {
	groups := fifty()
	for b.Loop() {
		if err := view.LotTable(0.95, groups).Render(b.Context(), io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
