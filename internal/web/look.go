package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/reference"
)

// going is a look that is going on. It travels in the form from screen to
// screen, so that nothing is lost when the server restarts.
type going struct {
	Planned int               `json:"n"`
	Places  []string          `json:"p"`
	Why     string            `json:"w"`
	Task    string            `json:"t,omitempty"`
	By      string            `json:"b"`
	Animals []holdfast.Animal `json:"a"`
	Shown   bool              `json:"s,omitempty"`
	At      int               `json:"i"`
	// Chosen and Among say how the animals are chosen, see holdfast.Inspection.
	Chosen string `json:"c,omitempty"`
	Among  int    `json:"m,omitempty"`
	// Second is the look whose animals are judged once more, Numbers theirs.
	Second  holdfast.ID `json:"e,omitempty"`
	Numbers []int       `json:"o,omitempty"`
}

// number is the number of the animal at place i of the look.
func (g going) number(i int) int {
	if i < len(g.Numbers) {
		return g.Numbers[i]
	}
	return i + 1
}

// most animals a look on the screen takes; more are entered at once.
const mostScreens = 500

// look starts a look.
func (s *Server) look(w http.ResponseWriter, r *http.Request) error {
	v, err := s.Desk.View(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	plan, err := s.Desk.PlanLook(r.Context(), v)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	n := min(plan.Planned, mostScreens)
	if asked, err := strconv.Atoi(q.Get("n")); err == nil && asked >= 1 && asked <= min(v.Lot.Alive.High, mostScreens) && asked != n {
		if plan, err = s.Desk.PlanLookAt(v, asked); err != nil {
			return err
		}
		n = asked
	}
	g := going{Planned: n, Places: plan.Places[:n], Why: plan.Why, Task: q.Get("task"), By: holdfast.ByLens, Chosen: holdfast.ChosenRandom}
	if by := q.Get("by"); byWords[by] != "" {
		g.By = by
	}
	if id := q.Get("second"); id != "" {
		if g, err = s.secondLook(v, holdfast.ID(id)); err != nil {
			return err
		}
	}
	return s.lookPage(w, r, http.StatusOK, v, g, form.New(nil))
}

func (s *Server) lookPage(w http.ResponseWriter, r *http.Request, status int, v *desk.LotView, g going, f *form.Form) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	entry, err := s.formID(f)
	if err != nil {
		return err
	}
	state, err := json.Marshal(g)
	if err != nil {
		return err
	}
	l := page.Look{Action: "/lots/" + v.Lot.ID + "/look", Lot: v.Lot.ID, LotURL: "/lots/" + v.Lot.ID, Name: v.Lot.Strain, Why: g.Why, Planned: g.Planned,
		No: g.At + 1, Number: g.number(g.At), Hidden: []view.Pair{{Name: "look", Value: string(state)}}, Entry: string(entry), Shown: g.Shown,
		By: view.Field{Name: "by", Label: "How do you look?", Value: g.By}}
	if s.Pictures != nil {
		l.Bench = lotURL(v.Lot.ID) + "/bench"
	}
	if g.At < len(g.Places) {
		l.Place = g.Places[g.At]
	}
	l.Second = g.Second != ""
	l.Chosen = view.Field{Name: "chosen", Label: "How are the animals chosen?", Value: g.Chosen, Err: f.Err("chosen")}
	l.Among = view.Field{Name: "among", Label: "How many were there to choose from?", Hint: "Those that look weak, or that could be caught. Empty if nobody counted.", Value: f.Typed("among"), Err: f.Err("among")}
	if l.Among.Value == "" && g.Among > 0 {
		l.Among.Value = strconv.Itoa(g.Among)
	}
	l.Choices = choiceOptions()
	l.Sheet = fmt.Sprintf("/lots/%s/look/sheet?n=%d", url.PathEscape(v.Lot.ID), g.Planned)
	if err := lookLuck(&l, v, g); err != nil {
		return err
	}
	var now holdfast.Animal
	if g.At < len(g.Animals) {
		now = g.Animals[g.At]
	} else if g.At > 0 && g.At <= len(g.Animals) {
		now.Seen = g.Animals[g.At-1].Seen // the same hand holds the next one the same way
	}
	for _, side := range holdfast.Sides {
		l.Sides = append(l.Sides, view.Side{Name: string(side), Label: strings.ToUpper(string(side[:1])) + string(side[1:]), Seen: slices.Contains(now.Seen, side)})
	}
	for _, k := range reference.Builtin().Keys() {
		l.Says = append(l.Says, view.Say{Value: k.ID, Label: k.KeyLabel, Draw: keyDrawings[k.ID], Key: strconv.Itoa(k.Key), Chosen: now.Has(k.ID)})
	}
	judged := g.inspection(v)
	l.SaveSay = "Save these " + words.Int(len(g.Animals))
	l.Sofar = fmt.Sprintf("%s judged, %s with signs.", words.Int(len(g.Animals)), words.Int(judged.Positive()))
	if g.Shown {
		if l.Running, err = s.running(r, v, judged); err != nil {
			return err
		}
		if l.Proofs, err = lookProofs(v, judged); err != nil {
			return err
		}
	}
	field := func(name, label, hint string) view.Field {
		return view.Field{Name: name, Label: label, Hint: hint, Value: f.Typed(name), Err: f.Err(name)}
	}
	l.Quick = []view.Field{field("looked", "Animals looked at", ""), field("pool", "Animals in one picture", "1, or empty, when each was looked at by itself")}
	for _, a := range v.Assessed {
		l.Quick = append(l.Quick, field("with_"+a.Condition.ID, "With "+strings.ToLower(a.Condition.Name), "Animals, or pictures of several. Empty means none"))
	}
	l.Drawn = view.Field{Name: "drawn", Label: "How were they chosen?", Value: f.Typed("drawn"), Err: f.Err("drawn")}
	l.QuickAmong = field("quick_among", "How many were there to choose from?", "Those that looked weak, or that could be caught. Empty if nobody counted")
	l.QuickSides = map[string]bool{}
	for _, side := range r.PostForm["qside"] {
		l.QuickSides[side] = true
	}
	l.Faults = view.Faults(append(append([]view.Field{}, l.Quick...), l.Chosen, l.Among, l.Drawn, l.QuickAmong)...)
	for _, q := range f.Faults() {
		if !slices.Contains([]string{"looked", "pool", "chosen", "among", "drawn", "quick_among"}, q.Field) && !strings.HasPrefix(q.Field, "with_") {
			l.Faults = append(l.Faults, view.Fault{ID: "look", Label: q.Field, Message: q.Message + " " + q.Hint})
		}
	}
	return s.page(w, r, status, page.LookPage(view.Page{Frame: frame, Title: "Look: " + v.Lot.Strain, At: view.Lots, Width: view.Narrow}, l))
}

