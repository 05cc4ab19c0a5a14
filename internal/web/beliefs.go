package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"slices"
	"sort"
	"strconv"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/internal/web/work"
	"holdfast/science/clearance"
	"holdfast/science/ref"
)

func beliefsURL(id string) string { return "/beliefs/" + id }

// beliefs answers GET /beliefs/{id}: what the shop believes of a condition's
// figures beside what the program takes.
func (s *Server) beliefs(w http.ResponseWriter, r *http.Request) error {
	return s.beliefsShown(w, r, http.StatusOK, nil, "")
}

// beliefsShown draws the page, with a form that was not taken or is being tried.
func (s *Server) beliefsShown(w http.ResponseWriter, r *http.Request, status int, f *form.Form, fileErr string) error {
	ctx := r.Context()
	id := r.PathValue("id")
	if !slices.Contains(clearance.Conditions(), id) {
		return &holdfast.Error{Kind: holdfast.NotFound, Message: fmt.Sprintf("No life cycle is known for %q.", short(id)), Hint: "Choose a condition from the settings."}
	}
	fr, err := s.frame(r)
	if err != nil {
		return err
	}
	shop, err := s.Desk.Settings(ctx)
	if err != nil {
		return err
	}
	fr.Back = beliefsURL(id)
	own := shop.Beliefs[id]
	plain := holdfast.BeliefsSet{Condition: id, File: own.File}
	base, err := desk.ConditionInForce(map[string]holdfast.BeliefsSet{id: plain}, id)
	if err != nil {
		return err
	}
	entry, err := s.Desk.NewID()
	if err != nil {
		return err
	}
	p := page.Beliefs{Name: desk.Called(id), Form: view.Form{Action: beliefsURL(id), Entry: string(entry), Class: "form wide-form"},
		FileURL: beliefsURL(id) + "/file", OwnFile: len(own.File) > 0, Own: len(own.Figures) > 0 || len(own.File) > 0,
		Upload: view.Form{Action: beliefsURL(id) + "/file", Entry: string(entry), Upload: true},
		File:   view.Field{Name: "file", Label: "Your copy of the data file", Err: fileErr, Hint: "JSON, at most 64 kB, made from the one above"}}
	for _, c := range clearance.Conditions() {
		p.Sieves = append(p.Sieves, view.Sieve{Label: desk.Called(c), URL: beliefsURL(c), Count: -1, Current: c == id})
	}
	typed := typedBeliefs(own)
	if f != nil {
		typed = f
	}
	for _, x := range beliefsOf(base) {
		called := x.called(base)
		row := page.BeliefRow{Name: called, Code: x.name, Says: x.belief.Note, Range: rangeOf(x.belief), Basis: basisOf(x.belief.Basis),
			Low:  view.Field{Name: "lo-" + x.name, Label: called + ", low", Value: typed.Typed("lo-" + x.name), Err: typed.Err("lo-" + x.name)},
			High: view.Field{Name: "hi-" + x.name, Label: called + ", high", Value: typed.Typed("hi-" + x.name), Err: typed.Err("hi-" + x.name)}}
		p.Faults = append(p.Faults, view.Faults(row.Low, row.High)...)
		p.Rows = append(p.Rows, row)
	}
	if fileErr != "" {
		p.Faults = append(p.Faults, view.Faults(p.File)...)
	}
	tried := own
	if f != nil {
		tried = plain
		tried.Figures = readBeliefs(form.New(urlValues(f, base)), base)
	}
	if len(p.Faults) == 0 {
		s.consequence(ctx, &p, id, tried)
	}
	return s.page(w, r, status, page.BeliefsPage(view.Page{Frame: fr, Title: "What you believe of the " + words.MidSentence(p.Name)}, p))
}

// figure is one belief of a condition with the name it is changed by.
type figure struct {
	name   string
	belief clearance.Belief
}

// called is what people call it.
func (x figure) called(c *clearance.Condition) string {
	if said := words.Figure(x.name); said != "" {
		return said
	}
	return words.Capital(c.Treatments[x.name].Name)
}

// beliefsOf lists everything of a condition that can be believed otherwise.
func beliefsOf(c *clearance.Condition) []figure {
	out := []figure{{"infested", c.Infested}}
	var ids []string
	for id := range c.Treatments {
		ids = append(ids, id)
	}
	sort.Strings(ids)
	for _, id := range ids {
		b := c.Treatments[id].Kill
		b.Note = strings.TrimSpace("The share that one full dose kills. " + b.Note)
		out = append(out, figure{id, b})
	}
	for f := range c.Figures {
		out = append(out, figure{clearance.Figure(f).String(), c.Figures[f]})
	}
	return out
}

