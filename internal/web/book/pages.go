package book

import (
	"net/url"
	"strconv"

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
// false if there is no such entry. ours is what the shop itself says of it, or
// nil.
func EntryPage(p view.Page, b *reference.Book, segment, id string, ours templ.Component) (templ.Component, bool) {
	e, ok := newEntry(b, whatOf(segment), id)
	if !ok {
		return nil, false
	}
	p.Title = e.title
	return entryPage(p, e, ours), true
}

// SignsMore is what the desk adds to the signs' page.
type SignsMore struct {
	// Lot is the lot it is about, or empty; Say a sentence on what is known of
	// it beforehand.
	Lot, Say string
	// Photos are the lot's newest photographs, to look at beside the questions.
	Photos []Picture
	// Below stands under the answer.
	Below templ.Component
}

// Picture is a photograph that browsers can show.
type Picture struct{ URL, Says string }

// SignsPage ranks what the query ticks and says what to look at next. It
// returns an InputError for an answer that the model does not have.
func SignsPage(p view.Page, m *signs.Model, b *reference.Book, q url.Values, more SignsMore) (templ.Component, error) {
	p.Title = "What might this be?"
	v, err := newSigns(m, b, q)
	if err != nil {
		return nil, err
	}
	v.more = more
	return signsPage(p, v), nil
}

// Answers reads the ticks, the length and the mark of a query; what is wrong in
// it is left out.
func Answers(m *signs.Model, q url.Values) signs.Answers {
	a, _ := answersOf(m, q)
	return a
}

// MarkURL is the signs' page with what a program marked on a photograph filled
// in: a beginning for a person. lot may be empty.
func MarkURL(lot string, k signs.Mark) string {
	v := url.Values{}
	switch {
	case k.Tuft:
		v.Set("mark", "tuft")
	case k.Dots == 0:
		v.Set("mark", "thread")
	default:
		v.Set("mark", "dots")
		v.Set("dots", strconv.Itoa(k.Dots))
		v.Set("rows", strconv.Itoa(k.Rows))
	}
	if k.MM > 0 {
		v.Set("mm", strconv.FormatFloat(k.MM, 'g', 3, 64))
	}
	if lot != "" {
		v.Set("lot", lot)
	}
	return SignsURL + "?" + v.Encode()
}

// Looked reports whether anything was answered by looking.
func Looked(m *signs.Model, a signs.Answers) bool { return looked(m, a) }
