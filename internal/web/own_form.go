package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/book"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	known "holdfast/reference"
	"holdfast/science/ref"
	"holdfast/science/signs"
)

// ownClaim is one claim of the form: its text, source and caution.
type ownClaim struct {
	name, label, hint string
	at                func(*known.Condition) *[]known.Claim
}

// ownClaims are the claims that the form asks for; the first two stand open.
var ownClaims = []ownClaim{
	{"look", "What it looks like", "One to three plain sentences, with the size.", func(c *known.Condition) *[]known.Claim { return &c.Look }},
	{"do", "What to do", "Needed for anything wrong with an animal.", func(c *known.Condition) *[]known.Claim { return &c.Do }},
	{"where", "Where on the animal or in the tank", "", func(c *known.Condition) *[]known.Claim { return &c.Where }},
	{"harm", "What harm it does", "", func(c *known.Condition) *[]known.Claim { return &c.Harm }},
	{"spreads", "How it spreads", "", func(c *known.Condition) *[]known.Claim { return &c.Spreads }},
	{"stop", "When to stop and put animals down", "", func(c *known.Condition) *[]known.Claim { return &c.Stop }},
	{"tell", "What a buyer must be told", "", func(c *known.Condition) *[]known.Claim { return &c.Tell }},
}

const ownTwins = 3

var ownKinds = []view.Option{
	{Value: string(known.Parasite), Label: "Parasite"}, {Value: string(known.Epibiont), Label: "Lives on the animal"}, {Value: string(known.Disease), Label: "Disease"},
	{Value: string(known.Disorder), Label: "Disorder, not infectious"}, {Value: string(known.Pest), Label: "Lives in the tank"},
	{Value: string(known.Normal), Label: "Normal, mistaken for disease"}, {Value: string(known.Artefact), Label: "Dirt, bubble, glare"},
}

var ownIsolations = []view.Option{
	{Value: string(known.NoIsolation), Label: "Nothing beyond the usual"}, {Value: string(known.OwnTools), Label: "Own net and tube, last on the round"},
	{Value: string(known.OwnTank), Label: "Own water and own tools"}, {Value: string(known.HoldEverything), Label: "Nothing in, nothing out"},
}

var ownStarts = []view.Option{
	{Value: "common", Label: "Common"}, {Value: "usual", Label: "Now and then"}, {Value: "uncommon", Label: "Uncommon"}, {Value: "rare", Label: "Rare"}, {Value: "very_rare", Label: "Hardly ever"},
}

// ownNew shows the empty form.
func (s *Server) ownNew(w http.ResponseWriter, r *http.Request) error {
	b, err := s.own(r.Context())
	if err != nil {
		return err
	}
	return s.ownPage(w, r, http.StatusOK, b, "", form.New(url.Values{"kind": {string(known.Disease)}, "isolation": {string(known.OwnTank)}, "start": {"uncommon"}}), r.URL.Query(), "")
}

// ownEdit shows an entry of one's own in the form.
func (s *Server) ownEdit(w http.ResponseWriter, r *http.Request) error {
	b, err := s.own(r.Context())
	if err != nil {
		return err
	}
	c, ok := b.Reference.Condition(r.PathValue("id"))
	if !ok || !c.Own() {
		return errNoPage
	}
	v := typedOwn(c, b)
	return s.ownPage(w, r, http.StatusOK, b, c.ID, form.New(v), v, "")
}

// typedOwn is an entry as the form shows it.
func typedOwn(c known.Condition, b *desk.Book) url.Values {
	v := url.Values{"name": {c.Name}, "names": {strings.Join(c.LocalNames, ", ")}, "kind": {string(c.Kind)}, "isolation": {string(c.Isolation)}, "site": c.Sites, "carried": c.CarriedBy}
	for i, name := range []string{"size_low", "size_high"} {
		if c.SizeMM[i] > 0 {
			v.Set(name, strconv.FormatFloat(c.SizeMM[i], 'f', -1, 64))
		}
	}
	for _, x := range ownClaims {
		if all := *x.at(&c); len(all) > 0 {
			v.Set(x.name, all[0].Say)
			v.Set(x.name+"_from", all[0].From)
			v.Set(x.name+"_caution", all[0].Caution)
		}
	}
	for i, a := range c.Alike[:min(ownTwins, len(c.Alike))] {
		v.Set(fmt.Sprintf("alike_%d", i), a.ID)
		v.Set(fmt.Sprintf("tell_%d", i), a.Say)
		v.Set(fmt.Sprintf("tell_%d_from", i), a.From)
	}
	for _, ev := range b.Kept.Set {
		if p := ev.Payload.(*holdfast.ReferenceSet); p.Entry == c.ID {
			v.Set("start", p.Start)
			for q, options := range p.Looks {
				v["sign_"+q] = options
			}
		}
	}
	return v
}

