package webtest

import (
	"fmt"
	"strings"
)

// fault is what axe-core reports of one rule.
type fault struct {
	ID     string   `json:"id"`
	Impact string   `json:"impact"`
	Help   string   `json:"help"`
	Where  []string `json:"where"`
}

// Axe fails the test for every serious or critical fault that axe-core finds
// on the page as it stands (WCAG 2.0 to 2.2, A and AA, and best practices).
func (b *Browser) Axe(what string) {
	b.t.Helper()
	Eval[bool](b, axe+"; true")
	b.axe(what, `{resultTypes: ["violations"]}`)
}

func (b *Browser) axe(what, options string) {
	b.t.Helper()
	faults := Eval[[]fault](b, `axe.run(document, `+options+`).then((r) => r.violations
		.filter((v) => v.impact === "serious" || v.impact === "critical")
		.map((v) => ({id: v.id, impact: v.impact, help: v.help, where: v.nodes.slice(0, 5).map((n) => n.html.slice(0, 160) + " " + (n.failureSummary || "").split("\n").slice(1, 2).join(""))})))`)
	for _, f := range faults {
		b.t.Errorf("%s: axe %s (%s): %s\n\t%s", what, f.ID, f.Impact, f.Help, strings.Join(f.Where, "\n\t"))
	}
}

// axeAsIt is what axe-core calls the rules that the colours and the layout can
// change; the others read markup only.
const axeAsIt = `["color-contrast", "target-size", "scrollable-region-focusable", "link-in-text-block"]`

// AsItStands looks at the page shown, without loading it again, at both sizes
// in light and dark: axe-core with every rule once, and in each of the four
// with the rules that size and colours bear on; and sideways scrolling. What is
// folded away is opened, and bars that stick to the screen lie where they
// belong: what they cover can be scrolled from under them.
func (b *Browser) AsItStands(what string) {
	b.t.Helper()
	Eval[bool](b, `(() => {
		for (const d of document.querySelectorAll("details")) d.open = true;
		for (const e of document.querySelectorAll("main *")) if (getComputedStyle(e).position === "sticky") e.style.position = "static";
		return true })()`)
	Eval[bool](b, "if (!window.axe) {"+axe+"}; true")
	for i, size := range []Size{Phone, Laptop} {
		for j, scheme := range []Scheme{Light, Dark} {
			name := fmt.Sprintf("%s-%s-%s", what, size.Name, scheme)
			b.Look(size, scheme)
			options := `{resultTypes: ["violations"], runOnly: {type: "rule", values: ` + axeAsIt + `}}`
			if i+j == 0 {
				options = `{resultTypes: ["violations"]}`
			}
			b.axe(name, options)
			b.NoSideScroll(name)
		}
	}
}

// NoSideScroll fails the test if the page is wider than the screen.
func (b *Browser) NoSideScroll(what string) {
	b.t.Helper()
	if by := Eval[float64](b, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); by > 0 {
		culprits := Eval[[]string](b, `[...document.querySelectorAll("body *")]
			.filter((e) => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1 && !e.closest(".scroll,.sieve"))
			.slice(0, 5).map((e) => e.outerHTML.slice(0, 120))`)
		b.t.Errorf("%s: scrolls sideways by %v px: %s", what, by, strings.Join(culprits, "\n\t"))
	}
}

// Targets fails the test for every link outside running text, button and field
// that is less than 44 px high or 24 px wide.
func (b *Browser) Targets(what string) {
	b.t.Helper()
	small := Eval[[]string](b, `[...document.querySelectorAll("a,button,input:not([type=hidden]),select,textarea,summary")]
		.filter((e) => {
			if (e.classList.contains("hide") || e.closest("[hidden]") || e.classList.contains("skip")) return false;
			if (e.tagName === "A" && getComputedStyle(e).display === "inline") return false;
			// What is ticked by its label is as big as the label.
			const r = (e.matches("[type=checkbox],[type=radio]") && e.closest("label") || e).getBoundingClientRect();
			return r.width > 0 && (r.height < 44 || r.width < 24);
		}).map((e) => e.outerHTML.slice(0, 110) + " is " + Math.round(e.getBoundingClientRect().width) + "x" + Math.round(e.getBoundingClientRect().height))`)
	for _, s := range small {
		b.t.Errorf("%s: too small to press: %s", what, s)
	}
}

// Quiet fails the test if the console complained since the last look at it.
func (b *Browser) Quiet(what string) {
	b.t.Helper()
	for _, c := range b.Complaints() {
		b.t.Errorf("%s: console: %s", what, c)
	}
}

// Everywhere looks at one address at both sizes in light and dark, runs check
// (may be nil), axe, the scrolling and target checks, and writes a screenshot
// of each into dir if it is not empty.
func (b *Browser) Everywhere(url, dir, name string, check func()) {
	b.t.Helper()
	for _, size := range []Size{Phone, Laptop} {
		for _, scheme := range []Scheme{Light, Dark} {
			what := fmt.Sprintf("%s-%s-%s", name, size.Name, scheme)
			b.Look(size, scheme)
			b.Go(url)
			if check != nil {
				check()
			}
			b.Axe(what)
			b.NoSideScroll(what)
			b.Targets(what)
			b.Quiet(what)
			if dir != "" {
				b.Shot(dir, what, false)
			}
		}
	}
	b.Look(Small, Light)
	b.Go(url)
	b.NoSideScroll(name + "-small")
}
