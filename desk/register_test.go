package desk_test

import (
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
)

// What the law commonly asks for (Regulation (EU) 2016/429, Article 186(1)):
// species and number, movements with place and day, deaths by unit, disease and
// measures against it, treatments and tests, each with who did it.
func TestRegisterHoldsWhatIsCommonlyAsked(t *testing.T) {
	r := newRoom(t)
	lot := r.lot(100)
	r.days(1)
	r.look(lot, 30, 2)
	r.must(r.Dead(r.ctx, r.me(), lot, "1", 3, "white", ""))
	r.must(r.Treat(r.ctx, r.me(), lot, "1", holdfast.Treatment{Form: "bath", Active: "praziquantel", Batch: "B7", TargetMgL: 2.5, StrengthShare: 1, VolumeL: 50, Hours: 48, Held: holdfast.HeldFull, Reason: "a test without a trial", Prescription: "P-4 of an invented practice", Disposal: "drain to the sewer"}))
	r.must(r.Move(r.ctx, r.me(), lot, "1", "2", 2, true, "the two with worms"))
	r.must(r.Hold(r.ctx, r.me(), lot, "waiting for the laboratory", ""))
	r.must(r.Exit(r.ctx, r.me(), lot, holdfast.Exit{Way: holdfast.ExitDisclosed, Reason: "to the trade", Disclosed: "worms on 2 of 30"}))
	r.must(r.Sell(r.ctx, r.me(), lot, desk.SaleForm{Name: "Ada", Count: 20, Papers: holdfast.Papers{PlaceNumber: "YY 5"}}))
	r.must(second(r.Visit(r.ctx, r.me(), holdfast.Visit{Visitor: "Dr. Reed", Role: holdfast.VisitVeterinarian, Lots: []string{lot, lot}, Result: "as expected"})))
	day, err := r.Today(r.ctx)
	r.must(err)
	reg, err := r.Register(r.ctx, 0, day)
	r.must(err)
	if len(reg.Movements) != 2 || len(reg.Deaths) != 1 || len(reg.Treatments) != 1 || len(reg.Looks) != 1 || len(reg.Measures) != 2 {
		t.Fatalf("%d movements, %d deaths, %d treatments, %d looks, %d measures", len(reg.Movements), len(reg.Deaths), len(reg.Treatments), len(reg.Looks), len(reg.Measures))
	}
	in, out := reg.Movements[0], reg.Movements[1]
	if !in.In || in.Count != 100 || in.Other != "Invented Farm" || in.Tank != "1" || in.Species == "" || in.Who != "Jo" {
		t.Errorf("in: %+v", in)
	}
	if out.In || out.Count != 20 || out.Other != "Ada" || out.Tank != "1, 2" {
		t.Errorf("out: %+v", out)
	}
	if out.Papers.PlaceNumber != "YY 5" || !in.Papers.Empty() {
		t.Errorf("papers: in %+v, out %+v", in.Papers, out.Papers)
	}
	if len(reg.Visits) != 1 || reg.Visits[0].Visitor != "Dr. Reed" || len(reg.Visits[0].Lots) != 1 || reg.Visits[0].Who != "Jo" {
		t.Errorf("visits: %+v", reg.Visits)
	}
	if d := reg.Deaths[0]; d.Count != 3 || d.OnHand != 100 || d.Tank != "1" || d.Cause != "white" {
		t.Errorf("death: %+v", d)
	}
	if x := reg.Treatments[0]; x.Reason != "Rostrum worm" || x.Batch != "B7" || x.Who != "Jo" || x.Tank != "1" || x.Prescription == "" || x.Disposal == "" {
		t.Errorf("treatment: %+v", x)
	}
	if x := reg.Looks[0]; x.Looked != 30 || x.Positive != 2 || len(x.LookedFor) == 0 {
		t.Errorf("look: %+v", x)
	}
	said := reg.Measures[0].What + "; " + reg.Measures[1].What
	if !strings.Contains(said, "set apart from tank 1: the two with worms") || !strings.Contains(said, "held: waiting for the laboratory") {
		t.Errorf("measures: %s", said)
	}
	if reg, err := r.Register(r.ctx, day+1, day+9); err != nil || len(reg.Movements)+len(reg.Deaths)+len(reg.Measures) != 0 {
		t.Errorf("days on which nothing happened: %+v (%v)", reg, err)
	}
}
