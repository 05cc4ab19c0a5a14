package desk

import (
	"context"
	"fmt"
	"strings"

	"holdfast"
)

// Pull records shed skins taken out of a tank. count is nil when nobody
// counted; task is the round's key or empty.
func (d *Desk) Pull(ctx context.Context, by Actor, lot, tank string, count *int, task, text string) error {
	_, err := d.write(ctx, by, nil, note{lot, tank, &holdfast.MoultPull{Count: count, Task: task, Note: text}})
	return err
}

// Dead records animals found dead; 0 says that somebody looked.
func (d *Desk) Dead(ctx context.Context, by Actor, lot, tank string, count int, cause, task string) error {
	_, err := d.write(ctx, by, nil, note{lot, tank, &holdfast.Death{Count: count, Cause: cause, Task: task}})
	return err
}

// NoneDead ticks "none dead" for every tank of a section that still waits, in
// one batch. It returns the entries that ticked them.
func (d *Desk) NoneDead(ctx context.Context, by Actor, zone Zone) ([]holdfast.ID, error) {
	day, err := d.Today(ctx)
	if err != nil {
		return nil, err
	}
	r, err := d.Round(ctx, day)
	if err != nil {
		return nil, err
	}
	var notes []note
	for _, s := range r.Sections {
		if s.Zone != zone {
			continue
		}
		for _, st := range s.Stops {
			for _, t := range st.Tasks {
				if t.Kind == TaskDead && t.Open() {
					notes = append(notes, note{t.Lot, t.Tank, &holdfast.Death{Task: t.Key}})
				}
			}
		}
	}
	if len(notes) == 0 {
		return nil, nil
	}
	by.ID = "" // many entries: the keys of the tasks make a repeat harmless
	return d.write(ctx, by, nil, notes...)
}

// Tick says that a task without an entry of its own is done.
func (d *Desk) Tick(ctx context.Context, by Actor, lot, tank, task, text string) error {
	_, err := d.write(ctx, by, nil, note{lot, tank, &holdfast.TaskTicked{Task: task, Note: text}})
	return err
}

// Skip says that a task is left out, and why.
func (d *Desk) Skip(ctx context.Context, by Actor, lot, tank, task, reason string) error {
	if strings.TrimSpace(reason) == "" {
		return holdfast.Problems{{Field: "reason", Message: "the reason is missing", Hint: "Write why it is left out; it stays on the lot."}}
	}
	_, err := d.write(ctx, by, nil, note{lot, tank, &holdfast.TaskSkipped{Task: task, Reason: reason}})
	return err
}

// Measure records a set of readings of a tank.
func (d *Desk) Measure(ctx context.Context, by Actor, tank string, w holdfast.Water, text, task string) error {
	if _, err := d.Tank(ctx, tank); err != nil {
		return err
	}
	_, err := d.write(ctx, by, nil, note{"", tank, &holdfast.WaterMeasured{Water: w, Note: text, Task: task}})
	return err
}

// MeasureMany records readings of several tanks in one go: all of them or none. A
// tank of which nothing was measured is left out; the error is a Problem for
// "readings" when that is every one. It returns the id of the first entry.
func (d *Desk) MeasureMany(ctx context.Context, by Actor, all []TankReading) (holdfast.ID, error) {
	var notes []note
	for _, r := range all {
		if r.Water.Empty() {
			continue
		}
		if _, err := d.Tank(ctx, r.Tank); err != nil {
			return "", err
		}
		notes = append(notes, note{tank: r.Tank, payload: &holdfast.WaterMeasured{Water: r.Water}})
	}
	if len(notes) == 0 {
		return "", holdfast.Problems{{Field: "readings", Message: "nothing was measured", Hint: "Write at least one reading."}}
	}
	return d.writeFirst(ctx, by, notes...)
}

// ChangeWater records water replaced, TopUp water that evaporated.
func (d *Desk) ChangeWater(ctx context.Context, by Actor, tank string, litres float64, text, task string) error {
	t, err := d.Tank(ctx, tank)
	if err != nil {
		return err
	}
	if litres > 3*t.High {
		return holdfast.Problems{{Field: "litres", Message: fmt.Sprintf("%g l is far more than the tank holds (%.0f l)", litres, t.Litres), Hint: "Write the litres that were replaced."}}
	}
	_, err = d.write(ctx, by, nil, note{"", tank, &holdfast.WaterChange{Litres: litres, Note: text, Task: task}})
	return err
}

// TopUp records water added for what evaporated.
func (d *Desk) TopUp(ctx context.Context, by Actor, tank string, litres float64, text string) error {
	_, err := d.write(ctx, by, nil, note{"", tank, &holdfast.TopUp{Litres: litres, Note: text}})
	return err
}

// Alarm records that air, heater or power failed, or that it is over.
func (d *Desk) Alarm(ctx context.Context, by Actor, tank, what string, over bool, text string) error {
	_, err := d.write(ctx, by, nil, note{"", tank, &holdfast.Alarm{What: what, Over: over, Note: text}})
	return err
}