func rangeOf(b clearance.Belief) string {
	unit := b.Unit
	switch unit {
	case "chance", "share", "ratio":
		unit = ""
	}
	if b.Low == b.High {
		return strings.TrimSpace(figureText(b.Low) + " " + unit)
	}
	return strings.TrimSpace(figureText(b.Low) + " to " + figureText(b.High) + " " + unit)
}

func figureText(x float64) string { return strconv.FormatFloat(x, 'g', 4, 64) }

func basisOf(b ref.Basis) string {
	switch b {
	case "seen":
		return "seen"
	case "relative":
		return "from a relative"
	case "practice":
		return "common practice"
	case "own":
		return "your own file"
	}
	return "a guess"
}

// typedBeliefs is the form as it stands when own intervals are in force.
func typedBeliefs(own holdfast.BeliefsSet) *form.Form {
	v := map[string][]string{}
	for name, x := range own.Figures {
		v["lo-"+name] = []string{strconv.FormatFloat(x.Low, 'f', -1, 64)}
		v["hi-"+name] = []string{strconv.FormatFloat(x.High, 'f', -1, 64)}
	}
	return form.New(v)
}

// urlValues are the values of a form again, so that reading them leaves no second
// fault.
func urlValues(f *form.Form, c *clearance.Condition) map[string][]string {
	v := map[string][]string{}
	for _, x := range beliefsOf(c) {
		v["lo-"+x.name], v["hi-"+x.name] = f.All("lo-"+x.name), f.All("hi-"+x.name)
	}
	return v
}

// readBeliefs reads the own intervals. Both ends empty keep what there is.
func readBeliefs(f *form.Form, c *clearance.Condition) map[string]holdfast.OwnFigure {
	out := map[string]holdfast.OwnFigure{}
	for _, x := range beliefsOf(c) {
		bound := form.Range{Low: 0, High: 1e6}
		if u := x.belief.Unit; u == "chance" || u == "share" {
			bound.High = 1
		}
		low, high := f.Number("lo-"+x.name, bound), f.Number("hi-"+x.name, bound)
		switch {
		case low == nil && high == nil:
		case low == nil && f.Err("lo-"+x.name) == "":
			f.Fault("lo-"+x.name, "The low end is missing.", "Write both ends, or none.")
		case high == nil && f.Err("hi-"+x.name) == "":
			f.Fault("hi-"+x.name, "The high end is missing.", "Write both ends, or none.")
		case low == nil || high == nil:
		case *low > *high:
			f.Fault("hi-"+x.name, "The high end lies below the low end.", "Write them the other way round.")
		default:
			out[x.name] = holdfast.OwnFigure{Low: *low, High: *high}
		}
	}
	return out
}

// beliefsSave answers POST /beliefs/{id}: it shows what the figures mean, keeps
// them, or goes back to the program's.
func (s *Server) beliefsSave(w http.ResponseWriter, r *http.Request) error {
	by, err := s.actor(r)
	if err != nil {
		return err
	}
	id := r.PathValue("id")
	if !slices.Contains(clearance.Conditions(), id) {
		return s.beliefs(w, r)
	}
	shop, err := s.Desk.Settings(r.Context())
	if err != nil {
		return err
	}
	b := holdfast.BeliefsSet{Condition: id}
	f := form.New(r.PostForm)
	if r.PostForm.Get("do") != "reset" {
		b.File = shop.Beliefs[id].File
		base, err := desk.ConditionInForce(map[string]holdfast.BeliefsSet{id: b}, id)
		if err != nil {
			return err
		}
		b.Figures = readBeliefs(f, base)
		var wrong holdfast.Problems
		if f.OK() && errors.As(desk.CheckBeliefs(b), &wrong) {
			for _, x := range wrong {
				f.Fault("lo-"+x.Field, fullStop(x.Message), x.Hint)
			}
		}
		if !f.OK() {
			return s.beliefsShown(w, r, http.StatusBadRequest, f, "")
		}
		if r.PostForm.Get("do") == "try" {
			return s.beliefsShown(w, r, http.StatusOK, f, "")
		}
	}
	return s.keepBeliefs(w, r, by, b)
}

func (s *Server) keepBeliefs(w http.ResponseWriter, r *http.Request, by desk.Actor, b holdfast.BeliefsSet) error {
	entry, err := s.Desk.SetBeliefs(r.Context(), by, b)
	if err != nil {
		return err
	}
	return s.recorded(w, r, beliefsURL(b.Condition), "", entry)
}

