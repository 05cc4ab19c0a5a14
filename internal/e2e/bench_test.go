package e2e

import (
	"fmt"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/webtest"
)

// Photographs from a card, put to two animals, judged by keys, saved: the chance
// of the lot moves. By hand in a browser, on a phone.
func TestFromCardToChance(t *testing.T) {
	b := webtest.New(t)
	s := open(t)
	ctx := t.Context()
	_, lots, err := s.Receive(ctx, desk.Actor{Who: "Mara"}, desk.Arrival{Supplier: "Invented Farm", Lines: []desk.ArrivalLine{{Strain: "Red cherry", Declared: 60}}})
	if err != nil {
		t.Fatal(err)
	}
	lot := lots[0]
	b.Look(webtest.Phone, webtest.Light)
	b.Go(s.url + "/who")
	b.Type("#name", "Mara")
	b.Send("main form button[type=submit]")
	b.Go(s.url + "/lots/" + lot)
	b.Press("Bench")
	contains(t, b, "main", "No photographs of this lot yet")
	// Sent by the script, a few at a time; the page that follows is the bench.
	for i, no := range []string{"260", "204", "212"} {
		if fold := "#add-photos"; !webtest.Eval[bool](b, `(() => { const d = document.querySelector("`+fold+`").closest("details"); if (d) d.open = true; return true })()`) {
			t.Fatal("no form to add photographs")
		}
		path, err := filepath.Abs("../demo/photographs/drawn-" + no + ".jpg")
		if err != nil {
			t.Fatal(err)
		}
		b.Upload("#files", path)
		b.Click("#add-photos .b.main")
		wait(t, b, fmt.Sprintf(`document.readyState === "complete" && /\b%d photographs?\b/.test(document.querySelector("main").innerText)`, i+1))
	}
	contains(t, b, "main", "3 photographs")
	day := benchDay(t, s, lot)
	b.Go(s.url + "/lots/" + lot + "/bench/scale?day=" + day)
	b.Type("#by-number [name=px_per_mm]", "80")
	b.Send("#by-number button[value=direct]")
	s.read(t)
	b.Go(s.url + "/lots/" + lot + "/bench")
	// 260 is the sharpest: its left side and the right one of 204 are animal 1.
	press := func(name, side string) {
		t.Helper()
		b.Send(`.frames li:has(img[alt="` + name + `"]) button[value=` + side + `]`)
	}
	press("drawn-260.jpg", "left")
	press("drawn-204.jpg", "right")
	b.Press("Animal 2")
	press("drawn-212.jpg", "left")
	contains(t, b, "#animals", "animal")
	if n := count(b, ".bench-animals > li"); n != 2 {
		t.Fatalf("%d animals, want 2: %s", n, b.Text("main"))
	}
	b.Press("Judge animal 1")
	if count(b, ".nears svg image") < 3 || count(b, ".mk") != 0 {
		t.Errorf("%d enlargements and %d marks before anything was said", count(b, ".nears svg image"), count(b, ".mk"))
	}
	if got := webtest.Eval[float64](b, `[...document.querySelectorAll("svg image")].length`); got == 0 {
		t.Error("no photograph on the page of an animal")
	}
	b.Key("9") // nothing on the sides seen
	b.Key("n")
	wait(t, b, `location.hash === "#marks" || document.querySelector("#marks") !== null`)
	contains(t, b, "#marks", "What the desk marked")
	b.Axe("animal judged")
	b.NoSideScroll("animal judged")
	b.Press("Keep, on to animal 2 n")
	b.Key("3") // a row of eggs
	b.Key("3") // taken back
	b.Key("3")
	b.Press("Said all: show the marks n")
	b.Press("Keep n")
	contains(t, b, "#save", "2 of 2 animals judged")
	b.Click("#save-look label:has([value=random])")
	b.Send("#save-look .b.main")
	contains(t, b, "#strips", "Recorded", "Looked at 2")
	contains(t, b, "main", "Rostrum worm found", "seen on 1 of")
	v, err := s.View(ctx, lot)
	if err != nil {
		t.Fatal(err)
	}
	if f := v.Assessed[0].Figure; f.Looked != 2 || f.Positive != 1 {
		t.Errorf("the chance rests on %d looked at, %d positive", f.Looked, f.Positive)
	}
	b.Press("Undo")
	if v, err = s.View(ctx, lot); err != nil || v.Assessed[0].Figure.Looked != 0 {
		t.Errorf("after the undo %d are looked at, %v", v.Assessed[0].Figure.Looked, err)
	}
	b.Quiet("bench")
}

