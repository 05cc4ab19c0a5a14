package desk

import (
	"context"
	"math"

	"holdfast"
	"holdfast/science/freedom"
	"holdfast/science/ref"
)

// HourForm asks how to spend some time on looking.
type HourForm struct {
	// Minutes in all, Seconds for one animal, SetupMinutes before the first one
	// of each lot: net, cups, light, clean hands.
	Minutes, Seconds, SetupMinutes int
	// By is how one looks.
	By string
	// Lots to choose from.
	Lots []string
	// Harm is what it costs to sell a lot that carries something, Hold what it
	// costs to keep one back instead; in the shop's currency, both guesses of the
	// person's own.
	Harm, Hold float64
}

// HourShare is one lot's part of the time.
type HourShare struct {
	Lot       *LotView
	Condition string
	freedom.Portion
}

// HourPlan is how the time is spent best.
type HourPlan struct {
	Shares []HourShare
	// Before and After are the expected loss over all lots.
	Before, After float64
	// Seconds are those used.
	Seconds int
}

// Hour shares time over lots so that the expected loss falls most. Each lot
// stands for the condition that is least likely clear in it. Its chance is the
// desk's own; how many may carry it, if any do, follows the shape that lots are
// held for beforehand.
func (d *Desk) Hour(ctx context.Context, f HourForm) (HourPlan, error) {
	var plan HourPlan
	var work []freedom.Work
	for _, id := range f.Lots {
		v, err := d.View(ctx, id)
		if err != nil {
			return plan, err
		}
		if v.Lot.Alive.N < 1 || v.Lot.Status == holdfast.Closed {
			continue
		}
		cond, lot, ok := v.plainLot()
		if !ok {
			continue
		}
		how := eyes(v.Shop.Sight).plain(cond, f.By)
		if how.Sensitivity == 0 {
			return plan, ref.Inputf("by", "Choose eye, lens, photo or microscope.", "%q is no way of looking", f.By)
		}
		plan.Shares = append(plan.Shares, HourShare{Lot: v, Condition: cond})
		work = append(work, freedom.Work{Lot: lot, How: how, Setup: f.SetupMinutes * 60, PerAnimal: f.Seconds, Harm: f.Harm, Hold: f.Hold})
	}
	portions, err := freedom.Allocate(work, f.Minutes*60)
	if err != nil {
		return plan, err
	}
	for i, p := range portions {
		plan.Shares[i].Portion = p
		plan.Before += p.Before
		plan.After += p.After
		plan.Seconds += p.Seconds
	}
	return plan, nil
}

// plainLot lays the lot's chance of clear out over how many may carry the
// condition that is least likely clear.
func (v *LotView) plainLot() (condition string, l freedom.Lot, ok bool) {
	least := 2.0
	for _, a := range v.Assessed {
		if a.Why == "" && a.Figure.Chance < least {
			least, condition = a.Figure.Chance, a.Condition.ID
		}
	}
	if condition == "" {
		return "", l, false
	}
	prior := v.Case.prior(v.Lot, condition)
	prior.Infested = 1
	sure, err := freedom.NewLot(v.Lot.Alive.N, prior)
	if err != nil {
		return "", l, false
	}
	// In the infested part a small lot may hold none: the rest makes up for it.
	prior.Infested = math.Max(0, math.Min(1, (1-least)/math.Max(sure.Infested(), 1e-12)))
	if prior.Infested < 1e-9 {
		prior.Infested = 0
	}
	l, err = freedom.NewLot(v.Lot.Alive.N, prior)
	return condition, l, err == nil
}
