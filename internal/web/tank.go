package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/water/dose"
)

// How much of a tank's past its page shows.
const (
	readingsShown    = 8
	tankJournalShown = 20
)

// What can be written down about a tank, as the form's "do" says it.
const (
	doChange  = "change"
	doTopUp   = "topup"
	doMeasure = "measure"
	doAlarm   = "alarm"
	doOver    = "over"
	doNote    = "note"
)

func (s *Server) tank(w http.ResponseWriter, r *http.Request) error {
	return s.tankPage(w, r, http.StatusOK, form.New(nil))
}

// tankWrite writes down one thing about a tank.
func (s *Server) tankWrite(w http.ResponseWriter, r *http.Request) error {
	by, err := s.author(r)
	if err != nil {
		return err
	}
	id := r.PathValue("id")
	if _, err := s.Desk.Tank(r.Context(), id); err != nil {
		return err
	}
	f := form.New(r.PostForm)
	note := f.Text("note", 2000, r.PostForm.Get("do") == doNote)
	write, err := s.tankEntry(r, by, f, id, note)
	if err != nil {
		return err
	}
	if f.OK() {
		err = write()
		var problems holdfast.Problems
		if err == nil {
			return s.recorded(w, r, tankURL(id), "", by.ID)
		}
		if !errors.As(err, &problems) {
			return err
		}
		f.Take(problems)
	}
	return s.tankPage(w, r, http.StatusBadRequest, f)
}

// tankEntry reads what is to be written; write does it.
func (s *Server) tankEntry(r *http.Request, by desk.Actor, f *form.Form, id, note string) (write func() error, err error) {
	ctx, d := r.Context(), s.Desk
	switch do := r.PostForm.Get("do"); do {
	case doChange, doTopUp:
		litres := f.Number("litres", form.Range{Low: 0.01, High: 100000, Unit: "L", Needed: true})
		return func() error {
			if do == doTopUp {
				return d.TopUp(ctx, by, id, *litres, note)
			}
			return d.ChangeWater(ctx, by, id, *litres, note, "")
		}, nil
	case doMeasure:
		water := readWater(f, waterReadings)
		return func() error { return d.Measure(ctx, by, id, water, note, "") }, nil
	case doAlarm, doOver:
		what := f.OneOf("what", []string{"air", "heater", "power", "other"}, true)
		return func() error { return d.Alarm(ctx, by, id, what, do == doOver, note) }, nil
	case doNote:
		return func() error { return d.Note(ctx, by, "", id, note) }, nil
	}
	return nil, badForm(nil)
}

func (s *Server) tankPage(w http.ResponseWriter, r *http.Request, status int, f *form.Form) error {
	ctx := r.Context()
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	t, err := s.Desk.Tank(ctx, r.PathValue("id"))
	if err != nil {
		return err
	}
	lots, err := s.lotsIn(ctx, t.ID)
	if err != nil {
		return err
	}
	zone := frame.Now.Location()
	p := page.TankPage{ID: url.PathEscape(t.ID), Name: tankCalled(t.Name), Closed: t.Closed, From: words.Capital(useWords[t.Use]),
		Lots: lotsLedger(lots, t.ID), Readings: readingsLedger(t, zone),
		Water: []view.Big{{Number: words.Number(t.Litres, 1), Before: "litres of", Bold: "water", After: "to reckon doses on",
			Below: words.Number(t.Low, 1) + " to " + words.Measure(t.High, 1, "L") + ", nine times in ten"}}}
	p.Lines = tankLines(t, lots, frame.Now, zone)
	p.Below = "It stands on its own water."
	if t.System != "" {
		p.Below = "It shares the water " + t.System + "."
	}
	if t.Closed {
		p.Below = "Out of use. " + p.Below
	}
	p.Parts, p.Doubts, p.Other = volumeSays(t)
	if err := s.tankForms(&p, t, f); err != nil {
		return err
	}
	if p.Journal, p.More, err = s.tankJournal(t, zone, r.URL.Query().Has("all")); err != nil {
		return err
	}
	return s.page(w, r, status, page.Tank(view.Page{Frame: frame, Title: p.Name, At: view.Tanks, Width: view.Middle}, p))
}