// running states the figure of each condition as it stands with what was
// judged so far: the desk's own, the same that the gate will use.
func (s *Server) running(r *http.Request, v *desk.LotView, p holdfast.Inspection) ([]string, error) {
	var out []string
	for _, a := range v.Assessed {
		now, more, err := v.Running(a.Condition.ID, p, holdfast.MicrosOf(s.Desk.Now()), s.Desk.Evidence, func(id string) (*holdfast.Lot, error) { return s.Desk.Lot(r.Context(), id) })
		if err != nil {
			return nil, err
		}
		out = append(out, fmt.Sprintf("%s: %s likely clear. %s %s", now.Condition.Name, words.Percent(now.Figure.Chance), more, v.OnePositive(a.Condition, p)))
	}
	return out, nil
}

func (g going) inspection(v *desk.LotView) holdfast.Inspection {
	chosen := g.Chosen
	if chosen == "" {
		chosen = holdfast.ChosenRandom
	}
	return holdfast.Inspection{By: g.By, Random: chosen == holdfast.ChosenRandom || chosen == holdfast.ChosenAll, Chosen: chosen, Among: g.Among,
		LookedFor: v.LookFor(), Planned: g.Planned, Animals: g.Animals, Task: g.Task, Blind: !g.Shown, Second: g.Second}
}

// lookSave takes one screen's verdict, or saves the look.
func (s *Server) lookSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	v, err := s.Desk.View(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	f := form.New(r.PostForm)
	g, err := readGoing(f.Typed("look"))
	if err != nil {
		return err
	}
	if by := f.OneOf("by", []string{holdfast.ByEye, holdfast.ByLens, holdfast.ByPhoto, holdfast.ByMicroscope}, false); by != "" {
		g.By = by
	}
	g.choose(f, v)
	if !f.OK() {
		return s.lookPage(w, r, http.StatusBadRequest, v, g, f)
	}
	switch f.Typed("do") {
	case "next":
		if err := g.judge(r); err != nil {
			f.Fault("Sides", err.Error(), "Tap the sides that were in view, or Cannot tell.")
			return s.lookPage(w, r, http.StatusBadRequest, v, g, f)
		}
	case "back":
		g.At = max(0, g.At-1)
	case "show":
		g.Shown = g.Second == "" // a second pair of eyes stays blind
	case "save":
		// What was said of the animal in hand is part of the look; sides alone
		// were carried over from the one before.
		if len(r.PostForm["say"]) > 0 {
			if err := g.judge(r); err != nil {
				f.Fault("Sides", err.Error(), "Tap the sides that were in view, or Cannot tell.")
				return s.lookPage(w, r, http.StatusBadRequest, v, g, f)
			}
		}
		return s.lookWrite(w, r, v, g, g.inspection(v), f)
	case "quick":
		p := quickLook(f, v, g)
		if !f.OK() {
			return s.lookPage(w, r, http.StatusBadRequest, v, g, f)
		}
		return s.lookWrite(w, r, v, g, p, f)
	}
	return s.lookPage(w, r, http.StatusOK, v, g, f)
}

