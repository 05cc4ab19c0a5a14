package web

import (
	"net/http"
	"strings"
	"time"

	"holdfast"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// roles are what somebody may come as.
var roles = []view.Option{
	{Value: holdfast.VisitVeterinarian, Label: "Veterinarian"},
	{Value: holdfast.VisitAuthority, Label: "The authority"},
	{Value: holdfast.VisitLaboratory, Label: "A laboratory", Below: "for samples"},
	{Value: holdfast.VisitOther, Label: "Somebody else"},
}

// roleWords are the roles in the middle of a sentence.
var roleWords = map[string]string{holdfast.VisitVeterinarian: "veterinarian", holdfast.VisitAuthority: "authority", holdfast.VisitLaboratory: "laboratory", holdfast.VisitOther: "other"}

// visitForm answers GET /register/visit.
func (s *Server) visitForm(w http.ResponseWriter, r *http.Request) error {
	return s.visitShown(w, r, http.StatusOK, form.New(nil))
}

func (s *Server) visitShown(w http.ResponseWriter, r *http.Request, status int, f *form.Form) error {
	frame, b, err := s.bookFrame(r)
	if err != nil {
		return err
	}
	entry, err := s.formID(f)
	if err != nil {
		return err
	}
	field := func(name, label, hint string, longest int) view.Field {
		return view.Field{Name: name, Label: label, Hint: hint, Max: longest, Value: f.Typed(name), Err: f.Err(name)}
	}
	p := page.Visit{Form: view.Form{Action: "/register/visit", ID: "visit", Entry: string(entry), Guard: true},
		Visitor: field("visitor", "Who came", "Name and office or practice", 120), Role: field("role", "As what", "", 0), Roles: roles,
		At:     field("at", "When, if not just now", "", 0),
		Lots:   field("lots", "Which lots", "Their short numbers with commas between; empty for the whole shop", 2000),
		Reason: field("reason", "Why they came", "", 500), Result: field("result", "What was found", "In the visitor’s own words where you can", 4000),
		Instructions: field("instructions", "What was ordered or advised", "", 4000), Samples: field("samples", "Samples taken, if any", "Of what, how many, by which number", 1000),
		Laboratory: field("laboratory", "Laboratory result, if it is back", "With its number and day", 2000)}
	p.Visitor.Half, p.At.Half = true, true
	for _, x := range []*view.Field{&p.Lots, &p.Reason, &p.Result, &p.Instructions, &p.Samples, &p.Laboratory} {
		x.Wide = true
	}
	p.Visitor.Required, p.Result.Required = true, true
	p.Faults = view.Faults(p.Visitor, p.Role, p.At, p.Lots, p.Reason, p.Result, p.Instructions, p.Samples, p.Laboratory)
	if p.Before, err = s.lines(frame, b, "/register/visit", func(ev holdfast.Event) bool { return ev.Kind == holdfast.KindVisit }); err != nil {
		return err
	}
	return s.page(w, r, status, page.VisitPage(view.Page{Frame: frame, Title: "A visit", At: view.Register, Width: view.Middle}, p))
}

// visitSave keeps what a visitor found.
func (s *Server) visitSave(w http.ResponseWriter, r *http.Request) error {
	by, err := s.author(r)
	if err != nil {
		return err
	}
	zone, err := s.Desk.Zone(r.Context())
	if err != nil {
		return err
	}
	f := form.New(r.PostForm)
	p := holdfast.Visit{Visitor: f.Text("visitor", 120, true), Role: f.OneOf("role", []string{holdfast.VisitVeterinarian, holdfast.VisitAuthority, holdfast.VisitLaboratory, holdfast.VisitOther}, true),
		Reason: f.Text("reason", 500, false), Result: f.Text("result", 4000, true), Instructions: f.Text("instructions", 4000, false),
		Samples: f.Text("samples", 1000, false), Laboratory: f.Text("laboratory", 2000, false)}
	p.Lots = strings.FieldsFunc(f.Text("lots", 2000, false), func(r rune) bool { return r == ',' || r == ';' || r == ' ' || r == '\n' || r == '\t' || r == '\r' })
	now := s.Desk.Now()
	by.At = f.Moment("at", zone, now.Add(-20*365*24*time.Hour), now)
	if f.OK() {
		if _, err = s.Desk.Visit(r.Context(), by, p); err == nil {
			return s.recorded(w, r, "/register", "visits", by.ID)
		}
		if _, _, err := refusal(f, err); err != nil {
			return err
		}
	}
	return s.visitShown(w, r, http.StatusBadRequest, f)
}

// tellVisit says what a visit was and found.
func tellVisit(p *holdfast.Visit) string {
	say := "Visit by " + p.Visitor + " (" + roleWords[p.Role] + ")"
	if len(p.Lots) > 0 {
		say += ", about lot " + strings.Join(p.Lots, ", ")
	}
	say += ": " + ended(p.Result)
	for _, x := range [][2]string{{"Ordered or advised: ", p.Instructions}, {"Samples: ", p.Samples}, {"Laboratory: ", p.Laboratory}} {
		if x[1] != "" {
			say += " " + x[0] + ended(x[1])
		}
	}
	return say
}

// visitedSays is what a visit was about.
func visitedSays(p holdfast.Visit) string {
	if len(p.Lots) == 0 {
		return "the whole shop"
	}
	return words.Plural(len(p.Lots), "lot", "lots") + ": " + strings.Join(p.Lots, ", ")
}
