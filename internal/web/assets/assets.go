// Package assets holds what the pages need beside their HTML: one stylesheet,
// one script for all pages and one each for the bench and the watch of a dip,
// three fonts and an icon, all our own or under the SIL Open Font License,
// embedded and served from this machine only.
//
// Each file is served under a name that contains the hash of its bytes, so a
// browser may keep it for a year and still sees every change at once.
package assets

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io/fs"
	"net/http"
	"path"
	"strconv"
	"strings"
)

//go:embed css/*.css font/*.woff2 font/*.txt desk.js bench.js dip.js icon.svg
var files embed.FS

// Prefix is the path under which every asset stands.
const Prefix = "/a/"

// file is one asset, ready to be sent.
type file struct {
	mime   string
	plain  []byte
	zipped []byte // nil where compression does not pay
}

// Set is every asset under its hashed name.
type Set struct {
	byURL map[string]file   // URL path to content
	urls  map[string]string // plain name to URL path
}

// Load reads the embedded files, hashes and compresses them. It fails only if
// the program was built wrongly.
func Load() (*Set, error) {
	s := &Set{byURL: map[string]file{}, urls: map[string]string{}}
	css, err := stylesheet()
	if err != nil {
		return nil, err
	}
	fonts, err := fs.Glob(files, "font/*.woff2")
	if err != nil {
		return nil, err
	}
	// Fonts come first: the stylesheet must name them as they are served.
	for _, name := range append(fonts, "desk.js", "bench.js", "dip.js", "icon.svg") {
		b, err := files.ReadFile(name)
		if err != nil {
			return nil, err
		}
		url := s.add(name, b)
		css = bytes.ReplaceAll(css, []byte("url("+name+")"), []byte("url("+url+")"))
	}
	s.add("desk.css", css)
	return s, nil
}

// stylesheet joins the css folder in the order of its file names.
func stylesheet() ([]byte, error) {
	names, err := fs.Glob(files, "css/*.css") // sorted
	if err != nil {
		return nil, err
	}
	var all bytes.Buffer
	for _, name := range names {
		b, err := files.ReadFile(name)
		if err != nil {
			return nil, err
		}
		all.Write(b)
	}
	return all.Bytes(), nil
}

func (s *Set) add(name string, b []byte) string {
	sum := sha256.Sum256(b)
	ext := path.Ext(name)
	base := strings.TrimSuffix(path.Base(name), ext)
	url := Prefix + base + "." + hex.EncodeToString(sum[:6]) + ext
	f := file{mime: mimeOf(ext), plain: b}
	if ext != ".woff2" { // already compressed inside
		f.zipped = zip(b)
	}
	s.byURL[url] = f
	s.urls[path.Base(name)] = url
	return url
}

// mimeOf does not ask the machine's own table, which differs between machines.
func mimeOf(ext string) string {
	switch ext {
	case ".css":
		return "text/css; charset=utf-8"
	case ".js":
		return "text/javascript; charset=utf-8"
	case ".svg":
		return "image/svg+xml"
	default:
		return "font/woff2"
	}
}

func zip(b []byte) []byte {
	var out bytes.Buffer
	w, err := gzip.NewWriterLevel(&out, gzip.BestCompression)
	if err != nil {
		return nil
	}
	if _, err := w.Write(b); err != nil || w.Close() != nil {
		return nil
	}
	return out.Bytes()
}

// URL returns the address of the asset with that plain name, "desk.css" for
// instance, or an empty string if there is none.
func (s *Set) URL(name string) string { return s.urls[name] }

// Serve answers r with the asset at its path and reports whether there is one;
// if not, nothing has been written.
func (s *Set) Serve(w http.ResponseWriter, r *http.Request) bool {
	f, ok := s.byURL[r.URL.Path]
	if !ok {
		return false
	}
	h := w.Header()
	h.Set("Content-Type", f.mime)
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	body := f.plain
	if f.zipped != nil {
		h.Add("Vary", "Accept-Encoding")
		if AcceptsGzip(r) {
			h.Set("Content-Encoding", "gzip")
			body = f.zipped
		}
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	_, _ = w.Write(body) // the reader has gone away: nothing to be done
	return true
}

// AcceptsGzip reports whether the client of r takes gzip-coded answers.
func AcceptsGzip(r *http.Request) bool {
	for _, part := range strings.Split(r.Header.Get("Accept-Encoding"), ",") {
		coding, params, _ := strings.Cut(strings.TrimSpace(part), ";")
		if strings.EqualFold(strings.TrimSpace(coding), "gzip") {
			q := strings.ReplaceAll(params, " ", "")
			return q != "q=0" && q != "q=0.0" && q != "q=0.00" && q != "q=0.000"
		}
	}
	return false
}
