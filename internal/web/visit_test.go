package web_test

import (
	"net/http"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web"
)

func TestVisitThroughThePages(t *testing.T) {
	d := ticking(newDesk(t))
	_, lots, err := d.Receive(t.Context(), desk.Actor{Who: "Jo"}, desk.Arrival{Supplier: "Invented Farm", Lines: []desk.ArrivalLine{{Strain: "Red cherry", Species: "neocaridina_davidi", Declared: 40}}})
	if err != nil {
		t.Fatal(err)
	}
	v := serve(t, web.Config{Desk: d})
	empty := want(t, v.get("/register/visit"), http.StatusOK)
	form := empty.fields("#visit")
	good := func(typed ...string) map[string][]string {
		out := map[string][]string{"id": form["id"], "visitor": {"Dr. Reed, invented practice"}, "role": {"veterinarian"}, "lots": {lots[0] + ", "}, "result": {"Nothing seen on 20 <animals>"}, "laboratory": {"No. 5: clear"}}
		for i := 0; i < len(typed); i += 2 {
			out[typed[i]] = []string{typed[i+1]}
		}
		return out
	}
	for _, bad := range [][2]string{{"visitor", " "}, {"visitor", strings.Repeat("x", 200)}, {"role", ""}, {"role", "king"}, {"result", ""}, {"lots", "no-such-lot"}, {"lots", "<b>"}, {"at", "tomorrow"}, {"at", "2999-01-01"}, {"at", "1900-01-01"}} {
		page := want(t, v.post("/register/visit", good(bad[0], bad[1])), http.StatusBadRequest)
		if !strings.Contains(page.body, "No. 5: clear") || !strings.Contains(page.body, `href="#`+bad[0]) {
			t.Errorf("%v: what was typed is gone, or nothing leads to the field", bad)
		}
	}
	if n := kept(t, d); n != 0 {
		t.Fatalf("%d entries were written of bad forms", n)
	}
	did := want(t, v.post("/register/visit", good()), http.StatusSeeOther)
	want(t, v.post("/register/visit", good()), http.StatusSeeOther) // sent twice
	if n := kept(t, d); n != 1 {
		t.Fatalf("%d entries were written, want 1", n)
	}
	register := want(t, v.get(did.Header.Get("Location")), http.StatusOK)
	for _, say := range []string{"Dr. Reed, invented practice, veterinarian", "Nothing seen on 20 &lt;animals&gt;", "No. 5: clear", "1 lot: " + lots[0], "Undo"} {
		if !strings.Contains(register.body, say) {
			t.Errorf("the register does not say %q", say)
		}
	}
	if lot := want(t, v.get("/lots/"+lots[0]), http.StatusOK); !strings.Contains(lot.body, "Visit by Dr. Reed") {
		t.Error("the lot's journal does not tell the visit")
	}
	b, err := d.KeptBook(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.Undo(t.Context(), desk.Actor{Who: "Jo"}, b.Visits[0].ID, "wrong day"); err != nil {
		t.Fatal(err)
	}
	if register := want(t, v.get("/register"), http.StatusOK); strings.Contains(register.body, "Nothing seen on 20") {
		t.Error("a visit that was taken back stands in the register")
	}
	if again := want(t, v.get("/register/visit"), http.StatusOK); !strings.Contains(again.body, "Put it back") {
		t.Error("the visit cannot be put back")
	}
}

// TestPapersThroughThePages: what came with a delivery and goes with a sale to the
// trade stands in the register.
func TestPapersThroughThePages(t *testing.T) {
	d := ticking(newDesk(t))
	v := serve(t, web.Config{Desk: d})
	form := want(t, v.get("/receive"), http.StatusOK).fields("#receive")
	for name, text := range map[string]string{"supplier": "Invented Farm", "certificate": "C-1/26", "place_number": "XX 77", "transporter": "Invented Air", "border_post": "Harbour", "pre_notice": "N-9",
		"strain_0": "Red cherry", "declared_0": "40", "do": "receive"} {
		form.Set(name, text)
	}
	form.Set("certificate", strings.Repeat("x", 121))
	want(t, v.post("/receive", form), http.StatusBadRequest)
	form.Set("certificate", "C-1/26")
	did := want(t, v.post("/receive", form), http.StatusSeeOther)
	for _, path := range []string{did.Header.Get("Location"), "/register"} {
		page := want(t, v.get(path), http.StatusOK)
		for _, say := range []string{"C-1/26", "XX 77", "Invented Air", "Harbour", "N-9"} {
			if !strings.Contains(page.body, say) {
				t.Errorf("%s does not say %q", path, say)
			}
		}
	}
	lot := must(d.Consignment(t.Context(), strings.TrimPrefix(strings.Split(did.Header.Get("Location"), "?")[0], "/deliveries/"))).Lots[0]
	if err := d.Exit(t.Context(), desk.Actor{Who: "Jo"}, lot, holdfast.Exit{Way: holdfast.ExitDisclosed, Reason: "to the trade", Disclosed: "not looked at"}); err != nil {
		t.Fatal(err)
	}
	sell := want(t, v.get("/lots/"+lot+"/sell"), http.StatusOK).fields("#sell")
	for name, text := range map[string]string{"name": "Corner shop", "count": "5", "place": "Mill Street", "place_number": "YY 5", "certificate": "C-2/26"} {
		sell.Set(name, text)
	}
	want(t, v.post("/lots/"+lot+"/sell", sell), http.StatusSeeOther)
	register := want(t, v.get("/register"), http.StatusOK)
	for _, say := range []string{"Mill Street", "YY 5", "C-2/26"} {
		if !strings.Contains(register.body, say) {
			t.Errorf("the register does not say %q of the sale", say)
		}
	}
}
