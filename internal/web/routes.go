package web

import (
	"net/http"

	"holdfast/internal/web/assets"
)

// handler answers a request, or returns an error and has written nothing.
type handler func(w http.ResponseWriter, r *http.Request) error

// Bounds of a request's body.
const (
	formBody   = 256 << 10 // a form of fields
	uploadBody = 12 << 20  // a packing list, 10 MB, and its envelope
)

// route is one address of the site.
type route struct {
	// pattern is ServeMux's: method, then path.
	pattern string
	handle  handler
	// body bounds what may be sent; 0 means formBody.
	body int64
	// open routes need no sign-in.
	open bool
}

// routes are the whole site.
func (s *Server) routes() []route {
	return []route{
		{pattern: "GET /{$}", handle: s.home},
		{pattern: "POST /undo", handle: s.undo},

		{pattern: "GET /lots/{id}/look", handle: s.look},
		{pattern: "POST /lots/{id}/look", handle: s.lookSave},

		{pattern: "GET /receive", handle: s.receive},
		{pattern: "POST /receive", handle: s.receiveSave, body: uploadBody},
		{pattern: "POST /receive/list", handle: s.packingList, body: uploadBody},
		{pattern: "GET /deliveries/{id}", handle: s.delivery},

		{pattern: "GET /round", handle: s.round},
		{pattern: "POST /round/tick", handle: s.roundTick},
		{pattern: "POST /round/skip", handle: s.roundSkip},
		{pattern: "POST /round/none-dead", handle: s.roundNoneDead},
		{pattern: "GET /who", handle: s.whoForm},
		{pattern: "POST /who", handle: s.whoSave},

		{pattern: "GET /lots", handle: s.lots},

		{pattern: "GET /sign-in", handle: s.signInForm, open: true},
		{pattern: "POST /sign-in", handle: s.signIn, open: true},
		{pattern: "POST /sign-out", handle: s.signOut, open: true},
		{pattern: "GET /healthz", handle: s.healthz, open: true},
		{pattern: "GET " + assets.Prefix, handle: s.asset, open: true},
		{pattern: "/", handle: s.nowhere},
	}
}

func (s *Server) mux() *http.ServeMux {
	mux := http.NewServeMux()
	for _, rt := range s.routes() {
		mux.HandleFunc(rt.pattern, s.route(rt))
	}
	return mux
}

// route bounds the body, asks for sign-in, runs the handler and turns its
// error into a page.
func (s *Server) route(rt route) http.HandlerFunc {
	limit := rt.body
	if limit == 0 {
		limit = formBody
	}
	return func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, limit)
		if !rt.open && !s.signedIn(r) {
			s.askToSignIn(w, r)
			return
		}
		if err := rt.handle(w, r); err != nil {
			s.problem(w, r, err)
		}
	}
}

func (s *Server) home(w http.ResponseWriter, r *http.Request) error {
	http.Redirect(w, r, "/round", http.StatusSeeOther)
	return nil
}

func (s *Server) asset(w http.ResponseWriter, r *http.Request) error {
	if !s.assets.Serve(w, r) {
		return errNoPage
	}
	return nil
}

// nowhere answers every other address.
func (s *Server) nowhere(http.ResponseWriter, *http.Request) error { return errNoPage }

// healthz tells a supervisor that the desk answers and can reach its data.
func (s *Server) healthz(w http.ResponseWriter, r *http.Request) error {
	status, say := http.StatusOK, "ok\n"
	if s.Ready != nil {
		if err := s.Ready(r.Context()); err != nil {
			s.Log.Error("not ready", "error", err)
			status, say = http.StatusServiceUnavailable, "not ready\n"
		}
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write([]byte(say))
	return nil
}
