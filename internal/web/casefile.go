package web

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/paper"
	"holdfast/internal/web/book"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	known "holdfast/reference"
	"holdfast/science/ref"
)

// Bounds of what goes into a case file from a lot.
const (
	caseLines  = 30
	casePhoto  = 64 << 20
	casePhotos = 40
)

// lotCase is what a lot brings into a case file.
type lotCase struct {
	about   []string
	history []paper.Advice
	photos  []holdfast.Event
}

// caseFile shows what goes into the file.
func (s *Server) caseFile(w http.ResponseWriter, r *http.Request) error {
	return s.caseShown(w, r, http.StatusOK, r.URL.Query(), "")
}

func (s *Server) caseShown(w http.ResponseWriter, r *http.Request, status int, q url.Values, refused string) error {
	frame, b, err := s.bookFrame(r)
	if err != nil {
		return err
	}
	answers := book.Answers(b.Signs, q)
	ranking, err := b.Signs.Rank(answers)
	if err != nil {
		return err
	}
	lot, err := s.caseOfLot(r, q.Get("lot"))
	if err != nil {
		return err
	}
	file := paper.CaseOf(b.Reference, b.Signs.Questions(), answers, ranking)
	p := page.CasePage{Back: signsURL(b.Signs, answers, q.Get("lot")), Refused: refused, About: lot.about, Ask: file.Ask, Alarm: file.Alarm,
		Note: view.Field{Name: "note", Label: "What else they should know", Hint: "Who keeps them, what you fear, how to reach you.", Value: q.Get("note"), Max: 2000, Wide: true},
		Form: view.Form{Action: "/signs/case.pdf", ID: "case", Class: "signs", Hidden: answerPairs(b.Signs, answers)}}
	if id := q.Get("lot"); id != "" {
		p.Form.Hidden = append(p.Form.Hidden, view.Pair{Name: "lot", Value: id})
	}
	for _, x := range file.Said {
		p.Signs = append(p.Signs, [2]string{x.Question, x.Answer})
	}
	for _, x := range file.Suspects {
		p.Might = append(p.Might, [2]string{x.Name, x.Share + " of the weight"})
	}
	for _, a := range file.Advice {
		p.Advice = append(p.Advice, page.CaseList{Title: a.Title, Lines: a.Lines})
	}
	for _, h := range lot.history {
		p.History = append(p.History, page.CaseList{Title: h.Title, Lines: h.Lines})
	}
	for _, ev := range lot.photos {
		ph := ev.Payload.(*holdfast.PhotoAdded)
		x := page.CasePhoto{Sum: ph.SHA256, URL: "/photos/" + ph.SHA256, Says: noted(words.Moment(ev.OccurredAt.In(frame.Now.Location())), ph.Note)}
		switch {
		case ph.Media != "image/jpeg" && ph.Media != "image/png":
			x.No = "only JPEG and PNG can go into the PDF; send this one beside it."
		case ph.Size > casePhoto:
			x.No = "too large for the PDF; send it beside it."
		}
		p.Photos = append(p.Photos, x)
	}
	return s.page(w, r, status, page.Case(view.Page{Frame: frame, Title: "Case file", At: view.Nowhere, Width: view.Full}, p))
}

// casePDF sends the file.
func (s *Server) casePDF(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	f := form.New(r.PostForm)
	note := f.Text("note", 2000, false)
	if !f.OK() {
		return s.caseShown(w, r, http.StatusBadRequest, r.PostForm, f.Err("note"))
	}
	b, err := s.own(r.Context())
	if err != nil {
		return err
	}
	answers := book.Answers(b.Signs, r.PostForm)
	ranking, err := b.Signs.Rank(answers)
	if err != nil {
		return err
	}
	lot, err := s.caseOfLot(r, f.Typed("lot"))
	if err != nil {
		return err
	}
	zone, err := s.Desk.Zone(r.Context())
	if err != nil {
		return err
	}
	c := paper.CaseOf(b.Reference, b.Signs.Questions(), answers, ranking)
	c.Made, c.About, c.History = s.Desk.Now().In(zone), lot.about, lot.history
	if note != "" {
		c.About = append(c.About, note)
	}
	wanted, total := r.PostForm["photo"], 0
	for _, ev := range lot.photos {
		ph := ev.Payload.(*holdfast.PhotoAdded)
		if !slices.Contains(wanted, ph.SHA256) || len(c.Photos) == casePhotos {
			continue
		}
		data, err := s.photoBytes(ph.SHA256)
		if err != nil {
			return err
		}
		c.Photos = append(c.Photos, paper.CasePhoto{Name: photoName(ph), Data: data})
		if total += len(data); total > paper.MaxCaseBytes {
			break // WriteCaseFile refuses them: no more is read into memory
		}
	}
	var out bytes.Buffer
	err = paper.WriteCaseFile(&out, c)
	var in *ref.InputError
	if errors.As(err, &in) {
		return s.caseShown(w, r, http.StatusBadRequest, r.PostForm, joined(ended(in.Message), in.Hint))
	}
	if err != nil {
		return err
	}
	name := "case-" + c.Made.Format("2006-01-02")
	if id := f.Typed("lot"); id != "" {
		name += "-" + id
	}
	attach(w, "application/pdf", name+".pdf")
	_, _ = w.Write(out.Bytes()) // the reader has gone away: nothing to be done
	return nil
}

