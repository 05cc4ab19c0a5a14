package holdfast

import (
	"encoding/json"
	"testing"

	"pgregory.net/rapid"
)

// planned is a course of n doses.
func planned(n int) *CourseAccepted {
	p := &CourseAccepted{Condition: "rostrum_worm", Treatment: "praziquantel", Doses: []Day{}, BathDays: 4, PullsPerDay: 1,
		PullFrom: DayOf(t0, utc), PullUntil: DayOf(t0, utc) + 60, Looks: []CourseLook{{DayOf(t0, utc) + 50, 30}}, Release: DayOf(t0, utc) + 60,
		Promise: CoursePromise{Clear: .95, Low: .5, High: .99, BagRisk: .01, BagSize: 10, LooksClean: .6, Model: "test", Seed: 1, Runs: 1000}}
	for i := range 1 + n%4 {
		p.Doses = append(p.Doses, DayOf(t0, utc)+Day(i*14))
	}
	return p
}

func TestTheNewestCourseHoldsUntilItIsStopped(t *testing.T) {
	all := []Event{event(t, 1, t0, "", opened(100)), event(t, 2, t0+day, "", planned(2)), event(t, 3, t0+2*day, "", planned(3))}
	course := func(more ...Event) ID {
		if l := FoldLot("A", append(all[:len(all):len(all)], more...)); l.Course != nil {
			return l.Course.ID
		}
		return ""
	}
	if got := course(); got != all[2].ID {
		t.Errorf("course %s, want the newer one", got)
	}
	if got := course(correct(t, 4, all[2].ID)); got != all[1].ID {
		t.Errorf("with the newer one undone the course is %q, want the older one", got)
	}
	stop := event(t, 5, t0+3*day, "", &CourseStopped{Course: all[2].ID, Reason: "found to be clear"})
	if got := course(stop); got != "" {
		t.Errorf("stopped, and still %s", got)
	}
	if got := course(stop, correct(t, 6, stop.ID)); got != all[2].ID {
		t.Errorf("the stop undone, the course is %q", got)
	}
	old := event(t, 7, t0+3*day, "", &CourseStopped{Course: all[1].ID, Reason: "of the older one"})
	if got := course(old); got != all[2].ID {
		t.Errorf("stopping a course that was replaced ended %q", got)
	}
}

// Whatever a lot went through, the course in force is the newest accepted one
// that was neither undone nor stopped by name later.
func TestCourseInForce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := FoldLot("A", history(t))
		want := ID("")
		for _, ev := range l.Events {
			switch p := ev.Payload.(type) {
			case *CourseAccepted:
				want = ev.ID
			case *CourseStopped:
				if p.Course == want {
					want = ""
				}
			}
		}
		got := ID("")
		if l.Course != nil {
			got = l.Course.ID
		}
		if got != want {
			t.Fatalf("course %q, want %q", got, want)
		}
	})
}

func TestCourseRefuses(t *testing.T) {
	for name, spoil := range map[string]func(*CourseAccepted){
		"doses out of order": func(p *CourseAccepted) { p.Doses = []Day{p.Doses[0] + 9, p.Doses[0]} },
		"a nameless dose":    func(p *CourseAccepted) { p.Treatment = "" },
		"a look at nobody":   func(p *CourseAccepted) { p.Looks[0].Animals = 0 },
		"a day long past":    func(p *CourseAccepted) { p.Release = 1 },
		"five pulls a day":   func(p *CourseAccepted) { p.PullsPerDay = 5 },
		"hot water":          func(p *CourseAccepted) { hot := 60.0; p.TempC = &hot },
		"a chance above 1":   func(p *CourseAccepted) { p.Promise.Clear = 1.1 },
		"no model":           func(p *CourseAccepted) { p.Promise.Model = "" },
	} {
		p := planned(2)
		spoil(p)
		if err := event(t, 2, t0, "", p).Check(); err == nil {
			t.Errorf("%s was accepted", name)
		}
	}
	if err := event(t, 2, t0, "", planned(2)).Check(); err != nil {
		t.Errorf("a good course was refused: %v", err)
	}
}

func TestDaysAreWrittenAsDates(t *testing.T) {
	b, err := json.Marshal(DayFromDate(2026, 3, 29))
	if err != nil || string(b) != `"2026-03-29"` {
		t.Fatalf("%s, %v", b, err)
	}
	var d Day
	if err := json.Unmarshal(b, &d); err != nil || d.String() != "2026-03-29" {
		t.Errorf("%s reads back as %s, %v", b, d, err)
	}
	if err := json.Unmarshal([]byte(`"29.3.2026"`), &d); err == nil {
		t.Error("a day in another form was accepted")
	}
}

