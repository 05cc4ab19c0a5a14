package desk

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"holdfast"
	"holdfast/science/clearance"
	"holdfast/science/ref"
)

// CourseSeed is the seed of all planning: plans are compared on the same draws,
// and whoever computes a promise again gets the same figures.
const CourseSeed = 1

// CourseBase is a lot as a plan starts from it.
type CourseBase struct {
	*History
	Condition *clearance.Condition
	// ReleaseLine is the shop's.
	ReleaseLine clearance.ReleaseLine
	// From is the first day that a plan may still decide about.
	From holdfast.Day
}

// CourseAgainst is the condition a course of the lot would be against: the one
// that is asked for, or of those with a life cycle the least likely to be clear,
// found ones first. It is empty when none of them can be followed.
func CourseAgainst(v *LotView, asked string) string {
	best, chance, found := "", 2.0, false
	for _, a := range v.Assessed {
		id := a.Condition.ID
		if !slices.Contains(clearance.Conditions(), id) {
			continue
		}
		if id == asked {
			return id
		}
		f := a.Figure.Positive > 0
		if a.Why == "" && (f && !found || f == found && a.Figure.Chance < chance) || best == "" {
			best, chance, found = id, a.Figure.Chance, f
		}
	}
	return best
}

// Base lays the lot out for planning against a condition. What was done today
// counts once something that bears on the evidence was; until then a plan may
// still decide about today. Errors are those of [LifeCycle].
func (v *LotView) Base(condition string) (*CourseBase, error) {
	cond, err := LifeCondition(v.Case.Beliefs, condition)
	if err != nil {
		return nil, err
	}
	if cond == nil {
		return nil, &ref.NoAnswer{Reason: fmt.Sprintf("No life cycle is known of the %s, so no course can be worked out.", lower(Called(condition)))}
	}
	asOf := v.Today
	if arrived := holdfast.DayOf(v.Lot.OpenedAt, v.zone()); !v.bearing() && asOf > arrived {
		asOf--
	}
	h, err := LifeCycle(v.Case, cond, asOf)
	if err != nil {
		return nil, err
	}
	h.Seed = CourseSeed
	b := &CourseBase{History: h, Condition: cond, From: asOf + 1}
	if v.Shop.Line == holdfast.LineBag {
		b.ReleaseLine.BagRisk = v.Shop.BagLine
	} else {
		b.ReleaseLine.Clear, h.Case.Line = v.Shop.ClearLine, v.Shop.ClearLine
	}
	return b, nil
}

// zone is the site's.
func (v *LotView) zone() *time.Location {
	if v.Case.Zone != nil {
		return v.Case.Zone
	}
	return time.UTC
}

// bearing reports whether anything but the daily jobs was recorded of the lot
// today.
func (v *LotView) bearing() bool {
	start := v.Today.Start(v.zone())
	for i := len(v.Lot.Events) - 1; i >= 0 && v.Lot.Events[i].OccurredAt >= start; i-- {
		switch p := v.Lot.Events[i].Payload.(type) {
		case *holdfast.Treatment, *holdfast.Inspection, *holdfast.Removal, *holdfast.LotMoved, *holdfast.Counted, *holdfast.LotOpened, *holdfast.LotSplit:
			return true
		case *holdfast.Death:
			if p.Count > 0 {
				return true
			}
		}
	}
	return false
}

// Question asks about courses from here on.
func (b *CourseBase) Question(m CourseMoney, runs int) clearance.Question {
	c := b.Case
	c.Runs = runs
	q := clearance.Question{Case: c, Line: b.ReleaseLine, Costs: m.Costs, Prices: &m.Prices, Until: math.Min(math.Floor(c.Today)+1+m.Horizon, 400)}
	q.LookAnimals, q.LooksBefore = min(m.LookAnimals, c.Animals), []float64{14, 0}
	return q
}

// Day is the civil day of a day of the case.
func (b *CourseBase) Day(x float64) holdfast.Day { return b.Start + holdfast.Day(math.Floor(x+1e-9)) }

// At is where a civil day begins on the case's axis.
func (b *CourseBase) At(d holdfast.Day) float64 { return float64(d - b.Start) }

