package chart

import (
	"math"

	"holdfast/internal/web/words"
)

// Series is one figure over days: what a meter read, or what is in the water.
type Series struct {
	// Says is the drawing in a sentence, for those who do not see it.
	Says string
	// Points in the order of days. Two points of one day are before and after
	// something happened.
	Points []SeriesPoint
	// Dots marks every point: readings that somebody took.
	Dots bool
	// Also is a second line, dashed, with its word.
	Also      []SeriesPoint
	AlsoWords string
	// Low and High are the band that is wanted, both nought for none.
	Low, High float64
	BandWords string
	// Line is a level to be seen, nought for none.
	Line      float64
	LineWords string
	// Ticks are the words of the day axis.
	Ticks []SeriesTick
	// Unit stands at the top of the scale, Decimals is how its numbers read.
	Unit     string
	Decimals int
	// FromZero begins the scale at nought.
	FromZero bool
}

// SeriesPoint is one value on a day.
type SeriesPoint struct{ Day, Value float64 }

// SeriesTick is words under a day.
type SeriesTick struct {
	Day   float64
	Words string
}

// Wide and Tall draw the series for a laptop and for a phone.
func (s Series) Wide() string { return s.draw(760, 190) }

// Half draws the series for half a laptop's width.
func (s Series) Half() string { return s.draw(500, 170) }

// Tall draws the series for a phone, days still from left to right.
func (s Series) Tall() string { return s.draw(344, 190) }

const (
	seriesLeft  = 46.0
	seriesTop   = 20.0
	seriesFoot  = 24.0
	seriesRight = 10.0
)

func (s Series) draw(width, height float64) string {
	out := &svg{}
	out.open("series", width, height, s.Says)
	from, to := s.days()
	low, high, step := s.levels()
	left, right, top, foot := seriesLeft, width-seriesRight, seriesTop, height-seriesFoot
	x := func(day float64) float64 { return left + (day-from)/(to-from)*(right-left) }
	y := func(v float64) float64 { return foot - (v-low)/(high-low)*(foot-top) }
	if s.banded() {
		a, b := y(min(s.High, high)), y(max(s.Low, low))
		out.rect("want", left, a, right-left, max(b-a, 1))
	}
	for v := math.Ceil(low/step-1e-9) * step; v <= high+step*1e-6; v += step {
		out.line("grid", left, y(v), right, y(v))
		out.text("s", left-6, y(v)+4, "end", words.Number(v, decimalsOf(step)))
	}
	out.text("s", 0, 12, "start", s.Unit)
	p := placer{bounds: box{left, top - 6, right - left, foot - top + 6}}
	line := func(class string, points []SeriesPoint) []xy {
		path := make([]xy, len(points))
		for i, q := range points {
			path[i] = xy{x(q.Day), y(q.Value)}
		}
		out.path(class, poly(path))
		p.alongside(path)
		return path
	}
	also := line("fore thin", s.Also)
	path := line("line", s.Points)
	if s.Dots {
		for _, c := range path {
			out.circle("did", c.x, c.y, 3)
		}
	}
	if s.Line > 0 {
		out.line("goal", left, y(s.Line), right, y(s.Line))
		p.put(out, label{at: xy{right, y(s.Line)}, words: s.LineWords, class: "s", face: plainFace, gap: 3, prefer: leftAbove})
	}
	if s.banded() && s.BandWords != "" {
		p.put(out, label{at: xy{left, y(min(s.High, high))}, words: s.BandWords, class: "s", face: plainFace, gap: 3, prefer: rightBelow})
	}
	if len(also) > 0 && s.AlsoWords != "" {
		p.put(out, label{at: also[len(also)-1], words: s.AlsoWords, class: "i", face: reckFace, gap: 6, prefer: leftAbove})
	}
	out.line("axis", left, foot, right, foot)
	edge := math.Inf(-1)
	for _, t := range s.Ticks {
		if t.Day < from-1e-9 || t.Day > to+1e-9 {
			continue
		}
		w, at, anchor := plainFace.width(t.Words), x(t.Day), "middle"
		start := at - w/2
		if start+w > width {
			start, at, anchor = width-w, width, "end"
		}
		if start < edge+8 {
			continue
		}
		edge = start + w
		out.line("axis", x(t.Day), foot, x(t.Day), foot+4)
		out.text("s", at, height-6, anchor, t.Words)
	}
	return out.close()
}

func (s Series) banded() bool { return s.High > s.Low }

func (s Series) days() (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for _, q := range append(s.Points[:len(s.Points):len(s.Points)], s.Also...) {
		from, to = min(from, q.Day), max(to, q.Day)
	}
	switch {
	case math.IsInf(from, 0):
		return -0.5, 0.5
	case to-from < 1.0/24: // within the hour: a moment in the middle of its day
		return from - 0.5, to + 0.5
	}
	return from, to
}

// levels returns the ends of the scale and the step of its grid. The band
// belongs to the picture where it is not many times wider than the readings.
func (s Series) levels() (low, high, step float64) {
	low, high = math.Inf(1), math.Inf(-1)
	take := func(v float64) { low, high = min(low, v), max(high, v) }
	for _, q := range append(s.Points[:len(s.Points):len(s.Points)], s.Also...) {
		take(q.Value)
	}
	if s.banded() {
		take(s.Low)
		take(s.High)
	}
	if s.Line > 0 {
		take(s.Line)
	}
	if s.FromZero {
		take(0)
	}
	if math.IsInf(low, 0) {
		low, high = 0, 1
	}
	if !(high > low) {
		low, high = low-0.5, high+0.5
	}
	pad := (high - low) * 0.08
	if low != 0 {
		low -= pad
	}
	high += pad
	step = math.Pow(10, math.Floor(math.Log10((high-low)/3)))
	for _, m := range []float64{1, 2, 5, 10} {
		if (high-low)/(step*m) <= 4.5 {
			return low, high, step * m
		}
	}
	return low, high, step * 10
}

func decimalsOf(step float64) int {
	return max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
}
