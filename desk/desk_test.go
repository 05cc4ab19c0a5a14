package desk_test

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
	"holdfast/internal/store/sqlite"
	"holdfast/reference"
)

// room is a desk on an empty store with a clock that the test moves.
type room struct {
	*desk.Desk
	t     *testing.T
	ctx   context.Context
	clock time.Time
}

type source struct{ *rand.Rand }

func (s source) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(s.Uint32())
	}
	return len(p), nil
}

func newRoom(t *testing.T) *room {
	t.Helper()
	ev := desk.NewMemo(desk.Static{})
	s, err := sqlite.Open(t.Context(), t.TempDir(), desk.Summary{Evidence: ev}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	r := &room{t: t, ctx: t.Context(), clock: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}
	r.Desk = &desk.Desk{Store: s, Evidence: ev, Site: "shop", Random: source{rand.New(rand.NewPCG(1, 2))}, Now: func() time.Time { return r.clock }}
	for _, id := range []string{"1", "2", "3"} {
		r.must(second(r.SetTank(r.ctx, r.me(), desk.TankForm{ID: id, Use: "quarantine", Place: int(id[0] - '0'),
			Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}})))
	}
	return r
}

func second[T any](_ T, err error) error { return err }

func (r *room) me() desk.Actor {
	r.clock = r.clock.Add(time.Minute)
	return desk.Actor{Who: "Jo"}
}

func (r *room) must(err error) {
	r.t.Helper()
	if err != nil {
		r.t.Fatal(err)
	}
}

func (r *room) days(n int) { r.clock = r.clock.AddDate(0, 0, n) }

// lot receives n blue velvets into tank 1.
func (r *room) lot(n int) string {
	r.t.Helper()
	_, lots, err := r.Receive(r.ctx, r.me(), desk.Arrival{Supplier: "Invented Farm", Boxes: 1,
		Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: n, Tank: "1"}}})
	r.must(err)
	return lots[0]
}

func (r *room) look(lot string, n, positive int) {
	r.t.Helper()
	p := holdfast.Inspection{By: holdfast.ByLens, Random: true, Planned: n}
	for _, c := range desk.Tracked("neocaridina_davidi") {
		p.LookedFor = append(p.LookedFor, c.ID)
	}
	for i := range n {
		a := holdfast.Animal{No: i + 1, Seen: holdfast.Sides}
		if i < positive {
			a.Findings = []holdfast.Finding{{Condition: "rostrum_worm"}}
		}
		p.Animals = append(p.Animals, a)
	}
	r.must(second(r.Inspect(r.ctx, r.me(), lot, "1", p)))
}

func (r *room) view(lot string) *desk.LotView {
	r.t.Helper()
	v, err := r.View(r.ctx, lot)
	r.must(err)
	return v
}

func (r *room) status(lot string) holdfast.Status { return r.view(lot).Lot.Status }

func worm(v *desk.LotView) desk.Assessment {
	for _, a := range v.Assessed {
		if a.Condition.ID == "rostrum_worm" {
			return a
		}
	}
	return desk.Assessment{}
}

func kindOf(err error) holdfast.ErrorKind {
	var e *holdfast.Error
	if errors.As(err, &e) {
		return e.Kind
	}
	return ""
}

func fieldOf(err error) string {
	var p holdfast.Problems
	if errors.As(err, &p) && len(p) > 0 {
		return p[0].Field
	}
	return ""
}