// Plan writes a course of the model with a release as a plan by civil day.
func (b *CourseBase) Plan(c clearance.Course, release float64) holdfast.CourseAccepted {
	p := holdfast.CourseAccepted{Condition: b.Condition.ID, Name: c.Name, Treatment: c.Treatment, BathDays: c.BathDays, Doses: []holdfast.Day{},
		PullsPerDay: c.PullsPerDay, PullFrom: b.From, PullUntil: b.Day(min(c.PullUntil, release)), Looks: []holdfast.CourseLook{}, Release: b.Day(release)}
	for i := range c.Doses {
		day := c.First + float64(i)*c.Gap
		if len(c.DoseDays) > 0 {
			day = c.DoseDays[i]
		}
		p.Doses = append(p.Doses, b.Day(day))
	}
	if len(p.Doses) == 0 {
		p.Treatment, p.BathDays = "", 0
	}
	if p.PullsPerDay == 0 {
		p.PullUntil = p.PullFrom
	}
	for _, day := range c.SkipPulls {
		if d := b.Start + holdfast.Day(day); d >= p.PullFrom && d <= p.PullUntil {
			p.SkipPulls = append(p.SkipPulls, d)
		}
	}
	for _, before := range c.LooksBefore {
		p.Looks = append(p.Looks, holdfast.CourseLook{Day: b.Day(release - before), Animals: c.LookAnimals})
	}
	slices.SortStableFunc(p.Looks, func(x, y holdfast.CourseLook) int { return int(x.Day - y.Day) })
	return p
}

// Course returns what is left of a plan from b.From on as the model reads it.
// Doses whose day has passed are left out: whoever gives them later plans anew.
func (b *CourseBase) Course(p holdfast.CourseAccepted) clearance.Course {
	c := clearance.Course{Name: p.Name, PullsPerDay: p.PullsPerDay, Release: b.At(p.Release), BathDays: p.BathDays}
	for _, d := range p.Doses {
		if d >= b.From {
			c.DoseDays = append(c.DoseDays, b.At(d))
		}
	}
	if c.Doses = len(c.DoseDays); c.Doses > 0 {
		c.Treatment = p.Treatment
	}
	if p.PullsPerDay > 0 {
		c.PullUntil = b.At(p.PullUntil) + Evening
		for day := b.From; day < p.PullFrom; day++ {
			c.SkipPulls = append(c.SkipPulls, int(b.At(day)))
		}
		for _, d := range p.SkipPulls {
			c.SkipPulls = append(c.SkipPulls, int(b.At(d)))
		}
	}
	for _, l := range p.Looks {
		if l.Day >= b.From && l.Day <= p.Release {
			c.LooksBefore = append(c.LooksBefore, float64(p.Release-l.Day))
			c.LookAnimals = min(max(c.LookAnimals, l.Animals), b.Animals)
		}
	}
	slices.SortFunc(c.LooksBefore, func(x, y float64) int {
		if x > y {
			return -1
		}
		return 1
	})
	return c
}

// Warmed returns the case with the temperature that a plan counts on from b.From
// on.
func (b *CourseBase) Warmed(c clearance.Case, tempC *float64) clearance.Case {
	if tempC == nil {
		return c
	}
	c.Tanks = slices.Clone(c.Tanks)
	t := &c.Tanks[0]
	from := b.At(b.From)
	before := slices.Clone(t.Temp)
	if len(before) == 0 && from > 0 {
		before = []clearance.TempFrom{{Day: 0, TempC: 24}}
	}
	t.Temp = append(slices.DeleteFunc(before, func(x clearance.TempFrom) bool { return x.Day >= from }), clearance.TempFrom{Day: from, TempC: *tempC})
	return c
}

// CourseView is a plan with what it would do.
type CourseView struct {
	Plan    holdfast.CourseAccepted
	Outlook clearance.Outlook
	// Line is the evidence line under the plan, on the days of [CourseBase.Line],
	// with its band and the answers for never and always; its looks count as having
	// found nothing. Nil until it is worked out: until then Outlook.Forecast is the
	// line.
	Line *clearance.Result
	// Model names the figures that it was worked out with.
	Model string
}

// At returns what release on the plan's day would mean.
func (c *CourseView) At() clearance.ReleaseDay {
	if n := len(c.Outlook.Days); n > 0 {
		return c.Outlook.Days[n-1]
	}
	return clearance.ReleaseDay{}
}

