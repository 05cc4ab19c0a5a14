package desk

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"time"

	"holdfast"
)

// Register is the shop's legal record between two days: what came and went,
// what died and what was given. Which of it the law asks for, and for how long
// it is kept, differs by country.
type Register struct {
	From, To   holdfast.Day
	Movements  []Movement
	Deaths     []DeathLine
	Treatments []TreatmentLine
	Looks      []TestLine
	Measures   []MeasureLine
	Visits     []VisitLine
}

// VisitLine is one visit about the animals' health.
type VisitLine struct {
	Day holdfast.Day
	holdfast.Visit
	// Who wrote it down.
	Who   string
	Entry holdfast.ID
}

// MeasureLine is something done to keep disease from coming or spreading: a
// hold, a suspicion and how it ended, animals set apart, hands and nets changed.
type MeasureLine struct {
	Day       holdfast.Day
	Lot, Tank string
	What, Who string
	Entry     holdfast.ID
}

// TestLine is one look at animals.
type TestLine struct {
	LookLine
	Lot, Tank, Who string
	// LookedFor names the conditions that the look was for.
	LookedFor []string
	Entry     holdfast.ID
}

// Movement is animals that came in or went out.
type Movement struct {
	Day          holdfast.Day
	In           bool
	Lot, Species string
	Strain       string
	Count        int
	// Tank is where they went or came from, several with commas; "" is unknown.
	Tank string
	// Other is the supplier or the buyer.
	Other string
	// Papers are what went along; all of it may be empty.
	Papers holdfast.Papers
	// Delivery is the consignment that a lot came with, Sale says that this is one:
	// only these have papers.
	Delivery string
	Sale     bool
	How      string
	Who      string
	Entry    holdfast.ID
}

// DeathLine is animals that died, by lot and day.
type DeathLine struct {
	Day                        holdfast.Day
	Lot, Tank, Species, Strain string
	Count                      int
	// OnHand is how many were alive before.
	OnHand     int
	Cause, Who string
	Entry      holdfast.ID
}

// TreatmentLine is one bath or dip.
type TreatmentLine struct {
	Day                        holdfast.Day
	Lot, Tank, Species, Strain string
	Form, Active, Batch        string
	MgL                        float64
	WeighedG                   *float64
	VolumeL, Hours             float64
	// Count is how many animals; 0 is the whole lot.
	Count     int
	Held, Who string
	// Reason is what had been found in the lot by then, by name.
	Reason string
	// Prescription is its number and who wrote it, Disposal where treated water
	// and leftovers went.
	Prescription, Disposal string
	Entry                  holdfast.ID
}

// Register collects the record of the days from from to to.
func (d *Desk) Register(ctx context.Context, from, to holdfast.Day) (*Register, error) {
	if to < from {
		return nil, holdfast.Problems{{Field: "to", Message: "the last day lies before the first", Hint: "Swap the two days."}}
	}
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	rows, _, err := d.Store.Lots(ctx, LotQuery{Sort: ByOldest})
	if err != nil {
		return nil, err
	}
	buyers, err := d.buyerNames(ctx)
	if err != nil {
		return nil, err
	}
	r := &Register{From: from, To: to}
	papers := map[string]holdfast.Papers{}
	for _, row := range rows {
		if holdfast.DayOf(row.OpenedAt, zone) > to {
			continue
		}
		came, err := d.papersOf(ctx, row.Consignment, papers)
		if err != nil {
			return nil, err
		}
		l, err := d.Lot(ctx, row.ID)
		if err != nil {
			return nil, err
		}
		onHand := l.Declared
		for _, ev := range l.Events {
			if day := holdfast.DayOf(ev.OccurredAt, zone); day >= from && day <= to {
				r.add(day, l, onHand, row.Supplier, came, buyers, ev)
			}
			onHand = max(0, onHand+l.Changes(ev))
			if p, ok := ev.Payload.(*holdfast.Counted); ok {
				onHand = p.Count
			}
		}
	}
	if err := d.hygieneDone(ctx, r, zone); err != nil {
		return nil, err
	}
	book, err := d.KeptBook(ctx)
	if err != nil {
		return nil, err
	}
	for _, ev := range book.Visits {
		if day := holdfast.DayOf(ev.OccurredAt, zone); day >= from && day <= to {
			r.Visits = append(r.Visits, VisitLine{Day: day, Visit: *ev.Payload.(*holdfast.Visit), Who: ev.Who, Entry: ev.ID})
		}
	}
	r.sort()
	return r, nil
}

