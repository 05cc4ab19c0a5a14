package clearance

import (
	"cmp"
	"context"
	"math"
	"slices"

	"holdfast/science/ref"
)

// plan is what a case plans after today.
func (c *Case) plan() future {
	var f future
	for _, d := range c.Doses {
		if d.Day > c.Today {
			f.doses = append(f.doses, d)
		}
	}
	for _, p := range c.Pulls {
		if p.To > c.Today {
			p.From = max(p.From, math.Floor(c.Today)+1)
			f.pulls = append(f.pulls, p)
		}
	}
	for _, l := range c.Looks {
		if l.Planned && l.Day >= c.Today {
			f.looks = append(f.looks, l)
		}
	}
	slices.SortStableFunc(f.looks, func(a, b Look) int { return cmp.Compare(a.Day, b.Day) })
	return f
}

// Apply returns the case with a course in the place of what it planned: the doses,
// pulls and looks of the course up to release on a day.
func (c Case) Apply(course Course, release float64) (Case, error) {
	p, err := c.soFar().prepared()
	if err != nil {
		return c, err
	}
	a := ask{pulled: math.Ceil(MoultedBy(p.Condition, p.tempOn(p.Today), .95))}
	if course, err = course.complete(p.Condition, a); err != nil {
		return c, err
	}
	past := c.soFar()
	c.Doses = append(slices.Clone(past.Doses), course.doses()...)
	c.Pulls = append(slices.Clone(past.Pulls), course.pulls(c.Today, release)...)
	c.Looks = slices.Clone(past.Looks)
	for _, before := range course.LooksBefore {
		c.Looks = append(c.Looks, Look{Day: release - before, Animals: min(course.LookAnimals, c.Animals), Planned: true})
	}
	return c, nil
}

// Step is one thing that could still be done, or go wrong, with what it changes.
type Step struct {
	// What is "look", "dose", "pulls" (kept up until the day), "second pull" (a day),
	// "wait" or "bag" for what could be done; "dose", "pull" or "look" for what could
	// be missed.
	What string  `json:"what"`
	Day  float64 `json:"day"`
	// Animals is the size of a look, or of a bag.
	Animals int `json:"animals,omitempty"`
	// Clear and BagRisk are what they become, for a look if it finds nothing.
	Clear   float64 `json:"clear"`
	BagRisk float64 `json:"bag_risk"`
	// Gain is the change in the chance of clear with its Monte Carlo error: the same
	// lots are compared, so it is far smaller than the error of either.
	Gain   float64 `json:"gain"`
	GainSE float64 `json:"gain_se"`
	// BagGain is the change in the bag risk.
	BagGain float64 `json:"bag_gain"`
	// Clean is the chance that the look finds nothing.
	Clean float64 `json:"clean,omitempty"`
	// Delay is how many days later the chance that the plan has on the day is
	// reached without this task; nil if not within 28 d.
	Delay *float64 `json:"delay,omitempty"`
	// Between says that the figures were put between those of neighbouring days.
	Between bool `json:"between,omitempty"`
}

// trialOf is a plan tried on the lots, with its looks and its verdict on a day.
type trialOf struct {
	*prospect
	looks []int
	v     verdict
}

func (s *Standing) trialOf(ctx context.Context, f future) (*trialOf, error) {
	p, err := s.try(ctx, f)
	if err != nil {
		return nil, err
	}
	t := &trialOf{prospect: p}
	for i := range f.looks {
		if f.looks[i].Day <= f.days[0] {
			t.looks = append(t.looks, p.first+i)
		}
	}
	t.v = p.on(0, t.looks)
	return t, nil
}

// influence is how much each copy pulls on the chance of clear on the first day.
func (t *trialOf) influence() []float64 {
	o := on{t.sample, 0, t.c.Days[0]}
	out := make([]float64, t.n)
	for i := range out {
		x := 0.0
		for _, l := range t.looks {
			x += t.like[i*t.sample.looks+l]
		}
		out[i] = t.s.infested * math.Exp(x) * (o.free(i) - t.v.clear.Value) / t.v.clean
	}
	return out
}

// step compares a plan with another.
func (t *trialOf) step(what string, day float64, base *trialOf) Step {
	a, b := t.influence(), base.influence()
	sq := 0.0
	for i := range a {
		sq += (a[i] - b[i]) * (a[i] - b[i])
	}
	return Step{What: what, Day: day, Clear: t.v.clear.Value, BagRisk: t.v.bag.Value,
		Gain: t.v.clear.Value - base.v.clear.Value, GainSE: math.Sqrt(sq) / float64(len(a)),
		BagGain: t.v.bag.Value - base.v.bag.Value, Clean: t.v.clean}
}