func TestALotGoesFromTheBoxToTheBuyer(t *testing.T) {
	r := newRoom(t)
	lot := r.lot(100)
	if err := r.Sell(r.ctx, r.me(), lot, desk.SaleForm{Name: "A", Count: 5}); kindOf(err) != holdfast.Refused {
		t.Errorf("selling a held lot: %v, want refused", err)
	}
	err := r.Release(r.ctx, r.me(), lot, desk.ReleaseForm{})
	if kindOf(err) != holdfast.Refused || !strings.Contains(err.Error(), "28 days here") {
		t.Errorf("releasing at once: %v, want refused for the days", err)
	}
	for range 5 {
		r.days(7)
		r.look(lot, 40, 0)
	}
	v := r.view(lot)
	if unmet := desk.Unmet(v.Gate(time.UTC)); len(unmet) > 0 {
		t.Fatalf("after five clean looks at 40 of 100 and 35 days: %+v", unmet)
	}
	r.must(r.Release(r.ctx, r.me(), lot, desk.ReleaseForm{Note: "fine animals"}))
	v = r.view(lot)
	rel := v.Lot.Released.Payload.(*holdfast.Release)
	if v.Lot.Status != holdfast.Released || len(rel.Figures) != 3 || rel.Figures[0].Chance != worm(v).Figure.Chance {
		t.Errorf("status %s with figures %+v: the release must freeze what it rested on", v.Lot.Status, rel.Figures)
	}
	r.must(r.Sell(r.ctx, r.me(), lot, desk.SaleForm{Name: "A keeper", Count: 10, Price: &holdfast.Money{Minor: 3500, Currency: "EUR"}}))
	if v := r.view(lot); v.Lot.Alive.N != 90 || v.Lot.Sold != 10 {
		t.Errorf("%d alive and %d sold, want 90 and 10", v.Lot.Alive.N, v.Lot.Sold)
	}
	if err := r.Sell(r.ctx, r.me(), lot, desk.SaleForm{Name: "B", Count: 91}); fieldOf(err) != "count" {
		t.Errorf("selling more than are left: %v, want a problem at count", err)
	}
	r.look(lot, 10, 1)
	if s := r.status(lot); s != holdfast.Recalled {
		t.Errorf("status %s after a find, want recalled", s)
	}
	if err := r.Sell(r.ctx, r.me(), lot, desk.SaleForm{Name: "C", Count: 1}); kindOf(err) != holdfast.Refused {
		t.Errorf("selling a recalled lot: %v, want refused", err)
	}
}

func TestChanceFallsWithAFindAndOnlyADoseAndLooksRaiseIt(t *testing.T) {
	r := newRoom(t)
	lot := r.lot(100)
	prior := worm(r.view(lot))
	if !prior.NotLooked {
		t.Errorf("nobody looked yet: the chance must say so")
	}
	r.days(1)
	r.look(lot, 30, 2)
	found := worm(r.view(lot))
	if found.Figure.Chance != 0 || found.Figure.BagRisk < 0.2 || found.Figure.Positive != 2 {
		t.Errorf("figure %+v after 2 of 30: want a chance of 0 and a high bag risk", found.Figure)
	}
	grams := 0.125
	dose := holdfast.Treatment{Form: "bath", Active: "praziquantel", TargetMgL: 2.5, StrengthShare: 1, WeighedG: &grams, VolumeL: 50, Hours: 96, Held: holdfast.HeldFull, Reason: "a test without a trial"}
	r.must(r.Treat(r.ctx, r.me(), lot, "1", dose))
	one := worm(r.view(lot)).Figure
	void := dose
	void.Held, void.Failed = holdfast.HeldVoid, "removed after an hour"
	r.must(r.Treat(r.ctx, r.me(), lot, "1", void))
	if f := worm(r.view(lot)).Figure; f.Chance != one.Chance {
		t.Errorf("a void bath moved the chance from %v to %v", one.Chance, f.Chance)
	}
	r.days(14)
	r.must(r.Treat(r.ctx, r.me(), lot, "1", dose))
	two := worm(r.view(lot)).Figure
	if !(0 < one.Chance && one.Chance < two.Chance && two.Chance < 0.5) || two.Low >= two.High {
		t.Errorf("chance %v after one bath, %v (%v to %v) after two: two baths prove little", one.Chance, two.Chance, two.Low, two.High)
	}
	r.days(6)
	r.look(lot, 40, 0)
	if f := worm(r.view(lot)).Figure; math.Abs(f.Chance-two.Chance) > 1e-9 {
		t.Errorf("a clean look two days after the bath moved the chance from %v to %v", two.Chance, f.Chance)
	}
	r.days(10)
	r.look(lot, 40, 0)
	if f := worm(r.view(lot)).Figure; f.Chance <= two.Chance {
		t.Errorf("a clean look at 40 left the chance at %v", f.Chance)
	}
}

