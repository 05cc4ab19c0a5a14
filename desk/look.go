package desk

import (
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math/rand/v2"
	"slices"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/freedom"
)

// LookPlan is a look before it is made: how many, and where each is caught.
type LookPlan struct {
	Planned int
	Places  []string
	// LookFor are the conditions that the animals can carry.
	LookFor []string
	// Why says in one sentence why so many.
	Why string
}

// PlanLook proposes a look: enough clean animals to reach the line, if that can
// be done today and is more than the gate's own number, else the gate's number.
func (d *Desk) PlanLook(ctx context.Context, v *LotView) (LookPlan, error) {
	alive := max(1, v.Lot.Alive.N)
	p := LookPlan{Planned: min(v.Shop.LookSize, alive)}
	p.Why = fmt.Sprintf("The gate asks for a clean look at %d.", p.Planned)
	p.LookFor = v.LookFor()
	for _, a := range v.Assessed {
		if a.Why != "" || a.More == nil {
			continue
		}
		n, err := a.More(ReleaseLine(v.Shop), Look{By: holdfast.ByLens, Seen: holdfast.Sides})
		if err == nil && n > p.Planned && n <= alive {
			p.Planned = n
			p.Why = fmt.Sprintf("%s, all clean, would reach the line for the %s.", upper(animals(n)), lower(a.Condition.Name))
		}
	}
	rng, err := d.rng()
	if err != nil {
		return p, err
	}
	p.Places = drawPlaces(p.Planned, rng)
	return p, nil
}

// PlanLookAt plans a look at a number of animals that somebody asked for.
func (d *Desk) PlanLookAt(v *LotView, n int) (LookPlan, error) {
	rng, err := d.rng()
	return LookPlan{Planned: n, LookFor: v.LookFor(), Why: fmt.Sprintf("You asked for a look at %d.", n), Places: drawPlaces(n, rng)}, err
}

// rng returns a generator seeded from the desk's own chance.
func (d *Desk) rng() (*rand.Rand, error) {
	var seed [16]byte
	if _, err := io.ReadFull(d.Random, seed[:]); err != nil {
		return rand.New(rand.NewPCG(0, 0)), err
	}
	return rand.New(rand.NewPCG(binary.BigEndian.Uint64(seed[:8]), binary.BigEndian.Uint64(seed[8:]))), nil
}

// LookFor returns what a look at this lot is for: the conditions a chance is
// kept of, or, for animals that carry none of them, whatever else may be seen.
func (v *LotView) LookFor() []string {
	if len(v.Assessed) == 0 {
		return []string{reference.Other}
	}
	var ids []string
	for _, a := range v.Assessed {
		ids = append(ids, a.Condition.ID)
	}
	return ids
}

// FirstLook says in one sentence how many animals of a new lot to look at first
// and why.
func (v *LotView) FirstLook() string { return FirstLookAt(v.Shop, v.Lot.Alive.N) }

// FirstLookAt says for a new lot of so many how many to look at first: so many
// that a lot of which one animal in ten carries something would show it 19 times
// in 20, seen from all sides with a lens.
func FirstLookAt(s holdfast.ShopSet, alive int) string {
	advice, err := freedom.FirstLook(max(1, alive), 0.1, 0.95, eyes(s.Sight).plain(reference.RostrumWorm, holdfast.ByLens))
	if err != nil {
		return ""
	}
	return advice.Sentence
}

// drawPlaces returns n places of a tank in random order, every place as often
// as any other give or take one, so that the sample takes hiders and the bold
// alike.
func drawPlaces(n int, r *rand.Rand) []string {
	var all []string
	for _, depth := range []string{"front", "back"} {
		for _, side := range []string{"left", "middle", "right"} {
			for _, height := range []string{"low", "high"} {
				all = append(all, depth+" "+side+", "+height)
			}
		}
	}
	out := make([]string, 0, n)
	for len(out) < n {
		for _, i := range r.Perm(len(all)) {
			if len(out) < n {
				out = append(out, all[i])
			}
		}
	}
	return out
}

