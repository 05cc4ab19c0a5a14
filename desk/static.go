package desk

import (
	"fmt"
	"slices"
	"strings"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/freedom"
	"holdfast/science/ref"
)

// Static is the evidence without a life cycle: an exact count of infested
// animals in a finite lot, filtered through everything that was seen and done.
// Worms do not breed in it and eggs do not hatch; a treatment clears the lot
// with a stated, guessed chance. Looks within SettleDays of a dose count for
// nothing when they are clean, since a dose hides what it does not kill.
type Static struct{}

// Model implements [Evidence].
func (Static) Model() string { return "static-2" }

// levels is how many equally likely qualities of seeing the figures average
// over; [freedom.NewBelief] says what more would change.
const levels = 7

// SettleDays is how long after the end of a dose a clean look proves nothing.
var SettleDays = ref.Param{Value: 7, Low: 5, High: 14, Unit: "day", Basis: ref.Guess,
	Note: "Worms that a bath weakened hide, and eggs it spared have not hatched to a size that shows."}

// priors say how likely a lot of this kind is infested, by condition. The
// shares are guesses until the shop has lots of its own to learn from.
var priors = map[string]freedom.Prior{
	reference.RostrumWorm:   freedom.DefaultPrior(),
	reference.SegmentedWorm: {Infested: 0.15, A: 1, B: 5},
	reference.GreenGrowth:   {Infested: 0.05, A: 1, B: 15},
}

// originOdds multiplies the odds that a lot is infested by where the seller
// says the animals were raised. The order (pond and wild above tank-raised)
// was seen by Maciaszek and others 2023; the sizes are guesses.
var originOdds = map[string]float64{
	"wild": 3, "farmed_outdoor": 2, "traded": 1, "": 1, "farmed_indoor": 0.5,
}

// clearedBy gives, after the first, second, third and every later full bath,
// the chance that a lot known to carry the rostrum worm is clear of it, with
// shed skins pulled once a day, and the range of that chance. Guesses: they are
// what the life-cycle model says at 70 days (two to four baths 14 days apart;
// one bath from its 98 days, lowered), low if eggs always hatch on the animal
// and high if they never do. Its clocks are borrowed or guessed in turn. That
// model takes this table's place.
var clearedBy = []ref.Param{
	{Value: 0.12, Low: 0.08, High: 0.25, Unit: "share", Basis: ref.Guess, Note: "Clear after one full bath."},
	{Value: 0.31, Low: 0.26, High: 0.46, Unit: "share", Basis: ref.Guess, Note: "Clear after two full baths."},
	{Value: 0.52, Low: 0.46, High: 0.64, Unit: "share", Basis: ref.Guess, Note: "Clear after three full baths."},
	{Value: 0.66, Low: 0.60, High: 0.77, Unit: "share", Basis: ref.Guess, Note: "Clear after four or more full baths."},
}

// partialShare is what a bath that failed one of its conditions counts, and
// dipShare what a dip counts, beside a full bath. Guesses: a dip reaches worms
// on the outside only.
const (
	partialShare = 0.5
	dipShare     = 0.25
)

// works says which treatments are known to act on which condition at all.
func works(condition, active string) bool {
	active = strings.ToLower(active)
	switch condition {
	case reference.RostrumWorm:
		return strings.Contains(active, "praziquantel") || isSalt(active)
	case reference.SegmentedWorm:
		return isSalt(active)
	}
	return false
}

func isSalt(active string) bool {
	return strings.Contains(active, "sodium chloride") || strings.Contains(active, "salt")
}

// leftOver is how many stay infested when a treatment does not clear the lot:
// few, so that clean looks afterwards prove less than before it. A guess.
var leftOver = freedom.Prior{Infested: 1, A: 1, B: 15}

// Assess implements [Evidence].
func (s Static) Assess(c Case) ([]Assessment, error) {
	var out []Assessment
	for _, cond := range Tracked(c.Lot.Species) {
		a, err := s.assess(c, cond)
		if err != nil {
			return nil, err
		}
		out = append(out, a)
	}
	return out, nil
}

