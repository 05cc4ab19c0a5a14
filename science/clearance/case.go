package clearance

import (
	"cmp"
	"math"
	"slices"

	"holdfast/science/ref"
)

// Look is animals taken without regard to their state and looked at, or a plan
// to do so.
type Look struct {
	Day float64 `json:"day"`
	// Animals looked at, at least 1.
	Animals int `json:"animals"`
	// Worms and Eggs are how many of them showed worms, and egg rows.
	Worms int `json:"worms"`
	Eggs  int `json:"eggs"`
	// Both is how many showed both; nil if nobody noted it.
	Both *int `json:"both,omitempty"`
	// View is the share of what could be seen that was in view, 0 to 1; 0 stands
	// for 1, a full look. It scales how well one sees.
	View float64 `json:"view,omitempty"`
	// Tank is where the animals were taken from.
	Tank int `json:"tank,omitempty"`
	// Picked says that animals were chosen for their looks, and counts only those
	// that showed something: they prove that carriers are there and nothing of the
	// others. They are taken as drawn from the carriers, or, where a run has too
	// few, as false.
	Picked bool `json:"picked,omitempty"`
	// Confirmed says that what showed signs was looked at again under a microscope
	// or by a laboratory and was what it seemed: none of it is taken for a mistake.
	Confirmed bool `json:"confirmed,omitempty"`
	// Planned says that it has not happened: it is taken to find nothing, and the
	// chance of that is part of the answer.
	Planned bool `json:"planned,omitempty"`
	// PositivesTo says what became of the animals that showed anything: nil they
	// stayed, -1 they left the lot, else the tank they were moved to.
	PositivesTo *int `json:"positives_to,omitempty"`
}

func (l *Look) view() float64 {
	if l.View == 0 {
		return 1
	}
	return l.View
}

func (l *Look) seen() seen {
	s := seen{n: l.Animals, worms: l.Worms, eggs: l.Eggs, both: -1}
	if l.Both != nil {
		s.both = *l.Both
	}
	return s
}

// Case is a lot, what was done to it, what was seen, and what is planned.
// Day 0 is arrival.
type Case struct {
	// Condition is what the question is about; nil means the rostrum worm.
	Condition *Condition `json:"-"`
	// Animals alive on day 0, 1 to 50,000.
	Animals int `json:"animals"`
	// Tanks: the first is the lot's, others are hospitals of the same lot.
	Tanks []Tank `json:"tanks"`
	// Infested is the chance that the lot arrived infested; nil means the
	// condition's default.
	Infested *float64 `json:"infested,omitempty"`
	Doses    []Dose   `json:"doses,omitempty"`
	Pulls    []Pulls  `json:"pulls,omitempty"`
	Exits    []Exit   `json:"exits,omitempty"`
	Moves    []Move   `json:"moves,omitempty"`
	Looks    []Look   `json:"looks,omitempty"`
	// Today is the day until which deaths are on record; after it they are drawn.
	Today float64 `json:"today"`
	// Days asked for, from 0 to 400.
	Days []float64 `json:"days"`
	// Bag is the number of animals in a bag; 0 means 10.
	Bag int `json:"bag,omitempty"`
	// Line is the chance of clear wanted for release; 0 means .95. Sharpen works
	// hardest where the answer is near it.
	Line float64 `json:"line,omitempty"`
	// Runs is how many lots are followed, 100 to 64,000; 0 means 4,000.
	Runs int    `json:"runs,omitempty"`
	Seed uint64 `json:"seed,omitempty"`
}

// Limits of a question.
const (
	maxAnimals = 50000
	maxDays    = 400
	maxRuns    = 64000
)

// prepared is a copy with defaults filled in, everything in order, and checked.
func (c *Case) prepared() (*Case, error) {
	n := *c
	if n.Condition == nil {
		cond, err := LoadCondition("rostrum_worm")
		if err != nil {
			return nil, err
		}
		n.Condition = cond
	}
	if n.Infested == nil {
		p := n.Condition.Infested.Mean()
		n.Infested = &p
	}
	n.Bag = cmp.Or(n.Bag, 10)
	n.Line = cmp.Or(n.Line, .95)
	n.Runs = cmp.Or(n.Runs, 4000)
	n.Looks = slices.Clone(n.Looks)
	slices.SortStableFunc(n.Looks, func(a, b Look) int { return cmp.Compare(a.Day, b.Day) })
	n.Days = slices.Clone(n.Days)
	slices.Sort(n.Days)
	n.Days = slices.Compact(n.Days)
	return &n, n.check()
}