// ownSave keeps a new entry, or a new version of one.
func (s *Server) ownSave(w http.ResponseWriter, r *http.Request) error {
	by, f, b, err := s.bookForm(r)
	if err != nil {
		return err
	}
	id := r.PathValue("id")
	if c, ok := b.Reference.Condition(id); id != "" && (!ok || !c.Own()) {
		return errNoPage
	}
	e := readOwn(f, b)
	e.Entry.ID = id
	if f.OK() {
		var kept string
		if kept, _, err = s.Desk.WriteEntry(r.Context(), by, e); err == nil {
			e.Entry.ID = kept
			return s.recorded(w, r, book.EntryURL(e.Entry.What(), kept), "", by.ID)
		}
	}
	refused, status, err := refusal(f, err)
	if err != nil {
		return err
	}
	return s.ownPage(w, r, status, b, id, f, r.PostForm, refused)
}

// ownDrop takes an entry of one's own out of use.
func (s *Server) ownDrop(w http.ResponseWriter, r *http.Request) error {
	by, _, _, err := s.bookForm(r)
	if err != nil {
		return err
	}
	if _, err := s.Desk.DropEntry(r.Context(), by, r.PathValue("id")); err != nil {
		return err
	}
	return s.recorded(w, r, book.ReferenceURL, "", by.ID)
}

func readOwn(f *form.Form, b *desk.Book) desk.OwnEntry {
	var e desk.OwnEntry
	c := &e.Entry
	c.Name = f.Text("name", 80, true)
	c.Kind = known.Kind(f.OneOf("kind", values(ownKinds), true))
	c.Isolation = known.Isolation(f.OneOf("isolation", values(ownIsolations), false))
	if low := f.Number("size_low", form.Range{Low: 0.01, High: 500, Unit: "mm"}); low != nil {
		c.SizeMM = [2]float64{*low, *low}
	}
	if high := f.Number("size_high", form.Range{Low: 0.01, High: 500, Unit: "mm"}); high != nil {
		if c.SizeMM[0] == 0 {
			c.SizeMM[0] = *high
		}
		c.SizeMM[1] = *high
		if c.SizeMM[0] > *high {
			f.Fault("size_high", "This is less than the smallest.", "Write the larger number here.")
		}
	}
	c.Sites = f.Some("site", ids(b.Reference.Sites(), func(x known.Site) string { return x.ID }))
	c.CarriedBy = f.Some("carried", ids(b.Reference.Groups(), func(x known.Group) string { return x.ID }))
	for _, x := range ownClaims {
		say := f.Text(x.name, 1000, x.name == "look" || x.name == "do" && c.IsCondition())
		if say != "" {
			*x.at(c) = []known.Claim{{Say: say, From: f.OneOf(x.name+"_from", values(ownSources()), true), Caution: f.Text(x.name+"_caution", 500, false)}}
		}
	}
	for i := range ownTwins {
		id, say := f.Typed(fmt.Sprintf("alike_%d", i)), f.Text(fmt.Sprintf("tell_%d", i), 500, false)
		switch {
		case id == "" && say == "":
		case id == "":
			f.Fault(fmt.Sprintf("alike_%d", i), "Choose what looks like it.", "Or leave the sentence empty.")
		case say == "":
			f.Fault(fmt.Sprintf("tell_%d", i), "Say how to tell them apart.", "")
		default:
			c.Alike = append(c.Alike, known.Alike{ID: id, Claim: known.Claim{Say: say, From: f.OneOf(fmt.Sprintf("tell_%d_from", i), values(ownSources()), true)}})
		}
	}
	e.Names = listed(f.Text("names", 400, false))
	e.Looks = signs.Answers{}
	for _, q := range b.Before.Questions() {
		if q.Kind != signs.Look {
			continue
		}
		if ticked := f.Some("sign_"+q.ID, ids(q.Options, func(o signs.Option) string { return o.ID })); len(ticked) > 0 {
			e.Looks[q.ID] = ticked
		}
	}
	e.Start = f.OneOf("start", values(ownStarts), false)
	return e
}

func values(options []view.Option) []string {
	return ids(options, func(o view.Option) string { return o.Value })
}

func ids[T any](all []T, id func(T) string) []string {
	out := make([]string, len(all))
	for i, x := range all {
		out[i] = id(x)
	}
	return out
}

// ownSources are what a claim may rest on: the plain origins first.
func ownSources() []view.Option {
	all := []view.Option{{Value: "", Label: "Choose where it comes from"}, {Value: known.Judgement, Label: "Judgement: our own considered guess"}, {Value: known.CommonPractice, Label: "Common practice among keepers"}}
	for _, s := range ref.Sources() {
		label := []rune(s.Citation)
		if len(label) > 90 {
			label = append(label[:90], '…')
		}
		all = append(all, view.Option{Value: s.Key, Label: string(label)})
	}
	return all
}

