package drawing

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
)

// flatworm draws a temnocephalid flatworm of the given length in units, its
// sucker at (x, y), pointing up when turn is 0, leaning by bend.
func (s *sheet) flatworm(x, y, turn, length, bend float64) {
	s.group(x, y, turn, length/44, func(k float64) {
		b := func(f float64) string { return num(bend * f) }
		s.pathIn(marked(thin, 0.12), fmt.Sprintf(
			"M-4,0 C-6.5,-8 -5.5,-20 %s,-30 C%s,-34 %s,-38 %s,-43 C%s,-45.5 %s,-45 %s,-42.5 L%s,-36.5 L%s,-42.5 C%s,-45 %s,-45.5 %s,-43 C%s,-38 %s,-34 %s,-30 C6,-20 6.5,-8 4,0 Z",
			num(bend-4.2), num(bend-4.5), num(bend-5.5), num(bend-7), num(bend-7.5), num(bend-5), num(bend-4.2),
			b(1), num(bend+4.2), num(bend+5), num(bend+7.5), num(bend+7), num(bend+5.5), num(bend+4.5), num(bend+4.2)), k)
		s.pathIn(marked(thin, 0.25), ellipse(0, 0.5, 5.2, 2.2, 0), k)
		s.pathIn(paint{ink: mark, tint: 1}, ellipse(bend-1.7, -33, 0.8, 0.8, 0), k)
		s.pathIn(paint{ink: mark, tint: 1}, ellipse(bend+1.7, -33, 0.8, 0.8, 0), k)
	})
	s.shows("rostrum_worm", length)
}

// ringed draws a ringed worm along an arch from (x1, y1) to (x2, y2) that
// rises by rise, width units thick, with a sucker behind and, for a leech, one
// before. It returns the length along the arch.
func (s *sheet) ringed(x1, y1, x2, y2, rise, thickness float64, bothEnds bool) float64 {
	const n = 16
	at := func(t float64) (float64, float64) {
		cx, cy := (x1+x2)/2, (y1+y2)/2-2*rise
		return (1-t)*(1-t)*x1 + 2*t*(1-t)*cx + t*t*x2, (1-t)*(1-t)*y1 + 2*t*(1-t)*cy + t*t*y2
	}
	length := 0.
	px, py := at(0)
	var left, right []string
	var rings strings.Builder
	for i := range n + 1 {
		t := float64(i) / n
		x, y := at(t)
		length += math.Hypot(x-px, y-py)
		nx, ny := at(min(t+0.01, 1))
		qx, qy := at(max(t-0.01, 0))
		dx, dy := nx-qx, ny-qy
		d := math.Hypot(dx, dy)
		w := thickness / 2 * (0.62 + 0.38*math.Sin(math.Pi*min(t*1.15, 1)))
		ox, oy := -dy/d*w, dx/d*w
		left = append(left, num(x+ox)+","+num(y+oy))
		right = append(right, num(x-ox)+","+num(y-oy))
		if i > 0 && i < n {
			fmt.Fprintf(&rings, "M%s,%s L%s,%s ", num(x+ox), num(y+oy), num(x-ox), num(y-oy))
		}
		px, py = x, y
	}
	for i, j := 0, len(right)-1; i < j; i, j = i+1, j-1 {
		right[i], right[j] = right[j], right[i]
	}
	s.path(marked(thin, 0.12), "M"+strings.Join(left, " L")+" L"+strings.Join(right, " L")+" Z")
	s.path(paint{width: hair, ink: mark}, strings.TrimSpace(rings.String()))
	s.path(marked(thin, 0.3), ellipse(x1, y1, thickness*0.5, thickness*0.28, 0))
	if bothEnds {
		s.path(marked(thin, 0.3), ellipse(x2, y2, thickness*0.36, thickness*0.24, 0))
	}
	return length
}

