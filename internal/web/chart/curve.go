package chart

import (
	"math"
	"slices"
	"strconv"

	"holdfast/internal/web/words"
)

// plot is where a chance on a day stands, in either drawing.
type plot struct {
	e  Evidence
	pt func(day, chance float64) xy
	// tall: time runs down.
	tall  bool
	place placer
}

func (p *plot) through(points []Point, of func(Point) float64) []xy {
	out := make([]xy, len(points))
	for i, q := range points {
		out[i] = p.pt(min(q.Day, p.e.End), of(q))
	}
	return out
}

func chanceOf(q Point) float64 { return q.Chance }

// bands draws the band over every run of points that have one.
func (p *plot) bands(s *svg, class string, points []Point) {
	for len(points) > 0 {
		n := 0
		for n < len(points) && points[n].band() {
			n++
		}
		if n > 1 {
			up := p.through(points[:n], func(q Point) float64 { return q.High })
			down := p.through(points[:n], func(q Point) float64 { return q.Low })
			slices.Reverse(down)
			s.path(class, poly(append(up, down...))+"Z")
		}
		points = points[max(n, 1):]
	}
}

// curves draws the bands, the past, the forecast and what signs would do, and
// takes up their room.
func (p *plot) curves(s *svg) {
	p.bands(s, "band", p.e.Past)
	fromNow := p.e.Forecast
	if n := len(p.e.Past); n > 0 && len(fromNow) > 0 {
		fromNow = append(p.e.Past[n-1:n:n], fromNow...)
	}
	p.bands(s, "bandf", fromNow)
	for _, i := range p.e.Ifs {
		at := p.chanceOn(i.Day)
		tail := min(i.Day+max(p.e.End*0.05, 2), p.e.End)
		line := []xy{p.pt(i.Day, at), p.pt(i.Day, i.Chance), p.pt(tail, i.Chance)}
		s.path("fail", poly(line))
		p.place.alongside(line)
	}
	p.hatching(s, append(slices.Clip(p.e.Past), p.e.Forecast...))
	past := p.through(p.e.Past, chanceOf)
	fore := p.through(p.e.Forecast, chanceOf)
	if len(past) > 0 && len(fore) > 0 {
		fore = append([]xy{past[len(past)-1]}, fore...)
	}
	s.path("line", poly(past))
	s.path("fore", poly(fore))
	p.place.alongside(past)
	p.place.alongside(fore)
}

// hatching draws what the chance would be if eggs hatched on the animal never and
// always: thin lines beside the mixed one, over every run of points that have them.
func (p *plot) hatching(s *svg, points []Point) {
	for len(points) > 0 {
		n := 0
		for n < len(points) && points[n].hatch() {
			n++
		}
		if n > 1 {
			s.path("never", poly(p.through(points[:n], func(q Point) float64 { return q.Never })))
			s.path("always", poly(p.through(points[:n], func(q Point) float64 { return q.Always })))
		}
		points = points[max(n, 1):]
	}
}

// hatchLabels name the lines for never and always where they lie farthest apart,
// away from today and from the end, where other words stand.
func (p *plot) hatchLabels() []label {
	var never, always xy
	far := -1.0
	from, to := 0.15*p.e.Today, 0.85*p.e.Today
	if end, ok := p.e.last(); ok && end.hatch() {
		from, to = p.e.Today+0.15*(end.Day-p.e.Today), p.e.Today+0.85*(end.Day-p.e.Today)
	}
	for _, q := range append(slices.Clip(p.e.Past), p.e.Forecast...) {
		if !q.hatch() || q.Day < from || q.Day > to {
			continue
		}
		a, b := p.pt(q.Day, q.Never), p.pt(q.Day, q.Always)
		if d := math.Hypot(a.x-b.x, a.y-b.y); d > far {
			never, always, far = a, b, d
		}
	}
	one := func(at xy, words string, higher bool) label {
		l := label{at: at, words: words, class: "i", face: reckFace, gap: 5, prefer: leftBelow}
		switch {
		case p.tall && higher:
			l.prefer = rightAbove
		case p.tall:
			l.prefer = leftAbove
		case higher:
			l.prefer = leftAbove
		}
		return l
	}
	switch {
	case far < 0:
		return nil
	case far < 6:
		return []label{one(never, "never, always", true)}
	}
	up := never.y < always.y
	if p.tall {
		up = never.x > always.x
	}
	say := "eggs hatch never"
	if p.tall { // no room for more; the words below the drawing say of what
		say = "never"
	}
	return []label{one(never, say, up), one(always, "always", !up)}
}

