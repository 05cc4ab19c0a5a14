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

// Papers that come after a delivery or a sale are written down, stand in the
// register, are replaced paper by paper, and are taken back and put back.
func TestPapersThatComeLater(t *testing.T) {
	d := ticking(newDesk(t))
	ctx, jo := t.Context(), desk.Actor{Who: "Jo"}
	delivery, lots, err := d.Receive(ctx, jo, desk.Arrival{Supplier: "Invented Farm", Papers: holdfast.Papers{Certificate: "C-0 torn"},
		Lines: []desk.ArrivalLine{{Strain: "Red cherry", Species: "neocaridina_davidi", Declared: 40}}})
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Exit(ctx, jo, lots[0], holdfast.Exit{Way: holdfast.ExitDisclosed, Reason: "to the trade", Disclosed: "not looked at"}); err != nil {
		t.Fatal(err)
	}
	if err := d.Sell(ctx, jo, lots[0], desk.SaleForm{Name: "Ada", Count: 10}); err != nil {
		t.Fatal(err)
	}
	l, err := d.Lot(ctx, lots[0])
	if err != nil {
		t.Fatal(err)
	}
	sale := l.Events[len(l.Events)-1].ID
	v := serve(t, web.Config{Desk: d})
	head := func() int64 {
		n, _, err := d.Store.Head(ctx)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	for _, c := range []struct{ path, field, page string }{
		{"/deliveries/" + delivery + "/papers", "certificate", "/deliveries/" + delivery},
		{"/lots/" + lots[0] + "/sales/" + string(sale) + "/papers", "place_number", "/lots/" + lots[0]},
	} {
		register := want(t, v.get("/register"), http.StatusOK)
		if !strings.Contains(register.body, `href="`+c.path+`"`) {
			t.Errorf("the register does not lead to %s", c.path)
		}
		before := head()
		form := want(t, v.get(c.path), http.StatusOK).fields("#papers")
		for _, bad := range []string{"", " ", strings.Repeat("x", 201)} {
			page := want(t, v.post(c.path, url.Values{"id": form["id"], c.field: {bad}, "invoice": {" "}}), http.StatusBadRequest)
			if !strings.Contains(page.body, "fault") {
				t.Errorf("%s: %q has no fault at a field", c.path, bad)
			}
		}
		if n := head(); n != before {
			t.Fatalf("%s: %d entries of bad forms", c.path, n-before)
		}
		sent := url.Values{"id": form["id"], c.field: {"N-77 <new>"}, "invoice": {"I-5"}}
		did := want(t, v.post(c.path, sent), http.StatusSeeOther)
		want(t, v.post(c.path, sent), http.StatusSeeOther) // sent twice
		if n := head(); n != before+1 {
			t.Fatalf("%s: %d entries, want 1", c.path, n-before)
		}
		for _, path := range []string{did.Header.Get("Location"), "/register", c.page} {
			page := want(t, v.get(path), http.StatusOK)
			if !strings.Contains(page.body, "N-77 &lt;new&gt;") || !strings.Contains(page.body, "I-5") {
				t.Errorf("%s does not say the papers", path)
			}
		}
		undo := want(t, v.get(c.path), http.StatusOK).fields("#before")
		want(t, v.post("/undo", undo), http.StatusSeeOther)
		if page := want(t, v.get("/register"), http.StatusOK); strings.Contains(page.body, "N-77") {
			t.Errorf("%s: taken back, and it stands in the register", c.path)
		}
		if page := want(t, v.get(c.path), http.StatusOK); !strings.Contains(page.body, "Put it back") || !strings.Contains(page.body, "Taken back by not said on 25 Nov") {
			t.Errorf("%s: cannot be put back", c.path)
		}
	}
	if page := want(t, v.get("/register"), http.StatusOK); !strings.Contains(page.body, "C-0 torn") {
		t.Error("what was written at the delivery is gone")
	}
	for _, gone := range []string{"/deliveries/none/papers", "/lots/none/sales/" + string(sale) + "/papers", "/lots/" + lots[0] + "/sales/x/papers"} {
		want(t, v.get(gone), http.StatusNotFound)
		want(t, v.post(gone, url.Values{"invoice": {"I"}}), http.StatusNotFound)
	}
}

// Pages name a buyer; the entry holds a pseudonym, and of one who was erased the
// pages say no more.
func TestASaleSaysItsBuyer(t *testing.T) {
	d := ticking(newDesk(t))
	ctx, jo := t.Context(), desk.Actor{Who: "Jo"}
	_, lots, err := d.Receive(ctx, jo, desk.Arrival{Supplier: "Invented Farm", Lines: []desk.ArrivalLine{{Strain: "Red cherry", Species: "neocaridina_davidi", Declared: 40}}})
	if err != nil {
		t.Fatal(err)
	}
	if err := d.Exit(ctx, jo, lots[0], holdfast.Exit{Way: holdfast.ExitDisclosed, Reason: "to the trade", Disclosed: "not looked at"}); err != nil {
		t.Fatal(err)
	}
	v := serve(t, web.Config{Desk: d})
	form := want(t, v.get("/lots/"+lots[0]+"/sell"), http.StatusOK).fields("#sell")
	form.Set("name", "Ada & Sons")
	form.Set("count", "3")
	done := want(t, v.post("/lots/"+lots[0]+"/sell", form), http.StatusSeeOther)
	page := want(t, v.get(done.Header.Get("Location")), http.StatusOK)
	for _, part := range []string{"#strips", "#journal"} {
		if say := page.Says(part); !strings.Contains(say, "Sold 3 to Ada & Sons") {
			t.Errorf("%s: %.300s", part, say)
		}
	}
	all, err := d.Store.Buyers(ctx)
	if err != nil || len(all) != 1 {
		t.Fatal(all, err)
	}
	if err := d.Store.EraseBuyer(ctx, all[0].Pseudonym); err != nil {
		t.Fatal(err)
	}
	if say := want(t, v.get("/lots/"+lots[0]), http.StatusOK).Says("#journal"); strings.Contains(say, "Ada") || !strings.Contains(say, all[0].Pseudonym) {
		t.Errorf("after erasing: %.300s", say)
	}
}