// Levers works out what would lift the chance of clear on a day, given the case
// and its plan, the strongest first: a look at 40 more, one more dose, pulls kept
// up, a second pull a day, waiting 14 d longer, smaller bags. c.Runs lots are
// followed for each (0 means 1,000).
func Levers(ctx context.Context, c Case, day float64) ([]Step, error) {
	s, f, base, err := standWithPlan(ctx, c, day)
	if err != nil {
		return nil, err
	}
	var out []Step
	add := func(what string, on float64, g future) error {
		t, err := s.trialOf(ctx, g)
		if err == nil {
			out = append(out, t.step(what, on, base))
		}
		return err
	}
	if at := s.lookDay(f); at <= day {
		g := f
		l := Look{Day: at, Animals: min(40, s.c.Animals)}
		g.looks = append(slices.Clone(f.looks), l)
		slices.SortStableFunc(g.looks, func(a, b Look) int { return cmp.Compare(a.Day, b.Day) })
		if err := add("look", at, g); err != nil {
			return nil, err
		}
		out[len(out)-1].Animals = l.Animals
	}
	if d, ok := s.oneMoreDose(f, day); ok {
		g := f
		g.doses = append(slices.Clone(f.doses), d)
		if err := add("dose", d.Day, g); err != nil {
			return nil, err
		}
	}
	if g, what := s.morePulls(f, day); what != "" {
		if err := add(what, day, g); err != nil {
			return nil, err
		}
	}
	g := f
	g.days = []float64{day + 14}
	if day+14 <= maxDays {
		if err := add("wait", day+14, g); err != nil {
			return nil, err
		}
	}
	if half := (s.c.Bag + 1) / 2; half < s.c.Bag {
		risk := base.ofBag(half)
		out = append(out, Step{What: "bag", Day: day, Animals: half, Clear: base.v.clear.Value, BagRisk: risk,
			BagGain: risk - base.v.bag.Value, Clean: base.v.clean})
	}
	slices.SortStableFunc(out, func(a, b Step) int {
		return cmp.Or(cmp.Compare(b.Gain, a.Gain), cmp.Compare(a.BagGain, b.BagGain))
	})
	return out, nil
}

// standWithPlan stands where the case is and tries its plan as it is.
func standWithPlan(ctx context.Context, c Case, day float64) (*Standing, future, *trialOf, error) {
	if !(day >= c.Today && day <= maxDays) {
		return nil, future{}, nil, ref.Inputf("day", "Ask for a day from today on, at most 400.", "day %g, today is %g", day, c.Today)
	}
	whole := c
	whole.Days, whole.Runs = []float64{day}, cmp.Or(c.Runs, 1000)
	if _, err := whole.prepared(); err != nil {
		return nil, future{}, nil, err
	}
	s, err := Stand(ctx, c)
	if err != nil {
		return nil, future{}, nil, err
	}
	f := c.plan()
	f.days = []float64{day}
	base, err := s.trialOf(ctx, f)
	return s, f, base, err
}

// lookDay is the first day from today on that lies long enough after every dose.
func (s *Standing) lookDay(f future) float64 {
	day := s.c.Today
	for again := true; again; {
		again = false
		for _, d := range append(slices.Clone(s.c.Doses), f.doses...) {
			if end := d.Day + d.Days + quiet; d.Day <= day && day < end {
				day, again = end, true
			}
		}
	}
	return day
}

// oneMoreDose is a dose like the last one, 14 d after it or tomorrow, if it ends
// before the day.
func (s *Standing) oneMoreDose(f future, day float64) (Dose, bool) {
	all := append(slices.Clone(s.c.Doses), f.doses...)
	id := (&Question{}).treatment(s.c.Condition)
	d := Dose{Treatment: id, Days: s.c.Condition.Treatments[id].Days, Day: math.Floor(s.c.Today) + 1}
	for _, x := range all {
		if x.Tank == 0 && x.Day+14 > d.Day {
			d = Dose{Treatment: x.Treatment, Days: x.Days, Day: x.Day + 14}
		}
	}
	return d, d.Day+d.Days <= day
}

// morePulls keeps up pulls until the day, or, where they are, makes a second one a
// day.
func (s *Standing) morePulls(f future, day float64) (future, string) {
	from, most := math.Floor(s.c.Today)+1, 0
	last := s.c.Today
	for _, p := range f.pulls {
		if p.Tank == 0 && p.PerDay > 0 {
			last, most = max(last, p.To), max(most, p.PerDay)
		}
	}
	g := f
	switch {
	case from > day:
		return g, ""
	case last < day-1:
		g.pulls = append(slices.Clone(f.pulls), Pulls{From: math.Floor(last) + 1, To: day, PerDay: max(most, 1)})
		return g, "pulls"
	case most < 4:
		g.pulls = append(slices.Clone(f.pulls), Pulls{From: from, To: day, PerDay: most + 1})
		return g, "second pull"
	}
	return g, ""
}

