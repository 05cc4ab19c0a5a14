package desk

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"slices"
	"time"

	"holdfast"
	"holdfast/science/clearance"
	"holdfast/science/freedom"
	"holdfast/science/ref"
)

// work answers every question of a lot; coarse is a first answer from few runs,
// for today alone. A coarse life stops at the first condition that keeps the lot
// from the line, unless all are asked for.
func (l *Life) work(ctx context.Context, v *LotView, qs []question, coarse, all bool) ([]Answer, error) {
	var out []Answer
	var static []Assessment
	for i, q := range qs {
		a := Answer{Condition: q.condition.ID}
		switch {
		case q.history == nil:
			if static == nil {
				var err error
				if static, err = l.desk.Evidence.Assess(v.Case); err != nil {
					return nil, err
				}
			}
			a.Figure, a.NotLooked, a.Why, a.Because = static[i].Figure, static[i].NotLooked, static[i].Why, q.because
		case coarse:
			part, stop := l.share(ctx, len(qs))
			err := q.glance(part, v, &a, l.Coarse)
			stop()
			if err != nil {
				return nil, err
			}
		default:
			if err := q.sharp(ctx, v, &a, l.MostRuns); err != nil {
				return nil, err
			}
		}
		out = append(out, a)
		if l.Coarse && !all && (a.NotLooked || a.Why != "" || !Reached(v.Shop, a.Figure)) {
			break
		}
	}
	return out, nil
}

// glance is a first answer, the least one if nobody will look at it for long.
func (q question) glance(ctx context.Context, v *LotView, a *Answer, least bool) error {
	if q.history.Looked > 0 {
		return q.coarse(ctx, v, a, least)
	}
	a.NotLooked, a.Figure = true, q.prior()
	if least {
		return nil
	}
	if err := q.sight(ctx, a, sightRuns); err != nil && ctx.Err() == nil {
		return err // not because time is up: a rough answer stands in until there is one
	}
	return nil
}

// share returns a context with an equal share of the time for a first answer, if
// somebody waits for it.
func (l *Life) share(ctx context.Context, questions int) (context.Context, context.CancelFunc) {
	if _, limited := ctx.Deadline(); limited {
		return context.WithTimeout(ctx, l.FirstWait/time.Duration(questions))
	}
	return ctx, func() {}
}

// noAnswer keeps why the model has no answer and returns nil, or the error.
func (a *Answer) noAnswer(q question, err error) error {
	var none *ref.NoAnswer
	if !errors.As(err, &none) {
		return err
	}
	a.Why = none.Reason
	a.Figure = holdfast.Figure{Condition: q.condition.ID, High: 1, BagRisk: 1, BuyersRisk: 1, Looked: q.history.Looked, Positive: q.history.Positive}
	return nil
}

// coarse is the answer for today from few runs, without a band.
func (q question) coarse(ctx context.Context, v *LotView, a *Answer, least bool) error {
	a.Start, a.Notes, a.Unproven, a.Prior = q.history.Start, q.history.Notes, q.history.Unproven(), *q.history.Infested
	c := q.history.Case
	if c.Runs = firstRuns; least {
		c.Runs = coarseRuns
	}
	var sofar *clearance.Result
	r, err := clearance.Sift(ctx, c, func(r clearance.Result) bool {
		sofar = &r
		if least {
			return plain(v.Shop, r.Mixed.Points[0])
		}
		return r.Mixed.Points[0].ESS >= firstESS
	})
	if err != nil && ctx.Err() != nil && sofar != nil {
		r, err = *sofar, nil // time is up: what there is, its error says how coarse
	}
	if err != nil {
		return a.noAnswer(q, err)
	}
	a.Figure = q.figure(v, r, 0)
	a.Line = []LinePoint{{Day: 0, P: 1 - a.Prior}, {Day: c.Today, P: a.Figure.Chance}}
	return nil
}

// plain reports whether a point lies on one side of the shop's line by far more
// than its error, so that more runs would decide nothing.
func plain(s holdfast.ShopSet, p clearance.Point) bool {
	share, line := against(s, p)
	return p.ESS >= 10 && math.Abs(share.Value-line) > 4*share.SE
}

// unsettled reports whether chance in the calculation could still matter: few
// runs count, or the point is near the shop's line with more error than half a
// point.
func unsettled(s holdfast.ShopSet, p clearance.Point) bool {
	share, line := against(s, p)
	return p.ESS < fewESS || math.Abs(share.Value-line) < nearLine && share.SE > nearError
}

// against is what the shop holds against its line, and the line.
func against(s holdfast.ShopSet, p clearance.Point) (clearance.Share, float64) {
	if s.Line == holdfast.LineBag {
		return p.BagRisk, s.BagLine
	}
	return p.Clear, s.ClearLine
}

