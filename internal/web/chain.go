package web

import (
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"holdfast/internal/web/view"
)

// chain puts what every request passes before the routes.
func (s *Server) chain(next http.Handler) http.Handler {
	foreign := http.NewCrossOriginProtection()
	foreign.SetDenyHandler(http.HandlerFunc(s.refuseForeign))
	next = foreign.Handler(s.catch(next))
	next = s.sessions.LoadAndSave(next)
	next = s.checkHost(next)
	next = secure(next)
	return s.watch(next)
}

// catch turns a panic into the page for a fault of the program.
func (s *Server) catch(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			p := recover()
			if p == nil {
				return
			}
			if p == http.ErrAbortHandler {
				panic(p)
			}
			s.Log.Error("handler panicked", "path", r.URL.Path, "panic", fmt.Sprint(p), "stack", string(debug.Stack()))
			s.problem(w, r, fmt.Errorf("panic: %v", p)) // pages are whole before they are sent, so nothing went out yet
		}()
		next.ServeHTTP(w, r)
	})
}

// secure sets the headers of every answer. The policy lets a page load from
// this desk only, run no script or style of its own, and be framed by nobody.
func secure(next http.Handler) http.Handler {
	const policy = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self' blob:; connect-src 'self'; manifest-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("X-Frame-Options", "DENY")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), geolocation=(), microphone=(), payment=(), usb=()")
		next.ServeHTTP(w, r)
	})
}

// checkHost refuses calls by a foreign name. Without it a page elsewhere could
// make its own name point at this machine and read the desk through the
// person's browser.
func (s *Server) checkHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if s.hostAllowed(r.Host) || r.URL.Path == "/healthz" {
			next.ServeHTTP(w, r)
			return
		}
		http.Error(w, "This desk is not called by that name. Open it by the address it printed when it started.", http.StatusMisdirectedRequest)
	})
}

func (s *Server) hostAllowed(host string) bool {
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	host = strings.ToLower(strings.Trim(host, "[]"))
	if host == "localhost" || slices.Contains(s.Hosts, host) {
		return true
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsLoopback() {
		return true
	}
	return s.Door != nil && len(s.Hosts) == 0
}

// refuseForeign answers a form that was sent from another site's page.
func (s *Server) refuseForeign(w http.ResponseWriter, r *http.Request) {
	s.problemPage(w, r, view.Problem{
		Status: http.StatusForbidden, Heading: "Sent from elsewhere",
		Wrong: "This was sent by a page that is not this desk’s, so it was not taken.", Kept: "Nothing was recorded by this.",
		Next: "Go to the round", NextURL: "/round",
	})
}

// watched remembers the status that was sent.
type watched struct {
	http.ResponseWriter
	status int
	bytes  int
}

func (w *watched) WriteHeader(status int) {
	if w.status == 0 {
		w.status = status
	}
	w.ResponseWriter.WriteHeader(status)
}

func (w *watched) Write(b []byte) (int, error) {
	if w.status == 0 {
		w.status = http.StatusOK
	}
	n, err := w.ResponseWriter.Write(b)
	w.bytes += n
	return n, err
}

// Unwrap lets http.ResponseController reach the writer below.
func (w *watched) Unwrap() http.ResponseWriter { return w.ResponseWriter }

// watch logs every request, without query, form or cookie.
func (s *Server) watch(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		start := time.Now()
		seen := &watched{ResponseWriter: w}
		next.ServeHTTP(seen, r)
		level := slog.LevelInfo
		if seen.status >= 500 {
			level = slog.LevelError
		}
		s.Log.Log(r.Context(), level, "request", "method", r.Method, "path", r.URL.Path, "status", seen.status, "bytes", seen.bytes, "ms", time.Since(start).Milliseconds())
	})
}
