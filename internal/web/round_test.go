package web_test

import (
	"net/http"
	"net/url"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
)

// roundDesk is a desk with two lots on hold in tanks 1 and 2, received
// yesterday: the first looks are due and yesterday's pulls are missing.
func roundDesk(t *testing.T) (d *desk.Desk, lots []string) {
	t.Helper()
	d = newDesk(t)
	d.Now = func() time.Time { return noon.AddDate(0, 0, -1) }
	mara := desk.Actor{Who: "Mara"}
	for i, id := range []string{"1", "2"} {
		if _, err := d.SetTank(t.Context(), mara, desk.TankForm{ID: id, Use: "quarantine", Place: i, Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}}); err != nil {
			t.Fatal(err)
		}
	}
	_, lots, err := d.Receive(t.Context(), mara, desk.Arrival{Supplier: "Invented Farm", Boxes: 1, Lines: []desk.ArrivalLine{
		{Strain: "Blue velvet", Declared: 50, Tank: "1"}, {Strain: "Orange rili", Declared: 40, Tank: "2"}}})
	if err != nil {
		t.Fatal(err)
	}
	d.Now = func() time.Time { return noon }
	return d, lots
}

// fresh are the hidden fields of the form of a task.
func fresh(t *testing.T, a answer, task string) url.Values {
	t.Helper()
	for _, f := range a.All("form.job") {
		v := url.Values{}
		for _, n := range (answer{Document: webtest.Part(t, f)}).All("input[type=hidden]") {
			v.Set(webtest.Attr(n, "name"), webtest.Attr(n, "value"))
		}
		if strings.HasPrefix(v.Get("task"), task) {
			return v
		}
	}
	t.Fatalf("no open task %s", task)
	return nil
}

func with(v url.Values, pairs ...string) url.Values {
	out := url.Values{}
	for k, x := range v {
		out[k] = x
	}
	for i := 0; i < len(pairs); i += 2 {
		out.Set(pairs[i], pairs[i+1])
	}
	return out
}

// entries counts what the journal holds.
func entries(t *testing.T, d *desk.Desk) int {
	t.Helper()
	n := 0
	if err := d.Store.Each(t.Context(), 0, func(holdfast.Entry) error { n++; return nil }); err != nil {
		t.Fatal(err)
	}
	return n
}

func TestRoundWithNothingToDo(t *testing.T) {
	d := newDesk(t)
	v := serve(t, web.Config{Desk: d})
	a := want(t, v.get("/round"), http.StatusOK)
	a.One(`main a.b[href="/tanks/new"]`)
	a.One(`main a.b[href="/receive"]`)
	if _, err := d.SetTank(t.Context(), desk.Actor{Who: "Mara"}, desk.TankForm{ID: "1", Use: "quarantine", Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}}); err != nil {
		t.Fatal(err)
	}
	a = want(t, v.get("/round"), http.StatusOK)
	a.One(`main a.b.main[href="/receive"]`)
	if n := len(a.All("form.job")); n != 0 {
		t.Errorf("%d tasks in a room without animals", n)
	}
}

func TestRoundShowsEachTask(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	a := want(t, v.get("/round"), http.StatusOK)
	if got := a.Says(".top h1+p"); got != "8 of 8 left. 4 late." {
		t.Errorf("the head says %q", got)
	}
	for _, task := range []string{"pull/" + lots[0], "dead/" + lots[1], "water/1", "look/" + lots[0]} {
		fresh(t, a, task)
	}
	if n := len(a.All("#late a")); n != 4 {
		t.Errorf("%d late ones listed, want 4", n)
	}
	ids := map[string]bool{}
	for _, n := range a.All("[id]") {
		id := webtest.Attr(n, "id")
		if ids[id] {
			t.Errorf("id %q stands twice", id)
		}
		ids[id] = true
	}
	for _, n := range a.All(`main a[href^="#"]`) {
		if to := webtest.Attr(n, "href")[1:]; !ids[to] {
			t.Errorf("a link leads to %q, which is not there", to)
		}
	}
	if n := len(a.All(`a[href^="/lots/` + lots[0] + `/look?tank=1&task=look%2F` + lots[0] + `"]`)); n != 1 {
		t.Errorf("%d links to the look", n)
	}
	if got := a.Says("#tomorrow"); !strings.Contains(got, "2 moults to pull, 2 looks for dead") {
		t.Errorf("tomorrow: %q", got)
	}
}