// chanceOn is the chance the drawing shows on a day: straight between points.
func (p *plot) chanceOn(day float64) float64 {
	all := append(slices.Clip(p.e.Past), p.e.Forecast...)
	if len(all) == 0 {
		return 0.5
	}
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].Day > day {
			continue
		}
		if i+1 == len(all) || all[i].Day == day {
			return all[i].Chance
		}
		t := (day - all[i].Day) / (all[i+1].Day - all[i].Day)
		return all[i].Chance + t*(all[i+1].Chance-all[i].Chance)
	}
	return all[0].Chance
}

// marksAndWords draws what stands on the curve and names it, the most
// important first, since room is given in that order.
func (p *plot) marksAndWords(s *svg) {
	e := p.e
	mark := func(c xy, r float64) { p.place.solid = append(p.place.solid, box{c.x - r, c.y - r, 2 * r, 2 * r}) }
	var labels []label

	if now, ok := e.now(); ok {
		c := p.pt(e.Today, now.Chance)
		s.circle("open", c.x, c.y, 5.5)
		mark(c, 6)
		first := rightBelow
		if p.tall {
			first = leftAbove
		}
		labels = append(labels, label{at: c, words: words.Percent(now.Chance), class: "i xl", face: bigFace, gap: 11, must: true, prefer: first})
	}
	for _, l := range e.Looks {
		if l.Standing != Planned && l.Positive > 0 {
			c := p.pt(l.Day, p.chanceOn(l.Day))
			s.diamond("found", c.x, c.y, 7)
			mark(c, 7)
			labels = append(labels, label{at: c, words: strconv.Itoa(l.Positive) + " of " + strconv.Itoa(l.Animals) + " had signs", class: "hot bold", face: boldFace, gap: 10, prefer: rightBelow})
		}
	}
	if end, n, ok := e.short(); ok {
		labels = append(labels, p.shortfall(s, end, n)...)
	}
	if day, ok := e.reached(); ok {
		c := p.pt(day, e.Line)
		s.circle("plan", c.x, c.y, 5)
		mark(c, 5)
		labels = append(labels, label{at: c, words: "at the line " + words.ShortDay(e.date(day)), class: "i bold", face: reckBoldFace, gap: 9, prefer: leftAbove})
	}
	for _, n := range e.Notes {
		l := label{at: p.pt(n.Day, n.Chance), words: n.Words, face: plainFace, gap: 8, prefer: rightAbove}
		switch {
		case n.Reck && n.Hot:
			l.class, l.face = "i hot", reckFace
		case n.Reck:
			l.class, l.face = "i", reckFace
		case n.Hot:
			l.class, l.face = "hot bold", boldFace
		}
		labels = append(labels, l)
	}
	for _, i := range e.Ifs {
		if i.Words != "" {
			labels = append(labels, label{at: p.pt(i.Day, i.Chance), words: i.Words, class: "i hot", face: reckFace, gap: 6, prefer: rightAbove})
		}
	}
	labels = append(labels, p.hatchLabels()...)
	for _, l := range labels {
		p.place.put(s, l)
	}
}

// shortfall draws the bracket between where the forecast ends and the line,
// and says how far short.
func (p *plot) shortfall(s *svg, end Point, n int) []label {
	a, b := p.pt(end.Day, end.Chance), p.pt(end.Day, p.e.Line)
	across := xy{0, 1}
	if !p.tall {
		across = xy{1, 0}
	}
	s.line("short", a.x, a.y, b.x, b.y)
	s.line("short", a.x-5*across.x, a.y-5*across.y, a.x+5*across.x, a.y+5*across.y)
	s.line("short", b.x-5*across.x, b.y-5*across.y, b.x+5*across.x, b.y+5*across.y)
	p.place.alongside([]xy{a, b})
	mid := xy{(a.x + b.x) / 2, (a.y + b.y) / 2}
	say := label{at: mid, words: strconv.Itoa(n) + " in 100 short", class: "i hot", face: reckFace, gap: 9, prefer: right}
	at := label{at: a, words: words.Percent(end.Chance) + " on " + words.ShortDay(p.e.date(end.Day)), class: "i", face: reckFace, gap: 9, prefer: leftBelow}
	if p.tall {
		say.prefer, at.prefer = below, leftAbove
	}
	return []label{say, at}
}
