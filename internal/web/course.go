package web

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"math"
	"net/http"
	"net/url"
	"sync"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/work"
	"holdfast/science/clearance"
	"holdfast/science/ref"
)

// fewRuns are the simulated lots of a first answer, so that the page shows one at
// once.
func (s *Server) fewRuns() int { return max(100, s.Runs/5) }

// rough says that a plan was worked out from the few lots of a first answer.
func (s *Server) rough(v *desk.CourseView) bool { return v.Outlook.Runs < s.Runs }

// How long a page waits: for where the lot stands, for a first answer about courses
// before it says that one is under way, for the plan that is shown beneath, counted
// from the request too, and for what beliefs change. A lot looked at three times has
// its first answer after some 260 ms on two idle cores; a page a little later with it
// says more than one at once without.
const (
	standWait  = 90 * time.Millisecond
	firstWait  = 265 * time.Millisecond
	courseWait = 240 * time.Millisecond
	planWait   = 900 * time.Millisecond
)

func courseURL(lot string) string { return lotURL(lot) + "/course" }

// coursed is one request for the page.
type coursed struct {
	s     *Server
	v     *desk.LotView
	base  *desk.CourseBase
	money desk.CourseMoney
	key   string // of the question: lot, beliefs, line and money
	query url.Values
	zone  *time.Location
	tried tried
	today holdfast.Day
	// until is when the page is sent with what there is.
	until time.Time
}

// course answers GET /lots/{id}/course.
func (s *Server) course(w http.ResponseWriter, r *http.Request) error {
	return s.courseShown(w, r, http.StatusOK, tried{})
}

// courseShown draws the page, with a form that was not taken opened again.
func (s *Server) courseShown(w http.ResponseWriter, r *http.Request, status int, t tried) error {
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	query := r.URL.Query()
	if t.values != nil && t.what == "accept" {
		query = t.values
	}
	c, p, err := s.courseAsked(r.Context(), r.PathValue("id"), query, t)
	if err != nil {
		return err
	}
	f.Back = courseURL(c.v.Lot.ID)
	if q := c.query.Encode(); q != "" && r.Method == http.MethodGet {
		f.Back += "?" + q
	}
	if p.None == "" {
		if err := c.fill(r.Context(), &p); err != nil {
			return err
		}
		if status == http.StatusOK && p.Picked != nil && len(p.Picked.Faults) > 0 {
			status = http.StatusBadRequest
		}
	}
	return s.page(w, r, status, page.CoursePage(view.Page{Frame: f, Title: "Course for " + lotName(c.v.Lot), At: view.Lots}, p))
}

// courseAsked reads the lot and lays it out; the page says why there is nothing
// to plan where there is not.
func (s *Server) courseAsked(ctx context.Context, id string, query url.Values, t tried) (*coursed, page.Course, error) {
	c := &coursed{s: s, query: query, tried: t, until: time.Now().Add(courseWait)}
	var p page.Course
	var err error
	if c.v, err = s.Desk.View(ctx, id); err != nil {
		return nil, p, err
	}
	if c.zone, err = s.Desk.Zone(ctx); err != nil {
		return nil, p, err
	}
	c.today = c.v.Today
	c.money = desk.Money(c.v)
	l := c.v.Lot
	against := desk.CourseAgainst(c.v, query.Get("against"))
	p = page.Course{URL: lotURL(l.ID), From: lotName(l), Name: "Course of treatment", StandMark: view.Half, Standing: "No course is accepted: the round follows common practice."}
	if l.Course != nil {
		plan := l.Course.Payload.(*holdfast.CourseAccepted)
		if query.Get("against") == "" {
			against = plan.Condition
		}
		p.StandMark, p.Standing = view.Running, tellCourse(plan)
	}
	switch {
	case l.Status == holdfast.Closed:
		p.None = "The lot is closed: nobody is left to treat."
	case against == "":
		p.None = "None of the conditions tracked for these animals has a life cycle in the model."
	}
	if p.None != "" {
		return c, p, nil
	}
	c.base, err = c.v.Base(against)
	var none *ref.NoAnswer
	if errors.As(err, &none) {
		p.None = none.Reason
		return c, p, nil
	}
	if err != nil {
		return nil, p, err
	}
	c.key, err = c.keyOf()
	return c, p, err
}

