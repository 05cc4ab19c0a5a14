package web

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/water"
)

// tankShape is one shape as the form offers it.
type tankShape struct {
	shape       water.Shape
	label, says string
	// sizes are the fields of the glass that it needs.
	sizes []string
	// method is the way in which counted litres were found, if not by counting.
	method string
}

// Ways to find litres without a tape.
const (
	bySalt  = "by_salt"
	byClock = "by_clock"
)

// key names the shape or the method in addresses and forms.
func (t tankShape) key() string {
	if t.method != "" {
		return t.method
	}
	return string(t.shape)
}

var tankShapes = []tankShape{
	{water.Box, "Box", "Straight panes. Measure inside if you can, at the height of the water.", []string{"length_cm", "width_cm", "fill_cm", "height_cm"}, ""},
	{water.BowFront, "Bow front", "A box whose front bulges. The bow is how far the middle of the front stands before its corners.", []string{"length_cm", "width_cm", "bow_cm", "fill_cm", "height_cm"}, ""},
	{water.Cylinder, "Cylinder", "Round. Measure across the middle.", []string{"diameter_cm", "fill_cm", "height_cm"}, ""},
	{water.Corner, "Corner", "Two equal back panes at a right angle, short ends or none, a flat or bowed front.", []string{"length_cm", "return_cm", "bow_cm", "fill_cm", "height_cm"}, ""},
	{water.Hexagon, "Hexagon", "Six equal sides. Measure one.", []string{"side_cm", "fill_cm", "height_cm"}, ""},
	{water.KnownFill, "Counted litres", "You counted or timed the litres as they went in. No tape is needed.", []string{"known_fill_l"}, ""},
	{water.KnownFill, "By salt and meter", "For odd shapes and full filters: weigh pure salt, stir it in, wait until the meter stands still. Animals feel it: raise the conductivity by no more than a fifth. A jar of the same water with weighed salt takes the meter’s own error out.", []string{"salt_g", "ec_before_us_cm", "ec_after_us_cm", "jar_salt_g", "jar_l", "jar_ec_after_us_cm"}, bySalt},
	{water.KnownFill, "By the clock", "Time a jug at the tap two or three times, then how long the tank takes at the same tap.", []string{"jug_l", "jug_1", "jug_2", "jug_3", "fill_seconds"}, byClock},
}

// measure is one number of the form; share says that it is asked in per cent.
type measure struct {
	label, unit, hint string
	share             bool
	high              float64
	at                func(*holdfast.Shape) *float64
}

var measures = map[string]measure{
	"length_cm":          {"Length", "cm", "Left to right; of a corner tank one back pane.", false, 1000, func(s *holdfast.Shape) *float64 { return &s.LengthCM }},
	"width_cm":           {"Width", "cm", "Front to back; of a bow front at the sides.", false, 1000, func(s *holdfast.Shape) *float64 { return &s.WidthCM }},
	"bow_cm":             {"Bow", "cm", "How far the front stands before the straight line.", false, 1000, func(s *holdfast.Shape) *float64 { return &s.BowCM }},
	"return_cm":          {"Short end pane", "cm", "Empty if there is none.", false, 1000, func(s *holdfast.Shape) *float64 { return &s.ReturnCM }},
	"diameter_cm":        {"Diameter", "cm", "", false, 1000, func(s *holdfast.Shape) *float64 { return &s.DiameterCM }},
	"side_cm":            {"Length of one side", "cm", "", false, 1000, func(s *holdfast.Shape) *float64 { return &s.SideCM }},
	"fill_cm":            {"Height of the water", "cm", "From the bottom pane to the water line, not to the rim.", false, 1000, func(s *holdfast.Shape) *float64 { return &s.FillCM }},
	"height_cm":          {"Height of the glass", "cm", "May stay empty; only for drawing and for the brim.", false, 1000, func(s *holdfast.Shape) *float64 { return &s.HeightCM }},
	"known_fill_l":       {"Litres that went in", "L", "", false, 100000, func(s *holdfast.Shape) *float64 { return &s.KnownFillL }},
	"substrate_cm":       {"Substrate, depth", "cm", "Mean depth. Give this or the litres.", false, 1000, func(s *holdfast.Shape) *float64 { return &s.SubstrateCM }},
	"substrate_l":        {"Substrate, litres", "L", "As bought.", false, 100000, func(s *holdfast.Shape) *float64 { return &s.SubstrateL }},
	"hardscape_l":        {"Stones, wood, filter", "L", "The water they push away.", false, 100000, func(s *holdfast.Shape) *float64 { return &s.HardscapeL }},
	"sump_l":             {"Sump and hoses", "L", "Water that mixes with the tank.", false, 100000, func(s *holdfast.Shape) *float64 { return &s.SumpL }},
	"glass_mm":           {"Glass of the sides", "mm", "Needed where you measured outside.", false, 60, func(s *holdfast.Shape) *float64 { return &s.GlassMM }},
	"base_glass_mm":      {"Glass of the bottom", "mm", "Empty if as thick as the sides.", false, 60, func(s *holdfast.Shape) *float64 { return &s.BaseGlassMM }},
	"tape_error_cm":      {"Tape may be off by", "cm", usual(water.TapeError.Value, "cm"), false, 10, func(s *holdfast.Shape) *float64 { return &s.TapeErrorCM }},
	"known_fill_error":   {"Litres may be off by", "%", usual(water.FillError.Value*100, "%"), true, 50, func(s *holdfast.Shape) *float64 { return &s.KnownFillError }},
	"substrate_porosity": {"Water in the substrate", "%", usual(water.Porosity.Value*100, "%"), true, 95, func(s *holdfast.Shape) *float64 { return &s.SubstratePorosity }},
}

