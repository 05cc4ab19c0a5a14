package holdfast

import "slices"

// Tank is the state of a tank: the fold of its own entries. Who is in it
// follows from the lots.
type Tank struct {
	ID string
	TankSet
	Since Micros
	// Known says that an entry describes the tank.
	Known bool
	// Alarms that are not over, oldest first.
	Alarms []Event
	// Measured are the readings, oldest first.
	Measured       []Event
	Events         []Event
	All            []Event
	Undone         map[ID]ID
	Contradictions []Contradiction
	HeadSeq        int64
	// Ticks says, by task, which of Events did or skipped it.
	Ticks map[string]Ticks
}

// SystemID returns the name of the water the tank shares: its system, or the
// tank itself when it is on its own.
func (t *Tank) SystemID() string {
	if t.System != "" {
		return t.System
	}
	return t.ID
}

// FoldTank returns the state of a tank from its own entries.
func FoldTank(id string, events []Event) *Tank {
	events = sorted(events)
	inForce, undone, found := resolve(events)
	t := &Tank{ID: id, All: events, Undone: undone, Contradictions: found, Events: inForce, Ticks: map[string]Ticks{}}
	for _, ev := range events {
		t.HeadSeq = max(t.HeadSeq, ev.Seq)
	}
	for i, ev := range inForce {
		if task := ev.TaskOf(); task != "" {
			if done, before := t.Ticks[task]; !before {
				t.Ticks[task] = Ticks{First: i, Second: -1}
			} else if done.Second < 0 {
				t.Ticks[task] = Ticks{First: done.First, Second: i}
			}
		}
		switch p := ev.Payload.(type) {
		case *TankSet:
			t.TankSet, t.Since, t.Known = *p, ev.OccurredAt, true
		case *WaterMeasured:
			t.Measured = append(t.Measured, ev)
		case *Alarm:
			t.alarm(ev, p)
		}
	}
	return t
}

func (t *Tank) alarm(ev Event, p *Alarm) {
	if !p.Over {
		t.Alarms = append(t.Alarms, ev)
		return
	}
	t.Alarms = slices.DeleteFunc(t.Alarms, func(a Event) bool { return a.Payload.(*Alarm).What == p.What })
}

// Consignment is the state of a delivery.
type Consignment struct {
	ID string
	ConsignmentReceived
	At Micros
	// Known says that an entry describes the delivery.
	Known bool
	// Declared are the seller's declarations that go with it, oldest first.
	Declared []Event
	Lots     []string
	All      []Event
	Undone   map[ID]ID
	HeadSeq  int64
}

// FoldConsignment returns the state of a delivery from its own entries.
func FoldConsignment(id string, events []Event) *Consignment {
	events = sorted(events)
	inForce, undone, _ := resolve(events)
	c := &Consignment{ID: id, All: events, Undone: undone}
	var later Papers // they may fold before the delivery that they belong to
	for _, ev := range events {
		c.HeadSeq = max(c.HeadSeq, ev.Seq)
	}
	for _, ev := range inForce {
		switch p := ev.Payload.(type) {
		case *ConsignmentReceived:
			c.ConsignmentReceived, c.At, c.Known = *p, ev.OccurredAt, true
		case *Declared:
			c.Declared = append(c.Declared, ev)
		case *PapersAdded:
			later = later.with(p.Papers)
		case *LotOpened:
			c.Lots = append(c.Lots, ev.Lot)
		}
	}
	if !later.Empty() {
		all := Papers{}
		if c.Papers != nil {
			all = *c.Papers
		}
		all = all.with(later)
		c.Papers = &all
	}
	return c
}

// DefaultSettings are the settings of a shop that has set none. The waiting
// times, 28 days here and 14 since the last sign or dose, are common practice;
// the rest are judgement.
func DefaultSettings() ShopSet {
	return ShopSet{
		Name: "My shop", Zone: "UTC", Currency: "EUR",
		Line: LineClear, ClearLine: 0.95, BagLine: 0.01, BagSize: 10,
		DaysHere: 28, DaysSinceSign: 14, LookWithinDays: 7, LookSize: 30,
		WeekDeathShare: 0.03,
	}
}

// FoldShop returns the shop's settings from its own entries.
func FoldShop(events []Event) ShopSet {
	events = sorted(events)
	inForce, _, _ := resolve(events)
	s := DefaultSettings()
	var beliefs map[string]BeliefsSet
	var costs *CostsSet
	var sight map[SightKey]SightSet
	for _, ev := range inForce {
		switch p := ev.Payload.(type) {
		case *ShopSet:
			s = *p
		case *BeliefsSet:
			if beliefs == nil {
				beliefs = map[string]BeliefsSet{}
			}
			beliefs[p.Condition] = *p
		case *CostsSet:
			costs = p
		case *SightSet:
			if sight == nil {
				sight = map[SightKey]SightSet{}
			}
			key := SightKey{p.By, p.Condition}
			if sight[key] = *p; p.A == 0 {
				delete(sight, key)
			}
		}
	}
	s.Beliefs, s.Costs, s.Sight = beliefs, costs, sight
	return s
}
