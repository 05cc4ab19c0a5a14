package desk

import (
	"fmt"
	"slices"
	"time"

	"holdfast"
)

// SecondWithin is how long after a look its animals may be judged once more:
// later they may have changed, or lost their numbers.
const SecondWithin = 3 * 24 * time.Hour

// Twice returns the looks of a lot whose animals other eyes may judge once
// more, the newest first.
func (v *LotView) Twice(now time.Time) []holdfast.Event {
	var out []holdfast.Event
	for _, ev := range slices.Backward(v.Lot.Events) {
		if p, ok := ev.Payload.(*holdfast.Inspection); ok && mayRepeat(v.Lot, ev, p, now) == "" {
			out = append(out, ev)
		}
	}
	return out
}

// mayRepeat says why the animals of a look cannot be judged once more, or "".
func mayRepeat(l *holdfast.Lot, ev holdfast.Event, p *holdfast.Inspection, now time.Time) string {
	since := now.Sub(ev.OccurredAt.In(time.UTC))
	switch {
	case p.Second != "":
		return "That look was a second one itself."
	case p.PerRecord() > 1:
		return "That look took several animals together; none of them has a number."
	case since > SecondWithin || since < 0:
		return "That look is more than three days old."
	case l.LastDose > ev.OccurredAt:
		return "The animals were treated since."
	}
	return ""
}

// checkSecond refuses a second look that does not fit a first one.
func checkSecond(l *holdfast.Lot, now time.Time, p *holdfast.Inspection) error {
	wrong := func(format string, args ...any) error {
		return holdfast.Problems{{Field: "second", Message: fmt.Sprintf(format, args...), Hint: "Enter it as a look of its own."}}
	}
	first, ok := firstLook(l, p.Second)
	if !ok {
		return wrong("the look whose animals these are is not there, or was taken back")
	}
	of := first.Payload.(*holdfast.Inspection)
	if why := mayRepeat(l, first, of, now); why != "" {
		return wrong("%s", why)
	}
	known := map[int]bool{}
	for _, a := range of.Animals {
		known[a.No] = true
	}
	for _, a := range p.Animals {
		if !known[a.No] {
			return wrong("animal %d was not among those looked at first", a.No)
		}
	}
	return nil
}
