package chart

import "math"

// box is a rectangle that something takes up.
type box struct{ x, y, w, h float64 }

func (a box) overlap(b box) float64 {
	w := min(a.x+a.w, b.x+b.w) - max(a.x, b.x)
	h := min(a.y+a.h, b.y+b.h) - max(a.y, b.y)
	if w <= 0 || h <= 0 {
		return 0
	}
	return w * h
}

func (a box) within(b box) bool {
	return a.x >= b.x && a.y >= b.y && a.x+a.w <= b.x+b.w && a.y+a.h <= b.y+b.h
}

// label is words that belong to a place and may stand around it.
type label struct {
	at    xy
	words string
	class string
	face  face
	// gap is how far from the place the words begin.
	gap float64
	// must be drawn even where it covers something; others are left out, and
	// the table beside the chart still says them.
	must bool
	// prefer is the first direction to try, an index of directions.
	prefer int
}

// directions about a place: sign of x, sign of y.
var directions = [8]xy{{1, -1}, {1, 0}, {1, 1}, {-1, -1}, {-1, 0}, {-1, 1}, {0, -1}, {0, 1}}

// Names for the directions.
const (
	rightAbove = iota
	right
	rightBelow
	leftAbove
	left
	leftBelow
	above
	below
)

// placer finds room for labels, one after the other: the more important first.
type placer struct {
	// bounds are the edges no label may cross.
	bounds box
	// solid must not be covered (other words, marks); soft should not (lines).
	solid, soft []box
}

// alongside takes up a thin line, in boxes small enough for slopes.
func (p *placer) alongside(points []xy) {
	const step = 6
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		n := math.Ceil(max(math.Hypot(b.x-a.x, b.y-a.y)/step, 1))
		for k := range int(n) {
			t, u := float64(k)/n, float64(k+1)/n
			x1, y1 := a.x+(b.x-a.x)*t, a.y+(b.y-a.y)*t
			x2, y2 := a.x+(b.x-a.x)*u, a.y+(b.y-a.y)*u
			p.soft = append(p.soft, box{min(x1, x2) - 2, min(y1, y2) - 2, math.Abs(x2-x1) + 4, math.Abs(y2-y1) + 4})
		}
	}
}

// Costs of a place, in pixels of area: covering words or marks is never worth
// it, covering a line seldom, standing far away a little.
const (
	coverWords = 1000
	coverLine  = 6
	farAway    = 2
)

// place finds the cheapest free place for the label's words and takes it. ok
// is false where there is none and the label may be left out.
func (p *placer) place(l label) (at xy, anchor string, ok bool) {
	w := l.face.width(l.words)
	h := l.face.size * 1.15
	best, bestCost := box{}, math.Inf(1)
	bestDir, blocked := 0, true
	for _, extra := range []float64{0, 8, 18, 32, 50} {
		for k := range directions {
			d := (l.prefer + k) % len(directions)
			b := beside(l.at, directions[d], l.gap+extra, w, h)
			cost := extra*farAway + float64(k)
			covers := !b.within(p.bounds)
			if covers {
				cost += coverWords * (b.w*b.h - b.overlap(p.bounds) + 1)
			}
			for _, s := range p.solid {
				if area := b.overlap(s); area > 0 {
					cost += coverWords * (area + 1)
					covers = true
				}
			}
			for _, s := range p.soft {
				cost += coverLine * b.overlap(s)
			}
			if cost < bestCost {
				best, bestCost, bestDir, blocked = b, cost, d, covers
			}
		}
	}
	if blocked && !l.must {
		return xy{}, "", false
	}
	p.solid = append(p.solid, box{best.x - 2, best.y - 1, best.w + 4, best.h + 2})
	base := best.y + l.face.size*0.86
	switch directions[bestDir].x {
	case -1:
		return xy{best.x + w, base}, "end", true
	case 0:
		return xy{best.x + w/2, base}, "middle", true
	}
	return xy{best.x, base}, "start", true
}

// beside is the rectangle of w by h that stands off a place in a direction.
func beside(at, dir xy, gap, w, h float64) box {
	b := box{w: w, h: h}
	switch dir.x {
	case 1:
		b.x = at.x + gap
	case -1:
		b.x = at.x - gap - w
	default:
		b.x = at.x - w/2
	}
	switch dir.y {
	case -1:
		b.y = at.y - h
		if dir.x == 0 {
			b.y -= gap
		} else {
			b.y -= gap / 3
		}
	case 1:
		b.y = at.y
		if dir.x == 0 {
			b.y += gap
		} else {
			b.y += gap / 3
		}
	default:
		b.y = at.y - h/2
	}
	return b
}

// put places a label and draws it.
func (p *placer) put(s *svg, l label) bool {
	at, anchor, ok := p.place(l)
	if !ok {
		return false
	}
	b := p.solid[len(p.solid)-1] // the room it has just taken
	edge := xy{min(max(l.at.x, b.x), b.x+b.w), min(max(l.at.y, b.y), b.y+b.h)}
	if math.Hypot(edge.x-l.at.x, edge.y-l.at.y) > l.gap+14 { // too far to be read as belonging
		s.line("tie", l.at.x, l.at.y, edge.x, edge.y)
	}
	s.text("halo "+l.class, at.x, at.y, anchor, l.words)
	return true
}
