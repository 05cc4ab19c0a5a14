package web

import (
	"strings"

	"holdfast"
	"holdfast/internal/web/form"
	"holdfast/internal/web/view"
)

// paperField is one thing that goes along with animals, asked for in words that
// fit any country's law.
type paperField struct {
	name, label string
	// short names it where it is told.
	short   string
	longest int
	of      func(*holdfast.Papers) *string
}

var (
	invoice     = paperField{"invoice", "Invoice or delivery note, its number", "invoice", 120, func(p *holdfast.Papers) *string { return &p.Invoice }}
	certificate = paperField{"certificate", "Health certificate, its number", "certificate", 120, func(p *holdfast.Papers) *string { return &p.Certificate }}
	transporter = paperField{"transporter", "Who carried them", "carried by", 120, func(p *holdfast.Papers) *string { return &p.Transporter }}
	borderPost  = paperField{"border_post", "Border post", "border post", 120, func(p *holdfast.Papers) *string { return &p.BorderPost }}
	preNotice   = paperField{"pre_notice", "Reference of the notice given there", "notice", 120, func(p *holdfast.Papers) *string { return &p.PreNotice }}
)

// arrivedPapers are asked for when a box is opened, soldPapers when animals go to
// somebody in the trade.
var (
	arrivedPapers = []paperField{certificate,
		{"place", "Where they were loaded", "loaded at", 200, func(p *holdfast.Papers) *string { return &p.Place }},
		{"place_number", "Registration or approval number there", "number of that place", 120, func(p *holdfast.Papers) *string { return &p.PlaceNumber }},
		invoice, transporter, borderPost, preNotice}
	soldPapers = []paperField{
		{"place", "Where they go, if to the trade", "to", 200, func(p *holdfast.Papers) *string { return &p.Place }},
		{"place_number", "Registration or approval number there", "number of that place", 120, func(p *holdfast.Papers) *string { return &p.PlaceNumber }},
		transporter, certificate, invoice}
)

func readPapers(f *form.Form, fields []paperField) (p holdfast.Papers) {
	for _, x := range fields {
		*x.of(&p) = f.Text(x.name, x.longest, false)
	}
	return p
}

func paperFields(f *form.Form, fields []paperField) []view.Field {
	var all []view.Field
	for _, x := range fields {
		all = append(all, view.Field{Name: x.name, Label: x.label, Value: f.Typed(x.name), Err: f.Err(x.name), Max: x.longest, Half: true})
	}
	return all
}

// papersSay are the papers in one text.
func papersSay(p holdfast.Papers, fields []paperField) string {
	var all []string
	for _, x := range paperWords(&p, fields) {
		all = append(all, x[0]+" "+x[1])
	}
	return strings.Join(all, "; ")
}

// paperWords are the papers in pairs of short name and text, what is missing left out.
func paperWords(p *holdfast.Papers, fields []paperField) (all [][2]string) {
	if p == nil {
		return nil
	}
	for _, x := range fields {
		if text := *x.of(p); text != "" {
			all = append(all, [2]string{x.short, text})
		}
	}
	return all
}
