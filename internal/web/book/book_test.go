package book

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/a-h/templ"

	"holdfast/internal/web/assets"
	"holdfast/internal/web/view"
	"holdfast/internal/web/webtest"
	"holdfast/reference"
	"holdfast/science/signs"
)

// site serves the pages as the desk will, under its content policy.
func site(t *testing.T) *httptest.Server {
	t.Helper()
	set, err := assets.Load()
	if err != nil {
		t.Fatal(err)
	}
	book, model := reference.Builtin(), signs.Default()
	frame := view.Page{Frame: view.Frame{Assets: set, Now: time.Date(2026, 11, 25, 14, 10, 0, 0, time.UTC), Who: "Mara"}}
	show := func(w http.ResponseWriter, r *http.Request, c templ.Component) {
		w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; script-src 'self'; font-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'")
		w.Header().Set("Content-Type", "text/html; charset=utf-8")
		if err := c.Render(r.Context(), w); err != nil {
			t.Error(err)
		}
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET "+assets.Prefix, func(w http.ResponseWriter, r *http.Request) {
		if !set.Serve(w, r) {
			http.NotFound(w, r)
		}
	})
	mux.HandleFunc("GET /reference", func(w http.ResponseWriter, r *http.Request) {
		show(w, r, ReferencePage(frame, book, r.URL.Query()))
	})
	mux.HandleFunc("GET /reference/{what}/{id}", func(w http.ResponseWriter, r *http.Request) {
		c, ok := EntryPage(frame, book, r.PathValue("what"), r.PathValue("id"), nil)
		if !ok {
			http.NotFound(w, r)
			return
		}
		show(w, r, c)
	})
	// These are the desk's own pages; its tests open them.
	for _, path := range []string{"/reference/new", "/signs/cases", "/ask"} {
		mux.HandleFunc("GET "+path, func(w http.ResponseWriter, r *http.Request) {
			show(w, r, view.ProblemPage(frame, view.Problem{Heading: "A page of the desk"}))
		})
	}
	mux.HandleFunc("GET /signs", func(w http.ResponseWriter, r *http.Request) {
		c, err := SignsPage(frame, model, book, r.URL.Query(), SignsMore{})
		if err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		show(w, r, c)
	})
	s := httptest.NewServer(mux)
	t.Cleanup(s.Close)
	return s
}

// addresses are the states worth looking at.
var addresses = map[string]string{
	"reference":        "/reference",
	"reference-found":  "/reference?q=white",
	"reference-kind":   "/reference?kind=look-alike",
	"reference-empty":  "/reference?q=bicycle",
	"entry-worm":       "/reference/condition/rostrum_worm",
	"entry-listed":     "/reference/condition/listed_disease",
	"entry-saddle":     "/reference/look-alike/saddle",
	"entry-salt":       "/reference/medicine/sodium_chloride_dip",
	"entry-cherry":     "/reference/species/neocaridina_davidi",
	"entry-topic":      "/reference/topic/put_down",
	"entry-disease":    "/reference/listed-disease/white_spot",
	"signs-empty":      "/signs",
	"signs-white":      "/signs?site=rostrum&colour=white&animal=neocaridina",
	"signs-hold":       "/signs?animal=prawn&site=muscle&form=milky&deaths=fast",
	"signs-nothing":    "/signs?site=belly&form=crown&colour=silver&depth=inside&motion=loops&time=hours",
	"signs-bad-length": "/signs?site=rostrum&mm=ten",
}

func TestPagesLookRight(t *testing.T) {
	s := site(t)
	b := webtest.New(t)
	shots := os.Getenv("HOLDFAST_SHOTS")
	for name, address := range addresses {
		b.Everywhere(s.URL+address, shots, "book-"+name, nil)
		if shots != "" {
			for _, size := range []webtest.Size{webtest.Phone, webtest.Laptop} {
				b.Look(size, webtest.Light)
				b.Go(s.URL + address)
				b.Shot(shots, "book-"+name+"-"+size.Name+"-whole", true)
			}
		}
	}
}

func get(t *testing.T, s *httptest.Server, address string) string {
	t.Helper()
	resp, err := http.Get(s.URL + address)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		t.Fatal(err)
	}
	if resp.StatusCode != http.StatusOK {
		t.Fatalf("%s: status %d", address, resp.StatusCode)
	}
	return string(b)
}

// TestEveryLinkLeadsSomewhere follows every link of every entry, and every
// entry is reached from the list.
func TestEveryLinkLeadsSomewhere(t *testing.T) {
	s := site(t)
	seen := map[string]bool{}
	next := []string{"/reference"}
	for len(next) > 0 {
		address := next[0]
		next = next[1:]
		if seen[address] {
			continue
		}
		seen[address] = true
		for _, part := range strings.Split(get(t, s, address), `href="`)[1:] {
			link, _, _ := strings.Cut(part, `"`)
			link = strings.ReplaceAll(link, "&amp;", "&")
			if strings.HasPrefix(link, "/reference") || strings.HasPrefix(link, "/signs") {
				next = append(next, link)
			}
		}
	}
	for _, h := range everything(reference.Builtin()) {
		if !seen[EntryURL(h.What, h.ID)] {
			t.Errorf("%s %s is not reached", h.What, h.ID)
		}
	}
	if len(seen) < 90 {
		t.Fatalf("only %d pages", len(seen))
	}
}

