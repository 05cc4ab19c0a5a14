package desk_test

import (
	"math"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
)

// longBath is the usual bath over six days with a change of 30 % and a further
// dose every two days, in 50 litres, half-life 4 days.
func longBath() holdfast.Treatment {
	t := prazi()
	t.Hours = 144
	t.Plan = &holdfast.BathPlan{HalfLifeD: 4, MeasureStep: 0.001, ResidueMgL: 0.125, EndShare: 0.3, Steps: []holdfast.BathStep{
		{Hours: 48, ChangeShare: 0.3, Dose: true, Amount: 0.13}, {Hours: 96, ChangeShare: 0.3, Dose: true, Amount: 0.13}}}
	return t
}

// bathing is a room with a lot in a bath that has just begun.
func bathing(t *testing.T, bath holdfast.Treatment) (*room, string, holdfast.ID) {
	t.Helper()
	r := newRoom(t)
	lot := r.lot(100)
	r.days(3)
	bath.Reason = "Tried on another lot of the same box last week."
	r.must(r.Treat(r.ctx, r.me(), lot, "1", bath))
	return r, lot, r.entry(lot)
}

// asked are the tasks of one kind on today's walk, done ones included.
func (r *room) asked(lot string, kind desk.TaskKind) []desk.Task {
	r.t.Helper()
	day, err := r.Today(r.ctx)
	r.must(err)
	walk, err := r.Round(r.ctx, day)
	r.must(err)
	var out []desk.Task
	for _, s := range walk.Sections {
		for _, st := range s.Stops {
			for _, x := range st.Tasks {
				if x.Lot == lot && x.Kind == kind {
					out = append(out, x)
				}
			}
		}
	}
	return out
}

func (r *room) one(lot string, kind desk.TaskKind) desk.Task {
	r.t.Helper()
	all := r.asked(lot, kind)
	if len(all) != 1 {
		r.t.Fatalf("%d tasks of kind %s, want one: %+v", len(all), kind, all)
	}
	return all[0]
}

func (r *room) redose(lot string, id holdfast.ID, grams float64, task, note string) error {
	return r.DoseAgain(r.ctx, r.me(), lot, id, holdfast.Redose{WeighedG: &grams, Task: task, Note: note})
}

func (r *room) given(lot string, id holdfast.ID) *desk.Given {
	r.t.Helper()
	l, err := r.Lot(r.ctx, lot)
	r.must(err)
	g, err := desk.GivenOf(l, id, r.clock)
	r.must(err)
	return g
}

// By hand: 0.25 g of a 50 % product in 50 l make 2.5 mg/l. Two days later
// 2.5·2^(-1/2) = 1.76777 are left, 1.23744 after a change of 30 %, so 1.26256 mg/l
// are missing: 0.126256 g.
func TestTheRoundAsksForFurtherDoses(t *testing.T) {
	r, lot, id := bathing(t, longBath())
	r.days(1)
	if n := len(r.asked(lot, desk.TaskRedose)) + len(r.asked(lot, desk.TaskChange)); n != 0 {
		t.Fatalf("%d tasks a day early", n)
	}
	r.days(1)
	change, again := r.one(lot, desk.TaskChange), r.one(lot, desk.TaskRedose)
	if change.Measure.Amount != 15 || change.Measure.Unit != "l" || again.Measure.Unit != "g" || again.Measure.Caution == "" {
		t.Errorf("%+v, %+v", change.Measure, again.Measure)
	}
	const want = 0.126256
	if math.Abs(again.Measure.Amount-want) > 0.0006 || again.Measure.Stock != nil {
		t.Errorf("before the change is ticked %g g are asked, want %g", again.Measure.Amount, want)
	}
	r.must(r.ChangeWater(r.ctx, r.me(), "1", 15, "", change.Key))
	if again = r.one(lot, desk.TaskRedose); math.Abs(again.Measure.Amount-want) > 0.0006 {
		t.Errorf("after the change %g g are asked, want %g", again.Measure.Amount, want)
	}
	if r.one(lot, desk.TaskChange).Open() {
		t.Error("the change that was ticked still waits")
	}
	if err := r.redose(lot, id, 1.26, again.Key, ""); fieldOf(err) != "weighed_g" {
		t.Errorf("ten times too much: %v", err)
	}
	if err := r.redose(lot, id, 0.37, again.Key, ""); fieldOf(err) != "weighed_g" || !strings.Contains(err.Error(), "mg/l") {
		t.Errorf("three times too much: %v", err)
	}
	r.must(r.redose(lot, id, 0.126, again.Key, ""))
	if r.one(lot, desk.TaskRedose).Open() {
		t.Error("the dose that was ticked still waits")
	}
	// A day late more has faded, and more is asked for.
	r.days(3)
	late := r.one(lot, desk.TaskRedose)
	if late.Late != 1 || !(late.Measure.Amount > 0.14) {
		t.Errorf("late by %d days, %g g", late.Late, late.Measure.Amount)
	}
	r.must(r.ChangeWater(r.ctx, r.me(), "1", 15, "", r.one(lot, desk.TaskChange).Key))
	r.must(r.redose(lot, id, late.Measure.Amount, late.Key, ""))
	tank, err := r.Tank(r.ctx, "1")
	r.must(err)
	if mgL, ok := desk.InBath(tank, r.given(lot, id), r.clock); !ok || math.Abs(mgL-2.5) > 0.05 {
		t.Errorf("after the further dose %g mg/l, want 2.5", mgL)
	}
	r.days(1)
	yes := true
	r.must(r.EndBath(r.ctx, r.me(), lot, id, desk.BathEnd{CarbonOut: &yes, UVOff: &yes, LampOff: &yes}))
	if got := r.given(lot, id).Treatment; got.Held != holdfast.HeldFull {
		t.Errorf("with all further doses it counts as %s: %s", got.Held, got.Failed)
	}
	// Carbon, and water changes of 30 % a day until 0.125 mg/l: by hand
	// 2.5·0.84·(0.7·0.84)^n < 0.125, so the sixth is the last.
	r.must(r.Tick(r.ctx, r.me(), lot, "1", r.one(lot, desk.TaskCarbon).Key, ""))
	n := 0
	for ; n < 20; n++ {
		all := r.tasks(lot)[desk.TaskChange]
		if len(all) == 0 {
			break
		}
		r.must(r.ChangeWater(r.ctx, r.me(), "1", all[0].Measure.Amount, "", all[0].Key))
		if len(r.tasks(lot)[desk.TaskChange]) != 0 {
			t.Error("a second change is asked for on one day")
		}
		r.days(1)
	}
	if n != 6 {
		t.Errorf("%d water changes at the end, want 6", n)
	}
}

