package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/book"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	known "holdfast/reference"
	"holdfast/science/ref"
	"holdfast/science/signs"
)

// ownBook keeps the shop's own book while its journal has not moved: building
// it checks the whole reference and caps the whole table of signs.
type ownBook struct {
	mu   sync.Mutex
	seq  int64
	book *desk.Book
}

// bookFrame is what the pages of the book begin with.
func (s *Server) bookFrame(r *http.Request) (view.Frame, *desk.Book, error) {
	frame, err := s.frame(r)
	if err != nil {
		return frame, nil, err
	}
	b, err := s.own(r.Context())
	return frame, b, err
}

// own returns the reference and the signs as this shop has them.
func (s *Server) own(ctx context.Context) (*desk.Book, error) {
	kept, err := s.Desk.KeptBook(ctx)
	if err != nil {
		return nil, err
	}
	s.books.mu.Lock()
	defer s.books.mu.Unlock()
	if s.books.book == nil || s.books.seq != kept.HeadSeq {
		s.books.book, s.books.seq = desk.OpenBook(kept), kept.HeadSeq
	}
	return s.books.book, nil
}

// undoForm takes one entry back and returns to the page.
func (s *Server) undoForm(label string, entry holdfast.ID, back string) (*view.StripForm, error) {
	fresh, err := s.Desk.NewID()
	if err != nil {
		return nil, err
	}
	return &view.StripForm{Label: label, Action: "/undo", Hidden: []view.Pair{
		{Name: "entry", Value: string(entry)}, {Name: "id", Value: string(fresh)}, {Name: "back", Value: back},
	}}, nil
}

// lines draws entries of the shop's book, newest first, those taken back
// struck through.
func (s *Server) lines(f view.Frame, b *desk.Book, back string, want func(holdfast.Event) bool) ([]page.Line, error) {
	return s.linesOf(f, b.Kept.All, b.Kept.Undone, back, want, func(ev holdfast.Event) string { return tellBook(ev, b) })
}

// linesOf draws those of all entries that are wanted, newest first, each with its
// undo; undone names the entry that took one back.
func (s *Server) linesOf(f view.Frame, all []holdfast.Event, undone map[holdfast.ID]holdfast.ID, back string, want func(holdfast.Event) bool, says func(holdfast.Event) string) ([]page.Line, error) {
	byID := map[holdfast.ID]holdfast.Event{}
	for _, ev := range all {
		byID[ev.ID] = ev
	}
	var out []page.Line
	for _, ev := range slices.Backward(all) {
		if !want(ev) {
			continue
		}
		l := page.Line{When: words.Moment(ev.OccurredAt.In(f.Now.Location())), Says: says(ev), Who: ev.Who}
		take, label := ev.ID, "Undo"
		if by := undone[ev.ID]; by != "" {
			c := byID[by]
			l.Gone = fmt.Sprintf("Taken back by %s on %s.", c.Who, words.Moment(c.OccurredAt.In(f.Now.Location())))
			take, label = by, "Put it back"
		}
		var err error
		if l.Undo, err = s.undoForm(label, take, back); err != nil {
			return nil, err
		}
		out = append(out, l)
	}
	return out, nil
}

// tellBook says in one sentence what an entry of the shop's book says, with
// the shop's own names.
func tellBook(ev holdfast.Event, b *desk.Book) string {
	switch p := ev.Payload.(type) {
	case *holdfast.CaseConfirmed:
		say := fmt.Sprintf("It was: %s. %s", b.Called(p.Truth), proofWords[p.Proof])
		if p.By != "" {
			say += ", " + p.By
		}
		if ev.Lot != "" {
			say += ". Lot " + ev.Lot
		}
		return noted(say+". "+signWords(b.Signs, p.Signs), p.Note)
	case *holdfast.ReferenceSet:
		switch {
		case p.Gone:
			return "Taken out of use."
		case len(p.Own) > 0:
			return ended("Written: " + ownName(p))
		case len(p.Names) == 0:
			return "No name of your own."
		}
		return ended("Called " + strings.Join(p.Names, ", "))
	case *holdfast.Declared:
		return tellDeclared(p)
	}
	return tell(ev)
}

func ownName(p *holdfast.ReferenceSet) string {
	one := desk.OpenBook(&holdfast.Book{Set: []holdfast.Event{{Payload: p}}})
	name := one.Called(p.Entry)
	if len(p.Names) > 0 {
		name += ", also called " + strings.Join(p.Names, ", ")
	}
	return name
}

func tellDeclared(p *holdfast.Declared) string {
	var parts []string
	for _, q := range known.Builtin().Questions() {
		if said := q.Said(p.Answers, p.Words); said != "" {
			parts = append(parts, q.Ask+" "+ended(said))
		}
	}
	say := p.Supplier
	if p.Consignment != "" {
		say += ", delivery " + p.Consignment
	}
	return noted(say+" ("+backedWords[p.Backed]+"): "+strings.Join(parts, " "), p.Note)
}