func TestSignsFromAPhone(t *testing.T) {
	s := site(t)
	page := get(t, s, "/signs?site=rostrum&colour=white&animal=neocaridina&mm=1,5")
	for _, want := range []string{"Rostrum worm", "Look at this next", "What else looks like it", "not a finding", "on the rostrum or between the eyes"} {
		if !strings.Contains(page, want) {
			t.Errorf("%q is missing", want)
		}
	}
	if page := get(t, s, "/signs?site=rostrum&mm=-2"); !strings.Contains(page, `aria-invalid="true"`) || !strings.Contains(page, "Rostrum worm") {
		t.Error("a bad length is not told, or costs the other answers")
	}
	if page := get(t, s, "/signs?site=rostrum&nonsense=1"); !strings.Contains(page, "Rostrum worm") {
		t.Error("a foreign word in the address breaks the page")
	}
	resp, err := http.Get(s.URL + "/signs?site=nose")
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	if resp.StatusCode != http.StatusBadRequest {
		t.Errorf("an unknown answer: status %d", resp.StatusCode)
	}
}

func TestHoldIsSaidFirst(t *testing.T) {
	page := get(t, site(t), "/signs?animal=prawn&form=milky&deaths=fast")
	hold, suspects := strings.Index(page, "Hold everything."), strings.Index(page, `id="suspects"`)
	if hold < 0 || hold > suspects {
		t.Errorf("hold at %d, suspects at %d", hold, suspects)
	}
}

func TestHeldSuspectStandsFirst(t *testing.T) {
	v, err := newSigns(signs.Default(), reference.Builtin(), url.Values{"animal": {"prawn"}, "site": {"muscle"}, "form": {"milky"}, "deaths": {"fast"}})
	if err != nil {
		t.Fatal(err)
	}
	if !v.hold || v.suspects[0].name != "Notifiable disease" {
		t.Errorf("hold %v, first %q", v.hold, v.suspects[0].name)
	}
}

// TestNextAnswersLoseNothing: whatever stands open or shut, every answer of
// the next look can be ticked once.
func TestNextAnswersLoseNothing(t *testing.T) {
	m := signs.Default()
	v, err := newSigns(m, reference.Builtin(), url.Values{"site": {"rostrum"}, "colour": {"white"}})
	if err != nil {
		t.Fatal(err)
	}
	if v.next.id != "form" || len(v.next.more) == 0 || v.next.ticks[0].value != "finger" && v.next.ticks[0].value != "tentacled" {
		t.Errorf("next is %s, first answer %s, %d shut away", v.next.id, v.next.ticks[0].value, len(v.next.more))
	}
	seen := map[string]bool{}
	for _, k := range slices.Concat(v.next.ticks, v.next.more) {
		seen[k.value] = true
	}
	for _, q := range m.Questions() {
		if q.ID == v.next.id && len(seen) != len(q.Options) {
			t.Errorf("%d of %d answers", len(seen), len(q.Options))
		}
	}
}

func TestAbsentEntries(t *testing.T) {
	b := reference.Builtin()
	for _, c := range [][2]string{{"condition", "unicorn"}, {"pest", "rostrum_worm"}, {"", ""}, {"listed-disease", "flu"}} {
		if _, ok := EntryPage(view.Page{}, b, c[0], c[1], nil); ok {
			t.Errorf("%v has a page", c)
		}
	}
}

func FuzzQueries(f *testing.F) {
	f.Add("q=white&kind=pest", "site=rostrum&mm=1.5")
	f.Add("q=%00%ff", "mm=1e400&size=over_10_mm")
	b, m := reference.Builtin(), signs.Default()
	f.Fuzz(func(t *testing.T, list, ticks string) {
		q, _ := url.ParseQuery(list)
		newList(b, q)
		q, _ = url.ParseQuery(ticks)
		if v, err := newSigns(m, b, q); err == nil && v.answered && len(v.suspects) < 3 {
			t.Fatalf("%q names %d suspects", ticks, len(v.suspects))
		}
	})
}

// Every number of the drawing stands beside an answer to "where is it", once.
func TestEveryPlaceOfTheDrawingCanBeTicked(t *testing.T) {
	b := reference.Builtin()
	v, err := newSigns(signs.Default(), b, url.Values{})
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]int{}
	for _, q := range v.questions {
		for _, k := range q.ticks {
			for _, n := range strings.FieldsFunc(k.no, func(r rune) bool { return r == ',' || r == ' ' }) {
				seen[n]++
			}
		}
	}
	for _, s := range b.Sites() {
		if s.Number > 0 && seen[strconv.Itoa(s.Number)] != 1 {
			t.Errorf("place %d, %s, stands beside %d answers", s.Number, s.Name, seen[strconv.Itoa(s.Number)])
		}
	}
	if len(seen) < 15 {
		t.Errorf("only %d numbers", len(seen))
	}
}
