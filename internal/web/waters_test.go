package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web"
)

// Readings of many tanks go in by one form: what is empty was not taken, one wrong
// field keeps all of them back, and they are taken back in one go.
func TestReadingsOfManyTanks(t *testing.T) {
	d := ticking(newDesk(t))
	for _, id := range []string{"1", "2", "b.3"} {
		if _, err := d.SetTank(t.Context(), desk.Actor{Who: "Jo"}, desk.TankForm{ID: id, Use: "quarantine", Place: 1, Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}}); err != nil {
			t.Fatal(err)
		}
	}
	v := serve(t, web.Config{Desk: d})
	head := func() int64 {
		n, _, err := d.Store.Head(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	start := head()
	page := want(t, v.get("/tanks/readings"), http.StatusOK)
	form := page.fields("#readings")
	for name, values := range form {
		if name != "id" && name != "which" && values[0] != "" {
			t.Errorf("%s is filled in with %q", name, values[0])
		}
	}
	with := func(typed ...string) url.Values {
		out := url.Values{"id": form["id"], "which": {"daily"}}
		for i := 0; i < len(typed); i += 2 {
			out.Set(typed[i], typed[i+1])
		}
		return out
	}
	for _, bad := range [][2]string{{"ph_2", "74"}, {"temp_c_b.3", "warm"}, {"ec_us_cm_1", "-1"}, {"at", "2999-01-01T10:00"}} {
		a := want(t, v.post("/tanks/readings", with("temp_c_1", "23,5", bad[0], bad[1])), http.StatusBadRequest)
		if len(a.All(`[id="`+bad[0]+`-err"]`)) != 1 || a.fields("#readings").Get("temp_c_1") != "23,5" {
			t.Errorf("%v: nothing is said at the field, or the rest is gone", bad)
		}
	}
	says(t, want(t, v.post("/tanks/readings", with()), http.StatusBadRequest), "Nothing was measured")
	if head() != start {
		t.Fatal("something was written of bad forms")
	}
	sent := with("temp_c_1", "23,5", "ph_1", "7.2", "ec_us_cm_b.3", "410")
	did := want(t, v.post("/tanks/readings", sent), http.StatusSeeOther)
	want(t, v.post("/tanks/readings", sent), http.StatusSeeOther) // sent twice
	if n := head() - start; n != 2 {
		t.Fatalf("%d entries, want one for each of two tanks", n)
	}
	room := want(t, v.get(did.Header.Get("Location")), http.StatusOK)
	if strip := room.Says("#strips"); !strings.Contains(strip, "The water of 2 tanks measured.") {
		t.Errorf("the page says %q", strip)
	}
	one, err := d.Tank(t.Context(), "1")
	if err != nil {
		t.Fatal(err)
	}
	w := one.Measured[0].Payload.(*holdfast.WaterMeasured).Water
	if *w.TempC != 23.5 || *w.PH != 7.2 || w.ECUS != nil {
		t.Errorf("tank 1 has %+v", w)
	}
	again := want(t, v.get("/tanks/readings"), http.StatusOK)
	if text := strings.ReplaceAll(again.Says("main"), "\u00a0", " "); !strings.Contains(text, "Last 23.5 °C, pH 7.2") {
		t.Errorf("what was measured before is not said: %s", text)
	}
	if got := again.fields("#readings").Get("temp_c_1"); got != "" {
		t.Errorf("the last reading is filled in: %q", got)
	}
	want(t, v.post("/undo", room.fields("#strips form")), http.StatusSeeOther)
	for _, id := range []string{"1", "b.3"} {
		if tank, err := d.Tank(t.Context(), id); err != nil || len(tank.Measured) != 0 {
			t.Errorf("tank %s: taken back, and %d readings stand (%v)", id, len(tank.Measured), err)
		}
	}
	says(t, want(t, v.get("/tanks/readings?which=nitrogen"), http.StatusOK), "Nitrite")
	want(t, v.get("/tanks/readings?which=nonsense"), http.StatusOK)
}
