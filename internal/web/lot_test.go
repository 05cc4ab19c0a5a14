package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"os"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/demo"
	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
)

// aLot is a desk with two tanks and one lot of 60, thirty days here, in the
// first of them.
func aLot(t *testing.T) (*desk.Desk, string) {
	t.Helper()
	d := newDesk(t)
	var passed atomic.Int64 // no two things happen at once, so that they fold in their order
	d.Now = func() time.Time { return noon.Add(time.Duration(passed.Add(1)) * time.Millisecond) }
	ctx := t.Context()
	for _, id := range []string{"14", "7"} {
		if _, err := d.SetTank(ctx, desk.Actor{Who: "Mara"}, desk.TankForm{ID: id, Use: "quarantine",
			Shape: holdfast.Shape{Form: "box", LengthCM: 60, WidthCM: 30, HeightCM: 35, FillCM: 30}}); err != nil {
			t.Fatal(err)
		}
	}
	_, lots, err := d.Receive(ctx, desk.Actor{Who: "Mara", At: noon.AddDate(0, 0, -30)}, desk.Arrival{Supplier: "Invented Farm", Boxes: 1,
		Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 60, Tank: "14"}}})
	if err != nil {
		t.Fatal(err)
	}
	return d, lots[0]
}

// seen looks at n animals of a lot, of which the first positive ones carry the
// condition.
func seen(t *testing.T, d *desk.Desk, lot string, n, positive int, condition string) {
	t.Helper()
	l, err := d.Lot(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	p := holdfast.Inspection{By: holdfast.ByMicroscope, Random: true, Planned: n}
	for _, c := range desk.Tracked(l.Species) {
		p.LookedFor = append(p.LookedFor, c.ID)
	}
	for i := range n {
		a := holdfast.Animal{No: i + 1, Seen: holdfast.Sides}
		if i < positive {
			a.Findings = []holdfast.Finding{{Condition: condition}}
		}
		p.Animals = append(p.Animals, a)
	}
	if _, err := d.Inspect(t.Context(), desk.Actor{Who: "Mara"}, lot, "14", p); err != nil {
		t.Fatal(err)
	}
}

// status is the state of a lot.
func status(t *testing.T, d *desk.Desk, lot string) holdfast.Status {
	t.Helper()
	l, err := d.Lot(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	return l.Status
}

func says(t *testing.T, a answer, part string) {
	t.Helper()
	if text := a.Says("main"); !strings.Contains(text, part) {
		t.Errorf("%s does not say %q:\n%s", a.Request.URL, part, text)
	}
}

func TestLotThatIsNot(t *testing.T) {
	v := serve(t, web.Config{})
	for _, path := range []string{"/lots/none", "/lots/none/record", "/lots/none/treat", "/lots/none/sell"} {
		want(t, v.get(path), http.StatusNotFound)
	}
	for _, path := range []string{"count", "note", "release", "treat", "sell", "hold", "exit"} {
		want(t, v.post("/lots/none/"+path, url.Values{"text": {"x"}}), http.StatusNotFound)
	}
}

// Nobody has looked: no chance is stated and nothing is called clear.
func TestLotNobodyLookedAt(t *testing.T) {
	d, lot := aLot(t)
	v := serve(t, web.Config{Desk: d})
	a := want(t, v.get("/lots/"+lot), http.StatusOK)
	says(t, a, "Held. Not looked.")
	says(t, a, "no chance can be stated")
	conds := a.Says(".conds")
	if n := strings.Count(conds, "not looked"); n != len(desk.Tracked("neocaridina")) || strings.Contains(conds, "%") {
		t.Errorf("the conditions say %q", conds)
	}
	if strings.Contains(a.Says("main"), "The line is reached") {
		t.Error("a line is called reached though nobody has looked")
	}
	if len(a.All("figure.fig")) != 0 {
		t.Error("a chance is drawn that nobody knows")
	}
	if len(a.All(`form[action$="/release"] textarea[name=override]`)) != 1 {
		t.Error("no way to sign below the line")
	}
	says(t, want(t, v.get("/lots/"+lot+"/record"), http.StatusOK), "Not looked for:")
}

func TestLotShowsItsChanceInPerCent(t *testing.T) {
	d, lot := aLot(t)
	seen(t, d, lot, 40, 2, "rostrum_worm")
	v := serve(t, web.Config{Desk: d})
	a := want(t, v.get("/lots/"+lot), http.StatusOK)
	if n := len(a.All(".numbers .big")); n != 2 {
		t.Fatalf("%d numbers", n)
	}
	if big := webtest.Text(a.All(".numbers .big")[0]); !strings.HasSuffix(big, "%") {
		t.Errorf("the chance says %q", big)
	}
	says(t, a, "Held. Rostrum worm found.")
	says(t, a, "seen on 2 of 40")
	if n := len(a.All("figure.fig svg")); n != 2 {
		t.Errorf("%d drawings of the evidence, want a wide and a tall one", n)
	}
	first := webtest.Text(a.All(".gate ol li")[0])
	if strings.Contains(first, "None recorded") {
		t.Errorf("the gate begins with what is met: %q", first)
	}
}

// Every form of the page is taken when filled in rightly, answers 400 with
// what was typed when not, and writes one entry however often it is sent.
func TestLotForms(t *testing.T) {
	for _, c := range []struct {
		what      string
		good, bad url.Values
	}{
		{"count", url.Values{"count": {"58"}, "plus_minus": {"2"}}, url.Values{"count": {"5.5"}}},
		{"dead", url.Values{"count": {"0"}}, url.Values{"count": {"-1"}}},
		{"gone", url.Values{"count": {"1"}}, url.Values{"count": {"0"}}},
		{"births", url.Values{"count": {"12"}}, url.Values{"count": {"NaN"}}},
		{"removal", url.Values{"count": {"2"}, "reason": {"weak"}, "positive": {"yes"}}, url.Values{"count": {"2"}}},
		{"move", url.Values{"from": {"14"}, "to": {"7"}, "count": {"10"}}, url.Values{"from": {"14"}, "to": {"99"}}},
		{"split", url.Values{"count": {"10"}, "tank": {"7"}}, url.Values{"count": {"600"}}},
		{"note", url.Values{"text": {"Berried females <b>"}}, url.Values{"text": {"  "}}},
		{"hold", url.Values{"reason": {"odd"}, "suspect": {"listed_disease"}}, url.Values{"reason": {"odd"}, "suspect": {"rostrum_worm"}}},
		{"exit", url.Values{"way": {"keep_colony"}, "reason": {"carrying"}}, url.Values{"way": {"sell_disclosed"}, "reason": {"carrying"}}},
		{"release", url.Values{"override": {"A trial for the trade, agreed by telephone"}}, url.Values{"override": {"short"}}},
	} {
		t.Run(c.what, func(t *testing.T) {
			d, lot := aLot(t)
			v := serve(t, web.Config{Desk: d})
			path := "/lots/" + lot + "/" + c.what
			before := count(t, d)
			a := want(t, v.post(path, c.bad), http.StatusBadRequest)
			if count(t, d) != before {
				t.Fatal("a wrong form was recorded")
			}
			if len(a.All("#"+c.what+" .err, #"+c.what+" [role=alert]")) == 0 {
				t.Error("the form does not say what is wrong")
			}
			page := want(t, v.get("/lots/"+lot), http.StatusOK)
			good := page.fields("#" + c.what)
			for name, value := range c.good {
				good[name] = value
			}
			to := want(t, v.post(path, good), http.StatusSeeOther).Header.Get("Location")
			after := count(t, d)
			if after == before {
				t.Fatal("nothing was recorded")
			}
			want(t, v.post(path, good), http.StatusSeeOther)
			if count(t, d) != after {
				t.Error("the same form sent twice was recorded twice")
			}
			a = want(t, v.get(to), http.StatusOK)
			a.One(`#strips form[action="/undo"]`)
		})
	}
}

func count(t *testing.T, d *desk.Desk) int {
	t.Helper()
	n := 0
	if err := d.Store.Each(t.Context(), 0, func(holdfast.Entry) error { n++; return nil }); err != nil {
		t.Fatal(err)
	}
	return n
}

// While something is suspected that must be reported, no form releases.
func TestLotSuspicionShutsTheGate(t *testing.T) {
	d, lot := aLot(t)
	v := serve(t, web.Config{Desk: d})
	path := "/lots/" + lot
	want(t, v.post(path+"/hold", url.Values{"reason": {"milky tails, many dead"}, "suspect": {"listed_disease"}}), http.StatusSeeOther)
	a := want(t, v.get(path), http.StatusOK)
	says(t, a, "Stand still.")
	if len(a.All(`form[action$="/release"]`)) != 0 {
		t.Error("the gate offers a release")
	}
	for _, way := range []string{holdfast.ExitDisclosed, holdfast.ExitClaim} {
		if len(a.All(`input[value="`+way+`"]`)) != 0 {
			t.Errorf("%s is offered", way)
		}
	}
	want(t, v.post(path+"/release", url.Values{"override": {"I am sure that it is nothing at all"}}), http.StatusUnprocessableEntity)
	want(t, v.post(path+"/exit", url.Values{"way": {"sell_disclosed"}, "reason": {"x"}, "disclosed": {"x"}}), http.StatusUnprocessableEntity)
	if status(t, d, lot) != holdfast.Held {
		t.Fatal("it was released")
	}
	want(t, v.post(path+"/lift", url.Values{"suspect": {"listed_disease"}}), http.StatusBadRequest)
	want(t, v.post(path+"/lift", url.Values{"suspect": {"listed_disease"}, "reason": {"Laboratory of 20 Nov: none"}}), http.StatusSeeOther)
	if a = want(t, v.get(path), http.StatusOK); len(a.All(`form[action$="/release"]`)) != 1 {
		t.Error("the gate stays shut after the suspicion was lifted")
	}
}

// A find after the release and a sale raises the alarm with who bought.
func TestLotRecalled(t *testing.T) {
	d, lot := aLot(t)
	v := serve(t, web.Config{Desk: d})
	path := "/lots/" + lot
	want(t, v.get(path+"/sell"), http.StatusOK).One(".care.stop")
	want(t, v.post(path+"/sell", url.Values{"name": {"Jo"}, "count": {"5"}}), http.StatusUnprocessableEntity)
	want(t, v.post(path+"/release", url.Values{"override": {"Agreed with the buyer by telephone"}}), http.StatusSeeOther)
	for _, bad := range []url.Values{{"count": {"5"}}, {"name": {"Jo"}}, {"name": {"Jo"}, "count": {"900"}}, {"name": {"Jo"}, "count": {"5"}, "price": {"-1"}}, {"buyer": {"b-none"}, "count": {"1"}}} {
		want(t, v.post(path+"/sell", bad), http.StatusBadRequest)
	}
	for _, page := range []string{path, path + "/record"} {
		if got := want(t, v.get(page), http.StatusOK).Says("#signed"); !strings.Contains(got, "Agreed with the buyer by telephone.") || !strings.Contains(got, "A clean look at 30") {
			t.Errorf("%s does not show who signed below the line: %s", page, got)
		}
	}
	form := want(t, v.get(path+"/sell"), http.StatusOK).fields("#sell")
	form.Set("name", "Jo <Invented>")
	form.Set("contact", "by telephone")
	form.Set("count", "5")
	form.Set("price", "3,50")
	want(t, v.post(path+"/sell", form), http.StatusSeeOther)
	seen(t, d, lot, 20, 1, "rostrum_worm")
	a := want(t, v.get(path), http.StatusOK)
	if strip := a.Says("#strips .strip.alarm .say"); !strings.Contains(strip, "Jo <Invented>") {
		t.Errorf("the alarm says %q", strip)
	}
	says(t, a, "by telephone")
	says(t, a, "Recalled")
	rec := want(t, v.get(path+"/record"), http.StatusOK)
	says(t, rec, "signs were found on 1 of 20")
	says(t, rec, "Agreed with the buyer by telephone")
	if strings.Contains(rec.body, "free of") || strings.Contains(rec.body, "Jo") {
		t.Error("the record promises freedom or names a buyer")
	}
}

// The yen has no minor unit: a price of 350 is kept and shown as 350.
func TestSaleInACurrencyWithoutMinorUnit(t *testing.T) {
	d, lot := aLot(t)
	v := serve(t, web.Config{Desk: d})
	path := "/lots/" + lot
	want(t, v.post("/settings", settled(want(t, v.get("/settings"), http.StatusOK), "currency", "jpy")), http.StatusSeeOther)
	want(t, v.post("/settings", settled(want(t, v.get("/settings"), http.StatusOK), "currency", "abc")), http.StatusBadRequest)
	want(t, v.post(path+"/release", url.Values{"override": {"Agreed with the buyer by telephone"}}), http.StatusSeeOther)
	form := want(t, v.get(path+"/sell"), http.StatusOK).fields("#sell")
	form.Set("name", "Jo")
	form.Set("count", "5")
	form.Set("price", "350")
	want(t, v.post(path+"/sell", form), http.StatusSeeOther)
	l, err := d.Lot(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	sale, ok := l.Events[len(l.Events)-1].Payload.(*holdfast.Sale)
	if !ok || sale.Price == nil || *sale.Price != (holdfast.Money{Minor: 350, Currency: "JPY"}) {
		t.Fatalf("the last entry is %+v", l.Events[len(l.Events)-1].Payload)
	}
	if a := want(t, v.get(path+"?all=1"), http.StatusOK); !strings.Contains(strings.ReplaceAll(a.body, "\u00a0", " "), "350 JPY each") {
		t.Error("the journal does not tell the price")
	}
}

func TestTreat(t *testing.T) {
	d, lot := aLot(t)
	v := serve(t, web.Config{Desk: d})
	path := "/lots/" + lot + "/treat"
	good := func(pairs ...string) url.Values {
		f := url.Values{"strength": {"50"}, "active": {"praziquantel"}, "target": {"2,5"}, "litres": {"40"}, "weighed": {"0.2"}, "hours": {"48"}, "tank": {"14"},
			"form": {"bath"}, "who": {"lot"}, "kept": {"carbon", "light", "temperature", "duration"}, "held": {"full"}, "reason": {"Given before there was a desk."}}
		for i := 0; i < len(pairs); i += 2 {
			f[pairs[i]] = []string{pairs[i+1]}
		}
		return f
	}
	before := count(t, d)
	// 2.5 mg/l in 40 l is 100 mg of the ingredient, 200 mg of a product of half.
	says(t, want(t, v.post(path, good("do", "weigh")), http.StatusOK), "Weigh out 0.2 g")
	for _, bad := range [][]string{
		{"strength", "0"}, {"strength", "101"}, {"active", ""}, {"active", "Copper sulfate"}, {"target", "2500"}, {"litres", ""}, {"weighed", "2"},
		{"hours", ""}, {"who", "trial"}, {"who", ""}, {"form", "spray"}, {"kept", "carbon"}, {"held", ""}, {"held", "void"}, {"tank", "99"}, {"reason", ""},
	} {
		a := want(t, v.post(path, good(bad...)), http.StatusBadRequest)
		if len(a.All("#treat .err")) == 0 && len(a.All("#treat [role=alert]")) == 0 {
			t.Errorf("%v: the form does not say what is wrong", bad)
		}
	}
	if count(t, d) != before {
		t.Fatal("something was recorded")
	}
	want(t, v.post(path, good("kept", "carbon", "held", "partial")), http.StatusSeeOther)
	want(t, v.post(path, good("who", "trial", "count", "4")), http.StatusSeeOther)
	l, err := d.Lot(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	var given []*holdfast.Treatment
	for _, ev := range l.Events {
		if p, ok := ev.Payload.(*holdfast.Treatment); ok {
			given = append(given, p)
		}
	}
	if len(given) != 2 || given[0].StrengthShare != 0.5 || given[0].TargetMgL != 2.5 || given[0].Held != holdfast.HeldPartial ||
		!strings.Contains(given[0].Failed, "light") || strings.Contains(given[0].Failed, "carbon") || !given[1].Trial || given[1].Count != 4 {
		t.Errorf("given %+v", given)
	}
}

// What was taken back stays on the page, struck, with who did it.
func TestLotJournal(t *testing.T) {
	d, lot := aLot(t)
	v := serve(t, web.Config{Desk: d})
	path := "/lots/" + lot
	v.post("/who", url.Values{"name": {"Jo"}})
	want(t, v.post(path+"/note", url.Values{"text": {"Written by mistake"}}), http.StatusSeeOther)
	row := want(t, v.get(path), http.StatusOK)
	undo := row.fields("#journal tbody tr:first-child form")
	want(t, v.post("/undo", undo), http.StatusSeeOther)
	a := want(t, v.get(path), http.StatusOK)
	if got := a.Says("#journal s"); got != "Written by mistake" {
		t.Errorf("struck is %q", got)
	}
	says(t, a, "Taken back by Jo on 25 Nov")
	for i := range 60 {
		if err := d.Note(t.Context(), desk.Actor{Who: "Mara"}, lot, "", fmt.Sprintf("Note %d", i)); err != nil {
			t.Fatal(err)
		}
	}
	if n := len(want(t, v.get(path), http.StatusOK).All("#journal tbody tr")); n != 40 {
		t.Errorf("%d entries at first", n)
	}
	if n := len(want(t, v.get(path+"?journal=all"), http.StatusOK).All("#journal tbody tr")); n < 62 {
		t.Errorf("%d entries in the whole journal", n)
	}
}

// The pages of the invented shop's lots, looked at in a browser.
func TestLotPagesInABrowser(t *testing.T) {
	b := webtest.New(t)
	d := newDesk(t)
	if err := demo.Seed(t.Context(), d.Store, d.Evidence, noon, nil); err != nil {
		t.Fatal(err)
	}
	d.Site = "demo"
	v := serve(t, web.Config{Desk: d})
	dir := os.Getenv("HOLDFAST_SHOTS")
	for _, s := range []holdfast.Status{holdfast.Held, holdfast.Released, holdfast.Recalled} {
		rows, _, err := d.Store.Lots(t.Context(), desk.LotQuery{Statuses: []holdfast.Status{s}, Sort: desk.ByChanceLow})
		if err != nil || len(rows) == 0 {
			t.Fatalf("no lot is %s (%v)", s, err)
		}
		lot := v.url + "/lots/" + url.PathEscape(rows[0].ID)
		b.Everywhere(lot, dir, "lot-"+string(s), nil)
		if dir != "" {
			b.Look(webtest.Phone, webtest.Light)
			b.Go(lot)
			b.Shot(dir, "lot-"+string(s)+"-phone-whole", true)
			b.Look(webtest.Laptop, webtest.Light)
			b.Go(lot)
			b.Shot(dir, "lot-"+string(s)+"-desk-whole", true)
		}
		if s == holdfast.Released {
			b.Everywhere(lot+"/record", dir, "record", nil)
			b.Everywhere(lot+"/sell", dir, "sell", nil)
		}
		if s == holdfast.Held {
			b.Everywhere(lot+"/treat", dir, "treat", nil)
		}
	}
}