// hygieneDone adds the hygiene stops of the rounds, which stand at tanks.
func (d *Desk) hygieneDone(ctx context.Context, r *Register, zone *time.Location) error {
	tanks, err := d.Store.Tanks(ctx)
	if err != nil {
		return err
	}
	for _, row := range tanks {
		t, err := d.Tank(ctx, row.ID)
		if err != nil {
			return err
		}
		for _, ev := range t.Events {
			p, ok := ev.Payload.(*holdfast.TaskTicked)
			day := holdfast.DayOf(ev.OccurredAt, zone)
			if ok && day >= r.From && day <= r.To && strings.HasPrefix(p.Task, string(TaskHygiene)+"/") {
				r.Measures = append(r.Measures, MeasureLine{Day: day, Tank: ev.Tank, What: "hands washed and dried, nets and bucket changed before this section", Who: ev.Who, Entry: ev.ID})
			}
		}
	}
	return nil
}

// tanksAt are the tanks in which animals of the lot stood at an instant, with
// the one they were put into then.
func tanksAt(l *holdfast.Lot, at holdfast.Micros) string {
	var all []string
	for _, s := range l.Stays {
		if s.From <= at && (s.To == 0 || s.To >= at) && !slices.Contains(all, s.Tank) {
			all = append(all, s.Tank)
		}
	}
	return strings.Join(all, ", ")
}

// foundBefore names what signs were seen of up to an event, first seen first.
func foundBefore(l *holdfast.Lot, until holdfast.Event) string {
	var names []string
	for _, ev := range l.Events {
		if ev.ID == until.ID {
			break
		}
		p, ok := ev.Payload.(*holdfast.Inspection)
		if !ok {
			continue
		}
		for _, a := range p.Animals {
			for _, f := range a.Findings {
				if f.Condition == holdfast.Pigment || f.Condition == holdfast.CannotTell {
					continue
				}
				if name := Called(ConditionOf(f.Condition)); !slices.Contains(names, name) {
					names = append(names, name)
				}
			}
		}
	}
	return strings.Join(names, ", ")
}

func (d *Desk) buyerNames(ctx context.Context) (map[string]string, error) {
	all, err := d.Store.Buyers(ctx)
	if err != nil {
		return nil, err
	}
	names := make(map[string]string, len(all))
	for _, b := range all {
		names[b.Pseudonym] = b.Name
	}
	return names, nil
}

// papersOf returns the papers of a delivery, each read once.
func (d *Desk) papersOf(ctx context.Context, consignment string, known map[string]holdfast.Papers) (holdfast.Papers, error) {
	if p, ok := known[consignment]; ok || consignment == "" {
		return p, nil
	}
	events, err := d.Store.Events(ctx, holdfast.Subject{Type: holdfast.SubjectConsignment, ID: consignment})
	if err != nil {
		return holdfast.Papers{}, err
	}
	var p holdfast.Papers
	if c := holdfast.FoldConsignment(consignment, events); c.Papers != nil {
		p = *c.Papers
	}
	known[consignment] = p
	return p, nil
}

