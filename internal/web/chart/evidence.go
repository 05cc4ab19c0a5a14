package chart

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"holdfast/internal/web/words"
)

// Evidence is the life of one lot against one condition: the chance that it is
// clear, past and forecast, over lanes of what was done and is planned.
//
// Days are counted from Start; a day may have a fraction. Chances are 0 to 1.
// A point whose chance is not a number is left out. Two points on one day are
// a step.
type Evidence struct {
	// Subject is the lot, Condition what it may carry, without an article:
	// "Blue velvet 1910", "rostrum worm".
	Subject, Condition string
	// Start is the civil day the lot came.
	Start time.Time
	// Today and End are days; End is the last day shown.
	Today, End float64
	// Line is the release line.
	Line float64
	// Past runs to today, Forecast from today.
	Past, Forecast []Point
	// Ifs are where signs would throw the chance back.
	Ifs []If
	// Notes are words at a place of the curve.
	Notes []Note

	Baths  []Bath
	Pulls  []Pull
	Looks  []Look
	Deaths []Died
}

// Point is a chance on a day with its band; Low and High both nought mean that
// no band is known.
//
// Never and Always are the chance if no egg, or every ripe egg, hatches on the
// animal; both nought where that is not known.
type Point struct {
	Day, Chance, Low, High float64
	Never, Always          float64
}

// If is a planned look, and the chance the lot would fall to if it shows signs.
type If struct {
	Day, Chance float64
	// Words say how likely that is, if it is known: "1 time in 7".
	Words string
}

// Note is words at a place of the curve. Reck: worked out; Hot: it needs you.
type Note struct {
	Day, Chance float64
	Words       string
	Reck, Hot   bool
}

// Standing of something that was done or is to be done.
type Standing int

// Did: done and its conditions held. Partly: done, conditions failed in part
// or whole. Planned: not yet.
const (
	Did Standing = iota
	Partly
	Planned
)

// Bath is a treatment from one day to another.
type Bath struct {
	From, To float64
	Words    string
	Standing Standing
}

// Pull is a day on which moults were pulled or are to be.
type Pull struct {
	Day      float64
	Standing Standing
}

// Look is an inspection: of how many animals, how many of them with signs.
type Look struct {
	Day               float64
	Animals, Positive int
	Standing          Standing
}

// Died is deaths seen on a day.
type Died struct {
	Day float64
	N   int
}

// date is the civil day of a day number.
func (e Evidence) date(day float64) time.Time {
	return e.Start.AddDate(0, 0, int(math.Floor(day)))
}

// tidy returns e with its points cleaned and ordered and with an End that
// stands behind everything of the past.
func (e Evidence) tidy() Evidence {
	clean := func(points []Point) []Point {
		kept := make([]Point, 0, len(points))
		for _, p := range points {
			if p.Chance >= 0 && p.Chance <= 1 && p.Day >= 0 && !math.IsInf(p.Day, 0) {
				kept = append(kept, p)
			}
		}
		slices.SortStableFunc(kept, func(a, b Point) int { return cmp.Compare(a.Day, b.Day) })
		return kept
	}
	e.Past, e.Forecast = clean(e.Past), clean(e.Forecast)
	if !(e.Today >= 0) {
		e.Today = 0
	}
	e.End = max(e.End, e.Today, 7)
	if math.IsInf(e.End, 0) || math.IsNaN(e.End) {
		e.End = max(e.Today, 7)
	}
	return e
}

// now is the chance today: the last point of the past, else the first of the
// forecast.
func (e Evidence) now() (Point, bool) {
	if n := len(e.Past); n > 0 {
		return e.Past[n-1], true
	}
	if len(e.Forecast) > 0 {
		return e.Forecast[0], true
	}
	return Point{}, false
}

// last is where the forecast ends.
func (e Evidence) last() (Point, bool) {
	if n := len(e.Forecast); n > 0 && e.Forecast[n-1].Day > e.Today {
		return e.Forecast[n-1], true
	}
	return Point{}, false
}

// reached is the first day on which the forecast stands at the line or above.
func (e Evidence) reached() (float64, bool) {
	if p, ok := e.now(); !ok || p.Chance >= e.Line {
		return 0, false
	}
	for _, p := range e.Forecast {
		if p.Chance >= e.Line {
			return p.Day, true
		}
	}
	return 0, false
}

// short is by how many points of a hundred the forecast ends below the line.
func (e Evidence) short() (Point, int, bool) {
	p, ok := e.last()
	if !ok || p.Chance >= e.Line {
		return Point{}, 0, false
	}
	if _, ok := e.reached(); ok {
		return Point{}, 0, false
	}
	return p, max(int(math.Round((e.Line-p.Chance)*100)), 1), true
}

// dead counts the deaths.
func (e Evidence) dead() int {
	n := 0
	for _, d := range e.Deaths {
		n += d.N
	}
	return n
}

