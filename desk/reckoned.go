package desk

import (
	"fmt"
	"slices"

	"holdfast"
	"holdfast/science/freedom"
	"holdfast/science/ref"
)

// Reckoned is one step of how a chance came about.
type Reckoned struct {
	Point
	Event holdfast.Event
	// Figure says whether the model kept a chance of that moment.
	Figure bool
	// How says what the step was taken for.
	How string
	// Proof is what a look proved by itself, nil for what is no random look.
	Proof *Proof
}

// Reckoned lists what bears on an assessment, oldest first, each with the
// chance after it.
func (v *LotView) Reckoned(a Assessment) ([]Reckoned, error) {
	if !slices.ContainsFunc(a.Line, func(p Point) bool { return p.Entry != "" }) && len(a.Line) > 1 {
		return v.reckonedByDay(a)
	}
	byID := map[holdfast.ID]holdfast.Event{}
	for _, ev := range v.Lot.Events {
		byID[ev.ID] = ev
	}
	var out []Reckoned
	for _, pt := range a.Line {
		r := Reckoned{Point: pt, Event: byID[pt.Entry], Figure: true}
		if r.Event.Payload == nil {
			r.How = "What a lot like this is held for before anybody looks."
		}
		if err := v.explain(&r, a, false); err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

// reckonedByDay does it for a model that works the chance out day by day: it
// lists what was seen and done, each with the chance of that evening where the
// model kept it.
func (v *LotView) reckonedByDay(a Assessment) ([]Reckoned, error) {
	const soon = holdfast.Micros(36 * 3600 * 1e6)
	var out []Reckoned
	for _, ev := range v.Lot.Events {
		switch p := ev.Payload.(type) {
		case *holdfast.Inspection:
			if !slices.Contains(p.LookedFor, a.Condition.ID) && tallyAll(p, nil, a.Condition.ID) == 0 {
				continue
			}
		case *holdfast.Treatment:
			if p.Trial || p.Held == holdfast.HeldVoid {
				continue
			}
		case *holdfast.Removal:
			if !p.Positive {
				continue
			}
		default:
			continue
		}
		r := Reckoned{Point: Point{At: ev.OccurredAt, Entry: ev.ID}, Event: ev}
		for _, pt := range a.Line {
			if pt.At >= ev.OccurredAt && pt.At <= ev.OccurredAt+soon {
				r.Chance, r.Low, r.High, r.Figure = pt.Chance, pt.Low, pt.High, true
				break
			}
		}
		if err := v.explain(&r, a, true); err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

// explain says what a look was taken for and what it proves by itself.
func (v *LotView) explain(r *Reckoned, a Assessment, byDay bool) error {
	p, ok := r.Event.Payload.(*holdfast.Inspection)
	if !ok {
		return nil
	}
	r.How = v.lookHow(r.Event, p, byDay)
	proof, ok, err := v.Prove(a.Condition, *p)
	if ok && p.Second == "" {
		r.Proof = &proof
	}
	return err
}

// lookHow says what a look was taken for; byDay is the life-cycle model's way.
func (v *LotView) lookHow(ev holdfast.Event, p *holdfast.Inspection, byDay bool) string {
	say := ""
	switch {
	case p.Second != "":
		return "The same animals once more: weighed together with the first look, not as fresh ones."
	case p.Chosen == holdfast.ChosenWeak && byDay:
		say = "Weak ones on purpose: they prove presence only, and never count as a random look."
	case p.Chosen == holdfast.ChosenAsCaught && byDay:
		say = fmt.Sprintf("Whichever could be caught: clean ones count one in %g, since those that hide may carry it more often (a guess).", caughtOdds.Value)
	case p.Chosen == holdfast.ChosenWeak:
		say = fmt.Sprintf("Weak ones on purpose: weighed with odds of carrying %g times those of the others (from %g to %g, a guess), never as a random look.", weakOdds.Value, weakOdds.Low, weakOdds.High)
	case p.Chosen == holdfast.ChosenAsCaught:
		say = fmt.Sprintf("Whichever could be caught: counted as if those had %g times lower odds of carrying than those that hide (a guess).", caughtOdds.Value)
	case !p.Random:
		return "Picked by eye: proves presence only."
	case p.Chosen == holdfast.ChosenAll:
		say = "All there were."
	default:
		say = "Drawn at random; each of them went back, so a later look may meet it again."
	}
	if p.PerRecord() > 1 {
		say += fmt.Sprintf(" Seen %d at a time.", p.PerRecord())
	}
	if n := len(secondLooks(v.Lot, ev.ID, noEnd)); n > 0 {
		say += " With the second pair of eyes."
	}
	return say
}

// Returned compares two ways of taking several clean looks since the last dose:
// every animal went back each time, or those looked at were kept apart so that
// no animal was seen twice.
type Returned struct {
	Looks, Animals int
	// With and Without are the chances of clear with and without returning them;
	// Without is 0 when there were not so many animals.
	With, Without float64
	Fits          bool
}

// Returned answers for the random looks at a condition since the last dose, or
// false when there were fewer than two or one found something. It is one look
// after another alone: no deaths between them, eyes as good as their one figure.
func (v *LotView) Returned(a Assessment) (Returned, bool, error) {
	alive := v.Lot.Alive.N
	var out Returned
	prior := v.Case.prior(v.Lot, a.Condition.ID)
	with, err := freedom.NewLot(alive, prior)
	if err != nil {
		return out, false, err
	}
	start := with
	var all []freedom.Chance
	for _, ev := range v.Lot.Events {
		p, ok := ev.Payload.(*holdfast.Inspection)
		if !ok || !p.Random || p.PerRecord() > 1 || p.Second != "" || ev.OccurredAt < v.Lot.LastDose {
			continue
		}
		proof, ok, err := v.Prove(a.Condition, *p)
		if err != nil || proof.Record.Positive > 0 || ok && proof.Record.Looked > alive {
			return out, false, err
		}
		if !ok {
			continue
		}
		records := freedom.Repeat(proof.Record.How.Clean(), proof.Record.Looked)
		if with, err = with.Look(records); err != nil {
			return out, false, err
		}
		all = append(all, records...)
		out.Looks++
	}
	if out.Looks < 2 {
		return out, false, nil
	}
	out.Animals, out.With = len(all), with.Clear()
	if out.Fits = len(all) <= alive; out.Fits {
		once, err := start.Look(all)
		if err != nil {
			return out, false, err
		}
		out.Without = once.Clear()
	}
	return out, true, nil
}

// Introduction is the chance that something new comes into a lot within a week:
// by a net, water, a plant, an animal.
var Introduction = ref.Param{Value: 0.01, Low: 0.001, High: 0.05, Unit: "share a week", Basis: ref.Guess,
	Note: "Quarantine with its own nets and no new animals. Eggs that hatch later are no introduction: they were there."}

// Decay says how a chance of clear falls when nobody looks, and where a routine
// of equal clean looks holds it.
type Decay struct {
	Weekly float64
	// After are the chances after 0, 1, 2, 4, 8 and 12 weeks without a look.
	Weeks []int
	After []float64
	// Look is the size of the weekly look, Sees the chance that it would find a
	// lot that carries it, Before and Holds where a routine of them settles, just
	// before and just after each; Why says why there is none.
	Look          int
	Sees          float64
	Before, Holds float64
	Why           string
}

// Decay answers with a weekly chance of introduction (Martin and others 2007).
func (v *LotView) Decay(a Assessment, weekly float64) (Decay, error) {
	out := Decay{Weekly: weekly, Weeks: []int{0, 1, 2, 4, 8, 12}, Look: min(v.Shop.LookSize, max(1, v.Lot.Alive.N))}
	f, week := a.Figure.Chance, 0
	for _, w := range out.Weeks {
		for ; week < w; week++ {
			var err error
			if f, err = freedom.Discount(f, weekly); err != nil {
				return out, err
			}
		}
		out.After = append(out.After, f)
	}
	prior := v.Case.prior(v.Lot, a.Condition.ID)
	prior.Infested = 1
	lot, err := freedom.NewLot(max(1, v.Lot.Alive.N), prior)
	if err != nil {
		return out, err
	}
	how := eyes(v.Shop.Sight).plain(a.Condition.ID, holdfast.ByLens)
	quiet, err := lot.AllClean(out.Look, how)
	if err != nil {
		return out, err
	}
	clear := lot.Clear() // an infested source may send a lot that carries nothing
	out.Sees = 1 - (quiet-clear)/(1-clear)
	before, after, err := freedom.Equilibrium(out.Sees, weekly)
	if err != nil {
		out.Why = err.Error()
		return out, nil
	}
	out.Before, out.Holds = before, after
	return out, nil
}
