package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"sync"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// round shows the day's walk.
func (s *Server) round(w http.ResponseWriter, r *http.Request) error {
	return s.roundPage(w, r, http.StatusOK, sent{})
}

// sent is a row's form that came back with faults.
type sent struct {
	task string
	form *form.Form
}

func (s *Server) roundPage(w http.ResponseWriter, r *http.Request, status int, back sent, strips ...view.Strip) error {
	ctx := r.Context()
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	f.Strips = append(f.Strips, strips...)
	f.Back = "/round"
	day, err := s.Desk.Today(ctx)
	if err != nil {
		return err
	}
	walk, err := s.Desk.Round(ctx, day)
	if err != nil {
		return err
	}
	p, err := s.roundOf(ctx, walk, f, back)
	if err != nil {
		return err
	}
	return s.page(w, r, status, page.RoundPage(view.Page{Frame: f, Title: roundTitle(p), At: view.Round, Width: view.Middle}, p))
}

func roundTitle(p page.Round) string {
	if p.Left == 0 {
		return "Round"
	}
	return fmt.Sprintf("Round, %s left", words.Int(p.Left))
}

// parsed is what a row's form asks to be written.
type parsed struct {
	payload holdfast.Payload
	write   func(context.Context, desk.Actor) error
}

// roundTick does a task, or leaves it out.
func (s *Server) roundTick(w http.ResponseWriter, r *http.Request) error {
	return s.roundDo(w, r, func(f *form.Form, t desk.Task) parsed {
		if f.Typed("do") == "skip" {
			return s.skipOf(f, t)
		}
		return s.tickOf(f, t)
	})
}

// roundSkip leaves a task out that is done on another page.
func (s *Server) roundSkip(w http.ResponseWriter, r *http.Request) error {
	return s.roundDo(w, r, s.skipOf)
}

func (s *Server) roundDo(w http.ResponseWriter, r *http.Request, read func(*form.Form, desk.Task) parsed) error {
	by, err := s.actor(r)
	if err != nil {
		return err
	}
	if by.ID == "" { // a form of somebody's own making: it cannot be repeated safely
		return &holdfast.Error{Kind: holdfast.Invalid, Message: "This form has lost its number.", Hint: "Open the round again and tick it there."}
	}
	day, err := s.Desk.Today(r.Context())
	if err != nil {
		return err
	}
	s.ticking.Lock()
	unlock := sync.OnceFunc(s.ticking.Unlock) // before anything is sent: a slow line must hold up nobody
	defer unlock()
	walk, err := s.Desk.Round(r.Context(), day)
	if err != nil {
		return err
	}
	t, ok := taskOf(walk, r.PostForm.Get("task"))
	if !ok {
		unlock()
		return s.roundPage(w, r, http.StatusConflict, sent{}, view.Strip{Mark: view.Half, Bold: "Nothing was recorded.",
			Rest: "That job is not on today’s round: the page was drawn before, or the animals have been moved since. This is the round as it stands now."})
	}
	f := form.New(r.PostForm)
	p := read(f, t)
	if f.OK() && !t.Open() && t.Done.ID != by.ID && (t.Twice == nil || t.Twice.ID != by.ID) {
		unlock()
		return s.roundBefore(w, r, t, p)
	}
	if f.OK() {
		err = p.write(r.Context(), by)
	}
	unlock()
	var faults holdfast.Problems
	if errors.As(err, &faults) {
		f.Take(faults)
	}
	switch {
	case !f.OK():
		return s.roundPage(w, r, http.StatusBadRequest, sent{t.Key, f})
	case err != nil:
		return err
	}
	return s.recorded(w, r, "/round", rowID(t.Key), by.ID)
}

