package desk

import (
	"errors"
	"math"

	"holdfast"
	"holdfast/science/freedom"
	"holdfast/science/ref"
)

// How much likelier an animal carries something if it looks weak, or if it is
// one of those that can be caught. Nobody has measured either.
var (
	// weakOdds is how many times the odds of carrying are higher for an animal
	// that looks weak. The figures run through its whole range.
	weakOdds = ref.Param{Value: 2, Low: 0.5, High: 5, Unit: "times", Basis: ref.Guess,
		Note: "Odds of carrying, an animal that looks weak against another. Carriers may weaken; weakness has many other causes."}
	// caughtOdds is how many times the odds may differ between the animals that
	// can be caught and the others, in either direction; the figures count on
	// the worse one.
	caughtOdds = ref.Param{Value: 3, Low: 1, High: 5, Unit: "times", Basis: ref.Guess,
		Note: "By how much those that can be caught may differ from those that hide."}
)

// weakOddsAt runs through the range of weakOdds, evenly in its logarithm on
// either side of its value.
func weakOddsAt(level float64) float64 {
	if level < 0.5 {
		return weakOdds.Low * math.Pow(weakOdds.Value/weakOdds.Low, level/0.5)
	}
	return weakOdds.Value * math.Pow(weakOdds.High/weakOdds.Value, (level-0.5)/0.5)
}

// among returns of how many animals those looked at were a choice. Where nobody
// counted them they are taken as the only ones, which proves least.
func among(p *holdfast.Inspection, looked, alive int) int {
	return min(max(p.Among, looked), alive)
}

// weigh returns the lot after an inspection, each animal counted for what it is:
// drawn at random, picked as weak, whichever could be caught, or several in one
// picture. again are second looks at the same animals.
func (e eyes) weigh(l freedom.Lot, p *holdfast.Inspection, again []*holdfast.Inspection, condition string, level float64) (freedom.Lot, error) {
	positive := tallyAll(p, again, condition)
	if p.PerRecord() > 1 {
		if !p.Random {
			return l.Found(positive)
		}
		return e.weighPools(l, p, condition, level)
	}
	records, err := e.chances(p, again, condition, level)
	if err != nil {
		return l, err
	}
	switch {
	case p.Random:
		return l.Look(records)
	case p.Chosen == holdfast.ChosenWeak:
		return l.LookWeak(among(p, len(records), l.Alive()), weakOddsAt(level), records)
	case p.Chosen == holdfast.ChosenAsCaught:
		return e.weighCaught(l, p, records, positive)
	}
	return l.Found(positive)
}

// weighCaught counts on the lower of two readings: that those that can be caught
// carry it less often than those that hide, or as often.
func (e eyes) weighCaught(l freedom.Lot, p *holdfast.Inspection, records []freedom.Chance, positive int) (freedom.Lot, error) {
	if positive > 0 {
		return l.Look(records) // what is there is there; how many is the same guess either way
	}
	return l.LookWeak(among(p, len(records), l.Alive()), 1/caughtOdds.Value, records)
}

// weighPools counts pictures of several animals: one with signs says that at
// least one of them carries it, not which and not how many. The least well seen
// picture speaks for all.
func (e eyes) weighPools(l freedom.Lot, p *holdfast.Inspection, condition string, level float64) (freedom.Lot, error) {
	pools := freedom.Pools{Size: p.PerRecord()}
	least, positive := 2.0, 0
	for _, a := range p.Animals {
		switch {
		case shows(a, condition):
			positive++
		case !a.Readable():
			continue
		}
		pools.Number++
		share := seenShare(condition, a.Seen)
		if shows(a, condition) && share == 0 {
			share = 1
		}
		least = min(least, share)
	}
	if pools.Number == 0 || least == 0 {
		return l.Found(positive)
	}
	how, err := e.seeing(condition, p.By, holdfast.Sides, level)
	if err != nil {
		return l, err
	}
	how.Sensitivity *= least
	pools.How = how
	return l.LookPools(pools, positive)
}

// secondLooks returns the looks at the animals of the look with this id once
// more, before end.
func secondLooks(l *holdfast.Lot, id holdfast.ID, end holdfast.Micros) []*holdfast.Inspection {
	if id == "" {
		return nil
	}
	var out []*holdfast.Inspection
	for _, ev := range l.Events {
		if p, ok := ev.Payload.(*holdfast.Inspection); ok && p.Second == id && ev.OccurredAt < end {
			out = append(out, p)
		}
	}
	return out
}

// firstLook returns the look that a second look repeats, if it stands.
func firstLook(l *holdfast.Lot, second holdfast.ID) (holdfast.Event, bool) {
	for _, ev := range l.Events {
		if p, ok := ev.Payload.(*holdfast.Inspection); ok && ev.ID == second && second != "" && p.Second == "" {
			return ev, true
		}
	}
	return holdfast.Event{}, false
}

// tallyAll counts the animals on which any of the looks saw the condition.
func tallyAll(p *holdfast.Inspection, again []*holdfast.Inspection, condition string) int {
	with := map[int]bool{}
	for _, q := range append([]*holdfast.Inspection{p}, again...) {
		for _, a := range q.Animals {
			if shows(a, condition) {
				with[a.No] = true
			}
		}
	}
	return len(with)
}

// BiasSays says in words what it does to a clean look at n that only some of the
// animals could be caught, for the condition that is least likely clear.
func (v *LotView) BiasSays(n, could int) (string, error) {
	cond, l, ok := v.plainLot()
	if !ok || could >= l.Alive() || n > could {
		return "", nil
	}
	how := eyes(v.Shop.Sight).plain(cond, holdfast.ByLens)
	bias, err := freedom.WhatBiasDoes(l, could, caughtOdds.Value, freedom.Repeat(how.Clean(), n))
	var none *ref.NoAnswer
	if errors.As(err, &none) {
		return "", nil
	}
	return bias.Sentence, err
}
