package chart

import (
	"fmt"
	"strconv"
	"strings"
)

// Walk is the day's way from clean water to carrying, one stop a tank. Water,
// nets and wet hands travel with it and never back.
type Walk struct {
	Stops []Stop
}

// Stop is one tank of the walk.
type Stop struct {
	// Label is the tank's number or short name.
	Label string
	Zone  Zone
	// Done: every job there is ticked. Late: one of its jobs is.
	Done, Late bool
}

// node is what one circle of the drawing stands for: one stop, or several.
type node struct {
	label string
	zone  Zone
	done  bool
	late  bool
	now   bool
}

// nodes folds the walk to at most n circles: first what is done, then what
// lies furthest ahead in each zone.
func (w Walk) nodes(n int) []node {
	var all []node
	now := true
	for _, t := range w.Stops {
		k := node{label: t.Label, zone: t.Zone, done: t.Done, late: t.Late && !t.Done}
		if !t.Done && now {
			k.now, now = true, false
		}
		all = append(all, k)
	}
	if len(all) > n {
		all = foldRuns(all, func(k node) bool { return k.done }, 1)
	}
	for keep := 6; keep >= 1 && len(all) > n; keep-- {
		all = foldRuns(all, func(k node) bool { return !k.done && !k.now }, keep)
	}
	return all
}

// foldRuns keeps the first keep-1 of every longer run within a zone and makes
// the others one node that says how many it stands for.
func foldRuns(all []node, in func(node) bool, keep int) []node {
	var out []node
	for i := 0; i < len(all); {
		j := i
		for j < len(all) && in(all[j]) && all[j].zone == all[i].zone {
			j++
		}
		if j == i {
			out = append(out, all[i])
			i++
			continue
		}
		run := all[i:j]
		i = j
		if len(run) <= keep {
			out = append(out, run...)
			continue
		}
		out = append(out, run[:keep-1]...)
		rest := node{zone: run[0].zone, done: run[0].done}
		n := 0
		for _, k := range run[keep-1:] {
			n += k.count()
			rest.late = rest.late || k.late
		}
		rest.label = "+" + strconv.Itoa(n)
		out = append(out, rest)
	}
	return out
}

func (k node) count() int {
	if n, err := strconv.Atoi(strings.TrimPrefix(k.label, "+")); err == nil && strings.HasPrefix(k.label, "+") {
		return n
	}
	return 1
}

// Words tells the walk, for those who do not see it.
func (w Walk) Words() string {
	done, late := 0, 0
	now := ""
	var zones [3]int
	for _, t := range w.Stops {
		zones[t.Zone]++
		switch {
		case t.Done:
			done++
		case now == "":
			now = t.Label
		}
		if t.Late && !t.Done {
			late++
		}
	}
	say := fmt.Sprintf("The walk: %d clear tanks, then %d on hold, then %d carrying. %d of %d done", zones[Clean], zones[OnHold], zones[Carrying], done, len(w.Stops))
	if now != "" {
		say += ", next is tank " + now
	}
	if late > 0 {
		say += fmt.Sprintf(", %d late", late)
	}
	return say + "."
}

// Wide and Tall draw the walk for a laptop and for a phone.
func (w Walk) Wide() string { return w.draw(1040, 17, 22) }

// Tall draws the walk for a phone, still from left to right.
func (w Walk) Tall() string { return w.draw(344, 13, 11) }

// draw the walk in a box of that width with circles of radius r, at most n.
func (w Walk) draw(width, r float64, n int) string {
	nodes := w.nodes(n)
	h := 2*r + 8
	y := h / 2
	s := &svg{}
	s.open("walk-chart", width, h, w.Words())
	if len(nodes) == 0 {
		return s.close()
	}
	x, gap := spread(nodes, width, r)
	for i, k := range nodes {
		from, last := x[i]+k.half(r), i == len(nodes)-1
		to := from + gap
		if last {
			to = from + min(gap, 8)
		}
		s.way(k.zone, from, to, y, r)
		if last || nodes[i+1].zone != k.zone { // a hygiene stop
			at := (from + to) / 2
			if last {
				at = to
			}
			s.rect("fill", at-r*0.2, y-r-3, r*0.4, 2*r+6)
		}
	}
	for i, k := range nodes {
		s.stop(k, x[i], y, r)
	}
	return s.close()
}