// roundBefore answers a tick of a task that somebody has done meanwhile: in
// another tab, or on another phone. Nothing is written, so nothing counts
// twice; where the two differ it says so.
func (s *Server) roundBefore(w http.ResponseWriter, r *http.Request, t desk.Task, p parsed) error {
	did, mine := tell(*t.Done), tell(holdfast.Event{Payload: p.payload})
	if did == mine {
		return s.recorded(w, r, "/round", rowID(t.Key), t.Done.ID)
	}
	return s.roundPage(w, r, http.StatusConflict, sent{}, view.Strip{Mark: view.Half, Bold: somebody(t.DoneBy) + " was there first.",
		Rest: fmt.Sprintf("%s What you sent was not added: %s If yours is right, undo theirs at %s and enter yours.", did, mine, roundWhere(t))})
}

func roundWhere(t desk.Task) string {
	if t.Tank != "" {
		return "tank " + t.Tank
	}
	return "lot " + t.Lot
}

// taskOf finds a task of the walk by its key.
func taskOf(walk *desk.Round, key string) (desk.Task, bool) {
	for _, sec := range walk.Sections {
		if sec.Hygiene != nil && sec.Hygiene.Key == key {
			return *sec.Hygiene, true
		}
		for _, st := range sec.Stops {
			for _, t := range st.Tasks {
				if t.Key == key {
					return t, true
				}
			}
		}
	}
	return desk.Task{}, false
}

// The longest note and the longest reason that an entry keeps.
const (
	longestNote   = 2000
	longestReason = 500
)

func (s *Server) skipOf(f *form.Form, t desk.Task) parsed {
	why := f.Text("note", longestReason, false)
	for _, name := range figuresOf(t.Kind) {
		if f.Typed(name) != "" {
			f.Fault(name, "A figure was written, and the job left out.", "Empty it to leave the job out, or press Tick.")
		}
	}
	if why == "" && f.OK() {
		f.Fault("note", "Write why it is left out.", "It stays on the journal of the lot.")
	}
	return parsed{&holdfast.TaskSkipped{Task: t.Key, Reason: why},
		func(ctx context.Context, by desk.Actor) error { return s.Desk.Skip(ctx, by, t.Lot, t.Tank, t.Key, why) }}
}

// figuresOf are the fields of a row that hold figures.
func figuresOf(k desk.TaskKind) []string {
	switch k {
	case desk.TaskPull, desk.TaskDead:
		return []string{"count"}
	case desk.TaskRedose, desk.TaskChange:
		return measureFields
	case desk.TaskWater:
		names := make([]string, len(roundReadings))
		for i, r := range roundReadings {
			names[i] = r.name
		}
		return names
	}
	return nil
}

func (s *Server) tickOf(f *form.Form, t desk.Task) parsed {
	note := f.Text("note", longestNote, false)
	switch t.Kind {
	case desk.TaskPull:
		n := pulledOf(f)
		return parsed{&holdfast.MoultPull{Count: n, Note: note},
			func(ctx context.Context, by desk.Actor) error {
				return s.Desk.Pull(ctx, by, t.Lot, t.Tank, n, t.Key, note)
			}}
	case desk.TaskDead:
		n := deadOf(f)
		return parsed{&holdfast.Death{Count: n, Cause: note},
			func(ctx context.Context, by desk.Actor) error {
				return s.Desk.Dead(ctx, by, t.Lot, t.Tank, n, note, t.Key)
			}}
	case desk.TaskWater:
		water := readWater(f, roundReadings)
		if water.Empty() && f.OK() {
			f.Fault(roundReadings[0].name, "Write at least one reading.", "")
		}
		return parsed{&holdfast.WaterMeasured{Water: water, Note: note},
			func(ctx context.Context, by desk.Actor) error {
				return s.Desk.Measure(ctx, by, t.Tank, water, note, t.Key)
			}}
	case desk.TaskRedose:
		return s.redoseOf(f, t, note)
	case desk.TaskChange:
		return s.changeOf(f, t, note)
	case desk.TaskDose, desk.TaskLook, desk.TaskDecide, desk.TaskAfter, desk.TaskEnd: // the entry that does it comes from the lot's own page
		f.Fault("note", "This cannot be ticked here.", "Open the page behind the button of the row; leaving it out needs a reason.")
	}
	return parsed{&holdfast.TaskTicked{Task: t.Key, Note: note},
		func(ctx context.Context, by desk.Actor) error {
			return s.Desk.Tick(ctx, by, t.Lot, t.Tank, t.Key, note)
		}}
}