// figure reads today's figure off a result.
func (q question) figure(v *LotView, r clearance.Result, at int) holdfast.Figure {
	p := r.Mixed.Points[at]
	unit := func(x float64) float64 { return min(max(x, 0), 1) }
	f := holdfast.Figure{Condition: q.condition.ID, Chance: unit(p.Clear.Value), BagRisk: unit(p.BagRisk.Value),
		BuyersRisk: unit(1 - p.Clear.Value), Looked: q.history.Looked, Positive: q.history.Positive}
	w := &holdfast.Worked{Model: q.model(), AsOf: v.Today, Runs: r.Mixed.Runs, Seed: LifeSeed, SE: unit(p.Clear.SE), ESS: p.ESS, Doubt: r.Doubt}
	if p.Clear.Low != 0 || p.Clear.High != 0 {
		f.Low, f.High = unit(min(p.Clear.Low, f.Chance)), unit(max(p.Clear.High, f.Chance))
		w.BagLow, w.BagHigh = unit(min(p.BagRisk.Low, f.BagRisk)), unit(max(p.BagRisk.High, f.BagRisk))
	}
	if len(r.Never.Points) > at {
		n, y := r.Never.Points[at], r.Always.Points[at]
		w.Never = &holdfast.WorkedIf{Chance: unit(n.Clear.Value), BagRisk: unit(n.BagRisk.Value)}
		w.Always = &holdfast.WorkedIf{Chance: unit(y.Clear.Value), BagRisk: unit(y.BagRisk.Value)}
	}
	f.Worked = w
	return f
}

// sharp is the whole answer: until the error is small near the line, with the
// band, the line past and to come, and what would lift it.
func (q question) sharp(ctx context.Context, v *LotView, a *Answer, most int) error {
	h := q.history
	a.Start, a.Notes, a.Unproven, a.Prior = h.Start, h.Notes, h.Unproven(), *h.Infested
	if err := q.sight(ctx, a, leverRuns); err != nil {
		return a.noAnswer(q, err)
	}
	if h.Looked == 0 {
		a.NotLooked, a.Figure = true, q.prior()
		return nil
	}
	c := h.Case
	c.Runs, c.Days = firstRound, lineAround(&c)
	today := slices.Index(c.Days, c.Today)
	var r clearance.Result
	_, err := clearance.Sharpen(ctx, c, func(x clearance.Result) bool {
		r = x
		return x.Mixed.Runs < most || unsettled(v.Shop, x.Mixed.Points[today]) && x.Mixed.Runs < 4*most
	})
	if err != nil {
		return a.noAnswer(q, err)
	}
	a.Figure = q.figure(v, r, today)
	a.Line = linePoints(r)
	a.Drivers, a.Resampled, a.Ancestors, a.Capped = r.Drivers, r.Mixed.Resampled, r.Mixed.Ancestors, r.Mixed.Capped
	if v.Lot.Status == holdfast.Held || v.Lot.Status == holdfast.Recalled {
		if err := q.plans(ctx, v, a); err != nil {
			return err
		}
	}
	return nil
}

// linePoints are the points of a result, with its answers for never and always.
func linePoints(r clearance.Result) []LinePoint {
	var out []LinePoint
	for i, p := range r.Mixed.Points {
		x := LinePoint{Day: p.Day, P: p.Clear.Value}
		if p.Clear.Low != 0 || p.Clear.High != 0 {
			x.Low, x.High = min(p.Clear.Low, x.P), max(p.Clear.High, x.P)
		}
		if i < len(r.Never.Points) && i < len(r.Always.Points) {
			x.Never, x.Always = r.Never.Points[i].Clear.Value, r.Always.Points[i].Clear.Value
		}
		out = append(out, x)
	}
	return out
}

// sight keeps what a look today could show.
func (q question) sight(ctx context.Context, a *Answer, runs int) error {
	c := q.history.Case
	c.Runs = runs
	s, err := clearance.Stand(ctx, c)
	if err != nil {
		return err
	}
	see, err := s.Sight(ctx, levels)
	if err == nil {
		a.Sight = &see
	}
	return err
}

// lineAround are the days for which the line is worked out: arrival, every look
// with the evening before it, some in between, today, and four weeks beyond.
func lineAround(c *clearance.Case) []float64 {
	days := []float64{0, c.Today}
	gap := max(1, math.Ceil(c.Today/25))
	for d := Evening; d < c.Today; d += gap {
		days = append(days, d)
	}
	for _, l := range c.Looks {
		days = append(days, math.Floor(l.Day)+Evening)
		if l.Day >= 1 {
			days = append(days, math.Floor(l.Day)-1+Evening)
		}
	}
	for _, d := range []float64{1, 3, 5, 7, 10, 14, 18, 21, 24, ahead} {
		if c.Today+d <= 400 {
			days = append(days, c.Today+d)
		}
	}
	slices.Sort(days)
	return slices.Compact(days)
}

