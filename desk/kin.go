package desk

import (
	"context"
	"maps"
	"math"
	"slices"

	"holdfast"
	"holdfast/reference"
)

// kin returns, in alphabetical order and without it, the lots that a suspicion
// in a lot holds too: every lot its animals may have come from, by splits and
// merges; and every lot that took in animals of any of these since it may have
// carried something. So a lot that was split off before the suspected animals came
// to the whole is not among them. What must be reported passes with the water: of
// that, whatever stands in one tank with any of them now is held too.
func (d *Desk) kin(ctx context.Context, lot, condition string) ([]string, error) {
	given, err := d.giftsAround(ctx, lot)
	if err != nil {
		return nil, err
	}
	held := given.sharing(lot)
	if c, _ := reference.Builtin().Condition(condition); c.NotifiableSuspect {
		if err := d.withWater(ctx, held); err != nil {
			return nil, err
		}
	}
	delete(held, lot)
	ids := slices.Sorted(maps.Keys(held))
	return ids[:min(len(ids), holdfast.MostHeld)], nil
}

// giftsAround reads what a lot gave and took, and those it gave to and took from,
// and on: a split and a merge stand in the journals of both lots, so nothing else
// need be read.
func (d *Desk) giftsAround(ctx context.Context, lot string) (gifts, error) {
	given := gifts{from: map[string][]gift{}, to: map[string][]gift{}}
	seen := map[string]bool{lot: true}
	for next := []string{lot}; len(next) > 0; next = next[1:] {
		l, err := d.Store.Lot(ctx, next[0])
		if err != nil {
			return given, err
		}
		given.of(l)
		for _, ev := range l.Events {
			taker := tookFrom(ev)
			if taker == "" {
				continue
			}
			for _, id := range []string{ev.Lot, taker} {
				if !seen[id] {
					seen[id] = true
					next = append(next, id)
				}
			}
		}
	}
	return given, nil
}

// withWater adds to lots whatever stands in one tank with any of them now.
func (d *Desk) withWater(ctx context.Context, lots map[string]holdfast.Micros) error {
	rows, _, err := d.Store.Lots(ctx, LotQuery{})
	if err != nil {
		return err
	}
	shared := map[string]bool{}
	for _, row := range rows {
		if _, in := lots[row.ID]; in {
			for _, p := range row.Places {
				shared[p.Tank] = true
			}
		}
	}
	for _, row := range rows {
		if slices.ContainsFunc(row.Places, func(p holdfast.Place) bool { return shared[p.Tank] }) {
			lots[row.ID] = 0
		}
	}
	return nil
}

// gift is animals that went from one lot to another.
type gift struct {
	lot string
	at  holdfast.Micros
}

// gifts are who gave animals to whom: from maps a giver to those it gave to, to
// a taker to those it took from.
type gifts struct{ from, to map[string][]gift }

// of adds what a lot gave.
func (g gifts) of(l *holdfast.Lot) {
	for _, ev := range l.Events {
		if taker := tookFrom(ev); taker != "" && ev.Lot == l.ID {
			g.from[l.ID] = append(g.from[l.ID], gift{taker, ev.OccurredAt})
			g.to[taker] = append(g.to[taker], gift{l.ID, ev.OccurredAt})
		}
	}
}

// tookFrom returns the lot that took in animals of the lot of the entry; "" of any
// entry but a split and a merge.
func tookFrom(ev holdfast.Event) string {
	switch p := ev.Payload.(type) {
	case *holdfast.LotSplit:
		return p.NewLot
	case *holdfast.LotMerged:
		return p.Into
	}
	return ""
}

// sharing returns every lot that may carry what a lot carries, itself included,
// with the first instant from which it may.
func (g gifts) sharing(lot string) map[string]holdfast.Micros {
	until := map[string]holdfast.Micros{}
	g.back(lot, math.MaxInt64, until)
	since := map[string]holdfast.Micros{}
	for source := range until {
		g.on(source, math.MinInt64, since)
	}
	return since
}

// back notes for every lot that animals of lot at an instant may have come from
// the latest instant at which they left it.
func (g gifts) back(lot string, at holdfast.Micros, until map[string]holdfast.Micros) {
	if known, seen := until[lot]; seen && known >= at {
		return
	}
	until[lot] = at
	for _, x := range g.to[lot] {
		if x.at <= at {
			g.back(x.lot, x.at, until)
		}
	}
}

// on notes for every lot that took in, after an instant, animals of a lot that
// carried something by then the first instant from which it may carry it.
func (g gifts) on(lot string, at holdfast.Micros, since map[string]holdfast.Micros) {
	if known, seen := since[lot]; seen && known <= at {
		return
	}
	since[lot] = at
	for _, x := range g.from[lot] {
		if x.at >= at {
			g.on(x.lot, x.at, since)
		}
	}
}

// suspicion is the note that holds a lot, and its kin, for what is suspected.
func (d *Desk) suspicion(ctx context.Context, lot, condition, reason string) (note, error) {
	also, err := d.kin(ctx, lot, condition)
	return note{lot: lot, payload: &holdfast.Hold{Suspect: condition, Reason: reason, Also: also}}, err
}

// foundStops are the notes that hold the kin of a lot for what a look found that
// must be reported or has no cure, and that was not suspected already. The lot
// itself is held by what was found (see suspected); without kin there is no more to
// say.
func (d *Desk) foundStops(ctx context.Context, l *holdfast.Lot, look *holdfast.Inspection) ([]note, error) {
	var notes []note
	found := slices.Clone(l.Suspects)
	for _, a := range look.Animals {
		for _, f := range a.Findings {
			c := ConditionOf(f.Condition)
			if !stops(c) || slices.Contains(found, c) {
				continue
			}
			found = append(found, c)
			n, err := d.suspicion(ctx, l.ID, c, "Signs of it were found in a look.")
			if err != nil {
				return nil, err
			}
			if len(n.payload.(*holdfast.Hold).Also) > 0 {
				notes = append(notes, n)
			}
		}
	}
	return notes, nil
}

// stops reports whether a condition must be reported or has no cure, so that
// its suspicion holds everything.
func stops(condition string) bool {
	c, ok := reference.Builtin().Condition(condition)
	return ok && (c.KillsNoCure || c.NotifiableSuspect)
}
