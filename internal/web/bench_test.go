package web

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"image"
	"io"
	"log/slog"
	"math"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"slices"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/darkroom"
	"holdfast/internal/media"
	"holdfast/internal/web/webtest"
	"holdfast/photo"
)

// benched is a desk with a bench, and the worker that reads its photographs.
func benched(t *testing.T) (*Server, string, *darkroom.Worker) {
	t.Helper()
	s := newServer(t)
	dir := t.TempDir()
	m := media.Open(dir)
	room := darkroom.Open(dir, m, nil)
	s.Photos, s.Pictures = m, room
	return s, lotOf(t, s), darkroom.NewWorker(room, s.Desk, slog.New(slog.DiscardHandler))
}

// drawn is a drawn photograph of the invented shop; how each was drawn, its
// README says.
func drawn(t *testing.T, no string) []byte {
	t.Helper()
	b, err := os.ReadFile("../demo/photographs/drawn-" + no + ".jpg")
	if err != nil {
		t.Fatal(err)
	}
	return b
}

type file struct {
	name string
	data []byte
}

// addFiles sends files to the bench as a script does, or as a form.
func addFiles(t *testing.T, s *Server, lot, accept string, files ...file) *httptest.ResponseRecorder {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	for _, f := range files {
		part, err := m.CreateFormFile("photo", f.name)
		if err != nil {
			t.Fatal(err)
		}
		_, _ = part.Write(f.data)
	}
	_ = m.Close()
	r := httptest.NewRequest("POST", "http://localhost/lots/"+lot+"/bench/add", &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	if accept != "" {
		r.Header.Set("Accept", accept)
	}
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

// as sends a request in somebody's name.
func as(t *testing.T, s *Server, who, method, path string, v url.Values) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest(method, "http://localhost"+path, strings.NewReader(v.Encode()))
	if method == "POST" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	r.AddCookie(&http.Cookie{Name: whoCookie, Value: who})
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

func readAll(t *testing.T, w *darkroom.Worker) int {
	t.Helper()
	all := 0
	for {
		n, err := w.Once(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if all += n; n == 0 {
			return all
		}
	}
}

func bench(t *testing.T, s *Server, lot string) *desk.Bench {
	t.Helper()
	b, err := s.Desk.Bench(t.Context(), lot, 0)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestBenchTakesFilesAndNamesTheBadOnes(t *testing.T) {
	s, lot, worker := benched(t)
	if w := get(t, s, "/lots/"+lot+"/bench"); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "No photographs of this lot yet") {
		t.Errorf("an empty bench: status %d", w.Code)
	}
	before := entries(t, s)
	red := file{"IMG_1.JPG", drawn(t, "260")}
	w := addFiles(t, s, lot, "application/json", red, file{`C:\card\notes.txt`, []byte("no photograph")}, file{"again.jpg", red.data},
		file{"empty.jpg", nil}, file{"cut.jpg", red.data[:4000]}, file{"big.tif", append([]byte("II*\x00"), make([]byte, 5000)...)})
	var out arrived
	if err := json.Unmarshal(w.Body.Bytes(), &out); err != nil || w.Code != http.StatusOK {
		t.Fatalf("status %d, %v: %s", w.Code, err, w.Body)
	}
	if out.Added != 3 || !slices.Equal(out.Known, []string{"again.jpg"}) || len(out.Bad) != 2 || out.Bad[0].Name != "notes.txt" || out.Bad[0].Says == "" {
		t.Errorf("%+v", out)
	}
	if n := entries(t, s) - before; n != 3 {
		t.Errorf("%d entries were written, want 3", n)
	}
	if w := addFiles(t, s, lot, "", red); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "stood on this lot") {
		t.Errorf("sent again: status %d", w.Code)
	}
	if w := addFiles(t, s, lot, "", file{"notes.txt", []byte("x")}); w.Code != http.StatusBadRequest || !strings.Contains(w.Body.String(), "notes.txt") {
		t.Errorf("nothing but a bad file: status %d", w.Code)
	}
	if w := addFiles(t, s, lot, ""); w.Code != http.StatusBadRequest {
		t.Errorf("no file: status %d", w.Code)
	}
	if n := readAll(t, worker); n != 3 {
		t.Errorf("%d were read, want 3", n)
	}
	b := bench(t, s, lot)
	if waiting, unread := b.Counts(); waiting != 0 || unread != 2 || !b.Photos[0].Usable() {
		t.Errorf("%d wait and %d are unread, want 0 and 2; the best is %+v", waiting, unread, b.Photos[0])
	}
	body := get(t, s, "/lots/"+lot+"/bench").Body.String()
	for _, part := range []string{"cut.jpg", "2 files that could not be read", "Take it away", "Sharp"} {
		if !strings.Contains(body, part) {
			t.Errorf("the bench does not say %q", part)
		}
	}
}

// A whole import, though it came in two parts, is taken back in one tap and put
// back in another; what others added meanwhile stays.
func TestAnImportIsTakenBackWhole(t *testing.T) {
	s, lot, _ := benched(t)
	sheet := "/lots/" + lot + "/bench"
	addFiles(t, s, lot, "application/json", file{"before.jpg", drawn(t, "260")})
	var one, two arrived
	for i, out := range []*arrived{&one, &two} {
		name := []string{"204", "212"}[i]
		if err := json.Unmarshal(addFiles(t, s, lot, "application/json", file{name + ".jpg", drawn(t, name)}).Body.Bytes(), out); err != nil || out.Added != 1 {
			t.Fatalf("%+v, %v", out, err)
		}
		if i == 0 {
			kept := holdfast.PhotoAdded{SHA256: strings.Repeat("a", 64), Size: 9, Media: "image/jpeg", Name: "jo.jpg"}
			if _, _, err := s.Desk.AddPhotos(t.Context(), desk.Actor{Who: "Jo"}, lot, []holdfast.PhotoAdded{kept}); err != nil {
				t.Fatal(err)
			}
		}
	}
	shown := webtest.Parse(t, get(t, s, sheet+"?"+url.Values{"added": {"2"}, "first": {string(one.First)}, "last": {string(two.Last)}}.Encode()).Body)
	form := webtest.Part(t, shown.One(`form[action$="/bench/back"]`))
	v := url.Values{}
	for _, x := range form.All("input[type=hidden]") {
		v.Set(webtest.Attr(x, "name"), webtest.Attr(x, "value"))
	}
	before := entries(t, s)
	names := func() (all []string) {
		for _, p := range bench(t, s, lot).Photos {
			all = append(all, p.Name)
		}
		slices.Sort(all)
		return all
	}
	var undone *webtest.Document
	for range 2 { // sent twice, it counts once
		w := post(t, s, sheet+"/back", v)
		if w.Code != http.StatusSeeOther {
			t.Fatalf("status %d: %s", w.Code, w.Body)
		}
		undone = webtest.Parse(t, get(t, s, w.Header().Get("Location")).Body)
	}
	if got := names(); !slices.Equal(got, []string{"before.jpg", "jo.jpg"}) || entries(t, s) != before+2 {
		t.Errorf("taken back, %v are left, by %d entries", got, entries(t, s)-before)
	}
	v.Del("id")
	if w := post(t, s, sheet+"/back", v); w.Code != http.StatusNotFound {
		t.Errorf("taken back again: status %d", w.Code)
	}
	if w := post(t, s, sheet+"/back", url.Values{"first": {"x"}}); w.Code != http.StatusBadRequest {
		t.Errorf("of no entry: status %d", w.Code)
	}
	again := url.Values{}
	for _, x := range webtest.Part(t, undone.One(`form[action="/undo"]`)).All("input[type=hidden]") {
		again.Set(webtest.Attr(x, "name"), webtest.Attr(x, "value"))
	}
	if w := post(t, s, "/undo", again); w.Code != http.StatusSeeOther {
		t.Fatalf("put back: status %d: %s", w.Code, w.Body)
	}
	if got := names(); len(got) != 4 {
		t.Errorf("put back, there are %v", got)
	}
}

// What waits to be read outlasts the end of the program, and a pause does too.
func TestReadingGoesOnAfterARestart(t *testing.T) {
	s, lot, worker := benched(t)
	addFiles(t, s, lot, "application/json", file{"a.jpg", drawn(t, "260")}, file{"b.jpg", drawn(t, "204")}, file{"c.jpg", drawn(t, "214")})
	worker.AtOnce = 1
	if n, err := worker.Once(t.Context()); err != nil || n != 1 {
		t.Fatalf("read %d, %v", n, err)
	}
	if w := post(t, s, "/bench/reading", url.Values{"do": {"pause"}, "back": {"/lots/" + lot + "/bench"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("pause: status %d", w.Code)
	}
	again := darkroom.NewWorker(worker.Room, s.Desk, worker.Log) // another program on the same store
	if n, err := again.Once(t.Context()); err != nil || n != 0 {
		t.Errorf("while paused %d were read, %v", n, err)
	}
	if body := get(t, s, "/lots/"+lot+"/bench").Body.String(); !strings.Contains(body, "1 of 3 photographs read") || !strings.Contains(body, "Go on reading") {
		t.Error("the page does not say how far reading is, or how to go on")
	}
	post(t, s, "/bench/reading", url.Values{"do": {"resume"}})
	if n := readAll(t, again); n != 2 {
		t.Errorf("after the pause %d were read, want 2", n)
	}
	// A running worker stops when it is told to.
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	again.Run(ctx)
}

// put says which animal and side a photograph shows, by its name.
func put(t *testing.T, s *Server, lot, name string, animal, side string) {
	t.Helper()
	for _, p := range bench(t, s, lot).Photos {
		if p.Name == name {
			if w := post(t, s, "/lots/"+lot+"/bench/put", url.Values{"sha": {p.SHA256}, "animal": {animal}, "side": {side}}); w.Code != http.StatusSeeOther {
				t.Fatalf("%s: status %d: %s", name, w.Code, w.Body)
			}
			return
		}
	}
	t.Fatalf("no photograph %s", name)
}

// scaled is a bench with a clean animal and one with a colony of eggs.
func scaled(t *testing.T) (*Server, string) {
	t.Helper()
	s, lot, worker := benched(t)
	addFiles(t, s, lot, "application/json", file{"clean.jpg", drawn(t, "260")}, file{"eggs.jpg", drawn(t, "212")})
	day := bench(t, s, lot).Day.String()
	if w := post(t, s, "/lots/"+lot+"/bench/scale?day="+day, url.Values{"do": {"direct"}, "px_per_mm": {"80"}, "for": {"day"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("scale: status %d", w.Code)
	}
	readAll(t, worker)
	put(t, s, lot, "clean.jpg", "1", "left")
	put(t, s, lot, "eggs.jpg", "2", "left")
	return s, lot
}

func TestJudgeBlindThenMarksThenSave(t *testing.T) {
	s, lot := scaled(t)
	path := "/lots/" + lot + "/bench/animal/2"
	const marked = "What the desk marked"
	w := as(t, s, "Mara", "GET", path, nil)
	doc := webtest.Parse(t, strings.NewReader(w.Body.String()))
	if w.Code != http.StatusOK || strings.Contains(w.Body.String(), marked) || len(doc.All(".mk")) != 0 {
		t.Fatalf("status %d, and marks are shown before anything was said", w.Code)
	}
	if n := len(doc.All(".nears svg")); n < 2 {
		t.Errorf("%d enlargements, want the eye and the gills", n)
	}
	if n := len(doc.All("input[name=say]")); n != 9 {
		t.Errorf("%d verdict keys", n)
	}
	for name, v := range map[string]url.Values{
		"nothing tapped": {"do": {"done"}}, "both": {"do": {"done"}, "say": {"nothing", "egg_row"}}, "unknown": {"do": {"done"}, "say": {"gold"}},
		"other without which": {"do": {"done"}, "say": {"other"}}, "mark elsewhere": {"do": {"done"}, "say": {"nothing"}, "m." + strings.Repeat("a", 64) + ".1.1.5.5": {"egg_row"}},
		"mark on no place": {"do": {"keep"}, "say": {"nothing"}, "m.x.NaN.1.-5.5": {"egg_row"}},
		"long":             {"do": {"done"}, "say": {"egg_row"}, "what": {strings.Repeat("x", 9000)}},
	} {
		if w := as(t, s, "Mara", "POST", path, v); w.Code != http.StatusBadRequest || strings.Contains(w.Body.String(), marked) {
			t.Errorf("%s: status %d, or it opened the marks", name, w.Code)
		}
	}
	if w := as(t, s, "Mara", "POST", path, url.Values{"do": {"done"}, "say": {"egg_row"}, "what": {"left gills"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("said all: status %d: %s", w.Code, w.Body)
	}
	doc = webtest.Parse(t, as(t, s, "Mara", "GET", path, nil).Body)
	fields := doc.All(`select[form=judge]`)
	if len(fields) == 0 {
		t.Fatal("no mark or crop can be judged")
	}
	mightLead(t, s, lot, doc, len(fields))
	if body := as(t, s, "Jo", "GET", path, nil).Body.String(); strings.Contains(body, marked) || strings.Contains(body, "left gills") {
		t.Error("another person sees what the first one said")
	}
	keep := url.Values{"do": {"keep"}, "say": {"egg_row"}, webtest.Attr(fields[0], "name"): {"egg_row"}}
	if w := as(t, s, "Mara", "POST", path, keep); w.Code != http.StatusSeeOther || !strings.HasSuffix(w.Header().Get("Location"), "/animal/1?day="+bench(t, s, lot).Day.String()) {
		t.Fatalf("keep: status %d to %s", w.Code, w.Header().Get("Location"))
	}
	if w := as(t, s, "Mara", "POST", "/lots/"+lot+"/bench/animal/1", url.Values{"do": {"done"}, "say": {"nothing"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("animal 1: status %d", w.Code)
	}
	save := "/lots/" + lot + "/bench/save"
	if w := as(t, s, "Mara", "POST", save, url.Values{}); w.Code != http.StatusBadRequest {
		t.Errorf("saved without saying how they were chosen: status %d", w.Code)
	}
	if w := as(t, s, "Nobody", "POST", save, url.Values{"chosen": {"random"}}); w.Code != http.StatusBadRequest {
		t.Errorf("saved by somebody who judged nothing: status %d", w.Code)
	}
	id, err := s.Desk.NewID()
	if err != nil {
		t.Fatal(err)
	}
	for range 2 { // pressed twice, kept once
		if w := as(t, s, "Mara", "POST", save, url.Values{"chosen": {"random"}, "id": {string(id)}}); w.Code != http.StatusSeeOther {
			t.Fatalf("save: status %d: %s", w.Code, w.Body)
		}
	}
	v, err := s.Desk.View(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	if f := v.Assessed[0].Figure; f.Looked != 2 || f.Positive != 1 {
		t.Errorf("the chance rests on %d looked at and %d positive, want 2 and 1", f.Looked, f.Positive)
	}
	p := v.Lot.Events[len(v.Lot.Events)-1].Payload.(*holdfast.Inspection)
	a := p.Animals[1]
	if len(a.Photos) != 1 || a.Photos[0].Side != holdfast.Left || !slices.Equal(a.Seen, []holdfast.Side{holdfast.Left}) || a.Findings[0].Photo == "" || a.Findings[0].Box == nil || p.By != holdfast.ByPhoto || !p.Random {
		t.Errorf("saved %+v", p)
	}
	// Undone, the chance goes back and what was said is still on the bench.
	if w := as(t, s, "Mara", "POST", "/undo", url.Values{"entry": {string(id)}, "back": {"/lots"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("undo: status %d", w.Code)
	}
	b := bench(t, s, lot)
	if b.View.Assessed[0].Figure.Looked != 0 || b.Saved != nil || len(b.Judged("Mara")) != 2 {
		t.Errorf("after the undo %d are looked at, %d judged", b.View.Assessed[0].Figure.Looked, len(b.Judged("Mara")))
	}
}

// mightLead checks that every mark of a page leads to the signs of its lot with
// its form filled in, and its length where that was measured.
func mightLead(t *testing.T, s *Server, lot string, doc *webtest.Document, marks int) {
	t.Helper()
	var links, dots, lengths int
	for _, a := range doc.All(`a[href^="/signs?"]`) {
		u, err := url.Parse(webtest.Attr(a, "href"))
		if err != nil {
			t.Fatal(err)
		}
		q := u.Query()
		if q.Get("lot") != lot {
			t.Errorf("%s is about another lot", u)
		}
		signs := get(t, s, u.String())
		to := webtest.Parse(t, signs.Body)
		want, form := 1, "shapeless"
		switch q.Get("mark") {
		case "dots":
			dots++
			form = "dots"
		case "tuft":
			want, form = 0, "fuzz"
		}
		if mm := q.Get("mm"); mm == "" && want > 0 {
			t.Errorf("%s has no length, on a photograph with a scale", u)
		} else if mm != "" {
			lengths++
		}
		if signs.Code != http.StatusOK || len(to.All(`input[name="size"][checked]`)) != want || len(to.All(`input[name="form"][value="`+form+`"][checked]`)) != 1 {
			t.Errorf("%s: status %d, and it ticks other things than the mark", u, signs.Code)
		}
		links++
	}
	if links != marks || dots == 0 || lengths == 0 {
		t.Errorf("%d of %d marks lead to what they might be, %d of dots, %d with a length", links, marks, dots, lengths)
	}
}

func TestSecondPairOfEyesCountsAnimalsOnce(t *testing.T) {
	s, lot := scaled(t)
	judge := func(who, no, say string) {
		t.Helper()
		if w := as(t, s, who, "POST", "/lots/"+lot+"/bench/animal/"+no, url.Values{"do": {"keep"}, "say": {say}}); w.Code != http.StatusSeeOther {
			t.Fatalf("%s on %s: status %d: %s", who, no, w.Code, w.Body)
		}
	}
	save := func(who string) {
		t.Helper()
		if w := as(t, s, who, "POST", "/lots/"+lot+"/bench/save", url.Values{"chosen": {"random"}}); w.Code != http.StatusSeeOther {
			t.Fatalf("%s: status %d: %s", who, w.Code, w.Body)
		}
	}
	judge("Mara", "1", "nothing")
	judge("Mara", "2", "nothing")
	save("Mara")
	judge("Mara", "1", "pigment")
	save("Mara") // in the place of the first
	b := bench(t, s, lot)
	if b.View.Assessed[0].Figure.Looked != 2 || b.Saved.Payload.(*holdfast.Inspection).Animals[0].Findings[0].Condition != holdfast.Pigment {
		t.Fatalf("saved again, %d are looked at", b.View.Assessed[0].Figure.Looked)
	}
	judge("Jo", "1", "nothing")
	judge("Jo", "2", "egg_row")
	save("Jo")
	b = bench(t, s, lot)
	both, differ := b.Differences()
	if both != 2 || len(differ) != 1 || differ[0].No != 2 || len(differ[0].First) != 0 || len(differ[0].Second) != 1 {
		t.Errorf("both judged %d; differences %+v", both, differ)
	}
	if f := b.View.Assessed[0].Figure; f.Looked != 2 || f.Positive != 1 {
		t.Errorf("two people on two animals: %d looked at, %d positive", f.Looked, f.Positive)
	}
	body := get(t, s, "/lots/"+lot+"/bench/second").Body.String()
	for _, part := range []string{"2 animals were judged by two people, who differ on 1", "Mara: nothing on the sides seen", "Jo: rostrum worm"} {
		if !strings.Contains(body, part) {
			t.Errorf("the page does not say %q", part)
		}
	}
	if w := as(t, s, "Mara", "POST", "/lots/"+lot+"/bench/save", url.Values{"chosen": {"random"}}); w.Code != http.StatusBadRequest {
		t.Errorf("the first look is replaced under the second: status %d", w.Code)
	}
}

func TestScaleByEveryWayAndWrong(t *testing.T) {
	s, lot, worker := benched(t)
	addFiles(t, s, lot, "application/json", file{"a.jpg", drawn(t, "260")})
	readAll(t, worker)
	sha := bench(t, s, lot).Photos[0].SHA256
	path := "/lots/" + lot + "/bench/scale"
	for _, v := range []url.Values{
		{}, {"do": {"direct"}}, {"do": {"direct"}, "px_per_mm": {"-3"}}, {"do": {"direct"}, "px_per_mm": {"1e9"}}, {"do": {"direct"}, "px_per_mm": {"NaN"}}, {"do": {"direct"}, "px_per_mm": {"80 mm"}},
		{"do": {"lens"}, "magnification": {"0"}, "pitch": {"4"}}, {"do": {"lens"}, "magnification": {"1"}}, {"do": {"taps"}, "photo": {sha}, "mm": {"10"}},
		{"do": {"taps"}, "photo": {sha}, "mm": {"10"}, "ax": {"1"}, "ay": {"1"}, "bx": {"1"}, "by": {"1"}}, {"do": {"taps"}, "photo": {sha}, "mm": {"10"}, "ax": {"1"}, "ay": {"1"}, "bx": {"99999"}, "by": {"1"}},
		{"do": {"ticks"}, "photo": {sha}, "tick": {"0"}}, {"do": {"ticks"}, "tick": {"1"}}, {"do": {"direct"}, "px_per_mm": {"77"}, "for": {"photo"}},
	} {
		if w := post(t, s, path, v); w.Code != http.StatusBadRequest {
			t.Errorf("%v: status %d, want 400", v, w.Code)
		}
	}
	if w := post(t, s, path, url.Values{"do": {"taps"}, "photo": {"nonsense"}, "mm": {"10"}}); w.Code != http.StatusNotFound {
		t.Errorf("a photograph that is not there: status %d", w.Code)
	}
	// What looks like ticks is proposed and never taken by itself.
	if w := post(t, s, path, url.Values{"do": {"ticks"}, "photo": {sha}, "tick": {"1"}}); w.Code != http.StatusBadRequest && !strings.Contains(w.Body.String(), "Anything regular can look like a ruler") {
		t.Errorf("ticks: status %d", w.Code)
	}
	if b := bench(t, s, lot); b.Scale != nil {
		t.Errorf("a scale nobody took: %+v", b.Scale)
	}
	for _, c := range []struct {
		v    url.Values
		want float64
	}{
		{url.Values{"do": {"taps"}, "photo": {sha}, "mm": {"10"}, "ax": {"100"}, "ay": {"100"}, "bx": {"700"}, "by": {"900"}}, 100},
		{url.Values{"do": {"lens"}, "magnification": {"0,5"}, "pitch": {"5 µm"}}, 100}, // 200 pixels a mm of sensor at half life size
		{url.Values{"do": {"direct"}, "px_per_mm": {"77"}}, 77},
	} {
		if w := post(t, s, path, c.v); w.Code != http.StatusSeeOther {
			t.Errorf("%v: status %d: %s", c.v, w.Code, w.Body)
		}
		if b := bench(t, s, lot); b.Scale == nil || math.Abs(b.Scale.PxPerMM-c.want) > 1e-9 {
			t.Errorf("%v gives %+v, want %v", c.v, b.Scale, c.want)
		}
	}
	post(t, s, path, url.Values{"do": {"direct"}, "px_per_mm": {"50"}, "for": {"photo"}, "photo": {sha}})
	if p := bench(t, s, lot).Photos[0]; p.Scale != 50 || !p.OwnScale {
		t.Errorf("its own scale is %+v", p)
	}
	one := "/lots/" + lot + "/bench/photo/" + sha
	if body := get(t, s, one+"?ax=0&ay=0&bx=300&by=400").Body.String(); !strings.Contains(body, "10 mm.") {
		t.Error("500 pixels at 50 a millimetre are not 10 mm")
	}
	for _, q := range []string{"?ax=1", "?ax=-1&ay=1&bx=2&by=2", "?ax=x&ay=1&bx=2&by=2"} {
		if w := get(t, s, one+q); w.Code != http.StatusBadRequest {
			t.Errorf("%s: status %d", q, w.Code)
		}
	}
	if body := get(t, s, one+"?ax=0&ay=0&bx=1&by=0").Body.String(); !strings.Contains(body, "10 mm.") && !strings.Contains(body, "0.02 mm") {
		t.Errorf("a short length is not told")
	}
}

func TestPicturesOfEveryKindAndNonsense(t *testing.T) {
	s, lot, _ := benched(t)
	addFiles(t, s, lot, "application/json", file{"a.jpg", drawn(t, "260")}, file{"cut.png", []byte("\x89PNG\r\n\x1a\n cut")})
	for _, p := range bench(t, s, lot).Photos {
		want := http.StatusOK
		if p.Name == "cut.png" {
			want = http.StatusUnprocessableEntity
		}
		w := get(t, s, pictureURL(p.SHA256, 480))
		if w.Code != want {
			t.Errorf("%s: status %d, want %d", p.Name, w.Code, want)
		}
		if want == http.StatusOK && w.Header().Get("Content-Type") != "image/jpeg" {
			t.Errorf("%s is sent as %q", p.Name, w.Header().Get("Content-Type"))
		}
		for _, q := range []string{"?width=240&w=0&h=5&x=0&y=0", "?w=5", "?x=-1&y=0&w=5&h=5", "?x=a&y=0&w=5&h=5"} {
			if w := get(t, s, "/photos/"+p.SHA256+"/view"+q); w.Code != http.StatusNotFound {
				t.Errorf("%s: status %d", q, w.Code)
			}
		}
	}
	for _, path := range []string{"/lots/" + lot + "/bench?day=yesterday", "/lots/none/bench", "/lots/" + lot + "/bench/animal/7", "/lots/" + lot + "/bench/animal/x", "/lots/" + lot + "/bench/photo/" + strings.Repeat("a", 64)} {
		if w := get(t, s, path); w.Code != http.StatusNotFound {
			t.Errorf("%s: status %d", path, w.Code)
		}
	}
	for _, v := range []url.Values{{}, {"sha": {"nonsense"}, "animal": {"1"}, "side": {"left"}}, {"sha": {bench(t, s, lot).Photos[0].SHA256}, "animal": {"-1"}, "side": {"left"}}, {"sha": {bench(t, s, lot).Photos[0].SHA256}, "animal": {"1"}, "side": {"tail"}}} {
		if w := post(t, s, "/lots/"+lot+"/bench/put", v); w.Code < 400 || w.Code >= 500 {
			t.Errorf("%v: status %d", v, w.Code)
		}
	}
}

func TestTheBenchInThisShop(t *testing.T) {
	s, lot := scaled(t)
	body := get(t, s, "/bench").Body.String()
	if !strings.Contains(body, "No look has been judged on the bench yet") {
		t.Error("an untaught bench does not say so")
	}
	for _, bad := range []string{"", "0", "-1", "NaN", "99", "1e3"} {
		if w := post(t, s, "/bench", url.Values{"false_marks": {bad}, "when": {"after"}}); w.Code != http.StatusBadRequest {
			t.Errorf("%q false marks: status %d", bad, w.Code)
		}
	}
	if w := post(t, s, "/bench", url.Values{"false_marks": {"20"}, "when": {"once"}}); w.Code != http.StatusOK {
		t.Fatalf("status %d", w.Code)
	}
	path := "/lots/" + lot + "/bench/animal/2"
	doc := webtest.Parse(t, as(t, s, "Mara", "GET", path, nil).Body)
	fields := doc.All(`select[form=judge]`)
	if len(fields) == 0 {
		t.Fatal("marks at once: none is shown")
	}
	as(t, s, "Mara", "POST", path, url.Values{"do": {"keep"}, "say": {"egg_row"}, webtest.Attr(fields[0], "name"): {"egg_row"}})
	as(t, s, "Mara", "POST", "/lots/"+lot+"/bench/animal/1", url.Values{"do": {"keep"}, "say": {"nothing"}})
	as(t, s, "Mara", "POST", "/lots/"+lot+"/bench/save", url.Values{"chosen": {"random"}})
	r, err := s.Desk.FinderRecord(t.Context())
	if err != nil || r.Animals != 2 || r.Seen.Rows != 0 || r.Seen.InView != 2 || r.CleanPhotos != 1 || r.FalseMarks < 1 || r.Labelled != 1 {
		t.Errorf("record %+v, %v", r, err)
	}
	if body := get(t, s, "/bench").Body.String(); !strings.Contains(body, "1 verdict on marks so far") || !strings.Contains(body, "2 animals judged with the marks in view from the start") {
		t.Error("the record does not say what tells nothing of misses")
	}
	if w := post(t, s, "/bench/refit", nil); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Too few verdicts") {
		t.Errorf("a fit from one verdict: status %d", w.Code)
	}
	if w := post(t, s, "/bench/model", url.Values{"version": {"7"}}); w.Code != http.StatusNotFound {
		t.Errorf("an unknown refit: status %d", w.Code)
	}
	w := get(t, s, "/bench/crops.zip")
	z, err := zip.NewReader(bytes.NewReader(w.Body.Bytes()), int64(w.Body.Len()))
	if err != nil || len(z.File) != 2 {
		t.Fatalf("%d files in the archive, %v", len(z.File), err)
	}
	f, err := z.File[1].Open()
	if err != nil {
		t.Fatal(err)
	}
	table, err := io.ReadAll(f)
	if err != nil || !strings.Contains(string(table), "crops/00001-egg_row.jpg") || !strings.Contains(string(table), lot+",2,left") {
		t.Errorf("labels: %s, %v", table, err)
	}
}

func TestBeforeAndAfter(t *testing.T) {
	s, lot := scaled(t)
	if body := get(t, s, "/lots/"+lot+"/bench/before").Body.String(); !strings.Contains(body, "on one day only") {
		t.Error("one day is not called one day")
	}
	then := bench(t, s, lot).Photos[0].At.In(time.UTC).AddDate(0, 0, -20)
	kept, err := s.Photos.Save(bytes.NewReader(drawn(t, "204")))
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.Desk.AddPhotos(t.Context(), desk.Actor{Who: "Mara", At: then}, lot, []holdfast.PhotoAdded{{SHA256: kept.SHA256, Size: kept.Size, Media: kept.Media, Name: "old.jpg", Animal: 3, Side: holdfast.Left}}); err != nil {
		t.Fatal(err)
	}
	if err := s.Desk.SetScale(t.Context(), lot, 0, kept.SHA256, desk.Scale{PxPerMM: 81}); err != nil { // as it was drawn
		t.Fatal(err)
	}
	room := s.Pictures.(*darkroom.Room)
	w := get(t, s, "/lots/"+lot+"/bench/before")
	if w.Code != http.StatusOK {
		t.Fatalf("status %d", w.Code)
	}
	readAll(t, darkroom.NewWorker(room, s.Desk, slog.New(slog.DiscardHandler)))
	doc := webtest.Parse(t, get(t, s, "/lots/"+lot+"/bench/before").Body)
	if n := len(doc.All(".pairs figure")); n < 2 {
		t.Errorf("%d photographs side by side", n)
	}
	if w := get(t, s, "/lots/"+lot+"/bench/before?before=x"); w.Code != http.StatusNotFound {
		t.Errorf("nonsense as a day: status %d", w.Code)
	}
}

// A place on the page and a place in the file are the same for every way up:
// what Upright does to a pixel, seen does to its position.
func TestTurnedAgreesWithUpright(t *testing.T) {
	back := [9]int{1: 1, 2, 3, 4, 5, 8, 7, 6} // a quarter turn is undone by the other one
	for o := 1; o <= 8; o++ {
		img := photo.NewImage(7, 4)
		const px, py = 5, 1
		img.Pix[3*(py*7+px)] = 255
		up := img.Upright(o)
		tu := turned{o, 7, 4}
		x, y := tu.seen(px+0.5, py+0.5)
		if w, h := tu.size(); w != up.W || h != up.H {
			t.Errorf("orientation %d: size %d by %d, want %d by %d", o, w, h, up.W, up.H)
		}
		if up.Pix[3*(int(y)*up.W+int(x))] != 255 {
			t.Errorf("orientation %d: the pixel is not at %v, %v", o, x, y)
		}
		if bx, by := (turned{back[o], up.W, up.H}).seen(x, y); bx != px+0.5 || by != py+0.5 {
			t.Errorf("orientation %d: back at %v, %v", o, bx, by)
		}
		if bx, by, bw, bh := tu.box(px, py, 1, 1); bx != math.Floor(x) || by != math.Floor(y) || bw != 1 || bh != 1 {
			t.Errorf("orientation %d: box %v %v %v %v", o, bx, by, bw, bh)
		}
	}
	if got := within(&desk.Reading{W: 10, H: 10}, 2, 2, 5, 5); got != image.Rect(0, 0, 8, 8) {
		t.Errorf("cut to %v", got)
	}
}

// Frames that are no focus stack are not joined: the best single one is shown
// with the reason.
func TestStackRefusedShowsTheBestSingle(t *testing.T) {
	s, lot := scaled(t)
	sha := bench(t, s, lot).Photos[0].SHA256
	w := get(t, s, "/lots/"+lot+"/bench/stack/"+sha)
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Not joined") || !strings.Contains(w.Body.String(), "the best single frame") {
		t.Errorf("status %d", w.Code)
	}
	for _, path := range []string{"/joined/" + strings.Repeat("a", 64), "/joined/x", "/lots/" + lot + "/bench/stack/" + strings.Repeat("a", 64)} {
		if w := get(t, s, path); w.Code != http.StatusNotFound {
			t.Errorf("%s: status %d", path, w.Code)
		}
	}
}
