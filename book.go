package holdfast

// Book is what the shop itself has added to the reference, the cases it has
// confirmed, what sellers declared and who visited: the fold of the entries of
// [SubjectBook].
type Book struct {
	// Version counts the changes to the reference that were ever made; taking
	// one back is a change too.
	Version int
	// Set has the newest statement about each entry, in the order in which the
	// entries were first named.
	Set []Event
	// Past are all statements in force, oldest first, the newest included.
	Past []Event
	// Cases are the confirmed cases, oldest first.
	Cases []Event
	// Declared are the sellers' declarations, oldest first.
	Declared []Event
	// Visits are the visits about the animals' health, oldest first.
	Visits []Event
	All    []Event
	Undone map[ID]ID
	// HeadSeq is the number of the last entry.
	HeadSeq int64
}

// FoldBook returns the shop's own book from its entries, in whatever order.
func FoldBook(events []Event) *Book {
	events = sorted(events)
	inForce, undone, _ := resolve(events)
	b := &Book{All: events, Undone: undone}
	kept := make(map[ID]bool, len(events))
	for _, ev := range events {
		b.HeadSeq = max(b.HeadSeq, ev.Seq)
		kept[ev.ID] = ev.Kind == KindReferenceSet
		if c, ok := ev.Payload.(*Correction); ev.Kind == KindReferenceSet || ok && kept[c.Corrects] {
			b.Version++
			kept[ev.ID] = true
		}
	}
	at := map[string]int{}
	for _, ev := range inForce {
		switch p := ev.Payload.(type) {
		case *ReferenceSet:
			b.Past = append(b.Past, ev)
			if i, ok := at[p.Entry]; ok {
				b.Set[i] = ev
				continue
			}
			at[p.Entry] = len(b.Set)
			b.Set = append(b.Set, ev)
		case *CaseConfirmed:
			b.Cases = append(b.Cases, ev)
		case *Declared:
			b.Declared = append(b.Declared, ev)
		case *Visit:
			b.Visits = append(b.Visits, ev)
		}
	}
	return b
}