func lotsLedger(lots []holdfast.LotRow, tank string) view.Ledger {
	l := view.Ledger{Caption: "Lots in the tank", Fold: true, Columns: []view.Column{{Label: "Lot"}, {Label: "State"}, {Label: "Supplier"}, {Label: "Alive here", Num: true}}}
	for _, row := range lots {
		here := 0
		for _, p := range row.Places {
			if p.Tank == tank {
				here += p.Count
			}
		}
		mark, state := lotNow{}.state(row)
		l.Rows = append(l.Rows, []view.Cell{{Text: row.Strain + " " + row.ID, URL: "/lots/" + url.PathEscape(row.ID)},
			{Part: view.State(mark, state)}, {Text: row.Supplier}, {Text: words.Int(here)}})
	}
	return l
}

// readingsLedger shows the newest readings, with a column for each kind that
// was taken.
func readingsLedger(t *holdfast.Tank, zone *time.Location) view.Ledger {
	last := t.Measured[max(0, len(t.Measured)-readingsShown):]
	l := view.Ledger{Caption: "Last readings", Columns: []view.Column{{Label: "When"}}}
	var shown []reading
	for _, m := range waterReadings {
		for _, ev := range last {
			if *m.at(&ev.Payload.(*holdfast.WaterMeasured).Water) != nil {
				shown = append(shown, m)
				l.Columns = append(l.Columns, view.Column{Label: strings.TrimSuffix(m.label+", "+m.unit, ", "), Num: true})
				break
			}
		}
	}
	for i := len(last) - 1; i >= 0; i-- {
		row := []view.Cell{{Text: words.Moment(last[i].OccurredAt.In(zone))}}
		for _, m := range shown {
			cell := view.Cell{Text: "–"}
			if x := *m.at(&last[i].Payload.(*holdfast.WaterMeasured).Water); x != nil {
				cell.Text = words.Number(*x, m.decimals)
			}
			row = append(row, cell)
		}
		l.Rows = append(l.Rows, row)
	}
	return l
}

// volumeSays lays out how the litres came about.
func volumeSays(t *holdfast.Tank) (parts view.Ledger, doubts, other string) {
	parts = view.Ledger{Caption: "How the litres came about", Columns: []view.Column{{Label: "Part"}, {Label: "Litres", Num: true}}}
	v, err := desk.VolumeOf(t.Shape)
	if err != nil {
		parts.Rows = [][]view.Cell{{{Text: "As it was recorded"}, {Text: words.Number(t.Litres, 1), Reck: true}}}
		return parts, "The measures no longer give litres by themselves. Measure the tank again.", ""
	}
	for _, p := range v.Parts {
		parts.Rows = append(parts.Rows, []view.Cell{{Text: words.Capital(p.Name)}, {Text: words.Number(p.Litres, 1), Reck: true}})
	}
	parts.Sum = []view.Cell{{Text: "Water in it"}, {Text: words.Number(v.Litres, 1), Reck: true}}
	if len(v.Doubts) > 0 {
		d := v.Doubts[0]
		doubts = fmt.Sprintf("Most of the doubt comes from “%s”: it alone makes %s either way.", strings.ToLower(measures[d.Field].label), words.Measure(d.Litres, 1, "L"))
	}
	if v.BrimL > 0 {
		doubts += fmt.Sprintf(" To the brim the bare glass holds %s; never dose on that.", words.Measure(v.BrimL, 1, "L"))
	}
	if math.Abs(v.Litres-t.Litres) > 0.05 {
		other = fmt.Sprintf("Reckoned anew today the same measures give %s. Keep the measures once more to use that from now on; doses already given stay as they were.", words.Measure(v.Litres, 1, "L"))
	}
	return parts, doubts, other
}

