package web

import (
	"net/http"

	"holdfast/internal/web/book"
	"holdfast/internal/web/view"
	"holdfast/reference"
	"holdfast/science/signs"
)

func (s *Server) referenceList(w http.ResponseWriter, r *http.Request) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	return s.page(w, r, http.StatusOK, book.ReferencePage(view.Page{Frame: frame}, reference.Builtin(), r.URL.Query()))
}

func (s *Server) referenceEntry(w http.ResponseWriter, r *http.Request) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	c, ok := book.EntryPage(view.Page{Frame: frame}, reference.Builtin(), r.PathValue("what"), r.PathValue("id"))
	if !ok {
		return errNoPage
	}
	return s.page(w, r, http.StatusOK, c)
}

func (s *Server) signs(w http.ResponseWriter, r *http.Request) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	c, err := book.SignsPage(view.Page{Frame: frame}, signs.Default(), reference.Builtin(), r.URL.Query())
	if err != nil {
		return err
	}
	return s.page(w, r, http.StatusOK, c)
}