func TestAFalseWeightIsRefused(t *testing.T) {
	r := newRoom(t)
	lot := r.lot(100)
	grams := 1.25 // ten times too much
	err := r.Treat(r.ctx, r.me(), lot, "1", holdfast.Treatment{Form: "bath", Active: "praziquantel", TargetMgL: 2.5, StrengthShare: 1, WeighedG: &grams, VolumeL: 50, Hours: 24, Held: holdfast.HeldFull})
	if fieldOf(err) != "weighed_g" {
		t.Errorf("ten times the dose: %v, want a problem at weighed_g", err)
	}
	if n := len(r.view(lot).Lot.Events); n != 2 {
		t.Errorf("%d entries, want the two of the arrival", n)
	}
}

func TestNoSignatureOverridesASuspicion(t *testing.T) {
	r := newRoom(t)
	lot := r.lot(50)
	r.must(r.Hold(r.ctx, r.me(), lot, "Many dead within two days", "listed_disease"))
	form := desk.ReleaseForm{Override: "I am sure that nothing is wrong with them."}
	if err := r.Release(r.ctx, r.me(), lot, form); kindOf(err) != holdfast.Refused {
		t.Errorf("release under suspicion: %v, want refused", err)
	}
	if err := r.Exit(r.ctx, r.me(), lot, holdfast.Exit{Way: holdfast.ExitDisclosed, Reason: "x", Disclosed: "y"}); kindOf(err) != holdfast.Refused {
		t.Errorf("disclosed sale under suspicion: %v, want refused", err)
	}
	r.must(r.Lift(r.ctx, r.me(), lot, "listed_disease", "Laboratory: negative by PCR", false))
	r.must(r.Release(r.ctx, r.me(), lot, form))
	v := r.view(lot)
	if len(v.Lot.Overrides) != 1 || v.Lot.Released.Payload.(*holdfast.Release).Override != v.Lot.Overrides[0].ID {
		t.Errorf("the override must stay on the lot and the release name it")
	}
	rec, err := r.Record(r.ctx, lot)
	r.must(err)
	if len(rec.Overrides) != 1 || len(rec.NotLooked) != 3 {
		t.Errorf("the record shows %d overrides and %v as not looked for", len(rec.Overrides), rec.NotLooked)
	}
}

func TestFindOfSomethingWithoutACureCannotBeOverridden(t *testing.T) {
	r := newRoom(t)
	lot := r.lot(50)
	p := holdfast.Inspection{By: holdfast.ByLens, Random: true, LookedFor: []string{"green_growth"}, Animals: []holdfast.Animal{
		{No: 1, Seen: holdfast.Sides, Findings: []holdfast.Finding{{Condition: "green_growth"}}}}}
	r.must(second(r.Inspect(r.ctx, r.me(), lot, "1", p)))
	if err := r.Release(r.ctx, r.me(), lot, desk.ReleaseForm{Override: "They look good enough to me."}); kindOf(err) != holdfast.Refused {
		t.Errorf("release with a growth that kills: %v, want refused", err)
	}
}

func TestAFormSentTwiceWritesOnce(t *testing.T) {
	r := newRoom(t)
	lot := r.lot(50)
	id, err := r.NewID()
	r.must(err)
	by := desk.Actor{Who: "Jo", ID: id}
	r.must(r.Dead(r.ctx, by, lot, "1", 2, "", ""))
	r.clock = r.clock.Add(time.Second)
	r.must(r.Dead(r.ctx, by, lot, "1", 2, "", ""))
	if n := r.view(lot).Lot.Deaths; n != 2 {
		t.Errorf("%d dead, want 2: the form was sent twice", n)
	}
	if err := r.Dead(r.ctx, by, lot, "1", 3, "", ""); kindOf(err) != holdfast.Conflict {
		t.Errorf("the same form with another number: %v, want a conflict", err)
	}
}