// The enter key presses the first button of a form: on no row may that say
// something that was not typed.
func TestEnterTicks(t *testing.T) {
	d, _ := roundDesk(t)
	a := serve(t, web.Config{Desk: d}).get("/round")
	forms := a.All("form.job")
	if len(forms) != 8 {
		t.Fatalf("%d rows, want 8", len(forms))
	}
	for _, f := range forms {
		part := webtest.Part(t, f)
		first := part.All("button[type=submit]")[0]
		want := "tick"
		if len(part.All("a.b")) > 0 {
			want = "skip" // which needs a reason
		}
		if got := webtest.Attr(first, "value"); got != want {
			t.Errorf("%s: enter does %q, want %q", webtest.Attr(f, "id"), got, want)
		}
	}
}

func TestTickOnceInTwoTabs(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	v.post("/who", url.Values{"name": {"Jo"}})
	one, two := v.get("/round"), v.get("/round")
	pull := with(fresh(t, one, "pull/"+lots[0]), "do", "tick", "count", "6")
	before := entries(t, d)
	to := want(t, v.post("/round/tick", pull), http.StatusSeeOther).Header.Get("Location")
	want(t, v.post("/round/tick", pull), http.StatusSeeOther) // sent twice
	a := want(t, v.get(to), http.StatusOK)
	if got := a.Says("#strips .say"); got != "Recorded. Tank 1: Pulled 6 moults." {
		t.Errorf("the strip says %q", got)
	}
	if got := a.Says(".job.done small"); got != "Jo, 12:00. Pulled 6 moults." && got != "Jo, 13:00. Pulled 6 moults." {
		t.Errorf("the row says %q", got)
	}
	// The other tab has the same job on an old page: the same tick is taken as
	// done, another count is refused with both in sight.
	other := fresh(t, two, "pull/"+lots[0])
	want(t, v.post("/round/tick", with(other, "do", "tick", "count", "6")), http.StatusSeeOther)
	a = want(t, v.post("/round/tick", with(other, "do", "tick", "count", "9")), http.StatusConflict)
	if got := a.Says("#strips .say"); !strings.Contains(got, "Jo was there first. Pulled 6 moults. What you sent was not added: Pulled 9 moults.") {
		t.Errorf("the strip says %q", got)
	}
	if n := entries(t, d) - before; n != 1 {
		t.Errorf("%d entries, want 1", n)
	}
	undo := url.Values{}
	for _, n := range v.get("/round").All(".job.done form input") {
		undo.Set(webtest.Attr(n, "name"), webtest.Attr(n, "value"))
	}
	want(t, v.post("/undo", undo), http.StatusSeeOther)
	fresh(t, v.get("/round"), "pull/"+lots[0])
}

func TestTickedTwiceOffersBoth(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	task := fresh(t, v.get("/round"), "dead/"+lots[0]).Get("task")
	for i, who := range []string{"Mara", "Jo"} { // two phones that sent later
		if err := d.Dead(t.Context(), desk.Actor{Who: who, At: noon.Add(time.Duration(i) * time.Minute)}, lots[0], "1", i+1, "", task); err != nil {
			t.Fatal(err)
		}
	}
	a := v.get("/round")
	if n := len(a.All(".twice form")); n != 2 {
		t.Fatalf("%d ways to undo, want 2", n)
	}
	if got := a.Says(".twice"); !strings.Contains(got, "Undo Mara’s") || !strings.Contains(got, "2 dead") {
		t.Errorf("it says %q", got)
	}
	undo := url.Values{}
	for _, n := range a.All(".twice form:last-child input") {
		undo.Set(webtest.Attr(n, "name"), webtest.Attr(n, "value"))
	}
	want(t, v.post("/undo", undo), http.StatusSeeOther)
	if l, err := d.Lot(t.Context(), lots[0]); err != nil || l.Deaths != 1 {
		t.Errorf("%d dead after taking the second back, want 1 (%v)", l.Deaths, err)
	}
}

