package e2e

import (
	"bytes"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/webtest"
)

// What people, phones and strangers put into a field. What is unreadable may
// stand nowhere, not even in a note.
var bad = []struct {
	name, value string
	unreadable  bool
}{
	{"empty", "", false},
	{"blank", "   ", false},
	{"negative", "-5", false},
	{"huge", "99999999999999999999999", false},
	{"infinite", "1e999", false},
	{"not a number", "NaN", false},
	{"wrong unit", "12 gallons", false},
	{"wrong encoding", "caf\xe9 \xff\xfe", true},
	{"null", "a\x00b", true},
	{"markup", `"><script>alert(1)</script>`, false},
	{"long", strings.Repeat("x", 20_000), true},
	{"far away", "../../etc/passwd", false},
}

// Every field of every form on every page is sent empty, negative, huge and so
// on, everything else filled in. The answer is a page that says what is wrong,
// or a harmless result that can be taken back; never a fault of the program,
// and nothing half-written.
func TestBadInputAtEveryField(t *testing.T) {
	w := newWorld(t)
	c := newClient(t, w.server)
	sent, refused := 0, 0
	forms := everyForm(t, w, c)
	lots, at := standing(t, w), head(t, w)
	for _, f := range forms {
		alike := map[string]bool{}
		for i, fl := range f.fields {
			// The second of a row of fields is read as the first; files have tests
			// of their own.
			kin := strings.TrimRight(fl.name, "0123456789")
			if fl.kind == "file" || alike[kin] {
				continue
			}
			alike[kin] = true
			for j, b := range bad {
				values := f.filled(i + j)
				values.Set(fl.name, b.value)
				id, err := w.NewID()
				if err != nil {
					t.Fatal(err)
				}
				if values.Has("id") {
					values.Set("id", string(id))
				}
				before := head(t, w)
				if before != at {
					lots, at = standing(t, w), before
				}
				a := c.send(f.sheet, values)
				sent++
				what := fmt.Sprintf("POST %s from %s, %s %s", f.action, f.page, fl.name, b.name)
				written := head(t, w) - before
				if a.status >= 400 {
					refused++
				}
				switch {
				case a.status >= 500:
					t.Errorf("%s: status %d\n%.400s", what, a.status, a.body)
				case a.status >= 400 && written != 0:
					t.Errorf("%s: refused with %d, and %d entries were written", what, a.status, written)
				case a.status >= 400:
					saysWhy(t, what, fl, a)
				case a.status != http.StatusSeeOther && a.status != http.StatusOK:
					t.Errorf("%s: status %d", what, a.status)
				case b.unreadable && written != 0 && fl.kind == "text":
					t.Errorf("%s: it was recorded", what)
				}
				if bytes.Contains(a.body, []byte("<script>alert")) {
					t.Errorf("%s: what was typed became markup", what)
				}
				if written > 0 {
					takeBack(t, w, before)
					if now := standing(t, w); now != lots {
						t.Errorf("%s: taken back, the lots stand at\n%s\nand stood at\n%s", what, now, lots)
					}
				}
			}
		}
	}
	if findings, err := w.store.Verify(t.Context(), nil); err != nil || len(findings) > 0 {
		t.Errorf("after all that verify finds %v (%v)", findings, err)
	}
	t.Logf("%d forms sent, %d refused", sent, refused)
	if sent < 1000 || refused < 300 {
		t.Errorf("%d forms sent and %d refused: the forms of the pages were not found", sent, refused)
	}
}