// keyOf names the question: whatever could change the answer is in it.
func (c *coursed) keyOf() (string, error) {
	b, err := json.Marshal(struct {
		Lot     string
		Against string
		Beliefs any
		Case    any
		Line    any
		Money   any
	}{c.v.Lot.ID, c.base.Condition.ID, c.v.Shop.Beliefs[c.base.Condition.ID], c.base.Case, c.base.ReleaseLine, c.money})
	sum := sha256.Sum256(b)
	return c.v.Lot.ID + "/" + hex.EncodeToString(sum[:8]), err
}

// searched starts the search, or returns how it stands.
func (c *coursed) searched(ctx context.Context, wait time.Duration) work.State {
	key := "search/" + c.key
	q := c.base.Question(c.money, c.s.Runs)
	c.s.searches.Do(key, true, func(ctx context.Context, tell work.Tell) (any, error) {
		var sofar clearance.Answer
		_ = c.s.turns.first(func() error {
			var err error
			if sofar, err = c.firstAnswer(ctx, q); err == nil {
				first := sofar
				tell(&first, 0, 0)
			}
			return err // of which the search will tell as well
		})
		ctx = clearance.Yielding(ctx, func() { c.s.turns.yield(ctx) })
		a, err := clearance.Search(ctx, q, func(p clearance.Progress) bool {
			better := sofar
			better.Earliest, better.Cheapest, better.Reached = p.Best, nil, p.Best.Earliest != nil
			tell(&better, p.Done, p.Total)
			return true
		})
		return &a, err
	})
	return c.s.searches.Wait(ctx, key, wait, func(s work.State) bool { return s.Value != nil })
}

// firstAnswer compares a few courses on few simulated lots.
func (c *coursed) firstAnswer(ctx context.Context, q clearance.Question) (clearance.Answer, error) {
	s, err := c.roughStanding(ctx)
	if err != nil {
		return clearance.Answer{}, err
	}
	q.Case.Runs, q.Prices, q.Alone = c.s.fewRuns(), nil, true
	first := c.base.At(c.base.From)
	for _, d := range c.base.Doses { // not on top of one that was just given
		first = max(first, math.Ceil(d.Day)+14)
	}
	for _, doses := range []int{3, 4} {
		q.Candidates = append(q.Candidates, clearance.Course{Treatment: c.base.Condition.Usual(), First: first, Doses: doses, Gap: 14, PullsPerDay: 1,
			LookAnimals: q.LookAnimals, LooksBefore: q.LooksBefore})
	}
	return s.Compare(ctx, q, nil)
}

// standing is where the lot stands, from as many lots as every plan is tried on;
// roughStanding the same from few.
func (c *coursed) standing(ctx context.Context) (*clearance.Standing, error) {
	return c.s.standings.of(ctx, c.key, func() (*clearance.Standing, error) { return c.base.Stand(ctx, 2*c.s.Runs) })
}

func (c *coursed) roughStanding(ctx context.Context) (*clearance.Standing, error) {
	return c.s.standings.of(ctx, "rough/"+c.key, func() (*clearance.Standing, error) {
		soon, stop := context.WithTimeout(ctx, standWait)
		defer stop()
		return c.base.StandSoon(ctx, soon, c.s.fewRuns())
	})
}

