package web_test

import (
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
)

// sent is a form's hidden fields with what a person typed.
func (a answer) sent(form string, typed ...string) url.Values {
	v := url.Values{}
	for _, n := range a.All(form + ` input[type="hidden"]`) {
		v.Set(webtest.Attr(n, "name"), webtest.Attr(n, "value"))
	}
	for i := 0; i < len(typed); i += 2 {
		v.Add(typed[i], typed[i+1])
	}
	return v
}

func TestTanksOfAnEmptyShop(t *testing.T) {
	a := want(t, serve(t, web.Config{}).get("/tanks"), http.StatusOK)
	a.One(`main .empty a[href="/tanks/new"]`)
	a.One(`main a[href="/settings"]`)
}

// A tank of each shape can be measured; the litres are length times width
// times height of the water and the like, from elementary geometry.
func TestEveryShapeOfTank(t *testing.T) {
	v := serve(t, web.Config{})
	for i, c := range []struct {
		shape  string
		typed  []string
		litres string
	}{
		{"box", []string{"length_cm", "60", "width_cm", "30", "fill_cm", "30", "height_cm", "36"}, "54"},
		{"bow_front", []string{"length_cm", "60", "width_cm", "30", "bow_cm", "10", "fill_cm", "30"}, ""},
		{"cylinder", []string{"diameter_cm", "20", "fill_cm", "10"}, "3.1"},
		{"corner", []string{"length_cm", "50", "fill_cm", "20"}, "25"},
		{"hexagon", []string{"side_cm", "20", "fill_cm", "30"}, "31.2"},
		{"known_fill", []string{"known_fill_l", "98,5"}, "98.5"},
	} {
		id := string(rune('a' + i))
		form := want(t, v.get("/tanks/new?shape="+c.shape), http.StatusOK)
		for name := 0; name < len(c.typed); name += 2 {
			form.One("#" + c.typed[name])
		}
		if c.shape == "known_fill" && len(form.All("#length_cm")) != 0 {
			t.Error("counted litres ask for a length")
		}
		a := want(t, v.post("/tanks/new", form.sent("main form", append(c.typed, "tank", id, "use", "quarantine")...)), http.StatusSeeOther)
		if got := a.Header.Get("Location"); !strings.HasPrefix(got, "/tanks/"+id+"?did=") {
			t.Fatalf("%s leads to %q", c.shape, got)
		}
		page := want(t, v.get("/tanks/"+id), http.StatusOK)
		if got := webtest.Text(page.One(".numbers")); c.litres != "" && !strings.HasPrefix(got, c.litres+" ") && !strings.HasPrefix(got, c.litres+"litres") {
			t.Errorf("%s: %q, want %s litres", c.shape, got, c.litres)
		}
		edit := want(t, v.get("/tanks/"+id+"/edit"), http.StatusOK)
		if got := webtest.Attr(edit.One("#"+c.typed[0]), "value"); got != strings.Replace(c.typed[1], ",", ".", 1) {
			t.Errorf("%s: the form comes back with %q", c.shape, got)
		}
	}
	if n := len(v.get("/tanks").All("a.pane")); n != 6 {
		t.Errorf("the room shows %d tanks, want 6", n)
	}
}

