package web

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/chart"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/internal/web/work"
	"holdfast/science/clearance"
	"holdfast/science/ref"
)

// standIn is one course of the page: an outlook with the day that stands for it.
type standIn struct {
	pick, name string
	o          *clearance.Outlook
	day        clearance.ReleaseDay
	plan       holdfast.CourseAccepted
	never      *clearance.ReleaseDay
	always     *clearance.ReleaseDay
}

// fill gathers what the page shows.
func (c *coursed) fill(ctx context.Context, p *page.Course) error {
	for _, a := range c.v.Assessed {
		if id := a.Condition.ID; slices.Contains(clearance.Conditions(), id) {
			p.Against = append(p.Against, view.Sieve{Label: a.Condition.Name, URL: courseURL(c.v.Lot.ID) + "?against=" + id, Count: -1, Current: id == c.base.Condition.ID})
		}
	}
	st := c.searched(ctx, firstWait)
	answer, _ := st.Value.(*clearance.Answer)
	if err := st.Err; err != nil {
		var none *ref.NoAnswer
		if errors.As(err, &none) {
			p.None = none.Reason
			return nil
		}
		return err
	}
	p.Busy = c.busy(st)
	rows := c.rows(answer, st.Ended)
	own, f, err := c.own(ctx, p, rows, answer)
	if err != nil {
		return err
	}
	rows = own
	p.Headline, p.Met = c.headline(answer, st)
	c.draw(p, rows)
	if answer != nil && len(answer.WaysOut) > 0 {
		c.exits(p, answer)
	}
	if answer != nil {
		p.Practice = c.practice(answer, st.Ended)
	}
	if err := c.picked(ctx, p, rows, f); err != nil {
		return err
	}
	if p.Money, err = c.moneyAct(); err != nil {
		return err
	}
	if c.v.Lot.Course != nil {
		a, err := c.s.act(c.v.Lot.ID, "course/stop", "Stop this course", "Stop the course", c.tried, page.Part{As: page.AsText, Field: view.Field{Name: "reason", Label: "Why", Max: 500, Wide: true}})
		if err != nil {
			return err
		}
		a.Lead = "The round goes back to common practice. The course stays in the journal."
		p.Stop = &a
	}
	p.Notes = c.base.Notes
	p.FiguresURL = beliefsURL(c.base.Condition.ID)
	p.Computed = c.computed(p)
	return c.changed(ctx, p)
}

// busy says how far the search is; nil when it has ended by itself.
func (c *coursed) busy(st work.State) *page.CourseBusy {
	if st.Ended && !st.Cancelled {
		return nil
	}
	against := view.Pair{Name: "against", Value: c.base.Condition.ID}
	b := &page.CourseBusy{Done: st.Done, Total: st.Total, Stopped: st.Cancelled, Reload: courseURL(c.v.Lot.ID) + "?" + c.query.Encode(),
		Cancel: view.Form{Action: courseURL(c.v.Lot.ID) + "/cancel", Class: "plain", Hidden: []view.Pair{against}},
		Again:  view.Form{Action: courseURL(c.v.Lot.ID) + "/cancel", Class: "plain", Hidden: []view.Pair{against, {Name: "again", Value: "1"}}}}
	switch {
	case st.Cancelled:
		b.Say = "The search was stopped. These are the courses tried by then; they may be some points off."
	case st.Value == nil:
		b.Say = "Trying the first courses."
	case st.Total > 0:
		b.Say = fmt.Sprintf("Searching: %d of at least %d courses tried.", st.Done, st.Total)
	default:
		b.Say = "A first, rough answer. The search begins."
	}
	return b
}

// dayOf picks the day of an outlook that stands for it.
func dayOf(o *clearance.Outlook, cheapest bool) (clearance.ReleaseDay, bool) {
	switch {
	case cheapest && o.Cheapest != nil:
		return *o.Cheapest, true
	case o.Earliest != nil:
		return *o.Earliest, true
	case o.Best != nil:
		return *o.Best, true
	}
	return clearance.ReleaseDay{}, false
}