func TestCostsOfTheShop(t *testing.T) {
	ofShop := func(n int, p Payload) Event {
		ev := event(t, n, t0+Micros(n)*day, "", p)
		ev.Lot = ""
		return ev
	}
	shop := DefaultSettings()
	one := ofShop(1, &CostsSet{Currency: "EUR", Dose: 500, Horizon: 120, LookAnimals: 30})
	two := ofShop(2, &CostsSet{Currency: "EUR", Pull: 70, Horizon: 90, LookAnimals: 20})
	for _, ev := range []Event{one, two} {
		if err := ev.Check(); err != nil {
			t.Fatal(err)
		}
	}
	if s := FoldShop([]Event{one, two, ofShop(3, &shop)}); s.Costs == nil || *s.Costs != *two.Payload.(*CostsSet) {
		t.Errorf("the newest holds, whole: %+v", s.Costs)
	}
	undo := ofShop(4, &Correction{Corrects: two.ID, Reason: "typed wrong", About: []SubjectRef{}})
	if s := FoldShop([]Event{one, two, undo}); s.Costs == nil || s.Costs.Dose != 500 {
		t.Errorf("undone, the one before holds again: %+v", s.Costs)
	}
	if got := one.Subjects(); len(got) != 1 || got[0] != (Subject{SubjectShop, "shop"}) {
		t.Errorf("costs bear on %v, want the shop", got)
	}
	for name, p := range map[string]*CostsSet{
		"below nought": {Currency: "EUR", Loss: -1, Horizon: 120, LookAnimals: 30}, "no currency": {Horizon: 120, LookAnimals: 30},
		"no animals": {Currency: "EUR", Horizon: 120}, "no time": {Currency: "EUR", LookAnimals: 30}, "past all money": {Currency: "EUR", Claim: 1 << 60, Horizon: 120, LookAnimals: 1},
	} {
		if err := ofShop(5, p).Check(); err == nil {
			t.Errorf("%s was accepted", name)
		}
	}
}

func TestBeliefsOfTheShop(t *testing.T) {
	ofShop := func(n int, p Payload) Event {
		ev := event(t, n, t0+Micros(n)*day, "", p)
		ev.Lot = ""
		return ev
	}
	shop := DefaultSettings()
	shop.Name = "Brook"
	own := ofShop(2, &BeliefsSet{Condition: "rostrum_worm", Figures: map[string]OwnFigure{"MoultMean": {20, 30}}})
	next := ofShop(3, &BeliefsSet{Condition: "rostrum_worm", File: json.RawMessage(`{"id":"rostrum_worm"}`)})
	other := ofShop(4, &BeliefsSet{Condition: "ciliates", Figures: map[string]OwnFigure{"MoultMean": {9, 9}}})
	for _, ev := range []Event{own, next, other} {
		if err := ev.Check(); err != nil {
			t.Fatal(err)
		}
	}
	s := FoldShop([]Event{ofShop(1, &shop), own, other})
	if s.Name != "Brook" || s.Beliefs["rostrum_worm"].Figures["MoultMean"].High != 30 || s.Beliefs["ciliates"].Figures["MoultMean"].Low != 9 {
		t.Errorf("folded to %+v", s)
	}
	s = FoldShop([]Event{own, next, ofShop(5, &shop)})
	if b := s.Beliefs["rostrum_worm"]; b.Figures != nil || len(b.File) == 0 {
		t.Errorf("a later statement must take the place of the one before, whole: %+v", b)
	}
	undo := ofShop(6, &Correction{Corrects: next.ID, Reason: "typed wrong", About: []SubjectRef{}})
	s = FoldShop([]Event{own, next, undo})
	if b := s.Beliefs["rostrum_worm"]; b.Figures["MoultMean"].Low != 20 {
		t.Errorf("undone, the one before holds again: %+v", b)
	}
	if got := own.Subjects(); len(got) != 1 || got[0] != (Subject{SubjectShop, "shop"}) {
		t.Errorf("beliefs bear on %v, want the shop", got)
	}
	for name, p := range map[string]*BeliefsSet{
		"ends the wrong way round": {Condition: "ciliates", Figures: map[string]OwnFigure{"MoultMean": {30, 20}}},
		"below nought":             {Condition: "ciliates", Figures: map[string]OwnFigure{"MoultMean": {-1, 20}}},
		"no condition":             {},
	} {
		if err := ofShop(7, p).Check(); err == nil {
			t.Errorf("%s was accepted", name)
		}
	}
}
