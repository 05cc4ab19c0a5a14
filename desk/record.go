package desk

import (
	"context"
	"time"

	"holdfast"
)

// Record is what a buyer reads about a lot: what was found, what was done, how
// sure the shop is, and what was not looked for. It states what stood in the
// entries when the lot was released and what came after.
type Record struct {
	Lot      *holdfast.Lot
	Supplier string
	Shop     holdfast.ShopSet
	// Release is the release in force, nil while the lot is held.
	Release   *holdfast.Release
	On        holdfast.Day
	Overrides []OverrideLine
	Looks     []LookLine
	Given     []holdfast.Event
	Pulls     int
	// NotLooked names what the animals can carry and nobody looked for.
	NotLooked []string
	// FoundAfter is a find after the release, if there was one.
	FoundAfter *LookLine
	Disclosed  string
}

// OverrideLine is a signed reason to release below the line.
type OverrideLine struct {
	Day    holdfast.Day
	Who    string
	Reason string
	Unmet  []string
	// TakenBack says that a correction took it back; it stays on the record all
	// the same.
	TakenBack bool
}

// Signed are the overrides of a lot, oldest first, also those that were taken
// back: what was signed once stays visible for ever.
func Signed(l *holdfast.Lot, zone *time.Location) []OverrideLine {
	var out []OverrideLine
	for _, ev := range l.All {
		if p, ok := ev.Payload.(*holdfast.Override); ok {
			out = append(out, OverrideLine{holdfast.DayOf(ev.OccurredAt, zone), ev.Who, p.Reason, p.Unmet, l.Undone[ev.ID] != ""})
		}
	}
	return out
}

// LookLine is one look in short.
type LookLine struct {
	Day              holdfast.Day
	By               string
	Random           bool
	Looked, Positive int
	// Found names the conditions of which signs were seen.
	Found []string
}

// Record returns the buyer's page of a lot.
func (d *Desk) Record(ctx context.Context, id string) (*Record, error) {
	v, err := d.View(ctx, id)
	if err != nil {
		return nil, err
	}
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	l := v.Lot
	r := &Record{Lot: l, Overrides: Signed(l, zone), Shop: v.Shop, Supplier: v.Consignment.Supplier}
	for _, ev := range l.Events {
		day := holdfast.DayOf(ev.OccurredAt, zone)
		switch p := ev.Payload.(type) {
		case *holdfast.Inspection:
			r.Looks = append(r.Looks, lookLine(day, p))
		case *holdfast.Treatment:
			r.Given = append(r.Given, ev)
		case *holdfast.MoultPull:
			r.Pulls++
		case *holdfast.Exit:
			if p.Way == holdfast.ExitDisclosed {
				r.Disclosed = p.Disclosed
			}
		}
	}
	if l.Released != nil {
		r.Release = l.Released.Payload.(*holdfast.Release)
		r.On = holdfast.DayOf(l.Released.OccurredAt, zone)
	}
	if f := l.FoundAfterRelease; f != nil {
		line := lookLine(holdfast.DayOf(f.OccurredAt, zone), f.Payload.(*holdfast.Inspection))
		r.FoundAfter = &line
	}
	for _, a := range v.Assessed {
		if a.NotLooked {
			r.NotLooked = append(r.NotLooked, a.Condition.Name)
		}
	}
	return r, nil
}

func lookLine(day holdfast.Day, p *holdfast.Inspection) LookLine {
	line := LookLine{Day: day, By: p.By, Random: p.Random, Positive: p.Positive()}
	seen := map[string]bool{}
	for _, a := range p.Animals {
		if a.Readable() || len(a.Findings) > 0 {
			line.Looked++
		}
		for _, f := range a.Findings {
			c := ConditionOf(f.Condition)
			if c != holdfast.Pigment && c != holdfast.CannotTell && !seen[c] {
				seen[c] = true
				line.Found = append(line.Found, Called(c))
			}
		}
	}
	return line
}
