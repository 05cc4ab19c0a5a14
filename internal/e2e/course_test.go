package e2e

import (
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
)

// A course is chosen, a day of it moved, accepted, and walked: by hand in a
// browser.
func TestChooseAndAcceptACourse(t *testing.T) {
	if testing.Short() {
		t.Skip("follows thousands of simulated lots")
	}
	b := webtest.New(t)
	s := open(t)
	ctx := t.Context()
	if _, err := s.SetTank(ctx, desk.Actor{Who: "Mara"}, desk.TankForm{ID: "14", Use: "quarantine",
		Shape: holdfast.Shape{Form: "box", LengthCM: 60, WidthCM: 30, HeightCM: 35, FillCM: 30}}); err != nil {
		t.Fatal(err)
	}
	_, lots, err := s.Receive(ctx, desk.Actor{Who: "Mara"}, desk.Arrival{Supplier: "Invented Farm", Boxes: 1,
		Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 60, Tank: "14"}}})
	if err != nil {
		t.Fatal(err)
	}
	page := s.url + "/lots/" + lots[0]
	b.Look(webtest.Phone, webtest.Light)
	b.Go(s.url + "/who")
	b.Type("#name", "Mara")
	b.Send("main form button[type=submit]")
	s.clock.pass(1)
	look(t, b, page, 20, 2)

	b.Go(page + "/course")
	settle := func(what string) {
		t.Helper()
		for end := time.Now().Add(4 * time.Minute); count(b, "[data-poll]") > 0; time.Sleep(300 * time.Millisecond) {
			if time.Now().After(end) {
				t.Fatalf("%s: still at work after four minutes", what)
			}
		}
	}
	settle("the search") // the page asks by itself; nobody reloads it
	contains(t, b, "#course-all", "Usual practice", "likely clear")
	b.Axe("course")
	b.NoSideScroll("course")
	shoot(t, b, "6-course", "main h1")
	before := b.Text("#course-picked")
	if !webtest.Eval[bool](b, `(() => { const r = document.querySelector("form[data-live] [name=release]"), d = new Date(r.value); d.setDate(d.getDate() + 21);
		r.value = d.toISOString().slice(0, 10); r.dispatchEvent(new Event("change", {bubbles: true})); return true })()`) {
		t.Fatal("no day of release to move")
	}
	for end := time.Now().Add(2 * time.Minute); b.Text("#course-picked") == before; time.Sleep(200 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the day was moved and nothing changed")
		}
	}
	settle("the plan of one's own")
	contains(t, b, "#course-picked", "Your own")
	b.Press("Accept this course")
	contains(t, b, "main", "The course it is on")
	l, err := s.Lot(ctx, lots[0])
	if err != nil || l.Course == nil {
		t.Fatalf("nothing was accepted (%v)", err)
	}
	c := l.Course.Payload.(*holdfast.CourseAccepted)
	if len(c.Doses) == 0 || c.Release <= c.Doses[len(c.Doses)-1] || !strings.HasPrefix(c.Promise.Model, "rostrum worm") {
		t.Errorf("accepted %+v", c)
	}
	for s.clock.now().Before(c.Doses[0].Date()) {
		s.clock.pass(1)
	}
	round(t, b, s)
	contains(t, b, "main", "dose 1 of")
}

// TestHowSoonTheLineMoves changes a plan by hand in a browser and tells how long it
// took until the line of the changed plan was drawn, and until it was sharp, with as
// many simulated lots as a desk works with. It fails only if a line never comes: a
// busy machine is no fault of the page.
//
//	go test ./internal/e2e -run TestHowSoonTheLineMoves -v
func TestHowSoonTheLineMoves(t *testing.T) {
	if testing.Short() {
		t.Skip("follows thousands of simulated lots")
	}
	b := webtest.New(t)
	s := open(t)
	ctx := t.Context()
	by := desk.Actor{Who: "Mara"}
	if _, err := s.SetTank(ctx, by, desk.TankForm{ID: "14", Use: "quarantine",
		Shape: holdfast.Shape{Form: "box", LengthCM: 60, WidthCM: 30, HeightCM: 35, FillCM: 30}}); err != nil {
		t.Fatal(err)
	}
	_, lots, err := s.Receive(ctx, by, desk.Arrival{Supplier: "Invented Farm", Boxes: 1,
		Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 120, Tank: "14"}}})
	if err != nil {
		t.Fatal(err)
	}
	server, err := web.New(web.Config{Desk: s.Desk})
	if err != nil {
		t.Fatal(err)
	}
	ts := httptest.NewServer(server)
	t.Cleanup(ts.Close)
	t.Cleanup(server.Stop)
	page := ts.URL + "/lots/" + lots[0]
	b.Look(webtest.Phone, webtest.Light)
	b.Go(ts.URL + "/who")
	b.Type("#name", "Mara")
	b.Send("main form button[type=submit]")
	s.clock.pass(1)
	look(t, b, page, 20, 2)

	settle := func(what string) {
		t.Helper()
		for end := time.Now().Add(5 * time.Minute); count(b, "[data-poll]") > 0; time.Sleep(50 * time.Millisecond) {
			if time.Now().After(end) {
				t.Fatalf("%s: still at work after five minutes", what)
			}
		}
	}
	load := func(what, url string) {
		t.Helper()
		b.Go(url)
		ms := webtest.Eval[float64](b, `performance.getEntriesByType("navigation")[0].responseStart - performance.getEntriesByType("navigation")[0].requestStart`)
		t.Logf("%s: the page came after %.0f ms and said: %.150s", what, ms, webtest.Eval[string](b, `document.querySelector("#course-all .read, .numbers")?.textContent ?? ""`))
	}
	load("the lot", page)
	began := time.Now()
	load("its course, for the first time", page+"/course")
	settle("the search")
	t.Logf("the whole search was over after %.1f s", time.Since(began).Seconds())
	load("its course, again", page+"/course")
	settle("the plan")
	for _, change := range []struct{ what, field, value string }{
		{"a day moved", "release", `(() => { const d = new Date(f.value); d.setDate(d.getDate() + 7); return d.toISOString().slice(0, 10) })()`},
		{"a pull skipped", "skip", `document.querySelector("form[data-live] [name=dose]").value`},
		{"the temperature changed", "temp", `"26"`},
	} {
		began := time.Now()
		ms := webtest.Eval[float64](b, `new Promise((done) => {
			const was = document.querySelector("#course-picked"), from = performance.now();
			const o = new MutationObserver(() => {
				const now = document.querySelector("#course-picked");
				if (now !== was && now.querySelector(".fore")) { o.disconnect(); requestAnimationFrame(() => done(performance.now() - from)); }
			});
			o.observe(document.body, {subtree: true, childList: true});
			const f = document.querySelector("form[data-live] [name=`+change.field+`]");
			f.value = `+change.value+`;
			f.dispatchEvent(new Event("change", {bubbles: true}));
		})`)
		first := webtest.Eval[string](b, `document.querySelector("#course-picked [role=status]")?.textContent ?? ""`)
		settle(change.what)
		t.Logf("%s: its line was drawn after %.0f ms (%s), sharp with its band after %.1f s", change.what, ms, first, time.Since(began).Seconds())
		contains(t, b, "#course-picked", "Your own", "likely clear")
	}
}
