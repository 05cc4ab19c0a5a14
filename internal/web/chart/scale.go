package chart

import (
	"math"
	"strconv"
)

// logit is the log odds of p, 0 < p < 1.
func logit(p float64) float64 { return math.Log(p / (1 - p)) }

// scale maps a chance to 0..1 by its log odds between two chances; what lies
// outside stands at the end.
type scale struct{ low, high float64 }

func (s scale) at(p float64) float64 {
	p = min(max(p, s.low), s.high)
	return (logit(p) - logit(s.low)) / (logit(s.high) - logit(s.low))
}

// usual is the scale of lists, where every row must share one: from 1 in 100
// to a little above 99 in 100.
var usual = scale{0.01, 0.993}

// scaleFor widens the usual scale until the release line stands clear of the
// top, and until the chances fit, but not beyond 1 in 500 and 999 in 1000.
func scaleFor(line float64, chances ...float64) scale {
	s := usual
	if line > 0 && line < 1 {
		s.high = max(s.high, 1/(1+math.Exp(-logit(line)-0.7)))
	}
	for _, p := range chances {
		if p > 0 && p < 1 {
			s.low, s.high = min(s.low, p), max(s.high, p)
		}
	}
	s.low, s.high = max(s.low, 0.002), min(s.high, 0.9992)
	return s
}

// mark is a labelled chance on the scale.
type scaleMark struct {
	p     float64
	words string
}

// scaleMarks are the chances that get a line, those one looks for first in front.
var scaleMarks = []scaleMark{
	{0.5, "1 in 2"}, {0.1, "1 in 10"}, {0.9, "9 in 10"}, {0.99, "99 in 100"}, {0.02, "1 in 50"},
	{0.2, "1 in 5"}, {0.8, "4 in 5"}, {0.999, "999 in 1000"}, {0.002, "1 in 500"},
}

// InWords says a chance as "19 in 20" where a simple pair says it exactly, and
// as so many in 100 or 1000 otherwise.
func InWords(p float64) string {
	if math.IsNaN(p) || p < 0 || p > 1 {
		return "–"
	}
	for _, n := range []int{2, 3, 4, 5, 10, 20, 50, 100} {
		k := p * float64(n)
		if math.Abs(k-math.Round(k)) < 1e-9 {
			return strconv.Itoa(int(math.Round(k))) + " in " + strconv.Itoa(n)
		}
	}
	n := 100
	if p < 0.005 || p > 0.995 {
		n = 1000
	}
	return strconv.Itoa(int(math.Round(p*float64(n)))) + " in " + strconv.Itoa(n)
}