func (s Static) assess(c Case, cond reference.Condition) (Assessment, error) {
	r := &reckoning{c: c, condition: cond.ID}
	a := Assessment{Condition: cond}
	b, err := r.run(c.Lot, noEnd)
	if err != nil {
		a.Why = fmt.Sprintf("The entries contradict each other: %v", err)
		a.NotLooked = r.looked == 0
		a.Figure = holdfast.Figure{Condition: cond.ID, High: 1, BagRisk: 1, BuyersRisk: 1, Looked: r.looked, Positive: r.positive}
		return a, nil
	}
	clear := b.Figure(freedom.Lot.Clear)
	bag := b.Figure(func(l freedom.Lot) float64 { return bagRisk(l, c.BagSize) })
	a.Figure = holdfast.Figure{Condition: cond.ID, Chance: clear.Value, Low: min(clear.Low, clear.Value), High: max(clear.High, clear.Value),
		BagRisk: bag.Value, BuyersRisk: 1 - clear.Value, Looked: r.looked, Positive: r.positive}
	a.NotLooked = r.looked == 0
	a.Line = r.line
	a.More = func(line freedom.Line, l Look) (int, error) {
		return b.MoreClean(line, r.sofar(l), func(level float64) freedom.Seeing {
			see, _ := r.eyes().seeing(cond.ID, l.By, l.Seen, level)
			return see
		})
	}
	return a, nil
}

func bagRisk(l freedom.Lot, m int) float64 {
	x, err := l.BagRisk(min(m, l.Alive()))
	if err != nil {
		return 1
	}
	return x
}

const noEnd = holdfast.Micros(1<<63 - 1)

// reckoning carries one condition through one lot's history.
type reckoning struct {
	c         Case
	condition string
	depth     int
	end       holdfast.Micros

	belief           freedom.Belief
	doses            float64 // full baths' worth given so far
	lastDose         holdfast.Micros
	looked, positive int
	found            int // animals surely infested that are still in the lot
	line             []Point
}

// run returns the belief about the lot after its events before end.
func (r *reckoning) run(l *holdfast.Lot, end holdfast.Micros) (freedom.Belief, error) {
	r.end = end
	if err := r.begin(l); err != nil {
		return freedom.Belief{}, err
	}
	for _, ev := range l.Events {
		if ev.OccurredAt >= end {
			break
		}
		if err := r.step(l, ev); err != nil {
			return freedom.Belief{}, err
		}
	}
	return r.belief, nil
}

// begin sets the belief at the opening: the prior, or what was known of the
// lot it was split from.
func (r *reckoning) begin(l *holdfast.Lot) error {
	if l.Parent != "" && r.depth < 20 {
		parent, err := r.c.Other(l.Parent)
		if err != nil {
			return err
		}
		up := &reckoning{c: r.c, condition: r.condition, depth: r.depth + 1}
		b, err := up.run(parent, l.OpenedAt)
		if err != nil {
			return err
		}
		r.belief, r.doses, r.lastDose = b, up.doses, up.lastDose
		r.looked, r.positive, r.line = up.looked, up.positive, up.line
		if err := r.toCount(l.Declared); err != nil {
			return err
		}
		r.mark(l.OpenedAt, l.Opened)
		return nil
	}
	lot, err := freedom.NewLot(l.Declared, r.c.prior(l, r.condition))
	if err != nil {
		return err
	}
	r.belief, err = freedom.NewBelief(lot, levels)
	if err == nil {
		r.mark(l.OpenedAt, "")
	}
	return err
}

// prior is what a lot is held for before anybody has looked.
func (c Case) prior(l *holdfast.Lot, condition string) freedom.Prior {
	prior, ok := priors[condition]
	if !ok {
		prior = freedom.Prior{Infested: 0.1, A: 1, B: 9}
	}
	prior.Infested = c.declared(l, condition, prior.Infested)
	return prior
}