// ofBag is the bag risk for another size of bag.
func (t *trialOf) ofBag(m int) float64 {
	c := *t.c
	c.Bag = m
	s := *t.sample
	s.c = &c
	return (&prospect{&s, t.s, t.first}).on(0, t.looks).bag.Value
}

// missDays is how many days of pulls a price is worked out for; the days between
// get what lies between.
const missDays = 10

// Misses works out what missing each task of the case's plan would cost, on the
// day of release: what the chance of clear loses (Gain, below 0) and how many days
// later it would be where it was. The tasks come in order of day. c.Runs lots are
// followed for each (0 means 1,000).
func Misses(ctx context.Context, c Case, release float64) ([]Step, error) {
	s, f, base, err := standWithPlan(ctx, c, release)
	if err != nil {
		return nil, err
	}
	var out []Step
	miss := func(what string, day float64, g future) error {
		step, err := s.miss(ctx, what, day, g, base)
		out = append(out, step)
		return err
	}
	for i, d := range f.doses {
		g := f
		g.doses = slices.Delete(slices.Clone(f.doses), i, i+1)
		if err := miss("dose", d.Day, g); err != nil {
			return nil, err
		}
	}
	for i, l := range f.looks {
		if l.Day > release {
			continue
		}
		g := f
		g.looks = slices.Delete(slices.Clone(f.looks), i, i+1)
		if err := miss("look", l.Day, g); err != nil {
			return nil, err
		}
		out[len(out)-1].Animals = l.Animals
	}
	pulls, err := s.missPulls(ctx, f, release, base)
	if err != nil {
		return nil, err
	}
	out = append(out, pulls...)
	slices.SortStableFunc(out, func(a, b Step) int { return cmp.Compare(a.Day, b.Day) })
	return out, nil
}

// miss compares the plan without a task with the plan, and looks for the day on
// which it has caught up.
func (s *Standing) miss(ctx context.Context, what string, day float64, g future, base *trialOf) (Step, error) {
	release := g.days[0]
	g.days = nil
	for d := 0.0; d <= 28 && release+d <= maxDays; d += 2 {
		g.days = append(g.days, release+d)
	}
	t, err := s.trialOf(ctx, g)
	if err != nil {
		return Step{}, err
	}
	step := t.step(what, day, base)
	for d := range g.days {
		if t.on(d, t.looks).clear.Value >= base.v.clear.Value {
			delay := g.days[d] - release
			step.Delay = &delay
			break
		}
	}
	return step, nil
}

// missPulls works out some of the days with pulls and puts the others between.
func (s *Standing) missPulls(ctx context.Context, f future, release float64, base *trialOf) ([]Step, error) {
	var days []int
	for day := int(math.Floor(s.c.Today)) + 1; float64(day) < release; day++ {
		if slices.ContainsFunc(f.pulls, func(p Pulls) bool {
			return p.Tank == 0 && p.PerDay > 0 && p.From <= float64(day+1) && float64(day) <= p.To && !slices.Contains(p.Missed, day)
		}) {
			days = append(days, day)
		}
	}
	out := make([]Step, len(days))
	at := spread(len(days), missDays)
	for _, i := range at {
		g := f
		g.pulls = slices.Clone(f.pulls)
		for j := range g.pulls {
			if g.pulls[j].Tank == 0 {
				g.pulls[j].Missed = append(slices.Clone(g.pulls[j].Missed), days[i])
			}
		}
		step, err := s.miss(ctx, "pull", float64(days[i]), g, base)
		if err != nil {
			return nil, err
		}
		out[i] = step
	}
	for n := 1; n < len(at); n++ {
		a, b := out[at[n-1]], out[at[n]]
		for i := at[n-1] + 1; i < at[n]; i++ {
			x := (float64(days[i]) - a.Day) / (b.Day - a.Day)
			mixed := a
			mixed.Day, mixed.Between, mixed.Delay = float64(days[i]), true, nil
			mixed.Clear = a.Clear + x*(b.Clear-a.Clear)
			mixed.BagRisk = a.BagRisk + x*(b.BagRisk-a.BagRisk)
			mixed.Gain = a.Gain + x*(b.Gain-a.Gain)
			mixed.GainSE = max(a.GainSE, b.GainSE)
			mixed.BagGain = a.BagGain + x*(b.BagGain-a.BagGain)
			if a.Delay != nil && b.Delay != nil {
				delay := *a.Delay + x*(*b.Delay-*a.Delay)
				mixed.Delay = &delay
			}
			out[i] = mixed
		}
	}
	return out, nil
}
