package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"holdfast"
	"holdfast/science/ref"
	"holdfast/science/water/dose"
)

// Facts is what is known beside the treatment itself when it is given. What
// nobody answered is nil: it is asked, never guessed.
type Facts struct {
	With                      []dose.Company
	CopperMg, O2              *float64
	CarbonOut, LampOff, AirOn *bool
}

// CodeTrial is the code of the finding that no trial has opened the dose.
const CodeTrial = "trial"

// Findings returns what speaks against a treatment of a lot in a tank at now,
// refusals first: the rules of the ingredient, what else is in the water, and
// the trial that must come first. skip is an entry that is left out, the one
// being written.
func (d *Desk) Findings(ctx context.Context, l *holdfast.Lot, tank string, t holdfast.Treatment, f Facts, now time.Time, skip holdfast.ID) ([]dose.Finding, error) {
	var out []dose.Finding
	if i, ok := IngredientOf(t.Active, t.Form); ok {
		mgL := t.TargetMgL
		if mgL == 0 { // by a label's rate: what it makes is not known
			mgL = 1
		}
		others, err := d.others(ctx, l, tank, t, i, now, skip)
		if err != nil {
			return nil, err
		}
		if out, err = dose.Check(dose.Proposal{Ingredient: i.ID, Form: t.Form, MgL: mgL, Hours: t.Hours, With: f.With, CopperMg: f.CopperMg,
			TempC: t.TempC, O2: f.O2, CarbonOut: f.CarbonOut, LampOff: f.LampOff, AirOn: f.AirOn, Others: others}); err != nil {
			return nil, err
		}
		if t.TargetMgL == 0 {
			out = slices.DeleteFunc(out, func(f dose.Finding) bool { return f.Code == "dose" || f.Code == "no_range" })
		}
	}
	if !t.Trial {
		if open := OpeningFor(l, t, now); !open.Open {
			out = append([]dose.Finding{{Code: CodeTrial, Level: dose.Refuse, Say: open.Says, From: "common practice"}}, out...)
		}
	}
	return out, nil
}

// others lists other medicines that were given into the tank's water, with the
// share of it that was changed since.
func (d *Desk) others(ctx context.Context, l *holdfast.Lot, tank string, t holdfast.Treatment, i dose.Ingredient, now time.Time, skip holdfast.ID) ([]dose.Other, error) {
	if t.Form != "bath" || tank == "" || t.Trial {
		return nil, nil
	}
	lots, _, err := d.Store.Lots(ctx, LotQuery{Statuses: openStatuses, Sort: ByOldest})
	if err != nil {
		return nil, err
	}
	in, err := d.Tank(ctx, tank)
	if err != nil {
		return nil, nil // a tank that nobody has described
	}
	var out []dose.Other
	for _, row := range lots {
		if row.ID != l.ID && !slices.ContainsFunc(row.Places, func(p holdfast.Place) bool { return p.Tank == tank }) {
			continue
		}
		with := l
		if row.ID != l.ID {
			if with, err = d.Lot(ctx, row.ID); err != nil {
				return nil, err
			}
		}
		out = append(out, othersOf(with, in, i, now, skip)...)
	}
	return out, nil
}

func othersOf(l *holdfast.Lot, tank *holdfast.Tank, i dose.Ingredient, now time.Time, skip holdfast.ID) []dose.Other {
	var out []dose.Other
	for _, ev := range l.Events {
		p, ok := ev.Payload.(*holdfast.Treatment)
		start := ev.OccurredAt.In(time.UTC)
		if !ok || p.Trial || p.Form != "bath" || ev.ID == skip || start.After(now) || (ev.Tank != "" && ev.Tank != tank.ID) {
			continue
		}
		other, known := IngredientOf(p.Active, "bath")
		if !known || other.Active == i.Active {
			continue
		}
		end := start.Add(time.Duration(p.Hours * float64(time.Hour)))
		o := dose.Other{Ingredient: other.ID, DaysSince: math.Max(0, now.Sub(end).Hours()/24)}
		left := 1.0
		for _, c := range tank.Events {
			if w, ok := c.Payload.(*holdfast.WaterChange); ok && c.OccurredAt.In(time.UTC).After(end) && tank.Litres > 0 {
				left *= math.Max(0, 1-w.Litres/tank.Litres)
			}
		}
		o.Changed = 1 - left
		for _, e := range l.Events {
			if done, ok := e.Payload.(*holdfast.TreatmentEnded); ok && done.Treatment == ev.ID && done.CarbonBack != nil {
				o.Carbon = *done.CarbonBack
			}
		}
		out = append(out, o)
	}
	return out
}