func TestUndoAndUndoTheUndo(t *testing.T) {
	r := newRoom(t)
	lot := r.lot(50)
	id, _ := r.NewID()
	r.must(r.Dead(r.ctx, desk.Actor{Who: "Jo", ID: id}, lot, "1", 4, "", ""))
	undo, err := r.Undo(r.ctx, r.me(), id, "")
	r.must(err)
	if n := r.view(lot).Lot.Deaths; n != 0 {
		t.Errorf("%d dead after undo, want 0", n)
	}
	r.must(second(r.Undo(r.ctx, r.me(), undo, "they were dead after all")))
	if n := r.view(lot).Lot.Deaths; n != 4 {
		t.Errorf("%d dead after the undo was undone, want 4", n)
	}
}

func TestRoundAsksAndIsTicked(t *testing.T) {
	r := newRoom(t)
	clean, sick := r.lot(60), ""
	_, lots, err := r.Receive(r.ctx, r.me(), desk.Arrival{Supplier: "Other Farm", Lines: []desk.ArrivalLine{{Strain: "Red cherry", Declared: 80, Tank: "2"}}})
	r.must(err)
	sick = lots[0]
	r.days(1)
	r.look(sick, 30, 2)
	day, err := r.Today(r.ctx)
	r.must(err)
	walk, err := r.Round(r.ctx, day)
	r.must(err)
	if len(walk.Sections) != 2 || walk.Sections[0].Zone != desk.Watched || walk.Sections[1].Zone != desk.Carrying || walk.Sections[1].Hygiene == nil {
		t.Fatalf("sections %+v: want the watched tank, a hygiene stop, then the carrying one", walk.Sections)
	}
	open := map[desk.TaskKind]desk.Task{}
	for _, task := range walk.Sections[1].Stops[0].Tasks {
		if task.Open() {
			open[task.Kind] = task
		}
	}
	for _, k := range []desk.TaskKind{desk.TaskPull, desk.TaskDead, desk.TaskDose, desk.TaskWater} {
		if open[k].Key == "" {
			t.Errorf("the tank with the find has no %s task", k)
		}
	}
	n := 3
	r.must(r.Pull(r.ctx, r.me(), sick, "2", &n, open[desk.TaskPull].Key, ""))
	r.must(r.Pull(r.ctx, r.me(), sick, "2", &n, open[desk.TaskPull].Key, "")) // another tab
	r.must(r.Skip(r.ctx, r.me(), sick, "2", open[desk.TaskDose].Key, "waiting for the balance"))
	if err := r.Skip(r.ctx, r.me(), sick, "2", "x", " "); fieldOf(err) != "reason" {
		t.Errorf("skipping without a reason: %v", err)
	}
	ticked, err := r.NoneDead(r.ctx, r.me(), desk.Watched)
	r.must(err)
	if len(ticked) != 1 {
		t.Errorf("%d tanks ticked, want the one of the section", len(ticked))
	}
	if v := r.view(clean); v.Lot.Deaths != 0 || v.Lot.DeathsSince(0) != 0 {
		t.Errorf("none dead was recorded as a death")
	}
	walk, err = r.Round(r.ctx, day)
	r.must(err)
	for _, task := range walk.Sections[1].Stops[0].Tasks {
		switch task.Kind {
		case desk.TaskPull:
			if task.Open() || task.Twice == nil || task.DoneSays != "3 pulled" {
				t.Errorf("the pull was ticked twice: %+v", task)
			}
		case desk.TaskDose:
			if !task.Skipped || task.DoneSays != "left out: waiting for the balance" {
				t.Errorf("the dose was left out: %+v", task)
			}
		}
	}
	// The day after, a pull that nobody did is late.
	walk, err = r.Round(r.ctx, day+2)
	r.must(err)
	for _, task := range walk.Sections[1].Stops[0].Tasks {
		if task.Kind == desk.TaskPull && task.Late != 1 {
			t.Errorf("yesterday's pull is missing, the task says %+v", task)
		}
	}
}