func (c *Case) check() error {
	bad := func(field, hint, format string, args ...any) error { return ref.Inputf(field, hint, format, args...) }
	within := func(x, lo, hi float64) bool { return x >= lo && x <= hi }
	switch {
	case c.Animals < 1 || c.Animals > maxAnimals:
		return bad("animals", "Give how many were alive on day 0, 1 to 50000.", "a lot of %d animals", c.Animals)
	case len(c.Tanks) < 1 || len(c.Tanks) > 8:
		return bad("tanks", "Give the lot's tank, and hospitals if there are any.", "%d tanks", len(c.Tanks))
	case !within(*c.Infested, 0, 1):
		return bad("infested", "Give a chance from 0 to 1.", "%g is not a chance", *c.Infested)
	case len(c.Days) == 0 || !within(c.Days[0], 0, maxDays) || !within(c.Days[len(c.Days)-1], 0, maxDays):
		return bad("days", "Ask for days from 0 to 400 after arrival.", "no day, or a day out of range, was asked for")
	case len(c.Days) > maxDays+1:
		return bad("days", "Ask for at most one point a day.", "%d days were asked for", len(c.Days))
	case c.Bag < 1:
		return bad("bag", "Give the number of animals in a bag.", "a bag of %d", c.Bag)
	case !within(c.Line, 0.01, 0.9999):
		return bad("line", "Give the chance wanted for release, such as .95.", "%g is not a line", c.Line)
	case c.Runs < 100 || c.Runs > maxRuns:
		return bad("runs", "Give 100 to 64000.", "%d runs", c.Runs)
	case !within(c.Today, 0, maxDays):
		return bad("today", "Count days from arrival, at most 400.", "day %g", c.Today)
	case float64(c.Animals)*float64(len(c.Days))*float64(c.Runs) > 4e10:
		return bad("runs", "Ask for fewer runs or days for so large a lot.", "the question is too large")
	}
	for i, t := range c.Tanks {
		if !within(t.VolumeL, .1, 1e7) {
			return bad("tanks", "Give litres of water.", "tank %d holds %g litres", i, t.VolumeL)
		}
		for j, x := range t.Temp {
			if !within(x.TempC, 1, 40) || math.IsNaN(x.Day) || j > 0 && x.Day <= t.Temp[j-1].Day {
				return bad("temp", "Give days in order, each with 1 to 40 °C.", "tank %d has %g °C from day %g", i, x.TempC, x.Day)
			}
		}
	}
	return cmp.Or(c.checkEvents(), c.checkLooks())
}

func (c *Case) checkEvents() error {
	tank := func(i int) bool { return i >= 0 && i < len(c.Tanks) }
	day := func(d float64) bool { return d >= 0 && d <= maxDays }
	for _, d := range c.Doses {
		t, ok := c.Condition.Treatments[d.Treatment]
		switch {
		case !ok:
			return ref.Inputf("doses", "Use an id of the condition's treatments.", "%q is no treatment of the %s that the model knows", d.Treatment, c.Condition.Name)
		case !day(d.Day) || !(d.Days >= 0 && d.Days <= 60) || !tank(d.Tank) || !(d.Lost >= 0 && d.Lost <= 1):
			return ref.Inputf("doses", "Give day, length and the share lost (0 to 1).", "a dose on day %g for %g days in tank %d, %g lost", d.Day, d.Days, d.Tank, d.Lost)
		case t.Kind == "bath" && d.Days == 0:
			return ref.Inputf("doses", "Say how many days it lasted.", "the bath of day %g has no length", d.Day)
		case t.Kind == "dip" && d.Days > 0:
			return ref.Inputf("doses", "Leave the length of a dip empty.", "the dip of day %g lasts %g days", d.Day, d.Days)
		}
	}
	for _, p := range c.Pulls {
		if !(p.From >= 0 && p.To <= maxDays && p.From <= p.To+1) || p.PerDay < 0 || p.PerDay > 4 || !tank(p.Tank) {
			return ref.Inputf("pulls", "Give 0 to 4 pulls a day from one day to another.", "%d pulls a day from day %g to %g", p.PerDay, p.From, p.To)
		}
	}
	for _, x := range c.Exits {
		if !day(x.Day) || x.Animals < 0 || !tank(x.Tank) {
			return ref.Inputf("exits", "Give a day and how many.", "%d animals out on day %g", x.Animals, x.Day)
		}
	}
	for _, m := range c.Moves {
		if !day(m.Day) || m.Animals < 0 || !tank(m.From) || !tank(m.To) || m.From == m.To {
			return ref.Inputf("moves", "Give a day, how many, and two tanks.", "%d animals from tank %d to %d on day %g", m.Animals, m.From, m.To, m.Day)
		}
	}
	return nil
}