// foundBy is one number of the ways without a tape.
var foundBy = map[string]measure{
	"salt_g":             {label: "Salt stirred in", unit: "g", hint: "Pure, weighed.", high: 100000},
	"ec_before_us_cm":    {label: "Conductivity before", unit: "µS/cm", hint: "At 25 °C, as most meters show it.", high: 60000},
	"ec_after_us_cm":     {label: "Conductivity after", unit: "µS/cm", high: 60000},
	"jar_salt_g":         {label: "Salt in the jar", unit: "g", hint: "The jar may stay empty.", high: 1000},
	"jar_l":              {label: "Tank water in the jar", unit: "L", high: 100},
	"jar_ec_after_us_cm": {label: "Conductivity in the jar", unit: "µS/cm", high: 60000},
	"jug_l":              {label: "The jug holds", unit: "L", high: 100},
	"jug_1":              {label: "It took", unit: "s", high: 100000}, "jug_2": {label: "Again", unit: "s", high: 100000},
	"jug_3":        {label: "And again", unit: "s", hint: "May stay empty.", high: 100000},
	"fill_seconds": {label: "The tank took", unit: "s", hint: "12 min 30 s are 750.", high: 1000000},
}

// measureOf is a number of the form by its name.
func measureOf(name string) measure {
	if m, ok := foundBy[name]; ok {
		return m
	}
	return measures[name]
}

func usual(x float64, unit string) string {
	return "Empty takes " + words.Measure(x, 1, unit) + "."
}

func shapeOf(name string) (tankShape, bool) {
	i := slices.IndexFunc(tankShapes, func(t tankShape) bool { return t.key() == name })
	if i < 0 {
		return tankShapes[0], false
	}
	return tankShapes[i], true
}

// inside and finer are the further fields of a shape.
func (t tankShape) inside() []string {
	switch t.method {
	case bySalt: // it mixed with the sump and went round everything in it
		return nil
	case byClock:
		return []string{"sump_l"}
	}
	if t.shape == water.KnownFill {
		return []string{"substrate_l", "hardscape_l", "sump_l"}
	}
	return []string{"substrate_cm", "substrate_l", "hardscape_l", "sump_l"}
}

func (t tankShape) finer() []string {
	if t.method != "" {
		return nil
	}
	if t.shape == water.KnownFill {
		return []string{"known_fill_error", "substrate_porosity"}
	}
	return []string{"glass_mm", "base_glass_mm", "tape_error_cm", "substrate_porosity"}
}

func (t tankShape) fields() []string { return slices.Concat(t.sizes, t.inside(), t.finer()) }

// What may be ticked.
const (
	tickOutside   = "outside"
	tickBare      = "known_fill_bare"
	tickHardscape = "hardscape_measured"
	tickClosed    = "closed"
)

func (t tankShape) ticks(fresh bool) []view.Option {
	first := view.Option{Value: tickOutside, Label: "Measured outside", Below: "The glass is taken off; give its thickness below."}
	if t.method != "" {
		return closing(nil, fresh)
	}
	if t.shape == water.KnownFill {
		first = view.Option{Value: tickBare, Label: "Counted into the empty tank", Below: "Substrate and stones went in afterwards and the level was brought back to the same mark."}
	}
	all := []view.Option{first, {Value: tickHardscape, Label: "Stones and wood measured in a bucket", Below: "Otherwise their litres count as a guess by eye."}}
	return closing(all, fresh)
}