func TestSplitInheritsAndMergeJoins(t *testing.T) {
	r := newRoom(t)
	lot := r.lot(100)
	r.look(lot, 60, 0)
	before := worm(r.view(lot)).Figure
	part, err := r.Split(r.ctx, r.me(), lot, "2", 30, "more room")
	r.must(err)
	child := worm(r.view(part)).Figure
	if child.Chance < before.Chance || child.Looked != 60 {
		t.Errorf("the part has %+v, the whole had %+v: a part is at least as likely clear", child, before)
	}
	r.must(r.Merge(r.ctx, r.me(), part, lot, 0, "back"))
	after := worm(r.view(lot))
	if v := r.view(lot); v.Lot.Alive.N != 100 || r.status(part) != holdfast.Closed || after.Why != "" {
		t.Errorf("%d alive, part %s, %q", v.Lot.Alive.N, r.status(part), after.Why)
	}
	if after.Figure.Chance > before.Chance+1e-9 {
		t.Errorf("putting them back raised the chance from %v to %v", before.Chance, after.Figure.Chance)
	}
}

// What must be reported or has no cure goes with the animals: a part cannot be
// sold past the suspicion of the whole, nor the whole past that of a part that
// came back.
func TestSuspicionGoesWithTheAnimals(t *testing.T) {
	r := newRoom(t)
	lot, other := r.lot(60), r.lot(40)
	r.must(r.Move(r.ctx, r.me(), other, "1", "3", 0, false, ""))
	shut := func(lot string) bool {
		for _, g := range r.view(lot).Gate(time.UTC) {
			if g.Key == "suspicion" {
				return !g.Met
			}
		}
		t.Fatalf("the gate of lot %s does not ask", lot)
		return false
	}
	plain, err := r.Split(r.ctx, r.me(), lot, "2", 10, "before anything was seen")
	r.must(err)
	r.must(r.Hold(r.ctx, r.me(), lot, "deaths by the dozen", reference.ListedDisease))
	if !shut(plain) {
		t.Error("a part that was split off before is not held")
	}
	r.must(r.Lift(r.ctx, r.me(), plain, reference.ListedDisease, "laboratory of 18 Nov: none", false))
	part, err := r.Split(r.ctx, r.me(), lot, "2", 10, "more room")
	r.must(err)
	if !shut(lot) || !shut(part) || shut(plain) || shut(other) {
		t.Errorf("suspected: whole %v, part %v, part from before %v, other %v", shut(lot), shut(part), shut(plain), shut(other))
	}
	err = r.Exit(r.ctx, r.me(), part, holdfast.Exit{Way: holdfast.ExitDisclosed, Reason: "to the trade", Disclosed: "suspected"})
	if kindOf(err) != holdfast.Refused {
		t.Errorf("a part of a suspected lot may leave: %v", err)
	}
	r.must(r.Merge(r.ctx, r.me(), part, other, 5, "one tank"))
	if !shut(other) || r.status(other) != holdfast.Held {
		t.Errorf("the lot that took them in: suspected %v, %s", shut(other), r.status(other))
	}
	merged := r.view(other).Lot.Events
	r.must(second(r.Undo(r.ctx, r.me(), merged[len(merged)-1].ID, "")))
	if shut(other) {
		t.Error("the merge was taken back, and the suspicion stays")
	}
	r.must(r.Lift(r.ctx, r.me(), part, reference.ListedDisease, "laboratory of 20 Nov: none", false))
	if shut(part) || !shut(lot) {
		t.Errorf("lifted from the part: part %v, whole %v", shut(part), shut(lot))
	}
}

