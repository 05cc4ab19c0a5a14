package web

import (
	"errors"
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
	"holdfast/internal/web/words"
	"holdfast/photo"
	"holdfast/reference"
	"holdfast/science/signs"
)

// nothingSeen is the key of a clean judgement; it is no condition.
const nothingSeen = "nothing"

const drawNothing = `<path fill="none" stroke="currentColor" stroke-width="2" d="M6 21C8 12 18 8 29 11c2 7-1 12-8 12-6 0-11 0-15-2zM6 21l-3-2"/><circle cx="11" cy="18" r="1.5"/>`

// take moves the faults of a use case to a form's fields.
func take(f *form.Form, err error) (bool, *form.Form) {
	var p holdfast.Problems
	if errors.As(err, &p) {
		f.Take(p)
		return true, f
	}
	return false, f
}

// benchAnimal answers GET /lots/{id}/bench/animal/{no}.
func (s *Server) benchAnimal(w http.ResponseWriter, r *http.Request) error {
	b, a, err := s.animalOf(r)
	if err != nil {
		return err
	}
	return s.judgePage(w, r, http.StatusOK, b, a, a.Said[whose(r)], form.New(nil))
}

func (s *Server) animalOf(r *http.Request) (*desk.Bench, *desk.BenchAnimal, error) {
	b, err := s.benchOf(r)
	if err != nil {
		return nil, nil, err
	}
	no, err := strconv.Atoi(r.PathValue("no"))
	if err != nil {
		return nil, nil, errNoPage
	}
	a, err := b.Animal(no)
	return b, a, err
}

// judging draws one animal for one person.
type judging struct {
	sheet
	a    *desk.BenchAnimal
	said desk.Said
	// marks says that marks may be shown.
	marks bool
	next  int // letters given so far
	byPic map[string][]lettered
}

func (s *Server) judgePage(w http.ResponseWriter, r *http.Request, status int, b *desk.Bench, a *desk.BenchAnimal, said desk.Said, f *form.Form) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	j := &judging{sheet: sheet{s: s, b: b, who: whose(r)}, a: a, said: said, byPic: map[string][]lettered{}}
	j.marks = b.Settings.MarksAtOnce || said.Done
	p := j.page(f)
	p.Script = s.assets.URL("bench.js")
	return s.page(w, r, status, page.JudgePage(view.Page{Frame: frame, Title: fmt.Sprintf("Animal %d: %s", a.No, b.View.Lot.Strain), At: view.Lots}, p))
}

func (j *judging) page(f *form.Form) page.Judge {
	b, a := j.b, j.a
	p := page.Judge{Action: j.animalURL(a.No), No: a.No, Sheet: benchURL(b.View.Lot.ID, b.Day), From: fromBench(b), Name: b.View.Lot.Strain, Marked: j.marks, Who: "You judge as " + j.who + "."}
	if j.who == nobody {
		p.Who = "Say who you are at the top, so that a second person can judge beside you."
	}
	p.Tally = tally(b, j.who, a.No)
	judged := len(b.Judged(j.who))
	p.Says = fmt.Sprintf("%s of %s judged.", words.Int(judged), words.Int(len(b.Animals)))
	if j.marks {
		j.letters()
	}
	seen := a.Seen(j.said)
	p.Seen = fmt.Sprintf("%d of 4", len(seen))
	for _, side := range holdfast.Sides {
		p.Panes = append(p.Panes, j.pane(side))
		if list := a.Sides[side]; len(list) > 0 {
			p.Nears = append(p.Nears, j.nears(side, list[0])...)
			if !slices.ContainsFunc(list, (*desk.BenchPhoto).Usable) && list[0].Reading != nil {
				p.Same = append(p.Same, view.Option{Value: string(side), Label: "I can judge the " + strings.ToLower(sideLabels[side]) + " all the same"})
			}
		}
	}
	p.Chosen = map[string]bool{}
	for _, s := range j.said.AllTheSame {
		p.Chosen[string(s)] = true
	}
	missing := 4 - len(seen)
	if missing > 0 {
		p.Missing = fmt.Sprintf("%s not seen. A side nobody saw counts as not seen: the animal can have signs, but it is less sure to be clean.", words.Capital(words.Plural(missing, "side is", "sides are")))
	}
	for _, k := range reference.Builtin().Keys() {
		p.Keys = append(p.Keys, view.Say{Value: k.ID, Label: k.KeyLabel, Draw: keyDrawings[k.ID], Key: strconv.Itoa(k.Key), Chosen: j.said.Has(k.ID)})
	}
	p.Keys = append(p.Keys, view.Say{Value: nothingSeen, Label: "Nothing on the sides seen", Draw: drawNothing, Key: "9", Chosen: j.said.Done && len(j.said.Findings) == 0})
	p.What = view.Field{Name: "what", Label: "Which, where, how many, does it move", Value: f.Typed("what"), Err: f.Err("what"), Max: 300}
	if p.What.Value == "" {
		for _, x := range j.said.Findings {
			p.What.Value = max(p.What.Value, x.Note)
		}
	}
	for _, q := range f.Faults() {
		p.Faults = append(p.Faults, view.Fault{ID: "judge", Label: "Animal " + words.Int(a.No), Message: strings.TrimSpace(q.Message + " " + q.Hint)})
	}
	p.Said = j.said.Done
	p.Legend = fmt.Sprintf("What is on animal %d?", a.No)
	if j.marks {
		j.lists(&p)
		if n := len(p.Marks); n > 0 && j.said.Done {
			p.Legend = words.Capital(words.Plural(n, "mark", "marks")) + ". Does that change it?"
		}
	}
	p.NextLabel = "Keep"
	if next := j.after(); next != 0 {
		p.NextLabel = fmt.Sprintf("Keep, on to animal %d", next)
	}
	return p
}