// rows are the courses that stand side by side: the earliest, the cheapest and
// the usual practice.
func (c *coursed) rows(a *clearance.Answer, ended bool) []standIn {
	if a == nil {
		return nil
	}
	var out []standIn
	add := func(pick, name string, o *clearance.Outlook, cheapest bool) {
		if o == nil {
			return
		}
		day, ok := dayOf(o, cheapest)
		if !ok {
			return
		}
		s := standIn{pick: pick, name: name, o: o, day: day, plan: c.base.Plan(o.Course, day.Day)}
		s.plan.Name = name
		for i := range a.Finalists {
			if f := &a.Finalists[i]; &f.Mixed == o {
				s.never, s.always = on(&f.Never, day.Day), on(&f.Always, day.Day)
			}
		}
		out = append(out, s)
	}
	first := "Earliest release"
	if !a.Reached {
		first = "Greatest chance"
	}
	same := a.Earliest == a.Cheapest && a.Earliest != nil && a.Reached && sameDay(a.Earliest)
	if same {
		first += ", and the cheapest"
	}
	add("earliest", first, a.Earliest, false)
	if !same {
		add("cheapest", "Least expected cost", a.Cheapest, true)
	}
	for i := range a.Practice {
		add(fmt.Sprintf("practice%d", i+1), words.Capital(a.Practice[i].Course.Name), &a.Practice[i], false)
	}
	return out
}

func sameDay(o *clearance.Outlook) bool {
	return o.Earliest != nil && o.Cheapest != nil && o.Earliest.Day == o.Cheapest.Day
}

// on is the day of an outlook, nil if it was not asked.
func on(o *clearance.Outlook, day float64) *clearance.ReleaseDay {
	for i := range o.Days {
		if o.Days[i].Day == day {
			return &o.Days[i]
		}
	}
	return nil
}

// own puts the person's plan and the accepted one before the others, evaluated.
func (c *coursed) own(ctx context.Context, p *page.Course, rows []standIn, a *clearance.Answer) ([]standIn, *form.Form, error) {
	var f *form.Form
	evaluate := func(pick, name string, plan holdfast.CourseAccepted) error {
		v, st := c.evaluated(ctx, plan)
		var wrong holdfast.Problems
		switch {
		case errors.As(st.Err, &wrong) && f != nil:
			f.Take(wrong)
			return nil
		case errors.As(st.Err, &wrong): // the accepted plan can no longer be followed; what changed says why
			return nil
		case st.Err != nil:
			return st.Err
		case v != nil:
			v.Plan.Name = plan.Name
			rows = slices.Insert(rows, 0, standIn{pick: pick, name: name, o: &v.Outlook, day: v.At(), plan: v.Plan})
		}
		return nil
	}
	if l := c.v.Lot; l.Course != nil {
		plan := *l.Course.Payload.(*holdfast.CourseAccepted)
		if plan.Condition == c.base.Condition.ID && plan.Release >= c.base.From {
			plan = c.base.Remaining(plan)
			if err := evaluate("now", "The course it is on", plan); err != nil {
				return rows, f, err
			}
		}
	}
	if c.query.Get("own") != "" {
		f = form.New(c.query)
		if c.tried.what == "accept" && c.tried.form != nil {
			f = c.tried.form
		}
		plan := c.readPlan(f)
		if f.OK() {
			if plan.Name == "" || slices.ContainsFunc(rows, func(s standIn) bool { return s.name == plan.Name }) {
				plan.Name = "Your own"
			}
			if err := evaluate("own", "Your own", plan); err != nil {
				return rows, f, err
			}
		}
	}
	return rows, f, nil
}

