package books

import (
	"context"
	"fmt"
	"math"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/paper"
)

// Register returns the register's tables for the days from from to to.
func Register(ctx context.Context, d *desk.Desk, from, to holdfast.Day) ([]paper.Sheet, error) {
	r, err := d.Register(ctx, from, to)
	if err != nil {
		return nil, err
	}
	shop, err := d.Settings(ctx)
	if err != nil {
		return nil, err
	}
	out := paper.Register{Site: shop.Name, From: from.Date(), To: to.Date(), Written: d.Now()}
	for _, m := range r.Movements {
		out.Movements = append(out.Movements, paper.Movement{When: m.Day.Date(), In: m.In, Lot: m.Lot, Species: m.Species, Strain: m.Strain,
			Category: "ornamental aquatic animals", Count: int64(m.Count), Unit: m.Tank, Place: placed(m), PlaceNumber: m.Papers.PlaceNumber,
			Transporter: m.Papers.Transporter, Certificate: m.Papers.Certificate, Invoice: m.Papers.Invoice, Border: joined(m.Papers.BorderPost, m.Papers.PreNotice), Note: m.How})
	}
	for _, x := range r.Deaths {
		share := math.NaN()
		if x.OnHand > 0 {
			share = float64(x.Count) / float64(x.OnHand)
		}
		out.Deaths = append(out.Deaths, paper.Death{When: x.Day.Date(), Unit: x.Tank, Lot: x.Lot, Species: x.Species, Count: int64(x.Count), OnHand: int64(x.OnHand), Share: share, Signs: x.Cause})
	}
	for _, t := range r.Treatments {
		amount := ""
		if t.WeighedG != nil {
			amount = fmt.Sprintf("%g g in %g l", *t.WeighedG, t.VolumeL)
		}
		out.Treatments = append(out.Treatments, paper.Treatment{When: t.Day.Date(), Unit: t.Tank, Lot: t.Lot, Species: t.Species, Animals: int64(t.Count),
			Active: t.Active, Batch: t.Batch, Amount: amount, Strength: fmt.Sprintf("%g mg/l for %g h, %s", t.MgL, t.Hours, t.Form), GivenBy: t.Who, Held: t.Held, Reason: t.Reason,
			Prescription: t.Prescription, Disposal: t.Disposal})
	}
	for _, x := range r.Looks {
		out.Tests = append(out.Tests, paper.Test{When: x.Day.Date(), Unit: x.Tank, Lot: x.Lot, Condition: strings.Join(x.LookedFor, ", "), Method: x.By,
			LookedAt: int64(x.Looked), Positive: int64(x.Positive), By: x.Who, Result: strings.Join(x.Found, ", ")})
	}
	for _, v := range r.Visits {
		lots := "the whole shop"
		if len(v.Lots) > 0 {
			lots = strings.Join(v.Lots, ", ")
		}
		out.Visits = append(out.Visits, paper.Visit{When: v.Day.Date(), Who: v.Visitor, Role: v.Role, Reason: v.Reason, Lots: lots, Result: v.Result,
			Instructions: v.Instructions, Samples: v.Samples, Laboratory: v.Laboratory, By: v.Who})
	}
	for _, m := range r.Measures {
		unit := m.Tank
		if m.Lot != "" {
			unit = "lot " + m.Lot + ", tank " + m.Tank
		}
		out.Measures = append(out.Measures, paper.Measure{When: m.Day.Date(), Unit: unit, What: m.What, By: m.Who})
	}
	return paper.RegisterSheets(out), nil
}

// placed is who sent or bought the animals, with the place where they were loaded
// or unloaded if that was written down.
func placed(m desk.Movement) string { return joined(m.Other, m.Papers.Place) }

// joined puts a comma between two texts of which either may be missing.
func joined(a, b string) string {
	if a == "" || b == "" {
		return a + b
	}
	return a + ", " + b
}
