package desk_test

import (
	"errors"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/science/clearance"
)

// planned is a lot of 60 with a find, on a course of two doses a fortnight
// apart, one pull a day and one look.
func planned(t *testing.T) (*room, string, holdfast.CourseAccepted) {
	t.Helper()
	r := newRoom(t)
	lot := r.lot(60)
	r.days(1)
	r.look(lot, 20, 2)
	v, b := r.base(lot)
	p := b.Plan(clearance.Course{Treatment: "praziquantel", DoseDays: []float64{b.At(b.From) + 1, b.At(b.From) + 15}, BathDays: 4,
		PullsPerDay: 1, PullUntil: b.At(b.From) + 60, LookAnimals: 30, LooksBefore: []float64{0}, Doses: 2}, b.At(b.From)+50)
	m := desk.Money(v)
	c, err := b.Evaluate(r.ctx, nil, p, m, 200)
	r.must(err)
	if !testing.Short() { // the band takes many lots
		c, err = b.Line(r.ctx, c, 200)
		r.must(err)
	}
	r.must(second(r.AcceptCourse(r.ctx, r.me(), lot, c, "")))
	return r, lot, p
}

func (r *room) base(lot string) (*desk.LotView, *desk.CourseBase) {
	r.t.Helper()
	v, err := r.View(r.ctx, lot)
	r.must(err)
	b, err := v.Base(desk.CourseAgainst(v, ""))
	r.must(err)
	return v, b
}

// tasks are the lot's open tasks of today, by kind.
func (r *room) tasks(lot string) map[desk.TaskKind][]desk.Task {
	r.t.Helper()
	day, err := r.Today(r.ctx)
	r.must(err)
	walk, err := r.Round(r.ctx, day)
	r.must(err)
	out := map[desk.TaskKind][]desk.Task{}
	for _, s := range walk.Sections {
		for _, st := range s.Stops {
			for _, x := range st.Tasks {
				if x.Lot == lot && x.Open() {
					out[x.Kind] = append(out[x.Kind], x)
				}
			}
		}
	}
	return out
}

func (r *room) bath(lot, task string) {
	r.t.Helper()
	r.must(r.Treat(r.ctx, r.me(), lot, "1", holdfast.Treatment{Form: "bath", Active: "praziquantel", TargetMgL: 2.5, StrengthShare: 1, VolumeL: 50, Hours: 96, Held: holdfast.HeldFull, Reason: "a test without a trial", Task: task}))
}

func (r *room) pull(lot, task string) {
	r.t.Helper()
	r.must(r.Pull(r.ctx, r.me(), lot, "1", nil, task, ""))
}

func TestACourseTakesThePlaceOfCommonPractice(t *testing.T) {
	r, lot, p := planned(t)
	l, err := r.Lot(r.ctx, lot)
	r.must(err)
	c := l.Course.Payload.(*holdfast.CourseAccepted)
	if c.Promise.Clear <= 0 || c.Promise.Low > c.Promise.Clear || c.Promise.High < c.Promise.Clear || c.Promise.Seed != desk.CourseSeed || c.Promise.Cost == nil {
		t.Errorf("promise %+v", c.Promise)
	}
	// Practice would ask for a dose on the day of the find; the course plans it
	// for the day after tomorrow.
	if got := r.tasks(lot); len(got[desk.TaskDose]) != 0 || len(got[desk.TaskLook]) != 0 {
		t.Errorf("today's tasks %+v", got)
	}
	asked := map[desk.TaskKind][]string{}
	for day := p.PullFrom; day <= p.Release; day++ {
		r.days(1)
		today, err := r.Today(r.ctx)
		r.must(err)
		if today != day {
			t.Fatalf("today is %s, want %s", today, day)
		}
		for kind, all := range r.tasks(lot) {
			for _, x := range all {
				if x.Late > 0 {
					t.Errorf("%s: %s late by %d", day, x.Says, x.Late)
				}
				asked[kind] = append(asked[kind], day.String())
				switch kind {
				case desk.TaskDose:
					r.bath(lot, x.Key)
				case desk.TaskLook:
					r.look(lot, x.Planned, 0)
				case desk.TaskPull:
					r.pull(lot, x.Key)
				}
			}
		}
	}
	if got := strings.Join(asked[desk.TaskDose], " "); got != p.Doses[0].String()+" "+p.Doses[1].String() {
		t.Errorf("doses on %s, want %v", got, p.Doses)
	}
	if got := strings.Join(asked[desk.TaskLook], " "); got != p.Looks[0].Day.String() {
		t.Errorf("looks on %s, want %v", got, p.Looks)
	}
	if got := len(asked[desk.TaskPull]); got != int(p.PullUntil-p.PullFrom)+1 {
		t.Errorf("%d pulls asked for, want %d", got, p.PullUntil-p.PullFrom+1)
	}
	if got := asked[desk.TaskDecide]; len(got) != 1 || got[0] != p.Release.String() {
		t.Errorf("decisions asked for on %v, want %s", got, p.Release)
	}
	v, err := r.View(r.ctx, lot)
	r.must(err)
	if dev := v.Deviations(); len(dev) != 0 {
		t.Errorf("everything went as planned, and still: %+v", dev)
	}
}