// closing adds the way out of use for a tank that is known.
func closing(all []view.Option, fresh bool) []view.Option {
	if !fresh {
		all = append(all, view.Option{Value: tickClosed, Label: "Out of use", Below: "It leaves the lists; its journal stays."})
	}
	return all
}

// typedTank is the values of a tank as the form shows them.
func typedTank(t *holdfast.Tank) map[string][]string {
	v := map[string][]string{"name": {t.Name}, "system": {t.System}, "place": {strconv.Itoa(t.Place)}, "use": {t.Use}}
	shape := t.Shape
	for name, m := range measures {
		if x := *m.at(&shape); x != 0 {
			if m.share {
				x = math.Round(x*1e6) / 1e4
			}
			v[name] = []string{strconv.FormatFloat(x, 'f', -1, 64)}
		}
	}
	for name, x := range foundOf(t) {
		if x != 0 {
			v[name] = []string{strconv.FormatFloat(x, 'f', -1, 64)}
		}
	}
	for tick, on := range map[string]bool{tickOutside: t.Outside, tickBare: t.KnownFillBare, tickHardscape: t.HardscapeMeasured, tickClosed: t.Closed} {
		if on {
			v["is"] = append(v["is"], tick)
		}
	}
	return v
}

// foundOf is what was written down of a way without a tape.
func foundOf(t *holdfast.Tank) map[string]float64 {
	v := map[string]float64{}
	if s := t.Salt; s != nil {
		v = map[string]float64{"salt_g": s.SaltG, "ec_before_us_cm": s.ECBefore, "ec_after_us_cm": s.ECAfter, "jar_salt_g": s.JarSaltG, "jar_l": s.JarL, "jar_ec_after_us_cm": s.JarECAfter}
	}
	if c := t.Timed; c != nil {
		v = map[string]float64{"jug_l": c.JugL, "fill_seconds": c.FillSeconds}
		for i, x := range c.JugSeconds {
			v[fmt.Sprintf("jug_%d", i+1)] = x
		}
	}
	return v
}

// readFound reads a way without a tape.
func readFound(f *form.Form, t tankShape, out *desk.TankForm) {
	at := func(name string) float64 {
		m := foundBy[name]
		if x := f.Number(name, form.Range{Low: 0, High: m.high, Unit: m.unit}); x != nil {
			return *x
		}
		return 0
	}
	switch t.method {
	case bySalt:
		out.Salt = &holdfast.SaltFill{SaltG: at("salt_g"), ECBefore: at("ec_before_us_cm"), ECAfter: at("ec_after_us_cm"), JarSaltG: at("jar_salt_g"), JarL: at("jar_l"), JarECAfter: at("jar_ec_after_us_cm")}
	case byClock:
		out.Timed = &holdfast.TimedFill{JugL: at("jug_l"), FillSeconds: at("fill_seconds")}
		for _, name := range []string{"jug_1", "jug_2", "jug_3"} {
			if x := at(name); x > 0 {
				out.Timed.JugSeconds = append(out.Timed.JugSeconds, x)
			}
		}
	}
}

// readTank reads the form for a shape.
func readTank(f *form.Form, t tankShape, id string, ticked []string) desk.TankForm {
	out := desk.TankForm{ID: id, Name: f.Text("name", 40, false), System: f.Text("system", 40, false),
		Use: f.OneOf("use", []string{"quarantine", "hospital", "sale", "other"}, true)}
	if n := f.Count("place", 0, 100000, false); n != nil {
		out.Place = *n
	}
	out.Form = string(t.shape)
	readFound(f, t, &out)
	for _, name := range t.fields() {
		m, ok := measures[name]
		if !ok {
			continue
		}
		if x := f.Number(name, form.Range{Low: 0, High: m.high, Unit: m.unit}); x != nil {
			if m.share {
				*x /= 100
			}
			*m.at(&out.Shape) = *x
		}
	}
	for _, tick := range ticked {
		switch tick {
		case tickOutside:
			out.Outside = true
		case tickBare:
			out.KnownFillBare = true
		case tickHardscape:
			out.HardscapeMeasured = true
		case tickClosed:
			out.Closed = true
		}
	}
	return out
}

