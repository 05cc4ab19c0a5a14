package web

import (
	"net/http"
	"net/url"
	"strings"
	"time"
	"unicode/utf8"

	"holdfast/internal/web/view"
)

// nobody stands on entries of a browser that has not said who uses it.
const nobody = "not said"

const (
	whoCookie   = "who"
	askedCookie = "who-asked"
	longestWho  = 40
)

// who is the name this browser puts on entries, empty if it has not said.
func who(r *http.Request) string {
	c, err := r.Cookie(whoCookie)
	if err != nil {
		return ""
	}
	name, err := url.QueryUnescape(c.Value)
	if err != nil || !goodName(name) {
		return ""
	}
	return name
}

// askWho reports whether a browser without a name is to be asked for one, and
// remembers that it was: it is asked once and never held up.
func (s *Server) askWho(w http.ResponseWriter, r *http.Request) bool {
	if _, err := r.Cookie(askedCookie); err == nil {
		return false
	}
	http.SetCookie(w, &http.Cookie{Name: askedCookie, Value: "1", Path: "/", MaxAge: int((90 * 24 * time.Hour).Seconds()),
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.Secure})
	return true
}

func goodName(name string) bool {
	return name != "" && utf8.ValidString(name) && utf8.RuneCountInString(name) <= longestWho &&
		strings.TrimSpace(name) == name && !strings.ContainsFunc(name, func(r rune) bool { return r < ' ' || r == 0x7f })
}

func (s *Server) whoPage(w http.ResponseWriter, r *http.Request, status int, f view.Field, back string) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	f.Name, f.Label, f.Auto, f.Max = "name", "Your name, as it will stand on entries", "nickname", longestWho
	return s.page(w, r, status, view.WhoPage(view.Page{Frame: frame, Title: "Who is here", Width: view.Narrow}, f, local(back)))
}

func (s *Server) whoForm(w http.ResponseWriter, r *http.Request) error {
	return s.whoPage(w, r, http.StatusOK, view.Field{Value: who(r)}, r.FormValue("back"))
}

func (s *Server) whoSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	name := strings.TrimSpace(r.PostForm.Get("name"))
	if !goodName(name) {
		return s.whoPage(w, r, http.StatusBadRequest, view.Field{Value: name, Err: "Write a name of 1 to 40 letters."}, r.PostForm.Get("back"))
	}
	http.SetCookie(w, &http.Cookie{Name: whoCookie, Value: url.QueryEscape(name), Path: "/", MaxAge: int((365 * 24 * time.Hour).Seconds()),
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: s.Secure})
	http.Redirect(w, r, local(r.PostForm.Get("back")), http.StatusSeeOther)
	return nil
}