// Inspect records a look. The animals' findings are what was seen, nothing is
// filled in.
func (d *Desk) Inspect(ctx context.Context, by Actor, lot, tank string, p holdfast.Inspection) (holdfast.ID, error) {
	l, err := d.Lot(ctx, lot)
	if err != nil {
		return "", err
	}
	if p.Looked() > max(l.Alive.High, 1) {
		return "", holdfast.Problems{{Field: "animals", Message: fmt.Sprintf("%s were looked at, but only %d are thought alive", animals(p.Looked()), l.Alive.N), Hint: "Recount the lot first, or enter two looks."}}
	}
	if p.Second != "" {
		if err := checkSecond(l, d.Now(), &p); err != nil {
			return "", err
		}
	}
	stop, err := d.foundStops(ctx, l, &p)
	if err != nil {
		return "", err
	}
	return d.writeFirst(ctx, by, append([]note{{lot, tank, &p}}, stop...)...)
}

// Running returns the figure of a condition as it would stand with the animals
// judged so far, and in words how many more clean ones reach the line.
func (v *LotView) Running(condition string, p holdfast.Inspection, now holdfast.Micros, e Evidence, other func(string) (*holdfast.Lot, error)) (Assessment, string, error) {
	if i := slices.IndexFunc(v.Assessed, func(a Assessment) bool { return a.Condition.ID == condition }); v.Life && i >= 0 && v.Assessed[i].Because == "" {
		return v.runningLife(v.Assessed[i], p)
	}
	l := *v.Lot
	if len(p.Animals) > 0 {
		ev := holdfast.Event{Payload: &p}
		ev.OccurredAt, ev.Kind = now, holdfast.KindInspection
		l.Events = append(append([]holdfast.Event{}, l.Events...), ev)
	}
	c := v.Case
	c.Lot, c.Other = &l, other
	assessed, err := e.Assess(c)
	if err != nil {
		return Assessment{}, "", err
	}
	for i, a := range assessed {
		if a.Condition.ID != condition {
			continue
		}
		before := v.Assessed[i]
		if before.More == nil {
			return a, "", nil
		}
		if !p.Random || p.PerRecord() > 1 {
			return a, "How many more would do is only said of animals drawn at random and looked at one by one.", nil
		}
		n, err := before.More(ReleaseLine(v.Shop), Look{By: p.By, Seen: holdfast.Sides, Sofar: p.Animals})
		switch {
		case err != nil:
			return a, err.Error(), nil
		case n == 0:
			return a, fmt.Sprintf("You are at %s: stop here.", v.lineWords()), nil
		}
		return a, fmt.Sprintf("%d more clean and you are at %s.", n, v.lineWords()), nil
	}
	return Assessment{}, "", &holdfast.Error{Kind: holdfast.NotFound, Message: fmt.Sprintf("no chance is kept of %q", condition)}
}

// runningLife is Running where the life-cycle model answers.
func (v *LotView) runningLife(a Assessment, p holdfast.Inspection) (Assessment, string, error) {
	if a.Answer == nil || a.Answer.Sight == nil {
		a.Pending = true
		return a, "The chance is being worked out.", nil
	}
	if len(p.Animals) > 0 && (!p.Random || p.PerRecord() > 1) {
		a.Pending = true
		return a, "What these prove is reckoned once the look is saved: it is only foreseen of animals drawn at random and looked at one by one.", nil
	}
	l := Look{By: p.By, Seen: holdfast.Sides, Sofar: p.Animals}
	chance, err := a.Answer.running(v.Shop, l)
	if err != nil {
		return a, err.Error(), nil
	}
	a.Figure.Chance = chance
	n, err := a.More(ReleaseLine(v.Shop), l)
	switch {
	case err != nil:
		return a, err.Error(), nil
	case n == 0:
		return a, fmt.Sprintf("You are about at %s.", v.lineWords()), nil
	}
	return a, fmt.Sprintf("About %d more clean and you are at %s.", n, v.lineWords()), nil
}

// lineWords names the line as a share.
func (v *LotView) lineWords() string {
	if v.Shop.Line == holdfast.LineBag {
		return Percent(v.Shop.BagLine) + " a bag"
	}
	return Percent(v.Shop.ClearLine)
}
