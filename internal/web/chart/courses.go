package chart

import (
	"fmt"
	"html"
	"math"
	"strings"
	"time"

	"holdfast/internal/web/words"
)

// Courses is one date axis that several courses of treatment share: each is a
// lane of its own under it, and both fill whatever width they are given.
type Courses struct {
	// Start is the civil day of day 0; days are counted from it.
	Start time.Time
	// From and To are the ends of the axis, in days.
	From, To float64
}

// Course is one lane: what is done until the release.
type Course struct {
	Baths []Bath
	// Pulls are whole days with pulls, PerDay how many on each.
	Pulls  []float64
	PerDay int
	Looks  []Look
	// Release is the day of release; Met says whether the line is reached then.
	Release float64
	Met     bool
}

func (c Courses) at(day float64) float64 {
	if c.To <= c.From {
		return 0
	}
	return (min(max(day, c.From), c.To) - c.From) / (c.To - c.From)
}

func (c Courses) date(day float64) time.Time { return c.Start.AddDate(0, 0, int(math.Floor(day))) }

// axisHeight and lane geometry, in pixels.
const (
	axisLabels = 5.0 // at most so many dates: they must fit a phone
	laneTop    = 4.0
	laneFoot   = 46.0
)

// weeks is how many weeks a bar of the neat-line means.
func (c Courses) weeks() int {
	for _, n := range []int{1, 2, 4, 13, 26} {
		if (c.To-c.From)/float64(7*n) <= 26 {
			return n
		}
	}
	return 52
}

// Axis draws the dates over the lanes: alternating bars, and as many dates as fit.
func (c Courses) Axis() string {
	s := &svg{}
	bar := float64(7 * c.weeks())
	s.b.WriteString(`<svg class="chart lanes-axis" role="img" aria-label="` + html.EscapeString(fmt.Sprintf("From %s to %s, one bar %s", words.ShortDay(c.date(c.From)), words.ShortDay(c.date(c.To)), barWords(c.weeks()))) + `">`)
	s.b.WriteString(`<rect class="axis" x="0" y="24" width="100%" height="7"/>`)
	n := int(math.Ceil((c.To - c.From) / bar))
	every := max(1, int(math.Ceil(float64(n)/axisLabels)))
	for k := range n {
		from, to := c.From+float64(k)*bar, c.From+float64(k+1)*bar
		if k%2 == 0 {
			s.b.WriteString(`<rect class="fill" x="` + pct(c.at(from)) + `" y="24" width="` + pct(c.at(to)-c.at(from)) + `" height="7"/>`)
		}
		if k%every == 0 && c.at(from) < 0.86 {
			s.b.WriteString(`<text class="s" x="` + pct(c.at(from)) + `" y="15">` + html.EscapeString(words.ShortDay(c.date(from))) + `</text>`)
		}
	}
	s.b.WriteString(`</svg>`)
	return s.b.String()
}

// Lane draws one course. name says whose it is, for those who do not see it.
func (c Courses) Lane(name string, x Course) string {
	s := &svg{}
	s.b.WriteString(`<svg class="chart lane" role="img" aria-label="` + html.EscapeString(c.words(name, x)) + `">`)
	upright := func(class string, day, y1, y2 float64) {
		p := pct(c.at(day))
		s.b.WriteString(`<line class="` + class + `" x1="` + p + `" x2="` + p + `" y1="` + num(y1) + `" y2="` + num(y2) + `"/>`)
	}
	s.b.WriteString(`<line class="grid" x1="0" x2="100%" y1="` + num(laneFoot) + `" y2="` + num(laneFoot) + `"/>`)
	for _, day := range x.Pulls {
		upright("tick thin", day+.5, laneFoot-6-4*float64(x.PerDay-1), laneFoot)
	}
	for _, b := range x.Baths {
		from, to := c.at(b.From), c.at(max(b.To, b.From+.4))
		s.b.WriteString(`<rect class="` + bathClass(b.Standing) + `" x="` + pct(from) + `" y="` + num(laneTop+4) + `" width="` + pct(max(to-from, .004)) + `" height="16"/>`)
	}
	for _, l := range x.Looks {
		s.b.WriteString(`<circle class="open" cx="` + pct(c.at(l.Day)) + `" cy="` + num(laneTop+12) + `" r="` + num(min(ringR(l.Animals), 10)) + `"/>`)
	}
	class := "goal"
	if !x.Met {
		class = "short"
	}
	upright(class, x.Release, laneTop-4, laneFoot+2)
	s.b.WriteString(`<svg x="` + pct(c.at(x.Release)) + `" overflow="visible">`)
	if x.Met {
		s.path("fill", "M0 0l-9 5l9 5z")
	} else {
		s.path("found", "M-5 0l10 10M5 0l-10 10")
	}
	s.b.WriteString(`</svg></svg>`)
	return s.b.String()
}

func (c Courses) words(name string, x Course) string {
	var b strings.Builder
	b.WriteString(name + ".")
	if len(x.Baths) > 0 {
		var days []string
		for _, d := range x.Baths {
			days = append(days, words.ShortDay(c.date(d.From)))
		}
		b.WriteString(" Doses on " + strings.Join(days, ", ") + ".")
	}
	if n := len(x.Pulls); n > 0 {
		fmt.Fprintf(&b, " %s a day from %s to %s.", words.Plural(x.PerDay, "pull", "pulls"), words.ShortDay(c.date(x.Pulls[0])), words.ShortDay(c.date(x.Pulls[n-1])))
	}
	for _, l := range x.Looks {
		fmt.Fprintf(&b, " Look at %d on %s.", l.Animals, words.ShortDay(c.date(l.Day)))
	}
	reach := "below the line"
	if x.Met {
		reach = "at the line"
	}
	fmt.Fprintf(&b, " Release on %s, %s.", words.ShortDay(c.date(x.Release)), reach)
	return b.String()
}
