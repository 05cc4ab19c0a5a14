package desk

import (
	"context"
	"fmt"
	"slices"
	"time"

	"holdfast"
	"holdfast/reference"
)

// Judged are the animals that a person has said all about, as they would stand
// in a look: what was said, the sides that the photographs show, and by which
// photographs.
func (b *Bench) Judged(who string) []holdfast.Animal {
	var out []holdfast.Animal
	for _, a := range b.Animals {
		said, ok := a.Said[who]
		if !ok || !said.Done {
			continue
		}
		x := holdfast.Animal{No: a.No, Seen: a.Seen(said), Findings: said.Findings, Alone: said.Alone}
		if x.Seen == nil {
			x.Seen = []holdfast.Side{}
		}
		for _, side := range holdfast.Sides {
			for _, p := range a.Sides[side] {
				x.Photos = append(x.Photos, holdfast.AnimalPhoto{SHA256: p.SHA256, Side: side})
			}
		}
		x.Photos = x.Photos[:min(len(x.Photos), 200)]
		out = append(out, x)
	}
	return out
}

// SaveForm is what a person adds when a look by photographs is saved.
type SaveForm struct {
	// Chosen is one of the Chosen constants, and Among of how many they were a
	// choice, 0 where nobody counted them.
	Chosen string
	Among  int
	Note   string
	Task   string
}

// SaveLook makes what a person said of the animals on the bench a look of the
// lot. Where the same person saved one before, it takes that one's place; where
// another did, it becomes a second look at the same animals.
func (d *Desk) SaveLook(ctx context.Context, by Actor, b *Bench, f SaveForm) (holdfast.ID, error) {
	judged := b.Judged(by.Who)
	if len(judged) == 0 {
		return "", holdfast.Problems{{Field: "animals", Message: "no animal has been judged", Hint: "Judge at least one first."}}
	}
	lot := b.View.Lot
	tank := firstTank(lot)
	look := &holdfast.Inspection{By: holdfast.ByPhoto, Chosen: f.Chosen, Random: f.Chosen == holdfast.ChosenRandom || f.Chosen == holdfast.ChosenAll,
		Among: f.Among, LookedFor: b.View.LookFor(), Planned: len(judged), Animals: judged, Blind: true, Note: f.Note, Task: f.Task}
	switch {
	case b.Saved != nil && b.Saved.Who != by.Who:
		look.Chosen, look.Random, look.Among, look.Second = holdfast.ChosenAgain, false, 0, b.Saved.ID
		look.Animals = alsoIn(judged, b.Saved)
		if look.Planned = len(look.Animals); look.Planned == 0 {
			return "", holdfast.Problems{{Field: "animals", Message: "none of the animals of the saved look was judged again", Hint: "Judge those that " + b.Saved.Who + " judged."}}
		}
	case len(judged) > max(lot.Alive.High, 1):
		return "", holdfast.Problems{{Field: "animals", Message: fmt.Sprintf("%s were judged, but only %d are thought alive", animals(len(judged)), lot.Alive.N), Hint: "Recount the lot first, or give the photographs of one animal one number."}}
	case b.Saved != nil && len(b.Seconds) > 0:
		return "", holdfast.Problems{{Field: "animals", Message: "another person has judged these animals since, beside what was saved", Hint: "Take the second look back first, in the journal of the lot."}}
	case b.Saved != nil:
		return d.replaceLook(ctx, by, b.Saved, tank, look, "Judged again on the bench.", lot)
	}
	stop, err := d.foundStops(ctx, lot, look)
	if err != nil {
		return "", err
	}
	return d.writeFirst(ctx, by, append([]note{{lot.ID, tank, look}}, stop...)...)
}

// alsoIn are the animals that a saved look has too.
func alsoIn(all []holdfast.Animal, saved *holdfast.Event) []holdfast.Animal {
	var out []holdfast.Animal
	for _, a := range all {
		if slices.ContainsFunc(saved.Payload.(*holdfast.Inspection).Animals, func(x holdfast.Animal) bool { return x.No == a.No }) {
			out = append(out, a)
		}
	}
	return out
}