func fullStop(s string) string {
	s = words.Capital(s)
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}

// beliefsFile answers GET /beliefs/{id}/file with the data file in force.
func (s *Server) beliefsFile(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	shop, err := s.Desk.Settings(r.Context())
	if err != nil {
		return err
	}
	b := []byte(shop.Beliefs[id].File)
	if len(b) == 0 {
		var in *ref.InputError
		if b, err = clearance.ConditionFile(id); errors.As(err, &in) {
			return &holdfast.Error{Kind: holdfast.NotFound, Message: in.Message, Hint: in.Hint}
		} else if err != nil {
			return err
		}
	}
	attach(w, "application/json", id+".json")
	_, _ = w.Write(b) // the reader has gone away: nothing to be done
	return nil
}

// beliefsUpload answers POST /beliefs/{id}/file: a changed copy of the file takes
// its place, and the intervals written on the page with it.
func (s *Server) beliefsUpload(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseMultipartForm(formBody); err != nil {
		return badForm(err)
	}
	by, err := s.actor(r)
	if err != nil {
		return err
	}
	b := holdfast.BeliefsSet{Condition: r.PathValue("id")}
	up, _, err := r.FormFile("file")
	if err != nil {
		return s.beliefsShown(w, r, http.StatusBadRequest, nil, "Choose a file first.")
	}
	defer up.Close()
	if b.File, err = io.ReadAll(io.LimitReader(up, holdfast.MaxConditionFile+1)); err != nil {
		return badForm(err)
	}
	if len(b.File) > holdfast.MaxConditionFile {
		return s.beliefsShown(w, r, http.StatusBadRequest, nil, "The file is larger than 64 kB.")
	}
	if !json.Valid(b.File) {
		return s.beliefsShown(w, r, http.StatusBadRequest, nil, "The file is not JSON. Copy the one that comes with the program and change its numbers.")
	}
	var wrong holdfast.Problems
	if err := desk.CheckBeliefs(b); errors.As(err, &wrong) {
		return s.beliefsShown(w, r, http.StatusBadRequest, nil, fullStop(wrong[0].Message)+" "+wrong[0].Hint)
	}
	return s.keepBeliefs(w, r, by, b)
}

// consequence works out beside the page what the beliefs mean for the standard
// lots, against the program's.
func (s *Server) consequence(ctx context.Context, p *page.Beliefs, id string, own holdfast.BeliefsSet) {
	ask := func(b holdfast.BeliefsSet) (desk.Consequence, bool) {
		raw, err := json.Marshal(b)
		if err != nil {
			return desk.Consequence{}, false
		}
		sum := sha256.Sum256(raw)
		key := "belief/" + hex.EncodeToString(sum[:8])
		s.plans.Do(key, true, func(ctx context.Context, _ work.Tell) (any, error) {
			c, err := desk.ConditionInForce(map[string]holdfast.BeliefsSet{id: b}, id)
			if err != nil {
				return nil, err
			}
			return desk.ConsequenceOf(ctx, c, s.Runs)
		})
		st := s.plans.Wait(ctx, key, planWait, func(work.State) bool { return false })
		if st.Err != nil {
			p.Waits = st.Err.Error()
			return desk.Consequence{}, false
		}
		c, ok := st.Value.(desk.Consequence)
		if !ok {
			p.Waits, p.Poll = "What this means for two standard lots is being worked out.", true
		}
		return c, ok
	}
	plain, ok := ask(holdfast.BeliefsSet{Condition: id})
	if !ok {
		return
	}
	rows := [][]view.Cell{beliefRow("With the program’s figures", plain)}
	if len(own.Figures) > 0 || len(own.File) > 0 {
		mine, ok := ask(holdfast.BeliefsSet{Condition: id, File: own.File, Figures: own.Figures})
		if !ok {
			return
		}
		rows = append(rows, beliefRow("With yours", mine))
	}
	p.Means = &view.Ledger{Caption: "Chance of clear of two standard lots", Fold: true,
		Columns: []view.Column{{Label: "Figures"}, {Label: "Heavy lot", Num: true}, {Label: "Light lot", Num: true}}, Rows: rows}
}

func beliefRow(name string, c desk.Consequence) []view.Cell {
	cell := func(s clearance.Share) view.Cell {
		return view.Cell{Text: words.Percent(s.Value), Reck: true, Below: "band " + words.PercentRange(min(s.Low, s.Value), max(s.High, s.Value))}
	}
	return []view.Cell{{Text: name}, cell(c.Heavy), cell(c.Light)}
}
