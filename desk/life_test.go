package desk_test

import (
	"encoding/json"
	"errors"
	"math"
	"reflect"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store"
	"holdfast/internal/store/sqlite"
)

// lifeRoom is a room in which the life-cycle model answers.
func lifeRoom(t *testing.T) *room {
	r := newRoom(t)
	s, err := sqlite.Open(t.Context(), t.TempDir(), desk.Summary{Evidence: r.Evidence, Life: true}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	r.Store = s
	r.must(second(r.SetTank(r.ctx, r.me(), desk.TankForm{ID: "1", Use: "quarantine", Place: 1, Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}})))
	r.UseLife().FirstWait = 0 // what is old stays old until it is worked out
	return r
}

func (r *room) row(lot string) holdfast.LotRow {
	r.t.Helper()
	row, err := r.Store.LotRow(r.ctx, lot)
	r.must(err)
	return row
}

// sound asserts that verify finds nothing: figures are beside what it checks.
func (r *room) sound() {
	r.t.Helper()
	found, err := r.Store.(*store.Store).Verify(r.ctx, nil)
	if err != nil || len(found) > 0 {
		r.t.Errorf("verify: %v, %v", found, err)
	}
}

func TestFiguresAreKeptAndAge(t *testing.T) {
	r := lifeRoom(t)
	lot := r.lot(16)
	v := r.view(lot)
	if !v.Assessed[0].NotLooked || v.Assessed[0].Figure.Chance <= 0 {
		t.Errorf("before any look: %+v", v.Assessed[0])
	}
	r.days(2)
	r.look(lot, 8, 0)
	r.must(r.Life.Settle(r.ctx))
	v = r.view(lot)
	worm := v.Assessed[0]
	w := worm.Figure.Worked
	if !v.State.Current() || w == nil || w.Runs < 300 || w.Never == nil || w.Always == nil || w.AsOf != v.Today || worm.Figure.Low > worm.Figure.Chance || worm.Figure.High < worm.Figure.Chance || len(worm.Line) < 3 {
		t.Fatalf("%+v, worked %+v, state %+v", worm.Figure, w, v.State)
	}
	row := r.row(lot)
	if row.Chance == nil || row.FigureOld || row.FigureAsOf != v.Today || len(row.Figures) != len(v.Assessed) {
		t.Errorf("row %+v", row)
	}
	r.sound()
	before := r.kept(lot)

	// A pull counts from tomorrow on, a note never.
	r.must(r.Pull(r.ctx, r.me(), lot, "1", nil, "", ""))
	r.must(r.Note(r.ctx, r.me(), lot, "1", "pale today"))
	if v := r.view(lot); !v.State.Current() {
		t.Error("a pull and a note made the day's figures old")
	}
	// What bears on the evidence makes them old, on the page and in the list.
	r.must(r.Dead(r.ctx, r.me(), lot, "1", 1, "", ""))
	v = r.view(lot)
	if !v.State.Old || v.Assessed[0].Figure.Chance != worm.Figure.Chance || !r.row(lot).FigureOld {
		t.Errorf("after a death: %+v, old in the list %t", v.State, r.row(lot).FigureOld)
	}
	// Taking it back makes the figures those they were, bit for bit.
	l, err := r.Lot(r.ctx, lot)
	r.must(err)
	r.must(second(r.Undo(r.ctx, r.me(), l.Events[len(l.Events)-1].ID, "not of this lot")))
	if v := r.view(lot); !v.State.Current() || r.row(lot).FigureOld {
		t.Errorf("after the correction: %+v", v.State)
	}
	r.must(r.Store.KeepFigures(r.ctx, desk.FigureRow{Lot: lot, Key: "none", Body: json.RawMessage(`[]`)}))
	r.must(r.Life.Settle(r.ctx))
	if again := r.kept(lot); !reflect.DeepEqual(before.Figures, again.Figures) || string(before.Body) != string(again.Body) || before.Key != again.Key {
		t.Errorf("worked out again:\n%+v\nbefore:\n%+v", again, before)
	}
	// They age with the day.
	r.days(1)
	if v := r.view(lot); !v.State.Old || v.State.AsOf != v.Today-1 {
		t.Errorf("a day later: %+v", v.State)
	}
	r.must(r.Life.Settle(r.ctx))
	if v := r.view(lot); !v.State.Current() || v.State.AsOf != v.Today {
		t.Errorf("worked out for the new day: %+v", v.State)
	}
	r.sound()
}