func (c *coursed) headline(a *clearance.Answer, st work.State) (string, bool) {
	name := words.MidSentence(c.base.Condition.Name)
	line := c.lineSays()
	switch {
	case a == nil:
		return "Working out a first answer.", true
	case a.Earliest == nil || a.Earliest.Best == nil:
		return "No course can be looked at and released within " + words.Plural(int(c.money.Horizon), "day", "days") + ".", false
	case a.Reached:
		d := a.Earliest.Earliest
		s := fmt.Sprintf("The earliest release that reaches %s of the %s is %s, day %.0f: %s likely clear.", line, name, desk.ShortDay(c.base.Day(d.Day)), d.Day, words.Percent(d.Clear.Value))
		if !st.Ended || st.Cancelled {
			s = "So far: " + words.MidSentence(s) + " " + sofar(a.Earliest, d)
		}
		return s, true
	}
	b := a.Earliest.Best
	s := fmt.Sprintf("No course reaches %s of the %s by %s. The best there is gives %s likely clear on %s; the other ways out stand below.", line, name,
		desk.ShortDay(c.base.From+holdfast.Day(c.money.Horizon)), words.Percent(b.Clear.Value), desk.ShortDay(c.base.Day(b.Day)))
	if !st.Ended || st.Cancelled {
		s = "So far no course reaches " + line + fmt.Sprintf("; the best tried gives %s likely clear on %s.", words.Percent(b.Clear.Value), desk.ShortDay(c.base.Day(b.Day))) + " " + sofar(a.Earliest, b)
	}
	return s, false
}

// sofar says how rough an answer is that will get sharper.
func sofar(o *clearance.Outlook, d *clearance.ReleaseDay) string {
	return fmt.Sprintf("From %s simulated lots, give or take %s.", words.Int(o.Runs), giveOrTake(d.Clear))
}

// giveOrTake is the error of a chance as people say it, 19 times of 20.
func giveOrTake(x clearance.Share) string {
	return words.Plural(max(1, int(math.Ceil(196*x.SE))), "point", "points")
}

func (c *coursed) lineSays() string {
	if c.base.ReleaseLine.BagRisk > 0 {
		return fmt.Sprintf("your line (at most %s of bags of %d carrying it)", words.Percent(c.base.ReleaseLine.BagRisk), c.v.Shop.BagSize)
	}
	return "your line of " + words.Percent(c.base.ReleaseLine.Clear)
}

// draw lays the rows on one axis and into the table.
func (c *coursed) draw(p *page.Course, rows []standIn) {
	if len(rows) == 0 {
		return
	}
	b := c.base
	axis := chart.Courses{Start: b.Start.Date(), From: b.At(b.From)}
	for _, r := range rows {
		axis.To = max(axis.To, b.At(r.plan.Release)+2, b.At(r.plan.PullUntil))
	}
	p.Axis = axis.Axis()
	pick := c.pickOf(rows)
	t := view.Ledger{Caption: "Courses side by side", Fold: true, Columns: []view.Column{{Label: "Course"}, {Label: "Release", Num: true}, {Label: "Likely clear", Num: true},
		{Label: "Carrying, of 100 bags", Num: true}, {Label: "Looks all clean", Num: true}, {Label: "Expected cost", Num: true}, {Label: "Doses", Num: true}, {Label: "Animals looked at", Num: true}, {Label: "Pulls", Num: true}, {Label: "Deaths expected", Num: true}}}
	for _, r := range rows {
		row := page.CourseRow{Name: r.name, Lane: axis.Lane(r.name, c.lane(r)), Picked: r.pick == pick, Needs: !r.day.Met, URL: c.pickURL(r.pick),
			Figures: fmt.Sprintf("%s: %s likely clear, %s of 100 bags of %d carry it", desk.ShortDay(r.plan.Release), words.Percent(r.day.Clear.Value), words.OfHundred(r.day.BagRisk.Value), c.v.Shop.BagSize),
			Plan:    c.planSays(r)}
		p.Rows = append(p.Rows, row)
		t.Rows = append(t.Rows, []view.Cell{{Text: r.name}, {Text: desk.ShortDay(r.plan.Release), Reck: true, Needs: !r.day.Met, Below: metSays(r.day.Met)},
			{Text: words.Percent(r.day.Clear.Value), Reck: true, Below: hatchSays(r)}, {Text: words.OfHundred(r.day.BagRisk.Value), Reck: true}, {Text: words.Percent(r.day.LooksClean), Reck: true},
			{Text: words.Money(int64(math.Round(r.day.Cost)), c.v.Shop.Currency), Reck: true}, {Text: words.Int(len(r.plan.Doses))}, {Text: words.Int(lookedAt(r.plan))}, {Text: words.Int(pullsOf(r.plan))},
			{Text: words.Number(r.day.Deaths, 0), Reck: true}})
	}
	p.Table = t
}