// after is the next animal that this person has not judged, 0 for none.
func (j *judging) after() int {
	var first int
	for _, a := range j.b.Animals {
		if a.Said[j.who].Done || a.No == j.a.No {
			continue
		}
		if a.No > j.a.No {
			return a.No
		}
		if first == 0 {
			first = a.No
		}
	}
	return first
}

// letters gives each mark of the sharpest photograph of each side its letter.
func (j *judging) letters() {
	for _, side := range holdfast.Sides {
		list := j.a.Sides[side]
		if len(list) == 0 || list[0].Reading == nil {
			continue
		}
		rows, order := list[0].Reading.Shown(j.b.Settings)
		for _, m := range rows {
			j.byPic[list[0].SHA256] = append(j.byPic[list[0].SHA256], lettered{m, letter(j.next)})
			j.next++
		}
		for _, m := range order[:min(len(order), 6)] {
			j.byPic[list[0].SHA256] = append(j.byPic[list[0].SHA256], lettered{m, ""})
		}
	}
}

// markedAs counts what was said of the marks that the page of the animal shows;
// nil where the desk could not look for rows on all that it shows.
func (j *judging) markedAs(said desk.Said) *holdfast.MarksJudged {
	j.letters()
	var m holdfast.MarksJudged
	for _, side := range holdfast.Sides {
		list := j.a.Sides[side]
		if len(list) == 0 {
			continue
		}
		x := list[0]
		if x.Reading == nil || x.Reading.Fault != "" || x.Reading.PxPerMM == 0 {
			return nil
		}
		for _, k := range j.rowsOf(x.SHA256) {
			m.Rows++
			for _, f := range said.Findings {
				if f.Photo != x.SHA256 || f.Box == nil || *f.Box != boxOf(k.ReadMark) {
					continue
				}
				if f.Condition == reference.EggRow {
					m.Real++
				} else {
					m.Nothing++
				}
				break
			}
		}
	}
	return &m
}

// letter is A to Z, then AA and on.
func letter(i int) string {
	if i < 26 {
		return string(rune('A' + i))
	}
	return letter(i/26-1) + letter(i%26)
}

// rowsOf are the marks that are drawn on a picture: threads and tufts are
// crops only.
func (j *judging) rowsOf(sha string) []lettered {
	var out []lettered
	for _, m := range j.byPic[sha] {
		if m.letter != "" {
			out = append(out, m)
		}
	}
	return out
}

