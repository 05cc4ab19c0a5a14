package drawing

import (
	"encoding/xml"
	"fmt"
	"math"
	"strings"
)

// unitsPerMM is the scale of the animal.
const unitsPerMM = 20

// Size of a drawing and of the strip with the millimetre bar below it; one of
// the whole animal is lower.
const (
	width     = 480
	fullSheet = 400
	lowSheet  = 360
	strip     = 52
)

// letter is the size of labels: 16 px when the drawing fills a phone.
const letter = 20

// Box is where a label stands.
type Box struct{ X, Y, W, H float64 }

// Drawing is one finished drawing.
type Drawing struct {
	Name, Title, Desc string
	// SVG is a whole element, ready to stand inside a page.
	SVG string
	// Small is the same without words and bar, hidden from readers of the page:
	// for a picture beside its name.
	Small string
	// Labels are the boxes of all words, for checking that none overlap.
	Labels []Box
	// MM are the lengths in millimetres of the things shown, by id.
	MM map[string]float64
	// Height in the units of the view box, which is 480 wide.
	Height float64
	// Bar is the length of the scale bar in millimetres, 0 without one.
	Bar float64
}

// sheet is a drawing being made.
type sheet struct {
	d          Drawing
	body       strings.Builder // inside the window, animal units
	over       strings.Builder // on top, sheet units
	x, y, zoom float64         // left top of the window, sheet units per animal unit
	height     float64         // of the sheet
}

// look sets the window: its left top corner in animal units and how many
// animal units are seen across.
func (s *sheet) look(x, y, across float64) {
	s.x, s.y, s.zoom = x, y, width/across
}

// at turns a point of the animal into one of the sheet.
func (s *sheet) at(x, y float64) (float64, float64) {
	return (x - s.x) * s.zoom, (y - s.y) * s.zoom
}

// line widths of the sheet, from hair to heavy.
const (
	hair  = 1.2
	thin  = 1.8
	thick = 2.8
)

// paint is how a shape is drawn.
type paint struct {
	width   float64 // of the line, sheet units; 0 for none
	ink     string  // colour of line and tint; empty is currentColor
	tint    float64 // opacity of a fill in ink, 0 for none
	cover   bool    // hide what lies below
	dash    string
	opacity float64 // of the line; 0 is full
}

const mark = "var(--mark,currentColor)"

func outline(w float64) paint { return paint{width: w} }
func marked(w, tint float64) paint {
	return paint{width: w, ink: mark, tint: tint, cover: true}
}
func (p paint) dashed(d string) paint  { p.dash = d; return p }
func (p paint) faint(o float64) paint  { p.opacity = o; return p }
func (p paint) solid() paint           { p.cover = true; return p }
func (p paint) tinted(t float64) paint { p.tint = t; return p }

// attributes of a shape in the window; scale is that of the shape's own group.
func (s *sheet) attributes(p paint, scale float64) string {
	ink := p.ink
	if ink == "" {
		ink = "currentColor"
	}
	a := ` fill="none"`
	if p.tint > 0 {
		a = fmt.Sprintf(` fill="%s" fill-opacity="%s"`, ink, num(p.tint))
	}
	if p.width > 0 {
		a += fmt.Sprintf(` stroke="%s" stroke-width="%s" stroke-linejoin="round" stroke-linecap="round"`, ink, num(p.width/s.zoom/scale))
		if p.dash != "" {
			var parts []string
			for f := range strings.FieldsSeq(p.dash) {
				var v float64
				fmt.Sscan(f, &v)
				parts = append(parts, num(v/s.zoom/scale))
			}
			a += fmt.Sprintf(` stroke-dasharray="%s"`, strings.Join(parts, " "))
		}
		if p.opacity > 0 {
			a += fmt.Sprintf(` stroke-opacity="%s"`, num(p.opacity))
		}
	}
	return a
}

// path draws a path of the animal.
func (s *sheet) path(p paint, d string) { s.pathIn(p, d, 1) }

func (s *sheet) pathIn(p paint, d string, scale float64) {
	if p.cover {
		fmt.Fprintf(&s.body, `<path d="%s" fill="var(--sheet,Canvas)"/>`, d)
	}
	fmt.Fprintf(&s.body, `<path d="%s"%s/>`, d, s.attributes(p, scale))
}

// disc draws an ellipse of the animal.
func (s *sheet) disc(p paint, x, y, rx, ry float64) {
	s.path(p, ellipse(x, y, rx, ry, 0))
}

// ellipse is a path turned by degrees.
func ellipse(x, y, rx, ry, turn float64) string {
	sin, cos := math.Sincos(turn * math.Pi / 180)
	x1, y1 := x-rx*cos, y-rx*sin
	x2, y2 := x+rx*cos, y+rx*sin
	return fmt.Sprintf("M%s,%s A%s,%s %s 1 1 %s,%s A%s,%s %s 1 1 %s,%s Z",
		num(x1), num(y1), num(rx), num(ry), num(turn), num(x2), num(y2), num(rx), num(ry), num(turn), num(x1), num(y1))
}

