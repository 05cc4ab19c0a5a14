package chart

import (
	"math"
	"strconv"
	"strings"
)

// lane is one row of what was done. draw is given where a day stands along
// the lane and the lane's middle.
type lane struct {
	name, below string
	draw        func(s *svg, e Evidence, x func(float64) float64, mid float64)
}

// lanes of the wide drawing. Baths and moults have one only if there are any;
// looks and deaths always, because none is news too.
func (e Evidence) lanes() []lane {
	var all []lane
	if len(e.Baths) > 0 {
		all = append(all, lane{name: "Baths", draw: drawBaths})
	}
	if len(e.Pulls) > 0 {
		all = append(all, lane{name: "Moults pulled", draw: drawPulls})
	}
	looked := lane{name: "Looked at", draw: drawLooks}
	if len(e.Looks) == 0 {
		looked.below = "nobody yet"
	}
	died := lane{name: "Dead", below: "none seen", draw: drawDeaths}
	if n := e.dead(); n > 0 {
		died.below = strconv.Itoa(n) + " so far"
	}
	return append(all, looked, died)
}

func bathClass(st Standing) string {
	return [...]string{Did: "did", Partly: "part", Planned: "plan"}[st]
}

func drawBaths(s *svg, e Evidence, x func(float64) float64, mid float64) {
	for i, b := range e.Baths {
		from, to := x(b.From), max(x(b.To), x(b.From)+4)
		s.rect(bathClass(b.Standing), from, mid-9, to-from, 18)
		if b.Standing == Partly { // struck through: not all of it counts
			s.line("tick", from, mid+9, to, mid-9)
		}
		next := wideW
		if i+1 < len(e.Baths) {
			next = x(e.Baths[i+1].From)
		}
		w := plainFace.width(b.Words)
		switch {
		case to+5+w <= next-3:
			s.text("halo", to+5, mid+4, "start", b.Words)
		case b.Standing == Did && w+6 <= to-from:
			s.text("inv", (from+to)/2, mid+4, "middle", b.Words)
		}
	}
}

func drawPulls(s *svg, e Evidence, x func(float64) float64, mid float64) {
	var did, next strings.Builder
	for _, p := range e.Pulls {
		at := "M" + num(x(p.Day)) + " " + num(mid-8) + "v15"
		if p.Standing == Planned {
			next.WriteString(at)
		} else {
			did.WriteString(at)
		}
	}
	class := "tick"
	if n := len(e.Pulls); n > 1 && x(e.Pulls[n-1].Day)-x(e.Pulls[0].Day) < 4*float64(n) {
		class = "tick thin"
	}
	s.path(class, did.String())
	s.path(class+" next", next.String())
}

// ringR is a ring's radius: its area follows the animals.
func ringR(animals int) float64 {
	return min(4+math.Sqrt(float64(max(animals, 1))), 14)
}

func drawLooks(s *svg, e Evidence, x func(float64) float64, mid float64) {
	p := placer{bounds: box{wideLeft - 4, mid - 22, wideW - wideLeft + 4, 44}}
	for _, l := range e.Looks {
		r := ringR(l.Animals)
		p.solid = append(p.solid, box{x(l.Day) - r - 3, mid - r, 2*r + 6, 2 * r})
	}
	for _, l := range e.Looks {
		r := ringR(l.Animals)
		say := label{at: xy{x(l.Day), mid}, gap: r + 4, prefer: right, words: strconv.Itoa(l.Animals), face: plainFace}
		switch {
		case l.Standing == Planned:
			s.circle("plan", x(l.Day), mid, r)
			say.class, say.face = "i", reckFace
		case l.Positive > 0:
			s.diamond("found", x(l.Day), mid, r+2)
			say.words = strconv.Itoa(l.Positive) + " of " + strconv.Itoa(l.Animals)
			say.class, say.face = "hot bold", boldFace
		default:
			s.circle("open", x(l.Day), mid, r)
		}
		p.put(s, say)
	}
}

// stems are as high as the deaths of a day against the worst day.
func drawDeaths(s *svg, e Evidence, x func(float64) float64, mid float64) {
	most := 0
	for _, d := range e.Deaths {
		most = max(most, d.N)
	}
	base := mid + laneH/2 - 1
	named := most <= 1 // the worst day is named once
	for _, d := range e.Deaths {
		if d.N <= 0 {
			continue
		}
		h := 5 + 22*float64(d.N)/float64(most)
		s.rect("fill", x(d.Day)-2.2, base-h, 4.4, h)
		if d.N == most && !named {
			s.text("s halo", x(d.Day)+6, base-h+9, "start", strconv.Itoa(d.N))
			named = true
		}
	}
}