func (j *judging) pane(side holdfast.Side) page.Pane {
	p := page.Pane{Side: string(side), Label: sideLabels[side]}
	list := j.a.Sides[side]
	if len(list) == 0 {
		p.Says = "not taken"
		p.URL = benchURL(j.b.View.Lot.ID, j.b.Day) + "&animal=" + strconv.Itoa(j.a.No) + "#loose"
		return p
	}
	x := list[0]
	p.Taken, p.URL = true, j.photoURL(x.SHA256)+"&from="+strconv.Itoa(j.a.No)
	if x.Reading == nil {
		p.Says = "waits to be read"
		p.Plain = pictureURL(x.SHA256, 960)
		return p
	}
	if x.Reading.Fault != "" {
		p.Says = "cannot be read"
		return p
	}
	p.SVG = photoSVG(x, 960, j.rowsOf(x.SHA256), fmt.Sprintf("%s of animal %d, %s", p.Label, j.a.No, nameOf(x)))
	switch n := len(list); {
	case !x.Usable():
		p.Says = "too soft"
	case n > 1:
		p.Says = fmt.Sprintf("sharpest of %d", n)
	default:
		p.Says = "sharp"
	}
	if why := x.Reading.CannotTell(); len(why) > 0 && x.Usable() {
		p.Tell = "Cannot tell here: " + strings.Join(why, "; ") + "."
	} else if len(why) > 0 {
		p.Tell = "Cannot tell here."
	}
	return p
}

// discMM is the radius about the eye that is always enlarged.
const discMM = 3.2

// nears are the eye with the rostrum and the gill region of a photograph.
func (j *judging) nears(side holdfast.Side, x *desk.BenchPhoto) []page.Near {
	r := x.Reading
	if r == nil || r.Fault != "" {
		return nil
	}
	label := sideLabels[side]
	if r.PxPerMM == 0 {
		return []page.Near{{Label: label, None: "Set the scale first: then the eye is found and shown enlarged here."}}
	}
	if r.Eye == nil {
		return []page.Near{{Label: label, None: "No eye was found on this photograph. Open it and look about the head yourself."}}
	}
	guess := ""
	if !r.EyeSure {
		guess = ", a guess: no eye was found for sure"
	}
	marks := j.rowsOf(x.SHA256)
	rad := discMM * r.PxPerMM
	out := []page.Near{{Label: label + " eye and rostrum" + guess, URL: j.photoURL(x.SHA256) + "&from=" + strconv.Itoa(j.a.No),
		SVG: near{x, *r.Eye, rad, rad, true, fmt.Sprintf("%s eye and rostrum of animal %d, enlarged, contrast raised", label, j.a.No), marks}.svg()}}
	if r.Gills != nil && side != holdfast.Head {
		out = append(out, page.Near{Label: label + " gill region" + guess, URL: out[0].URL,
			SVG: near{x, *r.Gills, r.Gills.R, r.Gills.R, false, fmt.Sprintf("%s gill region of animal %d, enlarged, contrast raised", label, j.a.No), marks}.svg()})
	}
	return out
}

// lists writes out the marks and the order of crops.
func (j *judging) lists(p *page.Judge) {
	var quiet []string
	for _, side := range holdfast.Sides {
		list := j.a.Sides[side]
		if len(list) == 0 || list[0].Reading == nil || list[0].Reading.Fault != "" {
			continue
		}
		x := list[0]
		n := 0
		for _, m := range j.byPic[x.SHA256] {
			k := j.mark(x, side, m)
			if m.letter == "" {
				p.Crops = append(p.Crops, k)
			} else {
				p.Marks = append(p.Marks, k)
				n++
			}
		}
		if n == 0 {
			quiet = append(quiet, strings.ToLower(sideLabels[side]))
		}
	}
	if len(quiet) > 0 {
		p.Quiet = "Nothing marked on " + strings.Join(quiet, ", ") + "."
	}
	p.Accept = fmt.Sprintf("Shown are rows of which chance makes at most %s a photograph.", words.Number(j.b.Settings.FalseMarks, 2))
}

