package book

import (
	"net/url"

	"github.com/a-h/templ"

	"holdfast/internal/web/view"
	"holdfast/reference"
	"holdfast/science/signs"
)

// ReferencePage is the list, or what the query q finds; kind narrows it.
func ReferencePage(p view.Page, b *reference.Book, q url.Values) templ.Component {
	p.Title = "Reference"
	return listPage(p, newList(b, q))
}

// EntryPage is the page of one entry by the two last segments of its address;
// false if there is no such entry.
func EntryPage(p view.Page, b *reference.Book, segment, id string) (templ.Component, bool) {
	e, ok := newEntry(b, whatOf(segment), id)
	if !ok {
		return nil, false
	}
	p.Title = e.title
	return entryPage(p, e), true
}

// SignsPage ranks what the query ticks and says what to look at next. It
// returns an InputError for an answer that the model does not have.
func SignsPage(p view.Page, m *signs.Model, b *reference.Book, q url.Values) (templ.Component, error) {
	p.Title = "What might this be?"
	v, err := newSigns(m, b, q)
	if err != nil {
		return nil, err
	}
	return signsPage(p, v), nil
}
