package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"sort"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/book"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/signs"
)

// changesShown is how many changes the page of cases lists.
const changesShown = 12

// cases shows what the shop has confirmed and what that changed.
func (s *Server) cases(w http.ResponseWriter, r *http.Request) error {
	frame, b, err := s.bookFrame(r)
	if err != nil {
		return err
	}
	c := page.CasesPage{Passed: b.Passed}
	if c.Cases, err = s.lines(frame, b, "/signs/cases", func(ev holdfast.Event) bool { return ev.Kind == holdfast.KindCaseConfirmed }); err != nil {
		return err
	}
	learned := b.Signs.Learned()
	sort.SliceStable(learned, func(i, j int) bool { return learned[i].Cases > learned[j].Cases })
	for _, l := range learned {
		if l.Cases > 0 {
			c.Priors = append(c.Priors, []string{b.Called(l.ID), words.Number(l.Cases, 1), words.Percent(l.PriorWeight)})
		}
	}
	for _, x := range b.Signs.Changes(b.Before) {
		if len(c.Changes) == changesShown {
			break
		}
		sign := "how often it is behind a question"
		if x.Question != "" {
			sign = signWords(b.Signs, signs.Answers{x.Question: {x.Option}})
		}
		c.Changes = append(c.Changes, []string{b.Called(x.Suspect), sign, words.Percent(x.Before), words.Percent(x.After)})
	}
	return s.page(w, r, http.StatusOK, page.Cases(view.Page{Frame: frame, Title: "Your own cases", At: view.Nowhere, Width: view.Middle}, c))
}

// confirmAct is the form that keeps what a suspicion turned out to be.
func (s *Server) confirmAct(b *desk.Book, a signs.Answers, lot string, t tried) (page.Act, error) {
	id, err := s.Desk.NewID()
	if err != nil {
		return page.Act{}, err
	}
	hidden := answerPairs(b.Signs, a)
	if lot != "" {
		hidden = append(hidden, view.Pair{Name: "lot", Value: lot})
	}
	r, err := b.Signs.Rank(a)
	if err != nil {
		return page.Act{}, err
	}
	all := []view.Option{{Value: "", Label: "Choose"}}
	for _, x := range r.Suspects {
		all = append(all, view.Option{Value: x.ID, Label: b.Called(x.ID)})
	}
	parts := []page.Part{
		selectPart("truth", "It was", "", all...),
		{As: page.AsChoose, Field: view.Field{Name: "proof", Label: "What settled it"}, Options: []view.Option{
			{Value: holdfast.ProofLaboratory, Label: "A laboratory", Below: "Counts 1"},
			{Value: holdfast.ProofMicroscope, Label: "The microscope, by somebody who knows", Below: "Counts 0.8"},
			{Value: holdfast.ProofResponse, Label: "It answered to treatment as that does", Below: "Counts 0.3: much passes by itself"}}},
		textPart("by", "Who found it", "The report’s name and number.", 200),
		textPart("note", "Note", "", 500),
	}
	act := page.Act{Form: view.Form{Action: "/signs/cases", ID: "confirm-form", Entry: string(id), Hidden: hidden}, Summary: "Keep what it turned out to be",
		Lead: "The signs ticked above are kept with it. A disease the law wants to hear of, or one without a cure, also holds the lot.", Button: "Keep the case", Parts: parts}
	if t.what == "confirm" {
		act.Open, act.Refused = true, t.refused
		for i := range act.Parts {
			p := &act.Parts[i]
			p.Value, p.Err = t.form.Typed(p.Name), t.form.Err(p.Name)
		}
	}
	return act, nil
}

// confirm keeps a confirmed case.
func (s *Server) confirm(w http.ResponseWriter, r *http.Request) error {
	by, f, b, err := s.bookForm(r)
	if err != nil {
		return err
	}
	p := holdfast.CaseConfirmed{Truth: f.OneOf("truth", b.Before.Suspects(), true), Proof: f.OneOf("proof", []string{holdfast.ProofLaboratory, holdfast.ProofMicroscope, holdfast.ProofResponse}, true),
		By: f.Text("by", 200, false), Note: f.Text("note", 500, false), Signs: book.Answers(b.Signs, r.PostForm)}
	lot := f.Typed("lot")
	if f.OK() {
		if _, err = s.Desk.Confirm(r.Context(), by, lot, p); err == nil {
			return s.recordedTogether(w, r, "/signs/cases", "", by.ID)
		}
	}
	refused, status, err := refusal(f, err)
	if err != nil {
		return err
	}
	return s.signsShown(w, r, status, r.PostForm, tried{what: "confirm", form: f, refused: refused})
}

// answerPairs are answers as hidden fields.
func answerPairs(m *signs.Model, a signs.Answers) []view.Pair {
	var out []view.Pair
	for _, q := range m.Questions() {
		for _, o := range a[q.ID] {
			out = append(out, view.Pair{Name: q.ID, Value: o})
		}
	}
	return out
}

// caseURL is the case file's page for answers and a lot.
func caseURL(m *signs.Model, a signs.Answers, lot string) string {
	v := url.Values{}
	for _, p := range answerPairs(m, a) {
		v.Add(p.Name, p.Value)
	}
	if lot != "" {
		v.Set("lot", lot)
	}
	if len(v) == 0 {
		return "/signs/case"
	}
	return "/signs/case?" + v.Encode()
}

// signsURL is the signs' page with answers and a lot.
func signsURL(m *signs.Model, a signs.Answers, lot string) string {
	return book.SignsURL + caseURL(m, a, lot)[len("/signs/case"):]
}

// besidePhotos is how many photographs of a lot stand beside the questions.
const besidePhotos = 4

// knownOfLot are the settings that a lot answers by itself, a sentence on them
// and its newest photographs.
func (s *Server) knownOfLot(r *http.Request, q url.Values) (url.Values, book.SignsMore, error) {
	more := book.SignsMore{Lot: q.Get("lot")}
	if more.Lot == "" {
		return q, more, nil
	}
	v, err := s.Desk.View(r.Context(), more.Lot)
	if err != nil {
		return nil, more, err
	}
	zone, err := s.Desk.Zone(r.Context())
	if err != nil {
		return nil, more, err
	}
	for _, ev := range slices.Backward(v.Lot.Events) {
		p, ok := ev.Payload.(*holdfast.PhotoAdded)
		if ok && s.Photos != nil && len(more.Photos) < besidePhotos && (p.Media == "image/jpeg" || p.Media == "image/png" || p.Media == "image/webp") {
			more.Photos = append(more.Photos, book.Picture{URL: "/photos/" + p.SHA256, Says: noted(words.Moment(ev.OccurredAt.In(zone))+".", p.Note)})
		}
	}
	with := url.Values{}
	for k, x := range q {
		with[k] = x
	}
	more.Say = fmt.Sprintf("About lot %s.", more.Lot)
	for question, options := range v.Signs() {
		if len(with[question]) == 0 {
			with[question] = options
			more.Say = fmt.Sprintf("About lot %s. Animal and origin are ticked as known and declared.", more.Lot)
		}
	}
	return with, more, nil
}
