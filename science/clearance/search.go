package clearance

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"holdfast/science/ref"
)

// Question asks which course to take.
type Question struct {
	// Case is the lot so far; what it plans is left out of account.
	Case Case
	// Line is what must be reached; empty means a chance of clear of Case.Line.
	Line  ReleaseLine
	Costs Costs
	// Until is the last day of release considered; 0 means 120 d from today.
	Until float64
	// Treatment is what a search doses with; empty means the first of the
	// condition's baths, or its first treatment.
	Treatment string
	// LookAnimals and LooksBefore are the looks of a search; empty means 30 animals
	// on the day of release and 14 d before.
	LookAnimals int
	LooksBefore []float64
	// Candidates are courses to compare; Compare needs at least one.
	Candidates []Course
	// Alone leaves the usual practice out of a comparison.
	Alone bool
	// Prices are for the other ways out; nil leaves them out.
	Prices *Prices
}

// Limits of a search.
const (
	minGap, maxGap     = 7.0, 35.0
	minDoses, maxDoses = 1, 8
	gapStep            = 7.0
	maxPulls           = 2
	// maxCourses bounds the grid however it grows.
	maxCourses = 90
	// maxTried bounds the time of a comparison: animals times runs of each course.
	maxTried = 100_000_000
	// finalists are refined and tried again on fresh draws.
	finalists = 3
)

// Progress tells how far a search is: done courses of those known to be needed so
// far, and the earliest release found.
type Progress struct {
	Done, Total int
	Best        *Outlook
}

// Answer is the outcome of Compare or Search.
type Answer struct {
	Condition string `json:"condition"`
	// Reached says whether any course reaches the line before the last day.
	Reached bool `json:"reached"`
	// Earliest and Cheapest are the best courses by release and by expected cost,
	// with the figures of fresh draws (a search) or of the only draws (Compare).
	// When the line is not reached, Earliest is the course with the greatest chance
	// of clear.
	Earliest *Outlook `json:"earliest,omitempty"`
	Cheapest *Outlook `json:"cheapest,omitempty"`
	// Practice is the usual practice as it stands: a second dose after two to three
	// weeks, one pull a day, release 28 d after the last dose.
	Practice []Outlook `json:"practice"`
	// Courses are all that were tried, by release.
	Courses []Outlook `json:"courses"`
	// Finalists are the refined courses on fresh draws, with the figures for eggs
	// that hatch on the animal never and always.
	Finalists []Finalist `json:"finalists,omitempty"`
	// Edges names the limits of the grid that the best course lies on.
	Edges []string `json:"edges,omitempty"`
	// PullDays is how long pulls go on after the last dose where a course does not
	// say: until 95 % of the animals have moulted.
	PullDays float64  `json:"pull_days"`
	WaysOut  []WayOut `json:"ways_out,omitempty"`
}

// Finalist is a course on fresh draws.
type Finalist struct {
	Mixed  Outlook `json:"mixed"`
	Never  Outlook `json:"never"`
	Always Outlook `json:"always"`
}

// prepared checks the question and returns it as the internals ask it.
func (q *Question) prepared() (*Case, ask, error) {
	c := q.Case
	c.Runs = cmp.Or(c.Runs, 1000)
	if len(c.Days) == 0 {
		c.Days = []float64{c.Today}
	}
	if _, err := c.prepared(); err != nil { // also what is left out of account must be right
		return nil, ask{}, err
	}
	if c.Animals*c.Runs > maxTried {
		return nil, ask{}, ref.Inputf("runs", fmt.Sprintf("Ask for at most %d runs for so large a lot.", max(100, maxTried/c.Animals)), "%d runs of %d animals for every course would take hours", c.Runs, c.Animals)
	}
	p, err := c.soFar().prepared()
	if err != nil {
		return nil, ask{}, err
	}
	a := ask{line: q.Line, costs: q.Costs, until: cmp.Or(q.Until, p.Today+120), step: 7}
	if a.line == (ReleaseLine{}) {
		a.line.Clear = p.Line
	}
	if !(a.line.Clear >= 0 && a.line.Clear < 1) || !(a.line.BagRisk >= 0 && a.line.BagRisk < 1) {
		return nil, a, ref.Inputf("line", "Give a chance of clear such as .95, a bag risk such as .01, or both.", "clear %g, bag risk %g", a.line.Clear, a.line.BagRisk)
	}
	if !(a.until > p.Today && a.until <= maxDays) {
		return nil, a, ref.Inputf("until", "Give a day after today, at most 400.", "the last day considered is %g, today is %g", a.until, p.Today)
	}
	if err := q.Costs.check(); err != nil {
		return nil, a, err
	}
	if err := q.Prices.check(); err != nil {
		return nil, a, err
	}
	a.pulled = math.Ceil(MoultedBy(p.Condition, p.tempOn(p.Today), .95))
	return p, a, nil
}