// ownPage shows the form with what was typed.
func (s *Server) ownPage(w http.ResponseWriter, r *http.Request, status int, b *desk.Book, id string, f *form.Form, v url.Values, refused string) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	entry, err := s.formID(f)
	if err != nil {
		return err
	}
	o := page.OwnPage{Refused: refused, Back: book.ReferenceURL,
		Lead: "It is marked as your own, found by the search, linked both ways, and takes part in the ranking by the signs you tick. Every sentence needs its source, and one with a strength needs a caution. Active ingredients only.",
		Form: view.Form{Action: "/reference/new", ID: "own", Entry: string(entry), Guard: true}, Groups: ownGroups(b, f, v)}
	title := "Add to the reference"
	if id != "" {
		o.Form.Action, title = "/reference/own/"+url.PathEscape(id), "Change "+f.Typed("name")
		o.Back = book.EntryURL("condition", id)
		if c, ok := b.Reference.Condition(id); ok {
			o.Back = book.EntryURL(c.What(), id)
		}
	}
	var fields []view.Field
	for i := range o.Groups {
		for _, p := range o.Groups[i].Parts {
			fields = append(fields, p.Field)
			if p.Err != "" {
				o.Groups[i].Fold = false // a fault must be seen
			}
		}
	}
	if o.Faults = view.Faults(fields...); len(o.Faults) > 0 {
		o.Refused = ""
	}
	return s.page(w, r, status, page.WriteEntry(view.Page{Frame: frame, Title: title, At: view.Nowhere, Width: view.Middle}, o))
}

func ownGroups(b *desk.Book, f *form.Form, v url.Values) []page.OwnGroup {
	fill := func(p page.Part) page.Part {
		p.Value, p.Err = f.Typed(p.Name), f.Err(p.Name)
		if p.As == page.AsTicks {
			p.Chosen = map[string]bool{}
			for _, x := range v[p.Name] {
				p.Chosen[x] = true
			}
		}
		return p
	}
	half := func(p page.Part) page.Part { p.Half = true; return p }
	what := page.OwnGroup{Heading: "What it is", Parts: []page.Part{
		fill(textPart("name", "Name", "", 80)), fill(textPart("names", "Other names you use, with commas between", "", 400)),
		half(fill(selectPart("kind", "Kind", "", ownKinds...))), half(fill(selectPart("isolation", "How far apart to keep them", "", ownIsolations...))),
		fill(numberPart("size_low", "Smallest", "mm", "")), fill(numberPart("size_high", "Largest", "mm", "")),
	}}
	groups := []page.OwnGroup{what}
	claims := func(x ownClaim) []page.Part {
		from := selectPart(x.name+"_from", "Where that comes from", "", ownSources()...)
		from.Half = true
		caution := textPart(x.name+"_caution", "Caution, if it can go wrong", "Needed with any strength or dose.", 500)
		label := x.label
		if x.name == "look" || x.name == "do" {
			label = "In plain words" // the heading above says of what
		}
		return []page.Part{fill(areaPart(x.name, label, x.hint, 1000)), fill(from), fill(caution)}
	}
	more := page.OwnGroup{Heading: "More to say", Fold: true}
	for i, x := range ownClaims {
		if i < 2 {
			groups = append(groups, page.OwnGroup{Heading: x.label, Parts: claims(x)})
			continue
		}
		more.Parts = append(more.Parts, claims(x)...)
	}
	twins := page.OwnGroup{Heading: "What else looks like it", Fold: true, Lead: "Each leads to the other from then on."}
	all := []view.Option{{Value: "", Label: "Nothing"}}
	for _, c := range b.Reference.Everything() {
		all = append(all, view.Option{Value: c.ID, Label: c.Name})
	}
	for i := range ownTwins {
		twins.Parts = append(twins.Parts, half(fill(selectPart(fmt.Sprintf("alike_%d", i), "Looks like", "", all...))), fill(textPart(fmt.Sprintf("tell_%d", i), "How to tell them apart", "", 500)),
			half(fill(selectPart(fmt.Sprintf("tell_%d_from", i), "Where that comes from", "", ownSources()...))))
	}
	places := page.OwnGroup{Heading: "Where, and on whom", Fold: true, Parts: []page.Part{
		fill(ticksPart("site", "Places", options(b.Reference.Sites(), func(x known.Site) view.Option { return view.Option{Value: x.ID, Label: x.Name} }))),
		fill(ticksPart("carried", "Animals that can carry it", options(b.Reference.Groups(), func(x known.Group) view.Option { return view.Option{Value: x.ID, Label: x.Name} }))),
	}}
	shows := page.OwnGroup{Heading: "Signs it usually shows", Fold: true, Lead: "Tick what it shows often. Leave a question empty where it tells nothing. Without any tick it stays out of the ranking.",
		Parts: []page.Part{fill(selectPart("start", "How usual it is in your shop", "", ownStarts...))}}
	for _, q := range b.Before.Questions() {
		if q.Kind == signs.Look {
			shows.Parts = append(shows.Parts, fill(ticksPart("sign_"+q.ID, q.Ask, options(q.Options, func(o signs.Option) view.Option { return view.Option{Value: o.ID, Label: o.Say} }))))
		}
	}
	return append(groups, places, twins, shows, more)
}

func ticksPart(name, label string, all []view.Option) page.Part {
	return page.Part{As: page.AsTicks, Field: view.Field{Name: name, Label: label, Wide: true}, Options: all}
}

func options[T any](all []T, as func(T) view.Option) []view.Option {
	out := make([]view.Option, len(all))
	for i, x := range all {
		out[i] = as(x)
	}
	return slices.Clip(out)
}