func TestWrongTanksKeepWhatWasTyped(t *testing.T) {
	d, _ := stocked(t, 1)
	v := serve(t, web.Config{Desk: d})
	form := v.get("/tanks/new")
	for name, c := range map[string]struct {
		typed []string
		field string
	}{
		"no length":      {[]string{"tank", "9", "use", "sale", "width_cm", "30", "fill_cm", "30"}, "length_cm"},
		"not a number":   {[]string{"tank", "9", "use", "sale", "length_cm", "long", "width_cm", "30", "fill_cm", "30"}, "length_cm"},
		"taken already":  {[]string{"tank", "14", "use", "sale", "length_cm", "60", "width_cm", "30", "fill_cm", "30"}, "tank"},
		"called new":     {[]string{"tank", "new", "use", "sale", "length_cm", "60", "width_cm", "30", "fill_cm", "30"}, "tank"},
		"no name":        {[]string{"use", "sale", "length_cm", "60", "width_cm", "30", "fill_cm", "30"}, "tank"},
		"shared water":   {[]string{"tank", "9", "system", "rack a!", "use", "sale", "length_cm", "60", "width_cm", "30", "fill_cm", "30"}, "system"},
		"outside, glass": {[]string{"tank", "9", "use", "sale", "is", "outside", "length_cm", "60", "width_cm", "30", "fill_cm", "30"}, "glass_mm"},
	} {
		a := want(t, v.post("/tanks/new", form.sent("main form", c.typed...)), http.StatusBadRequest)
		if n := a.All("#" + c.field + "-err"); len(n) != 1 {
			t.Errorf("%s: no fault at %s", name, c.field)
		}
		if got := webtest.Attr(a.One("#width_cm"), "value"); got != "30" {
			t.Errorf("%s: the width came back as %q", name, got)
		}
	}
	if n := len(v.get("/tanks").All("a.pane")); n != 1 {
		t.Errorf("%d tanks after wrong forms, want 1", n)
	}
	// A tank with animals in it stays in use.
	edit := v.get("/tanks/14/edit")
	a := want(t, v.post("/tanks/14/edit", edit.sent("main form", "use", "quarantine", "known_fill_l", "50", "is", "closed")), http.StatusBadRequest)
	a.One("#is-err")
	want(t, v.get("/tanks/nowhere"), http.StatusNotFound)
	want(t, v.get("/tanks/nowhere/edit"), http.StatusNotFound)
	want(t, v.post("/tanks/nowhere", url.Values{"do": {"note"}, "note": {"x"}}), http.StatusNotFound)
}

func TestATankSentTwiceIsOneTank(t *testing.T) {
	v := serve(t, web.Config{Desk: ticking(newDesk(t))})
	form := v.get("/tanks/new?shape=known_fill").sent("main form", "tank", "5", "use", "sale", "known_fill_l", "40")
	for range 2 {
		want(t, v.post("/tanks/new", form), http.StatusSeeOther)
	}
	if n := len(v.get("/tanks/5").All("#journal tbody tr")); n != 1 {
		t.Errorf("%d entries, want 1", n)
	}
	edit := v.get("/tanks/5/edit")
	want(t, v.post("/tanks/5/edit", edit.sent("main form", "use", "sale", "known_fill_l", "40", "is", "closed")), http.StatusSeeOther)
	if n := len(v.get("/tanks").All("a.pane")); n != 0 {
		t.Error("a tank out of use stands in the room")
	}
	want(t, v.get("/tanks/5"), http.StatusOK)
}

