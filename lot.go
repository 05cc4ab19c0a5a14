package holdfast

// FoldVersion changes whenever the same entries fold to another state, or bear
// on other subjects (see [Event.Subjects]); rows that were folded by another
// version are computed again.
const FoldVersion = 7

// Status is where a lot stands between the box and the buyer.
type Status string

// The states of a lot.
const (
	// Held: not for sale.
	Held Status = "held"
	// Released: for sale.
	Released Status = "released"
	// Recalled: signs were found after, or recorded after, its release.
	Recalled Status = "recalled"
	// Disclosed: for sale to the trade with the finding disclosed.
	Disclosed Status = "disclosed"
	// Colony: kept apart for good, not for sale.
	Colony Status = "colony"
	// Closed: no animals are left, or the lot was returned or put down.
	Closed Status = "closed"
)

// Estimate is a number of animals with the range it may lie in.
type Estimate struct {
	N    int `json:"n"`
	Low  int `json:"low"`
	High int `json:"high"`
}

func (e Estimate) plus(d int) Estimate {
	return Estimate{max(0, e.N+d), max(0, e.Low+d), max(0, e.High+d)}
}

// Recount is a count beside what the entries before it led one to expect.
type Recount struct {
	At       Micros `json:"at"`
	Entry    ID     `json:"entry"`
	Expected int    `json:"expected"`
	Counted  int    `json:"counted"`
}

// Place is a tank that holds animals of the lot.
type Place struct {
	Tank  string `json:"tank"`
	Since Micros `json:"since"`
	// Count is how many of the lot are there.
	Count    int  `json:"count"`
	Hospital bool `json:"hospital,omitempty"`
}

// Stay is a time that animals of the lot spent in a tank; To is 0 while they
// are still there.
type Stay struct {
	Tank string `json:"tank"`
	From Micros `json:"from"`
	To   Micros `json:"to"`
}

// Lot is the state of a lot: the fold of its entries.
type Lot struct {
	ID string
	Stock
	// OpenedAt and Opened are when and by which entry it began; Opened is ""
	// when no opening entry has arrived.
	OpenedAt Micros
	Opened   ID
	// Parent is the lot it was split from, or "".
	Parent   string
	Declared int

	// What became of the animals, as counted.
	DOA, Deaths, Gone, Removed, Born, Sold, SplitOff, MergedIn, MergedOut int

	Alive    Estimate
	Recounts []Recount
	Places   []Place
	Stays    []Stay

	Status Status
	// Course is the accepted course in force, nil if there is none.
	Course *Event
	// Suspects are notifiable or incurable conditions that are suspected now.
	Suspects []string
	// SuspectedIn names, by what is suspected, the lot in which it was, where
	// that is another one that shares animals or water with this.
	SuspectedIn map[string]string
	// Released is the newest release in force, nil if there is none.
	Released *Event
	// FoundAfterRelease is the first find that was made, or recorded, after it.
	FoundAfterRelease *Event
	Overrides         []Event
	Exits             []Event
	// LastSign is when signs of a condition were last found, by condition.
	LastSign map[string]Micros
	// LastDose is the end of the newest treatment that was not void.
	LastDose Micros
	LastLook Micros

	// Events are the entries in force without corrections, in the order of
	// folding. They are shared with whoever read them: do not change them.
	Events []Event
	// Undone maps entries that were corrected to the correction.
	Undone map[ID]ID
	// All are the entries, in the order of folding, with the undone ones.
	All            []Event
	Contradictions []Contradiction
	// Ticks says, by task, which of Events did or skipped it.
	Ticks map[string]Ticks
	// HeadSeq is the greatest sequence number among the entries.
	HeadSeq int64
}

// Ticks are the places, among the events in force, of the first and the second
// entry that did or skipped a task; Second is -1 when there is none.
type Ticks struct{ First, Second int }

// doseEnd returns when the bath or dip ended.
func (ev Event) doseEnd(t *Treatment) Micros {
	return ev.OccurredAt + Micros(t.Hours*3600*1e6)
}

// TankIDs returns the tanks the lot is in now, in the order it came to them.
func (l *Lot) TankIDs() []string {
	ids := make([]string, len(l.Places))
	for i, p := range l.Places {
		ids[i] = p.Tank
	}
	return ids
}

// DeathsSince sums the deaths recorded from the instant on.
func (l *Lot) DeathsSince(m Micros) int {
	n := 0
	for _, ev := range l.Events {
		if ev.OccurredAt >= m {
			n += ev.Died()
		}
	}
	return n
}

// Died returns how many animals the event says were found dead.
func (ev Event) Died() int {
	switch p := ev.Payload.(type) {
	case *Death:
		return p.Count
	case *TreatmentLook:
		return p.Died
	}
	return 0
}

// Changes returns by how many animals the event changes the number alive, as
// it was entered: negative for those that died or left. A count changes
// nothing; it says what is there.
func (l *Lot) Changes(ev Event) int {
	switch p := ev.Payload.(type) {
	case *Births:
		return p.Count
	case *DOA:
		return -p.Count
	case *Death:
		return -p.Count
	case *TreatmentLook:
		return -p.Died
	case *Gone:
		return -p.Count
	case *Removal:
		return -p.Count
	case *Sale:
		return -p.Count
	case *LotSplit:
		if p.NewLot != l.ID {
			return -p.Count
		}
	case *LotMerged:
		if p.Into == l.ID {
			return p.Count
		}
		return -p.Count
	case *Exit:
		if p.Way == ExitClaim || p.Way == ExitPutDown {
			return -p.Count
		}
	}
	return 0
}

// SalePapers returns the papers of a sale of the lot, those that came later
// included; all of it may be empty.
func (l *Lot) SalePapers(sale Event) Papers {
	all := Papers{}
	if p, ok := sale.Payload.(*Sale); ok && p.Papers != nil {
		all = *p.Papers
	}
	for _, ev := range l.Events {
		if p, ok := ev.Payload.(*PapersAdded); ok && p.Sale == sale.ID {
			all = all.with(p.Papers)
		}
	}
	return all
}

// NewestSign is when signs of anything were last found, 0 if never.
func (l *Lot) NewestSign() (newest Micros) {
	for _, at := range l.LastSign {
		newest = max(newest, at)
	}
	return newest
}