// What has been read is shown while the rest of a card is still being sent, the
// sharpest first; the page of the whole follows by itself.
func TestShownWhileSending(t *testing.T) {
	b := webtest.New(t)
	s := open(t)
	_, lots, err := s.Receive(t.Context(), desk.Actor{Who: "Mara"}, desk.Arrival{Supplier: "Invented Farm", Lines: []desk.ArrivalLine{{Strain: "Red cherry", Declared: 60}}})
	if err != nil {
		t.Fatal(err)
	}
	b.Look(webtest.Phone, webtest.Light)
	b.Go(s.url + "/lots/" + lots[0] + "/bench")
	var paths []string
	for _, no := range []string{"204", "260", "212"} {
		path, err := filepath.Abs("../demo/photographs/drawn-" + no + ".jpg")
		if err != nil {
			t.Fatal(err)
		}
		paths = append(paths, path)
	}
	// The second part waits on the line until it is let go.
	webtest.Eval[bool](b, `(() => { const plain = window.fetch; let parts = 0;
		window.fetch = async (to, how) => { if (how && how.method === "POST" && ++parts > 1) await new Promise((go) => { window.letGo = go; }); return plain(to, how); };
		return true })()`)
	b.Upload("#files", paths...)
	b.Click("#add-photos .b.main")
	wait(t, b, `document.querySelectorAll("#loose .frames > li").length === 2 && window.letGo`)
	contains(t, b, "main", "2 of 3 files sent", "Sent so far")
	s.read(t)
	wait(t, b, `document.querySelector("#loose h2").innerText.startsWith("Read so far")`)
	if first := webtest.Eval[string](b, `document.querySelector("#loose .frames img").alt`); first != "drawn-260.jpg" {
		t.Errorf("%s stands first, not the sharpest", first)
	}
	if n := count(b, "#loose form") + count(b, "#loose a:not([target=_blank])"); n != 0 {
		t.Errorf("%d forms and links would leave the page that is sending", n)
	}
	b.Axe("while sending")
	b.NoSideScroll("while sending")
	webtest.Eval[bool](b, `(window.letGo(), true)`)
	wait(t, b, `location.search.includes("added=3") && document.readyState === "complete"`)
	contains(t, b, "main", "3 photographs", "2 of 3 photographs read")
	// The page follows the reading, and its form still sends a few at a time.
	s.read(t)
	wait(t, b, `!document.querySelector("[data-reading]") && document.querySelectorAll("#loose .frames > li").length === 3`)
	path, err := filepath.Abs("../demo/photographs/drawn-214.jpg")
	if err != nil {
		t.Fatal(err)
	}
	webtest.Eval[bool](b, `document.querySelector("#add-photos").closest("details").open = true`)
	b.Upload("#files", path, paths[0])
	b.Click("#add-photos .b.main")
	wait(t, b, `/1 added, 1 was here already/.test((document.querySelector("[data-sent]") || {}).innerText)`)
	// What is dropped anywhere on the page is sent too.
	b.Go(s.url + "/lots/" + lots[0] + "/bench")
	webtest.Eval[bool](b, `new Promise((done) => { const c = document.createElement("canvas"); c.width = c.height = 64; c.getContext("2d").fillRect(8, 8, 20, 30);
		c.toBlob((png) => { const d = new DataTransfer(); d.items.add(new File([png], "dropped.png", {type: "image/png"}));
			document.querySelector("h1").dispatchEvent(new DragEvent("drop", {bubbles: true, cancelable: true, dataTransfer: d})); done(true); }, "image/png"); })`)
	wait(t, b, `location.search.includes("added=1") && document.readyState === "complete"`)
	contains(t, b, "main", "5 photographs")
	b.Quiet("sending")
}

// The glass enlarges, moves, and measures by two taps.
func TestGlassMeasures(t *testing.T) {
	w := newWorld(t)
	b := webtest.New(t)
	for _, size := range []webtest.Size{webtest.Phone, webtest.Laptop} {
		b.Look(size, webtest.Dark)
		b.Go(w.url + "/lots/" + w.bench + "/bench/photo/" + w.shot)
		tap := func(x, y float64) {
			t.Helper()
			webtest.Eval[bool](b, `((fx, fy) => { const g = document.querySelector("[data-glass]"), r = g.getBoundingClientRect();
				const at = {bubbles: true, pointerId: 1, clientX: r.left + r.width * fx, clientY: r.top + r.height * fy};
				g.setPointerCapture = () => {};
				g.dispatchEvent(new PointerEvent("pointerdown", at)); g.dispatchEvent(new PointerEvent("pointerup", at)); return true })(`+num(x)+`, `+num(y)+`)`)
		}
		tap(0.5, 0.5)
		b.Press("Larger")
		wait(t, b, `document.querySelector(".slide").style.transform.includes("scale(1.6)")`)
		tap(0.5, 0.5) // the middle stays the middle, however large
		near := webtest.Eval[bool](b, `(() => { const e = document.querySelector("#taps").elements, g = document.querySelector("[data-glass]").dataset;
			return Math.abs(e.ax.value - g.w / 2) < 3 && Math.abs(e.ay.value - g.h / 2) < 3 && Math.abs(e.bx.value - e.ax.value) < 3 })()`)
		if !near {
			t.Errorf("%s: a tap in the middle is not the middle of the photograph", size.Name)
		}
		tap(0.4, 0.5)
		b.Send("#taps button[type=submit]")
		contains(t, b, "#measure", "mm.")
		b.Quiet("glass")
	}
}

func num(x float64) string { return strconv.FormatFloat(x, 'f', 2, 64) }

// wait asks the page again and again until an expression is true.
func wait(t *testing.T, b *webtest.Browser, what string) {
	t.Helper()
	for range 100 {
		time.Sleep(100 * time.Millisecond)
		if webtest.Eval[bool](b, "Boolean("+what+")") {
			return
		}
	}
	t.Fatalf("waited in vain for %s: %s", what, b.Text("main"))
}

func benchDay(t *testing.T, s *shop, lot string) string {
	t.Helper()
	b, err := s.Bench(t.Context(), lot, holdfast.Day(0))
	if err != nil {
		t.Fatal(err)
	}
	return b.Day.String()
}
