package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
)

// ticking moves the desk's clock on with every look at it, so that entries have
// an order in time.
func ticking(d *desk.Desk) *desk.Desk {
	clock := noon
	d.Now = func() time.Time { clock = clock.Add(time.Second); return clock }
	return d
}

// stocked is a desk with one tank and n lots of one delivery.
func stocked(t *testing.T, n int) (*desk.Desk, []string) {
	t.Helper()
	d := ticking(newDesk(t))
	by := desk.Actor{Who: "Mara"}
	if _, err := d.SetTank(t.Context(), by, desk.TankForm{ID: "14", Use: "quarantine", Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}}); err != nil {
		t.Fatal(err)
	}
	a := desk.Arrival{Supplier: "Ninefold Pond Farm", Boxes: 1}
	for i := range n {
		a.Lines = append(a.Lines, desk.ArrivalLine{Strain: "Blue velvet " + strings.Repeat("z", i+1), Declared: 20 + i, Tank: "14"})
	}
	_, lots, err := d.Receive(t.Context(), by, a)
	if err != nil {
		t.Fatal(err)
	}
	return d, lots
}

func TestLotsOfAnEmptyShop(t *testing.T) {
	a := want(t, serve(t, web.Config{}).get("/lots"), http.StatusOK)
	a.One(`main .empty a[href="/receive"]`)
	if len(a.All("table")) != 0 {
		t.Error("an empty shop has a table of lots")
	}
}

func TestLotsArePagedAndCounted(t *testing.T) {
	d, lots := stocked(t, 53)
	v := serve(t, web.Config{Desk: d})
	seen := map[string]bool{}
	for page, rows := range map[string]int{"": 50, "?page=2": 3, "?page=99": 3} {
		a := want(t, v.get("/lots"+page), http.StatusOK)
		links := a.All(`a[href^="/lots/"]`)
		if len(links) != rows {
			t.Errorf("%q: %d lots, want %d", page, len(links), rows)
		}
		for _, n := range links {
			seen[webtest.Attr(n, "href")] = true
		}
	}
	for _, id := range lots {
		if !seen["/lots/"+url.PathEscape(id)] {
			t.Errorf("lot %s is on no page", id)
		}
	}
	if len(seen) != len(lots) {
		t.Errorf("%d links below /lots/, want the %d lots and nothing else", len(seen), len(lots))
	}
	a := v.get("/lots")
	sieves := a.Says(`nav[aria-label="Which lots"]`)
	for _, say := range []string{"Here now 53", "Held 53", "Released 0", "All 53"} {
		if !strings.Contains(strings.ReplaceAll(sieves, "\u00a0", " "), say) {
			t.Errorf("the sieves say %q, not %q", sieves, say)
		}
	}
	// Nobody looked: the row says so and claims no chance.
	if ch := webtest.Text(a.All("td.ch")[0]); !strings.Contains(ch, "not looked") || strings.Contains(ch, "%") {
		t.Errorf("a lot nobody looked at says %q", ch)
	}
	// Opened on 25 Nov, 28 days here.
	if when := webtest.Text(a.All("td.extra.reck")[0]); when != "from 23 Dec at the earliest" {
		t.Errorf("earliest release %q", when)
	}
}

func TestLotsAreFoundAndOrdered(t *testing.T) {
	d, _ := stocked(t, 12)
	v := serve(t, web.Config{Desk: d})
	if n := len(v.get("/lots?q=velvet+zzzzzzzzzzzz").All(`a[href^="/lots/"]`)); n != 1 {
		t.Errorf("%d found, want 1", n)
	}
	if got := webtest.Text(v.get("/lots?sort=alive").All("td.nm a")[0]); !strings.HasPrefix(got, "Blue velvet zzzzzzzzzzzz ") {
		t.Errorf("most animals first begins with %q", got)
	}
	a := want(t, v.get("/lots?q=%3Cscript%3Enothing"), http.StatusOK)
	a.One(`main .empty a[href="/lots?state=all"]`)
	if !strings.Contains(a.body, "&lt;script&gt;nothing") {
		t.Error("what was searched for is not kept")
	}
	want(t, v.get("/lots?state=released&q=velvet"), http.StatusOK).One("main .empty")
	for _, odd := range []string{"?state=x&sort=y&page=-1", "?page=zz", "?q=%ff%00", "?q=" + strings.Repeat("x", 5000)} {
		want(t, v.get("/lots"+odd), http.StatusOK)
	}
}
