package web

import (
	"context"
	"fmt"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/internal/web/work"
)

// changed fills in what reality did to the accepted course, and the plan made
// anew.
func (c *coursed) changed(ctx context.Context, p *page.Course) error {
	plan, ok := c.onCourse()
	if !ok || plan.Condition != c.base.Condition.ID {
		return nil
	}
	change, err := c.change(ctx, max(time.Until(c.until), 20*time.Millisecond))
	p.Changed = change
	return err
}

func (c *coursed) onCourse() (*holdfast.CourseAccepted, bool) {
	if c.v.Lot.Course == nil {
		return nil, false
	}
	p, ok := c.v.Lot.Course.Payload.(*holdfast.CourseAccepted)
	return p, ok
}

// change is how reality left the course, nil when it went as planned. The plan
// made anew is worked out beside the page.
func (c *coursed) change(ctx context.Context, wait time.Duration) (*page.CourseChange, error) {
	dev := c.v.Deviations()
	if len(dev) == 0 {
		return nil, nil
	}
	out := &page.CourseChange{}
	for _, d := range dev {
		out.Says = append(out.Says, d.Says)
	}
	key := "replan/" + c.key + "/" + string(c.v.Lot.Course.ID)
	v, b, m := c.v, c.base, c.money
	st := c.s.searches.Do(key, wait > 0, func(ctx context.Context, _ work.Tell) (any, error) { return v.Replan(ctx, b, m, c.s.Runs) })
	if wait > 0 {
		st = c.s.searches.Wait(ctx, key, wait, func(work.State) bool { return false })
	}
	if st.Err != nil {
		return out, st.Err
	}
	r, _ := st.Value.(*desk.Replan)
	if r == nil {
		out.Waits = "A new plan is being worked out."
		return out, nil
	}
	promised := fmt.Sprintf("%s likely clear on %s were promised", words.Percent(r.Promise.Clear), desk.ShortDay(c.release()))
	switch {
	case r.Standing != nil:
		out.Now = fmt.Sprintf("%s; what is left of the plan now gives %s.", promised, words.Percent(r.Standing.Clear.Value))
	default:
		out.Now = promised + "; the plan cannot be followed as it is."
	}
	if r.Proposal == nil {
		out.New = "No new plan could be found within the days looked ahead."
		return out, nil
	}
	np := r.Proposal.Plan
	day := r.Proposal.At()
	out.New = fmt.Sprintf("Planned anew: %s, release on %s at %s likely clear.", dosesSay(np), desk.ShortDay(np.Release), words.Percent(day.Clear.Value))
	if !day.Met {
		out.New += " The line is not reached."
	}
	a, err := c.accept(np, r.Because(), "Accept the new plan")
	if err != nil {
		return nil, err
	}
	out.Accept = &a
	out.See = courseURL(c.v.Lot.ID) + "?" + planValues(np).Encode() + "#picked"
	return out, nil
}

func (c *coursed) release() holdfast.Day {
	p, _ := c.onCourse()
	return p.Release
}

func dosesSay(p holdfast.CourseAccepted) string {
	n := len(p.Doses)
	if n == 0 {
		return "no further dose"
	}
	s := words.Plural(n, "dose", "doses") + " from " + words.ShortDay(p.Doses[0].Date())
	if n > 1 {
		s += fmt.Sprintf(", %s apart", words.Plural(int(p.Doses[1]-p.Doses[0]), "day", "days"))
	}
	return s
}

// lotChange is the notice on the lot's own page: nil without a course, or while
// it goes as planned.
func (s *Server) lotChange(ctx context.Context, v *desk.LotView) (*page.CourseChange, error) {
	if v.Lot.Course == nil || (v.Lot.Status != holdfast.Held && v.Lot.Status != holdfast.Recalled) || len(v.Deviations()) == 0 {
		return nil, nil
	}
	c := &coursed{s: s, v: v, today: v.Today}
	plan, ok := c.onCourse()
	if !ok {
		return nil, nil
	}
	var err error
	if c.base, err = v.Base(plan.Condition); err != nil {
		return &page.CourseChange{Says: []string{err.Error()}, See: courseURL(v.Lot.ID)}, nil
	}
	c.money = desk.Money(v)
	if c.key, err = c.keyOf(); err != nil {
		return nil, err
	}
	return c.change(ctx, 0)
}

// missPrices are what missing each task of a lot's course would cost, as far as
// that has been worked out beside the pages: by kind and day.
func (s *Server) missPrices(v *desk.LotView) map[string]desk.MissPrice {
	c := &coursed{s: s, v: v, today: v.Today}
	plan, ok := c.onCourse()
	if !ok {
		return nil
	}
	var err error
	if c.base, err = v.Base(plan.Condition); err != nil {
		return nil
	}
	if c.key, err = c.keyOf(); err != nil {
		return nil
	}
	st := s.searches.Do("miss/"+c.key+"/"+string(v.Lot.Course.ID), false, func(ctx context.Context, _ work.Tell) (any, error) {
		prices, err := v.MissPrices(ctx, c.base, s.Runs)
		by := map[string]desk.MissPrice{}
		for _, p := range prices {
			by[missKey(p.Kind, p.Day)] = p
		}
		return by, err
	})
	by, _ := st.Value.(map[string]desk.MissPrice)
	return by
}

func missKey(kind desk.TaskKind, day holdfast.Day) string { return string(kind) + "/" + day.String() }

// course says what the lot's course plans from today on.
func (b *lotBuild) course(context.Context) ([]page.Fact, error) {
	l := b.v.Lot
	if l.Course == nil || l.Status == holdfast.Closed {
		return nil, nil
	}
	p, ok := l.Course.Payload.(*holdfast.CourseAccepted)
	if !ok {
		return nil, nil
	}
	fact := func(m view.Mark, name, says string) page.Fact { return page.Fact{Mark: m, Name: name, Says: says} }
	var out []page.Fact
	step := func(name string, done, left *holdfast.Event, doneSays string, day holdfast.Day, ahead string) {
		switch {
		case done != nil:
			out = append(out, fact(view.Done, name, doneSays+" on "+words.Day(done.OccurredAt.In(b.zone))+"."))
		case left != nil:
			out = append(out, fact(view.Unlooked, name, "left out."))
		case day < b.v.Today:
			out = append(out, fact(view.Late, name, "was planned for "+words.Day(day.Date())+"."))
		default:
			out = append(out, fact(view.Half, name, words.Day(day.Date())+ahead+"."))
		}
	}
	for i, d := range desk.CourseDoses(l) {
		step(fmt.Sprintf("Dose %d of %d", i+1, len(p.Doses)), d.Given, d.Left, "given", d.Planned, "")
	}
	for i, x := range desk.CourseLooks(l, func(m holdfast.Micros) holdfast.Day { return holdfast.DayOf(m, b.zone) }) {
		step(fmt.Sprintf("Look %d of %d", i+1, len(p.Looks)), x.Made, x.Left, "made", x.Day, ", at "+words.Plural(x.Animals, "animal", "animals"))
	}
	if p.PullsPerDay > 0 {
		out = append(out, fact(view.NoMark, "Pulls", fmt.Sprintf("%s a day until %s.", words.Plural(p.PullsPerDay, "pull", "pulls"), words.Day(p.PullUntil.Date()))))
	}
	out = append(out, fact(view.NoMark, "Release", fmt.Sprintf("planned for %s, with %s likely clear promised, if every look finds nothing.", words.Day(p.Release.Date()), words.Percent(p.Promise.Clear))))
	return out, nil
}