// evaluated starts working a plan out, or returns how that stands: first what
// release on its day would mean, from few simulated lots and then from all, then
// its line with the band. It waits until the page must be sent for the second.
func (c *coursed) evaluated(ctx context.Context, p holdfast.CourseAccepted) (*desk.CourseView, work.State) {
	key := c.planKey(p)
	c.s.plans.Do(key, true, func(ctx context.Context, tell work.Tell) (any, error) {
		var v *desk.CourseView
		evaluate := func(s *clearance.Standing) error {
			var err error
			if v, err = c.base.Evaluate(ctx, s, p, c.money, c.s.Runs); err == nil {
				tell(v, 0, 0)
			}
			return err
		}
		if c.s.fewRuns() < c.s.Runs {
			err := c.s.turns.first(func() error {
				s, err := c.roughStanding(ctx)
				if err != nil {
					return err
				}
				return evaluate(s)
			})
			if err != nil {
				return nil, err
			}
		}
		// Where a lot stands that was looked at often may take minutes: others go on.
		behind := clearance.Yielding(ctx, func() { c.s.turns.yield(ctx) })
		s, err := c.standing(behind)
		if err != nil {
			return nil, err
		}
		if err := c.s.turns.first(func() error { return evaluate(s) }); err != nil {
			return nil, err
		}
		return c.base.Line(behind, v, c.s.Runs)
	})
	st := c.s.plans.Wait(ctx, key, max(time.Until(c.until), 20*time.Millisecond), func(s work.State) bool {
		v, ok := s.Value.(*desk.CourseView)
		return ok && !c.s.rough(v)
	})
	v, _ := st.Value.(*desk.CourseView)
	return v, st
}

// standings remembers where lots stand, for the plans that are tried on them one
// after another. Each takes a few megabytes, and is worked out once.
type standings struct {
	mu    sync.Mutex
	kept  map[string]*stood
	order []string
}

// stood is a standing once ready is closed.
type stood struct {
	ready chan struct{}
	s     *clearance.Standing
	err   error
}

const mostStandings = 16

func (k *standings) of(ctx context.Context, key string, stand func() (*clearance.Standing, error)) (*clearance.Standing, error) {
	for {
		k.mu.Lock()
		x, ok := k.kept[key]
		if !ok {
			x = &stood{ready: make(chan struct{})}
			k.keep(key, x)
		}
		k.mu.Unlock()
		if !ok {
			x.s, x.err = stand()
			if x.err != nil { // whoever comes next tries again
				k.mu.Lock()
				if k.kept[key] == x {
					delete(k.kept, key)
				}
				k.mu.Unlock()
			}
			close(x.ready)
			return x.s, x.err
		}
		select {
		case <-x.ready:
		case <-ctx.Done():
			return nil, ctx.Err()
		}
		if !errors.Is(x.err, context.Canceled) {
			return x.s, x.err
		}
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
	}
}

// keep notes a standing in the place of the oldest; the lock is held.
func (k *standings) keep(key string, x *stood) {
	if k.kept == nil {
		k.kept = map[string]*stood{}
	}
	k.kept[key] = x
	k.order = append(k.order, key)
	if len(k.order) > mostStandings {
		delete(k.kept, k.order[0])
		k.order = k.order[1:]
	}
}

func (c *coursed) planKey(p holdfast.CourseAccepted) string {
	p.Promise, p.Replaces, p.Because, p.Name = holdfast.CoursePromise{}, "", "", ""
	b, _ := json.Marshal(p) // plain fields: cannot fail
	sum := sha256.Sum256(b)
	return "plan/" + c.key + "/" + hex.EncodeToString(sum[:8])
}