func (s *Server) photoBytes(sum string) ([]byte, error) {
	if s.Photos == nil {
		return nil, errNoPage
	}
	in, _, err := s.Photos.Open(sum)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	return io.ReadAll(io.LimitReader(in, casePhoto+1))
}

func photoName(p *holdfast.PhotoAdded) string {
	name := strings.Map(func(r rune) rune {
		if r < ' ' || strings.ContainsRune(`/\:*?"<>|`, r) {
			return '_'
		}
		return r
	}, p.Name)
	if name == "" {
		name = p.SHA256[:12] + map[string]string{"image/jpeg": ".jpg", "image/png": ".png"}[p.Media]
	}
	return name
}

// caseOfLot gathers the lot's history; nothing for no lot.
func (s *Server) caseOfLot(r *http.Request, id string) (lotCase, error) {
	var c lotCase
	if id == "" {
		return c, nil
	}
	ctx := r.Context()
	v, err := s.Desk.View(ctx, id)
	if err != nil {
		return c, err
	}
	zone, err := s.Desk.Zone(ctx)
	if err != nil {
		return c, err
	}
	l := v.Lot
	c.about = append(c.about, fmt.Sprintf("Lot %s: %s, %s.", l.ID, l.Strain, speciesWords(l.Species)),
		fmt.Sprintf("Received %s from %s; %s on the list, %s dead on arrival, %s died since, %s alive.", words.FullDay(l.OpenedAt.In(zone)), orNot(v.Consignment.Supplier), words.Int(l.Declared), words.Int(l.DOA), words.Int(l.Deaths), words.Int(l.Alive.N)))
	if v.Consignment.Known && v.Consignment.HoursInTransit != nil {
		c.about = append(c.about, "On the way for "+words.Measure(*v.Consignment.HoursInTransit, 0, "hours")+".")
	}
	for _, d := range desk.Declarations(v.Consignment) {
		c.about = append(c.about, "The seller says ("+backedWords[d.Backed]+"): "+d.Ask+" "+ended(d.Answer))
	}
	if v.Consignment.Origin != "" {
		c.about = append(c.about, "Where raised, as declared: "+strings.ReplaceAll(v.Consignment.Origin, "_", " ")+".")
	}
	looks, given, deaths, water := paper.Advice{Title: "Looks"}, paper.Advice{Title: "Treatments, water changes and moults"}, paper.Advice{Title: "Deaths and other notes"}, paper.Advice{Title: "Water"}
	for _, ev := range slices.Backward(l.Events) {
		line := fmt.Sprintf("%s, %s: %s", caseMoment(ev.OccurredAt.In(zone)), ev.Who, tell(ev))
		var to *paper.Advice
		switch p := ev.Payload.(type) {
		case *holdfast.Inspection:
			to = &looks
		case *holdfast.Treatment:
			to = &given
		case *holdfast.Death:
			if p.Count > 0 {
				to = &deaths
			}
		case *holdfast.Note, *holdfast.Hold, *holdfast.CaseConfirmed:
			to = &deaths
		case *holdfast.PhotoAdded:
			c.photos = append(c.photos, ev)
		}
		if to != nil && len(to.Lines) < caseLines {
			to.Lines = append(to.Lines, line)
		}
	}
	for _, place := range l.Stays {
		t, err := s.Desk.Tank(ctx, place.Tank)
		if err != nil {
			continue // a tank that was never described has no readings
		}
		for _, ev := range slices.Backward(t.Measured) {
			if len(water.Lines) < caseLines && ev.OccurredAt >= place.From && (place.To == 0 || ev.OccurredAt <= place.To) {
				water.Lines = append(water.Lines, fmt.Sprintf("%s, tank %s: %s", caseMoment(ev.OccurredAt.In(zone)), place.Tank, tell(ev)))
			}
		}
	}
	for _, bag := range v.Consignment.Bags {
		if say := tellWater(bag.Water); say != "" {
			water.Lines = append(water.Lines, "Bag water on arrival: "+say+".")
		}
	}
	for _, a := range []*paper.Advice{&looks, &given, &water, &deaths} {
		if len(a.Lines) == 0 {
			a.Lines = []string{"Nothing was written down."}
		}
		c.history = append(c.history, *a)
	}
	return c, nil
}

// caseMoment says a moment with its year: the file is read elsewhere and later.
func caseMoment(t time.Time) string { return words.FullDay(t) + ", " + t.Format("15:04") }

// speciesWords is the plain and the scientific name of a species or group.
func speciesWords(id string) string {
	if k, ok := known.Builtin().Kept(id); ok {
		return k.Name + " (" + k.Scientific + ")"
	}
	if g, ok := known.Builtin().Group(id); ok {
		return g.Name
	}
	return id
}

func orNot(s string) string {
	if s == "" {
		return "a supplier not named"
	}
	return s
}