// tankForms are the things to write down, the one that was sent wrong open and
// with what was typed.
func (s *Server) tankForms(p *page.TankPage, t *holdfast.Tank, f *form.Form) error {
	action, sent := tankURL(t.ID), f.Typed("do")
	var shown []view.Field
	var failed error
	fresh := func(do string, more ...view.Pair) view.Form {
		entry, err := s.Desk.NewID()
		if err != nil {
			failed = err
		}
		return view.Form{Action: action, Entry: string(entry), Hidden: append([]view.Pair{{Name: "do", Value: do}}, more...)}
	}
	field := func(do, name, label, unit, hint string) view.Field {
		out := view.Field{Name: name, ID: do + "-" + name, Label: label, Unit: unit, Hint: hint}
		if do == sent {
			out.Value, out.Err = f.Typed(name), f.Err(name)
			shown = append(shown, out)
		}
		return out
	}
	entry := func(do, title, send string, w view.Weight) page.TankEntry {
		return page.TankEntry{Title: title, Form: fresh(do), Send: send, Weight: w, Open: do == sent && !f.OK()}
	}
	change := entry(doChange, "Water changed", "Record the change", view.Main)
	change.Numbers = []view.Field{field(doChange, "litres", "Litres replaced", "L", "")}
	change.Text = field(doChange, "note", "Note", "", "")
	topUp := entry(doTopUp, "Topped up", "Record the top-up", view.Main)
	topUp.Numbers = []view.Field{field(doTopUp, "litres", "Litres added", "L", "Only what evaporated.")}
	topUp.Text = field(doTopUp, "note", "Note", "", "")
	measure := entry(doMeasure, "Water measured", "Record the readings", view.Main)
	for _, m := range waterReadings {
		measure.Numbers = append(measure.Numbers, field(doMeasure, m.name, m.label, m.unit, ""))
	}
	measure.Text = field(doMeasure, "note", "Note", "", "What nobody measured stays empty.")
	alarm := entry(doAlarm, "Something failed", "Raise the alarm", view.Marked)
	what := field(doAlarm, "what", "What failed", "", "")
	alarm.Choice, alarm.Options = &what, []view.Option{{Value: "air", Label: "Air"}, {Value: "heater", Label: "Heater"}, {Value: "power", Label: "Power"}, {Value: "other", Label: "Something else"}}
	alarm.Text = field(doAlarm, "note", "Note", "", "")
	note := entry(doNote, "Note", "Keep the note", view.Main)
	note.Text = field(doNote, "note", "What to remember", "", "")
	p.Forms = []page.TankEntry{change, topUp, measure, alarm, note}
	for _, a := range t.Alarms {
		kind := a.Payload.(*holdfast.Alarm).What
		p.Alarms = append(p.Alarms, page.TankAlarm{Says: words.Capital(alarmWords[kind]) + " failed and is not mended.", Do: whenFailed(kind), Form: fresh(doOver, view.Pair{Name: "what", Value: kind})})
	}
	p.Faults = faultsOf(f, shown)
	return failed
}

// tankJournal lists what was entered, newest first, each entry of the tank
// itself with the way to take it back, and says how many older ones it leaves
// out.
func (s *Server) tankJournal(t *holdfast.Tank, zone *time.Location, all bool) (view.Ledger, string, error) {
	l := view.Ledger{Caption: "Journal of the tank", Fold: true, Columns: []view.Column{{Label: "When"}, {Label: "What"}, {Label: "Who"}, {Label: "Take back", Num: true}}}
	first, more := 0, ""
	if n := len(t.All) - tankJournalShown; n > 0 && !all {
		first, more = n, words.Plural(n, "older entry", "older entries")
	}
	for i := len(t.All) - 1; i >= first; i-- {
		ev := t.All[i]
		if ev.Kind == holdfast.KindCorrection {
			continue // shown at what it took back
		}
		what := view.Cell{Text: tell(ev)}
		if ev.Lot != "" {
			what = view.Cell{Text: "Lot " + ev.Lot + ": " + tell(ev), URL: "/lots/" + url.PathEscape(ev.Lot)}
		}
		back, label := ev.ID, "Undo"
		if by := t.Undone[ev.ID]; by != "" {
			what.Below, back, label = "Taken back; it no longer counts.", by, "Put it back"
		}
		fresh, err := s.Desk.NewID()
		if err != nil {
			return l, more, err
		}
		cell := view.Cell{Text: "on its lot"}
		if ev.Lot == "" {
			cell = view.Cell{Part: page.UndoButton(view.StripForm{Label: label, Action: "/undo", Hidden: []view.Pair{
				{Name: "entry", Value: string(back)}, {Name: "id", Value: string(fresh)}, {Name: "back", Value: tankURL(t.ID)}}}, tell(ev))}
		}
		l.Rows = append(l.Rows, []view.Cell{{Text: words.Moment(ev.OccurredAt.In(zone))}, what, {Text: ev.Who}, cell})
	}
	return l, more, nil
}

// whenFailed is what to do while something is out.
func whenFailed(what string) []string {
	var all []dose.Saying
	switch what {
	case "air":
		all = dose.WhenAirFails()
	case "heater":
		all = dose.WhenHeaterFails()
	case "power":
		all = append(dose.WhenAirFails(), dose.WhenHeaterFails()...)
	}
	var out []string
	for _, s := range all {
		out = append(out, s.Say)
	}
	return out
}