func (j *judging) mark(x *desk.BenchPhoto, side holdfast.Side, m lettered) page.MarkLine {
	r := x.Reading
	half := 0.75 * max(m.W, m.H) // a square with some room about it
	crop := within(r, m.X+m.W/2, m.Y+m.H/2, half, half)

	k := page.MarkLine{Letter: m.letter, Side: sideLabels[side], Thumb: cropURL(x.SHA256, crop, 240, true), URL: j.photoURL(x.SHA256) + "&from=" + strconv.Itoa(j.a.No)}
	k.Name = markName(x.SHA256, m.ReadMark)
	k.Says = markSays(m.ReadMark)
	k.Odd = m.Implausible()
	k.Might = j.might(m.ReadMark)
	for _, f := range j.said.Findings {
		if f.Photo == x.SHA256 && f.Box != nil && *f.Box == boxOf(m.ReadMark) {
			k.Value = f.Condition
		}
	}
	for _, c := range reference.Builtin().Keys() {
		if c.ID == holdfast.CannotTell {
			continue
		}
		label := c.KeyLabel
		if c.ID == holdfast.Pigment {
			label = "Nothing: " + strings.ToLower(label)
		}
		k.Options = append(k.Options, view.Option{Value: c.ID, Label: label})
	}
	return k
}

// might is the page of what a mark might be, in this lot. Dots are marked only
// in rows.
func (d sheet) might(m desk.ReadMark) string {
	k := signs.Mark{Tuft: m.Kind == photo.TuftKind}
	switch m.Kind {
	case photo.Dots:
		k.Dots, k.Rows, k.MM = m.Dots, 1, m.DiameterMM
	case photo.Filament:
		k.MM = m.LengthMM
	}
	return book.MarkURL(d.b.View.Lot.ID, k)
}

// markSays says what a mark is, and how often such a thing comes by chance.
func markSays(m desk.ReadMark) string {
	switch m.Kind {
	case photo.Dots:
		say := fmt.Sprintf("%s in a row", words.Plural(m.Dots, "dot", "dots"))
		if m.StepMM > 0 {
			say += fmt.Sprintf(", %s mm apart", words.Number(m.StepMM, 2))
		}
		if m.DiameterMM > 0 {
			say += fmt.Sprintf(", %s mm across", words.Number(m.DiameterMM, 2))
		}
		return say + "; " + byChance(m.ByChance) + "."
	case photo.Filament:
		if m.LengthMM > 0 {
			return fmt.Sprintf("A thread, %s mm.", words.Number(m.LengthMM, 1))
		}
		return "A thread."
	}
	return "Odd texture."
}

// byChance says how often such a mark is nothing, as people count it.
func byChance(n float64) string {
	switch {
	case n < 0:
		return "how often by chance is not known"
	case n >= 0.4:
		return fmt.Sprintf("by chance %s a photograph", words.Number(n, 1))
	case n < 0.001:
		return "by chance less than 1 in 1,000 photographs"
	}
	return fmt.Sprintf("by chance 1 in %s photographs", words.Int(int(1/n+0.5)))
}

func boxOf(m desk.ReadMark) holdfast.Box {
	return holdfast.Box{X: int(max(0, m.X)), Y: int(max(0, m.Y)), W: max(1, int(m.W)), H: max(1, int(m.H))}
}

// markName is the field that carries the verdict on a mark.
func markName(sha string, m desk.ReadMark) string {
	b := boxOf(m)
	return fmt.Sprintf("m.%s.%d.%d.%d.%d", sha, b.X, b.Y, b.W, b.H)
}

