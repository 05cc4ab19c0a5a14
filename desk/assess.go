package desk

import (
	"context"
	"errors"
	"fmt"

	"holdfast"
	"holdfast/science/freedom"
	"holdfast/science/ref"
)

// LotView is everything the lot's page and the gate are made of, read once.
type LotView struct {
	Lot         *holdfast.Lot
	Consignment *holdfast.Consignment
	Shop        holdfast.ShopSet
	Today       holdfast.Day
	Assessed    []Assessment
	// Life says that the life-cycle model answers where it can.
	Life bool
	// State says how the figures of the life-cycle model stand.
	State FigureState
	// Case is what the figures were worked out from.
	Case Case
	// Standing is where the lot stood when it was read, for decisions that must
	// not rest on an older state.
	Standing Standing
}

// View reads a lot with its figures.
func (d *Desk) View(ctx context.Context, id string) (*LotView, error) {
	v, err := d.bare(ctx, id)
	if err != nil {
		return nil, err
	}
	if d.Life != nil {
		v.Life = true
		return v, d.Life.assess(ctx, v)
	}
	v.Assessed, err = d.Evidence.Assess(v.Case)
	return v, err
}

// bare reads a lot without figures.
func (d *Desk) bare(ctx context.Context, id string) (*LotView, error) {
	l, err := d.Lot(ctx, id)
	if err != nil {
		return nil, err
	}
	v := &LotView{Lot: l, Standing: Standing{holdfast.Subject{Type: holdfast.SubjectLot, ID: id}, l.HeadSeq}}
	if v.Shop, err = d.Settings(ctx); err != nil {
		return nil, err
	}
	if v.Today, err = d.Today(ctx); err != nil {
		return nil, err
	}
	v.Consignment = holdfast.FoldConsignment(l.Consignment, nil)
	if l.Consignment != "" {
		events, err := d.Store.Events(ctx, holdfast.Subject{Type: holdfast.SubjectConsignment, ID: l.Consignment})
		if err != nil {
			return nil, err
		}
		v.Consignment = holdfast.FoldConsignment(l.Consignment, events)
	}
	v.Case = d.caseOf(ctx, l, v.Consignment, v.Shop)
	return v, nil
}

// caseOf puts together what is known of a lot. What it loads more is read with
// ctx.
func (d *Desk) caseOf(ctx context.Context, l *holdfast.Lot, c *holdfast.Consignment, s holdfast.ShopSet) Case {
	return Case{Lot: l, Consignment: c, BagSize: s.BagSize, Beliefs: s.Beliefs, Sight: s.Sight, Zone: d.zones.named(s.Zone),
		Other: func(id string) (*holdfast.Lot, error) { return d.Lot(ctx, id) },
		Tank: func(id string) (*holdfast.Tank, error) {
			events, err := d.Store.Events(ctx, holdfast.Subject{Type: holdfast.SubjectTank, ID: id})
			return holdfast.FoldTank(id, events), err
		}}
}

// ReleaseLine returns the shop's line in the terms of the statistics.
func ReleaseLine(s holdfast.ShopSet) freedom.Line {
	if s.Line == holdfast.LineBag {
		return freedom.BagLine(s.BagSize, s.BagLine)
	}
	return freedom.ClearLine(s.ClearLine)
}

// Reached reports whether a figure is on the safe side of the shop's line.
func Reached(s holdfast.ShopSet, f holdfast.Figure) bool {
	const slack = 1e-12
	if s.Line == holdfast.LineBag {
		return f.BagRisk <= s.BagLine+slack
	}
	return f.Chance >= s.ClearLine-slack
}

// MoreSays says in one sentence how many more clean animals reach the shop's
// line for a condition, looked at by lens with all sides in view.
func (v *LotView) MoreSays(a Assessment) string {
	switch {
	case a.Why != "":
		return a.Why
	case a.Pending:
		return "It is being worked out."
	case a.More == nil:
		return "How many clean ones would reach the line is being worked out."
	}
	n, err := a.More(ReleaseLine(v.Shop), Look{By: holdfast.ByLens, Seen: holdfast.Sides})
	var none *ref.NoAnswer
	switch {
	case errors.As(err, &none):
		return none.Reason
	case err != nil:
		return err.Error()
	case n == 0 && a.NotLooked:
		return "One look that could show it is enough: what is guessed beforehand reaches the line, but counts only once somebody has looked."
	case n == 0:
		return "The line is reached."
	}
	return fmt.Sprintf("%s more, seen from all sides with a lens and all clean, would reach the line.", animals(n))
}

// animals writes a number of animals in words a person reads.
func animals(n int) string {
	if n == 1 {
		return "1 animal"
	}
	return fmt.Sprintf("%d animals", n)
}
