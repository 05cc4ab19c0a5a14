package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"holdfast"
	"holdfast/science/clearance"
)

// Deviation is where reality left an accepted course.
type Deviation struct {
	// Says is one sentence.
	Says string
	// Find says that a look of the course found signs: the course has to begin anew.
	Find bool
}

// Deviations tells what of the lot's course did not go as planned until the end
// of yesterday, and what was found until now. None means that the plan holds.
func (v *LotView) Deviations() []Deviation {
	c, ok := coursePlan(v.Lot)
	if !ok {
		return nil
	}
	on := func(at holdfast.Micros) holdfast.Day { return holdfast.DayOf(at, v.zone()) }
	var out []Deviation
	say := func(find bool, format string, args ...any) {
		out = append(out, Deviation{fmt.Sprintf(format, args...), find})
	}
	if days := v.missedPulls(c, on); len(days) > 0 {
		say(false, "Pulls were missed on %s.", dayList(days))
	}
	for i, d := range CourseDoses(v.Lot) {
		n := fmt.Sprintf("Dose %d of %d", i+1, len(c.Doses))
		switch {
		case d.Left != nil:
			say(false, "%s was left out.", n)
		case d.Given == nil && d.Planned < v.Today:
			say(false, "%s, planned for %s, has not been given.", n, ShortDay(d.Planned))
		case d.Given != nil:
			p := d.Given.Payload.(*holdfast.Treatment)
			if late := on(d.Given.OccurredAt) - d.Planned; late != 0 {
				say(false, "%s was given on %s, %s.", n, ShortDay(on(d.Given.OccurredAt)), lateSays(int(late)))
			}
			if p.Held == holdfast.HeldPartial {
				say(false, "%s held its conditions in part only.", n)
			}
		}
	}
	for i, l := range CourseLooks(v.Lot, on) {
		n := fmt.Sprintf("Look %d of %d", i+1, len(c.Looks))
		switch {
		case l.Left != nil:
			say(false, "%s was left out.", n)
		case l.Made == nil && l.Day < v.Today:
			say(false, "%s, planned for %s, has not been made.", n, ShortDay(l.Day))
		case l.Made != nil:
			if p := l.Made.Payload.(*holdfast.Inspection); len(p.Animals) < l.Animals {
				say(false, "%s was at %d animals instead of %d.", n, len(p.Animals), l.Animals)
			}
		}
	}
	for _, ev := range v.Lot.Events {
		p, ok := ev.Payload.(*holdfast.Inspection)
		if !ok || ev.OccurredAt < v.Lot.Course.OccurredAt {
			continue
		}
		if s := eyes(v.Case.Sight).seenOf(p, nil, c.Condition); s.carriers > 0 {
			say(true, "Signs were found on %d of %d on %s.", s.carriers, s.looked, ShortDay(on(ev.OccurredAt)))
		}
	}
	if c.Release < v.Today {
		say(false, "The day of release, %s, is past.", ShortDay(c.Release))
	}
	return out
}

// Remaining is what is left of an accepted plan.
func (b *CourseBase) Remaining(c holdfast.CourseAccepted) holdfast.CourseAccepted {
	c.Doses = slices.DeleteFunc(slices.Clone(c.Doses), func(d holdfast.Day) bool { return d < b.From })
	c.Looks = slices.DeleteFunc(slices.Clone(c.Looks), func(l holdfast.CourseLook) bool { return l.Day < b.From })
	if len(c.Doses) == 0 {
		c.Treatment, c.BathDays = "", 0
	}
	c.PullFrom = max(c.PullFrom, b.From)
	c.PullUntil = max(c.PullUntil, c.PullFrom)
	return c
}

func lateSays(days int) string {
	switch {
	case days == 1:
		return "a day late"
	case days == -1:
		return "a day early"
	case days < 0:
		return fmt.Sprintf("%d days early", -days)
	}
	return fmt.Sprintf("%d days late", days)
}

// missedPulls lists the planned days until yesterday on which fewer pulls were
// made in the lot's first tank than planned.
func (v *LotView) missedPulls(c *holdfast.CourseAccepted, on func(holdfast.Micros) holdfast.Day) []holdfast.Day {
	if c.PullsPerDay == 0 {
		return nil
	}
	made := map[holdfast.Day]int{}
	for _, ev := range v.Lot.Events {
		if _, ok := ev.Payload.(*holdfast.MoultPull); ok && (ev.Tank == "" || ev.Tank == firstTank(v.Lot)) {
			made[on(ev.OccurredAt)]++
		}
	}
	var out []holdfast.Day
	for d := c.PullFrom; d < v.Today && d <= c.PullUntil; d++ {
		if made[d] < c.PullsPerDay && !slices.Contains(c.SkipPulls, d) {
			out = append(out, d)
		}
	}
	return out
}

// dayList names days as people do; many are counted.
func dayList(days []holdfast.Day) string {
	if n := len(days); n > 4 {
		return fmt.Sprintf("%d days, the last %s", n, ShortDay(days[n-1]))
	}
	var all []string
	for _, d := range days {
		all = append(all, d.Date().Format("2 Jan"))
	}
	return list(all)
}

// Replan is an accepted course as reality left it, and what to do instead.
type Replan struct {
	Deviations []Deviation
	Promise    holdfast.CoursePromise
	// Standing is what is left of the accepted plan, evaluated now; nil when it
	// cannot be followed any more (its release is past, or a dose is overdue).
	Standing *clearance.ReleaseDay
	// Proposal is the plan made anew, nil when none could be found.
	Proposal *CourseView
}

