package web

import (
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
)

// A part of a lot that was looked at before it was split off has been looked at.
func TestPartOfALookedAtLotIsAwaited(t *testing.T) {
	v := &desk.LotView{Lot: &holdfast.Lot{ID: "A.1", Parent: "A", Status: holdfast.Held}}
	v.State.Pending = true
	v.Assessed = []desk.Assessment{{Pending: true, Figure: holdfast.Figure{Looked: 20}}}
	if got := lotNumbers(v)[0]; !strings.HasPrefix(got.Before, "somebody has looked") {
		t.Errorf("its number says %+v", got)
	}
	if _, says := lotStanding(v, []desk.GateItem{{}}); !strings.Contains(says, "Not looked at since it was split off") {
		t.Errorf("it stands as %q", says)
	}
	v.Lot.Parent, v.Assessed = "", []desk.Assessment{{Pending: true}}
	if got := lotNumbers(v)[0]; !strings.HasPrefix(got.Before, "nobody has looked") {
		t.Errorf("a lot nobody looked at says %+v", got)
	}
}
