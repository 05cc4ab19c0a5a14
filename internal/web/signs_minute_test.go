package web_test

import (
	"fmt"
	"math"
	"os"
	"testing"

	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
)

// What a person with wet hands takes, in seconds. A press with the pause before
// it follows the keystroke-level model (Card, Moran and Newell 1983: 1.35 s to
// make up one's mind, 1.1 s to point and press; from memory); a swipe of three
// quarters of a screen a second and a half is a guess; reading 200 words a
// minute is slower than the 238 that Brysbaert 2019 gives for silent reading
// (from memory).
const (
	press    = 1.35 + 1.1
	swipe    = 1.5
	wordRead = 60.0 / 200
	// looking at the animal on the photograph or in the tube before each answer. A
	// guess.
	lookAgain = 4.0
)

// walkers count what a new user does on the way.
type walker struct {
	b                      *webtest.Browser
	touches, swipes, words int
	seconds, longest       float64
	where                  string
	// read so far on the page that shows, in words and swipes; the head is read
	// once and not again on every page.
	page  [2]int
	heads int
}

// read counts the words that stand on the page up to the element with these
// words, and the swipes until it is on the screen above what sticks to its foot:
// a new user reads all of it, but nothing twice on one page.
func (w *walker) read(what string) {
	got := webtest.Eval[[]float64](w.b, fmt.Sprintf(`(() => {
		const said = (e) => (e.innerText || "").replace(/\s+/g, " ").trim();
		const all = [...document.querySelectorAll("button,a,summary,label,p,h2")].filter((e) => said(e).includes(%q) && e.getClientRects().length);
		if (!all.length) return [-1, 0];
		const to = all[0], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
		let words = 0;
		for (let n = walk.nextNode(); n; n = walk.nextNode()) {
			if (to.compareDocumentPosition(n) & Node.DOCUMENT_POSITION_FOLLOWING && !to.contains(n)) break;
			const e = n.parentElement;
			if (e.closest("script,style,.hide,.skip,svg,.foot" + (%d ? ",.head" : "")) || !e.getClientRects().length) continue;
			words += (n.textContent.match(/\S+/g) || []).length;
		}
		const stuck = document.querySelector(".bar") ? 74 : 0, below = to.getBoundingClientRect().bottom - (innerHeight - stuck);
		const swipes = to.closest(".bar") ? 0 : Math.max(0, Math.ceil(below / (0.75 * innerHeight)));
		return [words, swipes];
	})()`, what, w.heads))
	words, swipes := int(got[0])-w.page[0], int(got[1])-w.page[1]
	if got[0] < 0 {
		w.where = "nothing says " + what
		return
	}
	w.page, w.heads = [2]int{int(got[0]), int(got[1])}, w.heads+1
	took := float64(words)*wordRead + float64(swipes)*swipe
	w.words, w.swipes, w.seconds = w.words+words, w.swipes+swipes, w.seconds+took
	w.longest = math.Max(w.longest, took)
}

func (w *walker) press(what string) {
	before := w.b.Path()
	w.b.Press(what)
	if w.b.Path() != before {
		w.page = [2]int{}
	}
	w.touches++
	w.seconds += press
}

// From "white thing between the eyes" to a sensible next step, as a new user
// with a phone in one hand and the photograph or tube in the other, from the page
// that the desk opens with.
func TestAMinuteFromAWhiteThingToANextStep(t *testing.T) {
	d, _ := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	b := webtest.New(t)
	b.Look(webtest.Phone, webtest.Light)
	b.Go(v.url + "/round")
	w := &walker{b: b}
	answer := func(what string) {
		w.seconds += lookAgain
		w.press(what)
	}
	w.read("Seen something odd?")
	w.press("Seen something odd?")
	w.read("on the rostrum or between the eyes")
	answer("1, 2 on the rostrum or between the eyes")
	w.press("Weigh it")
	w.read("Until you know")
	if w.where != "" {
		t.Fatal(w.where)
	}
	step := w.seconds
	if dir := os.Getenv("HOLDFAST_SHOTS"); dir != "" {
		b.Shot(dir, "minute-first", false)
	}
	t.Logf("what to do until one knows: %d presses, %d swipes, %d words, about %.0f s", w.touches, w.swipes, w.words, w.seconds)
	w.read("a smooth finger or stick")
	answer("a smooth finger or stick")
	w.press("Weigh again")
	w.read("Until you know")
	if w.where != "" {
		t.Fatal(w.where)
	}
	t.Logf("and one more look, weighed: %d presses, %d swipes, %d words, about %.0f s; the longest stretch %.0f s", w.touches, w.swipes, w.words, w.seconds, w.longest)
	if dir := os.Getenv("HOLDFAST_SHOTS"); dir != "" {
		b.Shot(dir, "minute-second", false)
	}
	if step > 60 {
		t.Errorf("a sensible next step takes %.0f s", step)
	}
	if got := b.Text(".suspects h3"); got == "" || got[:12] != "Rostrum worm" {
		t.Errorf("%q leads", got)
	}
}