// A suspicion that comes after a split holds the parts and the whole, and what
// stands in one tank with any of them if it must be reported, from wherever it is recorded; it names where, is
// taken back in one go, and is lifted lot by lot or everywhere.
func TestASuspicionReachesWhatWasSplitBefore(t *testing.T) {
	r := newRoom(t)
	whole, far, mate := r.lot(60), r.lot(40), r.lot(30)
	r.must(r.Move(r.ctx, r.me(), far, "1", "3", 0, false, ""))
	r.must(r.Move(r.ctx, r.me(), mate, "1", "2", 0, false, ""))
	part, err := r.Split(r.ctx, r.me(), whole, "2", 20, "more room")
	r.must(err)
	all := []string{whole, part, mate}
	state := func() (held []string) {
		for _, id := range append(all, far) {
			l := r.view(id).Lot
			if len(l.Suspects) > 0 && l.Status == holdfast.Held {
				held = append(held, id)
			}
		}
		return held
	}
	form := desk.ReleaseForm{Override: "I am sure that nothing is wrong with them."}
	r.must(r.Release(r.ctx, r.me(), whole, form))

	by := r.me()
	by.ID, err = r.NewID()
	r.must(err)
	r.must(r.Hold(r.ctx, by, part, "deaths by the dozen", reference.ListedDisease))
	r.must(r.Hold(r.ctx, by, part, "deaths by the dozen", reference.ListedDisease)) // sent twice
	if got := state(); !slices.Equal(got, all) {
		t.Errorf("held: %v, want %v", got, all)
	}
	if l := r.view(whole).Lot; l.SuspectedIn[reference.ListedDisease] != part || len(r.view(part).Lot.SuspectedIn) > 0 {
		t.Errorf("suspected in %v, and the part in %v", l.SuspectedIn, r.view(part).Lot.SuspectedIn)
	}
	if err := r.Sell(r.ctx, r.me(), whole, desk.SaleForm{Name: "A", Count: 1}); kindOf(err) != holdfast.Refused {
		t.Errorf("the whole was sold: %v", err)
	}
	if err := r.Release(r.ctx, r.me(), mate, form); kindOf(err) != holdfast.Refused {
		t.Errorf("what stands in one tank with it was released: %v", err)
	}
	row, err := r.Store.LotRow(r.ctx, whole)
	r.must(err)
	if len(row.Suspects) != 1 || row.Status != holdfast.Held {
		t.Errorf("the row says %v, %s", row.Suspects, row.Status)
	}

	back, err := r.Undo(r.ctx, r.me(), by.ID, "")
	r.must(err)
	if got := state(); len(got) > 0 || r.status(whole) != holdfast.Released {
		t.Errorf("taken back, and held all the same: %v; the whole is %s", got, r.status(whole))
	}
	r.must(second(r.Undo(r.ctx, r.me(), back, "")))
	r.must(r.Lift(r.ctx, r.me(), whole, reference.ListedDisease, "laboratory: none", false))
	if got := state(); !slices.Equal(got, []string{part, mate}) {
		t.Errorf("lifted from the whole alone, held: %v", got)
	}
	r.must(r.Lift(r.ctx, r.me(), part, reference.ListedDisease, "laboratory: none", true))
	if got := state(); len(got) > 0 {
		t.Errorf("lifted everywhere, held: %v", got)
	}

	// Signs that a look finds do the same.
	p := holdfast.Inspection{By: holdfast.ByLens, Random: true, LookedFor: []string{"green_growth"}, Animals: []holdfast.Animal{
		{No: 1, Seen: holdfast.Sides, Findings: []holdfast.Finding{{Condition: "green_growth"}}}}}
	id, err := r.Inspect(r.ctx, r.me(), whole, "1", p)
	r.must(err)
	if got := state(); !slices.Equal(got, all[:2]) { // it need not be reported: the tank's other lot is looked at by itself
		t.Errorf("after a find, held: %v, want %v", got, all[:2])
	}
	r.must(second(r.UndoTogether(r.ctx, r.me(), id, "")))
	if got := state(); len(got) > 0 {
		t.Errorf("the look was taken back, held: %v", got)
	}
	if found, err := r.Store.(*store.Store).Verify(r.ctx, nil); err != nil || len(found) > 0 {
		t.Errorf("verify: %v, %v", found, err)
	}
}

