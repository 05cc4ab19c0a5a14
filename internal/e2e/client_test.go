package e2e

import (
	"bytes"
	"compress/gzip"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"golang.org/x/net/html"

	"holdfast/internal/web/webtest"
)

// client is a browser without a screen and without a wire: it calls the server
// directly. It follows no redirect by itself and accepts pages compressed, as
// browsers do.
type client struct {
	t    testing.TB
	url  string
	http *http.Client
}

// inside brings a request to a handler without a network between them.
type inside struct{ http.Handler }

func (i inside) RoundTrip(r *http.Request) (*http.Response, error) {
	w := httptest.NewRecorder()
	if r.Body == nil {
		r.Body = http.NoBody
	}
	r.RemoteAddr = "127.0.0.1:9"
	i.ServeHTTP(w, r)
	return w.Result(), nil
}

func newClient(t testing.TB, h http.Handler) *client {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	return &client{t, "http://localhost", &http.Client{Jar: jar, Transport: inside{h},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
}

// answer is what came back, with how many bytes it took over the wire.
type answer struct {
	status int
	header http.Header
	wire   int
	body   []byte
	doc    *webtest.Document // nil for what is no page
}

func (c *client) do(r *http.Request) answer {
	c.t.Helper()
	r.Header.Set("Accept-Encoding", "gzip")
	if r.Method == http.MethodPost {
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	resp, err := c.http.Do(r)
	if err != nil {
		c.t.Fatal(err)
	}
	defer resp.Body.Close()
	raw, err := io.ReadAll(resp.Body)
	if err != nil {
		c.t.Fatal(err)
	}
	a := answer{status: resp.StatusCode, header: resp.Header, wire: len(raw), body: raw}
	if resp.Header.Get("Content-Encoding") == "gzip" {
		z, err := gzip.NewReader(bytes.NewReader(raw))
		if err != nil {
			c.t.Fatal(err)
		}
		if a.body, err = io.ReadAll(z); err != nil {
			c.t.Fatal(err)
		}
	}
	if strings.HasPrefix(resp.Header.Get("Content-Type"), "text/html") {
		a.doc = webtest.Parse(c.t, bytes.NewReader(a.body))
	}
	return a
}

func (c *client) get(path string) answer {
	c.t.Helper()
	r, err := http.NewRequest(http.MethodGet, c.url+path, nil)
	if err != nil {
		c.t.Fatalf("%s: %v", path, err)
	}
	return c.do(r)
}

// follow gets a page, through at most three redirects.
func (c *client) follow(path string) (string, answer) {
	c.t.Helper()
	a := c.get(path)
	for range 3 {
		if a.status != http.StatusSeeOther {
			break
		}
		path = a.header.Get("Location")
		a = c.get(path)
	}
	return path, a
}

// sheet is a form of a page as a browser would send it.
type sheet struct {
	action, method, id string
	upload             bool
	values             url.Values
	// fields are the names that a person fills in, in order; hidden ones and
	// buttons are in values and buttons only.
	fields []field
	// buttons are the name and value of each button that sends it; nameless
	// ones have "".
	buttons [][2]string
}

// field is one name of a form; first is the first choice of a group.
type field struct{ name, kind, first string }

// sheets reads every form of a page.
func sheets(t testing.TB, doc *webtest.Document) []sheet {
	t.Helper()
	var all []sheet
	for _, f := range doc.All("form") {
		s := sheet{action: webtest.Attr(f, "action"), method: strings.ToUpper(webtest.Attr(f, "method")), id: webtest.Attr(f, "id"),
			upload: webtest.Attr(f, "enctype") == "multipart/form-data", values: url.Values{}}
		part := webtest.Part(t, f)
		seen := map[string]bool{}
		add := func(name, kind, value string) {
			if !seen[name] {
				seen[name] = true
				s.fields = append(s.fields, field{name, kind, value})
			}
		}
		for _, e := range part.All("input,select,textarea,button") {
			name, kind, value := webtest.Attr(e, "name"), webtest.Attr(e, "type"), webtest.Attr(e, "value")
			switch {
			case e.Data == "button":
				if kind != "button" && kind != "reset" {
					s.buttons = append(s.buttons, [2]string{name, value})
				}
			case name == "":
			case e.Data == "select":
				s.values.Set(name, chosenOption(t, e))
				add(name, "select", "")
			case e.Data == "textarea":
				s.values.Set(name, webtest.Text(e))
				add(name, "text", "")
			case kind == "hidden":
				s.values.Add(name, value)
			case kind == "checkbox" || kind == "radio":
				if hasAttr(e, "checked") {
					s.values.Add(name, value)
				}
				add(name, kind, value)
			case kind == "file":
				add(name, kind, "")
			default:
				s.values.Set(name, value)
				add(name, "text", "")
			}
		}
		all = append(all, s)
	}
	return all
}

func chosenOption(t testing.TB, sel *html.Node) string {
	t.Helper()
	options := webtest.Part(t, sel).All("option")
	for _, o := range options {
		if hasAttr(o, "selected") {
			return webtest.Attr(o, "value")
		}
	}
	if len(options) > 0 {
		return webtest.Attr(options[0], "value")
	}
	return ""
}

func hasAttr(n *html.Node, name string) bool {
	for _, a := range n.Attr {
		if a.Key == name {
			return true
		}
	}
	return false
}

// upload is a file of a form.
type upload struct {
	field, name string
	data        []byte
}

// clone is a copy of values, to be changed.
func clone(v url.Values) url.Values {
	out := url.Values{}
	for name, all := range v {
		out[name] = slices.Clone(all)
	}
	return out
}

// send posts a form.
func (c *client) send(s sheet, values url.Values, files ...upload) answer {
	c.t.Helper()
	var body bytes.Buffer
	kind := "application/x-www-form-urlencoded"
	if s.upload {
		m := multipart.NewWriter(&body)
		for name, all := range values {
			for _, v := range all {
				if err := m.WriteField(name, v); err != nil {
					c.t.Fatal(err)
				}
			}
		}
		for _, f := range files {
			part, err := m.CreateFormFile(f.field, f.name)
			if err != nil {
				c.t.Fatal(err)
			}
			if _, err := part.Write(f.data); err != nil {
				c.t.Fatal(err)
			}
		}
		if err := m.Close(); err != nil {
			c.t.Fatal(err)
		}
		kind = m.FormDataContentType()
	} else {
		body.WriteString(values.Encode())
	}
	r, err := http.NewRequest(http.MethodPost, c.url+s.action, &body)
	if err != nil {
		c.t.Fatal(err)
	}
	r.Header.Set("Content-Type", kind)
	return c.do(r)
}
