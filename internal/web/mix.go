package web

import (
	"context"
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
	known "holdfast/reference"
	"holdfast/science/water"
	"holdfast/science/water/dose"
	"holdfast/science/water/unit"
)

// Whom a dose is for.
const (
	forTrial = "trial"
	forLot   = "lot"
)

// mixing is one dose being worked out, for a lot, a tank or nobody.
type mixing struct {
	ctx  context.Context
	s    *Server
	form *form.Form
	lot  *holdfast.Lot
	tank *holdfast.Tank
	shop holdfast.ShopSet
	who  string
	task string

	typed      dose.Typed
	ingredient *dose.Ingredient
	// residue is what may stay in the water at the end, mg/l; 0 takes a twentieth
	// of what is wanted.
	residue float64
	course  dose.Course
	label   *dose.LabelDose
	mix     *dose.Mix
	run     *dose.Run
	spoon   *dose.Spoonful
	opening desk.Opening
}

// mixFree, mixTank and mixLot answer GET /mix and the same of a tank or a lot.
func (s *Server) mixFree(w http.ResponseWriter, r *http.Request) error {
	m, err := s.mixingOf(r, nil, "")
	if err != nil {
		return err
	}
	return s.mixShown(w, r, http.StatusOK, m, tried{})
}

func (s *Server) mixTank(w http.ResponseWriter, r *http.Request) error {
	m, err := s.mixingOf(r, nil, r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.mixShown(w, r, http.StatusOK, m, tried{})
}

func (s *Server) mixLot(w http.ResponseWriter, r *http.Request) error {
	return s.mixLotShown(w, r, http.StatusOK, tried{})
}

func (s *Server) mixLotShown(w http.ResponseWriter, r *http.Request, status int, t tried) error {
	l, err := s.Desk.Lot(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	m, err := s.mixingOf(r, l, "")
	if err != nil {
		return err
	}
	return s.mixShown(w, r, status, m, t)
}

// mixingOf reads what was typed and fills in what the desk knows.
func (s *Server) mixingOf(r *http.Request, l *holdfast.Lot, tank string) (*mixing, error) {
	if err := r.ParseForm(); err != nil {
		return nil, badForm(err)
	}
	ctx := r.Context()
	m := &mixing{ctx: ctx, s: s, lot: l, form: form.New(r.Form), task: r.Form.Get("task")}
	var err error
	if m.shop, err = s.Desk.Settings(ctx); err != nil {
		return nil, err
	}
	if tank == "" && l != nil && len(l.Places) > 0 {
		tank = l.Places[0].Tank
		if t := r.Form.Get("tank"); slices.Contains(l.TankIDs(), t) {
			tank = t
		}
	}
	if tank != "" {
		if m.tank, err = s.Desk.Tank(ctx, tank); err != nil {
			return nil, err
		}
	}
	return m, m.read(r.Form)
}

// given is what was typed, or what stands in the field before anybody types.
func given(v url.Values, name, otherwise string) string {
	if v.Has(name) {
		return strings.TrimSpace(strings.ToValidUTF8(strings.ReplaceAll(v.Get(name), "\x00", ""), "?"))
	}
	return otherwise
}

func (m *mixing) read(v url.Values) error {
	id := given(v, "ingredient", "praziquantel")
	if id != "" {
		i, err := dose.Find(id)
		if err != nil {
			m.form.Fault("ingredient", "That is not one of the choices.", "Choose again.")
		} else {
			m.ingredient = &i
		}
	}
	m.whom(v)
	t := dose.Typed{Strength: given(v, "strength", ""), Target: given(v, "target", m.usualTarget()), Ingredient: id,
		For: given(v, "for", m.usualFor()), Scale: given(v, "scale", ""), Change: given(v, "change", ""), Redose: given(v, "redose", ""),
		HalfLife: given(v, "half-life", m.usualHalfLife()), Absorb: given(v, "absorb", "")}
	litres, doubt := m.usualVolume()
	t.Volume, t.VolumeError = given(v, "volume", litres), given(v, "volume-error", doubt)
	if m.ingredient == nil {
		t.Ingredient = ""
	}
	m.typed = t
	return m.work(v)
}

// whom chooses between the trial and the lot: the trial until it has opened
// the lot's dose.
func (m *mixing) whom(v url.Values) {
	m.who = forLot
	if m.lot == nil {
		return
	}
	m.opening = desk.OpeningFor(m.lot, m.treatment(0), m.s.Desk.Now())
	if !m.opening.Open && m.opening.Trial == nil {
		m.who = forTrial
	}
	if w := v.Get("who"); w == forLot || w == forTrial {
		m.who = w
	}
}

// treatment is the dose as an entry would have it, before it is measured out.
func (m *mixing) treatment(mgL float64) holdfast.Treatment {
	t := holdfast.Treatment{Form: m.how(), Active: "something else", TargetMgL: mgL, Trial: m.who == forTrial, Batch: m.form.Typed("batch")}
	if m.ingredient != nil {
		t.Active = m.ingredient.Active
	}
	if m.course.Days > 0 {
		t.Hours = 24 * m.course.Days
	}
	return t
}

// how is the form in which the ingredient is used.
func (m *mixing) how() string {
	if m.ingredient != nil && m.ingredient.Use("bath") == nil && m.ingredient.Use("dip") != nil {
		return "dip"
	}
	return "bath"
}

func (m *mixing) use() *dose.Use {
	if m.ingredient == nil {
		return nil
	}
	if u := m.ingredient.Use("bath"); u != nil {
		return u
	}
	if len(m.ingredient.Uses) > 0 {
		return &m.ingredient.Uses[0]
	}
	return nil
}

func (m *mixing) usualTarget() string {
	u := m.use()
	switch {
	case u == nil:
		return ""
	case u.UsualMgL >= 1000:
		return words.Number(u.UsualMgL/1000, 2) + " g/l"
	}
	return words.Number(u.UsualMgL, 2) + " mg/l"
}

func (m *mixing) usualFor() string {
	u := m.use()
	if u == nil || u.Form != "bath" {
		return ""
	}
	return words.Number((u.HoursLow+u.HoursHigh)/2, 0) + " h"
}

func (m *mixing) usualHalfLife() string {
	if m.ingredient == nil || m.ingredient.HalfLife == nil {
		return ""
	}
	return words.Number(m.ingredient.HalfLife.ValueD, 2) + " d"
}

// usualVolume is the true water of the tank and how far it may be off.
func (m *mixing) usualVolume() (litres, doubt string) {
	if m.who == forTrial {
		return "2 l", ""
	}
	if m.tank == nil {
		return "", ""
	}
	litres = words.Number(m.tank.Litres, 1) + " l"
	if half := (m.tank.High - m.tank.Low) / 2; half > 0 && m.tank.Litres > 0 {
		doubt = words.Number(100*half/m.tank.Litres, 1) + " %"
	}
	return litres, doubt
}

// work works the dose out, as far as what was typed allows.
func (m *mixing) work(v url.Values) error {
	typed := m.typed
	if typed.Strength == "" && !v.Has("strength") {
		typed.Strength = "100 %" // only to judge the other fields; nothing is shown
	}
	if typed.Scale == "" && m.shop.ScaleG > 0 {
		if s, err := dose.ParseStrength("strength", typed.Strength); err == nil && s.Unit == dose.Gram {
			typed.Scale = strconv.FormatFloat(m.shop.ScaleG, 'f', -1, 64) + " g"
		}
	}
	course, label, wrong := typed.Read()
	m.course, m.label = course, label
	if label != nil && typed.Scale != "" && v.Get("scale") == "" { // the shop's scale does not count tablets
		typed.Scale = ""
		m.course, m.label, wrong = typed.Read()
		label = m.label
	}
	for _, e := range wrong {
		if e.Field == "volume" && m.typed.Volume == "" {
			continue // still to be typed
		}
		if e.Field == "target" && m.typed.Target == "" {
			continue
		}
		m.form.Take(holdfast.Problems{{Field: e.Field, Message: e.Message, Hint: e.Hint}})
	}
	if typed := given(v, "residue", ""); typed != "" {
		q, err := unit.ParsePositive("residue", typed, unit.Concentration)
		if m.took(err) {
			m.residue = q.Base()
		}
	}
	if len(wrong) > 0 || !m.form.OK() {
		return nil
	}
	if m.label != nil {
		mix, err := label.Mix(m.course.Volume, m.course.Measure)
		if m.took(err) {
			m.mix = &mix
		}
		if m.mix != nil && m.course.Days > 0 {
			run, err := label.Follow(m.course)
			if m.took(err) {
				m.run = &run
			}
		}
		return nil
	}
	if m.typed.Strength == "" {
		return nil
	}
	mix, err := m.course.Order.Mix()
	if !m.took(err) {
		return nil
	}
	m.mix = &mix
	if m.course.Days > 0 {
		run, err := m.course.Follow()
		if m.took(err) {
			m.run = &run
		}
	}
	m.spooned(v)
	return nil
}

// took notes a wrong input at the field where the form has it.
func (m *mixing) took(err error) bool {
	if err == nil {
		return true
	}
	q := desk.ProblemOf(err)
	if field, ok := map[string]string{"days": "for", "half_life": "half-life"}[q.Field]; ok {
		q.Field = field
	}
	m.form.Take(holdfast.Problems{q})
	return false
}

// spooned turns grams into spoons where somebody has no scale. Only salts have
// a known poured density.
func (m *mixing) spooned(v url.Values) {
	spoon := v.Get("spoon")
	if spoon == "" || m.mix == nil {
		return
	}
	if m.mix.Unit != dose.Gram {
		m.form.Fault("spoon", "This product is not a powder.", "Measure it with a syringe, or count it.")
		return
	}
	if m.ingredient == nil || m.ingredient.Active != "sodium chloride" {
		m.form.Fault("spoon", "Nobody knows how much of this powder a spoon holds: half or twice is possible.", "Weigh it, or have a chemist weigh a stock.")
		return
	}
	s, err := dose.InSpoons(m.mix.Amount, dose.Powder(given(v, "powder", string(dose.TableSalt))), spoon)
	if err != nil {
		q := desk.ProblemOf(err)
		m.form.Fault("spoon", words.Capital(strings.TrimSuffix(q.Message, "."))+".", q.Hint)
		return
	}
	m.spoon = &s
}

// softWater reports whether animals of a species are kept in soft water.
func softWater(species string) bool {
	k, ok := known.Builtin().Kept(species)
	return ok && k.Needs.Conductivity.From != "" && k.Needs.Conductivity.High <= 300
}

// knownWith is who and what in the water the desk knows of without asking.
func (m *mixing) knownWith() []dose.Company { return knownWith(m.lot, m.s.Desk) }

func knownWith(l *holdfast.Lot, d *desk.Desk) []dose.Company {
	if l == nil {
		return nil
	}
	var with []dose.Company
	if softWater(l.Species) {
		with = append(with, dose.SoftWater)
	}
	if d.Now().Sub(l.OpenedAt.In(d.Now().Location())).Hours() < 36 {
		with = append(with, dose.Weak)
	}
	return with
}

// stillKnown are readings of the tank young enough to judge by.
func stillKnown(t *holdfast.Tank, d *desk.Desk) (w holdfast.Water, when string) {
	if t == nil || len(t.Measured) == 0 {
		return w, ""
	}
	last := t.Measured[len(t.Measured)-1]
	age := d.Now().Sub(last.OccurredAt.In(d.Now().Location()))
	if age.Hours() > 24 || age < 0 {
		return w, ""
	}
	return last.Payload.(*holdfast.WaterMeasured).Water, fmt.Sprintf("%.0f h ago", age.Hours())
}

func (m *mixing) volume() water.Volume { return m.course.Volume }

// mixShown draws the page.
func (s *Server) mixShown(w http.ResponseWriter, r *http.Request, status int, m *mixing, t tried) error {
	fr, err := s.frame(r)
	if err != nil {
		return err
	}
	if !m.form.OK() && status == http.StatusOK {
		status = http.StatusBadRequest
	}
	p, err := m.page(t)
	if err != nil {
		return err
	}
	at := view.Tanks
	if m.lot != nil {
		at = view.Lots
	}
	return s.page(w, r, status, page.Mix(view.Page{Frame: fr, Title: p.Heading, At: at}, p))
}
