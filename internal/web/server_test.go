package web_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/door"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
)

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// newDesk is an empty desk on a store of its own.
func newDesk(t *testing.T) *desk.Desk {
	t.Helper()
	store, err := sqlite.Open(t.Context(), t.TempDir(), desk.Summary{Evidence: desk.Static{}}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = store.Close() })
	return &desk.Desk{Store: store, Evidence: desk.Static{}, Site: "shop", Now: func() time.Time { return noon }, Random: rand.Reader}
}

// visitor is a browser without a screen.
type visitor struct {
	t      *testing.T
	url    string
	client *http.Client
}

func serve(t *testing.T, c web.Config) *visitor {
	t.Helper()
	if c.Desk == nil {
		c.Desk = newDesk(t)
	}
	s, err := web.New(c)
	if err != nil {
		t.Fatal(err)
	}
	ts := httptest.NewServer(s)
	t.Cleanup(ts.Close)
	t.Cleanup(s.Stop)
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &visitor{t, ts.URL, &http.Client{Jar: jar, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

type answer struct {
	*http.Response
	body string
	*webtest.Document
}

func (v *visitor) do(r *http.Request) answer {
	v.t.Helper()
	resp, err := v.client.Do(r)
	if err != nil {
		v.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		v.t.Fatal(err)
	}
	return answer{resp, string(b), webtest.Parse(v.t, bytes.NewReader(b))}
}

func (v *visitor) request(method, path string, body io.Reader) *http.Request {
	v.t.Helper()
	r, err := http.NewRequest(method, v.url+path, body)
	if err != nil {
		v.t.Fatal(err)
	}
	return r
}

func (v *visitor) get(path string) answer {
	v.t.Helper()
	return v.do(v.request("GET", path, nil))
}

func (v *visitor) post(path string, values url.Values) answer {
	v.t.Helper()
	r := v.request("POST", path, strings.NewReader(values.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return v.do(r)
}

func want(t *testing.T, a answer, status int) answer {
	t.Helper()
	if a.StatusCode != status {
		t.Fatalf("%s %s: status %d, want %d\n%.600s", a.Request.Method, a.Request.URL.Path, a.StatusCode, status, a.body)
	}
	return a
}

func TestUnknownAddressIsAPage(t *testing.T) {
	v := serve(t, web.Config{})
	for _, path := range []string{"/nowhere", "/a/nothing.css", "/lots/%00", "/who/x"} {
		a := want(t, v.get(path), http.StatusNotFound)
		if h := a.Says("main h1"); h != "Not found" {
			t.Errorf("%s: heading %q", path, h)
		}
		a.One(`main a.b[href="/lots"]`)
	}
}

func TestEveryAnswerCarriesThePolicy(t *testing.T) {
	v := serve(t, web.Config{})
	for _, path := range []string{"/who", "/nowhere", "/healthz", "/"} {
		h := v.get(path).Header
		for name, part := range map[string]string{
			"Content-Security-Policy": "default-src 'none'", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "same-origin", "X-Frame-Options": "DENY",
		} {
			if !strings.Contains(h.Get(name), part) {
				t.Errorf("%s: %s is %q", path, name, h.Get(name))
			}
		}
		if strings.Contains(h.Get("Content-Security-Policy"), "unsafe") {
			t.Errorf("%s: the policy allows what it calls unsafe", path)
		}
	}
}

func TestFormsFromForeignPagesAreRefused(t *testing.T) {
	v := serve(t, web.Config{})
	for _, header := range [][2]string{{"Sec-Fetch-Site", "cross-site"}, {"Origin", "https://elsewhere.example"}} {
		r := v.request("POST", "/who", strings.NewReader("name=Mara"))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set(header[0], header[1])
		a := want(t, v.do(r), http.StatusForbidden)
		if len(a.Cookies()) != 0 {
			t.Errorf("%v: a cookie was set", header)
		}
	}
}

func TestForeignHostNamesAreRefused(t *testing.T) {
	v := serve(t, web.Config{Hosts: []string{"desk.example"}})
	for host, status := range map[string]int{
		"elsewhere.example": 421, "127.0.0.1.elsewhere.example": 421, "10.0.0.7": 421,
		"localhost:8080": 200, "127.0.0.1": 200, "[::1]:99": 200, "desk.example": 200, "DESK.example:80": 200,
	} {
		r := v.request("GET", "/who", nil)
		r.Host = host
		if a := v.do(r); a.StatusCode != status {
			t.Errorf("%s: status %d, want %d", host, a.StatusCode, status)
		}
	}
}

func TestBodyIsBounded(t *testing.T) {
	v := serve(t, web.Config{})
	a := want(t, v.post("/who", url.Values{"name": {strings.Repeat("x", 10<<20)}}), http.StatusRequestEntityTooLarge)
	a.One("main h1")
	want(t, v.get("/who"), http.StatusOK)
}

func TestWho(t *testing.T) {
	v := serve(t, web.Config{})
	for _, bad := range []string{"", "   ", strings.Repeat("x", 41), "a\x00b", "\xff"} {
		a := want(t, v.post("/who", url.Values{"name": {bad}}), http.StatusBadRequest)
		field := a.One("#name")
		if webtest.Attr(field, "aria-invalid") != "true" || webtest.Attr(field, "aria-describedby") != "name-err" {
			t.Errorf("%q: the field does not show its error", bad)
		}
		a.One("#name-err")
	}
	a := want(t, v.post("/who", url.Values{"name": {" Mära & Jo "}, "back": {"/lots?x=1"}}), http.StatusSeeOther)
	if a.Header.Get("Location") != "/lots?x=1" {
		t.Errorf("leads to %q", a.Header.Get("Location"))
	}
	if got := v.get("/who").Says(".where a[href^='/who']"); got != "Mära & Jo" {
		t.Errorf("the head says %q", got)
	}
}

// Whatever stands in "back", the browser stays on this desk.
func TestBackStaysHere(t *testing.T) {
	v := serve(t, web.Config{})
	for _, back := range []string{"https://elsewhere.example/", "//elsewhere.example", `/\elsewhere.example`, "javascript:alert(1)", "", "lots", "/sign-out", "/a\r\nSet-Cookie: x=1", "http:/elsewhere.example", "/\t/elsewhere.example"} {
		a := want(t, v.post("/who", url.Values{"name": {"Jo"}, "back": {back}}), http.StatusSeeOther)
		if got := a.Header.Get("Location"); got != "/round" {
			t.Errorf("%q leads to %q", back, got)
		}
	}
}

func TestUndoOnce(t *testing.T) {
	d := newDesk(t)
	v := serve(t, web.Config{Desk: d})
	s, err := d.Settings(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	before := s.BagSize
	s.BagSize = before + 5
	id, err := d.NewID()
	if err != nil {
		t.Fatal(err)
	}
	if err := d.SetShop(t.Context(), desk.Actor{Who: "Mara", ID: id}, s); err != nil {
		t.Fatal(err)
	}

	a := want(t, v.get("/who?did="+string(id)), http.StatusOK)
	if got := a.Says("#strips .say"); got != "Recorded. Shop settings changed." {
		t.Errorf("the strip says %q", got)
	}
	form := a.fields("#strips form")
	v.post("/who", url.Values{"name": {"Jo"}})
	for range 2 { // pressed twice, or in two tabs
		want(t, v.post("/undo", form), http.StatusSeeOther)
	}
	if s, err = d.Settings(t.Context()); err != nil || s.BagSize != before {
		t.Fatalf("bag size %d after the undo, want %d (%v)", s.BagSize, before, err)
	}
	a = want(t, v.get(v.post("/undo", form).Header.Get("Location")), http.StatusOK)
	if got := a.Says("#strips .b"); got != "Put it back" {
		t.Errorf("after an undo the strip offers %q", got)
	}
	want(t, v.post("/undo", a.fields("#strips form")), http.StatusSeeOther)
	if s, err = d.Settings(t.Context()); err != nil || s.BagSize != before+5 {
		t.Fatalf("bag size %d after putting back, want %d (%v)", s.BagSize, before+5, err)
	}
	n := 0
	if err := d.Store.Each(t.Context(), 0, func(e holdfast.Entry) error { n++; return nil }); err != nil || n != 3 {
		t.Errorf("%d entries, want 3 (%v)", n, err)
	}
}

// fields are the hidden fields of the one form a selector finds.
func (a answer) fields(form string) url.Values {
	out := url.Values{}
	for _, n := range a.All(form + " input") {
		out.Set(webtest.Attr(n, "name"), webtest.Attr(n, "value"))
	}
	return out
}

func TestUndoOfNonsense(t *testing.T) {
	v := serve(t, web.Config{})
	want(t, v.post("/undo", url.Values{}), http.StatusBadRequest)
	want(t, v.post("/undo", url.Values{"entry": {"nonsense"}}), http.StatusBadRequest)
	want(t, v.post("/undo", url.Values{"entry": {"0193e3a0-0000-7000-8000-000000000000"}}), http.StatusNotFound)
	want(t, v.post("/undo", url.Values{"entry": {"0193e3a0-0000-7000-8000-000000000000"}, "id": {"x"}}), http.StatusBadRequest)
	r := v.request("POST", "/undo", strings.NewReader("%%%"))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	want(t, v.do(r), http.StatusBadRequest)
	if a := want(t, v.get("/who?did=0193e3a0-0000-7000-8000-000000000000"), http.StatusOK); len(a.All("#strips .strip")) != 0 {
		t.Error("an unknown entry has a strip")
	}
}

const word = "five shrimp in a bucket"

func TestSignIn(t *testing.T) {
	dir := t.TempDir()
	if err := door.Set(dir, word); err != nil {
		t.Fatal(err)
	}
	d, err := door.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	var logged bytes.Buffer
	v := serve(t, web.Config{Door: d, Log: slog.New(slog.NewJSONHandler(&logged, nil))})

	a := want(t, v.get("/who?x=1"), http.StatusSeeOther)
	if got := a.Header.Get("Location"); got != "/sign-in?back=%2Fwho%3Fx%3D1" {
		t.Fatalf("leads to %q", got)
	}
	want(t, v.post("/who", url.Values{"name": {"Jo"}}), http.StatusUnauthorized)
	want(t, v.get("/healthz"), http.StatusOK)
	want(t, v.get("/nowhere"), http.StatusSeeOther) // tells a stranger nothing
	if n := len(want(t, v.get("/sign-in"), http.StatusOK).All("nav")); n != 0 {
		t.Error("a stranger sees the words of the head")
	}

	a = want(t, v.post("/sign-in", url.Values{"password": {"wrong"}, "back": {"/who"}}), http.StatusUnprocessableEntity)
	if webtest.Attr(a.One("#password"), "value") != "" {
		t.Error("the wrong password came back")
	}
	a = want(t, v.post("/sign-in", url.Values{"password": {word}, "back": {"/who"}}), http.StatusSeeOther)
	if a.Header.Get("Location") != "/who" {
		t.Errorf("leads to %q", a.Header.Get("Location"))
	}
	for _, c := range a.Cookies() {
		if !c.HttpOnly || c.SameSite != http.SameSiteLaxMode {
			t.Errorf("cookie %s can be read by script or sent from elsewhere", c.Name)
		}
	}
	want(t, v.get("/who"), http.StatusOK).One(`form[action="/sign-out"]`)
	want(t, v.post("/sign-out", nil), http.StatusSeeOther)
	want(t, v.get("/who"), http.StatusSeeOther)

	for range 8 {
		a = v.post("/sign-in", url.Values{"password": {"wrong again"}})
	}
	want(t, a, http.StatusTooManyRequests)
	want(t, v.post("/sign-in", url.Values{"password": {word}}), http.StatusTooManyRequests)

	for _, secret := range []string{word, "wrong again", "Jo"} {
		if strings.Contains(logged.String(), secret) {
			t.Errorf("the log contains %q", secret)
		}
	}
	if !strings.Contains(logged.String(), `"path":"/sign-in"`) {
		t.Error("nothing was logged")
	}
}

func TestOpenAddressNeedsAPassword(t *testing.T) {
	s, err := web.New(web.Config{Desk: newDesk(t)})
	if err != nil {
		t.Fatal(err)
	}
	if ln, err := s.Listen("0.0.0.0:0"); err == nil {
		_ = ln.Close()
		t.Fatal("listens to the world without a password")
	}
	ln, err := s.Listen("127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	done := make(chan error)
	go func() { done <- s.Serve(ctx, ln) }()
	resp, err := http.Get("http://" + ln.Addr().String() + "/healthz")
	if err != nil || resp.StatusCode != http.StatusOK {
		t.Fatalf("%v %v", resp, err)
	}
	_ = resp.Body.Close()
	stop()
	if err := <-done; err != nil {
		t.Errorf("a graceful end is an error: %v", err)
	}
}

func TestNotReady(t *testing.T) {
	v := serve(t, web.Config{Ready: func(context.Context) error { return io.ErrUnexpectedEOF }})
	want(t, v.get("/healthz"), http.StatusServiceUnavailable)
}

// A page that fails says so without the reason, which stands in the log.
func TestFaultIsAPage(t *testing.T) {
	d := newDesk(t)
	var logged bytes.Buffer
	v := serve(t, web.Config{Desk: d, Log: slog.New(slog.NewTextHandler(&logged, nil))})
	d.Now = func() time.Time { panic("the clock fell off the wall") }
	a := want(t, v.get("/who"), http.StatusInternalServerError)
	if strings.Contains(a.body, "clock") {
		t.Error("the page tells the reason")
	}
	ref := a.Says("main .lines b")
	if ref == "" || !strings.Contains(logged.String(), ref) || !strings.Contains(logged.String(), "fell off the wall") {
		t.Errorf("the log does not tell the reason under %q", ref)
	}
}

// Pages keep to the weight and to one host: nothing in their markup leads
// elsewhere, and nothing in it is style or script.
func TestMarkupIsPlain(t *testing.T) {
	v := serve(t, web.Config{})
	for _, path := range []string{"/who", "/nowhere"} {
		a := v.get(path)
		for _, n := range a.All("*") {
			for _, at := range n.Attr {
				if at.Key == "style" || strings.HasPrefix(at.Key, "on") {
					t.Errorf("%s: %s on %s", path, at.Key, n.Data)
				}
				if (at.Key == "src" || at.Key == "href" || at.Key == "action") && !strings.HasPrefix(at.Val, "/") && !strings.HasPrefix(at.Val, "#") {
					t.Errorf("%s: %s leads to %q", path, n.Data, at.Val)
				}
			}
			if (n.Data == "script" || n.Data == "style") && n.FirstChild != nil && n.FirstChild.Type == html.TextNode {
				t.Errorf("%s: inline %s", path, n.Data)
			}
		}
	}
}