// Because says what changed, for the entry that accepts the proposal.
func (r *Replan) Because() string {
	var all []string
	for _, d := range r.Deviations {
		all = append(all, d.Says)
	}
	s := strings.Join(all, " ")
	if len(s) > 1900 {
		s = s[:1900] + " …"
	}
	return s
}

// Replan works out what an accepted course is worth after what really happened,
// and the plan that makes the best of it: doses that are overdue today, those
// after them at their old distance, one more if that helps; a find begins the
// whole course anew. b is the lot's [LotView.Base] against the course's condition.
// It returns nil when everything went as planned.
func (v *LotView) Replan(ctx context.Context, b *CourseBase, m CourseMoney, runs int) (*Replan, error) {
	dev := v.Deviations()
	c, ok := coursePlan(v.Lot)
	if !ok || len(dev) == 0 {
		return nil, nil
	}
	r := &Replan{Deviations: dev, Promise: c.Promise}
	q := b.Question(m, runs)
	q.Case = b.Warmed(q.Case, c.TempC)
	q.Prices, q.Alone = nil, true
	left := b.Course(*c)
	whole := c.Release >= b.From && !slices.ContainsFunc(CourseDoses(v.Lot), func(d CourseDose) bool {
		return d.Given == nil && d.Left == nil && d.Planned < b.From
	}) && b.checkPlan(b.Remaining(*c)) == nil
	if whole {
		q.Candidates = append(q.Candidates, left)
	}
	anew := v.anew(b, c, slices.ContainsFunc(dev, func(d Deviation) bool { return d.Find }))
	q.Candidates = append(q.Candidates, anew...)
	q.Until = min(max(q.Until, b.At(c.Release)+60), 400)
	a, err := clearance.Compare(ctx, q, nil)
	if err != nil {
		return nil, err
	}
	tried := a.Courses
	if whole {
		if n := len(tried[0].Days); n > 0 {
			r.Standing = &tried[0].Days[n-1]
		}
		tried = tried[1:]
	}
	best := -1
	for i := range tried {
		if tried[i].Best != nil && (best < 0 || earlier(&tried[i], &tried[best])) {
			best = i
		}
	}
	if best < 0 {
		return r, nil
	}
	day := tried[best].Best.Day
	if tried[best].Earliest != nil {
		day = tried[best].Earliest.Day
	}
	p := b.Plan(tried[best].Course, day)
	p.Name, p.TempC = c.Name, c.TempC
	r.Proposal, err = b.Evaluate(ctx, nil, p, m, runs)
	return r, err
}

// earlier says whether a course reaches the line earlier than another, or comes
// nearer to it where neither does.
func earlier(a, b *clearance.Outlook) bool {
	switch {
	case a.Earliest != nil && b.Earliest != nil:
		return a.Earliest.Day < b.Earliest.Day || a.Earliest.Day == b.Earliest.Day && len(a.Starts) < len(b.Starts)
	case a.Earliest != nil || b.Earliest != nil:
		return a.Earliest != nil
	}
	return a.Best.Clear.Value > b.Best.Clear.Value+.005
}

// anew is what may be done instead: the doses that are left at their old
// distance, and the same with one more.
func (v *LotView) anew(b *CourseBase, c *holdfast.CourseAccepted, find bool) []clearance.Course {
	gap := holdfast.Day(14)
	if n := len(c.Doses); n > 1 {
		gap = max(c.Doses[n-1]-c.Doses[n-2], 1)
	}
	var doses []holdfast.Day
	next := b.From
	for _, d := range b.Doses { // not on top of one that was just given
		next = max(next, b.Day(d.Day)+min(gap, 7))
	}
	if find {
		for i := range c.Doses {
			doses = append(doses, next+holdfast.Day(i)*gap)
		}
	} else {
		doses = v.stillToGive(b, c)
	}
	one := clearance.Course{Name: c.Name, Treatment: c.Treatment, BathDays: c.BathDays, PullsPerDay: c.PullsPerDay}
	if n := len(c.Looks); n > 0 {
		one.LookAnimals = min(c.Looks[n-1].Animals, b.Animals)
		one.LooksBefore = []float64{14, 0}
		if n == 1 {
			one.LooksBefore = []float64{0}
		}
	}
	with := func(days []holdfast.Day) clearance.Course {
		x := one
		for _, d := range days {
			x.DoseDays = append(x.DoseDays, b.At(d))
		}
		if x.Doses = len(days); x.Doses == 0 {
			x.Treatment, x.BathDays = "", 0
		}
		if x.PullsPerDay > 0 && x.Doses == 0 {
			x.PullUntil = max(b.At(c.PullUntil), b.At(b.From)+14)
		}
		return x
	}
	out := []clearance.Course{with(doses)}
	if c.Treatment == "" {
		return out
	}
	last := next
	if n := len(doses); n > 0 {
		last = doses[n-1] + gap
	} else {
		for _, d := range b.Doses {
			last = max(last, b.Day(d.Day)+gap)
		}
	}
	return append(out, with(append(slices.Clone(doses), last)))
}

// stillToGive are the doses that wait: an overdue one today, those after it at
// the distance they were planned at from whatever came before them.
func (v *LotView) stillToGive(b *CourseBase, c *holdfast.CourseAccepted) []holdfast.Day {
	var out []holdfast.Day
	var before, plannedBefore holdfast.Day
	for _, d := range CourseDoses(v.Lot) {
		if d.Left != nil {
			continue
		}
		at := d.Planned
		if before != 0 {
			at = before + d.Planned - plannedBefore
		}
		plannedBefore = d.Planned
		if d.Given != nil {
			before = holdfast.DayOf(d.Given.OccurredAt, v.zone())
			continue
		}
		at = max(at, b.From)
		out = append(out, at)
		before = at
	}
	return out
}
