package holdfast

import (
	"encoding/json"
	"slices"
)

// CourseAccepted is a plan that somebody accepted for a lot: its doses, pulls,
// looks and release by civil day of the site, and what the desk promised of it.
// A later one takes its place; [CourseStopped] ends it.
type CourseAccepted struct {
	// Condition is what the course is against.
	Condition string `json:"condition"`
	Name      string `json:"name,omitempty"`
	// Treatment is an id of the condition's treatments; empty without doses.
	Treatment string `json:"treatment,omitempty"`
	// Doses are the days on which doses start, in order. BathDays is how long
	// each lasts; 0 for a dip.
	Doses    []Day   `json:"doses"`
	BathDays float64 `json:"bath_days,omitempty"`
	// PullsPerDay from PullFrom to PullUntil, but not on SkipPulls.
	PullsPerDay int   `json:"pulls_per_day"`
	PullFrom    Day   `json:"pull_from"`
	PullUntil   Day   `json:"pull_until"`
	SkipPulls   []Day `json:"skip_pulls,omitempty"`
	// Looks are in order of day.
	Looks   []CourseLook `json:"looks"`
	Release Day          `json:"release"`
	// TempC is the temperature the plan counts on from the day of the entry on;
	// nil leaves the tank's.
	TempC   *float64      `json:"temp_c,omitempty"`
	Promise CoursePromise `json:"promise"`
	// Replaces is the course that this one takes the place of, Because what
	// changed; both are empty for a first course.
	Replaces ID     `json:"replaces,omitempty"`
	Because  string `json:"because,omitempty"`
}

// CourseLook is a look that a course plans.
type CourseLook struct {
	Day     Day `json:"day"`
	Animals int `json:"animals"`
}

// CoursePromise is what the desk worked out for a course on the day it was
// accepted, given that its looks find nothing.
type CoursePromise struct {
	// Clear is the chance of clear on the day of release, with its band, and
	// BagRisk the chance that a bag of BagSize carries the condition.
	Clear   float64 `json:"clear"`
	Low     float64 `json:"low"`
	High    float64 `json:"high"`
	BagRisk float64 `json:"bag_risk"`
	BagSize int     `json:"bag_size"`
	// LooksClean is the chance that the planned looks all find nothing.
	LooksClean float64 `json:"looks_clean"`
	// Cost is the expected cost; nil when no costs were given.
	Cost *Money `json:"cost,omitempty"`
	// Met says whether the shop's line is reached.
	Met bool `json:"met"`
	// Model, Seed and Runs let the figures be computed again.
	Model string `json:"model"`
	Seed  int64  `json:"seed"`
	Runs  int    `json:"runs"`
}

// Kind implements [Payload].
func (*CourseAccepted) Kind() Kind { return KindCourseAccepted }

func (p *CourseAccepted) check(c *checker) {
	c.name("condition", p.Condition)
	c.text("name", p.Name, 0, 200)
	c.text("treatment", p.Treatment, 0, 80)
	if len(p.Doses) > 20 || !slices.IsSorted(p.Doses) {
		c.add("doses", "Give at most 20 days in order.", "%d doses", len(p.Doses))
	}
	if (len(p.Doses) > 0) != (p.Treatment != "") {
		c.add("treatment", "Name the treatment of the doses.", "%d doses of %q", len(p.Doses), p.Treatment)
	}
	c.number("bath_days", p.BathDays, 0, 60, "days")
	c.number("pulls_per_day", float64(p.PullsPerDay), 0, 4, "")
	days := append([]Day{p.PullFrom, p.PullUntil, p.Release}, p.Doses...)
	days = append(days, p.SkipPulls...)
	if len(p.Looks) > 12 {
		c.add("looks", "Plan at most 12 looks.", "%d looks", len(p.Looks))
	}
	for i, l := range p.Looks {
		days = append(days, l.Day)
		c.count("looks", l.Animals, 1)
		if i > 0 && l.Day < p.Looks[i-1].Day {
			c.add("looks", "Give the looks in order.", "a look before the one before it")
		}
	}
	if len(p.SkipPulls) > 400 {
		c.add("skip_pulls", "Leave out at most 400 days.", "%d days", len(p.SkipPulls))
	}
	for _, d := range days {
		c.day("days", d)
	}
	c.reading("temp_c", p.TempC, 1, 40, "°C")
	p.Promise.check(c)
	if p.Replaces != "" && !p.Replaces.Valid() {
		c.add("replaces", "Name the course it replaces.", "%q is no entry", p.Replaces)
	}
	c.text("because", p.Because, 0, 2000)
}

func (p *CoursePromise) check(c *checker) {
	for field, x := range map[string]float64{"clear": p.Clear, "low": p.Low, "high": p.High, "bag_risk": p.BagRisk, "looks_clean": p.LooksClean} {
		c.number("promise."+field, x, 0, 1, "")
	}
	c.count("promise.bag_size", p.BagSize, 1)
	c.money("promise.cost", p.Cost)
	c.text("promise.model", p.Model, 1, 120)
	c.number("promise.runs", float64(p.Runs), 1, 1e6, "")
}

// day checks a planned day.
func (c *checker) day(field string, d Day) {
	if first, last := DayFromDate(2000, 1, 1), DayFromDate(2200, 1, 1); d < first || d > last {
		c.add(field, "Give a date between 2000 and 2200.", "%s is not a plausible day", d)
	}
}

// CourseStopped ends a course before its release: the round goes back to
// common practice.
type CourseStopped struct {
	// Course is the entry that accepted it.
	Course ID     `json:"course"`
	Reason string `json:"reason"`
}

// Kind implements [Payload].
func (*CourseStopped) Kind() Kind { return KindCourseStopped }

func (p *CourseStopped) check(c *checker) {
	if !p.Course.Valid() {
		c.add("course", "Name the course.", "%q is no entry", p.Course)
	}
	c.text("reason", p.Reason, 1, 500)
}

// BeliefsSet states what the shop believes of a condition's figures from this
// moment on, in the place of what it said of that condition before. Without
// file and figures the data that come with the program hold again.
type BeliefsSet struct {
	Condition string `json:"condition"`
	// File is a whole data file of the condition, as compact JSON.
	File json.RawMessage `json:"file,omitempty"`
	// Figures are own intervals, by the name of the figure or of the treatment
	// whose kill it is.
	Figures map[string]OwnFigure `json:"figures,omitempty"`
	Note    string               `json:"note,omitempty"`
}

// OwnFigure is the interval that the shop believes a figure to lie in, nine
// times of ten. Equal ends are a figure that is taken as known.
type OwnFigure struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// MaxConditionFile is how many bytes the data file of a condition may have.
const MaxConditionFile = 64 << 10

// Kind implements [Payload].
func (*BeliefsSet) Kind() Kind { return KindBeliefsSet }

func (p *BeliefsSet) check(c *checker) {
	c.name("condition", p.Condition)
	if len(p.File) > MaxConditionFile {
		c.add("file", "Use a data file of at most 64 kB.", "the file has %d bytes", len(p.File))
	}
	if len(p.Figures) > 100 {
		c.add("figures", "State at most 100 figures.", "%d figures", len(p.Figures))
	}
	for name, f := range p.Figures {
		c.name("figures", name)
		c.number(name, f.Low, 0, 1e9, "")
		c.number(name, f.High, f.Low, 1e9, "")
	}
	c.text("note", p.Note, 0, 2000)
}