// half is half the width of a node: a circle, or as wide as its words need.
func (k node) half(r float64) float64 {
	f := face{sansBoldWidths[:], r}
	w := max(r, f.width(k.label)/2+r*0.35)
	if k.done && k.count() > 1 {
		w += r * 0.5 // the tick stands beside the number
	}
	return w
}

// spread gives each node its middle, with equal gaps between their edges.
func spread(nodes []node, width, r float64) (x []float64, gap float64) {
	sum := 0.0
	for _, k := range nodes {
		sum += 2 * k.half(r)
	}
	gap = min(max((width-sum-18)/float64(len(nodes)), 2), 2.8*r)
	at := 3.0
	for _, k := range nodes {
		x = append(x, at+k.half(r))
		at += 2*k.half(r) + gap
	}
	return x, gap
}

// way draws the line of a zone: single, double, dotted.
func (s *svg) way(z Zone, x1, x2, y, r float64) {
	if x2 <= x1 {
		return
	}
	run := `" d="M` + num(x1) + " " + num(y) + "H" + num(x2) + `"/>`
	switch z {
	case Clean:
		s.b.WriteString(`<path class="axis" stroke-width="` + num(r*0.25) + run)
	case OnHold:
		gap := r * 0.17
		s.b.WriteString(`<path class="axis" stroke-width="` + num(r*0.13) + `" d="M` + num(x1) + " " + num(y-gap) + "H" + num(x2) + "M" + num(x1) + " " + num(y+gap) + "H" + num(x2) + `"/>`)
	default:
		s.b.WriteString(`<path class="dots" stroke-width="` + num(r*0.4) + `" stroke-linecap="round" stroke-dasharray="0 ` + num(r*0.7) + run)
	}
}

func (s *svg) stop(k node, x, y, r float64) {
	size := "t" + num(r)
	half := k.half(r)
	switch {
	case k.now:
		s.rect("fill", x-half-1, y-r-1, 2*half+2, 2*r+2)
		s.text("inv "+size, x, y+r*0.36, "middle", k.label)
	case k.done && k.count() > 1:
		s.round("wash ring", x, y, half, r)
		s.path("tick", tickPath(x-half+r*0.85, y, r*0.75))
		s.text("s "+size, x+r*0.5, y+r*0.36, "middle", strings.TrimPrefix(k.label, "+"))
	case k.done:
		s.round("wash ring", x, y, half, r)
		s.path("tick", tickPath(x, y, r))
	default:
		class := "sheet ring"
		if k.zone == Carrying {
			class = "sheet ring hotring"
		}
		s.round(class, x, y, half, r)
		s.text("bold "+size, x, y+r*0.36, "middle", k.label)
	}
	if k.late {
		// The triangle of lateness on the stop's shoulder.
		s.path("found", "M"+num(x+half-r*0.65)+" "+num(y-r-2)+"h"+num(r*0.9)+"l"+num(-r*0.45)+" "+num(r*0.8)+"z")
	}
}

// round is a circle, or a bar with round ends where it must hold more.
func (s *svg) round(class string, x, y, half, r float64) {
	s.b.WriteString(`<rect class="` + class + `" x="` + num(x-half) + `" y="` + num(y-r) + `" width="` + num(2*half) + `" height="` + num(2*r) + `" rx="` + num(r) + `"/>`)
}

func tickPath(x, y, r float64) string {
	return "M" + num(x-r*0.45) + " " + num(y) + "l" + num(r*0.33) + " " + num(r*0.33) + "l" + num(r*0.58) + " " + num(-r*0.68)
}
