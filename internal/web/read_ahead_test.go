package web

import "testing"

func TestReadAheadOpensTheBook(t *testing.T) {
	s := newServer(t)
	if err := s.ReadAhead(t.Context()); err != nil {
		t.Fatal(err)
	}
	opened := s.books.book
	if now, err := s.own(t.Context()); err != nil || opened == nil || now != opened {
		t.Errorf("the book is opened anew: %v", err)
	}
}