// plans adds what lies ahead of a lot on hold: the line under its course, and
// what would lift the chance on the day that matters.
func (q question) plans(ctx context.Context, v *LotView, a *Answer) error {
	c := q.history.Case
	day := min(c.Today+14, 400)
	plan, c, err := v.underCourse(q, c)
	if err != nil {
		return err
	}
	if plan != nil {
		if day = float64(plan.Release-q.history.Start) + Evening; day < c.Today {
			day = c.Today
		}
		if err := q.line(ctx, c, day, a); err != nil {
			return err
		}
	}
	c.Runs, c.Days = leverRuns, []float64{c.Today}
	steps, err := clearance.Levers(ctx, c, day)
	if err != nil {
		return a.noPlan(err)
	}
	a.Levers, a.LeverDay = steps, q.history.Start+holdfast.Day(math.Floor(day))
	if len(steps) > 0 {
		a.LeverBase = steps[0].Clear - steps[0].Gain
	}
	return nil
}

// noPlan passes over what the model cannot tell of the days to come.
func (a *Answer) noPlan(err error) error {
	var none *ref.NoAnswer
	var in *ref.InputError
	if errors.As(err, &none) || errors.As(err, &in) {
		return nil
	}
	return err
}

// underCourse lays the accepted course, if it is against this condition, into
// the case.
func (v *LotView) underCourse(q question, c clearance.Case) (*holdfast.CourseAccepted, clearance.Case, error) {
	plan, ok := coursePlan(v.Lot)
	if !ok || plan.Condition != q.condition.ID {
		return nil, c, nil
	}
	base := &CourseBase{History: q.history, Condition: q.life, From: v.Today + 1}
	course := base.Course(*plan)
	if course.Release <= c.Today {
		return nil, c, nil
	}
	with, err := base.Warmed(c, plan.TempC).Apply(course, course.Release)
	if err != nil {
		var in *ref.InputError
		if errors.As(err, &in) {
			return nil, c, nil // the plan no longer fits the lot; its own page says so
		}
		return nil, c, err
	}
	return plan, with, nil
}

// line works out the line under the course: its looks count as having found
// nothing.
func (q question) line(ctx context.Context, c clearance.Case, until float64, a *Answer) error {
	c.Runs, c.Days = 2*firstRound, []float64{c.Today, until}
	for d := c.Today + 2; d < until; d += max(2, math.Ceil((until-c.Today)/25)) {
		c.Days = append(c.Days, d)
	}
	for _, l := range c.Looks {
		if l.Planned && l.Day > c.Today {
			c.Days = append(c.Days, max(l.Day-0.02, c.Today), math.Floor(l.Day)+Evening)
		}
	}
	r, err := clearance.Evidence(ctx, c)
	if err != nil {
		return a.noPlan(err)
	}
	a.Course = linePoints(r)
	for _, l := range r.Mixed.Looks {
		if l.Planned {
			a.Ifs = append(a.Ifs, l)
		}
	}
	return nil
}

// belief is the model's distribution of carriers today, at the levels of how
// well they are seen.
func (a *Answer) belief() (freedom.Belief, error) {
	lot, err := freedom.LotOf(a.Sight.Alive, a.Sight.Carriers)
	if err != nil {
		return freedom.Belief{}, err
	}
	return freedom.NewBelief(lot, levels)
}

// shown is the share of carriers that a good look shows, at a level.
func shown(s *clearance.Sight, level float64) float64 {
	if len(s.Seen) == 0 {
		return 0.5 // no lot has carriers: what is seen of them does not matter
	}
	return s.Seen[min(int(level*float64(len(s.Seen))), len(s.Seen)-1)]
}

// records are the animals of a look that is going on, as the belief takes them.
func (a *Answer) records(l Look, level float64, view func(string, []holdfast.Side) float64) []freedom.Chance {
	var out []freedom.Chance
	for _, x := range l.Sofar {
		positive := shows(x, a.Condition)
		if !positive && !x.Readable() {
			continue
		}
		how := freedom.Seeing{Sensitivity: shown(a.Sight, level) * view(l.By, x.Seen), Specificity: 1}
		if positive {
			how.Sensitivity = max(how.Sensitivity, 0.01) // it was seen, whatever was ticked
			out = append(out, how.Positive())
		} else {
			out = append(out, how.Clean())
		}
	}
	return out
}

// keep keeps answers for the key they were worked out for.
func (l *Life) keep(ctx context.Context, v *LotView, key string, all []Answer, sharp bool) error {
	if l.Coarse {
		return nil
	}
	row := FigureRow{Lot: v.Lot.ID, RowKey: v.rowKey(), Key: key, AsOf: v.Today, Sharp: sharp, Figures: []holdfast.Figure{}}
	for _, a := range all {
		if !a.NotLooked && a.Why == "" {
			row.Figures = append(row.Figures, a.Figure)
		}
	}
	var err error
	if row.Body, err = json.Marshal(all); err != nil {
		return err
	}
	return l.desk.Store.KeepFigures(ctx, row)
}
