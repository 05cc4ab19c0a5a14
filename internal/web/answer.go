package web

import (
	"bytes"
	"compress/gzip"
	"net/http"
	"strconv"
	"sync"

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