// A sale that is refused leaves nothing behind, not even its buyer.
func TestARefusedSaleKeepsNoBuyer(t *testing.T) {
	r := newRoom(t)
	lot := r.lot(50)
	r.must(r.Exit(r.ctx, r.me(), lot, holdfast.Exit{Way: holdfast.ExitDisclosed, Reason: "to the trade", Disclosed: "worms on 2 of 30"}))
	for _, f := range []desk.SaleForm{{Name: "Ada", Count: 51}, {Name: "Ada", Count: 1, Note: strings.Repeat("x", 2001)}, {Name: "Ada", Count: 1, Papers: holdfast.Papers{Place: strings.Repeat("x", 201)}}} {
		if err := r.Sell(r.ctx, r.me(), lot, f); err == nil {
			t.Errorf("%+v was sold", f)
		}
	}
	if all, err := r.Store.Buyers(r.ctx); err != nil || len(all) > 0 {
		t.Errorf("buyers of refused sales: %v, %v", all, err)
	}
	r.must(r.Sell(r.ctx, r.me(), lot, desk.SaleForm{Name: "Ada", Count: 1}))
	if all, err := r.Store.Buyers(r.ctx); err != nil || len(all) != 1 || all[0].Name != "Ada" {
		t.Errorf("buyers: %v, %v", all, err)
	}
}

func TestReceiveSaysEveryWrongField(t *testing.T) {
	r := newRoom(t)
	_, _, err := r.Receive(r.ctx, r.me(), desk.Arrival{Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: -1, DOA: 5}, {Strain: "Zzz", Declared: 10}}})
	var p holdfast.Problems
	if !errors.As(err, &p) {
		t.Fatalf("%v, want problems", err)
	}
	got := map[string]bool{}
	for _, q := range p {
		got[q.Field] = true
		if q.Hint == "" {
			t.Errorf("%s says nothing of what to do", q.Field)
		}
	}
	for _, f := range []string{"supplier", "lines[0].declared", "lines[0].doa", "lines[1].species"} {
		if !got[f] {
			t.Errorf("no problem at %s in %v", f, p)
		}
	}
	if seq, _, _ := r.Store.Head(r.ctx); seq != 3 {
		t.Errorf("%d entries, want the three tanks only: nothing half written", seq)
	}
}

// Snails carry none of what a chance is kept of. They can be looked at all the
// same, and the gate asks for that look as it does for shrimp.
func TestAnimalsWithoutATrackedConditionCanBeLookedAt(t *testing.T) {
	r := newRoom(t)
	_, lots, err := r.Receive(r.ctx, r.me(), desk.Arrival{Supplier: "Invented Farm", Lines: []desk.ArrivalLine{{Strain: "Zebra nerite", Declared: 40, Tank: "1"}}})
	r.must(err)
	lot := lots[0]
	r.days(28)
	if unmet := desk.Unmet(r.view(lot).Gate(time.UTC)); len(unmet) != 1 || unmet[0].Key != "clean_look" {
		t.Fatalf("unmet %+v, want the clean look only", unmet)
	}
	plan, err := r.PlanLook(r.ctx, r.view(lot))
	r.must(err)
	p := holdfast.Inspection{By: holdfast.ByLens, Random: true, Planned: plan.Planned, LookedFor: plan.LookFor}
	for i := range plan.Planned - 1 {
		p.Animals = append(p.Animals, holdfast.Animal{No: i + 1, Seen: holdfast.Sides})
	}
	r.must(second(r.Inspect(r.ctx, r.me(), lot, "1", p)))
	if len(desk.Unmet(r.view(lot).Gate(time.UTC))) != 1 {
		t.Error("one animal too few met the gate")
	}
	p.Animals = append(p.Animals, holdfast.Animal{No: plan.Planned, Seen: holdfast.Sides})
	r.must(second(r.Inspect(r.ctx, r.me(), lot, "1", p)))
	r.must(r.Release(r.ctx, r.me(), lot, desk.ReleaseForm{}))
}