// Treat records a bath or dip as it was given, or as it begins. A weight that
// does not make the strength, a dose far from what the ingredient is ever given
// at, what kills shrimp, and a whole lot before its trial are refused here,
// before they enter the evidence; all but the first and what kills shrimp can
// be gone against with a typed reason, which stays on the record.
func (d *Desk) Treat(ctx context.Context, by Actor, lot, tank string, t holdfast.Treatment) error {
	return d.TreatKnowing(ctx, by, lot, tank, t, Facts{})
}

// TreatKnowing is Treat with what is known beside the treatment itself.
func (d *Desk) TreatKnowing(ctx context.Context, by Actor, lot, tank string, t holdfast.Treatment, f Facts) error {
	if err := weighedRight(&t); err != nil {
		return err
	}
	l, err := d.Lot(ctx, lot)
	if err != nil {
		return err
	}
	if n := t.Count; t.Trial && (n < int(dose.TrialAnimals.Low) || n > int(dose.TrialAnimals.High)) {
		return holdfast.Problems{{Field: "count", Message: fmt.Sprintf("%d animals are no trial", n), Hint: "Take 3 to 5 of the lot, not the weakest and not the best."}}
	}
	at := by.At
	if at.IsZero() {
		at = d.Now()
	}
	found, err := d.Findings(ctx, l, tank, t, f, at, by.ID)
	if err != nil {
		return asProblems(err)
	}
	if t.Against, err = permitted(found, t.Reason); err != nil {
		return err
	}
	if t.Running && t.Held != holdfast.HeldVoid {
		t.Held, t.Failed = holdfast.HeldPartial, "it still runs: how it went is not written yet"
	}
	for _, c := range f.With {
		t.With = append(t.With, string(c))
	}
	_, err = d.write(ctx, by, nil, note{lot, tank, &t})
	return err
}

// weighedRight refuses a weight that makes something else than was meant.
func weighedRight(t *holdfast.Treatment) error {
	given := weighedMgL(t)
	if given == nil || t.TargetMgL <= 0 {
		return nil
	}
	if ratio := *given / t.TargetMgL; ratio <= 2 && ratio >= 0.5 {
		return nil
	}
	amount, field := weighed(t)
	what := fmt.Sprintf("%g g", *amount)
	if field == "taken" {
		what = fmt.Sprintf("%g ml", *amount)
	}
	return holdfast.Problems{{Field: field,
		Message: fmt.Sprintf("%s of it in %g l makes %.3g mg/l, not %g mg/l", what, t.VolumeL, *given, t.TargetMgL),
		Hint:    "Check the weight, the litres and the strength of the product; write down what is really in the water."}}
}

// permitted returns the codes of what is gone against with the reason, or what
// is wrong with going on.
func permitted(found []dose.Finding, reason string) ([]string, error) {
	var against []string
	var problems holdfast.Problems
	for _, f := range found {
		if f.Level != dose.Refuse {
			continue
		}
		if f.Code == "never" {
			return nil, holdfast.Problems{{Field: "active", Message: "this kills shrimp", Hint: "If it got into the water, write that as a note on the lot and call an aquatic veterinarian."}}
		}
		against = append(against, f.Code)
		if _, err := dose.Reason("reason", reason); err != nil {
			at, ok := fieldOfFinding[f.Code]
			if !ok {
				at = "reason"
			}
			problems = append(problems, holdfast.Problem{Field: at, Message: strings.TrimSuffix(f.Say, "."), Hint: "Change it, or say under “Why all the same” in a sentence why you go on; it stays on the record."})
		}
	}
	return against, problems.Err()
}

// fieldOfFinding is where a form shows a finding; the others stand at the
// reason.
var fieldOfFinding = map[string]string{"dose": "target_mg_l", "no_range": "target_mg_l", "time": "hours"}

// asProblems turns a *ref.InputError into a problem at its field; other errors
// stay.
func asProblems(err error) error {
	var in *ref.InputError
	if errors.As(err, &in) {
		return holdfast.Problems{ProblemOf(in)}
	}
	return err
}
