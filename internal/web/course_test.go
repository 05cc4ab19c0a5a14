package web_test

import (
	"bytes"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
)

// found is a lot in which the worm was found today.
func found(t *testing.T) (*desk.Desk, string) {
	t.Helper()
	d, lot := aLot(t)
	seen(t, d, lot, 40, 2, "rostrum_worm")
	return d, lot
}

// settledCourse asks for the page until nothing is being worked out any more.
func settledCourse(t *testing.T, v *visitor, path string) answer {
	t.Helper()
	for end := time.Now().Add(3 * time.Minute); ; time.Sleep(200 * time.Millisecond) {
		a := want(t, v.get(path), http.StatusOK)
		if len(a.All("[data-poll]")) == 0 {
			return a
		}
		if time.Now().After(end) {
			t.Fatalf("%s is still at work after three minutes", path)
		}
	}
}

// sentOn are the hidden fields of a form, those that stand in it several times
// too.
func sentOn(a answer, form string) url.Values {
	out := url.Values{}
	for _, n := range a.All(form + " input") {
		out.Add(webtest.Attr(n, "name"), webtest.Attr(n, "value"))
	}
	return out
}

func TestCoursesSideBySide(t *testing.T) {
	if testing.Short() {
		t.Skip("follows thousands of simulated lots")
	}
	d, lot := found(t)
	v := serve(t, web.Config{Desk: d, Runs: 100})
	path := "/lots/" + lot + "/course"
	first := want(t, v.get(path), http.StatusOK)
	if got := first.Says("#course-all"); got == "" {
		t.Error("the first answer is empty")
	}
	a := settledCourse(t, v, path)
	says(t, a, "Usual practice, second dose after two weeks")
	says(t, a, "Least expected cost")
	says(t, a, "The other ways out")
	says(t, a, "Repeat after 14 to 21 days")
	if n := len(a.All(".course-row")); n < 3 {
		t.Errorf("%d courses side by side", n)
	}
	if n := len(a.All(".course-rows svg")) + len(a.All(".course-row svg")); n == 0 {
		t.Error("no lanes are drawn")
	}
	if n := len(a.All("#picked figure.fig")); n != 1 {
		t.Errorf("%d lines of the picked course", n)
	}
	if !strings.Contains(a.Says("#picked"), "If eggs hatch on the animal") {
		t.Error("the answers for never and always are missing")
	}
	if n := len(a.All(`form[action$="/course"][method=post] button`)); n < 1 {
		t.Error("nothing to accept")
	}
	// Another row is shown in full when it is asked for.
	b := settledCourse(t, v, path+"?pick=practice1")
	if got := b.Says("#picked h2"); !strings.Contains(got, "practice") {
		t.Errorf("picked %q", got)
	}
}

