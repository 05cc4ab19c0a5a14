package desk

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"
	"time"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/clearance"
	"holdfast/science/freedom"
	"holdfast/science/ref"
)

// LifeModel names the model of the life cycle and how the desk puts lots to it;
// figures of another are computed again.
const LifeModel = "life-2"

// LifeSeed is the seed of all figures: whoever computes one again gets the same.
const LifeSeed = 1

// How much is simulated. What a figure took stands beside it.
const (
	// firstRuns are followed at most for a first answer while somebody waits,
	// coarseRuns for one that nobody will look at for long. sightRuns are followed
	// for what a look could show before there was one.
	firstRuns, coarseRuns, sightRuns = 1200, 200, 300
	// firstRound is what a figure that nobody waits for begins with.
	firstRound = 1000
	// firstESS effective runs are enough for a first answer.
	firstESS = 40
	// fewESS is how few effective runs make it go on to the model's own limit, and
	// so does an error above nearError while the figure is within nearLine of the
	// shop's line.
	fewESS, nearError, nearLine = 100, 0.005, 0.1
	// leverRuns are followed for each thing that could still be done.
	leverRuns = 1000
	// ahead is how many days the line is drawn beyond today.
	ahead = 28
)

// Life works out figures with the life-cycle model and keeps them in the store.
// What it keeps is only ever shown as of what it was computed from.
type Life struct {
	desk *Desk
	// FirstWait bounds how long a page waits for the first answer after something
	// was recorded, FreshWait how long a decision waits for its figures.
	FirstWait, FreshWait time.Duration
	// MostRuns is where a figure stops getting sharper, unless the runs that count
	// are few or its error is above half a point near the line: then at four times
	// as many.
	MostRuns int
	// Coarse makes a decision rest on very few runs, and keeps nothing: for making
	// up a year of decisions in seconds. The figures say from how many runs they
	// are.
	Coarse bool

	// Turn, if there is one, is called before every few runs of what nobody waits
	// for, and may wait so that something more urgent goes first.
	Turn func(context.Context)

	one   sync.Mutex // first answers are worked out one lot at a time
	queue queue
}

// UseLife lets the life-cycle model answer for the conditions it knows, in the
// place of d.Evidence, which goes on answering for the others and for lots that
// the model cannot follow.
func (d *Desk) UseLife() *Life {
	d.Life = &Life{desk: d, queue: newQueue(), FirstWait: 220 * time.Millisecond, FreshWait: 25 * time.Second, MostRuns: 16_000}
	return d.Life
}

// Answer is what is kept of one condition of a lot.
type Answer struct {
	Condition string          `json:"condition"`
	Figure    holdfast.Figure `json:"figure"`
	NotLooked bool            `json:"not_looked,omitempty"`
	// Why says why there is no figure; Because why another model answers.
	Why     string `json:"why,omitempty"`
	Because string `json:"because,omitempty"`
	// Start is day 0 of Line and of everything planned.
	Start holdfast.Day `json:"start"`
	// Line is the chance day by day, past and, if nothing more is done, to come;
	// Course the same under the accepted course, from today on.
	Line   []LinePoint `json:"line,omitempty"`
	Course []LinePoint `json:"course,omitempty"`
	// Ifs are what a find at a planned look would do.
	Ifs []clearance.LookPoint `json:"ifs,omitempty"`
	// Levers are what would lift the chance on a day, the strongest first.
	Levers   []clearance.Step `json:"levers,omitempty"`
	LeverDay holdfast.Day     `json:"lever_day,omitempty"`
	// Now is the chance on that day if nothing more is done.
	LeverBase float64 `json:"lever_base,omitempty"`
	// Drivers are the figures whose doubt moves the chance most.
	Drivers []clearance.Driver `json:"drivers,omitempty"`
	Sight   *clearance.Sight   `json:"sight,omitempty"`
	Notes   []string           `json:"notes,omitempty"`
	// Unproven is how many animals showed signs that may all have been mistakes.
	Unproven int `json:"unproven,omitempty"`
	// Prior is the chance that the lot came infested, before any look.
	Prior     float64 `json:"prior,omitempty"`
	Resampled int     `json:"resampled,omitempty"`
	Ancestors int     `json:"ancestors,omitempty"`
	Capped    float64 `json:"capped,omitempty"`
}