// declared moves a share of lots that come infested by what the seller said of
// this one.
func (c Case) declared(l *holdfast.Lot, condition string, share float64) float64 {
	odds := share / (1 - share) * c.declaredOdds(l, condition)
	return odds / (1 + odds)
}

// mark adds the chance as it stands to the line.
func (r *reckoning) mark(at holdfast.Micros, entry holdfast.ID) {
	f := r.belief.Figure(freedom.Lot.Clear)
	r.line = append(r.line, Point{At: at, Chance: f.Value, Low: min(f.Low, f.Value), High: max(f.High, f.Value), Entry: entry})
}

// each does f to the lot at every quality of seeing.
func (r *reckoning) each(f func(level float64, l freedom.Lot) (freedom.Lot, error)) error {
	b, err := r.belief.Update(f)
	if err == nil {
		r.belief = b
	}
	return err
}

// alive returns how many animals the belief is about.
func (r *reckoning) alive() int { return r.belief.Lot().Alive() }

// toCount makes the belief one about n animals, those lost taken at random.
func (r *reckoning) toCount(n int) error {
	n = max(n, 0)
	r.found = min(r.found, n)
	return r.each(func(_ float64, l freedom.Lot) (freedom.Lot, error) {
		if l.Alive() == 0 && n > 0 {
			return freedom.NewLot(n, freedom.Prior{Infested: 1, A: 1, B: 1}) // animals out of nowhere: nothing is known
		}
		return l.Recount(n)
	})
}

// step carries the belief through one event.
func (r *reckoning) step(l *holdfast.Lot, ev holdfast.Event) error {
	switch p := ev.Payload.(type) {
	case *holdfast.Counted:
		return r.toCount(p.Count)
	case *holdfast.Births:
		return r.each(func(_ float64, l freedom.Lot) (freedom.Lot, error) { return l.Births(p.Count) })
	case *holdfast.LotMerged:
		return r.merge(l, ev, p)
	case *holdfast.Removal:
		return r.remove(ev, p)
	case *holdfast.Treatment:
		return r.treat(ev, p)
	case *holdfast.Inspection:
		return r.look(l, ev, p)
	}
	if d := l.Changes(ev); d != 0 {
		return r.toCount(r.alive() + d) // died, sold, split off: any of them
	}
	return nil
}

// merge takes animals out, or takes in those of another lot with what is known
// of them.
func (r *reckoning) merge(l *holdfast.Lot, ev holdfast.Event, p *holdfast.LotMerged) error {
	if p.Into != l.ID {
		return r.toCount(r.alive() - p.Count)
	}
	if r.depth >= 20 {
		return &ref.NoAnswer{Reason: "the lots were merged into each other too many times to follow"}
	}
	other, err := r.c.Other(ev.Lot)
	if err != nil {
		return err
	}
	in := &reckoning{c: r.c, condition: r.condition, depth: r.depth + 1}
	b, err := in.run(other, ev.OccurredAt)
	if err != nil {
		return err
	}
	in.belief = b
	if err := in.toCount(p.Count); err != nil {
		return err
	}
	if r.belief, err = r.belief.Join(in.belief); err != nil {
		return err
	}
	r.lastDose = max(r.lastDose, in.lastDose)
	r.mark(ev.OccurredAt, ev.ID)
	return nil
}

// remove takes animals out: those that were found positive surely carried it.
func (r *reckoning) remove(ev holdfast.Event, p *holdfast.Removal) error {
	sure := 0
	if p.Positive {
		sure = min(p.Count, r.found, r.alive())
	}
	if sure > 0 {
		if err := r.each(func(_ float64, l freedom.Lot) (freedom.Lot, error) { return l.RemovePositives(sure) }); err != nil {
			return err
		}
		r.found -= sure
	}
	if err := r.toCount(r.alive() - (p.Count - sure)); err != nil {
		return err
	}
	if sure > 0 {
		r.mark(ev.OccurredAt, ev.ID)
	}
	return nil
}

