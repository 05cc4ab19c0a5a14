package desk

import (
	"context"
	"fmt"
	"slices"

	"holdfast"
)

// Hold takes a lot back from sale, or records a suspicion, which holds its kin
// too.
func (d *Desk) Hold(ctx context.Context, by Actor, lot, reason, suspect string) error {
	if suspect != "" {
		if !stops(suspect) {
			return holdfast.Problems{{Field: "suspect", Message: fmt.Sprintf("%q is not among what stops everything", suspect), Hint: "Choose from the list, or leave it empty."}}
		}
		if _, err := d.Lot(ctx, lot); err != nil {
			return err
		}
		n, err := d.suspicion(ctx, lot, suspect, reason)
		if err != nil {
			return err
		}
		_, err = d.write(ctx, by, nil, n)
		return err
	}
	return d.onLot(ctx, by, lot, "", &holdfast.Hold{Reason: reason})
}

// Lift ends a suspicion, with what the authority, the laboratory or the
// veterinarian said: for the lot alone, or also for those that HeldWith names.
func (d *Desk) Lift(ctx context.Context, by Actor, lot, suspect, reason string, also bool) error {
	p := &holdfast.Hold{Reason: reason, Cleared: suspect}
	if by.ID != "" && also {
		if ev, err := d.Store.Entry(ctx, by.ID); err == nil && ev.Kind == holdfast.KindHold && ev.Lot == lot {
			return nil // the form was sent twice: by now none is held with it
		}
	}
	if also {
		var err error
		if p.Also, err = d.HeldWith(ctx, lot, suspect); err != nil {
			return err
		}
	}
	return d.onLot(ctx, by, lot, "", p)
}

// HeldWith returns the kin of a lot that is suspected of the same.
func (d *Desk) HeldWith(ctx context.Context, lot, suspect string) ([]string, error) {
	kin, err := d.kin(ctx, lot, suspect)
	if err != nil {
		return nil, err
	}
	var held []string
	for _, id := range kin {
		l, err := d.Lot(ctx, id)
		if err != nil {
			return nil, err
		}
		if slices.Contains(suspected(l), suspect) {
			held = append(held, id)
		}
	}
	return held, nil
}

// ExitWay is a way out for a lot that does not reach the line.
type ExitWay struct {
	Way, Name, Says string
}

// ExitWays are the ways beside the gate, mildest first. While something is
// suspected that must be reported, only those that keep the animals here
// remain.
func ExitWays(standstill bool) []ExitWay {
	stay := []ExitWay{
		{holdfast.ExitTreatOn, "Treat on", "Stay on hold and start another course."},
		{holdfast.ExitColony, "Keep as a colony", "Kept apart for good, not for sale."},
		{holdfast.ExitPutDown, "Put down humanely", "With a method an aquatic veterinarian approves; the bodies never go into a drain or outdoors."},
	}
	if standstill {
		return stay
	}
	return []ExitWay{stay[0],
		{holdfast.ExitClaim, "Claim or return", "Ask the supplier for credit, or send them back where the law allows it."},
		{holdfast.ExitDisclosed, "Sell to the trade, disclosed", "The buyer is told in writing what was found and what was done."},
		stay[1], stay[2]}
}

// Exit records a decision not to wait for the line.
func (d *Desk) Exit(ctx context.Context, by Actor, lot string, e holdfast.Exit) error {
	v, err := d.View(ctx, lot)
	if err != nil {
		return err
	}
	if standstill := !v.suspicion().Met; standstill && (e.Way == holdfast.ExitClaim || e.Way == holdfast.ExitDisclosed) {
		return refused("Something is suspected that must be reported or has no cure: no animal of this lot may leave.", "Call the authority or an aquatic veterinarian.")
	}
	if e.Count == 0 && (e.Way == holdfast.ExitClaim || e.Way == holdfast.ExitPutDown) {
		e.Count = v.Lot.Alive.N // said outright, for the register
	}
	_, err = d.write(ctx, by, []Standing{v.Standing}, note{lot, "", &e})
	return err
}

// SaleForm is a sale as it is entered.
type SaleForm struct {
	// Buyer is a known pseudonym, or empty for a new buyer of this name.
	Buyer, Name, Contact string
	Count                int
	Price                *holdfast.Money
	Note                 string
	// Papers are what goes with them, for a buyer in the trade.
	Papers holdfast.Papers
}

// Sell records a sale of a lot that is for sale.
func (d *Desk) Sell(ctx context.Context, by Actor, lot string, f SaleForm) error {
	v, err := d.View(ctx, lot)
	if err != nil {
		return err
	}
	l := v.Lot
	if by.ID != "" {
		if ev, err := d.Store.Entry(ctx, by.ID); err == nil && ev.Kind == holdfast.KindSale {
			return nil // the form was sent twice
		}
	}
	switch {
	case l.Status == holdfast.Recalled:
		return refused("Signs were found after this lot was released. It is not for sale.", "Look at the lot's page: who bought from it, and what to do.")
	case l.Status != holdfast.Released && l.Status != holdfast.Disclosed:
		return refused("This lot is not for sale.", "Release it first, or choose another way out on its page.")
	case f.Count < 1 || f.Count > max(l.Alive.N, l.Alive.High):
		return holdfast.Problems{{Field: "count", Message: fmt.Sprintf("%d cannot be sold, %s are thought alive", f.Count, animals(l.Alive.N)), Hint: "Write how many went, or recount the lot first."}}
	}
	batch := Batch{Unchanged: []Standing{v.Standing}}
	buyer := f.Buyer
	if buyer == "" {
		if f.Name == "" {
			return holdfast.Problems{{Field: "name", Message: "the buyer is missing", Hint: "Write a name, so that the buyer can be found if it was wrong."}}
		}
		id, err := d.NewID()
		if err != nil {
			return err
		}
		buyer = "b-" + string(id)[24:]
		batch.Buyer = &Buyer{Pseudonym: buyer, Name: f.Name, Contact: f.Contact}
	}
	_, err = d.writeBatch(ctx, by, batch, note{lot, "", &holdfast.Sale{Buyer: buyer, Count: f.Count, Price: f.Price, Note: f.Note, Papers: given(f.Papers)}})
	return err
}
