package web

import (
	"bytes"
	"cmp"
	"compress/gzip"
	"mime"
	"net/http"
	"strconv"
	"sync"
	"time"

	"github.com/a-h/templ"

	"holdfast/internal/web/assets"
	"holdfast/internal/web/view"
)

// smallest page worth compressing: below it the envelope eats the gain.
const zipFrom = 1400

var zippers = sync.Pool{New: func() any {
	z, _ := gzip.NewWriterLevel(nil, gzip.DefaultCompression) // fails for unknown levels only
	return z
}}

// page renders a component into memory and sends it with a status.
func (s *Server) page(w http.ResponseWriter, r *http.Request, status int, c templ.Component) error {
	var page bytes.Buffer
	if err := c.Render(r.Context(), &page); err != nil {
		return err
	}
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Cache-Control", "no-store")
	h.Add("Vary", "Accept-Encoding")
	body := page.Bytes()
	if len(body) >= zipFrom && assets.AcceptsGzip(r) {
		var zipped bytes.Buffer
		z := zippers.Get().(*gzip.Writer)
		defer zippers.Put(z)
		z.Reset(&zipped)
		if _, err := z.Write(body); err != nil {
			return err
		}
		if err := z.Close(); err != nil {
			return err
		}
		h.Set("Content-Encoding", "gzip")
		body = zipped.Bytes()
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	w.WriteHeader(status)
	_, _ = w.Write(body) // the reader has gone away: nothing to be done
	return nil
}

// attach heads an answer that the browser keeps as a file of that name. A name
// that no header can carry is left out; the browser then makes one up.
func attach(w http.ResponseWriter, kind, name string) {
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Disposition", cmp.Or(mime.FormatMediaType("attachment", map[string]string{"filename": name}), "attachment"))
	h.Set("Cache-Control", "no-store")
}

// fileTime is how long one file may take over a poor line.
const fileTime = 5 * time.Minute

// patient gives a request that takes or sends files the time for one more: it
// may take longer than any page or form. Servers that know no deadlines, as in
// tests, need none moved.
func patient(w http.ResponseWriter) {
	rc, until := http.NewResponseController(w), time.Now().Add(fileTime)
	_, _ = rc.SetReadDeadline(until), rc.SetWriteDeadline(until.Add(time.Minute))
}

// frame is what every page shows about its surroundings.
func (s *Server) frame(r *http.Request) (view.Frame, error) {
	zone, err := s.Desk.Zone(r.Context())
	if err != nil {
		return view.Frame{}, err
	}
	strips, err := s.strips(r)
	if err != nil {
		return view.Frame{}, err
	}
	return view.Frame{
		Assets: s.assets, Now: s.Desk.Now().In(zone), Who: who(r), Back: r.URL.RequestURI(),
		SignedIn: s.Door != nil && s.signedIn(r), Strips: strips,
	}, nil
}