// treat lets a bath or dip clear the lot with the chance of the table.
func (r *reckoning) treat(ev holdfast.Event, p *holdfast.Treatment) error {
	if p.Trial || p.Held == holdfast.HeldVoid || !works(r.condition, p.Active) {
		return nil
	}
	worth := 1.0
	if p.Held == holdfast.HeldPartial {
		worth *= partialShare
	}
	if p.Form == "dip" {
		worth *= dipShare
	}
	given := r.doses
	r.doses += worth
	err := r.each(func(level float64, l freedom.Lot) (freedom.Lot, error) {
		before := clearedAfter(given, level)
		return l.Treat((clearedAfter(r.doses, level)-before)/(1-before), leftOver)
	})
	if err != nil {
		return err
	}
	r.found = 0
	r.lastDose = ev.OccurredAt + holdfast.Micros(p.Hours*3600*1e6)
	r.mark(ev.OccurredAt, ev.ID)
	return nil
}

// clearedAfter reads the table at a number of baths, with straight lines
// between; more baths than it has are worth no more. The level runs through the
// range of the guess, so that every chance after a dose carries its doubt: good
// eyes and good baths go together here, which makes the band wide.
func clearedAfter(doses, level float64) float64 {
	at := func(k int) float64 {
		if k <= 0 {
			return 0
		}
		p := clearedBy[min(k, len(clearedBy))-1]
		if level < 0.5 {
			return p.Low + (p.Value-p.Low)*level/0.5
		}
		return p.Value + (p.High-p.Value)*(level-0.5)/0.5
	}
	i := int(doses)
	return at(i) + (doses-float64(i))*(at(i+1)-at(i))
}

// eyes are how well the shop sees.
func (r *reckoning) eyes() eyes { return r.c.Sight }

// look weighs what was seen. A look too soon after a dose proves presence only.
// A second look at the same animals was weighed with the first.
func (r *reckoning) look(l *holdfast.Lot, ev holdfast.Event, p *holdfast.Inspection) error {
	if !slices.Contains(p.LookedFor, r.condition) && tally(p, r.condition) == 0 {
		return nil
	}
	if _, first := firstLook(l, p.Second); first {
		return nil
	}
	again := secondLooks(l, ev.ID, r.end)
	positive := tallyAll(p, again, r.condition)
	n := 0
	for _, a := range p.Animals {
		if a.Readable() || shows(a, r.condition) {
			n += p.PerRecord()
		}
	}
	if n == 0 {
		return nil
	}
	tooSoon := r.lastDose > 0 && ev.OccurredAt < r.lastDose+holdfast.Micros(SettleDays.Value*86400*1e6)
	if n > r.alive() {
		if err := r.toCount(n); err != nil { // more were in the hand than the books say
			return err
		}
	}
	r.looked += n
	r.positive += positive
	err := r.each(func(level float64, l freedom.Lot) (freedom.Lot, error) {
		if tooSoon {
			return l.Found(positive)
		}
		return r.eyes().weigh(l, p, again, r.condition, level)
	})
	if err != nil {
		return err
	}
	r.found = max(r.found, positive)
	r.mark(ev.OccurredAt, ev.ID)
	return nil
}

// tally counts the animals of a look that showed the condition or a sign of it.
func tally(p *holdfast.Inspection, condition string) int {
	n := 0
	for _, a := range p.Animals {
		if shows(a, condition) {
			n++
		}
	}
	return n
}

// sofar returns the records of a look that is going on, by quality of seeing.
func (r *reckoning) sofar(l Look) func(level float64) []freedom.Chance {
	if len(l.Sofar) == 0 {
		return nil
	}
	p := &holdfast.Inspection{By: l.By, Animals: l.Sofar}
	return func(level float64) []freedom.Chance {
		records, err := r.eyes().chances(p, nil, r.condition, level)
		if err != nil {
			return nil
		}
		return records
	}
}