// tempOn is the temperature of the lot's tank on a day.
func (c *Case) tempOn(day float64) float64 {
	temp := 24.0
	for i, t := range c.Tanks[0].Temp {
		if i == 0 || t.Day <= day {
			temp = t.TempC
		}
	}
	return temp
}

// looks are the looks that a search plans.
func (q *Question) looks() (animals int, before []float64) {
	if len(q.LooksBefore) == 0 && q.LookAnimals == 0 {
		return 30, []float64{14, 0}
	}
	return q.LookAnimals, q.LooksBefore
}

// treatment is what a search doses with.
func (q *Question) treatment(c *Condition) string {
	if q.Treatment != "" {
		return q.Treatment
	}
	return c.Usual()
}

// Usual returns the id of the treatment that planning doses with unless it is told
// otherwise: the first bath that is believed to kill more than half, or the first
// treatment.
func (c *Condition) Usual() string {
	for _, id := range c.treatmentIDs() {
		if t := c.Treatments[id]; t.Kind == "bath" && t.Kill.Mean() > .5 {
			return id
		}
	}
	return c.treatmentIDs()[0]
}

// Compare tries the candidates and the usual practice on the same lots.
// progress may be nil; the comparison ends with context.Canceled when it returns
// false. Errors are those of Evidence, and *ref.InputError for a course that cannot
// be.
func Compare(ctx context.Context, q Question, progress func(Progress) bool) (Answer, error) {
	s, err := Stand(ctx, q.Case)
	if err != nil {
		return Answer{}, err
	}
	return s.Compare(ctx, q, progress)
}

// Compare is the function of that name for a lot whose standing is known. The
// question's case must be the one that s stands for; only the temperatures after
// today may differ, and those of the question hold.
func (s *Standing) Compare(ctx context.Context, q Question, progress func(Progress) bool) (Answer, error) {
	c, a, err := q.prepared()
	if err != nil {
		return Answer{}, err
	}
	if len(q.Candidates) == 0 {
		return Answer{}, ref.Inputf("courses", "Name at least one course.", "there is nothing to compare")
	}
	s = s.warmed(c.Tanks)
	t := &tour{s: s, ask: a, progress: progress}
	tried := slices.Clone(q.Candidates)
	if !q.Alone {
		tried = append(tried, q.practice(c)...)
	}
	if err := t.visit(ctx, tried); err != nil {
		return Answer{}, err
	}
	n := len(q.Candidates)
	ans := Answer{Condition: c.Condition.ID, Courses: t.seen[:n:n], Practice: t.seen[n:], PullDays: a.pulled}
	ranked := pointers(ans.Courses)
	slices.SortStableFunc(ranked, byEarliest)
	ans.Earliest = ranked[0]
	slices.SortStableFunc(ranked, byCost)
	ans.Cheapest = ranked[0]
	ans.Reached = ans.Earliest.Earliest != nil
	return ans, ans.addWaysOut(ctx, s, &q)
}

// Search looks for the earliest release and for the cheapest course over doses,
// gaps and pulls. The grid grows while the best lies on its edge, up to gaps of 7
// to 35 d and 1 to 8 doses. The best three of each kind are refined, and tried
// again on fresh draws, because the best of many is lucky.
func Search(ctx context.Context, q Question, progress func(Progress) bool) (Answer, error) {
	c, a, err := q.prepared()
	if err != nil {
		return Answer{}, err
	}
	s, err := stand(ctx, c, mixed)
	if err != nil {
		return Answer{}, err
	}
	t := &tour{s: s, ask: a, progress: progress}
	practice := q.practice(c)
	ans := Answer{Condition: c.Condition.ID, PullDays: a.pulled}
	g := &grid{tour: t, q: &q, tried: map[spot]int{}}
	if err := g.explore(ctx, practice); err != nil {
		return Answer{}, err
	}
	ans.Practice = slices.Clone(t.seen[:len(practice)])
	ans.Courses = slices.Clone(t.seen[len(practice):])
	slices.SortStableFunc(ans.Courses, func(x, y Outlook) int { return byEarliest(&x, &y) })
	ans.Edges = g.edges()
	if ans.Finalists, err = g.recheck(ctx, c, a); err != nil {
		return Answer{}, err
	}
	ans.crown()
	return ans, ans.addWaysOut(ctx, s, &q)
}