func (c *Case) checkLooks() error {
	for _, l := range c.Looks {
		both := 0
		if l.Both != nil {
			both = *l.Both
		}
		switch {
		case !(l.Day >= 0 && l.Day <= maxDays) || l.Tank < 0 || l.Tank >= len(c.Tanks):
			return ref.Inputf("looks", "Give a day from 0 to 400.", "a look on day %g in tank %d", l.Day, l.Tank)
		case l.Animals < 1 || l.Animals > c.Animals:
			return ref.Inputf("looks", "Give how many animals were looked at, at most all.", "%d of %d animals", l.Animals, c.Animals)
		case l.Worms < 0 || l.Worms > l.Animals || l.Eggs < 0 || l.Eggs > l.Animals || both < 0 || both > min(l.Worms, l.Eggs) || l.Both != nil && l.Worms+l.Eggs-both > l.Animals:
			return ref.Inputf("looks", "Count animals, not worms.", "of %d animals %d with worms, %d with eggs, %d with both", l.Animals, l.Worms, l.Eggs, both)
		case !(l.View >= 0 && l.View <= 1):
			return ref.Inputf("looks", "Give the share in view, 0 to 1.", "a view of %g", l.View)
		case l.Planned && (l.Worms > 0 || l.Eggs > 0):
			return ref.Inputf("looks", "Leave the counts of a planned look at 0.", "the look planned for day %g has found something", l.Day)
		case l.PositivesTo != nil && (*l.PositivesTo < -1 || *l.PositivesTo >= len(c.Tanks) || *l.PositivesTo == l.Tank):
			return ref.Inputf("looks", "Say -1 for out of the lot, or another tank.", "the animals with signs went to %d", *l.PositivesTo)
		}
	}
	return nil
}

// horizon is the last day that matters.
func (c *Case) horizon() float64 {
	h := c.Days[len(c.Days)-1]
	if n := len(c.Looks); n > 0 {
		h = max(h, c.Looks[n-1].Day)
	}
	return h
}

// trial lays the case out for runs up to a day: with the asked days and the
// looks until then.
func (c *Case) trial(until float64, days bool) *trial {
	index := map[string]int{}
	for i, id := range c.Condition.treatmentIDs() {
		index[id] = i
	}
	t := &trial{places: c.Animals, horizon: until + 2*evening, deathsKnown: c.Today,
		limit: c.Condition.Cap * max(1, (c.Animals+199)/200)}
	for i, tank := range c.Tanks {
		t.schedules = append(t.schedules, newSchedule(tank, i, c.Doses, c.Pulls, index, t.horizon))
	}
	t.events = events(c.Doses, c.Exits, c.Moves)
	var asked, looks []float64
	if days {
		for _, d := range c.Days {
			asked = append(asked, d+evening)
		}
	}
	for _, l := range c.Looks {
		if l.Day <= until {
			looks = append(looks, l.Day)
		}
		if !l.Planned {
			t.settled = math.Floor(l.Day) + 1
		}
	}
	t.asked, t.looks = newCalendar(asked, t.horizon), newCalendar(looks, t.horizon)
	return t
}
