package assets

import (
	"compress/gzip"
	"io"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
)

func load(t *testing.T) *Set {
	t.Helper()
	s, err := Load()
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func get(t *testing.T, s *Set, url, encoding string) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest("GET", url, nil)
	if encoding != "" {
		r.Header.Set("Accept-Encoding", encoding)
	}
	w := httptest.NewRecorder()
	if !s.Serve(w, r) {
		t.Fatalf("no asset at %q", url)
	}
	return w
}

func TestEveryAssetIsServedPlainAndZippedAlike(t *testing.T) {
	s := load(t)
	for _, name := range []string{"desk.css", "desk.js", "bench.js", "icon.svg"} {
		plain := get(t, s, s.URL(name), "").Body.String()
		w := get(t, s, s.URL(name), "br, gzip;q=0.8")
		if w.Header().Get("Content-Encoding") != "gzip" {
			t.Fatalf("%s: not zipped for a client that takes gzip", name)
		}
		z, err := gzip.NewReader(w.Body)
		if err != nil {
			t.Fatal(err)
		}
		unzipped, err := io.ReadAll(z)
		if err != nil || string(unzipped) != plain || plain == "" {
			t.Errorf("%s: zipped bytes differ from plain (%v)", name, err)
		}
		if cc := w.Header().Get("Cache-Control"); !strings.Contains(cc, "immutable") {
			t.Errorf("%s: Cache-Control %q", name, cc)
		}
	}
}

func TestStylesheetNamesOnlyServedFiles(t *testing.T) {
	s := load(t)
	css := get(t, s, s.URL("desk.css"), "").Body.String()
	urls := regexp.MustCompile(`url\(([^)]+)\)`).FindAllStringSubmatch(css, -1)
	if len(urls) < 3 {
		t.Fatalf("found %d addresses in the stylesheet, want the three fonts at least", len(urls))
	}
	for _, u := range urls {
		if w := get(t, s, u[1], "gzip"); w.Header().Get("Content-Type") != "font/woff2" {
			t.Errorf("%s is served as %q", u[1], w.Header().Get("Content-Type"))
		}
	}
}

// The promise for a whole page is 150 KB over the wire; what every page shares
// may take at most two thirds of it.
func TestSharedWeight(t *testing.T) {
	s := load(t)
	total := 0
	for url := range s.byURL {
		if url == s.URL("bench.js") || url == s.URL("dip.js") {
			continue // of their own pages only
		}
		total += get(t, s, url, "gzip").Body.Len()
	}
	t.Logf("shared assets: %d bytes over the wire", total)
	if total == 0 || total > 100_000 {
		t.Errorf("shared assets weigh %d bytes, want 1 to 100000", total)
	}
}

func TestUnknownAsset(t *testing.T) {
	w := httptest.NewRecorder()
	if load(t).Serve(w, httptest.NewRequest("GET", Prefix+"nothing.css", nil)) || w.Body.Len() != 0 {
		t.Error("an unknown name was answered")
	}
}

func TestAcceptsGzip(t *testing.T) {
	for header, want := range map[string]bool{
		"": false, "gzip": true, "br, GZIP": true, "gzip;q=0": false, "gzip; q=0.5": true, "deflate": false,
	} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Header.Set("Accept-Encoding", header)
		if got := AcceptsGzip(r); got != want {
			t.Errorf("%q: %v, want %v", header, got, want)
		}
	}
}