// Stand works out where the lot stands, from runs simulated lots: the part of
// every evaluation that no plan changes.
func (b *CourseBase) Stand(ctx context.Context, runs int) (*clearance.Standing, error) {
	c := b.Case
	c.Runs = runs
	return clearance.Stand(ctx, c)
}

// StandSoon is Stand from few lots, most of them followed by lot only, as far as one
// comes until soon ends.
func (b *CourseBase) StandSoon(ctx, soon context.Context, runs int) (*clearance.Standing, error) {
	c := b.Case
	c.Runs = runs
	return clearance.StandSoon(ctx, soon, c)
}

// Evaluate works out what a plan would do, without its line, on the lots of a
// standing; nil makes one of runs lots.
func (b *CourseBase) Evaluate(ctx context.Context, s *clearance.Standing, p holdfast.CourseAccepted, m CourseMoney, runs int) (*CourseView, error) {
	if err := b.checkPlan(p); err != nil {
		return nil, err
	}
	if s == nil {
		var err error
		if s, err = b.Stand(ctx, runs); err != nil {
			return nil, err
		}
	}
	q := b.Question(m, runs)
	q.Case = b.Warmed(q.Case, p.TempC)
	q.Candidates, q.Prices, q.Alone = []clearance.Course{b.Course(p)}, nil, true
	a, err := s.Compare(ctx, q, nil)
	if err != nil {
		return nil, asProblems(err)
	}
	return &CourseView{Plan: p, Outlook: a.Courses[0], Model: b.Condition.String()}, nil
}

// Line adds the plan's evidence line with its band, from runs lots.
func (b *CourseBase) Line(ctx context.Context, v *CourseView, runs int) (*CourseView, error) {
	c := b.Warmed(b.Case, v.Plan.TempC)
	course := b.Course(v.Plan)
	c, err := c.Apply(course, course.Release)
	if err != nil {
		return nil, asProblems(err)
	}
	c.Runs = runs
	c.Days = lineDays(c.Today, course)
	r, err := clearance.Evidence(ctx, c)
	if err != nil {
		return nil, asProblems(err)
	}
	out := *v
	out.Line = &r
	return &out, nil
}

// lineDays are the days for which a plan's line is drawn: every week, the days
// of its looks and their eves, and the release.
func lineDays(today float64, c clearance.Course) []float64 {
	days := []float64{today, c.Release}
	for day := math.Ceil(today) + 6; day < c.Release; day += 7 {
		days = append(days, day)
	}
	for _, before := range c.LooksBefore {
		if day := c.Release - before; day > today {
			days = append(days, day)
			if day-0.01 > today {
				days = append(days, day-0.01)
			}
		}
	}
	slices.Sort(days)
	return slices.Compact(days)
}

// checkPlan refuses what no course can be, each at its field.
func (b *CourseBase) checkPlan(p holdfast.CourseAccepted) error {
	var all holdfast.Problems
	add := func(field, message, hint string) {
		all = append(all, holdfast.Problem{Field: field, Message: message, Hint: hint})
	}
	if p.Release < b.From {
		add("release", fmt.Sprintf("%s is past.", ShortDay(p.Release)), "Choose a day from "+ShortDay(b.From)+" on.")
	} else if b.At(p.Release) > 400 {
		add("release", "That is more than 400 days after the lot came.", "Choose an earlier day.")
	}
	end := b.Day(b.Today)
	for _, d := range b.Doses {
		end = max(end, b.Day(d.Day+d.Days))
	}
	for i, d := range p.Doses {
		switch {
		case d < b.From:
			add("dose", fmt.Sprintf("%s is past.", ShortDay(d)), "A dose already given stands in the journal; plan those to come.")
		case i > 0 && d <= p.Doses[i-1]:
			add("dose", fmt.Sprintf("%s stands twice or out of order.", ShortDay(d)), "Give each dose its own day.")
		}
		end = max(end, d+holdfast.Day(math.Ceil(p.BathDays)))
	}
	if len(p.Doses) > 0 && p.Release >= b.From && p.Release < end {
		add("release", "The last dose ends on "+ShortDay(end)+".", "Choose a day after it.")
	}
	for _, l := range p.Looks {
		switch {
		case l.Day > p.Release:
			add("look", fmt.Sprintf("The look of %s comes after the release.", ShortDay(l.Day)), "Look before you release.")
		case l.Day < b.From:
			add("look", fmt.Sprintf("%s is past.", ShortDay(l.Day)), "Plan the looks to come.")
		case b.tooSoon(l.Day, p):
			add("look", fmt.Sprintf("On %s a bath still hides what it does not kill.", ShortDay(l.Day)), fmt.Sprintf("Look %g days or more after every bath.", SettleDays.Value))
		}
	}
	return all.Err()
}