// Ten megabytes of text in a field are refused before anything is read of them.
func TestTenMegabytesAtEveryForm(t *testing.T) {
	w := newWorld(t)
	c := newClient(t, w.server)
	reached := map[string]bool{}
	huge := strings.Repeat("lorem ipsum ", 10<<20/12)
	done := map[string]bool{}
	for _, f := range everyForm(t, w, c) {
		reached["POST "+f.route] = true
		i := slices.IndexFunc(f.fields, func(fl field) bool { return fl.kind == "text" })
		if done[f.route] || i < 0 || f.route == "/sign-in" { // this desk has no password
			continue
		}
		done[f.route] = true
		before := head(t, w)
		values := f.filled(0)
		values.Set(f.fields[i].name, huge)
		a := c.send(f.sheet, values)
		if a.status != http.StatusRequestEntityTooLarge && a.status != http.StatusBadRequest && !shownAgain(f.route, values) {
			t.Errorf("POST %s: status %d", f.action, a.status)
		}
		if a.doc == nil || len(a.doc.All("main h1")) != 1 {
			t.Errorf("POST %s: no page came back", f.action)
		} else if len(a.body) > 2<<20 {
			t.Errorf("POST %s: the answer has %d MB", f.action, len(a.body)>>20)
		}
		if head(t, w) != before {
			t.Errorf("POST %s: something was written", f.action)
		}
	}
	for _, p := range w.server.Patterns() {
		if strings.HasPrefix(p, "POST ") && !reached[p] && !testedBeside(t, p) {
			t.Errorf("no form of any page leads to %s, and no test beside the handlers sends to it", p)
		}
	}
	if len(done) < 20 {
		t.Errorf("only %d forms were tried", len(done))
	}
}

// shownAgain reports whether a form is only shown again with what was typed, cut
// to what its fields hold.
func shownAgain(route string, v url.Values) bool {
	return route == "/receive" && v.Get("do") != "receive"
}

// testedBeside reports whether a test beside the handlers sends to a route:
// some forms show only in a state that takes long to reach, and some routes are
// called by the page's script.
func testedBeside(t *testing.T, pattern string) bool {
	t.Helper()
	files, err := filepath.Glob("../web/*_test.go")
	if err != nil || len(files) == 0 {
		t.Fatalf("no tests beside the handlers (%v)", err)
	}
	_, path, _ := strings.Cut(pattern, " ")
	if i := strings.LastIndex(path, "}"); i >= 0 && i+1 < len(path) {
		path = path[i+1:]
	}
	for _, f := range files {
		raw, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(raw), path) {
			return true
		}
	}
	return false
}

// drawn is a form as a page shows it, with the route it leads to.
type drawn struct {
	sheet
	page, route string
}

// everyForm reads the POST forms of every page, each kind once: forms that lead
// to the same route and ask for the same fields are alike.
func everyForm(t *testing.T, w *world, c *client) []drawn {
	t.Helper()
	mux := http.NewServeMux()
	for _, p := range w.server.Patterns() {
		mux.HandleFunc(p, func(http.ResponseWriter, *http.Request) {})
	}
	var all []drawn
	seen := map[string]bool{}
	add := func(page string, doc *webtest.Document) {
		for _, s := range sheets(t, doc) {
			if s.method != http.MethodPost {
				continue
			}
			_, p := mux.Handler(httptest.NewRequest("POST", "http://localhost"+s.action, nil))
			_, route, _ := strings.Cut(p, " ")
			if p == "/" {
				t.Errorf("%s has a form that leads to %s, where nothing is", page, s.action)
			}
			names := route
			for _, f := range s.fields {
				names += "," + strings.TrimRight(f.name, "0123456789")
			}
			if !seen[names] {
				seen[names] = true
				all = append(all, drawn{s, page, route})
			}
		}
	}
	for _, p := range places {
		for _, path := range p.full(w) {
			a := c.get(path)
			if a.status != http.StatusOK {
				t.Fatalf("%s: status %d", path, a.status)
			}
			add(path, a.doc)
		}
	}
	// What follows an upload, an entry and a sign-in has forms too.
	a := c.send(sheet{action: "/receive/list", upload: true}, url.Values{"supplier": {"Invented Farm"}}, upload{"file", "list.csv", []byte(packingList)})
	add("/receive/list", a.doc)
	id, err := w.NewID()
	if err != nil {
		t.Fatal(err)
	}
	a = c.send(sheet{action: "/lots/" + w.held + "/note"}, url.Values{"id": {string(id)}, "text": {"All quiet."}, "note": {"All quiet."}})
	_, b := c.follow(a.header.Get("Location"))
	add("/lots/{id}?did=", b.doc)
	all = append(all,
		drawn{sheet{action: "/sign-in", method: http.MethodPost, values: url.Values{}, fields: []field{{"password", "text", ""}}}, "/sign-in", "/sign-in"},
		drawn{sheet{action: "/sign-out", method: http.MethodPost, values: url.Values{}}, "/settings", "/sign-out"})
	return all
}

