package web

import (
	"net/http"
	"net/url"

	"holdfast"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	known "holdfast/reference"
)

// trustWords say how far to believe a seller's answer.
var trustWords = map[string]string{
	"check":    "It can be checked on arrival.",
	"likely":   "Mostly true.",
	"doubtful": "It cannot be checked.",
}

// ask shows the questions to the seller, before buying or with a delivery.
func (s *Server) ask(w http.ResponseWriter, r *http.Request) error {
	return s.askShown(w, r, http.StatusOK, form.New(r.URL.Query()))
}

func (s *Server) askShown(w http.ResponseWriter, r *http.Request, status int, f *form.Form) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	ctx := r.Context()
	b, err := s.own(ctx)
	if err != nil {
		return err
	}
	suppliers, err := s.Desk.Store.Suppliers(ctx)
	if err != nil {
		return err
	}
	entry, err := s.formID(f)
	if err != nil {
		return err
	}
	field := func(name, label, hint string) view.Field {
		return view.Field{Name: name, Label: label, Hint: hint, Value: f.Typed(name), Err: f.Err(name)}
	}
	a := page.AskPage{Lead: "Send them in writing before you pay. What is answered moves where the chance begins, never what a look shows.",
		Form: view.Form{Action: "/ask", ID: "ask", Entry: string(entry), Guard: true}, Supplier: field("supplier", "Supplier", ""), Backed: field("backed", "What stands behind the answers?", ""), Note: field("note", "Note", "")}
	a.Supplier.List, a.Supplier.Max, a.Supplier.Required = suppliers, 80, true
	a.Supplier.Half = true
	a.Note.Max, a.Note.Wide = 2000, true
	supplier := f.Typed("supplier")
	if id := f.Typed("delivery"); id != "" {
		c, err := s.Desk.Consignment(ctx, id)
		if err != nil {
			return err
		}
		supplier = c.Supplier
		a.Delivery = "Delivery " + c.ID + ", " + c.Supplier + ", " + words.Day(c.At.In(frame.Now.Location()))
		a.Form.Hidden = []view.Pair{{Name: "delivery", Value: c.ID}}
	}
	for _, q := range b.Reference.Questions() {
		x := page.Asked{Ask: q.Ask, Trust: trustWords[q.Trust], Words: page.Part{As: page.AsText, Field: field("words_"+q.ID, "In words", "")}}
		x.Words.Max, x.Words.Wide = 1000, true
		if len(q.Why) > 0 {
			x.Why = q.Why[0].Say
		}
		if len(q.Answers) > 0 {
			x.Choose = &page.Part{As: page.AsChoose, Field: field("answer_"+q.ID, "Answer", ""), Options: options(q.Answers, func(o known.Answer) view.Option { return view.Option{Value: o.ID, Label: o.Say} })}
		}
		a.Asked = append(a.Asked, x)
	}
	all := []view.Field{a.Supplier, a.Backed, a.Note}
	for _, x := range a.Asked {
		all = append(all, x.Words.Field)
		if x.Choose != nil {
			all = append(all, x.Choose.Field)
		}
	}
	a.Faults = view.Faults(all...)
	for _, p := range f.Faults() {
		if p.Field == "answers" {
			a.Faults = append(a.Faults, view.Fault{ID: "ask", Label: "Answers", Message: p.Message + " " + p.Hint})
		}
	}
	a.Before, err = s.lines(frame, b, r.URL.RequestURI(), func(ev holdfast.Event) bool {
		p, ok := ev.Payload.(*holdfast.Declared)
		return ok && (supplier == "" || p.Supplier == supplier)
	})
	if err != nil {
		return err
	}
	return s.page(w, r, status, page.Ask(view.Page{Frame: frame, Title: "Questions to the seller", At: view.Receive, Width: view.Middle}, a))
}

// askSave keeps what was declared.
func (s *Server) askSave(w http.ResponseWriter, r *http.Request) error {
	by, f, b, err := s.bookForm(r)
	if err != nil {
		return err
	}
	delivery := f.Typed("delivery")
	p := holdfast.Declared{Consignment: delivery, Answers: map[string]string{}, Words: map[string]string{}, Note: f.Text("note", 2000, false),
		Supplier: f.Text("supplier", 80, delivery == ""), Backed: f.OneOf("backed", []string{holdfast.BackedSaid, holdfast.BackedShown, holdfast.BackedSeen}, true)}
	for _, q := range b.Reference.Questions() {
		if a := f.OneOf("answer_"+q.ID, ids(q.Answers, func(x known.Answer) string { return x.ID }), false); a != "" {
			p.Answers[q.ID] = a
		}
		if t := f.Text("words_"+q.ID, 1000, false); t != "" {
			p.Words[q.ID] = t
		}
	}
	if f.OK() && len(p.Answers)+len(p.Words) == 0 {
		f.Fault("answers", "Nothing is answered.", "Write down at least one answer.")
	}
	if f.OK() {
		if _, err = s.Desk.Declare(r.Context(), by, p); err == nil {
			to := "/ask?supplier=" + url.QueryEscape(p.Supplier)
			if delivery != "" {
				to = "/deliveries/" + url.PathEscape(delivery)
			}
			return s.recorded(w, r, to, "", by.ID)
		}
	}
	if _, _, err := refusal(f, err); err != nil {
		return err
	}
	return s.askShown(w, r, http.StatusBadRequest, f)
}