// crown picks the best finalists by their figures on fresh draws.
func (ans *Answer) crown() {
	var all []*Outlook
	for i := range ans.Finalists {
		all = append(all, &ans.Finalists[i].Mixed)
	}
	slices.SortStableFunc(all, byEarliest)
	ans.Earliest = all[0]
	slices.SortStableFunc(all, byCost)
	ans.Cheapest = all[0]
	ans.Reached = ans.Earliest.Earliest != nil
}

func pointers(o []Outlook) []*Outlook {
	var out []*Outlook
	for i := range o {
		out = append(out, &o[i])
	}
	return out
}

// practice is the usual practice, as far as the lot has not had it yet.
// Basis: common practice ("repeat after 14 to 21 days, pull moults for several
// weeks, at least 28 days more").
func (q *Question) practice(c *Case) []Course {
	animals, before := q.looks()
	var out []Course
	for _, gap := range []float64{14, 21} {
		p := Course{Treatment: q.treatment(c.Condition), PullsPerDay: 1, LookAnimals: animals, LooksBefore: before}
		p.Name = map[float64]string{14: "usual practice, second dose after two weeks", 21: "usual practice, second dose after three weeks"}[gap]
		first := max(math.Floor(c.Today)+1, c.nextDose(gap))
		for i := range max(0, 2-len(c.Doses)) {
			p.DoseDays = append(p.DoseDays, first+float64(i)*gap)
		}
		end := c.Today
		for _, d := range c.Doses {
			end = max(end, d.Day+d.Days)
		}
		if len(p.DoseDays) > 0 {
			end = p.DoseDays[len(p.DoseDays)-1] + c.Condition.Treatments[p.Treatment].Days
		}
		p.Gap, p.Release, p.PullUntil = gap, math.Ceil(end)+28, math.Ceil(end)+28
		if p.Release < c.Today {
			continue // its day is past
		}
		if len(p.DoseDays) == 0 { // both doses were given: there is only one way on
			p.Name = "usual practice, as begun"
			return []Course{p}
		}
		out = append(out, p)
	}
	return out
}

// nextDose is a gap after the last dose given; 0 if there was none.
func (c *Case) nextDose(gap float64) float64 {
	next := 0.0
	for _, d := range c.Doses {
		if d.Lost < .5 {
			next = max(next, d.Day+gap)
		}
	}
	return next
}

// tour tries courses one after another on the same lots.
type tour struct {
	s        *Standing
	ask      ask
	progress func(Progress) bool
	seen     []Outlook
	total    int
}

// visit tries two bushes of courses at a time: the last heavy runs of one leave
// no core idle. What it finds does not depend on which is done first.
func (t *tour) visit(ctx context.Context, courses []Course) error {
	t.total = len(t.seen) + len(courses)
	layouts := make([]*layout, len(courses))
	for i, c := range courses {
		var err error
		if layouts[i], err = t.s.lay(c, t.ask); err != nil {
			return err
		}
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	type tried struct {
		at  int
		o   Outlook
		err error
	}
	results := make(chan tried, len(courses))
	turn := make(chan struct{}, 2)
	for _, b := range t.s.bushes(layouts) {
		go func() {
			turn <- struct{}{}
			defer func() { <-turn }()
			var fs []future
			for _, twig := range b {
				fs = append(fs, layouts[twig.at].plan)
			}
			ps, err := t.s.tryAll(ctx, fs, b)
			for i, twig := range b {
				x := tried{at: twig.at, err: err}
				if err == nil {
					x.o = t.s.read(layouts[twig.at], ps[i], t.ask)
				}
				results <- x
			}
		}()
	}
	out := make([]Outlook, len(courses))
	done := slices.Clone(t.seen)
	var failed error
	for range courses {
		r := <-results // of every course, so that none is at work once visit has returned
		if failed != nil {
			continue
		}
		if r.err != nil {
			failed = r.err
			stop()
			continue
		}
		out[r.at] = r.o
		done = append(done, r.o)
		if t.progress == nil {
			continue
		}
		best := *slices.MinFunc(pointers(done), byEarliest)
		if !t.progress(Progress{len(done), t.total, &best}) {
			failed = context.Canceled
			stop()
		}
	}
	t.seen = append(t.seen, out...)
	return failed
}
