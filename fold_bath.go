package holdfast

import "slices"

// CodeNoTreatment marks an entry about a bath or dip that is not in force.
const CodeNoTreatment = "no_treatment"

// endBaths shows every bath as it went: an entry in force that tells its end
// replaces what was written when it began. The events in force are shared with
// other readers, so they are copied before anything is changed.
func (l *Lot) endBaths() {
	given := map[ID]int{}
	for i := range l.Events {
		if l.Events[i].Kind == KindTreatment {
			given[l.Events[i].ID] = i
		}
	}
	copied := false
	for _, ev := range l.Events {
		of := ev.treatmentOf()
		if of == "" {
			continue
		}
		i, ok := given[of]
		if !ok {
			l.contradict(ev, of, CodeNoTreatment, "This is about a bath or dip that was undone or has not arrived.")
			continue
		}
		end, ok := ev.Payload.(*TreatmentEnded)
		if !ok {
			continue
		}
		if !copied {
			l.Events, copied = slices.Clone(l.Events), true
		}
		went := *l.Events[i].Payload.(*Treatment)
		went.Hours, went.Held, went.Failed, went.Running = end.Hours, end.Held, end.Failed, false
		if end.Stopped != "" {
			went.Stopped = end.Stopped
		}
		if end.Disposal != "" {
			went.Disposal = end.Disposal
		}
		l.Events[i].Payload = &went
	}
}

// treatmentOf returns the treatment that the event is about, or "".
func (ev Event) treatmentOf() ID {
	switch p := ev.Payload.(type) {
	case *TreatmentLook:
		return p.Treatment
	case *TreatmentEnded:
		return p.Treatment
	case *Redose:
		return p.Treatment
	}
	return ""
}