func (r *Register) add(day holdfast.Day, l *holdfast.Lot, onHand int, supplier string, came holdfast.Papers, buyers map[string]string, ev holdfast.Event) {
	tank := func() string {
		if ev.Tank != "" {
			return ev.Tank
		}
		if _, opened := ev.Payload.(*holdfast.LotOpened); opened && len(l.Stays) > 0 {
			return l.Stays[0].Tank // put there from the bag
		}
		return tanksAt(l, ev.OccurredAt)
	}
	var papers holdfast.Papers
	move := func(in bool, n int, other, how string) {
		r.Movements = append(r.Movements, Movement{Day: day, In: in, Lot: l.ID, Species: l.Species, Strain: l.Strain, Count: n, Other: other, How: how, Who: ev.Who, Entry: ev.ID, Tank: tank(), Papers: papers})
	}
	measure := func(what, tank string) {
		r.Measures = append(r.Measures, MeasureLine{Day: day, Lot: l.ID, Tank: tank, What: what, Who: ev.Who, Entry: ev.ID})
	}
	died := func(n int, cause string) {
		if n > 0 {
			r.Deaths = append(r.Deaths, DeathLine{Day: day, Lot: l.ID, Tank: ev.Tank, Species: l.Species, Strain: l.Strain, Count: n, OnHand: onHand, Cause: cause, Who: ev.Who, Entry: ev.ID})
		}
	}
	switch p := ev.Payload.(type) {
	case *holdfast.LotOpened:
		papers = came
		move(true, p.Declared, supplier, "delivery "+p.Consignment)
		r.Movements[len(r.Movements)-1].Delivery = p.Consignment
	case *holdfast.LotSplit:
		if p.NewLot == l.ID {
			move(true, p.Count, "", "split from lot "+ev.Lot)
		} else {
			move(false, p.Count, "", "split into lot "+p.NewLot)
		}
	case *holdfast.LotMerged:
		if p.Into == l.ID {
			move(true, p.Count, "", "merged from lot "+ev.Lot)
		} else {
			move(false, p.Count, "", "merged into lot "+p.Into)
		}
	case *holdfast.Births:
		move(true, p.Count, "", "hatched here")
	case *holdfast.Sale:
		name := buyers[p.Buyer]
		if name == "" {
			name = "buyer " + p.Buyer
		}
		papers = l.SalePapers(ev)
		move(false, p.Count, name, "sale")
		r.Movements[len(r.Movements)-1].Sale = true
	case *holdfast.Removal:
		move(false, p.Count, "", "taken out: "+p.Reason)
	case *holdfast.Exit:
		if p.Way == holdfast.ExitClaim || p.Way == holdfast.ExitPutDown {
			move(false, p.Count, "", map[string]string{holdfast.ExitClaim: "returned", holdfast.ExitPutDown: "put down"}[p.Way]+": "+p.Reason)
		}
	case *holdfast.DOA:
		died(p.Count, "dead on arrival")
	case *holdfast.Death:
		died(p.Count, p.Cause)
	case *holdfast.TreatmentLook:
		died(p.Died, "after a bath or dip")
	case *holdfast.Gone:
		died(p.Count, "gone without a body")
	case *holdfast.Inspection:
		line := TestLine{LookLine: lookLine(day, p), Lot: l.ID, Tank: ev.Tank, Who: ev.Who, Entry: ev.ID}
		for _, c := range p.LookedFor {
			line.LookedFor = append(line.LookedFor, Called(c))
		}
		r.Looks = append(r.Looks, line)
	case *holdfast.Treatment:
		r.Treatments = append(r.Treatments, TreatmentLine{Day: day, Lot: l.ID, Tank: ev.Tank, Species: l.Species, Strain: l.Strain,
			Form: p.Form, Active: p.Active, Batch: p.Batch, MgL: p.TargetMgL, WeighedG: p.WeighedG, VolumeL: p.VolumeL, Hours: p.Hours,
			Count: p.Count, Held: p.Held, Who: ev.Who, Reason: foundBefore(l, ev), Prescription: p.Prescription, Disposal: p.Disposal, Entry: ev.ID})
	case *holdfast.Hold:
		in := ""
		if ev.Lot != l.ID {
			in = " in lot " + ev.Lot
		}
		switch {
		case p.Suspect != "":
			measure("everything held, "+lower(Called(p.Suspect))+" suspected"+in+": "+p.Reason, tank())
		case p.Cleared != "":
			measure("no longer suspected, "+lower(Called(p.Cleared))+in+": "+p.Reason, tank())
		default:
			measure("held: "+p.Reason, tank())
		}
	case *holdfast.LotMoved:
		if p.Hospital {
			measure("set apart from tank "+p.From+": "+p.Reason, ev.Tank)
		}
	}
}

// sort puts every list in the order of days, then lots.
func (r *Register) sort() {
	slices.SortStableFunc(r.Movements, func(a, b Movement) int { return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Lot, b.Lot)) })
	slices.SortStableFunc(r.Deaths, func(a, b DeathLine) int { return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Lot, b.Lot)) })
	slices.SortStableFunc(r.Treatments, func(a, b TreatmentLine) int { return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Lot, b.Lot)) })
	slices.SortStableFunc(r.Measures, func(a, b MeasureLine) int {
		return cmp.Or(cmp.Compare(a.Day, b.Day), cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Tank, b.Tank))
	})
}