func TestAPersonsOwnPlan(t *testing.T) {
	if testing.Short() {
		t.Skip("follows thousands of simulated lots")
	}
	d, lot := found(t)
	v := serve(t, web.Config{Desk: d, Runs: 100})
	path := "/lots/" + lot + "/course"
	day := func(n int) string { return holdfast.DayOf(holdfast.MicrosOf(noon.AddDate(0, 0, n)), time.UTC).String() }
	plan := url.Values{"own": {"1"}, "against": {"rostrum_worm"}, "treatment": {"praziquantel"}, "dose": {day(2), day(16), ""}, "pulls": {"1"}, "pull_until": {day(50)},
		"skip": {day(5), ""}, "look": {day(50), ""}, "look_n": {"30"}, "release": {day(50)}, "temp": {"25"}}
	a := settledCourse(t, v, path+"?"+plan.Encode())
	if got := a.Says("#picked h2"); got != "Your own" {
		t.Errorf("picked %q", got)
	}
	for name, n := range map[string]int{"dose": 3, "look": 2, "skip": 2} {
		if got := len(a.All(`form[data-live] input[name="` + name + `"]`)); got != n {
			t.Errorf("%d fields for %s, want the typed ones and one more (%d)", got, name, n)
		}
	}
	for field, bad := range map[string]string{"dose": "tomorrow", "release": day(-3), "pulls": "9", "look_n": "0", "temp": "99", "look": day(4), "treatment": "bleach"} {
		wrong := url.Values{}
		for k, x := range plan {
			wrong[k] = append([]string{}, x...)
		}
		wrong.Set(field, bad)
		b := want(t, v.get(path+"?"+wrong.Encode()), http.StatusBadRequest)
		if len(b.All(`form[data-live] [aria-invalid="true"]`)) == 0 {
			t.Errorf("%s=%q: nothing is marked as wrong", field, bad)
		}
		if len(b.All("#picked .care.stop")) != 1 {
			t.Errorf("%s=%q: no list of what is wrong", field, bad)
		}
	}

	// Accepting it makes its tasks; sending the form twice accepts once.
	form := sentOn(a, `form[action$="/course"][method=post]`)
	for range 2 {
		want(t, v.post(path, form), http.StatusSeeOther)
	}
	l, err := d.Lot(t.Context(), lot)
	if err != nil || l.Course == nil {
		t.Fatalf("no course was accepted: %v", err)
	}
	c := l.Course.Payload.(*holdfast.CourseAccepted)
	if len(c.Doses) != 2 || c.Doses[0].String() != day(2) || len(c.SkipPulls) != 1 || c.TempC == nil || *c.TempC != 25 || c.Promise.Clear <= 0 {
		t.Errorf("accepted %+v", c)
	}
	says(t, want(t, v.get("/lots/"+lot), http.StatusOK), "The course it is on")
	round := want(t, v.get("/round"), http.StatusOK)
	if strings.Contains(round.Says("main"), "Treat against") {
		t.Error("the round asks for a dose that the course plans for the day after tomorrow")
	}
	// The price of a miss is worked out beside the pages, once a task is due.
	now := d.Now
	d.Now = func() time.Time { return now().AddDate(0, 0, 1) }
	for end := time.Now().Add(2 * time.Minute); !strings.Contains(round.Says("main"), "Missing it"); round = want(t, v.get("/round"), http.StatusOK) {
		if time.Now().After(end) {
			t.Fatal("no price of a miss on the round")
		}
		time.Sleep(200 * time.Millisecond)
	}
	// It is stopped with a reason, and no other way.
	want(t, v.post("/lots/"+lot+"/course/stop", url.Values{}), http.StatusBadRequest)
	want(t, v.post(path+"/stop", url.Values{"reason": {"the supplier takes them back"}}), http.StatusSeeOther)
	if l, err = d.Lot(t.Context(), lot); err != nil || l.Course != nil {
		t.Errorf("stopped, and still on a course (%v)", err)
	}
}