func (s *Server) tankNew(w http.ResponseWriter, r *http.Request) error {
	v, like := map[string][]string{"use": {"quarantine"}}, r.URL.Query().Get("like")
	shape, _ := shapeOf(r.URL.Query().Get("shape"))
	if like != "" {
		t, err := s.Desk.Tank(r.Context(), like)
		if err != nil {
			return err
		}
		v, shape = s.likeTank(r.Context(), t), tankShapes[0]
		if sh, ok := shapeOf(wayOf(t)); ok {
			shape = sh
		}
	}
	return s.tankForm(w, r, http.StatusOK, nil, shape, form.New(v), v["is"])
}

// likeTank is a form filled from another tank: everything but its name, the
// next place on the walk, and the next free number as its short name.
func (s *Server) likeTank(ctx context.Context, t *holdfast.Tank) map[string][]string {
	v := typedTank(t)
	delete(v, "name")
	v["is"] = slices.DeleteFunc(v["is"], func(tick string) bool { return tick == tickClosed })
	id := t.ID
	for range 200 {
		if id = nextName(id); id == "" {
			break
		}
		if _, err := s.Desk.Tank(ctx, id); err != nil {
			v["tank"] = []string{id}
			break
		}
	}
	if t.Place > 0 {
		v["place"] = []string{strconv.Itoa(t.Place + 1)}
	} else {
		delete(v, "place")
	}
	return v
}

// nextName counts up the number at the end of a name, keeping its zeros: Q09
// gives Q10. A name without one gives none.
func nextName(name string) string {
	head := strings.TrimRight(name, "0123456789")
	digits := name[len(head):]
	n, err := strconv.ParseUint(digits, 10, 32)
	if err != nil {
		return ""
	}
	return fmt.Sprintf("%s%0*d", head, len(digits), n+1)
}