var backedWords = map[string]string{holdfast.BackedSaid: "only said", holdfast.BackedShown: "with pictures or papers", holdfast.BackedSeen: "seen by us"}

var proofWords = map[string]string{holdfast.ProofLaboratory: "A laboratory found it", holdfast.ProofMicroscope: "Seen under the microscope", holdfast.ProofResponse: "It answered to treatment as that does"}

// signWords are answers in the words of the questions.
func signWords(m *signs.Model, a signs.Answers) string {
	var parts []string
	for _, q := range m.Questions() {
		for _, o := range q.Options {
			if slices.Contains(a[q.ID], o.ID) {
				parts = append(parts, o.Say)
			}
		}
	}
	return ended(strings.Join(parts, ", "))
}

// ours is the part of an entry's page that is the shop's own.
func (s *Server) ours(f view.Frame, b *desk.Book, c known.Condition, t tried) (page.Ours, error) {
	here := book.EntryURL(c.What(), c.ID)
	var o page.Ours
	id, err := s.Desk.NewID()
	if err != nil {
		return o, err
	}
	names := textPart("names", "Names you use for it, with commas between", "Search finds it under each. Words of the trade, no product’s name.", 400)
	names.Value = strings.Join(c.LocalNames, ", ")
	a := page.Act{Form: view.Form{Action: "/reference/names", ID: "names-form", Entry: string(id), Hidden: []view.Pair{{Name: "entry", Value: c.ID}}}, Summary: "Your own names for it", Button: "Keep the names", Parts: []page.Part{names}}
	if t.what == "names" {
		a.Open, a.Refused, a.Parts[0].Value = true, t.refused, t.form.Typed("names")
	}
	o.Names = &a
	if c.Own() {
		o.Edit = "/reference/own/" + url.PathEscape(c.ID)
		fresh, err := s.Desk.NewID()
		if err != nil {
			return o, err
		}
		o.Drop = &page.Act{Form: view.Form{Action: o.Edit + "/drop", ID: "drop", Entry: string(fresh)}, Summary: "Take it out of use", Lead: "It leaves the list, the search and the ranking. Its versions stay, and Undo brings it back.", Button: "Take it out of use", Weight: view.Marked}
	}
	for _, l := range b.Signs.Learned() {
		if l.ID == c.ID && l.Cases > 0 {
			o.Confirmed = fmt.Sprintf("Your own confirmed cases of it count %s; %s of its signs is still the shipped judgement.", words.Number(l.Cases, 1), words.Percent(l.PriorWeight))
		}
	}
	o.Versions, err = s.lines(f, b, here, func(ev holdfast.Event) bool {
		p, ok := ev.Payload.(*holdfast.ReferenceSet)
		return ok && p.Entry == c.ID
	})
	return o, err
}

// namesSave keeps the shop's names for an entry.
func (s *Server) namesSave(w http.ResponseWriter, r *http.Request) error {
	by, f, b, err := s.bookForm(r)
	if err != nil {
		return err
	}
	c, ok := b.Reference.Condition(f.Typed("entry"))
	if !ok {
		return errNoPage
	}
	text := f.Text("names", 400, false)
	if f.OK() {
		_, err = s.Desk.NameEntry(r.Context(), by, c.ID, listed(text))
		if err == nil {
			return s.recorded(w, r, book.EntryURL(c.What(), c.ID), "ours", by.ID)
		}
	}
	refused, status, err := refusal(f, err)
	if err != nil {
		return err
	}
	return s.entryShown(w, r, status, c.What(), c.ID, tried{what: "names", form: f, refused: refused})
}

// listed cuts a text at its commas and line ends.
func listed(text string) []string {
	var out []string
	for _, n := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == '\n' || r == ';' }) {
		if n = strings.TrimSpace(n); n != "" && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// bookForm reads a form about the shop's book.
func (s *Server) bookForm(r *http.Request) (by desk.Actor, f *form.Form, b *desk.Book, err error) {
	if by, err = s.author(r); err != nil {
		return by, nil, nil, err
	}
	b, err = s.own(r.Context())
	return by, form.New(r.PostForm), b, err
}

// refusal turns what a use case says into faults of the form and one sentence
// for what stands at no field; an error that is no refusal comes back.
func refusal(f *form.Form, err error) (string, int, error) {
	var wrong holdfast.Problems
	var told *holdfast.Error
	var in *ref.InputError
	switch {
	case err == nil:
	case errors.As(err, &wrong):
		f.Take(wrong)
	case errors.As(err, &told) && told.Kind != holdfast.NotFound && told.Kind != holdfast.Busy:
		return joined(told.Message, told.Hint), statusOf(err), nil
	case errors.As(err, &in):
		return joined(ended(in.Message), in.Hint), http.StatusBadRequest, nil
	default:
		return "", 0, err
	}
	var rest []string
	for _, p := range f.Faults() {
		rest = append(rest, joined(p.Message, p.Hint))
	}
	return strings.Join(rest, " "), http.StatusBadRequest, nil
}
