package web

import (
	"net/http"
	"net/url"

	"github.com/a-h/templ"

	"holdfast/internal/web/book"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
)

func (s *Server) referenceList(w http.ResponseWriter, r *http.Request) error {
	frame, b, err := s.bookFrame(r)
	if err != nil {
		return err
	}
	return s.page(w, r, http.StatusOK, book.ReferencePage(view.Page{Frame: frame}, b.Reference, r.URL.Query()))
}

func (s *Server) referenceEntry(w http.ResponseWriter, r *http.Request) error {
	return s.entryShown(w, r, http.StatusOK, r.PathValue("what"), r.PathValue("id"), tried{})
}

// entryShown shows an entry, with the form of its local names as it was sent.
func (s *Server) entryShown(w http.ResponseWriter, r *http.Request, status int, segment, id string, t tried) error {
	frame, b, err := s.bookFrame(r)
	if err != nil {
		return err
	}
	var below templ.Component
	if c, ok := b.Reference.Condition(id); ok {
		o, err := s.ours(frame, b, c, t)
		if err != nil {
			return err
		}
		below = page.OursPart(o)
	}
	c, ok := book.EntryPage(view.Page{Frame: frame}, b.Reference, segment, id, below)
	if !ok {
		return errNoPage
	}
	return s.page(w, r, status, c)
}

func (s *Server) signs(w http.ResponseWriter, r *http.Request) error {
	return s.signsShown(w, r, http.StatusOK, r.URL.Query(), tried{})
}

// signsShown ranks what the values tick, with the form that keeps a confirmed
// case as it was sent.
func (s *Server) signsShown(w http.ResponseWriter, r *http.Request, status int, q url.Values, t tried) error {
	frame, b, err := s.bookFrame(r)
	if err != nil {
		return err
	}
	frame.Back = book.SignsURL
	q, more, err := s.knownOfLot(r, q)
	if err != nil {
		return err
	}
	if answers := book.Answers(b.Signs, q); book.Looked(b.Signs, answers) {
		act, err := s.confirmAct(b, answers, more.Lot, t)
		if err != nil {
			return err
		}
		more.Below = page.ConfirmPart(act, caseURL(b.Signs, answers, more.Lot))
	}
	c, err := book.SignsPage(view.Page{Frame: frame}, b.Signs, b.Reference, q, more)
	if err != nil {
		return err
	}
	return s.page(w, r, status, c)
}