func (s *Server) tankEdit(w http.ResponseWriter, r *http.Request) error {
	t, err := s.Desk.Tank(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	shape, ok := shapeOf(r.URL.Query().Get("shape"))
	if !ok {
		shape, _ = shapeOf(wayOf(t))
	}
	v := typedTank(t)
	return s.tankForm(w, r, http.StatusOK, t, shape, form.New(v), v["is"])
}

// wayOf is the shape of a tank, or the way in which its litres were found.
func wayOf(t *holdfast.Tank) string {
	switch {
	case t.Salt != nil:
		return bySalt
	case t.Timed != nil:
		return byClock
	}
	return t.Form
}

func (s *Server) tankAdd(w http.ResponseWriter, r *http.Request) error { return s.saveTank(w, r, nil) }

func (s *Server) tankSave(w http.ResponseWriter, r *http.Request) error {
	t, err := s.Desk.Tank(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.saveTank(w, r, t)
}

// saveTank writes a tank; t is nil for a new one.
func (s *Server) saveTank(w http.ResponseWriter, r *http.Request, t *holdfast.Tank) error {
	by, err := s.author(r)
	if err != nil {
		return err
	}
	f := form.New(r.PostForm)
	shape, ok := shapeOf(r.PostForm.Get("shape"))
	if !ok {
		f.Fault("shape", "Choose the shape of the tank.", "")
	}
	id := r.PostForm.Get("tank")
	if t != nil {
		id = t.ID
	}
	ticked := f.Some("is", []string{tickOutside, tickBare, tickHardscape, tickClosed})
	in := readTank(f, shape, id, ticked)
	if err := s.tankMay(r.Context(), f, by, t, in); err != nil {
		return err
	}
	if f.OK() {
		_, err = s.Desk.SetTank(r.Context(), by, in)
		var problems holdfast.Problems
		if err == nil {
			return s.recorded(w, r, tankURL(id), "", by.ID)
		}
		if !errors.As(err, &problems) {
			return err
		}
		for i := range problems {
			if problems[i].Field == "jug_seconds" {
				problems[i].Field = "jug_1"
			}
		}
		f.Take(problems)
	}
	return s.tankForm(w, r, http.StatusBadRequest, t, shape, f, ticked)
}

// tankMay refuses a second tank of one name, and closing one with animals in
// it.
func (s *Server) tankMay(ctx context.Context, f *form.Form, by desk.Actor, t *holdfast.Tank, in desk.TankForm) error {
	if t == nil {
		if in.ID == "new" || in.ID == "readings" {
			f.Fault("id", "No tank can be called “"+in.ID+"” here.", "Choose another short name.")
		}
		if _, err := s.Desk.Tank(ctx, in.ID); err == nil {
			if _, err := s.Desk.Store.Entry(ctx, by.ID); err != nil { // else this very form was sent twice
				f.Fault("id", fmt.Sprintf("There is a tank %q already.", in.ID), "Choose another short name, or change that tank on its page.")
			}
		}
		return nil
	}
	if !in.Closed {
		return nil
	}
	lots, err := s.lotsIn(ctx, in.ID)
	if err == nil && len(lots) > 0 {
		f.Fault("is", fmt.Sprintf("Animals of %s stand in it.", words.Plural(len(lots), "lot", "lots")), "Move them out first.")
	}
	return err
}

// lotsIn are the lots with animals in a tank.
func (s *Server) lotsIn(ctx context.Context, tank string) ([]holdfast.LotRow, error) {
	lots, _, err := s.Desk.Store.Lots(ctx, desk.LotQuery{Statuses: lotSieves[0].statuses, Sort: desk.ByOldest})
	return slices.DeleteFunc(lots, func(l holdfast.LotRow) bool {
		return !slices.ContainsFunc(l.Places, func(p holdfast.Place) bool { return p.Tank == tank })
	}), err
}

func (s *Server) tankForm(w http.ResponseWriter, r *http.Request, status int, t *holdfast.Tank, shape tankShape, f *form.Form, ticked []string) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	entry, err := s.Desk.NewID()
	if err != nil {
		return err
	}
	field := func(name, label, hint string) view.Field {
		return view.Field{Name: name, Label: label, Hint: hint, Value: f.Typed(name), Err: f.Err(name)}
	}
	action := "/tanks/new"
	p := page.TankForm{Heading: "Add a tank", Send: "Add this tank"}
	if t != nil {
		action = tankURL(t.ID) + "/edit"
		p.From, p.Heading, p.Send = tankCalled(t.Name), "Change its measures", "Keep these measures"
	} else {
		id := field("tank", "Short name", "As on its label, such as 14. It stays for good.")
		id.Err, id.Required, id.Max = f.Err("id"), true, 40
		p.ID = &id
	}
	p.Form = view.Form{Action: action, Entry: string(entry), Hidden: []view.Pair{{Name: "shape", Value: shape.key()}}, Guard: true}
	p.ShapeSays = shape.says
	for _, sh := range tankShapes {
		p.Shapes = append(p.Shapes, view.Sieve{Label: sh.label, Count: -1, Current: sh.key() == shape.key(), URL: action + "?shape=" + sh.key()})
	}
	p.Name = field("name", "What it is called", "Empty takes the short name.")
	p.System = field("system", "Shared water", "The same word for all tanks on one sump or filter, such as rack-a. Empty if it stands alone.")
	p.Place = field("place", "Place on the walk", "A number; low ones come first.")
	p.Use, p.Uses = field("use", "Used for", ""), []view.Option{{Value: "quarantine", Label: "Quarantine"}, {Value: "hospital", Label: "Hospital"}, {Value: "sale", Label: "Sale"}, {Value: "other", Label: "Something else"}}
	numbers := func(names []string) []view.Field {
		var out []view.Field
		for _, name := range names {
			m := measureOf(name)
			n := field(name, m.label, m.hint)
			n.Unit = m.unit
			out = append(out, n)
		}
		return out
	}
	p.Sizes, p.Inside, p.Finer = numbers(shape.sizes), numbers(shape.inside()), numbers(shape.finer())
	p.Ticks, p.TickOptions, p.Ticked = field("is", "How it was measured", ""), shape.ticks(t == nil), map[string]bool{}
	for _, tick := range ticked {
		p.Ticked[tick] = true
	}
	shown := append([]view.Field{p.Name, p.System, p.Place, p.Use, p.Ticks}, slices.Concat(p.Sizes, p.Inside, p.Finer)...)
	if p.ID != nil {
		shown = append([]view.Field{*p.ID}, shown...)
	}
	p.Faults = faultsOf(f, shown)
	return s.page(w, r, status, page.TankEdit(view.Page{Frame: frame, Title: p.Heading, At: view.Tanks, Width: view.Middle}, p))
}

// faultsOf lists what is wrong at the shown fields, and what is wrong with a
// value that has no field here.
func faultsOf(f *form.Form, shown []view.Field) []view.Fault {
	all := view.Faults(shown...)
	for _, fault := range f.Faults() {
		if !slices.ContainsFunc(shown, func(s view.Field) bool { return s.Err != "" && s.Err == f.Err(fault.Field) }) {
			label := fault.Field
			if m := measureOf(label); m.label != "" {
				label = m.label
			}
			all = append(all, view.Fault{ID: "main", Label: label, Message: f.Err(fault.Field)})
		}
	}
	return all
}