// LinePoint is the chance of clear on one day of the case, with its band.
type LinePoint struct {
	Day  float64 `json:"d"`
	P    float64 `json:"p"`
	Low  float64 `json:"lo,omitempty"`
	High float64 `json:"hi,omitempty"`
	// Never and Always are the chance had no egg, or every ripe egg, hatched on the
	// animal; both 0 where that was not worked out.
	Never  float64 `json:"n,omitempty"`
	Always float64 `json:"a,omitempty"`
}

// question is one condition of a lot as the model is asked about it.
type question struct {
	condition reference.Condition
	life      *clearance.Condition
	history   *History
	// because says why the model is not asked; static is what answers then.
	because string
}

// questions lays the lot out for every tracked condition.
func (v *LotView) questions() ([]question, error) {
	var out []question
	known := v.Case
	known.Other, known.Tank = once(known.Other), once(known.Tank)
	for _, c := range Tracked(v.Lot.Species) {
		q := question{condition: c}
		life, err := LifeCondition(v.Shop.Beliefs, c.ID)
		switch {
		case err != nil:
			q.because = "What the shop believes of it does not fit this version: " + err.Error()
		case life == nil:
			q.because = "No life cycle of it is known to the model."
		default:
			q.life = life
			q.history, err = LifeCycle(known, life, v.Today)
			var none *ref.NoAnswer
			if errors.As(err, &none) {
				q.because = none.Reason
			} else if err != nil {
				return nil, err
			}
		}
		if q.history != nil {
			q.history.Seed, q.history.Line = LifeSeed, v.Shop.ClearLine
		}
		out = append(out, q)
	}
	return out, nil
}

// once remembers what load returned: every condition reads the same lots and
// tanks.
func once[T any](load func(string) (*T, error)) func(string) (*T, error) {
	if load == nil {
		return nil
	}
	known := map[string]*T{}
	return func(id string) (*T, error) {
		if x, ok := known[id]; ok {
			return x, nil
		}
		x, err := load(id)
		if err == nil {
			known[id] = x
		}
		return x, err
	}
}

// asked lays the lot out and returns the key of its figures.
func (v *LotView) asked() ([]question, string, error) {
	qs, err := v.questions()
	if err != nil {
		return nil, "", err
	}
	key, err := v.figureKey(qs)
	return qs, key, err
}

// model names what a figure of the question is of.
func (q question) model() string { return LifeModel + ", " + q.life.String() }

// FigureState says how the figures of a lot stand.
type FigureState struct {
	// AsOf is the day they hold for; 0 when there are none.
	AsOf holdfast.Day
	// Old says that something was recorded since, or a day has passed.
	Old bool
	// First says that they are a first answer from few runs; better ones follow.
	First bool
	// Pending says that some have not been worked out at all.
	Pending bool
	// Wait is about how long it will take, Ahead how many lots that somebody
	// looked at come first.
	Wait  time.Duration
	Ahead int
}

// Current reports whether a decision may rest on the figures.
func (s FigureState) Current() bool { return !s.Old && !s.First && !s.Pending }

// assess fills in the figures from what is kept, works out a first answer where
// there is none, and asks for better ones where those kept are not current.
func (l *Life) assess(ctx context.Context, v *LotView) error {
	if l.Coarse {
		v.pend()
		return nil
	}
	qs, err := v.questions()
	if err != nil {
		return err
	}
	key, err := v.figureKey(qs)
	if err != nil {
		return err
	}
	row, err := l.desk.Store.Figures(ctx, v.Lot.ID)
	if err != nil {
		return err
	}
	answers := map[string]Answer{}
	if row != nil {
		if answers, err = row.answers(); err != nil {
			return err
		}
		v.State = FigureState{AsOf: row.AsOf, Old: row.Key != key, First: !row.Sharp}
	}
	changed := row != nil && row.RowKey != v.rowKey()
	if (changed || missing(qs, answers)) && v.Lot.Status != holdfast.Closed && anyLooked(qs) {
		first, err := l.first(ctx, v, qs, key, answers)
		if err != nil {
			return err
		}
		if first != nil {
			answers, v.State = first, FigureState{AsOf: v.Today, First: true}
		}
	}
	if err := v.take(l.desk.Evidence, qs, answers); err != nil {
		return err
	}
	if v.Lot.Status != holdfast.Closed && !v.State.Current() {
		l.queue.want(v.Lot.ID, wantSeen)
		v.State.Ahead, v.State.Wait = l.queue.wait(v.Lot.ID)
	}
	return nil
}