func TestWritingDownAboutATank(t *testing.T) {
	d, lots := stocked(t, 1)
	v := serve(t, web.Config{Desk: d})
	page := want(t, v.get("/tanks/14"), http.StatusOK)
	page.One(`#lots a[href="/lots/` + lots[0] + `"]`)
	do := func(what string, typed ...string) answer {
		t.Helper()
		for i, n := range page.All(`#write form input[name="do"]`) {
			if webtest.Attr(n, "value") == what {
				id := webtest.Attr(page.All(`#write form input[name="id"]`)[i], "value")
				form := url.Values{"do": {what}, "id": {id}}
				for k := 0; k < len(typed); k += 2 {
					form.Set(typed[k], typed[k+1])
				}
				return v.post("/tanks/14", form)
			}
		}
		t.Fatalf("no form does %q", what)
		return answer{}
	}
	want(t, do("change", "litres", "12,5"), http.StatusSeeOther)
	want(t, do("topup", "litres", "2"), http.StatusSeeOther)
	want(t, do("measure", "temp_c", "22.5", "ph", "6,8"), http.StatusSeeOther)
	want(t, do("alarm", "what", "air"), http.StatusSeeOther)
	want(t, do("note", "note", "New <sponge> in."), http.StatusSeeOther)
	page = want(t, v.get("/tanks/14"), http.StatusOK)
	journal := webtest.Text(page.One("#journal"))
	for _, say := range []string{"12.5", "Topped up", "22.5", "Alarm: air", "New <sponge> in."} {
		if !strings.Contains(journal, say) {
			t.Errorf("the journal does not say %q", say)
		}
	}
	if alarm := webtest.Text(page.One("[role=alert]")); !strings.Contains(alarm, "Lift water with a cup") {
		t.Errorf("beside the alarm stands %q, not what to do", alarm)
	}
	if n := len(v.get("/tanks").All("main p.care.stop")); n != 1 {
		t.Errorf("the room shows %d alarms, want 1", n)
	}
	for what, typed := range map[string][]string{
		"change": {"litres", ""}, "topup": {"litres", "much"}, "measure": {"ph", "74"}, "alarm": {"what", "cat"}, "note": {"note", " "},
	} {
		a := want(t, do(what, typed...), http.StatusBadRequest)
		if n := len(a.All("#write details[open]")); n != 1 {
			t.Errorf("%s: %d forms open after a fault, want 1", what, n)
		}
		if len(a.All("#write .err")) != 1 {
			t.Errorf("%s: no fault at its field", what)
		}
	}
	want(t, do("measure"), http.StatusBadRequest)
	want(t, do("change", "litres", "900"), http.StatusBadRequest)
	want(t, v.post("/tanks/14", url.Values{"do": {"drink"}}), http.StatusBadRequest)

	over := page.sent(".care.stop form")
	want(t, v.post("/tanks/14", over), http.StatusSeeOther)
	if n := len(v.get("/tanks/14").All(".care.stop")); n != 0 {
		t.Error("the alarm is not over")
	}
	// Taking an entry back and putting it back.
	labels := func(a answer) []string {
		var out []string
		for _, n := range a.All("#journal form button") {
			label, _, _ := strings.Cut(webtest.Text(n), ":")
			out = append(out, label)
		}
		return out
	}
	want(t, v.post("/undo", v.get("/tanks/14").sent("#journal tbody tr:nth-child(2) form")), http.StatusSeeOther)
	if got := labels(v.get("/tanks/14")); !slices.Contains(got, "Put it back") {
		t.Errorf("after an undo the journal offers %v", got)
	}
}

// A second tank of the same make is two touches: everything is filled in but
// its name, which counts on.
func TestATankLikeAnother(t *testing.T) {
	v := serve(t, web.Config{Desk: ticking(newDesk(t))})
	add := func(like string, more ...string) {
		t.Helper()
		want(t, v.post("/tanks/new", want(t, v.get("/tanks/new"+like), http.StatusOK).sent("main form", more...)), http.StatusSeeOther)
	}
	add("?shape=cylinder", "tank", "Q09", "use", "hospital", "place", "3", "diameter_cm", "30", "fill_cm", "40", "name", "The tall one")
	form := want(t, v.get("/tanks/new?like=Q09"), http.StatusOK)
	for name, value := range map[string]string{"tank": "Q10", "name": "", "place": "4", "diameter_cm": "30", "fill_cm": "40"} {
		if got := webtest.Attr(form.One("#"+name), "value"); got != value {
			t.Errorf("%s is %q, want %q", name, got, value)
		}
	}
	add("?like=Q09", "tank", "Q10", "use", "hospital", "diameter_cm", "30", "fill_cm", "40")
	if got := webtest.Attr(v.get("/tanks/new?like=Q09").One("#tank"), "value"); got != "Q11" {
		t.Errorf("with Q10 taken, %q is offered", got)
	}
	want(t, v.get("/tanks/new?like=nowhere"), http.StatusNotFound)
}
