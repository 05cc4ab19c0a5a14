package web

import (
	"fmt"
	"html"
	"math"
	"strings"

	"holdfast/desk"
	"holdfast/internal/web/words"
)

// lettered is a mark with the letter by which the page speaks of it.
type lettered struct {
	desk.ReadMark
	letter string
}

// photoSVG draws a photograph, upright, with marks on it.
func photoSVG(p *desk.BenchPhoto, width int, marks []lettered, label string) string {
	t := turnedOf(p.Reading)
	w, h := t.size()
	var b strings.Builder
	fmt.Fprintf(&b, `<svg viewBox="0 0 %d %d" role="img" aria-label="%s" preserveAspectRatio="xMidYMid meet"><image href="%s" width="%d" height="%d" preserveAspectRatio="none"/>`,
		w, h, html.EscapeString(label), html.EscapeString(pictureURL(p.SHA256, width)), w, h)
	for _, m := range marks {
		x, y, mw, mh := t.box(m.X, m.Y, m.W, m.H)
		bracket(&b, x, y, mw, mh, m.letter, float64(max(w, h)))
	}
	b.WriteString(`</svg>`)
	return b.String()
}

// bracket draws the four corners of a box and its letter, readable on any
// picture: ink on a light edge. far is the size of the picture.
func bracket(b *strings.Builder, x, y, w, h float64, letter string, far float64) {
	pad := 0.008 * far
	x, y, w, h = x-pad, y-pad, w+2*pad, h+2*pad
	c := 0.28 * min(w, h)
	path := fmt.Sprintf("M%.1f %.1fv%.1fh%.1fM%.1f %.1fh%.1fv%.1fM%.1f %.1fv%.1fh%.1fM%.1f %.1fh%.1fv%.1f",
		x, y+c, -c, c, x+w-c, y, c, c, x+w, y+h-c, c, -c, x+c, y+h, -c, -c)
	size := 0.036 * far
	fmt.Fprintf(b, `<g class="mk"><path class="under" d="%s"/><path d="%s"/>`, path, path)
	if letter != "" {
		top := y - 1.25*size
		if top < 0 {
			top = y + h + 0.2*size
		}
		fmt.Fprintf(b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f"/><text x="%.1f" y="%.1f" font-size="%.1f" text-anchor="middle">%s</text>`,
			x, top, 1.1*size*float64(len(letter)), 1.15*size, x+0.55*size*float64(len(letter)), top+0.92*size, size, html.EscapeString(letter))
	}
	b.WriteString(`</g>`)
}

// eyeOf cuts the eye and rostrum out of a picture of the whole photograph, at
// whatever size it has.
func eyeOf(r *desk.Reading, href, label string) string {
	t, rad := turnedOf(r), discMM*r.PxPerMM
	x, y, w, h := t.box(r.Eye.X-rad, r.Eye.Y-rad, 2*rad, 2*rad)
	pw, ph := t.size()
	return fmt.Sprintf(`<svg viewBox="%.1f %.1f %.1f %.1f" role="img" aria-label="%s"><image href="%s" width="%d" height="%d" preserveAspectRatio="none"/></svg>`,
		x, y, w, h, html.EscapeString(label), html.EscapeString(href), pw, ph)
}

// near is a part of a photograph, enlarged, with a scale below it.
type near struct {
	p     *desk.BenchPhoto
	at    desk.Spot
	rx    float64 // half its width and height in stored pixels, before turning
	ry    float64
	disc  bool
	label string
	marks []lettered
}

// svg draws it. Beyond the edge of the photograph it is dark.
func (n near) svg() string {
	r := n.p.Reading
	t := turnedOf(r)
	x, y, w, h := t.box(n.at.X-n.rx, n.at.Y-n.ry, 2*n.rx, 2*n.ry)
	crop := within(r, n.at.X, n.at.Y, n.rx, n.ry)
	var b strings.Builder
	bar := 0.13 * h
	id := fmt.Sprintf("c%s-%.0f-%.0f", n.p.SHA256[:8], n.at.X, n.at.Y)
	fmt.Fprintf(&b, `<svg class="near" viewBox="0 0 %.1f %.1f" role="img" aria-label="%s"><defs><clipPath id="%s">`, w, h+bar, html.EscapeString(n.label), id)
	if n.disc {
		fmt.Fprintf(&b, `<circle cx="%.1f" cy="%.1f" r="%.1f"/>`, w/2, h/2, min(w, h)/2)
	} else {
		fmt.Fprintf(&b, `<rect width="%.1f" height="%.1f"/>`, w, h)
	}
	fmt.Fprintf(&b, `</clipPath></defs><g clip-path="url(#%s)"><rect class="dark" width="%.1f" height="%.1f"/>`, id, w, h)
	if !crop.Empty() {
		cx, cy, cw, ch := t.box(float64(crop.Min.X), float64(crop.Min.Y), float64(crop.Dx()), float64(crop.Dy()))
		fmt.Fprintf(&b, `<image href="%s" x="%.1f" y="%.1f" width="%.1f" height="%.1f" preserveAspectRatio="none"/>`,
			html.EscapeString(cropURL(n.p.SHA256, crop, 480, true)), cx-x, cy-y, cw, ch)
	}
	for _, m := range n.marks {
		mx, my, mw, mh := t.box(m.X, m.Y, m.W, m.H)
		if mx+mw < x || my+mh < y || mx > x+w || my > y+h {
			continue
		}
		bracket(&b, mx-x, my-y, mw, mh, m.letter, w)
	}
	b.WriteString(`</g>`)
	if r.PxPerMM > 0 {
		millimetres(&b, w, h, bar, r.PxPerMM)
	}
	b.WriteString(`</svg>`)
	return b.String()
}

// millimetres draws the neat-line below a picture: bars of half a millimetre,
// or of what is round, and how far they reach.
func millimetres(b *strings.Builder, w, y, bar, pxPerMM float64) {
	step := 0.5
	for step*pxPerMM > w/4 {
		step /= 2
	}
	for step*pxPerMM < w/16 {
		step *= 2
	}
	n := int(math.Floor(0.98 * w / (step * pxPerMM)))
	if n < 1 {
		return
	}
	high := 0.28 * bar
	fmt.Fprintf(b, `<g class="mm"><rect x="0" y="%.1f" width="%.1f" height="%.1f" class="frame"/>`, y+0.14*bar, float64(n)*step*pxPerMM, high)
	for i := 0; i < n; i += 2 {
		fmt.Fprintf(b, `<rect x="%.1f" y="%.1f" width="%.1f" height="%.1f"/>`, float64(i)*step*pxPerMM, y+0.14*bar, step*pxPerMM, high)
	}
	fmt.Fprintf(b, `<text x="%.1f" y="%.1f" font-size="%.1f" text-anchor="end">%s mm</text></g>`,
		float64(n)*step*pxPerMM, y+0.96*bar, 0.5*bar, words.Number(float64(n)*step, 2))
}

// tally is the neat-line of the animals of a look, a class for each: whether
// it was judged, carries something, is on the page.
func tally(b *desk.Bench, who string, now int) []string {
	if len(b.Animals) > 200 {
		return nil
	}
	var out []string
	for _, a := range b.Animals {
		var class []string
		if said := a.Said[who]; said.Done {
			class = append(class, "did")
			if carries(said) {
				class = append(class, "with")
			}
		}
		if a.No == now {
			class = append(class, "now")
		}
		out = append(out, strings.Join(class, " "))
	}
	return out
}

// carries reports whether anything but pigment was found.
func carries(said desk.Said) bool {
	m, _ := saidState(said, true)
	return m.Hot()
}