// filled are the values of the form with something in every field a person
// could fill, and one of its buttons pressed.
func (d drawn) filled(turn int) url.Values {
	v := clone(d.values)
	for _, f := range d.fields {
		if f.kind == "text" && v.Get(f.name) == "" {
			v.Set(f.name, plausible(f.name))
		}
		if (f.kind == "radio" || f.kind == "checkbox") && v.Get(f.name) == "" {
			v.Set(f.name, f.first)
		}
	}
	if n := len(d.buttons); n > 0 {
		if b := d.buttons[turn%n]; b[0] != "" {
			v.Set(b[0], b[1])
		}
	}
	return v
}

// plausible is something that fits most fields of that name.
func plausible(name string) string {
	for _, word := range []string{"note", "reason", "text", "override", "name", "failed", "declaration", "contact"} {
		if strings.Contains(name, word) {
			return "Written by a test."
		}
	}
	if name == "at" || strings.HasPrefix(name, "from") || strings.HasPrefix(name, "to") {
		return ""
	}
	return "7" // a pH, a temperature, a count
}

// saysWhy checks that a refusal says what is wrong, at the field where there is
// one.
func saysWhy(t *testing.T, what string, f field, a answer) {
	t.Helper()
	if a.doc == nil || len(a.doc.All("main h1")) != 1 {
		t.Errorf("%s: refused with %d and no page", what, a.status)
		return
	}
	for _, e := range a.doc.All("[aria-invalid=true]") {
		by := webtest.Attr(e, "aria-describedby")
		for _, id := range strings.Fields(by) {
			if len(a.doc.All(`[id="`+id+`"]`)) == 0 {
				t.Errorf("%s: what is wrong with %s stands nowhere", what, webtest.Attr(e, "name"))
			}
		}
	}
	if len(a.doc.All(`[aria-invalid=true], [role=alert], main .err, #strips .strip, main .problem`)) == 0 {
		t.Errorf("%s: refused with %d, and the page does not say why: %.300s", what, a.status, webtest.Text(a.doc.One("main")))
	}
}

func head(t *testing.T, w *world) int64 {
	t.Helper()
	n, _, err := w.Store.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// takeBack undoes every entry after the given one, newest first.
func takeBack(t *testing.T, w *world, after int64) {
	t.Helper()
	var ids []holdfast.ID
	if err := w.Store.Each(t.Context(), after, func(e holdfast.Entry) error { ids = append(ids, e.ID); return nil }); err != nil {
		t.Fatal(err)
	}
	for _, id := range slices.Backward(ids) {
		if _, err := w.Undo(t.Context(), desk.Actor{Who: "Jo"}, id, ""); err != nil {
			t.Fatalf("entry %s cannot be taken back: %v", id, err)
		}
	}
}

// standing is where the lots with something on them stand, as text.
func standing(t *testing.T, w *world) string {
	t.Helper()
	var b strings.Builder
	for _, id := range []string{w.held, w.found, w.released, w.suspected, w.unplaced, w.recalled, w.closed} {
		l, err := w.Lot(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		line, err := json.Marshal(map[string]any{"id": id, "status": l.Status, "alive": l.Alive, "places": l.Places, "suspects": l.Suspects,
			"sold": l.Sold, "deaths": l.Deaths, "doa": l.DOA, "gone": l.Gone, "removed": l.Removed, "born": l.Born, "events": len(l.Events)})
		if err != nil {
			t.Fatal(err)
		}
		b.Write(append(line, '\n'))
	}
	return b.String()
}
