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
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// looseShown is how many bursts the sheet shows at once.
const looseShown = 60

// benchURL is the sheet of a lot; day 0 is the newest.
func benchURL(lot string, day holdfast.Day) string {
	u := lotURL(lot) + "/bench"
	if day != 0 {
		u += "?day=" + day.String()
	}
	return u
}

// sub is an address below the sheet, of the same day.
func sub(b *desk.Bench, path string) string {
	return lotURL(b.View.Lot.ID) + "/bench/" + path + "?day=" + b.Day.String()
}

// fromBench names the sheet that a page below it leads back to.
func fromBench(b *desk.Bench) string {
	return "Lot " + b.View.Lot.ID + ", " + words.ShortDay(b.Day.Date())
}

// benchOf reads the bench that a request is about.
func (s *Server) benchOf(r *http.Request) (*desk.Bench, error) {
	if s.Photos == nil || s.Pictures == nil {
		return nil, errNoPage
	}
	var day holdfast.Day
	if text := r.FormValue("day"); text != "" {
		var ok bool
		if day, ok = holdfast.ParseDay(text); !ok {
			return nil, errNoPage
		}
	}
	return s.Desk.Bench(r.Context(), r.PathValue("id"), day)
}

// whose is the name under which this browser judges.
func whose(r *http.Request) string {
	if name := who(r); name != "" {
		return name
	}
	return nobody
}

// bench answers GET /lots/{id}/bench.
func (s *Server) bench(w http.ResponseWriter, r *http.Request) error {
	return s.benchShown(w, r, http.StatusOK, nil)
}

func (s *Server) benchShown(w http.ResponseWriter, r *http.Request, status int, came *arrived) error {
	b, err := s.benchOf(r)
	if err != nil {
		return err
	}
	return s.benchPage(w, r, status, b, came, form.New(nil))
}

// benchPage draws the sheet.
func (s *Server) benchPage(w http.ResponseWriter, r *http.Request, status int, b *desk.Bench, came *arrived, f *form.Form) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	d := sheet{s: s, b: b, who: whose(r), now: frame.Now.Location().String()}
	p, err := d.page(r, came, f)
	if err != nil {
		return err
	}
	if p.Came != nil {
		if p.Came.Undo, err = s.takeBack(b.View.Lot.ID, came.First, came.Last); err != nil {
			return err
		}
	}
	p.Script = s.assets.URL("bench.js")
	if n, err := strconv.Atoi(r.URL.Query().Get("added")); err == nil && n > 0 && came == nil {
		back, err := s.takeBack(b.View.Lot.ID, holdfast.ID(r.URL.Query().Get("first")), holdfast.ID(r.URL.Query().Get("last")))
		if err != nil {
			return err
		}
		frame.Strips = append(frame.Strips, view.Strip{Mark: view.Done, Bold: words.Plural(n, "photograph", "photographs") + " added.", Rest: "Those the lot had already stand there once.", Do: back})
	}
	frame.Back = benchURL(b.View.Lot.ID, b.Day)
	return s.page(w, r, status, page.BenchPage(view.Page{Frame: frame, Title: p.Name, At: view.Lots}, p))
}

// sheet draws the bench's first page for one person.
type sheet struct {
	s   *Server
	b   *desk.Bench
	who string
	now string
}

func (d sheet) page(r *http.Request, came *arrived, f *form.Form) (page.Bench, error) {
	b, lot := d.b, d.b.View.Lot
	p := page.Bench{URL: lotURL(lot.ID) + "/bench", Day: b.Day.String(), LotURL: lotURL(lot.ID), From: "Lot " + lot.ID, Name: "Bench: " + lot.Strain, Came: cameOf(came), Empty: len(b.Photos) == 0}
	p.Shop = "/bench"
	p.Links = []page.Link{{Label: "How well the marks do here", URL: "/bench"}}
	if len(b.Days) > 1 {
		p.Links = append(p.Links, page.Link{Label: "Before and after", URL: lotURL(lot.ID) + "/bench/before"})
	}
	if !p.Empty {
		p.Links = append(p.Links, page.Link{Label: "Second pair of eyes", URL: sub(b, "second")})
	}
	for _, day := range b.Days {
		k := page.Link{Label: words.ShortDay(day.Date()), URL: benchURL(lot.ID, day)}
		if day == b.Day {
			k.Weight = view.Main
		}
		p.Days = append(p.Days, k)
	}
	if p.Empty {
		p.Says = "No photographs of this lot yet."
		return p, nil
	}
	p.Says = fmt.Sprintf("%s: %s in %s; %s.", words.ShortDay(b.Day.Date()), words.Plural(len(b.Photos), "photograph", "photographs"), words.Plural(len(b.Bursts), "burst", "bursts"), words.Plural(len(b.Animals), "animal", "animals"))
	p.Progress = d.progress()
	p.Scale = d.scale()
	d.animals(&p)
	d.loose(&p, r)
	var err error
	p.Save, err = d.save(f)
	return p, err
}

