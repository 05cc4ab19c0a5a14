package web

import (
	"fmt"
	"net/http"
	"net/url"

	"holdfast"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// papersOf is a delivery or a sale whose papers are asked for: what it is, where
// its form is sent and where to go from there, what stands, and all entries among
// which its papers are.
type papersOf struct {
	title, url, back, backTo string
	at                       view.Section
	now                      *holdfast.Papers
	fields                   []paperField
	all                      []holdfast.Event
	undone                   map[holdfast.ID]holdfast.ID
	lot                      string
	added                    holdfast.PapersAdded
}

func deliveryPapersURL(id string) string { return "/deliveries/" + url.PathEscape(id) + "/papers" }

func salePapersURL(lot string, sale holdfast.ID) string {
	return lotURL(lot) + "/sales/" + string(sale) + "/papers"
}

// papersAsked reads from the address whose papers are meant.
func (s *Server) papersAsked(r *http.Request) (papersOf, error) {
	if id := r.PathValue("entry"); id != "" {
		l, ev, err := s.Desk.SaleOf(r.Context(), r.PathValue("id"), holdfast.ID(id))
		if err != nil {
			return papersOf{}, err
		}
		sale, now := ev.Payload.(*holdfast.Sale), l.SalePapers(ev)
		return papersOf{title: fmt.Sprintf("Papers of the sale of %s %s", words.Int(sale.Count), l.Strain), url: salePapersURL(l.ID, ev.ID), back: lotName(l), backTo: lotURL(l.ID), at: view.Lots,
			now: &now, fields: soldPapers, all: l.All, undone: l.Undone, lot: l.ID, added: holdfast.PapersAdded{Sale: ev.ID}}, nil
	}
	c, err := s.Desk.Consignment(r.Context(), r.PathValue("id"))
	if err != nil {
		return papersOf{}, err
	}
	return papersOf{title: "Papers of delivery " + c.ID, url: deliveryPapersURL(c.ID), back: "Delivery " + c.ID, backTo: "/deliveries/" + url.PathEscape(c.ID), at: view.Receive,
		now: c.Papers, fields: arrivedPapers, all: c.All, undone: c.Undone, added: holdfast.PapersAdded{Consignment: c.ID}}, nil
}

// papers answers GET of the papers of a delivery or a sale.
func (s *Server) papers(w http.ResponseWriter, r *http.Request) error {
	of, err := s.papersAsked(r)
	if err != nil {
		return err
	}
	return s.papersShown(w, r, http.StatusOK, of, form.New(nil))
}

func (s *Server) papersShown(w http.ResponseWriter, r *http.Request, status int, of papersOf, f *form.Form) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	entry, err := s.formID(f)
	if err != nil {
		return err
	}
	p := page.Papers{Form: view.Form{Action: of.url, ID: "papers", Entry: string(entry), Guard: true}, Back: page.Link{Label: of.back, URL: of.backTo}, Fields: paperFields(f, of.fields)}
	for _, x := range paperWords(of.now, of.fields) {
		p.Now = append(p.Now, [2]string{words.Capital(x[0]), x[1]})
	}
	p.Faults = view.Faults(p.Fields...)
	if p.Before, err = s.papersBefore(frame, of); err != nil {
		return err
	}
	return s.page(w, r, status, page.PapersPage(view.Page{Frame: frame, Title: of.title, At: of.at, Width: view.Middle}, p))
}

// papersBefore are the papers that came later, newest first, each with its undo.
func (s *Server) papersBefore(frame view.Frame, of papersOf) ([]page.Line, error) {
	return s.linesOf(frame, of.all, of.undone, of.url, func(ev holdfast.Event) bool {
		p, ok := ev.Payload.(*holdfast.PapersAdded)
		return ok && p.Sale == of.added.Sale && p.Consignment == of.added.Consignment
	}, tell)
}

// papersSave keeps what was written.
func (s *Server) papersSave(w http.ResponseWriter, r *http.Request) error {
	of, err := s.papersAsked(r)
	if err != nil {
		return err
	}
	by, err := s.author(r)
	if err != nil {
		return err
	}
	f := form.New(r.PostForm)
	p := of.added
	if p.Papers = readPapers(f, of.fields); f.OK() && p.Papers.Empty() {
		f.Fault(of.fields[0].name, "Nothing is written.", "Write down at least one paper.")
	}
	if f.OK() {
		if _, err = s.Desk.AddPapers(r.Context(), by, of.lot, p); err == nil {
			return s.recorded(w, r, of.url, "", by.ID)
		}
		if _, _, err := refusal(f, err); err != nil {
			return err
		}
	}
	return s.papersShown(w, r, http.StatusBadRequest, of, f)
}

// tellPapers says which papers came later.
func tellPapers(p *holdfast.PapersAdded) string {
	fields, of := arrivedPapers, "delivery "+p.Consignment
	if p.Sale != "" {
		fields, of = soldPapers, "a sale"
	}
	return "Papers of " + of + ": " + ended(papersSay(p.Papers, fields))
}