func TestNoneDeadInTheRest(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	a := v.get("/round")
	none := a.fields("form.none")
	want(t, v.post("/round/tick", with(fresh(t, a, "dead/"+lots[0]), "do", "tick", "count", "2", "note", "pale")), http.StatusSeeOther)
	before := entries(t, d)
	want(t, v.post("/round/none-dead", with(none, "of", "0")), http.StatusBadRequest)
	want(t, v.post("/round/none-dead", with(none, "day", "2026-11-24")), http.StatusConflict)
	if entries(t, d) != before {
		t.Error("a refused form wrote something")
	}
	to := want(t, v.post("/round/none-dead", none), http.StatusSeeOther).Header.Get("Location")
	want(t, v.post("/round/none-dead", none), http.StatusSeeOther)
	if n := entries(t, d) - before; n != 1 {
		t.Errorf("%d entries, want 1 for the one tank left", n)
	}
	shown := want(t, v.get(to), http.StatusOK)
	if got := shown.Says("#strips .strip:first-child .say"); got != "Recorded. Tank 2: Looked for dead: none." {
		t.Errorf("the strip says %q", got)
	}
	if l, err := d.Lot(t.Context(), lots[0]); err != nil || l.Deaths != 2 {
		t.Errorf("lot 1 has %d dead, want 2 (%v)", l.Deaths, err)
	}
	// More tanks wait than the page showed: nobody looked at them.
	_, err := d.SetTank(t.Context(), desk.Actor{Who: "Mara"}, desk.TankForm{ID: "3", Use: "quarantine", Place: 3, Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}})
	if err != nil {
		t.Fatal(err)
	}
	for _, strain := range []string{"Amano", "Red cherry", "Yellow neon"} {
		if _, _, err := d.Receive(t.Context(), desk.Actor{Who: "Mara"}, desk.Arrival{Supplier: "Invented Farm", Boxes: 1, Lines: []desk.ArrivalLine{{Strain: strain, Declared: 20, Tank: "3"}}}); err != nil {
			t.Fatal(err)
		}
	}
	want(t, v.post("/round/none-dead", none), http.StatusConflict)
}

func TestWrongInputOnTheRound(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	a := v.get("/round")
	before := entries(t, d)
	for _, c := range []struct{ task, path, field, value, do, wrong string }{
		{"dead/" + lots[0], "/round/tick", "count", "", "tick", "count"},
		{"dead/" + lots[0], "/round/tick", "count", "-1", "tick", "count"},
		{"dead/" + lots[0], "/round/tick", "count", "3", "none", "count"},
		{"pull/" + lots[0], "/round/tick", "count", "seven", "tick", "count"},
		{"pull/" + lots[0], "/round/tick", "count", "3", "none", "count"},
		{"pull/" + lots[0], "/round/tick", "note", " ", "skip", "note"},
		{"pull/" + lots[0], "/round/tick", "note", strings.Repeat("x", 501), "skip", "note"},
		{"look/" + lots[0], "/round/skip", "note", "", "", "note"},
		{"look/" + lots[0], "/round/tick", "note", "", "tick", "note"},
		{"water/1", "/round/tick", "ph", "74", "tick", "ph"},
		{"water/1", "/round/tick", "ph", "", "tick", "temp_c"},
	} {
		f := with(fresh(t, a, c.task), "do", c.do, c.field, c.value)
		b := want(t, v.post(c.path, f), http.StatusBadRequest)
		n := b.One("main [aria-invalid=true]")
		id := strings.ReplaceAll(f.Get("task"), "/", "~") + "~" + c.wrong
		if webtest.Attr(n, "id") != id {
			t.Errorf("%+v: the fault stands at %q, want %q", c, webtest.Attr(n, "id"), id)
		}
		if got := webtest.Attr(n, "value") + webtest.Text(n); c.wrong == c.field && strings.TrimSpace(got) != strings.TrimSpace(c.value) {
			t.Errorf("%+v: what was typed became %q", c, got)
		}
	}
	want(t, v.post("/round/tick", url.Values{}), http.StatusBadRequest)
	pull := fresh(t, a, "pull/"+lots[0])
	want(t, v.post("/round/tick", with(pull, "task", "pull/"+lots[0]+"/1/2026-11-24")), http.StatusConflict)
	if n := entries(t, d) - before; n != 0 {
		t.Errorf("wrong input wrote %d entries", n)
	}
	want(t, v.post("/round/tick", with(pull, "do", "skip", "note", "net is out")), http.StatusSeeOther)
	want(t, v.post("/round/tick", with(fresh(t, a, "water/1"), "do", "tick", "ph", "7,4", "temp_c", "24.1 °C")), http.StatusSeeOther)
	if got := v.get("/round").Says("#tank\\~1"); !strings.Contains(got, "Skipped: net is out.") || !strings.Contains(got, "pH 7.4") {
		t.Errorf("the tank says %q", got)
	}
}

