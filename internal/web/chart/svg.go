package chart

import (
	"html"
	"math"
	"strconv"
	"strings"
)

// svg collects markup. Its methods write one element each.
type svg struct {
	b strings.Builder
}

// num writes a coordinate with at most one decimal. What is not finite becomes
// nought: a wrong mark is found, broken markup takes the page with it.
func num(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "0"
	}
	s := strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64)
	if s == "-0" {
		return "0"
	}
	return s
}

func (s *svg) open(class string, w, h float64, label string) {
	s.b.WriteString(`<svg class="chart ` + class + `" viewBox="0 0 ` + num(w) + ` ` + num(h) + `" role="img" aria-label="` + html.EscapeString(label) + `">`)
}

func (s *svg) close() string {
	s.b.WriteString("</svg>")
	return s.b.String()
}

func (s *svg) path(class, d string) {
	if d != "" {
		s.b.WriteString(`<path class="` + class + `" d="` + d + `"/>`)
	}
}

func (s *svg) line(class string, x1, y1, x2, y2 float64) {
	s.path(class, "M"+num(x1)+" "+num(y1)+"L"+num(x2)+" "+num(y2))
}

func (s *svg) rect(class string, x, y, w, h float64) {
	s.b.WriteString(`<rect class="` + class + `" x="` + num(x) + `" y="` + num(y) + `" width="` + num(w) + `" height="` + num(h) + `"/>`)
}

func (s *svg) circle(class string, x, y, r float64) {
	s.b.WriteString(`<circle class="` + class + `" cx="` + num(x) + `" cy="` + num(y) + `" r="` + num(r) + `"/>`)
}

func (s *svg) diamond(class string, x, y, r float64) {
	s.path(class, "M"+num(x)+" "+num(y-r)+"l"+num(r)+" "+num(r)+"l"+num(-r)+" "+num(r)+"l"+num(-r)+" "+num(-r)+"z")
}

// text writes words; anchor is "start", "middle" or "end".
func (s *svg) text(class string, x, y float64, anchor, words string) {
	s.b.WriteString(`<text`)
	if class != "" {
		s.b.WriteString(` class="` + class + `"`)
	}
	s.b.WriteString(` x="` + num(x) + `" y="` + num(y) + `"`)
	if anchor != "start" {
		s.b.WriteString(` text-anchor="` + anchor + `"`)
	}
	s.b.WriteString(`>` + html.EscapeString(words) + `</text>`)
}

// xy is a place in the drawing.
type xy struct{ x, y float64 }

// poly is path data through points.
func poly(points []xy) string {
	if len(points) < 2 {
		return ""
	}
	var b strings.Builder
	for i, p := range points {
		if i == 0 {
			b.WriteByte('M')
		} else {
			b.WriteByte('L')
		}
		b.WriteString(num(p.x) + " " + num(p.y))
	}
	return b.String()
}
