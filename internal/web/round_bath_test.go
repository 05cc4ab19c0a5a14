package web_test

import (
	"net/http"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web"
)

// A bath of six days is given from Mix; its change and its further dose are asked
// for on the round, in big figures, and ticked with what was really measured.
func TestBathOverDaysIsAskedForOnTheRound(t *testing.T) {
	d, lot := aLot(t)
	now := noon
	d.Now = func() time.Time { return now }
	v := serve(t, web.Config{Desk: d})
	page := "/lots/" + lot + "/mix"
	form := want(t, v.get(page+"?strength=50+%25&who=lot&for=6+d&change=30+%25+every+2+d&half-life=4+d&volume=54+l"), http.StatusOK)
	given := want(t, v.post(page, form.sent("#mix", "weighed", "0.27", "set", "air", "set", "lamp", "set", "carbon", "reason", "Tried on another lot of this box last week.")), http.StatusSeeOther)
	bath, _, _ := strings.Cut(given.Header.Get("Location"), "?")
	now = now.Add(47 * time.Hour)
	tasks := func() map[desk.TaskKind]string {
		out := map[desk.TaskKind]string{}
		day, err := d.Today(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		walk, err := d.Round(t.Context(), day)
		if err != nil {
			t.Fatal(err)
		}
		for _, sec := range walk.Sections {
			for _, st := range sec.Stops {
				for _, x := range st.Tasks {
					if x.Open() {
						out[x.Kind] = x.Key
					}
				}
			}
		}
		return out
	}
	now = now.Add(time.Hour)
	says(t, want(t, v.get(bath), http.StatusOK), "bring it back to 2.5 mg/l now")
	a := want(t, v.get("/round"), http.StatusOK)
	for _, part := range []string{"16.2 L", "of that stock", "Gloves", "Medicated water never goes outdoors"} {
		if text := strings.ReplaceAll(a.Says("main"), "\u00a0", " "); !strings.Contains(text, part) {
			t.Errorf("the round does not say %q", part)
		}
	}
	change, again := tasks()[desk.TaskChange], tasks()[desk.TaskRedose]
	for _, bad := range []string{"", "-5", "x", "9999"} {
		r := want(t, v.post("/round/tick", with(fresh(t, a, change), "do", "tick", "litres", bad)), http.StatusBadRequest)
		if len(r.All(".err")) == 0 {
			t.Errorf("litres %q: nothing is said at the field", bad)
		}
	}
	want(t, v.post("/round/tick", with(fresh(t, a, change), "do", "tick", "litres", "16.2")), http.StatusSeeOther)
	a = want(t, v.get("/round"), http.StatusOK)
	for _, bad := range [][]string{{"stock_g", "", "stock_ml", "1000", "taken_ml", "650"}, {"stock_g", "2", "stock_ml", "1000", "taken_ml", "650"}, {"stock_g", "0.2", "stock_ml", "1000", "taken_ml", "2000"}, {"stock_g", "2", "stock_ml", "1000", "taken_ml", "68"}} {
		r := want(t, v.post("/round/tick", with(fresh(t, a, again), append([]string{"do", "tick"}, bad...)...)), http.StatusBadRequest)
		if len(r.All(".err")) == 0 {
			t.Errorf("%v: nothing is said at the field", bad)
		}
	}
	want(t, v.post("/round/tick", with(fresh(t, a, again), "do", "skip", "note", "")), http.StatusBadRequest)
	want(t, v.post("/round/tick", with(fresh(t, a, again), "do", "tick", "stock_g", "0.2", "stock_ml", "1000", "taken_ml", "680")), http.StatusSeeOther)
	says(t, want(t, v.get(bath), http.StatusOK), "Dosed again")
	l, err := d.Lot(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, ev := range l.Events {
		if p, ok := ev.Payload.(*holdfast.Redose); ok {
			n++
			if p.WeighedG == nil || *p.WeighedG != 0.136 || p.Task != again {
				t.Errorf("%+v", p)
			}
		}
	}
	if n != 1 || tasks()[desk.TaskRedose] != "" {
		t.Errorf("%d further doses, still asked for: %q", n, tasks()[desk.TaskRedose])
	}
	now = now.Add(48 * time.Hour)
	a = want(t, v.get("/round"), http.StatusOK)
	want(t, v.post("/round/tick", with(fresh(t, a, tasks()[desk.TaskRedose]), "do", "skip", "note", "The tub was empty.")), http.StatusSeeOther)
	says(t, want(t, v.get(bath), http.StatusOK), "Left out: The tub was empty.")
}