// replaceLook records a look and takes back the one whose place it takes.
func (d *Desk) replaceLook(ctx context.Context, by Actor, old *holdfast.Event, tank string, look *holdfast.Inspection, reason string, lot *holdfast.Lot) (holdfast.ID, error) {
	if by.ID == "" {
		id, err := d.NewID()
		if err != nil {
			return "", err
		}
		by.ID = id
	}
	at := by
	if at.At.IsZero() {
		at.At = old.OccurredAt.In(time.UTC).Add(time.Microsecond) // the look stays on the day of the look
	}
	stop, err := d.foundStops(ctx, lot, look)
	if err != nil {
		return "", err
	}
	return d.writeFirst(ctx, at, append([]note{{old.Lot, tank, look}, takesBack(*old, holdfast.Correction{Reason: reason, Replaced: by.ID})}, stop...)...)
}

// Difference is an animal of which two people said different things.
type Difference struct {
	No int
	// First and Second are conditions by name; empty means nothing.
	First, Second       []string
	FirstWho, SecondWho string
}

// Differences compares the saved look with second looks at it, animal by
// animal: both judged how many, and where they disagree on what was found.
func (b *Bench) Differences() (both int, all []Difference) {
	if b.Saved == nil {
		return 0, nil
	}
	first := b.Saved.Payload.(*holdfast.Inspection)
	for _, ev := range b.Seconds {
		for _, a := range ev.Payload.(*holdfast.Inspection).Animals {
			i := slices.IndexFunc(first.Animals, func(x holdfast.Animal) bool { return x.No == a.No })
			if i < 0 {
				continue
			}
			both++
			x, y := found(first.Animals[i]), found(a)
			if slices.Equal(x, y) {
				continue
			}
			all = append(all, Difference{No: a.No, First: calledAll(x), Second: calledAll(y), FirstWho: b.Saved.Who, SecondWho: ev.Who})
		}
	}
	return both, all
}

// found lists what an animal showed, each condition once in order of its name.
func found(a holdfast.Animal) []string {
	var out []string
	for _, f := range a.Findings {
		id := f.Condition
		if id == holdfast.Pigment {
			continue // a spot that is nothing is nothing
		}
		if id != holdfast.CannotTell {
			id = ConditionOf(id)
		}
		if !slices.Contains(out, id) {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out
}

func calledAll(ids []string) []string {
	var out []string
	for _, id := range ids {
		if id == holdfast.CannotTell {
			out = append(out, "cannot tell")
		} else {
			out = append(out, Called(id))
		}
	}
	return out
}

// Pair is a photograph of an earlier look beside one of a later.
type Pair struct {
	Side         holdfast.Side
	Before       *BenchPhoto
	After        *BenchPhoto
	BeforeAnimal int
	AfterAnimal  int
}

// Pairs lays the sharpest photographs of two days side by side, side for side.
// Animals are not known one by one: a pair shows the lot before and after, not
// one animal.
func Pairs(before, after *Bench) []Pair {
	best := func(b *Bench, side holdfast.Side) []*BenchPhoto {
		var out []*BenchPhoto
		for _, a := range b.Animals {
			if list := a.Sides[side]; len(list) > 0 && list[0].Usable() {
				out = append(out, list[0])
			}
		}
		slices.SortStableFunc(out, byUse)
		return out
	}
	var out []Pair
	for _, side := range holdfast.Sides {
		x, y := best(before, side), best(after, side)
		rows := min(3, len(x), len(y))
		if rows == 0 {
			rows = min(1, len(x)+len(y)) // one side alone still shows that the other is missing
		}
		for i := range rows {
			p := Pair{Side: side}
			if i < len(x) {
				p.Before, p.BeforeAnimal = x[i], x[i].Animal
			}
			if i < len(y) {
				p.After, p.AfterAnimal = y[i], y[i].Animal
			}
			if p.Before != nil || p.After != nil {
				out = append(out, p)
			}
		}
	}
	return out
}

// VerdictOf returns the finding that a verdict key stands for.
func VerdictOf(key string) (holdfast.Finding, bool) {
	for _, k := range reference.Builtin().Keys() {
		if k.ID == key {
			return holdfast.Finding{Condition: key}, true
		}
	}
	return holdfast.Finding{}, false
}
