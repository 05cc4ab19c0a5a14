package web

import (
	"fmt"
	"net/http"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// sellForm answers GET /lots/{id}/sell.
func (s *Server) sellForm(w http.ResponseWriter, r *http.Request) error {
	return s.sellShown(w, r, http.StatusOK, tried{})
}

// sellSave answers POST /lots/{id}/sell.
func (s *Server) sellSave(w http.ResponseWriter, r *http.Request) error {
	return s.doLot(w, r, "sell", sell, s.sellShown)
}

func sell(d *doing) error {
	buyers, err := d.desk.Store.Buyers(d.ctx)
	if err != nil {
		return err
	}
	shop, err := d.desk.Settings(d.ctx)
	if err != nil {
		return err
	}
	var ids []string
	for _, b := range buyers {
		ids = append(ids, b.Pseudonym)
	}
	f := desk.SaleForm{Buyer: d.form.OneOf("buyer", ids, false), Name: d.form.Text("name", 80, false), Contact: d.form.Text("contact", 200, false),
		Count: d.number(1), Note: d.form.Text("note", 2000, false), Papers: readPapers(d.form, soldPapers)}
	if f.Buyer != "" && f.Name != "" {
		d.form.Fault("name", "This is a name beside a buyer who was chosen.", "Choose a known buyer, or leave that at “somebody new” and write the name.")
	}
	f.Price = amount(d.form, "price", shop.Currency)
	return d.run(func() error { return d.desk.Sell(d.ctx, d.by, d.lot.ID, f) })
}

func (s *Server) sellShown(w http.ResponseWriter, r *http.Request, status int, t tried) error {
	ctx := r.Context()
	v, err := s.Desk.View(ctx, r.PathValue("id"))
	if err != nil {
		return err
	}
	fr, err := s.frame(r)
	if err != nil {
		return err
	}
	buyers, err := s.Desk.Store.Buyers(ctx)
	if err != nil {
		return err
	}
	l := v.Lot
	fr.Back = lotURL(l.ID) + "/sell"
	p := page.LotForm{URL: lotURL(l.ID), Lot: lotName(l), Name: "Sell"}
	switch l.Status {
	case holdfast.Released:
	case holdfast.Disclosed:
		p.Cares = append(p.Cares, "Sold to the trade only, and told in writing: "+lastDisclosed(l))
	case holdfast.Recalled:
		p.Stop = "Signs were found after this lot was released. It is not for sale; the lot’s page says who bought and what to do."
	default:
		p.Stop = "This lot is not for sale. Release it first, or choose another way out on its page."
	}
	buyer := selectPart("buyer", "Buyer", "", view.Option{Label: "Somebody new"})
	buyer.Half = true
	for _, b := range buyers {
		buyer.Options = append(buyer.Options, view.Option{Value: b.Pseudonym, Label: b.Name})
	}
	half := func(p page.Part) page.Part {
		p.Wide, p.Half = false, true
		return p
	}
	parts := []page.Part{buyer, half(textPart("name", "Name, if new", "So that the buyer can be told if something is found later", 80)),
		half(textPart("contact", "How to reach them", "", 200)),
		numberPart("count", "Animals", "", fmt.Sprintf("%s are thought alive", words.Int(l.Alive.N))),
		numberPart("price", "Price of one", v.Shop.Currency, "Empty if not said"),
		whenPart(), textPart("note", "Note, if any", "", 2000)}
	for _, x := range soldPapers {
		parts = append(parts, half(textPart(x.name, x.label, "As your law asks; empty for keepers at home", x.longest)))
	}
	if p.Act, err = s.act(l.ID, "sell", "", "Record the sale", t, parts...); err != nil {
		return err
	}
	p.Act.Weight = view.Main
	p.Cares = append(p.Cares, "Give the buyer the lot’s record: it says what was looked for, what was not, and how sure you are.")
	return s.page(w, r, status, page.LotFormPage(view.Page{Frame: fr, Title: "Sell " + lotName(l), At: view.Lots}, p))
}

// lastDisclosed is what buyers are told of a lot sold disclosed.
func lastDisclosed(l *holdfast.Lot) string {
	for i := len(l.Exits) - 1; i >= 0; i-- {
		if e := l.Exits[i].Payload.(*holdfast.Exit); e.Way == holdfast.ExitDisclosed {
			return e.Disclosed
		}
	}
	return ""
}