// judgeSave takes what was tapped.
func (s *Server) judgeSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	b, a, err := s.animalOf(r)
	if err != nil {
		return err
	}
	lot, by := b.View.Lot.ID, whose(r)
	d := sheet{s: s, b: b, who: by}
	if r.PostForm.Get("do") == "forget" {
		if a.Said[by].Done { // else there is nothing to forget, and no mark was shown
			if err := s.Desk.Unsay(r.Context(), lot, b.Day, a.No, by); err != nil {
				return err
			}
		}
		http.Redirect(w, r, d.animalURL(a.No), http.StatusSeeOther)
		return nil
	}
	f := form.New(r.PostForm)
	said := readSaid(f, r.PostForm, b, a)
	keep := r.PostForm.Get("do") == "keep"
	before := a.Said[by]
	said.Done, said.Marked = true, keep || b.Settings.MarksAtOnce || before.Marked
	said.Alone, said.Peeked = before.Alone, before.Peeked
	if !before.Done && !keep && !b.Settings.MarksAtOnce && !before.Peeked {
		said.Alone = said.SaidAlone()
	}
	if said.Alone != nil {
		said.Alone.Marks = (&judging{sheet: d, a: a, byPic: map[string][]lettered{}}).markedAs(said)
	}
	if !f.OK() {
		said.Done = before.Done // a wrong form opens no marks
		return s.judgePage(w, r, http.StatusBadRequest, b, a, said, f)
	}
	if err := s.Desk.Say(r.Context(), lot, b.Day, a.No, by, said); err != nil {
		return err
	}
	to := d.animalURL(a.No) + "#marks"
	if keep {
		a.Said[by] = said
		j := judging{sheet: d, a: a}
		if next := j.after(); next != 0 {
			to = d.animalURL(next)
		} else {
			to = benchURL(lot, b.Day) + "#save"
		}
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// readSaid reads a judgement off the form. Faults go to the field "say".
func readSaid(f *form.Form, v url.Values, b *desk.Bench, a *desk.BenchAnimal) desk.Said {
	var said desk.Said
	for _, side := range holdfast.Sides {
		if slices.Contains(v["same"], string(side)) && len(a.Sides[side]) > 0 {
			said.AllTheSame = append(said.AllTheSame, side)
		}
	}
	what := f.Text("what", 300, false)
	boxed := readMarks(f, v, b)
	for _, key := range v["say"] {
		if key == nothingSeen {
			continue
		}
		x, ok := desk.VerdictOf(key)
		if !ok {
			f.Fault("say", "That is not one of the findings.", "Tap again.")
			continue
		}
		if !slices.ContainsFunc(boxed, func(y holdfast.Finding) bool { return y.Condition == key }) {
			said.Findings = append(said.Findings, x)
		}
	}
	said.Findings = append(said.Findings, boxed...)
	for i := range said.Findings {
		if said.Findings[i].Condition == reference.Other || (i == 0 && !said.Has(reference.Other)) {
			said.Findings[i].Note = what
			break
		}
	}
	real := slices.ContainsFunc(said.Findings, func(x holdfast.Finding) bool { return x.Condition != holdfast.Pigment })
	nothing := slices.Contains(v["say"], nothingSeen)
	switch {
	case len(said.Findings) > 20:
		f.Fault("say", "These are too many findings of one animal.", "At most 20 can be kept.")
	case nothing && real:
		f.Fault("say", "Nothing and something cannot both be.", "Take one of them back.")
	case !nothing && len(said.Findings) == 0:
		f.Fault("say", "Nothing was tapped.", "If there is nothing, tap Nothing on the sides seen.")
	case said.Has(reference.Other) && what == "":
		f.Fault("what", "Something else: which?", "Write what it looks like.")
	case len(a.Seen(said)) == 0 && !said.Has(holdfast.CannotTell) && !real:
		f.Fault("say", "Every photograph of it is too soft.", "Tap Cannot tell, or say that you can judge a side all the same.")
	}
	return said
}

// readMarks reads the verdicts on marks.
func readMarks(f *form.Form, v url.Values, b *desk.Bench) []holdfast.Finding {
	var out []holdfast.Finding
	var names []string
	for name := range v {
		if strings.HasPrefix(name, "m.") && v.Get(name) != "" {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		parts := strings.Split(name, ".")
		x, ok := desk.VerdictOf(v.Get(name))
		if !ok || x.Condition == holdfast.CannotTell || len(parts) != 6 {
			f.Fault("say", "That is not a verdict on a mark.", "Choose again.")
			continue
		}
		if _, err := b.Photo(parts[1]); err != nil {
			f.Fault("say", "A mark is on a photograph that is not on this bench.", "Open the animal again.")
			continue
		}
		var n [4]int
		for i := range n {
			k, err := strconv.Atoi(parts[i+2])
			if err != nil || k < 0 || k > 1<<20 || (i >= 2 && k < 1) {
				f.Fault("say", "A mark lies on no photograph.", "Open the animal again.")
				k = 1
			}
			n[i] = k
		}
		x.Photo, x.Box = parts[1], &holdfast.Box{X: n[0], Y: n[1], W: n[2], H: n[3]}
		out = append(out, x)
	}
	return out
}
