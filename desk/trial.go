package desk

import (
	"fmt"
	"strings"
	"time"

	"holdfast"
	"holdfast/science/water/dose"
)

// A trial speaks for later doses of the same thing for this long, and for a
// strength a little above its own. Judgement: animals age, tubs change.
const (
	trialHolds  = 30 * 24 * time.Hour
	trialCovers = 1.1
)

// Trying is a trial on a few animals as it stands at one moment.
type Trying struct {
	Entry holdfast.ID
	Given *holdfast.Treatment
	At    time.Time
	Looks []dose.TrialLook
	Gate  dose.Gate
}

// Opening says whether a whole lot may get a treatment.
type Opening struct {
	Open bool
	// Trial is the newest one that speaks for the treatment, nil for none.
	Trial *Trying
	Says  string
}

// Trials returns the trials of a lot as they stand at now, newest first. One on
// too few or too many animals stands there with a gate that never opens.
func Trials(l *holdfast.Lot, now time.Time) []Trying {
	var out []Trying
	for i := len(l.Events) - 1; i >= 0; i-- {
		ev := &l.Events[i]
		p, ok := ev.Payload.(*holdfast.Treatment)
		if at := ev.OccurredAt.In(time.UTC); ok && p.Trial && !at.After(now) {
			out = append(out, tryingOf(l, ev, p, now))
		}
	}
	return out
}

func tryingOf(l *holdfast.Lot, ev *holdfast.Event, p *holdfast.Treatment, now time.Time) Trying {
	t := Trying{Entry: ev.ID, Given: p, At: ev.OccurredAt.In(time.UTC), Looks: looksAt(l, ev.ID, now)}
	gate, err := dose.Trial{Form: p.Form, Started: t.At, Animals: p.Count, Looks: t.Looks}.Gate(now)
	if err != nil {
		gate = dose.Gate{State: dose.GateClosed, Say: upper(ProblemOf(err).Message) + "."}
	}
	if p.Stopped != "" {
		gate = dose.Gate{State: dose.GateStopped, Say: "It was stopped: " + p.Stopped + ". " + dose.WhenStopped}
	}
	t.Gate = gate
	return t
}

// looksAt returns the looks at the animals of one bath or dip up to now, in
// the order in which they were taken.
func looksAt(l *holdfast.Lot, treatment holdfast.ID, now time.Time) []dose.TrialLook {
	var out []dose.TrialLook
	for i := range l.Events {
		p, ok := l.Events[i].Payload.(*holdfast.TreatmentLook)
		if at := l.Events[i].OccurredAt.In(time.UTC); ok && p.Treatment == treatment && !at.After(now) {
			out = append(out, dose.TrialLook{At: at, Walking: p.Walking, Down: p.Down, Dead: p.Dead})
		}
	}
	return out
}

// OpeningFor says whether the whole lot may get t at now: a trial with the same
// thing, in the same way, no weaker and from the same tub, must have been
// watched for a full day and have found all of them walking.
func OpeningFor(l *holdfast.Lot, t holdfast.Treatment, now time.Time) Opening {
	for _, try := range Trials(l, now) {
		if try.Given.Form != t.Form || !sameActive(try.Given.Active, t.Active) || now.Sub(try.At) > trialHolds {
			continue
		}
		if otherTub := t.Batch != "" && try.Given.Batch != "" && !strings.EqualFold(t.Batch, try.Given.Batch); otherTub {
			continue
		}
		if t.TargetMgL > trialCovers*try.Given.TargetMgL {
			continue
		}
		return Opening{Open: try.Gate.State == dose.GateOpen, Trial: &try, Says: try.Gate.Say}
	}
	return Opening{Says: fmt.Sprintf("Nobody of this lot was tried on it: first %d to %d animals, watched for a full day.", int(dose.TrialAnimals.Low), int(dose.TrialAnimals.High))}
}

func sameActive(a, b string) bool {
	if strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)) {
		return true
	}
	x, okX := IngredientOf(a, "")
	y, okY := IngredientOf(b, "")
	return okX && okY && x.Active == y.Active
}

// IngredientOf returns the ingredient that a name in the journal means, if the
// table knows it, used as form ("bath", "dip") where it is used in several ways.
func IngredientOf(active, form string) (dose.Ingredient, bool) {
	active = strings.ToLower(strings.TrimSpace(active))
	best, found := dose.Ingredient{}, false
	for _, i := range dose.Ingredients() {
		if !named(i, active) {
			continue
		}
		if !found || (best.Use(form) == nil && i.Use(form) != nil) {
			best, found = i, true
		}
	}
	return best, found
}

// named reports whether a name holds one of an ingredient's own.
func named(i dose.Ingredient, active string) bool {
	if active == "" {
		return false
	}
	if active == i.ID {
		return true
	}
	for _, a := range strings.Split(i.Active, ", ") {
		if a = strings.ToLower(a); strings.Contains(active, a) || strings.Contains(active, strings.TrimSuffix(a, "s")) {
			return true
		}
	}
	return false
}
