package holdfast

import (
	"cmp"
	"fmt"
	"slices"
)

// Contradiction is something in the entries that cannot all be true. It is
// shown to the person and never stops them from going on.
type Contradiction struct {
	// Entry is the entry at which it shows; Other is the one it disagrees with.
	Entry ID     `json:"entry"`
	Other ID     `json:"other,omitempty"`
	Code  string `json:"code"`
	Says  string `json:"says"`
}

// Codes of contradictions.
const (
	CodeCorrectedTwice  = "corrected_twice"
	CodeCorrectsNothing = "corrects_nothing"
	CodeNotOpened       = "not_opened"
	CodeOpenedTwice     = "opened_twice"
	CodeBeforeOpening   = "before_opening"
	CodeMoreThanAlive   = "more_than_alive"
	CodeNotThere        = "not_there"
	CodeTickedTwice     = "ticked_twice"
	CodeSoldUnreleased  = "sold_unreleased"
	CodeOverrideMissing = "override_missing"
)

// resolve returns the events in force, corrections left out, and maps each
// undone entry to the correction that undid it.
//
// A correction is in force unless another correction undoes it, so correcting
// a correction restores. Of several corrections of one entry the one accepted
// first wins and the others are reported. Entries that correct each other in a
// ring, which only a forged journal can hold, undo nothing.
func resolve(events []Event) (inForce []Event, undone map[ID]ID, found []Contradiction) {
	if !slices.ContainsFunc(events, func(ev Event) bool { return ev.Kind == KindCorrection }) {
		return events, nil, nil
	}
	byTarget := map[ID][]Event{}
	known := make(map[ID]bool, len(events))
	for _, ev := range events {
		known[ev.ID] = true
		if c, ok := ev.Payload.(*Correction); ok {
			byTarget[c.Corrects] = append(byTarget[c.Corrects], ev)
		}
	}
	for _, cs := range byTarget {
		slices.SortFunc(cs, func(a, b Event) int {
			return cmp.Or(cmp.Compare(a.Seq, b.Seq), cmp.Compare(a.ID, b.ID))
		})
	}
	undone = map[ID]ID{}
	visiting := map[ID]bool{}
	settled := map[ID]bool{}
	var settle func(id ID) bool // reports whether id is undone
	settle = func(id ID) bool {
		if settled[id] || visiting[id] {
			return undone[id] != ""
		}
		visiting[id] = true
		for _, c := range byTarget[id] {
			if settle(c.ID) {
				continue
			}
			if first := undone[id]; first != "" {
				found = append(found, Contradiction{Entry: c.ID, Other: first, Code: CodeCorrectedTwice,
					Says: "Two corrections undo the same entry; the first one counts."})
				continue
			}
			undone[id] = c.ID
		}
		visiting[id] = false
		settled[id] = true
		return undone[id] != ""
	}
	targets := make([]ID, 0, len(byTarget))
	for id := range byTarget {
		targets = append(targets, id)
	}
	slices.Sort(targets)
	for _, id := range targets {
		settle(id)
		if !known[id] {
			c := byTarget[id][0]
			found = append(found, Contradiction{Entry: c.ID, Other: id, Code: CodeCorrectsNothing,
				Says: fmt.Sprintf("This undoes entry %s, which has not arrived here.", id)})
		}
	}
	for _, ev := range events {
		if undone[ev.ID] == "" && ev.Kind != KindCorrection {
			inForce = append(inForce, ev)
		}
	}
	return inForce, undone, found
}

// TaskOf returns the round's task that the event did or skipped, or "".
func (ev Event) TaskOf() string {
	switch p := ev.Payload.(type) {
	case *Death:
		return p.Task
	case *Inspection:
		return p.Task
	case *Treatment:
		return p.Task
	case *TreatmentLook:
		return p.Task
	case *TreatmentEnded:
		return p.Task
	case *Redose:
		return p.Task
	case *MoultPull:
		return p.Task
	case *WaterChange:
		return p.Task
	case *WaterMeasured:
		return p.Task
	case *TaskTicked:
		return p.Task
	case *TaskSkipped:
		return p.Task
	}
	return ""
}
