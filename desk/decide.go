package desk

import (
	"context"
	"fmt"

	"holdfast"
	"holdfast/reference"
)

// Hold takes a lot back from sale, or records a suspicion.
func (d *Desk) Hold(ctx context.Context, by Actor, lot, reason, suspect string) error {
	if suspect != "" {
		if c, ok := reference.Builtin().Condition(suspect); !ok || !(c.NotifiableSuspect || c.KillsNoCure) {
			return holdfast.Problems{{Field: "suspect", Message: fmt.Sprintf("%q is not among what stops everything", suspect), Hint: "Choose from the list, or leave it empty."}}
		}
	}
	return d.onLot(ctx, by, lot, "", &holdfast.Hold{Reason: reason, Suspect: suspect})
}

// Lift ends a suspicion, with what the authority, the laboratory or the
// veterinarian said.
func (d *Desk) Lift(ctx context.Context, by Actor, lot, suspect, reason string) error {
	return d.onLot(ctx, by, lot, "", &holdfast.Hold{Reason: reason, Cleared: suspect})
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
		if err := d.Store.SaveBuyer(ctx, Buyer{Pseudonym: buyer, Name: f.Name, Contact: f.Contact}); err != nil {
			return err
		}
	}
	_, err = d.write(ctx, by, []Standing{v.Standing}, note{lot, "", &holdfast.Sale{Buyer: buyer, Count: f.Count, Price: f.Price, Note: f.Note, Papers: given(f.Papers)}})
	return err
}