func metSays(met bool) string {
	if met {
		return "at the line"
	}
	return "below the line"
}

func hatchSays(r standIn) string {
	if r.never == nil || r.always == nil {
		return ""
	}
	return fmt.Sprintf("eggs hatch on the animal never: %s, always: %s", words.Percent(r.never.Clear.Value), words.Percent(r.always.Clear.Value))
}

func lookedAt(p holdfast.CourseAccepted) int {
	n := 0
	for _, l := range p.Looks {
		n += l.Animals
	}
	return n
}

func pullsOf(p holdfast.CourseAccepted) int {
	if p.PullsPerDay == 0 {
		return 0
	}
	days := int(p.PullUntil-p.PullFrom) + 1
	for _, d := range p.SkipPulls {
		if d >= p.PullFrom && d <= p.PullUntil {
			days--
		}
	}
	return max(0, days) * p.PullsPerDay
}

// planSays is a plan in one line.
func (c *coursed) planSays(r standIn) string {
	p := r.plan
	var parts []string
	if n := len(p.Doses); n > 0 {
		var days []string
		for _, d := range p.Doses {
			days = append(days, words.ShortDay(d.Date()))
		}
		parts = append(parts, words.Plural(n, "dose", "doses")+" ("+strings.Join(days, ", ")+")")
	} else {
		parts = append(parts, "no dose")
	}
	if p.PullsPerDay > 0 {
		parts = append(parts, fmt.Sprintf("%s a day to %s", words.Plural(p.PullsPerDay, "pull", "pulls"), words.ShortDay(p.PullUntil.Date())))
	} else {
		parts = append(parts, "no pulls")
	}
	if n := len(p.Looks); n > 0 {
		parts = append(parts, fmt.Sprintf("%s at %s, all clean with a chance of %s", words.Plural(n, "look", "looks"), words.Int(p.Looks[0].Animals), words.Percent(r.day.LooksClean)))
	} else {
		parts = append(parts, "no look")
	}
	parts = append(parts, fmt.Sprintf("expected to cost %s and %s", words.Money(int64(math.Round(r.day.Cost)), c.v.Shop.Currency), words.Plural(int(math.Round(r.day.Deaths)), "death", "deaths")))
	return words.Capital(strings.Join(parts, "; ") + ".")
}

// lane is a plan as the axis draws it.
func (c *coursed) lane(r standIn) chart.Course {
	b := c.base
	x := chart.Course{Release: b.At(r.plan.Release), Met: r.day.Met, PerDay: r.plan.PullsPerDay}
	for _, d := range r.plan.Doses {
		x.Baths = append(x.Baths, chart.Bath{From: b.At(d), To: b.At(d) + max(r.plan.BathDays, .4), Standing: chart.Planned})
	}
	if r.plan.PullsPerDay > 0 {
		for d := r.plan.PullFrom; d <= r.plan.PullUntil; d++ {
			if !slices.Contains(r.plan.SkipPulls, d) {
				x.Pulls = append(x.Pulls, b.At(d))
			}
		}
	}
	for _, l := range r.plan.Looks {
		x.Looks = append(x.Looks, chart.Look{Day: b.At(l.Day), Animals: l.Animals, Standing: chart.Planned})
	}
	return x
}

// pickOf is the row that is shown in full: the one asked for, the person's own,
// or the first.
func (c *coursed) pickOf(rows []standIn) string {
	want := c.query.Get("pick")
	if c.query.Get("own") != "" {
		want = "own"
	}
	for _, r := range rows {
		if r.pick == want {
			return want
		}
	}
	for _, r := range rows {
		if r.pick != "own" {
			return r.pick
		}
	}
	return ""
}

func (c *coursed) pickURL(pick string) string {
	u := courseURL(c.v.Lot.ID) + "?against=" + c.base.Condition.ID + "&pick=" + pick
	if pick == "own" {
		u = courseURL(c.v.Lot.ID) + "?" + c.query.Encode()
	}
	return u + "#picked"
}
