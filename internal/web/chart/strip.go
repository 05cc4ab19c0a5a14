package chart

import (
	"html"

	"holdfast/internal/web/words"
)

// Strip is one lot's chance in a list. All strips of a list share the usual
// scale, so that one release line runs through all rows.
type Strip struct {
	// Chance with its band, 0 to 1; Low and High both nought mean no band.
	Chance, Low, High float64
	Line              float64
	// Guess: nobody has looked; the chance is what the supplier's past lots
	// say. Drawn open.
	Guess bool
	// Found: something was found in it. Drawn as a diamond.
	Found bool
}

func pct(x float64) string { return num(x*100) + "%" }

// stripGrid are the chances that get a dotted line.
var stripGrid = []scaleMark{{0.1, "1 in 10"}, {0.5, "1 in 2"}, {0.8, "4 in 5"}}

// SVG draws the strip; it fills the width and height it is given.
func (t Strip) SVG() string {
	s := &svg{}
	s.b.WriteString(`<svg class="cs" role="img" aria-label="` + html.EscapeString(t.words()) + `">`)
	at := func(p float64) string { return pct(usual.at(p)) }
	upright := func(class, x, y1, y2 string) {
		s.b.WriteString(`<line class="` + class + `" x1="` + x + `" x2="` + x + `" y1="` + y1 + `" y2="` + y2 + `"/>`)
	}
	for _, m := range stripGrid {
		upright("g", at(m.p), "0", "100%")
	}
	upright("gl", at(t.Line), "0", "100%")
	// A nested box puts the middle of the row at nought, whatever its height.
	s.b.WriteString(`<svg y="50%" overflow="visible">`)
	if t.Chance >= 0 && t.Chance <= 1 {
		if (Point{Low: t.Low, High: t.High}).band() && t.High > 0 {
			a, b := usual.at(t.Low), usual.at(t.High)
			s.b.WriteString(`<rect class="bd" x="` + pct(a) + `" width="` + pct(b-a) + `" y="-5" height="10"/>`)
		}
		s.b.WriteString(`<svg x="` + at(t.Chance) + `" overflow="visible">`)
		switch {
		case t.Found:
			s.diamond("low", 0, 0, 8)
		case t.Guess:
			s.b.WriteString(`<rect x="-3" y="-11" width="6" height="22" fill="none" stroke="currentColor" stroke-width="1.6" stroke-dasharray="3 2"/>`)
		default:
			s.rect("pt", -2, -12, 4, 24)
		}
		s.b.WriteString(`</svg>`)
	}
	s.b.WriteString(`</svg></svg>`)
	return s.b.String()
}

func (t Strip) words() string {
	if !(t.Chance >= 0 && t.Chance <= 1) {
		return "chance not known"
	}
	say := words.Percent(t.Chance)
	if (Point{Low: t.Low, High: t.High}).band() {
		say += ", between " + words.PercentRange(t.Low, t.High)
	}
	if t.Guess {
		say += ", nobody has looked"
	}
	if t.Chance >= t.Line {
		return say + ", above the release line"
	}
	return say + ", below the release line"
}

// StripScale is the head of a column of strips.
func StripScale(line float64) string {
	s := &svg{}
	s.b.WriteString(`<svg class="cs-scale" aria-hidden="true">`)
	put := func(class, words string, p float64, y string) {
		s.b.WriteString(`<text class="` + class + `" x="` + pct(usual.at(p)) + `" y="` + y + `" text-anchor="middle">` + html.EscapeString(words) + `</text>`)
	}
	for _, m := range stripGrid {
		// The line's own words need about a third of the width.
		if usual.at(line)-usual.at(m.p) > 0.17 || usual.at(m.p)-usual.at(line) > 0.17 {
			put("s", m.words, m.p, "31")
		}
	}
	put("bold", "release line", line, "12")
	put("bold", InWords(line), line, "31")
	s.b.WriteString(`</svg>`)
	return s.b.String()
}
