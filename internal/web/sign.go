package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"
	"time"

	"github.com/alexedwards/scs/v2"
	"github.com/alexedwards/scs/v2/memstore"

	"holdfast/internal/door"
	"holdfast/internal/web/view"
)

// sessions live in memory: a restart of the desk asks everybody again, and a
// stolen data folder opens no session.
func sessions(secure bool) *scs.SessionManager {
	m := scs.New()
	m.Store = memstore.New()
	m.Lifetime = 30 * 24 * time.Hour
	m.IdleTimeout = 14 * 24 * time.Hour
	m.Cookie.Name = "desk"
	m.Cookie.HttpOnly = true
	m.Cookie.SameSite = http.SameSiteLaxMode
	m.Cookie.Secure = secure
	m.Cookie.Persist = true
	m.HashTokenInStore = true
	return m
}

const signedInKey = "in"

// signedIn reports whether the request may see pages.
func (s *Server) signedIn(r *http.Request) bool {
	return s.Door == nil || s.sessions.GetBool(r.Context(), signedInKey)
}

// askToSignIn leads a reader to the form; what was posted is not kept, and the
// form says so.
func (s *Server) askToSignIn(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		s.problemPage(w, r, view.Problem{Status: http.StatusUnauthorized, Heading: "Sign in first",
			Wrong: "You are not signed in any more.", Kept: "Nothing was recorded by this. Use the browser’s Back to find what you typed.", Next: "Sign in", NextURL: "/sign-in"})
		return
	}
	http.Redirect(w, r, "/sign-in?back="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
}

func (s *Server) signInPage(w http.ResponseWriter, r *http.Request, status int, wrong, back string) error {
	p := view.Page{Frame: view.Frame{Assets: s.assets, Shut: true}, Title: "Sign in", At: view.Nowhere, Width: view.Narrow}
	return s.page(w, r, status, view.SignIn(p, view.Field{Name: "password", Label: "Password", Err: wrong, Auto: "current-password", Required: true}, local(back)))
}

func (s *Server) signInForm(w http.ResponseWriter, r *http.Request) error {
	if s.signedIn(r) {
		http.Redirect(w, r, local(r.FormValue("back")), http.StatusSeeOther)
		return nil
	}
	return s.signInPage(w, r, http.StatusOK, "", r.FormValue("back"))
}

func (s *Server) signIn(w http.ResponseWriter, r *http.Request) error {
	if s.Door == nil {
		http.Redirect(w, r, "/", http.StatusSeeOther)
		return nil
	}
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	back := r.PostForm.Get("back")
	from := s.clientOf(r)
	ok, err := s.Door.Check(r.PostForm.Get("password"), from)
	if errors.Is(err, door.ErrTooMany) {
		s.Log.Warn("too many tries to sign in", "from", from)
		w.Header().Set("Retry-After", "20")
		return s.signInPage(w, r, http.StatusTooManyRequests, "Too many tries. Wait half a minute, then try again.", back)
	}
	if err != nil {
		return err
	}
	if !ok {
		s.Log.Warn("wrong password", "from", from)
		return s.signInPage(w, r, http.StatusUnprocessableEntity, "That is not the password of this desk.", back)
	}
	if err := s.sessions.RenewToken(r.Context()); err != nil {
		return err
	}
	s.sessions.Put(r.Context(), signedInKey, true)
	http.Redirect(w, r, local(back), http.StatusSeeOther)
	return nil
}

func (s *Server) signOut(w http.ResponseWriter, r *http.Request) error {
	if err := s.sessions.Destroy(r.Context()); err != nil {
		return err
	}
	http.Redirect(w, r, "/sign-in", http.StatusSeeOther)
	return nil
}

// local is a path of this site to go back to; anything else becomes the round.
// A browser reads "//host" and "/\host" as another site.
func local(back string) string {
	u, err := url.Parse(back)
	if err != nil || u.IsAbs() || u.Host != "" || u.User != nil || !strings.HasPrefix(back, "/") ||
		strings.HasPrefix(back, "//") || strings.ContainsAny(back, "\\\r\n\t") || strings.HasPrefix(u.Path, "/sign-") {
		return "/round"
	}
	return back
}
