package chart

import (
	"strconv"

	"holdfast/internal/web/words"
)

// Geometry of the tall drawing. Its box is narrower than any phone's column,
// so that type never falls below its size by much.
const (
	tallW     = 328.0
	tallDates = 42.0 // right edge of the dates
	tallRuler = 46.0 // left edge of the neat-line
	tallLanes = 64.0 // left edge of the first lane
	tallLane  = 19.0
	tallRight = 318.0
	tallTop   = 56.0
)

// Tall draws the evidence for a phone: time runs down, chance to the right.
func (e Evidence) Tall() string {
	e = e.tidy()
	sc := e.scale()
	perDay := min(max(600/e.End, 1.6), 12)
	foot := tallTop + e.End*perDay
	y := func(day float64) float64 { return tallTop + min(max(day, 0), e.End)*perDay }
	lanes := e.tallLanes()
	left := tallLanes + tallLane*float64(len(lanes)) + 8
	p := &plot{e: e, tall: true, pt: func(day, chance float64) xy {
		return xy{left + sc.at(chance)*(tallRight-left), y(day)}
	}}
	p.place.bounds = box{left - 4, tallTop - 6, tallW - left + 4, foot - tallTop + 20}

	s := &svg{}
	s.open("tall-chart", tallW, foot+22, e.Words())
	p.tallGrid(s, sc, foot)
	p.today(s, xy{tallRuler - 4, y(e.Today)}, xy{tallRight, y(e.Today)})
	p.curves(s)
	p.marksAndWords(s)
	for i, l := range lanes {
		x := tallLanes + tallLane*(float64(i)+0.5)
		s.line("grid", x, tallTop, x, foot)
		s.b.WriteString(`<g transform="translate(` + num(x-1) + ` ` + num(tallTop-7) + `) rotate(-52)">`)
		s.text("", 0, 0, "start", l.name)
		s.b.WriteString("</g>")
		l.draw(s, e, y, x)
	}
	e.tallAxis(s, y, foot)
	return s.close()
}

func (p *plot) tallGrid(s *svg, sc scale, foot float64) {
	goal := p.pt(0, p.e.Line).x
	say := "release line"
	w := boldFace.width(say)
	gx := min(goal, tallW-w/2)
	s.text("bold", gx, tallTop-36, "middle", say)
	s.text("", gx, tallTop-22, "middle", InWords(p.e.Line))
	lineWords := plainFace.width(InWords(p.e.Line))
	taken := []box{{gx - lineWords/2, 0, lineWords, 10}}
	for _, m := range scaleMarks {
		x := p.pt(0, m.p).x
		w := plainFace.width(m.words)
		b := box{x - w/2 - 4, 0, w + 8, 10}
		if m.p <= sc.low || m.p >= sc.high || hits(taken, b) || b.x < p.place.bounds.x-6 || b.x+b.w > tallW {
			continue
		}
		taken = append(taken, b)
		s.line("grid", x, tallTop, x, foot)
		s.text("s", x, tallTop-22, "middle", m.words)
	}
	s.line("goal", goal, tallTop-14, goal, foot)
	p.place.alongside([]xy{{goal, tallTop}, {goal, foot}})
}

func (e Evidence) tallAxis(s *svg, y func(float64) float64, foot float64) {
	weeks := e.barWeeks(foot-tallTop, 16)
	bar := float64(7 * weeks)
	s.rect("axis", tallRuler, tallTop, 7, foot-tallTop)
	for k := 0; float64(k)*bar < e.End; k += 2 {
		from := float64(k) * bar
		s.rect("fill", tallRuler, y(from), 7, y(min(from+bar, e.End))-y(from))
	}
	s.text("s", tallRuler, foot+17, "start", "one bar, "+barWords(weeks))
	if n := e.dead(); n > 0 {
		s.text("s", tallRight, foot+17, "end", strconv.Itoa(n)+" dead so far")
	}

	w := boldFace.width("today") + 6
	s.rect("fill", tallDates-w+2, y(e.Today)-10, w, 20)
	s.text("inv", tallDates-w/2+2, y(e.Today)+4, "middle", "today")
	taken := []box{{0, y(e.Today) - 10, tallDates, 20}}
	for k := 0; float64(k)*bar <= e.End; k++ {
		at := y(float64(k) * bar)
		b := box{0, at - 3, tallDates, 14}
		if hits(taken, box{0, b.y - 6, b.w, b.h + 12}) {
			continue
		}
		taken = append(taken, b)
		s.text("s", tallDates, at+8, "end", words.ShortDay(e.date(float64(k)*bar)))
	}
}

// tallLanes are the same lanes, standing.
func (e Evidence) tallLanes() []lane {
	var all []lane
	if len(e.Baths) > 0 {
		all = append(all, lane{name: "Baths", draw: tallBaths})
	}
	if len(e.Pulls) > 0 {
		all = append(all, lane{name: "Moults", draw: tallPulls})
	}
	return append(all, lane{name: "Looked", draw: tallLooks}, lane{name: "Dead", draw: tallDeaths})
}

func tallBaths(s *svg, e Evidence, y func(float64) float64, x float64) {
	for _, b := range e.Baths {
		from, to := y(b.From), max(y(b.To), y(b.From)+4)
		s.rect(bathClass(b.Standing), x-5, from, 10, to-from)
		if b.Standing == Partly {
			s.line("tick", x-5, to, x+5, from)
		}
	}
}

func tallPulls(s *svg, e Evidence, y func(float64) float64, x float64) {
	var did, next []byte
	for _, p := range e.Pulls {
		at := "M" + num(x-5) + " " + num(y(p.Day)) + "h10"
		if p.Standing == Planned {
			next = append(next, at...)
		} else {
			did = append(did, at...)
		}
	}
	s.path("tick", string(did))
	s.path("tick next", string(next))
}

func tallLooks(s *svg, e Evidence, y func(float64) float64, x float64) {
	for _, l := range e.Looks {
		r := min(ringR(l.Animals)*0.75, 8)
		switch {
		case l.Standing == Planned:
			s.circle("plan", x, y(l.Day), r)
		case l.Positive > 0:
			s.diamond("found", x, y(l.Day), r+1)
		default:
			s.circle("open", x, y(l.Day), r)
		}
	}
}

func tallDeaths(s *svg, e Evidence, y func(float64) float64, x float64) {
	most := 0
	for _, d := range e.Deaths {
		most = max(most, d.N)
	}
	for _, d := range e.Deaths {
		if d.N > 0 {
			w := 4 + 12*float64(d.N)/float64(most)
			s.rect("fill", x-7, y(d.Day)-2, w, 4)
		}
	}
}
