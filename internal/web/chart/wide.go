package chart

import (
	"math"
	"strconv"

	"holdfast/internal/web/words"
)

// Geometry of the wide drawing.
const (
	wideW     = 880.0
	wideLeft  = 104.0
	wideRight = 792.0
	wideTop   = 20.0
	wideFoot  = 262.0
	laneH     = 40.0
)

// Wide draws the evidence for a laptop: time runs to the right.
func (e Evidence) Wide() string {
	e = e.tidy()
	sc := e.scale()
	x := func(day float64) float64 {
		return wideLeft + min(max(day, 0), e.End)/e.End*(wideRight-wideLeft)
	}
	p := &plot{e: e, pt: func(day, chance float64) xy {
		return xy{x(day), wideFoot - sc.at(chance)*(wideFoot-wideTop)}
	}}
	p.place.bounds = box{wideLeft + 2, wideTop - 12, wideW - wideLeft - 2, wideFoot - wideTop + 18}
	lanes := e.lanes()
	height := wideFoot + 18 + laneH*float64(len(lanes)) + 46

	s := &svg{}
	s.open("wide-chart", wideW, height, e.Words())
	p.wideGrid(s, sc)
	axisY := height - 34
	p.today(s, xy{x(e.Today), wideTop - 8}, xy{x(e.Today), axisY + 8})
	p.curves(s)
	p.marksAndWords(s)
	for i, l := range lanes {
		y := wideFoot + 18 + laneH*float64(i)
		s.line("grid", wideLeft, y+laneH-4, wideRight, y+laneH-4)
		s.text("", 0, y+16, "start", l.name)
		if l.below != "" {
			s.text("s", 0, y+31, "start", l.below)
		}
		l.draw(s, e, func(day float64) float64 { return x(day) }, y+laneH/2-3)
	}
	e.wideAxis(s, x, axisY)
	return s.close()
}

func (p *plot) today(s *svg, a, b xy) {
	s.line("now", a.x, a.y, b.x, b.y)
	p.place.alongside([]xy{a, b})
}

func (p *plot) wideGrid(s *svg, sc scale) {
	goal := p.pt(0, p.e.Line).y
	var taken []float64
	for _, m := range scaleMarks {
		y := p.pt(0, m.p).y
		if m.p <= sc.low || m.p >= sc.high || math.Abs(y-goal) < 12 || near(taken, y, 15) {
			continue
		}
		taken = append(taken, y)
		s.line("grid", wideLeft, y, wideRight, y)
		s.text("s", wideLeft-10, y+4, "end", m.words)
	}
	s.line("goal", wideLeft, goal, wideRight, goal)
	p.place.alongside([]xy{{wideLeft, goal}, {wideRight, goal}})
	s.text("bold", wideRight+8, goal-1, "start", "release line")
	s.text("", wideRight+8, goal+13, "start", InWords(p.e.Line))
	p.place.solid = append(p.place.solid, box{wideRight + 8, goal - 14, wideW - wideRight - 8, 30})
}

func near(taken []float64, x, gap float64) bool {
	for _, t := range taken {
		if math.Abs(t-x) < gap {
			return true
		}
	}
	return false
}

// barWeeks is how many weeks one bar of the neat-line means, so that a bar is
// at least so many pixels long.
func (e Evidence) barWeeks(length, least float64) int {
	for _, n := range []int{1, 2, 4, 13, 26, 52} {
		if length*float64(7*n)/e.End >= least {
			return n
		}
	}
	return 104
}

func barWords(weeks int) string {
	switch weeks {
	case 1:
		return "one week"
	case 13:
		return "a quarter"
	case 26:
		return "half a year"
	case 52:
		return "a year"
	case 104:
		return "two years"
	}
	return strconv.Itoa(weeks) + " weeks"
}

func (e Evidence) wideAxis(s *svg, x func(float64) float64, y float64) {
	weeks := e.barWeeks(wideRight-wideLeft, 16)
	s.rect("axis", wideLeft, y, wideRight-wideLeft, 7)
	bar := float64(7 * weeks)
	for k := 0; float64(k)*bar < e.End; k += 2 {
		from := float64(k) * bar
		s.rect("fill", x(from), y, x(min(from+bar, e.End))-x(from), 7)
	}
	s.text("s", 0, y+2, "start", "one bar,")
	s.text("s", 0, y+15, "start", barWords(weeks))

	today := "today " + words.ShortDay(e.date(e.Today))
	w := boldFace.width(today) + 10
	tx := min(max(x(e.Today), wideLeft+w/2-8), wideW-w/2)
	s.rect("fill", tx-w/2, y+12, w, 20)
	s.text("inv", tx, y+26, "middle", today)
	taken := []box{{tx - w/2, 0, w, 10}}
	// Dates stand at equal steps, as many as fit without touching.
	every := int(math.Ceil((plainFace.width("30 Nov") + 18) / (x(bar) - x(0))))
	for k := 0; float64(k)*bar <= e.End; k += every {
		say := words.ShortDay(e.date(float64(k) * bar))
		b := box{x(float64(k) * bar), 0, plainFace.width(say), 10}
		if b.x+b.w > wideW || hits(taken, box{b.x - 8, 0, b.w + 16, 10}) {
			continue
		}
		taken = append(taken, b)
		s.text("s", b.x, y+26, "start", say)
	}
}

func hits(taken []box, b box) bool {
	for _, t := range taken {
		if t.overlap(b) > 0 {
			return true
		}
	}
	return false
}