func (r *room) kept(lot string) desk.FigureRow {
	r.t.Helper()
	f, err := r.Store.Figures(r.ctx, lot)
	r.must(err)
	if f == nil {
		r.t.Fatal("no figures are kept")
	}
	return *f
}

// A release rests on figures worked out for it, and freezes how.
func TestReleaseFreezesFreshFigures(t *testing.T) {
	r := lifeRoom(t)
	s := holdfast.DefaultSettings()
	s.DaysHere, s.LookSize, s.ClearLine = 1, 10, 0.7
	r.must(r.SetShop(r.ctx, r.me(), s))
	lot := r.lot(12)
	r.days(2)
	r.look(lot, 12, 0)
	r.must(r.Release(r.ctx, r.me(), lot, desk.ReleaseForm{}))
	l, err := r.Lot(r.ctx, lot)
	r.must(err)
	p := l.Released.Payload.(*holdfast.Release)
	if len(p.Figures) == 0 || p.Model != "life-2+static-2" {
		t.Fatalf("%+v", p)
	}
	for _, f := range p.Figures {
		if w := f.Worked; w == nil || w.Runs < 1000 || w.SE <= 0 || w.Seed != desk.LifeSeed || f.Chance < 0.7 || w.AsOf != r.view(lot).Today {
			t.Errorf("frozen %+v, worked %+v", f, f.Worked)
		}
	}
	// Found positive, it is far from any line, and the gate says so.
	other := r.lot(30)
	r.days(2)
	r.look(other, 12, 4)
	var refused *holdfast.Error
	if err := r.Release(r.ctx, r.me(), other, desk.ReleaseForm{}); !errors.As(err, &refused) || refused.Kind != holdfast.Refused {
		t.Errorf("released with 4 of 12: %v", err)
	}
	if f := r.view(other).Assessed[0].Figure; f.Chance > 0.1 || math.IsNaN(f.BagRisk) {
		t.Errorf("%+v", f)
	}
	r.sound()
}

// Where the model cannot follow, the other one answers and says why.
func TestLotsTheModelCannotFollow(t *testing.T) {
	r := lifeRoom(t)
	a, b := r.lot(12), r.lot(12)
	r.days(1)
	r.look(a, 6, 0)
	r.must(r.Merge(r.ctx, r.me(), b, a, 5, "one tank"))
	r.must(r.Life.Settle(r.ctx))
	v := r.view(a)
	for _, x := range v.Assessed {
		if x.Because == "" || x.Figure.Worked != nil || !x.Known() {
			t.Errorf("%s: because %q, %+v", x.Condition.ID, x.Because, x.Figure)
		}
	}
	if row := r.row(a); row.Chance == nil || *row.Chance != desk.Worst(v.Assessed).Figure.Chance {
		t.Errorf("row %+v", row)
	}
	r.sound()
}

// How many more clean ones is answered from the model's carriers: making the
// look brings the model near the line that was promised.
func TestMoreCleanAgreesWithTheModel(t *testing.T) {
	r := lifeRoom(t)
	s := holdfast.DefaultSettings()
	s.ClearLine = 0.8
	r.must(r.SetShop(r.ctx, r.me(), s))
	lot := r.lot(60)
	r.days(1)
	r.must(r.Life.Settle(r.ctx))
	a := r.view(lot).Assessed[0]
	n, err := a.More(desk.ReleaseLine(s), desk.Look{By: holdfast.ByLens, Seen: holdfast.Sides})
	r.must(err)
	if n < 2 || n > 60 {
		t.Fatalf("%d animals", n)
	}
	r.look(lot, n, 0)
	r.must(r.Life.Settle(r.ctx))
	if got := r.view(lot).Assessed[0].Figure.Chance; math.Abs(got-0.8) > 0.04 {
		t.Errorf("%d clean ones brought the chance to %v, 0.8 was promised", n, got)
	}
}