// group moves, turns (degrees) and scales what draw adds.
func (s *sheet) group(x, y, turn, scale float64, draw func(scale float64)) {
	fmt.Fprintf(&s.body, `<g transform="translate(%s %s) rotate(%s) scale(%s)">`, num(x), num(y), num(turn), num(scale))
	draw(scale)
	s.body.WriteString(`</g>`)
}

// label writes words at a place of the sheet; anchor is "start", "middle" or
// "end". The ground behind them is cleared.
func (s *sheet) label(x, y float64, anchor, words string) {
	box := textBox(x, y, anchor, words, letter)
	s.d.Labels = append(s.d.Labels, box)
	fmt.Fprintf(&s.over, `<rect x="%s" y="%s" width="%s" height="%s" rx="3" fill="var(--sheet,Canvas)"/>`, num(box.X), num(box.Y), num(box.W), num(box.H))
	fmt.Fprintf(&s.over, `<text x="%s" y="%s" text-anchor="%s" font-size="%d" fill="currentColor">%s</text>`, num(x), num(y), anchor, letter, escape(words))
}

// point leads from a label's place (sheet) to a place of the animal and writes
// the label.
func (s *sheet) point(x, y float64, anchor, words string, ax, ay float64) {
	tx, ty := s.at(ax, ay)
	box := textBox(x, y, anchor, words, letter)
	fx := min(max(tx, box.X+4), box.X+box.W-4)
	fy := box.Y + box.H
	if ty < box.Y+box.H/2 {
		fy = box.Y
	}
	fmt.Fprintf(&s.over, `<path d="M%s,%s L%s,%s" fill="none" stroke="currentColor" stroke-width="%s"/><circle cx="%s" cy="%s" r="3" fill="currentColor"/>`,
		num(fx), num(fy), num(tx), num(ty), num(hair), num(tx), num(ty))
	s.label(x, y, anchor, words)
}

// textBox estimates where words stand: 0.55 of the size a letter, generous for
// the fonts in use.
func textBox(x, y float64, anchor, words string, size float64) Box {
	w := float64(len([]rune(words)))*size*0.55 + 8
	left := x - 4
	switch anchor {
	case "middle":
		left = x - w/2
	case "end":
		left = x - w + 4
	}
	return Box{left, y - size*0.85, w, size * 1.15}
}

// shows records the length of what is shown, given in animal units.
func (s *sheet) shows(id string, units float64) { s.d.MM[id] = units / unitsPerMM }

// bar draws the scale bar: alternating pieces, as on the edge of a chart.
func (s *sheet) bar(mm float64) {
	s.d.Bar = mm
	length := mm * unitsPerMM * s.zoom
	const x, h, pieces = 20, 9, 5
	y := s.height - 34
	for i := range pieces {
		fill := "none"
		if i%2 == 0 {
			fill = "currentColor"
		}
		fmt.Fprintf(&s.over, `<rect x="%s" y="%s" width="%s" height="%d" fill="%s" stroke="currentColor" stroke-width="1"/>`,
			num(x+length*float64(i)/pieces), num(y), num(length/pieces), h, fill)
	}
	words := num(mm) + " mm"
	s.d.Labels = append(s.d.Labels, textBox(x+length+10, y+h+1, "start", words, letter))
	fmt.Fprintf(&s.over, `<text x="%s" y="%s" font-size="%d" fill="currentColor">%s</text>`, num(x+length+10), num(y+h+1), letter, words)
}

// finish puts the parts together.
func (s *sheet) finish() Drawing {
	window := fmt.Sprintf(`viewBox="%s %s %s %s"`, num(s.x), num(s.y), num(width/s.zoom), num((s.height-strip)/s.zoom))
	s.d.Small = fmt.Sprintf(`<svg xmlns="http://www.w3.org/2000/svg" %s aria-hidden="true" focusable="false">%s</svg>`, window, s.body.String())
	var b strings.Builder
	id := "drawing-" + s.d.Name
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %s" role="img" aria-labelledby="%s-t %s-d">`, width, num(s.height), id, id)
	fmt.Fprintf(&b, `<title id="%s-t">%s</title><desc id="%s-d">%s</desc>`, id, escape(s.d.Title), id, escape(s.d.Desc))
	fmt.Fprintf(&b, `<svg x="0" y="0" width="%d" height="%s" %s preserveAspectRatio="none" overflow="hidden">%s</svg>`,
		width, num(s.height-strip), window, s.body.String())
	b.WriteString(s.over.String())
	b.WriteString(`</svg>`)
	s.d.SVG, s.d.Height = b.String(), s.height
	return s.d
}

// num prints a number with at most two decimals.
func num(v float64) string {
	t := fmt.Sprintf("%.2f", v)
	t = strings.TrimRight(strings.TrimRight(t, "0"), ".")
	if t == "-0" {
		return "0"
	}
	return t
}

func escape(words string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(words)) // a strings.Builder never fails
	return b.String()
}
