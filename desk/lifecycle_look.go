package desk

import (
	"slices"

	"holdfast"
	"holdfast/science/clearance"
)

// pending is the newest look that found signs, until it is known what became of
// the animals that showed them.
type pending struct {
	look    int // its place among the looks; -1 when it is none for the model
	day     float64
	any     int // animals with signs of anything
	carried int // of them, those with signs of the condition
	out     int // animals with signs taken out since
	exits   []clearance.Exit
}

// look adds what was seen. Animals picked for their looks, and animals seen too
// soon after a dose, prove presence only.
func (b *lifeBuilder) look(l *holdfast.Lot, ev holdfast.Event, p *holdfast.Inspection) {
	at := b.day(ev.OccurredAt)
	if p.Second != "" {
		return // weighed with the look that it repeats
	}
	tally := eyes(b.c.Sight).seenOf(p, b.again(l, ev.ID), b.cond.ID)
	if !slices.Contains(p.LookedFor, b.cond.ID) && tally.carriers == 0 {
		return
	}
	b.settle()
	b.out.Looked += tally.looked
	b.out.Positive += tally.carriers
	k := clearance.Look{Day: at, Animals: tally.looked, Worms: tally.worms, Eggs: tally.eggs, Both: &tally.both,
		View: tally.view / float64(max(tally.looked, 1)), Tank: b.tank(ev.Tank)}
	caught := p.Chosen == holdfast.ChosenAsCaught
	switch {
	case at < b.quiet:
		b.note("Clean looks within %g days of a dose prove nothing: a dose hides what it does not kill.", SettleDays.Value)
		k.Picked, k.Animals = true, tally.carriers
	case caught && tally.carriers == 0:
		b.note("A clean look at whatever could be caught counts a third: those that hide may carry it more often.")
		k.View /= caughtOdds.Value
	case !p.Random && !caught:
		b.note("Looks at animals that were picked for their looks prove presence only.")
		k.Picked, k.Animals = true, tally.carriers
	}
	place := -1
	if k.Animals > 0 && (k.View > 0 || tally.carriers > 0) {
		if k.View == 0 {
			k.View = 1
		}
		if short := k.Animals - b.total(); short > 0 {
			b.more(short, ev.Tank)
		}
		place = len(b.out.Looks)
		b.out.Looks = append(b.out.Looks, k)
	}
	if n := p.Positive(); n > 0 {
		b.signs = &pending{look: place, day: at, any: n, carried: tally.carriers}
	}
}

// confirmed says that what the last look with signs showed was no mistake. That
// a treatment seemed to help proves too little.
func (b *lifeBuilder) confirmed(p *holdfast.CaseConfirmed) {
	if p.Truth != b.cond.ID || p.Proof == holdfast.ProofResponse {
		return
	}
	for i := len(b.out.Looks) - 1; i >= 0; i-- {
		if l := &b.out.Looks[i]; l.Worms > 0 || l.Eggs > 0 {
			l.Confirmed = true
			return
		}
	}
}

// Unproven is how many animals showed signs at looks of which nothing was
// confirmed: the model leaves open that all of them were mistakes. It is 0 once
// one look was confirmed.
func (h *History) Unproven() int {
	n := 0
	for _, l := range h.Looks {
		switch {
		case l.Confirmed:
			return 0
		case l.Planned:
		case l.Both != nil:
			n += l.Worms + l.Eggs - *l.Both
		default:
			n += max(l.Worms, l.Eggs)
		}
	}
	return n
}

// seen counts one look for one condition.
type seen struct {
	looked, carriers, worms, eggs, both int
	view                                float64 // summed over those looked at
}

// again returns the second looks at the same animals that were made by then.
func (b *lifeBuilder) again(l *holdfast.Lot, id holdfast.ID) []*holdfast.Inspection {
	return secondLooks(l, id, (b.asOf + 1).Start(b.zone))
}

// seenOf counts a look and those that repeat it: what any of them saw is seen.
// A picture of several animals stands, when clean, for all of them, and with
// signs for one that has them.
func (e eyes) seenOf(p *holdfast.Inspection, again []*holdfast.Inspection, condition string) seen {
	var s seen
	by := e.ofGood(condition, p.By)
	for _, a := range p.Animals {
		worm, egg := signsOn(a, condition)
		for _, q := range again {
			for _, x := range q.Animals {
				if x.No == a.No {
					w, e := signsOn(x, condition)
					worm, egg = worm || w, egg || e
				}
			}
		}
		if !worm && !egg && !a.Readable() {
			continue
		}
		n := 1
		if !worm && !egg {
			n = p.PerRecord()
		}
		s.looked += n
		sides := a.Seen
		if (worm || egg) && seenShare(condition, sides) == 0 {
			sides = holdfast.Sides
		}
		s.view += float64(n) * by * seenShare(condition, sides)
		if worm {
			s.worms++
		}
		if egg {
			s.eggs++
		}
		switch {
		case worm && egg:
			s.both++
			s.carriers++
		case worm || egg:
			s.carriers++
		}
	}
	return s
}

// signsOn reports whether the animal showed the condition, or eggs of it.
func signsOn(a holdfast.Animal, condition string) (worm, egg bool) {
	for _, f := range a.Findings {
		switch {
		case f.Condition == condition:
			worm = true
		case ConditionOf(f.Condition) == condition:
			egg = true
		}
	}
	return worm, egg
}