// progress says how far reading is; nil when it is done.
func (d sheet) progress() *page.Progress {
	waiting, _ := d.b.Counts()
	if waiting == 0 {
		return nil
	}
	n := len(d.b.Photos)
	p := &page.Progress{Done: n - waiting, Total: n, Paused: d.b.Paused, Back: benchURL(d.b.View.Lot.ID, d.b.Day), Running: !d.b.Paused}
	p.Says = fmt.Sprintf("%s of %s photographs read.", words.Int(n-waiting), words.Int(n))
	if d.b.Paused {
		p.Says += " Reading is paused; it stays so until you go on, also after a restart."
	} else {
		p.Says += " You can begin with those that are read; the page follows by itself, or load it again."
	}
	return p
}

func (d sheet) scale() page.BenchScale {
	s := page.BenchScale{URL: sub(d.b, "scale")}
	own := 0
	for _, x := range d.b.Photos {
		if x.OwnScale {
			own++
		}
	}
	if d.b.Scale == nil && own > 0 {
		s.Known = true
		s.Says = fmt.Sprintf("%s of %s photographs have a scale of their own; the others have none.", words.Int(own), words.Int(len(d.b.Photos)))
		if own == len(d.b.Photos) {
			s.Says = "Every photograph has a scale of its own."
		}
		return s
	}
	if d.b.Scale == nil {
		s.Says = "No scale yet. Without one the eye is not looked for, no rows are marked and no size is told. Photograph a ruler once a session, or give the magnification."
		return s
	}
	s.Known = true
	s.Says = fmt.Sprintf("%s pixels a millimetre, %s. A scale up to a quarter wrong still finds rows; sizes are then as wrong as it is.", words.Number(d.b.Scale.PxPerMM, 1), d.b.Scale.How)
	return s
}

var sideLabels = map[holdfast.Side]string{holdfast.Left: "Left", holdfast.Right: "Right", holdfast.Belly: "Belly", holdfast.Head: "Head"}

func (d sheet) animalURL(no int) string { return sub(d.b, "animal/"+strconv.Itoa(no)) }

func (d sheet) photoURL(sha string) string { return sub(d.b, "photo/"+sha) }

func (d sheet) animals(p *page.Bench) {
	judged := 0
	for _, a := range d.b.Animals {
		x := page.BenchAnimal{No: a.No, URL: d.animalURL(a.No)}
		for _, side := range holdfast.Sides {
			k := page.BenchSide{Label: sideLabels[side]}
			if list := a.Sides[side]; len(list) > 0 {
				k.Thumb, k.URL, k.Soft = pictureURL(list[0].SHA256, 240), d.photoURL(list[0].SHA256), list[0].Reading != nil && !list[0].Usable()
			}
			x.Sides = append(x.Sides, k)
		}
		said, ok := a.Said[d.who]
		if ok && said.Done {
			judged++
		} else if p.Judge == "" {
			p.Judge, p.JudgeSays = x.URL, "Judge animal "+words.Int(a.No)
		}
		x.Mark, x.State = saidState(said, ok)
		p.Animals = append(p.Animals, x)
	}
	if judged > 0 && p.Judge == "" && d.b.Saved == nil {
		p.Judge, p.JudgeSays = "#save", "Save the look"
	}
}

// saidState says in few words what a person said of an animal.
func saidState(said desk.Said, ok bool) (view.Mark, string) {
	if !ok || !said.Done {
		return view.Unlooked, "Not judged yet"
	}
	var names []string
	found := false
	for _, f := range said.Findings {
		name := findingName(f)
		if !slices.Contains(names, name) {
			names = append(names, name)
		}
		found = found || (f.Condition != holdfast.Pigment && f.Condition != holdfast.CannotTell)
	}
	switch {
	case found:
		return view.Found, strings.Join(names, ", ")
	case said.Has(holdfast.CannotTell):
		return view.Unlooked, strings.Join(names, ", ")
	case len(names) > 0:
		return view.Half, strings.Join(names, ", ")
	}
	return view.Clear, "Nothing on the sides seen"
}