func TestADoseLeftOutMakesTheBathPartial(t *testing.T) {
	r, lot, id := bathing(t, longBath())
	r.days(2)
	r.must(r.Skip(r.ctx, r.me(), lot, "1", r.one(lot, desk.TaskChange).Key, "No water at hand."))
	again := r.one(lot, desk.TaskRedose)
	if !again.Open() || again.Measure.Amount > 0.08 {
		t.Errorf("without the change less is missing, and the dose is asked for still: %+v", again)
	}
	if err := r.Skip(r.ctx, r.me(), lot, "1", again.Key, " "); fieldOf(err) != "reason" {
		t.Errorf("left out without a reason: %v", err)
	}
	r.must(r.Skip(r.ctx, r.me(), lot, "1", again.Key, "The tub was empty."))
	if x := r.one(lot, desk.TaskRedose); x.Open() || !x.Skipped {
		t.Errorf("%+v", x)
	}
	r.days(2) // the second one is left out too: the first is not asked for again
	r.must(r.Skip(r.ctx, r.me(), lot, "1", r.one(lot, desk.TaskRedose).Key, "The tub was empty."))
	if n := len(r.tasks(lot)[desk.TaskRedose]); n != 0 {
		t.Errorf("%d further doses are asked for still", n)
	}
	r.days(2)
	yes := true
	r.must(r.EndBath(r.ctx, r.me(), lot, id, desk.BathEnd{CarbonOut: &yes, UVOff: &yes, LampOff: &yes, CarbonBack: &yes}))
	got := r.given(lot, id).Treatment
	if got.Held != holdfast.HeldPartial || !strings.Contains(got.Failed, "0 of 2 further doses") || !strings.Contains(got.Failed, "The tub was empty.") {
		t.Errorf("%s: %q", got.Held, got.Failed)
	}
	if len(r.asked(lot, desk.TaskCarbon)) != 0 {
		t.Error("carbon is asked for though it is back")
	}
	// One water change left out leaves the others out.
	change := r.one(lot, desk.TaskChange)
	r.must(r.Skip(r.ctx, r.me(), lot, "1", change.Key, "Carbon does it."))
	r.days(1)
	if all := r.asked(lot, desk.TaskChange); len(all) != 0 {
		t.Errorf("%+v", all)
	}
}

// A product that is counted has no strength to reckon with: what was planned is
// asked for, and a dose written on the bath's own page settles it.
func TestCountedProductsAreAskedForAsPlanned(t *testing.T) {
	bath := longBath()
	bath.WeighedG, bath.StrengthShare, bath.Taken, bath.TakenUnit = nil, 0, ptr(2.0), "tablet"
	bath.Plan.Steps[0].Amount = 0.75
	r, lot, id := bathing(t, bath)
	r.days(2)
	if m := r.one(lot, desk.TaskRedose).Measure; m.Amount != 0.75 || m.Unit != "tablet" {
		t.Errorf("%+v", m)
	}
	r.must(r.DoseAgain(r.ctx, r.me(), lot, id, holdfast.Redose{Taken: ptr(0.75), TakenUnit: "tablet"}))
	if all := r.asked(lot, desk.TaskRedose); len(all) != 0 {
		t.Errorf("%+v", all)
	}
}

// Of a dose too small for the scale the round says how to make a stock.
func TestASmallFurtherDoseComesFromAStock(t *testing.T) {
	bath := longBath()
	bath.Plan.MeasureStep = 0.01
	r, lot, _ := bathing(t, bath)
	r.days(2)
	m := r.one(lot, desk.TaskRedose).Measure
	if m.Stock == nil || math.Abs(m.Stock.WeighG*m.Stock.TakeML/m.Stock.InML-0.126256) > 0.002 {
		t.Fatalf("%+v", m)
	}
	if m.Stock.WeighG < 0.2 {
		t.Errorf("%g g on a scale of 0.01 g", m.Stock.WeighG)
	}
}

// Baths of before there were plans ask for nothing more.
func TestABathWithoutAPlanAsksForNothingMore(t *testing.T) {
	r, lot, id := bathing(t, prazi())
	r.days(5)
	yes := true
	r.must(r.EndBath(r.ctx, r.me(), lot, id, desk.BathEnd{CarbonOut: &yes}))
	for _, kind := range []desk.TaskKind{desk.TaskRedose, desk.TaskChange, desk.TaskCarbon} {
		if all := r.asked(lot, kind); len(all) != 0 {
			t.Errorf("%+v", all)
		}
	}
}