// A helper with wet hands: every row is big enough to press, a tick and a
// fault keep the page where it is.
func TestRoundInABrowser(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	b := webtest.New(t)
	b.Everywhere(v.url+"/round", os.Getenv("HOLDFAST_SHOTS"), "round", nil)
	b.Look(webtest.Phone, webtest.Light)
	b.Go(v.url + "/round")
	webtest.Eval[bool](b, `[...document.querySelectorAll("details")].every((e) => (e.open = true))`)
	b.Axe("unfolded")
	b.Targets("unfolded")
	b.NoSideScroll("unfolded")
	dead := `form[id^="dead~` + lots[0] + `"]`
	pull := `form[id^="pull~` + lots[0] + `"] input[name=count]`
	b.Type(pull, "12") // counted, and not sent yet
	b.Click(dead + ` .end button[value=tick]`)
	for range 100 { // the answer comes in the background
		if b.Text(dead+" .err") != "" {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if got := b.Text(dead + " .err"); !strings.HasPrefix(got, "Say how many are dead.") {
		t.Errorf("the fault says %q", got)
	}
	b.Axe("fault")
	b.Complaints() // the browser calls the answer 400 an error of the page
	b.Type(dead+` input[name=count]`, "3\r")
	for range 100 {
		if b.Text(".job.done") != "" {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	if got := b.Text(".job.done .what small"); !strings.HasSuffix(got, "3 dead.") {
		t.Errorf("after 3 and the enter key the row says %q", got)
	}
	if got := webtest.Eval[string](b, "document.querySelector(`"+pull+"`).value"); got != "12" {
		t.Errorf("the moults counted in another row became %q", got)
	}
	b.Quiet("ticked")
}

// One press takes a whole section's "none dead" back, and another puts it there
// again.
func TestNoneDeadIsTakenBackInOnePress(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	for _, id := range []string{"4", "5"} { // two more tanks in the section
		if _, err := d.SetTank(t.Context(), desk.Actor{Who: "Mara"}, desk.TankForm{ID: id, Use: "quarantine", Place: 3, Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}}); err != nil {
			t.Fatal(err)
		}
		if _, _, err := d.Receive(t.Context(), desk.Actor{Who: "Mara"}, desk.Arrival{Supplier: "Invented Farm", Boxes: 1, Lines: []desk.ArrivalLine{{Strain: "Amano", Declared: 20, Tank: id}}}); err != nil {
			t.Fatal(err)
		}
	}
	looked := func() int {
		t.Helper()
		rows, _, err := d.Store.Lots(t.Context(), desk.LotQuery{})
		if err != nil {
			t.Fatal(err)
		}
		n := 0
		for _, r := range rows {
			l, err := d.Lot(t.Context(), r.ID)
			if err != nil {
				t.Fatal(err)
			}
			for task := range l.Ticks {
				if strings.HasPrefix(task, "dead/") {
					n++
				}
			}
		}
		return n
	}
	before := looked()
	to := want(t, v.post("/round/none-dead", v.get("/round").fields("form.none")), http.StatusSeeOther).Header.Get("Location")
	all := looked()
	if all < before+3 {
		t.Fatalf("%d tanks looked at, %d before; want at least three more (%v)", all, before, lots)
	}
	a := want(t, v.get(to), http.StatusOK)
	if got := a.Says("#strips .strip:first-child .say"); !strings.Contains(got, "tanks: none.") {
		t.Errorf("the strip says %q", got)
	}
	back := want(t, v.post("/undo", a.fields("#strips form")), http.StatusSeeOther).Header.Get("Location")
	if n := looked(); n != before {
		t.Errorf("taken back, %d tanks count as looked at, want %d", n, before)
	}
	want(t, v.post("/undo", want(t, v.get(back), http.StatusOK).fields("#strips form")), http.StatusSeeOther)
	if n := looked(); n != all {
		t.Errorf("put back, %d tanks count as looked at, want %d", n, all)
	}
}

// More dead than alive is taken, and said at once where it was entered.
func TestMoreDeadThanAliveIsSaid(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	a := v.get("/round")
	to := want(t, v.post("/round/tick", with(fresh(t, a, "dead/"+lots[0]), "do", "tick", "count", "5000")), http.StatusSeeOther).Header.Get("Location")
	shown := want(t, v.get(to), http.StatusOK)
	said := ""
	for _, n := range shown.All("#strips .say") {
		said += webtest.Text(n) + "\n"
	}
	if !strings.Contains(said, "That does not fit. 5000 dead, though only") {
		t.Errorf("the strips say %q", said)
	}
	if l, err := d.Lot(t.Context(), lots[0]); err != nil || l.Deaths != 5000 {
		t.Errorf("%d dead were kept, want 5000 as entered (%v)", l.Deaths, err)
	}
}

// Whoever has not said a name is asked after the first entry, and not again.
func TestANameIsAskedForOnce(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	asks := func(task string) bool {
		t.Helper()
		f := with(fresh(t, v.get("/round"), task), "do", "tick", "count", "0")
		to := want(t, v.post("/round/tick", f), http.StatusSeeOther).Header.Get("Location")
		return len(want(t, v.get(to), http.StatusOK).All(`#strips a[href^="/who"]`)) > 0
	}
	if !asks("dead/" + lots[0]) {
		t.Error("nobody is asked for a name")
	}
	if asks("pull/" + lots[0]) {
		t.Error("a name is asked for twice")
	}
}

// Many tabs and phones tick the same job at the same moment, each with a number
// of its own: one is taken, the others are told, and nothing counts twice.
func TestOneTickOfManyAtOnce(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	const tabs = 8
	forms := make([]url.Values, tabs)
	for i := range forms {
		forms[i] = with(fresh(t, v.get("/round"), "dead/"+lots[0]), "do", "tick", "count", "3")
	}
	before := entries(t, d)
	statuses := make(chan int, 2*tabs)
	var all sync.WaitGroup
	for _, f := range forms {
		for range 2 { // each pressed twice
			all.Go(func() {
				r, err := http.NewRequest("POST", v.url+"/round/tick", strings.NewReader(f.Encode()))
				if err != nil {
					t.Error(err)
					return
				}
				r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				r.Header.Set("Sec-Fetch-Site", "same-origin")
				resp, err := v.client.Do(r)
				if err != nil {
					t.Error(err)
					return
				}
				_ = resp.Body.Close()
				statuses <- resp.StatusCode
			})
		}
	}
	all.Wait()
	close(statuses)
	for s := range statuses {
		if s != http.StatusSeeOther && s != http.StatusConflict {
			t.Errorf("status %d", s)
		}
	}
	if n := entries(t, d) - before; n != 1 {
		t.Errorf("%d entries were written, want 1", n)
	}
	if l, err := d.Lot(t.Context(), lots[0]); err != nil || l.Deaths != 3 || len(l.Contradictions) != 0 {
		t.Errorf("%d dead and %d contradictions, want 3 and none (%v)", l.Deaths, len(l.Contradictions), err)
	}
}
