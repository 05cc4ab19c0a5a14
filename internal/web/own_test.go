package web_test

import (
	"bytes"
	"image"
	"image/jpeg"
	"mime/multipart"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/media"
	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
	"holdfast/reference"
)

// ownForm is a good entry as the form sends it.
func ownForm(typed ...string) url.Values {
	v := url.Values{
		"name": {"Blue spots"}, "kind": {"disease"}, "isolation": {"own_tank"}, "start": {"usual"}, "names": {"measles, sky"},
		"look": {"Blue spots <1 mm> that spread."}, "look_from": {"judgement"}, "do": {"Keep apart."}, "do_from": {"common practice"},
		"alike_0": {"pigment"}, "tell_0": {"Pigment does not spread."}, "tell_0_from": {"judgement"},
		"sign_site": {"shell"}, "sign_form": {"patch", "dots"}, "carried": {"neocaridina"}, "size_low": {"0,2"}, "size_high": {"1"},
	}
	for i := 0; i < len(typed); i += 2 {
		v[typed[i]] = strings.Split(typed[i+1], "|")
		if typed[i+1] == "" {
			v.Del(typed[i])
		}
	}
	return v
}

func kept(t *testing.T, d *desk.Desk) int {
	t.Helper()
	b, err := d.KeptBook(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return len(b.All)
}

func TestOwnEntryThroughThePages(t *testing.T) {
	d := ticking(newDesk(t))
	v := serve(t, web.Config{Desk: d})
	empty := want(t, v.get("/reference/new"), http.StatusOK)
	form := ownForm("id", empty.fields("#own").Get("id"))
	a := want(t, v.post("/reference/new", form), http.StatusSeeOther)
	want(t, v.post("/reference/new", form), http.StatusSeeOther) // sent twice
	if n := kept(t, d); n != 1 {
		t.Fatalf("%d entries were written, want 1", n)
	}
	page := want(t, v.get(a.Header.Get("Location")), http.StatusOK)
	for _, say := range []string{"Blue spots &lt;1 mm&gt; that spread.", "your shop", "measles, sky", "0.2 to 1 mm", "Its versions", "Undo"} {
		if !strings.Contains(page.body, say) {
			t.Errorf("the entry's page does not say %q", say)
		}
	}
	if list := v.get("/reference?q=measles"); !strings.Contains(list.body, "your own entry") {
		t.Error("the search does not find it by the shop's name, or does not mark it")
	}
	if back := v.get("/reference/look-alike/pigment"); !strings.Contains(back.body, "Blue spots") {
		t.Error("pigment does not lead back to it")
	}
	ranked := want(t, v.get("/signs?site=shell&form=patch"), http.StatusOK)
	if !strings.Contains(ranked.Says("#suspects"), "Blue spots") {
		t.Errorf("the ranking does not name it: %s", ranked.Says("#suspects"))
	}

	// Changed, taken back and put back: versions are kept.
	edit := want(t, v.get("/reference/own/own_blue_spots"), http.StatusOK)
	if got := webtest.Attr(edit.One("#name"), "value"); got != "Blue spots" {
		t.Errorf("the form holds %q", got)
	}
	changed := ownForm("name", "Blue patches", "id", edit.fields("#own").Get("id"))
	b := want(t, v.post("/reference/own/own_blue_spots", changed), http.StatusSeeOther)
	shown := want(t, v.get(b.Header.Get("Location")), http.StatusOK)
	if shown.Says("h1") != "Blue patches" {
		t.Errorf("it is called %q", shown.Says("h1"))
	}
	want(t, v.post("/undo", shown.fields("#strips form")), http.StatusSeeOther)
	if got := v.get("/reference/condition/own_blue_spots").Says("h1"); got != "Blue spots" {
		t.Errorf("taken back, it is called %q", got)
	}
	want(t, v.post("/reference/own/own_blue_spots/drop", url.Values{}), http.StatusSeeOther)
	want(t, v.get("/reference/condition/own_blue_spots"), http.StatusNotFound)
	want(t, v.get("/reference/own/own_blue_spots"), http.StatusNotFound)
	want(t, v.get("/reference/own/rostrum_worm"), http.StatusNotFound)
}

func TestWrongOwnEntriesAreRefusedAndComeBack(t *testing.T) {
	d := ticking(newDesk(t))
	v := serve(t, web.Config{Desk: d})
	long := strings.Repeat("x", 10_000)
	for name, typed := range map[string][]string{
		"no name":              {"name", ""},
		"long name":            {"name", long},
		"no looks":             {"look", ""},
		"no source":            {"look_from", ""},
		"invented source":      {"look_from", "somebody2099"},
		"nothing to do":        {"do", ""},
		"kind":                 {"kind", "moon"},
		"size reversed":        {"size_low", "5"},
		"size of nothing":      {"size_low", "0"},
		"size in words":        {"size_high", "NaN"},
		"size below nought":    {"size_low", "-1"},
		"unknown place":        {"site", "moon"},
		"unknown sign":         {"sign_site", "moon"},
		"unknown animal":       {"carried", "unicorn"},
		"twin without words":   {"tell_0", ""},
		"twin without twin":    {"alike_0", ""},
		"broken link":          {"alike_0", "unicorn"},
		"dose without caution": {"do", "Give 3 mg/L for a day."},
		"brand in the text":    {"do", "Use WormAway."},
		"brand as a name":      {"names", "WormAway"},
		"trade mark":           {"name", "Wormex®"},
		"control characters":   {"look", "a\x00b"},
	} {
		a := want(t, v.post("/reference/new", ownForm(typed...)), http.StatusBadRequest)
		if len(a.All(".care.stop")) == 0 {
			t.Errorf("%s: the page does not say what is wrong", name)
		}
		if name != "no name" && name != "long name" && name != "trade mark" && webtest.Attr(a.One("#name"), "value") != "Blue spots" {
			t.Errorf("%s: what was typed is gone", name)
		}
	}
	if n := kept(t, d); n != 0 {
		t.Errorf("%d wrong entries were kept", n)
	}
	want(t, v.post("/reference/new", ownForm("do", "Give 3 mg/L for a day.", "do_caution", "Try three animals first.")), http.StatusSeeOther)
}

func TestLocalNamesThroughThePage(t *testing.T) {
	d := ticking(newDesk(t))
	v := serve(t, web.Config{Desk: d})
	a := want(t, v.get("/reference/condition/rostrum_worm"), http.StatusOK)
	form := with(a.fields("#names-form"), "names", "whiskers; , whiskers, horns")
	want(t, v.post("/reference/names", form), http.StatusSeeOther)
	if got := v.get("/reference?q=horns"); !strings.Contains(got.body, "you call it whiskers, horns") {
		t.Error("the name is not found")
	}
	bad := want(t, v.post("/reference/names", with(form, "id", "", "names", "WormAway")), http.StatusBadRequest)
	if !strings.Contains(bad.body, "Not recorded") || !strings.Contains(bad.body, "WormAway") {
		t.Error("the refusal is not shown at the form")
	}
	want(t, v.post("/reference/names", url.Values{"entry": {"unicorn"}, "names": {"x"}}), http.StatusNotFound)
}

func TestConfirmedCaseThroughThePages(t *testing.T) {
	d := ticking(newDesk(t))
	v := serve(t, web.Config{Desk: d})
	if a := want(t, v.get("/signs/cases"), http.StatusOK); !strings.Contains(a.body, "No case is confirmed yet") {
		t.Error("the empty page says nothing")
	}
	a := want(t, v.get("/signs?site=belly&form=ringed&colour=warm"), http.StatusOK)
	form := with(a.fields("#confirm-form"), "truth", "segmented_worm", "proof", "laboratory", "by", "Report 12")
	for _, q := range []string{"site", "form", "colour"} {
		if form.Get(q) == "" {
			t.Errorf("the form does not carry %s", q)
		}
	}
	for name, typed := range map[string][]string{
		"no truth": {"truth", ""}, "unknown truth": {"truth", "unicorn"}, "no proof": {"proof", ""}, "unknown proof": {"proof", "hearsay"}, "endless": {"by", strings.Repeat("x", 5000)},
	} {
		bad := want(t, v.post("/signs/cases", with(form, typed...)), http.StatusBadRequest)
		if len(bad.All("#confirm-form")) != 1 {
			t.Errorf("%s: the form is gone", name)
		}
	}
	if kept(t, d) != 0 {
		t.Fatal("a wrong case was kept")
	}
	done := want(t, v.post("/signs/cases", form), http.StatusSeeOther)
	page := want(t, v.get(done.Header.Get("Location")), http.StatusOK)
	say := strings.ReplaceAll(page.body, "\u00a0", " ")
	for _, want := range []string{"95.2 %", "Report 12", "on the belly between the legs"} { // 20/(20+1) = 0.952 of the row is the shipped judgement
		if !strings.Contains(say, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	if again := v.get("/signs?site=belly"); !strings.Contains(again.body, "Your own confirmed cases count") {
		t.Error("the ranking does not say that own cases count")
	}
	want(t, v.post("/undo", page.fields("#strips form")), http.StatusSeeOther)
	if b, err := d.Book(t.Context()); err != nil || len(b.Kept.Cases) != 0 {
		t.Errorf("taken back, but it counts (%v)", err)
	}
}

func TestConfirmedListedDiseaseHoldsTheLot(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	a := want(t, v.get("/signs?deaths=fast&lot="+lots[0]), http.StatusOK)
	if !strings.Contains(a.body, "About lot "+lots[0]) {
		t.Error("the page does not say which lot")
	}
	form := with(a.fields("#confirm-form"), "truth", reference.ListedDisease, "proof", "laboratory")
	want(t, v.post("/signs/cases", form), http.StatusSeeOther)
	l, err := d.Lot(t.Context(), lots[0])
	if err != nil || !slices.Contains(l.Suspects, reference.ListedDisease) {
		t.Errorf("the lot is not held: %v (%v)", l.Suspects, err)
	}
	want(t, v.get("/lots/"+lots[0]), http.StatusOK)
}

func TestSignsFromAMark(t *testing.T) {
	v := serve(t, web.Config{})
	a := want(t, v.get("/signs?mark=dots&dots=8&rows=2&mm=0.2"), http.StatusOK)
	for _, box := range []string{`input[name="size"][value="under_0_3_mm"][checked]`, `input[name="form"][value="dots"][checked]`, `input[name="arrangement"][value="rows"][checked]`} {
		a.One(box)
	}
	if !strings.Contains(a.body, "a mark on a photograph") {
		t.Error("the page does not say where the ticks come from")
	}
	a = want(t, v.get("/signs?mark=tuft"), http.StatusOK)
	a.One(`input[name="form"][value="fuzz"][checked]`)
	if n := len(a.All(`input[name="size"][checked]`)); n != 0 {
		t.Errorf("a mark without a length ticks %d lengths", n)
	}
	for _, bad := range []string{"mark=dots&dots=-3&mm=0.2", "mark=dots&dots=x&mm=0.2", "mark=thread&mm=NaN", "mark=thread&mm=-1", "mark=moon&mm=1", "mark=thread&mm=x", "mark=tuft&mm=-1", "mark=dots"} {
		b := want(t, v.get("/signs?"+bad), http.StatusOK)
		if strings.Contains(b.body, "a mark on a photograph") {
			t.Errorf("%s was taken", bad)
		}
	}
}

func TestCaseFileOfALot(t *testing.T) {
	d, lots := roundDesk(t)
	photos := media.Open(t.TempDir())
	v := serve(t, web.Config{Desk: d, Photos: photos})
	send := func(name string, data []byte) {
		t.Helper()
		var b bytes.Buffer
		m := multipart.NewWriter(&b)
		part, err := m.CreateFormFile("photo", name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := part.Write(data); err != nil {
			t.Fatal(err)
		}
		_ = m.Close()
		r := v.request("POST", "/lots/"+lots[0]+"/photo", &b)
		r.Header.Set("Content-Type", m.FormDataContentType())
		r.Header.Set("Sec-Fetch-Site", "same-origin")
		want(t, v.do(r), http.StatusSeeOther)
	}
	var jpg bytes.Buffer
	if err := jpeg.Encode(&jpg, image.NewGray(image.Rect(0, 0, 40, 30)), nil); err != nil {
		t.Fatal(err)
	}
	send("head.jpg", jpg.Bytes())
	if _, err := d.Declare(t.Context(), desk.Actor{Who: "Mara"}, holdfast.Declared{Consignment: must(d.Lot(t.Context(), lots[0])).Consignment, Answers: map[string]string{"origin": "pond"}, Backed: holdfast.BackedSaid}); err != nil {
		t.Fatal(err)
	}
	a := want(t, v.get("/signs/case?site=rostrum&form=finger&lot="+lots[0]), http.StatusOK)
	for _, say := range []string{"Lot " + lots[0], "a farm, outdoor ponds", "on the rostrum or between the eyes", "of the weight", "Make the PDF", "Water", "Looks"} {
		if !strings.Contains(a.body, say) {
			t.Errorf("the page does not say %q", say)
		}
	}
	if beside := want(t, v.get("/signs?lot="+lots[0]), http.StatusOK); len(beside.All(".beside img")) != 1 {
		t.Error("the lot's photograph does not stand beside the questions")
	}
	form := with(a.fields("#case"), "note", "They sit in the corner.")
	pdf := v.post("/signs/case.pdf", form)
	if pdf.StatusCode != http.StatusOK || pdf.Header.Get("Content-Type") != "application/pdf" || !strings.HasPrefix(pdf.body, "%PDF-") || !strings.Contains(pdf.body, "/Type /EmbeddedFile") {
		t.Fatalf("status %d, %s", pdf.StatusCode, pdf.Header.Get("Content-Type"))
	}
	none := with(form)
	none.Del("photo")
	if p := v.post("/signs/case.pdf", none); p.StatusCode != http.StatusOK || strings.Contains(p.body, "/Type /EmbeddedFile") {
		t.Error("a photograph that was not ticked went in")
	}
	// A broken picture is named, and no file is made.
	send("broken.jpg", []byte("\xff\xd8\xff\xe0 an invented photograph"))
	both := want(t, v.get("/signs/case?lot="+lots[0]), http.StatusOK)
	sums := url.Values{"lot": {lots[0]}}
	for _, n := range both.All(`input[name="photo"]`) {
		sums.Add("photo", webtest.Attr(n, "value"))
	}
	if bad := want(t, v.post("/signs/case.pdf", sums), http.StatusBadRequest); !strings.Contains(bad.body, "broken.jpg") {
		t.Error("the page does not name the broken picture")
	}
	want(t, v.get("/signs/case"), http.StatusOK)
	want(t, v.get("/signs/case?lot=nix"), http.StatusNotFound)
	want(t, v.get("/signs/case?site=moon"), http.StatusBadRequest)
	want(t, v.post("/signs/case.pdf", url.Values{"note": {strings.Repeat("x", 9000)}}), http.StatusBadRequest)
}

func must[T any](x T, err error) T {
	if err != nil {
		panic(err)
	}
	return x
}

func TestQuestionsToTheSeller(t *testing.T) {
	d, lots := roundDesk(t)
	v := serve(t, web.Config{Desk: d})
	a := want(t, v.get("/ask"), http.StatusOK)
	form := with(a.fields("#ask"), "supplier", "Reed", "answer_origin", "pond", "words_treatments", "salt, a week before", "backed", "said")
	for name, typed := range map[string][]string{
		"no supplier": {"supplier", ""}, "no backing": {"backed", ""}, "unknown backing": {"backed", "sworn"}, "unknown answer": {"answer_origin", "moon"}, "endless": {"words_food", strings.Repeat("x", 3000)},
	} {
		bad := want(t, v.post("/ask", with(form, typed...)), http.StatusBadRequest)
		if len(bad.All(".care.stop")) == 0 {
			t.Errorf("%s: the page does not say what is wrong", name)
		}
	}
	want(t, v.post("/ask", url.Values{"supplier": {"Reed"}, "backed": {"said"}}), http.StatusBadRequest)
	if kept(t, d) != 0 {
		t.Fatal("a wrong declaration was kept")
	}
	done := want(t, v.post("/ask", form), http.StatusSeeOther)
	page := want(t, v.get(done.Header.Get("Location")), http.StatusOK)
	if !strings.Contains(page.body, "salt, a week before") {
		t.Error("the page does not show what was declared")
	}
	want(t, v.post("/undo", page.fields("#strips form")), http.StatusSeeOther)

	delivery := must(d.Lot(t.Context(), lots[0])).Consignment
	b := want(t, v.get("/ask?delivery="+delivery), http.StatusOK)
	want(t, v.post("/ask", with(b.fields("#ask"), "answer_origin", "indoor", "backed", "said")), http.StatusSeeOther)
	if shown := v.get("/deliveries/" + delivery); !strings.Contains(shown.body, "a farm, indoors") {
		t.Error("the delivery does not show what was declared")
	}
	begin := want(t, v.get("/signs?lot="+lots[0]), http.StatusOK)
	begin.One(`input[name="origin"][value="indoor"][checked]`)
	begin.One(`input[name="origin"][value="pond"][checked]`) // only said: it counts half
	want(t, v.get("/ask?delivery=nix"), http.StatusNotFound)
}