func (row *FigureRow) answers() (map[string]Answer, error) {
	var kept []Answer
	if err := json.Unmarshal(row.Body, &kept); err != nil {
		return nil, fmt.Errorf("figures of lot %s: %w", row.Lot, err)
	}
	return byCondition(kept), nil
}

func byCondition(all []Answer) map[string]Answer {
	out := map[string]Answer{}
	for _, a := range all {
		out[a.Condition] = a
	}
	return out
}

// anyLooked reports whether anybody has looked for anything.
func anyLooked(qs []question) bool {
	return slices.ContainsFunc(qs, func(q question) bool { return q.history != nil && q.history.Looked > 0 })
}

// missing reports whether something was looked for of which no figure is kept.
func missing(qs []question, answers map[string]Answer) bool {
	return slices.ContainsFunc(qs, func(q question) bool {
		a, ok := answers[q.condition.ID]
		return q.history != nil && q.history.Looked > 0 && (!ok || a.NotLooked || a.Because != "")
	})
}

// first works out a first answer from few runs, with the line as it was known
// before; nil when that would keep the person waiting.
func (l *Life) first(ctx context.Context, v *LotView, qs []question, key string, before map[string]Answer) (map[string]Answer, error) {
	if !l.one.TryLock() {
		return nil, nil
	}
	defer l.one.Unlock()
	soon, stop := context.WithTimeout(ctx, l.FirstWait)
	defer stop()
	all, err := l.work(soon, v, qs, true, true)
	if err != nil {
		if errors.Is(err, context.DeadlineExceeded) && ctx.Err() == nil {
			return nil, nil
		}
		return nil, err
	}
	for i := range all {
		all[i].continues(before[all[i].Condition])
	}
	return byCondition(all), l.keep(ctx, v, key, all, false)
}

// continues puts the line as it was known before in front of a first answer's
// point for today.
func (a *Answer) continues(before Answer) {
	n := len(a.Line)
	if n == 0 || before.Start != a.Start || before.Figure.Worked == nil {
		return
	}
	today := a.Line[n-1]
	until := float64(before.Figure.Worked.AsOf-before.Start) + Evening
	line := slices.DeleteFunc(slices.Clone(before.Line), func(p LinePoint) bool { return p.Day > until || p.Day >= today.Day })
	if len(line) > 0 {
		a.Line = append(line, today)
	}
}

// take turns answers into the view's assessments.
func (v *LotView) take(other Evidence, qs []question, answers map[string]Answer) error {
	v.Assessed = nil
	var static []Assessment
	for i, q := range qs {
		a := Assessment{Condition: q.condition}
		kept, ok := answers[q.condition.ID]
		switch {
		case q.history == nil:
			if static == nil {
				var err error
				if static, err = other.Assess(v.Case); err != nil {
					return err
				}
			}
			a = static[i]
			a.Because = q.because
		case q.history.Looked == 0:
			a.NotLooked = true
			a.Figure = q.prior()
			if ok {
				a.Answer = &kept
			}
		case !ok || kept.NotLooked || kept.Because != "":
			a.Pending = true
			a.Figure = holdfast.Figure{Condition: q.condition.ID, High: 1, BagRisk: 1, BuyersRisk: 1, Looked: q.history.Looked, Positive: q.history.Positive}
			v.State.Pending = true
		default:
			a.Answer, a.Figure, a.Why = &kept, kept.Figure, kept.Why
			a.Line = kept.points(v.zone())
		}
		if a.Answer != nil && a.Answer.Sight != nil {
			a.More = a.Answer.more(v.Shop, q.history)
		}
		v.Assessed = append(v.Assessed, a)
	}
	for i := range v.Assessed {
		// Before any look, until the model has said what one could show.
		if a := &v.Assessed[i]; a.More == nil && a.Because == "" && a.NotLooked {
			a.More = roughly(other, v.Case, i)
		}
	}
	return nil
}