func findingName(f holdfast.Finding) string {
	switch f.Condition {
	case holdfast.CannotTell:
		return "Cannot tell"
	case holdfast.Pigment:
		return "Pigment or dirt"
	}
	return desk.Called(f.Condition)
}

// loose lists what has not been put to an animal.
func (d sheet) loose(p *page.Bench, r *http.Request) {
	b := d.b
	p.Now = d.current(r)
	base := benchURL(b.View.Lot.ID, b.Day)
	with := func(n int) string { return base + "&animal=" + strconv.Itoa(n) + "#loose" }
	if p.Now > 1 {
		p.Prev = with(p.Now - 1)
	}
	p.Next = with(p.Now + 1)
	p.NowHas = "No photograph of it yet."
	if a, err := b.Animal(p.Now); err == nil {
		var has []string
		for _, side := range holdfast.Sides {
			if len(a.Sides[side]) > 0 {
				has = append(has, strings.ToLower(sideLabels[side]))
			}
		}
		p.NowHas = "It has " + strings.Join(has, ", ") + "."
	}
	all := r.URL.Query().Get("all") == "1"
	for _, burst := range b.Bursts {
		var free []*desk.BenchPhoto
		for _, x := range burst {
			if x.Animal == 0 {
				free = append(free, x)
			}
		}
		if len(free) == 0 {
			continue
		}
		best := free[0]
		if best.Reading != nil && best.Reading.Fault != "" {
			for _, x := range free {
				p.Unread = append(p.Unread, d.unread(x))
			}
			continue
		}
		f := d.frames(free, base+"&animal="+strconv.Itoa(p.Now)+"#loose")
		switch {
		case best.Reading != nil && !best.Usable():
			p.Soft = append(p.Soft, f)
		case len(p.Loose) < looseShown || all:
			p.Loose = append(p.Loose, f)
		default:
			p.MoreURL = base + "&all=1&animal=" + strconv.Itoa(p.Now) + "#loose"
			p.MoreLoose = "Show every burst, not only the first " + words.Int(looseShown)
		}
	}
}

// current is the number that photographs are put to: the one asked for, else
// the last one that has any.
func (d sheet) current(r *http.Request) int {
	if n, err := strconv.Atoi(r.URL.Query().Get("animal")); err == nil && n > 0 && n <= 10_000 {
		return n
	}
	if n := len(d.b.Animals); n > 0 {
		return d.b.Animals[n-1].No
	}
	return 1
}

func (d sheet) frames(burst []*desk.BenchPhoto, back string) page.Frames {
	best := burst[0]
	f := page.Frames{ID: "f-" + best.SHA256[:12], Thumb: pictureURL(best.SHA256, 480), URL: d.photoURL(best.SHA256), Alt: nameOf(best), Back: back}
	f.Mark, f.State, f.Says = d.state(best)
	if len(burst) >= 3 {
		f.Stack = sub(d.b, "stack/"+best.SHA256)
	}
	for i, x := range burst {
		f.Shas = append(f.Shas, x.SHA256)
		if i > 0 {
			_, state, says := d.state(x)
			f.Others = append(f.Others, page.Frame{Thumb: pictureURL(x.SHA256, 240), URL: d.photoURL(x.SHA256), Says: nameOf(x) + ", " + strings.ToLower(state) + " " + says})
		}
	}
	return f
}

func nameOf(x *desk.BenchPhoto) string {
	if x.Name == "" {
		return "photograph " + x.SHA256[:8]
	}
	return x.Name
}

// state says whether a photograph is of use.
func (d sheet) state(x *desk.BenchPhoto) (view.Mark, string, string) {
	switch {
	case x.Reading == nil:
		return view.Running, "Waits to be read", ""
	case x.Reading.Fault != "":
		return view.Stop, "Not readable", ""
	case !x.Usable():
		return view.Unlooked, "Too soft", words.Number(x.Reading.Sharp, 1)
	}
	return view.NoMark, "Sharp", words.Number(x.Reading.Sharp, 1)
}

func (d sheet) unread(x *desk.BenchPhoto) page.BadFile {
	bad := page.BadFile{Name: nameOf(x), Says: x.Reading.Fault, URL: "/photos/" + x.SHA256}
	if id, err := d.s.Desk.NewID(); err == nil {
		bad.Undo = &view.StripForm{Label: "Take it away", Action: "/undo", Hidden: []view.Pair{
			{Name: "entry", Value: string(x.Entry)}, {Name: "id", Value: string(id)}, {Name: "reason", Value: "The file cannot be read as a photograph."}, {Name: "back", Value: benchURL(d.b.View.Lot.ID, d.b.Day)}}}
	}
	return bad
}