// courseAccept answers POST /lots/{id}/course: the plan of the form becomes the
// lot's course, with what is promised worked out here and now.
func (s *Server) courseAccept(w http.ResponseWriter, r *http.Request) error {
	by, err := s.author(r)
	if err != nil {
		return err
	}
	t := tried{what: "accept", values: r.PostForm, form: form.New(r.PostForm)}
	c, p, err := s.courseAsked(r.Context(), r.PathValue("id"), r.PostForm, t)
	if err != nil {
		return err
	}
	if p.None != "" {
		return &holdfast.Error{Kind: holdfast.Refused, Message: p.None, Hint: "Look at the lot's page."}
	}
	if ev, err := s.Desk.Store.Entry(r.Context(), by.ID); err == nil && ev.Kind == holdfast.KindCourseAccepted {
		return s.recorded(w, r, lotURL(c.v.Lot.ID), "", by.ID) // the form was sent twice
	}
	plan := c.readPlan(t.form)
	because := t.form.Text("because", 2000, false)
	if !t.form.OK() {
		return s.courseShown(w, r, http.StatusBadRequest, t)
	}
	v, st := c.evaluated(r.Context(), plan)
	if !st.Ended { // the band is part of what is promised
		st = s.plans.Wait(r.Context(), c.planKey(plan), time.Minute, func(work.State) bool { return false })
		v, _ = st.Value.(*desk.CourseView)
	}
	if (v == nil || s.rough(v)) && st.Err == nil { // still under way after a minute: worked out here
		v, st.Err = c.base.Evaluate(r.Context(), nil, plan, c.money, s.Runs)
	}
	var wrong holdfast.Problems
	var known *holdfast.Error
	switch {
	case errors.As(st.Err, &wrong):
		t.form.Take(wrong)
		return s.courseShown(w, r, http.StatusBadRequest, t)
	case st.Err != nil:
		return st.Err
	}
	v.Plan.Name = plan.Name
	id, err := s.Desk.AcceptCourse(r.Context(), by, c.v.Lot.ID, v, because)
	if errors.As(err, &known) && known.Kind == holdfast.Refused {
		t.refused = joined(known.Message, known.Hint)
		return s.courseShown(w, r, statusOf(err), t)
	}
	if err != nil {
		return err
	}
	return s.recorded(w, r, lotURL(c.v.Lot.ID), "", id)
}

// courseStop answers POST /lots/{id}/course/stop.
func (s *Server) courseStop(w http.ResponseWriter, r *http.Request) error {
	return s.doLot(w, r, "stop", func(d *doing) error {
		reason := d.form.Text("reason", 500, true)
		return d.run(func() error {
			_, err := d.desk.StopCourse(d.ctx, d.by, d.lot.ID, reason)
			return err
		})
	}, s.courseShown)
}

// courseCancel answers POST /lots/{id}/course/cancel: it ends the search, or
// begins it anew.
func (s *Server) courseCancel(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	c, p, err := s.courseAsked(r.Context(), r.PathValue("id"), r.PostForm, tried{})
	if err != nil {
		return err
	}
	if p.None == "" {
		if r.PostForm.Get("again") != "" {
			s.searches.Forget("search/" + c.key)
		} else {
			s.searches.Cancel("search/" + c.key)
		}
	}
	to := courseURL(c.v.Lot.ID)
	if a := r.PostForm.Get("against"); a != "" && p.None == "" {
		to += "?against=" + url.QueryEscape(c.base.Condition.ID)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// courseMoney answers POST /lots/{id}/course/money: what things cost here.
func (s *Server) courseMoney(w http.ResponseWriter, r *http.Request) error {
	by, err := s.author(r)
	if err != nil {
		return err
	}
	c, _, err := s.courseAsked(r.Context(), r.PathValue("id"), url.Values{}, tried{})
	if err != nil {
		return err
	}
	f := form.New(r.PostForm)
	m := readMoney(f, c.money, c.v.Shop.Currency)
	if !f.OK() {
		return s.courseShown(w, r, http.StatusBadRequest, tried{what: "money", values: r.PostForm, form: f})
	}
	id, err := s.Desk.SetCosts(r.Context(), by, m)
	if err != nil {
		return err
	}
	return s.recorded(w, r, courseURL(c.v.Lot.ID), "reckoned", id)
}