// Words tells the chart in a few sentences, for those who do not see it.
func (e Evidence) Words() string {
	e = e.tidy()
	var b strings.Builder
	fmt.Fprintf(&b, "Chance that %s is clear of the %s.", e.Subject, e.Condition)
	if len(e.Past) > 1 {
		fmt.Fprintf(&b, " %s on %s.", words.Percent(e.Past[0].Chance), words.ShortDay(e.date(e.Past[0].Day)))
	}
	for _, l := range e.Looks {
		if l.Standing != Planned {
			fmt.Fprintf(&b, " On %s %d of %d looked at had signs.", words.ShortDay(e.date(l.Day)), l.Positive, l.Animals)
		}
	}
	if p, ok := e.now(); ok {
		fmt.Fprintf(&b, " Today, %s, %s.", words.ShortDay(e.date(e.Today)), words.Percent(p.Chance))
	} else {
		b.WriteString(" Nothing is known of it yet.")
	}
	if p, ok := e.last(); ok {
		fmt.Fprintf(&b, " Forecast %s on %s.", words.Percent(p.Chance), words.ShortDay(e.date(p.Day)))
	}
	if p, ok := e.hatching(); ok {
		fmt.Fprintf(&b, " If eggs never hatch on the animal it is %s on %s, if they always do %s.", words.Percent(p.Never), words.ShortDay(e.date(p.Day)), words.Percent(p.Always))
	}
	fmt.Fprintf(&b, " The release line is %s.", InWords(e.Line))
	if day, ok := e.reached(); ok {
		fmt.Fprintf(&b, " It is reached on %s.", words.ShortDay(e.date(day)))
	} else if _, n, ok := e.short(); ok {
		fmt.Fprintf(&b, " The forecast ends %d in a hundred short of it.", n)
	}
	return b.String()
}

// Row is one line of the same figures as a table.
type Row struct {
	Day time.Time
	// Chance, Band and Hatch, the chance if eggs hatch on the animal never and always,
	// are worked out; What was done.
	Chance, Band, Hatch, What string
	Forecast                  bool
}

// Rows are the chart's figures in the order of their days: every point of the
// curve, and every look, bath and death. Pulls are counted, not listed.
func (e Evidence) Rows() []Row {
	e = e.tidy()
	type dated struct {
		day float64
		Row
	}
	var all []dated
	add := func(day float64, r Row) {
		r.Day = e.date(day)
		r.Forecast = day > e.Today
		all = append(all, dated{day, r})
	}
	for _, p := range append(slices.Clip(e.Past), e.Forecast...) {
		r := Row{Chance: words.Percent(p.Chance)}
		if p.band() {
			r.Band = words.PercentRange(p.Low, p.High)
		}
		if p.hatch() {
			r.Hatch = words.Percent(p.Never) + " / " + words.Percent(p.Always)
		}
		add(p.Day, r)
	}
	for _, l := range e.Looks {
		if l.Standing == Planned {
			add(l.Day, Row{What: fmt.Sprintf("look at %d, planned", l.Animals)})
		} else {
			add(l.Day, Row{What: fmt.Sprintf("looked at %d, signs on %d", l.Animals, l.Positive)})
		}
	}
	for _, b := range e.Baths {
		what := "bath " + b.Words
		switch b.Standing {
		case Partly:
			what += ", conditions did not all hold"
		case Planned:
			what += ", planned"
		}
		add(b.From, Row{What: strings.ReplaceAll(what, "bath ,", "bath,") + ", to " + words.ShortDay(e.date(b.To))})
	}
	for _, d := range e.Deaths {
		add(d.Day, Row{What: fmt.Sprintf("%d dead", d.N)})
	}
	slices.SortStableFunc(all, func(a, b dated) int {
		switch {
		case a.day < b.day:
			return -1
		case a.day > b.day:
			return 1
		}
		return 0
	})
	rows := make([]Row, len(all))
	for i, d := range all {
		rows[i] = d.Row
	}
	return rows
}

func (p Point) band() bool {
	return (p.Low != 0 || p.High != 0) && p.Low >= 0 && p.High <= 1 && p.Low <= p.High
}

// hatch says whether the answers for never and always are known.
func (p Point) hatch() bool {
	return (p.Never != 0 || p.Always != 0) && p.Never >= 0 && p.Never <= 1 && p.Always >= 0 && p.Always <= 1
}

// Hatching says whether the answers for never and always are drawn.
func (e Evidence) Hatching() bool {
	_, ok := e.hatching()
	return ok
}

// hatching is the last point with answers for never and always.
func (e Evidence) hatching() (Point, bool) {
	all := append(slices.Clip(e.Past), e.Forecast...)
	for i := len(all) - 1; i >= 0; i-- {
		if all[i].hatch() {
			return all[i], true
		}
	}
	return Point{}, false
}

// scale fits the release line and everything drawn on it.
func (e Evidence) scale() scale {
	chances := []float64{e.Line}
	for _, p := range append(slices.Clip(e.Past), e.Forecast...) {
		chances = append(chances, p.Chance)
		if p.hatch() {
			chances = append(chances, p.Never, p.Always)
		}
	}
	for _, i := range e.Ifs {
		chances = append(chances, i.Chance)
	}
	return scaleFor(e.Line, chances...)
}