// tooSoon says whether a look on a day comes too soon after a dose.
func (b *CourseBase) tooSoon(day holdfast.Day, p holdfast.CourseAccepted) bool {
	x := b.At(day)
	hides := func(from, days float64) bool { return from <= x && x < from+days+SettleDays.Value }
	return slices.ContainsFunc(p.Doses, func(d holdfast.Day) bool { return hides(b.At(d), p.BathDays) }) ||
		slices.ContainsFunc(b.Doses, func(d clearance.Dose) bool { return hides(d.Day, d.Days) })
}

// AcceptCourse makes a plan the lot's course, with what the desk promises of
// it. It takes the place of any course before; because says what changed, when
// it was planned anew.
func (d *Desk) AcceptCourse(ctx context.Context, by Actor, lot string, c *CourseView, because string) (holdfast.ID, error) {
	v, err := d.View(ctx, lot)
	if err != nil {
		return "", err
	}
	if v.Lot.Status != holdfast.Held && v.Lot.Status != holdfast.Recalled {
		return "", refused("Only a lot on hold can be put on a course.", "Hold it first.")
	}
	p := c.Plan
	p.Because = because
	p.Promise = c.promise(v.Shop)
	if v.Lot.Course != nil && v.Lot.Course.ID != by.ID {
		p.Replaces = v.Lot.Course.ID
	}
	if by.ID != "" { // sent twice: it replaces what the first sending replaced
		if ev, err := d.Store.Entry(ctx, by.ID); err == nil {
			if before, ok := ev.Payload.(*holdfast.CourseAccepted); ok {
				p.Replaces = before.Replaces
			}
		}
	}
	return d.writeFirst(ctx, by, note{lot, "", &p})
}

// promise is what is kept of a plan's figures.
func (c *CourseView) promise(s holdfast.ShopSet) holdfast.CoursePromise {
	day := c.At()
	unit := func(x float64) float64 { return min(max(x, 0), 1) }
	out := holdfast.CoursePromise{Clear: unit(day.Clear.Value), BagRisk: unit(day.BagRisk.Value), BagSize: s.BagSize, LooksClean: unit(day.LooksClean),
		Met: day.Met, Model: c.Model, Seed: CourseSeed, Runs: c.Outlook.Runs}
	out.Low, out.High = 0, 1 // without a line no band is known
	if c.Line != nil && len(c.Line.Mixed.Points) > 0 {
		n := len(c.Line.Mixed.Points)
		last := c.Line.Mixed.Points[n-1].Clear
		out.Low, out.High = unit(min(last.Low, out.Clear)), unit(max(last.High, out.Clear))
	}
	if cost := math.Round(day.Cost); cost > 0 && cost < 1e13 {
		out.Cost = &holdfast.Money{Minor: int64(cost), Currency: s.Currency}
	}
	return out
}

// StopCourse ends the lot's course: the round goes back to common practice.
func (d *Desk) StopCourse(ctx context.Context, by Actor, lot, reason string) (holdfast.ID, error) {
	l, err := d.Lot(ctx, lot)
	if err != nil {
		return "", err
	}
	if by.ID != "" {
		if ev, err := d.Store.Entry(ctx, by.ID); err == nil && ev.Kind == holdfast.KindCourseStopped {
			return by.ID, nil // sent twice
		}
	}
	if l.Course == nil {
		return "", refused("This lot is on no course.", "Nothing is left to stop.")
	}
	return d.writeFirst(ctx, by, note{lot, "", &holdfast.CourseStopped{Course: l.Course.ID, Reason: reason}})
}
