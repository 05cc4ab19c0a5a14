package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
)

// doing is one form about a lot as it was sent.
type doing struct {
	ctx  context.Context
	desk *desk.Desk
	by   desk.Actor
	lot  *holdfast.Lot
	form *form.Form
	// to and entry are where to go afterwards and which entry to offer for
	// taking back, where they are not the lot and the form's own.
	to    string
	entry holdfast.ID
}

// lotDo answers a form of the lot's page.
func (s *Server) lotDo(what string, do func(*doing) error) handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		return s.doLot(w, r, what, do, s.lotShown)
	}
}

// doLot reads the form, runs the use case and goes back to the lot; what was
// not taken is shown again by the page it was sent from.
func (s *Server) doLot(w http.ResponseWriter, r *http.Request, what string, do func(*doing) error,
	again func(http.ResponseWriter, *http.Request, int, tried) error) error {
	by, err := s.author(r)
	if err != nil {
		return err
	}
	l, err := s.Desk.Lot(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	zone, err := s.Desk.Zone(r.Context())
	if err != nil {
		return err
	}
	d := &doing{ctx: r.Context(), desk: s.Desk, by: by, lot: l, form: form.New(r.PostForm), to: lotURL(l.ID), entry: by.ID}
	d.by.At = d.form.Moment("at", zone, l.OpenedAt.In(zone), s.Desk.Now())
	err = do(d)
	t := tried{what: what, values: r.PostForm, form: d.form}
	var wrong holdfast.Problems
	var known *holdfast.Error
	switch {
	case errors.As(err, &wrong):
		d.form.Take(wrong)
		return again(w, r, http.StatusBadRequest, t)
	case errors.As(err, &known) && known.Kind != holdfast.NotFound:
		t.refused = joined(known.Message, known.Hint)
		return again(w, r, statusOf(err), t)
	case err != nil:
		return err
	case !d.form.OK():
		return again(w, r, http.StatusBadRequest, t)
	}
	return s.recorded(w, r, d.to, "", d.entry)
}

// number is a needed count of animals.
func (d *doing) number(low int) int {
	if n := d.form.Count("count", low, holdfast.MaxAnimals, true); n != nil {
		return *n
	}
	return 0
}

// some is a count of animals where empty means all.
func (d *doing) some() int {
	if n := d.form.Count("count", 1, holdfast.MaxAnimals, false); n != nil {
		return *n
	}
	return 0
}

// tank is one of the lot's tanks.
func (d *doing) tank(name string) string {
	return d.form.OneOf(name, d.lot.TankIDs(), len(d.lot.Places) > 1)
}

func (d *doing) yes(name string) bool { return d.form.OneOf(name, []string{"yes"}, false) != "" }

// run calls the use case if the form is right so far.
func (d *doing) run(use func() error) error {
	if !d.form.OK() {
		return nil
	}
	return use()
}

func lotCount(d *doing) error {
	n, note := d.number(0), d.form.Text("note", 2000, false)
	plusMinus := 0
	if x := d.form.Count("plus_minus", 0, holdfast.MaxAnimals, false); x != nil {
		plusMinus = *x
	}
	return d.run(func() error { return d.desk.Count(d.ctx, d.by, d.lot.ID, n, plusMinus, note) })
}

func lotDead(d *doing) error {
	n, tank, cause := d.number(0), d.tank("tank"), d.form.Text("cause", 2000, false)
	return d.run(func() error { return d.desk.Dead(d.ctx, d.by, d.lot.ID, tank, n, cause, "") })
}

func lotGone(d *doing) error {
	n, tank, note := d.number(1), d.tank("tank"), d.form.Text("note", 2000, false)
	return d.run(func() error { return d.desk.Gone(d.ctx, d.by, d.lot.ID, tank, n, note) })
}

func lotBirths(d *doing) error {
	n, tank, note := d.number(1), d.tank("tank"), d.form.Text("note", 2000, false)
	return d.run(func() error { return d.desk.Births(d.ctx, d.by, d.lot.ID, tank, n, note) })
}

func lotRemoval(d *doing) error {
	n, tank, positive, reason := d.number(1), d.tank("tank"), d.yes("positive"), d.form.Text("reason", 2000, true)
	return d.run(func() error { return d.desk.Remove(d.ctx, d.by, d.lot.ID, tank, n, positive, reason) })
}

func lotMove(d *doing) error {
	from, to, n := d.tank("from"), d.form.Text("to", 40, true), d.some()
	hospital, reason := d.yes("hospital"), d.form.Text("reason", 2000, false)
	return d.run(func() error {
		return renamed(d.desk.Move(d.ctx, d.by, d.lot.ID, from, to, n, hospital, reason), "tank", "to")
	})
}

func lotPlace(d *doing) error {
	tank, n := d.form.Text("tank", 40, true), d.some()
	return d.run(func() error { return d.desk.Place(d.ctx, d.by, d.lot.ID, tank, n) })
}

func lotSplit(d *doing) error {
	n, tank, reason := d.number(1), d.form.Text("tank", 40, false), d.form.Text("reason", 2000, false)
	return d.run(func() error {
		id, err := d.splitBefore()
		if id == "" && err == nil {
			id, err = d.desk.Split(d.ctx, d.by, d.lot.ID, tank, n, reason)
		}
		d.to = lotURL(id)
		return err
	})
}

// splitBefore is the lot that this same form already made, if it was sent twice.
func (d *doing) splitBefore() (string, error) {
	ev, err := d.desk.Store.Entry(d.ctx, d.by.ID)
	var known *holdfast.Error
	switch {
	case errors.As(err, &known) && known.Kind == holdfast.NotFound:
		return "", nil
	case err != nil:
		return "", err
	}
	if p, ok := ev.Payload.(*holdfast.LotSplit); ok {
		return p.NewLot, nil
	}
	return "", nil
}

func lotMerge(d *doing) error {
	into, n, reason := d.form.Text("into", 40, true), d.some(), d.form.Text("reason", 2000, false)
	return d.run(func() error { return d.desk.Merge(d.ctx, d.by, d.lot.ID, into, n, reason) })
}

func lotNote(d *doing) error {
	text := d.form.Text("text", 4000, true)
	return d.run(func() error { return d.desk.Note(d.ctx, d.by, d.lot.ID, "", text) })
}

func lotRelease(d *doing) error {
	override, note := d.form.Text("override", 2000, false), d.form.Text("note", 2000, false)
	return d.run(func() error {
		err := d.desk.Release(d.ctx, d.by, d.lot.ID, desk.ReleaseForm{Override: override, Note: note})
		if err != nil {
			return renamed(err, "reason", "override")
		}
		after, err := d.desk.Lot(d.ctx, d.lot.ID)
		if err == nil && after.Released != nil {
			d.entry = after.Released.ID // a signed reason stands in front of the release
		}
		return err
	})
}

func lotExit(d *doing) error {
	var ways []string
	for _, w := range desk.ExitWays(false) {
		ways = append(ways, w.Way)
	}
	e := holdfast.Exit{Way: d.form.OneOf("way", ways, true), Reason: d.form.Text("reason", 2000, true), Count: d.some()}
	if told := d.form.Text("disclosed", 2000, e.Way == holdfast.ExitDisclosed); e.Way == holdfast.ExitDisclosed {
		e.Disclosed = told
	}
	if e.Count > d.lot.Alive.High {
		d.form.Fault("count", "That is more than are alive.", "Recount the lot first.")
	}
	return d.run(func() error { return d.desk.Exit(d.ctx, d.by, d.lot.ID, e) })
}

func lotHold(d *doing) error {
	reason, suspect := d.form.Text("reason", 2000, true), d.form.Text("suspect", 80, false)
	return d.run(func() error { return d.desk.Hold(d.ctx, d.by, d.lot.ID, reason, suspect) })
}

func lotLift(d *doing) error {
	var known []string
	for _, o := range liftable(d.lot) {
		known = append(known, o.Value)
	}
	suspect, reason, also := d.form.OneOf("suspect", known, true), d.form.Text("reason", 2000, true), d.yes("also")
	return d.run(func() error { return d.desk.Lift(d.ctx, d.by, d.lot.ID, suspect, reason, also) })
}

// renamed puts a use case's faults at the field where the form has it.
func renamed(err error, from, to string) error {
	var wrong holdfast.Problems
	if !errors.As(err, &wrong) {
		return err
	}
	wrong = slices.Clone(wrong)
	for i := range wrong {
		if strings.EqualFold(wrong[i].Field, from) {
			wrong[i].Field = to
		}
	}
	return wrong
}