func TestACourseThatIsStoppedOrUndoneGivesWayToPractice(t *testing.T) {
	r, lot, _ := planned(t)
	if _, err := r.StopCourse(r.ctx, r.me(), lot, "the supplier takes them back"); err != nil {
		t.Fatal(err)
	}
	if got := r.tasks(lot)[desk.TaskDose]; len(got) != 1 {
		t.Errorf("stopped: practice asks for a dose after a find, got %+v", got)
	}
	if _, err := r.StopCourse(r.ctx, r.me(), lot, "again"); err == nil {
		t.Error("a course was stopped that is none")
	}
	l, err := r.Lot(r.ctx, lot)
	r.must(err)
	stop := l.Events[len(l.Events)-1]
	r.must(second(r.Undo(r.ctx, r.me(), stop.ID, "")))
	if got := r.tasks(lot)[desk.TaskDose]; len(got) != 0 {
		t.Errorf("the stop taken back, the course holds again; got %+v", got)
	}
}

// What really happens is told against the plan, and a new plan is offered.
func TestRealityIsPlannedAnew(t *testing.T) {
	if testing.Short() {
		t.Skip("follows thousands of simulated lots")
	}
	r, lot, p := planned(t)
	today := func() holdfast.Day {
		d, err := r.Today(r.ctx)
		r.must(err)
		return d
	}
	for today() < p.Doses[0]+3 { // the first dose comes three days late, one pull is missed
		r.days(1)
		for _, x := range r.tasks(lot)[desk.TaskPull] {
			if today() != p.Doses[0]+1 {
				r.pull(lot, x.Key)
			}
		}
	}
	v, b := r.base(lot)
	says := func() string {
		var all []string
		for _, d := range v.Deviations() {
			all = append(all, d.Says)
		}
		return strings.Join(all, " ")
	}
	if got := says(); !strings.Contains(got, "Pulls were missed on 6 Mar.") || !strings.Contains(got, "Dose 1 of 2, planned for 5 Mar 2026, has not been given.") {
		t.Errorf("it says: %s", got)
	}
	m := desk.Money(v)
	plan, err := v.Replan(r.ctx, b, m, 200)
	r.must(err)
	if plan.Standing != nil {
		t.Error("a plan whose dose is overdue cannot stand")
	}
	if plan.Proposal == nil || plan.Proposal.Plan.Doses[0] != today() || plan.Proposal.Plan.Doses[1] != today()+14 {
		t.Fatalf("proposal %+v", plan.Proposal)
	}
	r.bath(lot, r.tasks(lot)[desk.TaskDose][0].Key)
	v, b = r.base(lot)
	if got := says(); !strings.Contains(got, "Dose 1 of 2 was given on 8 Mar 2026, 3 days late.") {
		t.Errorf("it says: %s", got)
	}
	if plan, err = v.Replan(r.ctx, b, m, 200); err != nil || plan.Standing == nil || plan.Proposal == nil {
		t.Fatalf("%+v, %v", plan, err)
	}
	if d := plan.Proposal.Plan.Doses; d[0] != today()+14 {
		t.Errorf("doses left on %v, want the second %s", d, today()+14)
	}
	r.must(second(r.AcceptCourse(r.ctx, r.me(), lot, plan.Proposal, plan.Because())))
	l, err := r.Lot(r.ctx, lot)
	r.must(err)
	c := l.Course.Payload.(*holdfast.CourseAccepted)
	if c.Replaces == "" || !strings.Contains(c.Because, "3 days late") {
		t.Errorf("replaces %q because %q", c.Replaces, c.Because)
	}
	v, _ = r.base(lot)
	if got := says(); got != "" {
		t.Errorf("planned anew, and still: %s", got)
	}
	// A find begins it anew.
	for today() < c.Looks[0].Day {
		r.days(1)
		for kind, all := range r.tasks(lot) {
			for _, x := range all {
				switch kind {
				case desk.TaskPull:
					r.pull(lot, x.Key)
				case desk.TaskDose:
					r.bath(lot, x.Key)
				}
			}
		}
	}
	r.look(lot, 30, 1)
	v, b = r.base(lot)
	if got := says(); !strings.Contains(got, "Signs were found on 1 of 30") {
		t.Errorf("it says: %s", got)
	}
	if plan, err = v.Replan(r.ctx, b, m, 200); err != nil || plan.Proposal == nil {
		t.Fatalf("%+v, %v", plan, err)
	}
	if n := len(plan.Proposal.Plan.Doses); n < len(c.Doses) {
		t.Errorf("after a find the plan has %d doses, the course had %d", n, len(c.Doses))
	}
}