// pend leaves every figure to be worked out by who decides on it.
func (v *LotView) pend() {
	v.State.Pending = true
	for _, c := range Tracked(v.Lot.Species) {
		v.Assessed = append(v.Assessed, Assessment{Condition: c, Pending: true, Figure: holdfast.Figure{Condition: c.ID, High: 1, BagRisk: 1, BuyersRisk: 1}})
	}
}

// roughly answers how many more clean ones from the model without a life cycle.
func roughly(other Evidence, c Case, i int) func(freedom.Line, Look) (int, error) {
	return func(line freedom.Line, l Look) (int, error) {
		all, err := other.Assess(c)
		if err != nil {
			return 0, err
		}
		if all[i].More == nil {
			return 0, &ref.NoAnswer{Reason: all[i].Why}
		}
		return all[i].More(line, l)
	}
}

// prior is the figure before anybody looked.
func (q question) prior() holdfast.Figure {
	p := *q.history.Infested
	return holdfast.Figure{Condition: q.condition.ID, Chance: 1 - p, Low: 1 - p, High: 1 - p, BagRisk: p, BuyersRisk: p}
}

// points are the past of the line, for those who draw it by time.
func (a *Answer) points(zone *time.Location) []Point {
	var out []Point
	for _, p := range a.Line {
		day := a.Start + holdfast.Day(math.Floor(p.Day))
		at := day.Start(zone) + holdfast.Micros((p.Day-math.Floor(p.Day))*86400*1e6)
		out = append(out, Point{At: at, Chance: p.P, Low: p.Low, High: p.High})
	}
	return out
}

// view says how much of a good look a look is worth.
func (a *Answer) view(shop holdfast.ShopSet) func(by string, sides []holdfast.Side) float64 {
	return func(by string, sides []holdfast.Side) float64 {
		return eyes(shop.Sight).ofGood(a.Condition, by) * seenShare(a.Condition, sides)
	}
}

// running is the chance of clear as it would stand with the animals judged so
// far, continued from the model's distribution of carriers.
func (a *Answer) running(shop holdfast.ShopSet, l Look) (float64, error) {
	b, err := a.belief()
	if err != nil {
		return 0, err
	}
	b, err = b.Update(func(level float64, lot freedom.Lot) (freedom.Lot, error) {
		return lot.Look(a.records(l, level, a.view(shop)))
	})
	if err != nil {
		return 0, err
	}
	hidden := 1.0 // of lots without carriers, those in which nothing lives elsewhere
	if a.Sight.Carriers[0] > 0 {
		hidden = a.Sight.Clear / a.Sight.Carriers[0]
	}
	return b.Figure(freedom.Lot.Clear).Value * hidden, nil
}

// more answers how many more clean ones would reach a line, from the model's
// distribution of carriers today: the static model continues it as if nothing
// lived but on the animals it sees. Where that is not enough, looking is not.
func (a *Answer) more(shop holdfast.ShopSet, h *History) func(freedom.Line, Look) (int, error) {
	s := a.Sight
	return func(line freedom.Line, l Look) (int, error) {
		if line.Clear > 0 && s.Carriers[0] > 0 {
			// Skins and water may hide what no animal carries.
			if line.Clear *= s.Carriers[0] / s.Clear; s.Clear <= 0 || line.Clear > 0.9999 {
				return 0, &ref.NoAnswer{Reason: "No look at the animals today reaches the line: something may live on shed skins or in the water. Time and pulls help, looking does not."}
			}
		}
		b, err := a.belief()
		if err != nil {
			return 0, err
		}
		view := a.view(shop)
		records := func(level float64) []freedom.Chance { return a.records(l, level, view) }
		if len(l.Sofar) == 0 {
			records = nil
		}
		return b.MoreClean(line, records, func(level float64) freedom.Seeing {
			return freedom.Seeing{Sensitivity: shown(s, level) * view(l.By, l.Seen), Specificity: 1}
		})
	}
}