func readGoing(text string) (going, error) {
	var g going
	lost := &holdfast.Error{Kind: holdfast.Invalid, Message: "This look has lost its thread.", Hint: "Start it again from the lot."}
	if len(text) > 200<<10 || json.Unmarshal([]byte(text), &g) != nil {
		return g, lost
	}
	if len(g.Numbers) > mostScreens || g.Planned < 1 || g.Planned > mostScreens || len(g.Places) > mostScreens || len(g.Animals) > g.Planned || g.At < 0 || g.At > len(g.Animals) {
		return g, lost
	}
	return g, nil
}

// judge takes what was tapped for the animal on the screen.
func (g *going) judge(r *http.Request) error {
	if g.At >= g.Planned {
		return nil
	}
	a := holdfast.Animal{No: g.number(g.At)}
	if g.At < len(g.Places) {
		a.Place = g.Places[g.At]
	}
	for _, side := range holdfast.Sides {
		if slices.Contains(r.PostForm["side"], string(side)) {
			a.Seen = append(a.Seen, side)
		}
	}
	for _, k := range reference.Builtin().Keys() {
		if slices.Contains(r.PostForm["say"], k.ID) {
			a.Findings = append(a.Findings, holdfast.Finding{Condition: k.ID})
		}
	}
	if len(a.Seen) == 0 && len(a.Findings) == 0 {
		return errors.New("No side was seen and nothing was said of this animal.")
	}
	if g.At < len(g.Animals) {
		g.Animals[g.At] = a
	} else {
		g.Animals = append(g.Animals, a)
	}
	g.At++
	return nil
}

func (s *Server) lookWrite(w http.ResponseWriter, r *http.Request, v *desk.LotView, g going, p holdfast.Inspection, f *form.Form) error {
	by, err := s.actor(r)
	if err != nil {
		return err
	}
	tank := ""
	if tanks := v.Lot.TankIDs(); len(tanks) > 0 {
		tank = tanks[0]
	}
	if p.Chosen == holdfast.ChosenAll && p.Looked() < v.Lot.Alive.N {
		f.Fault("drawn", fmt.Sprintf("%s are thought alive and %s were looked at: that is not all of them.", words.Int(v.Lot.Alive.N), words.Int(p.Looked())), "Choose another, or recount the lot first.")
		return s.lookPage(w, r, http.StatusBadRequest, v, g, f)
	}
	id, err := s.Desk.Inspect(r.Context(), by, v.Lot.ID, tank, p)
	var problems holdfast.Problems
	if errors.As(err, &problems) {
		f.Take(problems)
		return s.lookPage(w, r, http.StatusBadRequest, v, g, f)
	}
	if err != nil {
		return err
	}
	return s.recordedTogether(w, r, "/lots/"+v.Lot.ID, "", id)
}

// keyDrawings are line drawings for the verdict keys, in a box of 34 by 34:
// what each looks like through the lens, not a state.
var keyDrawings = map[string]string{
	"rostrum_worm":   `<path fill="none" stroke="currentColor" stroke-width="2" d="M12 29c-3-6 0-11 3-14s4-6 3-8m3 1 4-4m-7 4 0-5"/><circle cx="12" cy="29" r="2.5" fill="none" stroke="currentColor" stroke-width="2"/>`,
	"segmented_worm": `<path fill="none" stroke="currentColor" stroke-width="2" d="M5 24c6-12 18-2 24-14"/><path stroke="currentColor" stroke-width="1.5" d="m8 17 4 4m2-6 2 5m4-6 3 4m1-8 4 3"/>`,
	"egg_row":        `<g fill="none" stroke="currentColor" stroke-width="1.8"><ellipse cx="6" cy="20" rx="2.4" ry="3.4"/><ellipse cx="12" cy="18" rx="2.4" ry="3.4"/><ellipse cx="18" cy="17" rx="2.4" ry="3.4"/><ellipse cx="24" cy="18" rx="2.4" ry="3.4"/><ellipse cx="30" cy="20" rx="2.4" ry="3.4"/></g>`,
	"ciliates":       `<path fill="none" stroke="currentColor" stroke-width="2" d="M17 29V14m0 8c-5-2-7-6-7-10m7 10c5-2 7-6 7-10M4 30h26"/>`,
	"green_growth":   `<path fill="none" stroke="currentColor" stroke-width="2" d="M9 29c0-8-3-10-4-15m7 15c0-10 3-14 2-21m6 21c-1-9 3-12 3-18m3 18c0-8 3-8 3-13"/>`,
	"other":          `<path fill="none" stroke="currentColor" stroke-width="2" d="M12 12c0-7 11-7 11 0 0 5-6 5-6 10"/><circle cx="17" cy="27" r="1.6" fill="currentColor"/>`,
	"pigment":        `<path fill="currentColor" d="m10 10 1.5 4 4 1.500-4 1.500-1.500 4-1.500-4-4-1.500 4-1.500zM23 18l1 3 3 1-3 1-1 3-1-3-3-1 3-1z"/>`,
	"cannot_tell":    `<circle cx="17" cy="17" r="11" fill="none" stroke="currentColor" stroke-width="2" stroke-dasharray="3 4"/>`,
}