func TestACourseThatWentOtherwise(t *testing.T) {
	if testing.Short() {
		t.Skip("follows thousands of simulated lots")
	}
	d, lot := found(t)
	v := serve(t, web.Config{Desk: d, Runs: 100})
	day := func(n int) string { return holdfast.DayOf(holdfast.MicrosOf(noon.AddDate(0, 0, n)), time.UTC).String() }
	plan := url.Values{"against": {"rostrum_worm"}, "treatment": {"praziquantel"}, "dose": {day(1), day(15)}, "pulls": {"1"}, "pull_until": {day(50)}, "look": {day(50)}, "look_n": {"30"}, "release": {day(50)}}
	want(t, v.post("/lots/"+lot+"/course", plan), http.StatusSeeOther)
	now := d.Now
	d.Now = func() time.Time { return now().AddDate(0, 0, 4) } // nobody gave the dose
	var a answer
	for end := time.Now().Add(2 * time.Minute); ; time.Sleep(200 * time.Millisecond) {
		a = want(t, v.get("/lots/"+lot), http.StatusOK)
		if len(a.All(`.care form[action$="/course"]`)) == 1 || time.Now().After(end) {
			break
		}
	}
	says(t, a, "has not been given")
	says(t, a, "Planned anew")
	want(t, v.post("/lots/"+lot+"/course", sentOn(a, `.care form[action$="/course"]`)), http.StatusSeeOther)
	l, err := d.Lot(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	c := l.Course.Payload.(*holdfast.CourseAccepted)
	if c.Doses[0].String() != day(4) || !strings.Contains(c.Because, "has not been given") || c.Replaces == "" {
		t.Errorf("accepted %+v", c)
	}
	if a = want(t, v.get("/lots/"+lot), http.StatusOK); strings.Contains(a.Says("main"), "What happened is not what was planned") {
		t.Error("planned anew, and the notice still stands")
	}
}

func TestBeliefs(t *testing.T) {
	if testing.Short() {
		t.Skip("follows thousands of simulated lots")
	}
	d, _ := found(t)
	v := serve(t, web.Config{Desk: d, Runs: 100})
	const path = "/beliefs/rostrum_worm"
	want(t, v.get("/beliefs/nothing"), http.StatusNotFound)
	want(t, v.post("/beliefs/nothing", url.Values{}), http.StatusNotFound)
	want(t, v.get("/beliefs/nothing/file"), http.StatusNotFound)
	a := want(t, v.get(path), http.StatusOK)
	if n := len(a.All(".beliefs li")); n < 35 {
		t.Errorf("%d figures", n)
	}
	for name, bad := range map[string][2]string{"MoultMean": {"30", "20"}, "Stay": {"0.2", "1.5"}, "HOn": {"", "0.5"}, "Lay": {"NaN", "1"}, "praziquantel": {"-1", "1"}} {
		b := want(t, v.post(path, url.Values{"do": {"keep"}, "lo-" + name: {bad[0]}, "hi-" + name: {bad[1]}}), http.StatusBadRequest)
		if len(b.All(`.beliefs [aria-invalid="true"]`)) == 0 {
			t.Errorf("%s from %q to %q: nothing is marked as wrong", name, bad[0], bad[1])
		}
	}
	form := url.Values{"lo-praziquantel": {"0.98"}, "hi-praziquantel": {"0.995"}, "lo-HOn": {"0"}, "hi-HOn": {"0"}}
	form.Set("do", "try")
	want(t, v.post(path, form), http.StatusOK)
	if s, err := d.Settings(t.Context()); err != nil || len(s.Beliefs) != 0 {
		t.Errorf("trying kept something: %+v, %v", s.Beliefs, err)
	}
	form.Set("do", "keep")
	want(t, v.post(path, form), http.StatusSeeOther)
	s, err := d.Settings(t.Context())
	if got := s.Beliefs["rostrum_worm"].Figures; err != nil || got["praziquantel"].High != 0.995 || len(got) != 2 {
		t.Errorf("kept %+v, %v", got, err)
	}
	shown := settledCourse(t, v, path)
	rows := shown.All("#belief-means tbody tr")
	if len(rows) != 2 || webtest.Text(rows[0]) == webtest.Text(rows[1]) {
		t.Errorf("the consequence is not shown beside the program's: %s", shown.Says("#belief-means"))
	}
	file := want(t, v.get(path+"/file"), http.StatusOK)
	for name, content := range map[string]string{"not JSON": "x", "empty": "", "of another condition": strings.Replace(file.body, `"rostrum_worm"`, `"ciliates"`, 1),
		"a figure missing": strings.Replace(file.body, `"MoultMean"`, `"MoultMeant"`, 1), "too large": strings.Repeat(" ", 70000)} {
		b := want(t, v.upload(path+"/file", content), http.StatusBadRequest)
		if len(b.All("#file-err")) != 1 {
			t.Errorf("%s: no fault at the file", name)
		}
	}
	changed := strings.Replace(file.body, `"MoultMean": {"kind": "ln", "median": 25.18333`, `"MoultMean": {"kind": "ln", "median": 20`, 1)
	if changed == file.body {
		t.Fatal("the data file has changed its form")
	}
	want(t, v.upload(path+"/file", changed), http.StatusSeeOther)
	if s, err = d.Settings(t.Context()); err != nil || len(s.Beliefs["rostrum_worm"].File) == 0 || len(s.Beliefs["rostrum_worm"].Figures) != 0 {
		t.Errorf("a file takes the place of everything: %+v, %v", s.Beliefs, err)
	}
	want(t, v.post(path, url.Values{"do": {"reset"}}), http.StatusSeeOther)
	if s, err = d.Settings(t.Context()); err != nil || len(s.Beliefs["rostrum_worm"].File) != 0 {
		t.Errorf("not back to the program's: %+v, %v", s.Beliefs, err)
	}
}

// upload sends a file as a browser does.
func (v *visitor) upload(path, content string) answer {
	v.t.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	part, err := w.CreateFormFile("file", "condition.json")
	if err != nil {
		v.t.Fatal(err)
	}
	_, _ = part.Write([]byte(content))
	_ = w.Close()
	r := v.request("POST", path, &body)
	r.Header.Set("Content-Type", w.FormDataContentType())
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return v.do(r)
}

func TestCourseMoney(t *testing.T) {
	d, lot := found(t)
	v := serve(t, web.Config{Desk: d, Runs: 100})
	path := "/lots/" + lot + "/course"
	form := want(t, v.get(path), http.StatusOK).fields("#money")
	for field, bad := range map[string]string{"dose_cost": "", "loss": "-1", "pull": "NaN", "horizon": "5", "look_animals": "0", "sale": strings.Repeat("9", 40)} {
		wrong := url.Values{}
		for k, x := range form {
			wrong[k] = x
		}
		wrong.Set(field, bad)
		a := want(t, v.post(path+"/money", wrong), http.StatusBadRequest)
		if webtest.Attr(a.One("#money-"+field), "value") != bad {
			t.Errorf("%s: what was typed is gone", field)
		}
		a.One("#money-" + field + "-err")
	}
	holds := func(when, cost string) {
		t.Helper()
		if got := webtest.Attr(want(t, v.get(path), http.StatusOK).One("#money-dose_cost"), "value"); got != cost {
			t.Errorf("%s: a dose costs %q, want %q", when, got, cost)
		}
	}
	guessed := form.Get("dose_cost")
	form.Set("dose_cost", "12,50")
	for range 2 { // also when it is sent twice
		want(t, v.post(path+"/money", form), http.StatusSeeOther)
	}
	holds("kept", "12.5")
	shop, err := d.Settings(t.Context())
	if err != nil || shop.Costs == nil || shop.Costs.Dose != 1250 || shop.Costs.Currency != shop.Currency {
		t.Fatalf("in the journal: %+v (%v)", shop.Costs, err)
	}
	want(t, v.post("/undo", url.Values{"entry": {form.Get("id")}, "back": {path}}), http.StatusSeeOther)
	holds("taken back", guessed)
	again := want(t, v.get(path), http.StatusOK).fields("#money")
	again.Set("dose_cost", "7")
	want(t, v.post(path+"/money", again), http.StatusSeeOther)
	shop.Currency = "JPY" // amounts of another currency are none of this one
	if err := d.SetShop(t.Context(), desk.Actor{Who: "Mara"}, shop); err != nil {
		t.Fatal(err)
	}
	says(t, want(t, v.get(path), http.StatusOK), "the shop now works in JPY")
}

func TestCourseThatCannotBe(t *testing.T) {
	v := serve(t, web.Config{})
	want(t, v.get("/lots/none/course"), http.StatusNotFound)
	for _, path := range []string{"", "/stop", "/cancel", "/money"} {
		want(t, v.post("/lots/none/course"+path, url.Values{}), http.StatusNotFound)
	}
	d, lot := found(t)
	v = serve(t, web.Config{Desk: d, Runs: 100})
	want(t, v.post("/lots/"+lot+"/course", url.Values{}), http.StatusBadRequest)
	want(t, v.post("/lots/"+lot+"/course", url.Values{"release": {strings.Repeat("x", 100000)}, "pulls": {"-1"}, "dose": {"0000-00-00"}}), http.StatusBadRequest)
	// A search that is stopped says so and can be begun anew.
	want(t, v.get("/lots/"+lot+"/course"), http.StatusOK)
	want(t, v.post("/lots/"+lot+"/course/cancel", url.Values{}), http.StatusSeeOther)
	if err := d.Exit(t.Context(), desk.Actor{Who: "Mara"}, lot, holdfast.Exit{Way: holdfast.ExitPutDown, Reason: "too many losses"}); err != nil {
		t.Fatal(err)
	}
	says(t, want(t, v.get("/lots/"+lot+"/course"), http.StatusOK), "The lot is closed")
}