// pulledOf reads how many moults were pulled; nil means pulled and not counted.
// A number typed beside "none" is asked about, as for the dead.
func pulledOf(f *form.Form) *int {
	n := f.Count("count", 0, holdfast.MaxAnimals, false)
	if f.OK() && f.Typed("do") == "none" {
		if n != nil && *n > 0 {
			f.Fault("count", fmt.Sprintf("You wrote %s and pressed No moults.", words.Int(*n)), "Press Tick for the number, or empty it and press No moults.")
		}
		n = new(int)
	}
	return n
}

// deadOf reads how many are dead. A number typed beside "none" is asked about:
// one of the two is a slip.
func deadOf(f *form.Form) int {
	n := f.Count("count", 0, holdfast.MaxAnimals, false)
	none := f.Typed("do") == "none"
	switch {
	case !f.OK():
	case none && n != nil && *n > 0:
		f.Fault("count", fmt.Sprintf("You wrote %s and pressed None dead.", words.Int(*n)), "Press Tick for the number, or empty it and press None dead.")
	case none:
		return 0
	case n == nil:
		f.Fault("count", "Say how many are dead.", "If you looked and there is none, press None dead.")
	default:
		return *n
	}
	return 0
}

// roundNoneDead records that the rest of a section was looked through and
// nothing was dead. The form says for how many it was drawn: if more wait by
// now, the person has not looked at them, and nothing is recorded.
func (s *Server) roundNoneDead(w http.ResponseWriter, r *http.Request) error {
	by, err := s.actor(r)
	if err != nil {
		return err
	}
	f := form.New(r.PostForm)
	zone := f.Count("zone", int(desk.Clean), int(desk.Standstill), true)
	of := f.Count("of", 1, holdfast.MaxAnimals, true)
	if !f.OK() {
		return f.Faults()
	}
	day, err := s.Desk.Today(r.Context())
	if err != nil {
		return err
	}
	s.ticking.Lock()
	unlock := sync.OnceFunc(s.ticking.Unlock)
	defer unlock()
	walk, err := s.Desk.Round(r.Context(), day)
	if err != nil {
		return err
	}
	if now := deadLeft(walk, desk.Zone(*zone)); now > *of || r.PostForm.Get("day") != walk.Day.String() {
		unlock()
		return s.roundPage(w, r, http.StatusConflict, sent{}, view.Strip{Mark: view.Half, Bold: "Nothing was recorded.",
			Rest: "The section is not what it was when the page was drawn. Look at the list as it stands now, then press again."})
	}
	ids, err := s.Desk.NoneDead(r.Context(), by, desk.Zone(*zone))
	unlock()
	if err != nil {
		return err
	}
	if len(ids) == 0 { // pressed twice: it was done the first time
		http.Redirect(w, r, "/round#"+sectionID(desk.Zone(*zone)), http.StatusSeeOther)
		return nil
	}
	return s.recordedTogether(w, r, "/round", sectionID(desk.Zone(*zone)), ids[0])
}

// deadLeft counts the tanks of a zone in which nobody has looked for dead.
func deadLeft(walk *desk.Round, z desk.Zone) int {
	n := 0
	for _, sec := range walk.Sections {
		for _, st := range sec.Stops {
			for _, t := range st.Tasks {
				if sec.Zone == z && t.Kind == desk.TaskDead && t.Open() {
					n++
				}
			}
		}
	}
	return n
}