// bells draws a tuft of stalked bell animals at (x, y), stalks of about the
// given length, spread round the direction turn (degrees, 0 up).
func (s *sheet) bells(x, y, turn, length float64, n int, dice *rand.Rand) {
	for range n {
		a := (turn + (dice.Float64()-0.5)*110) * math.Pi / 180
		l := length * (0.6 + 0.5*dice.Float64())
		tx, ty := x+l*math.Sin(a), y-l*math.Cos(a)
		kx := (dice.Float64() - 0.5) * l * 0.3
		s.path(paint{width: hair, ink: mark}, fmt.Sprintf("M%s,%s Q%s,%s %s,%s", num(x), num(y), num((x+tx)/2+kx), num((y+ty)/2), num(tx), num(ty)))
		s.group(tx, ty, a*180/math.Pi, 1, func(k float64) {
			s.pathIn(marked(hair, 0.2), "M0,0.4 C-1.5,-0.4 -1.1,-2 -1.5,-3.2 L1.5,-3.2 C1.1,-2 1.5,-0.4 0,0.4 Z", k)
		})
	}
}

// thread draws a branching alga rooted at (x, y), hanging by turn, with full
// clubs at its ends; depth is how often it still branches.
func (s *sheet) thread(x, y, turn, length float64, depth int, dice *rand.Rand) {
	a := turn * math.Pi / 180
	tx, ty := x+length*math.Sin(a), y+length*math.Cos(a)
	s.path(paint{width: thin, ink: mark}, fmt.Sprintf("M%s,%s L%s,%s", num(x), num(y), num(tx), num(ty)))
	if depth == 0 {
		s.path(marked(hair, 0.75), ellipse(tx, ty, 2.6, 1.4, 90-turn))
		return
	}
	for _, side := range []float64{-1, 1} {
		s.thread(tx, ty, turn+side*(14+16*dice.Float64()), length*(0.62+0.2*dice.Float64()), depth-1, dice)
	}
}

// hairs draws long fine threads round (x, y).
func (s *sheet) hairs(x, y, length float64, from, to float64, n int, dice *rand.Rand) {
	var b strings.Builder
	for i := range n {
		a := (from + (to-from)*(float64(i)+dice.Float64())/float64(n)) * math.Pi / 180
		l := length * (0.65 + 0.5*dice.Float64())
		k := (dice.Float64() - 0.5) * l * 0.5
		tx, ty := x+l*math.Sin(a), y-l*math.Cos(a)
		fmt.Fprintf(&b, "M%s,%s Q%s,%s %s,%s ", num(x), num(y), num((x+tx)/2+k), num((y+ty)/2+k/2), num(tx), num(ty))
	}
	s.path(paint{width: hair, ink: mark}, strings.TrimSpace(b.String()))
}

// blot is a ragged closed outline round (x, y) with radius r.
func blot(x, y, r, rough float64, dice *rand.Rand) string {
	const n = 14
	var pts []string
	for i := range n {
		a := 2 * math.Pi * float64(i) / n
		q := r * (1 - rough/2 + rough*dice.Float64())
		pts = append(pts, num(x+q*math.Cos(a))+","+num(y+0.8*q*math.Sin(a)))
	}
	return "M" + strings.Join(pts, " L") + " Z"
}

// star is a pigment cell with branching arms.
func (s *sheet) star(x, y, r float64, dice *rand.Rand) {
	var b strings.Builder
	for i := range 8 {
		a := 2*math.Pi*float64(i)/8 + dice.Float64()*0.5
		l := r * (0.6 + 0.6*dice.Float64())
		fmt.Fprintf(&b, "M%s,%s L%s,%s ", num(x), num(y), num(x+l*math.Cos(a)), num(y+l*math.Sin(a)))
	}
	s.path(paint{width: thin, ink: mark}, strings.TrimSpace(b.String()))
	s.disc(paint{ink: mark, tint: 1}, x, y, r*0.3, r*0.3)
}

// glass draws the pane of a tank as a slanted double line with a gleam, and
// the floor.
func (s *sheet) glass() {
	x, y, w := s.x, s.y, width/s.zoom
	h := (s.height - strip) / s.zoom
	s.path(outline(thin).faint(0.5), fmt.Sprintf("M%s,%s L%s,%s", num(x), num(y+h*0.86), num(x+w), num(y+h*0.86)))
	for i := range 3 {
		f := 0.06 + 0.035*float64(i)
		s.path(outline(hair).faint(0.3), fmt.Sprintf("M%s,%s L%s,%s", num(x+w*f), num(y+h*0.3), num(x+w*(f+0.14)), num(y+h*0.06)))
	}
}