func TestMissPrices(t *testing.T) {
	if testing.Short() {
		t.Skip("follows thousands of simulated lots")
	}
	r, lot, p := planned(t)
	v, b := r.base(lot)
	prices, err := v.MissPrices(r.ctx, b, 300)
	r.must(err)
	by := map[desk.TaskKind][]desk.MissPrice{}
	for _, x := range prices {
		by[x.Kind] = append(by[x.Kind], x)
	}
	if len(by[desk.TaskDose]) != 2 || by[desk.TaskDose][0].Day != p.Doses[0] || by[desk.TaskDose][1].Day != p.Doses[1] {
		t.Errorf("doses priced: %+v", by[desk.TaskDose])
	}
	if len(by[desk.TaskLook]) != 1 || by[desk.TaskLook][0].Day != p.Looks[0].Day || by[desk.TaskLook][0].Points <= 0 {
		t.Errorf("looks priced: %+v", by[desk.TaskLook])
	}
	if n := len(by[desk.TaskPull]); n < 30 || by[desk.TaskPull][0].Day != p.PullFrom {
		t.Errorf("%d pulls priced", n)
	}
	if d, pull := by[desk.TaskDose][0], by[desk.TaskPull][0]; !d.Must() || d.Points <= pull.Points {
		t.Errorf("missing a dose costs %g points, a pull %g", d.Points, pull.Points)
	}
}

func TestPlansThatCannotBe(t *testing.T) {
	if testing.Short() {
		t.Skip("follows thousands of simulated lots")
	}
	r, lot, p := planned(t)
	v, b := r.base(lot)
	m := desk.Money(v)
	for field, spoil := range map[string]func(*holdfast.CourseAccepted){
		"release": func(p *holdfast.CourseAccepted) { p.Release = p.Doses[1] },
		"dose":    func(p *holdfast.CourseAccepted) { p.Doses = []holdfast.Day{b.From - 3} },
		"look":    func(p *holdfast.CourseAccepted) { p.Looks[0].Day = p.Doses[0] + 2 },
	} {
		bad := p
		bad.Doses, bad.Looks = append([]holdfast.Day{}, p.Doses...), append([]holdfast.CourseLook{}, p.Looks...)
		spoil(&bad)
		_, err := b.Evaluate(r.ctx, nil, bad, m, 200)
		var faults holdfast.Problems
		if !errors.As(err, &faults) || faults[0].Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	warm := 27.0
	hot := p
	hot.TempC = &warm
	c, err := b.Evaluate(r.ctx, nil, hot, m, 200)
	r.must(err)
	cold, err := b.Evaluate(r.ctx, nil, p, m, 200)
	r.must(err)
	if c.At().Clear.Value == cold.At().Clear.Value {
		t.Error("three degrees more change nothing")
	}
	if _, err := r.AcceptCourse(r.ctx, desk.Actor{Who: "Jo"}, "nobody", c, ""); err == nil {
		t.Error("a course was accepted for no lot")
	}
}

// What was written about costs before they were entries becomes one, once: taken
// back, it stays so.
func TestOldCostsAreCarriedOver(t *testing.T) {
	r, lot, _ := planned(t)
	old := []byte(`{"costs":{"tank_day":150,"pull":90,"dose":700,"look":20,"animal":450,"loss":90000},"prices":{"sale":900,"disclosed":200,"claim":0,"keep_day":80,"keep_days":180,"put_down":0},"look_animals":25,"horizon":100,"own":true}`)
	r.must(r.Store.Remember(r.ctx, "course", "money", old))
	r.must(r.CarryCosts(r.ctx))
	v, _ := r.base(lot)
	if m := desk.Money(v); !m.Own || m.Costs.TankDay != 150 || m.Costs.Loss != 90_000 || m.Prices.Sale != 900 || m.LookAnimals != 25 || m.Horizon != 100 {
		t.Errorf("carried over: %+v", m)
	}
	events, err := r.Store.Events(r.ctx, holdfast.Subject{Type: holdfast.SubjectShop, ID: r.Site})
	r.must(err)
	_, err = r.Undo(r.ctx, desk.Actor{Who: "Jo"}, events[len(events)-1].ID, "not so")
	r.must(err)
	r.must(r.CarryCosts(r.ctx))
	if v, _ = r.base(lot); desk.Money(v).Own {
		t.Error("what was taken back came again")
	}
}
