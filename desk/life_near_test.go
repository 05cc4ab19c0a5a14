package desk

import (
	"testing"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/clearance"
)

// Near the line a figure goes on getting sharper, beyond the runs that are
// enough elsewhere, until its error is half a point or four times as many are
// spent.
func TestFiguresNearTheLineAreSharper(t *testing.T) {
	const most = 1000
	h := newStory(40).on(2, "1", looked(25, 0, 0, 0, holdfast.ByLens)).told(t, 3, nil)
	cond, err := LifeCondition(nil, reference.RostrumWorm)
	if err != nil {
		t.Fatal(err)
	}
	worked := func(line float64) *holdfast.Worked {
		v := &LotView{Lot: &holdfast.Lot{Status: holdfast.Colony}, Shop: holdfast.DefaultSettings()}
		v.Shop.ClearLine = line
		h.Seed, h.Line = LifeSeed, line
		var a Answer
		q := question{history: h, life: cond}
		if err := q.sharp(t.Context(), v, &a, most); err != nil {
			t.Fatal(err)
		}
		if a.Figure.Worked == nil {
			t.Fatalf("%+v", a)
		}
		return a.Figure.Worked
	}
	far := worked(0.1)
	c := h.Case
	c.Runs = 2000
	r, err := clearance.Quick(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	near := worked(r.Mixed.Points[0].Clear.Value)
	if far.Runs != most || far.SE <= nearError {
		t.Fatalf("away from the line: %+v", far)
	}
	if near.Runs <= most || near.Runs < 4*most && near.SE > nearError {
		t.Errorf("near the line: %+v", near)
	}
}