// save is the form that ends the look.
func (d sheet) save(f *form.Form) (*page.BenchSave, error) {
	b := d.b
	if len(b.Animals) == 0 {
		return nil, nil
	}
	id, err := d.s.formID(f)
	if err != nil {
		return nil, err
	}
	judged := b.Judged(d.who)
	s := &page.BenchSave{Action: lotURL(b.View.Lot.ID) + "/bench/save?day=" + b.Day.String(), Entry: string(id), Label: "Save the look",
		Drawn: view.Field{Name: "chosen", Label: "How were the animals chosen?", Value: f.Typed("chosen"), Err: f.Err("chosen")}, Choices: choiceOptions(),
		Among: view.Field{Name: "among", ID: "save-among", Label: "Of how many, if not of all", Hint: "Those caught, or those that looked weak", Value: f.Typed("among"), Err: f.Err("among")},
		Note:  view.Field{Name: "note", ID: "save-note", Label: "Note", Value: f.Typed("note"), Err: f.Err("note"), Max: 500, Wide: true}}
	s.Faults = view.Faults(s.Drawn, s.Among, s.Note)
	if say := f.Err("animals"); say != "" {
		s.Faults = append(s.Faults, view.Fault{ID: "animals", Label: "Animals", Message: say})
	}
	s.Says = fmt.Sprintf("%s of %s judged.", words.Int(len(judged)), words.Plural(len(b.Animals), "animal", "animals"))
	if len(judged) == 0 {
		s.Shut = "Judge an animal first"
	}
	if b.Saved != nil {
		n := len(b.Saved.Payload.(*holdfast.Inspection).Animals)
		s.Saved = fmt.Sprintf("A look at %s was saved by %s.", words.Plural(n, "animal", "animals"), somebody(b.Saved.Who))
		s.Label = "Save it again in its place"
		if b.Saved.Who != d.who {
			s.Second, s.Label = true, "Save as the second judgement"
			s.Saved += " Yours stands beside it and is compared; animals count once."
		}
	}
	return s, nil
}

// benchPut says which animal and side photographs show.
func (s *Server) benchPut(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	id := r.PathValue("id")
	b, err := s.benchOf(r)
	if err != nil {
		return err
	}
	no, err := strconv.Atoi(r.PostForm.Get("animal"))
	if err != nil {
		no = -1
	}
	side := holdfast.Side(r.PostForm.Get("side"))
	if side == "off" {
		no = 0
	}
	shas := r.PostForm["sha"]
	if len(shas) == 0 || len(shas) > mostFiles {
		return holdfast.Problems{{Field: "sha", Message: "no photograph was named", Hint: "Go back to the bench and choose one."}}
	}
	for _, sha := range shas {
		if _, err := b.Photo(sha); err != nil {
			return err
		}
	}
	for _, sha := range shas {
		if err := s.Desk.PutPhoto(r.Context(), id, sha, no, side); err != nil {
			return err
		}
	}
	back := r.PostForm.Get("back")
	if back == "" {
		back = benchURL(id, b.Day)
	}
	http.Redirect(w, r, local(back), http.StatusSeeOther)
	return nil
}

// benchSave makes the judgements on the bench a look of the lot.
func (s *Server) benchSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	b, err := s.benchOf(r)
	if err != nil {
		return err
	}
	f := form.New(r.PostForm)
	by, err := s.actor(r)
	if err != nil {
		return err
	}
	second := b.Saved != nil && b.Saved.Who != by.Who
	save := desk.SaveForm{Note: f.Text("note", 500, false), Task: r.URL.Query().Get("task")}
	if !second {
		save.Chosen = f.OneOf("chosen", choices, true)
		n := f.Count("among", max(1, len(b.Judged(by.Who))), max(1, b.View.Lot.Alive.High), false)
		if n != nil && (save.Chosen == holdfast.ChosenAsCaught || save.Chosen == holdfast.ChosenWeak) {
			save.Among = *n
		}
	}
	if !f.OK() {
		return s.benchPage(w, r, http.StatusBadRequest, b, nil, f)
	}
	id, err := s.Desk.SaveLook(r.Context(), by, b, save)
	if took, faults := take(f, err); took {
		return s.benchPage(w, r, http.StatusBadRequest, b, nil, faults)
	}
	if err != nil {
		return err
	}
	if second {
		return s.recordedTogether(w, r, lotURL(b.View.Lot.ID)+"/bench/second?day="+url.QueryEscape(b.Day.String()), "", id)
	}
	return s.recordedTogether(w, r, lotURL(b.View.Lot.ID), "", id)
}
