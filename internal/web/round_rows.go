package web

import (
	"context"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/chart"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// rowID is the element of a task; the key's slashes would read as a path.
func rowID(key string) string { return strings.ReplaceAll(key, "/", "~") }

func sectionID(z desk.Zone) string { return fmt.Sprintf("zone-%d", int(z)) }

// rounder draws a walk.
type rounder struct {
	*Server
	back  sent
	zone  *time.Location
	now   time.Time
	names map[string]string // what a lot is called, by its id
	price map[string]map[string]desk.MissPrice
	tank  string // of the rows being drawn, for what leads to them
	page  page.Round
	last  *holdfast.Event
}

func (s *Server) roundOf(ctx context.Context, walk *desk.Round, f view.Frame, back sent) (page.Round, error) {
	all, done, late := walk.Count()
	d := &rounder{Server: s, back: back, zone: f.Now.Location(), now: f.Now, names: map[string]string{}, price: map[string]map[string]desk.MissPrice{}}
	d.page = page.Round{Day: words.Day(walk.Day.Date()), All: all, Left: all - done, Late: late, Quiet: walk.Quiet}
	d.page.NoTanks = len(walk.Sections) == 0 && walk.Quiet == 0
	if err := d.courses(ctx, walk); err != nil {
		return d.page, err
	}
	for _, sec := range walk.Sections {
		if err := d.section(sec, walk.Day); err != nil {
			return d.page, err
		}
	}
	if d.last != nil {
		d.page.Last = fmt.Sprintf("The last at %s by %s.", d.last.OccurredAt.In(d.zone).Format("15:04"), somebody(d.last.Who))
	}
	d.page.Tomorrow = tomorrow(walk.Tomorrow, d.names)
	return d.page, ctx.Err()
}

var zoneMarks = map[desk.Zone]view.Mark{desk.Clean: view.Clear, desk.Watched: view.Held, desk.Carrying: view.Found, desk.Standstill: view.Stop}

func (d *rounder) section(sec desk.Section, day holdfast.Day) error {
	out := page.RoundSection{ID: sectionID(sec.Zone), Mark: zoneMarks[sec.Zone], Heading: sec.Zone.String(), Still: sec.Zone == desk.Standstill}
	if sec.Hygiene != nil {
		d.tank = "Hygiene"
		row, err := d.row(*sec.Hygiene, desk.Stop{})
		if err != nil {
			return err
		}
		out.Halt = &row
	}
	for _, st := range sec.Stops {
		tank, err := d.stop(st)
		if err != nil {
			return err
		}
		out.Tanks = append(out.Tanks, tank)
		d.page.Walk.Stops = append(d.page.Walk.Stops, walkStop(st, sec.Zone))
		for _, t := range st.Tasks {
			if t.Kind == desk.TaskDead && t.Open() {
				out.Dead++
			}
		}
	}
	out.Finished = finished(sec)
	out.None = view.Form{Action: "/round/none-dead", ID: sectionID(sec.Zone) + "-none", Class: "none", Swap: true, Hidden: []view.Pair{
		{Name: "zone", Value: fmt.Sprint(int(sec.Zone))}, {Name: "of", Value: fmt.Sprint(out.Dead)}, {Name: "day", Value: day.String()}}}
	d.page.Sections = append(d.page.Sections, out)
	return nil
}

// finished says in a line what was done in a section in which nothing waits and
// nothing is wrong; otherwise it is empty.
func finished(sec desk.Section) string {
	n := 0
	for _, st := range sec.Stops {
		if st.Unusual != "" || len(st.Alarms) > 0 {
			return ""
		}
		for _, t := range st.Tasks {
			if t.Open() || t.Twice != nil {
				return ""
			}
			n++
		}
	}
	return fmt.Sprintf("%s, all %s done", words.Plural(len(sec.Stops), "tank", "tanks"), words.Int(n))
}

func walkStop(st desk.Stop, z desk.Zone) chart.Stop {
	out := chart.Stop{Label: st.ID, Done: true}
	switch z {
	case desk.Clean:
		out.Zone = chart.Clean
	case desk.Watched:
		out.Zone = chart.OnHold
	default:
		out.Zone = chart.Carrying
	}
	for _, t := range st.Tasks {
		if t.Open() {
			out.Done = false
			out.Late = out.Late || t.Late > 0
		}
	}
	return out
}

func (d *rounder) stop(st desk.Stop) (page.RoundTank, error) {
	t := page.RoundTank{ID: "tank~" + st.ID, URL: "/tanks/" + url.PathEscape(st.ID), Name: "Tank " + st.ID, Unusual: st.Unusual}
	if st.Name != st.ID && st.Name != t.Name {
		t.Below = st.Name
	}
	for _, l := range st.Lots {
		d.names[l.ID] = l.Strain + " " + l.ID
		alive := l.Alive
		for _, p := range l.Places {
			if p.Tank == st.ID && len(l.Places) > 1 {
				alive = p.Count
			}
		}
		t.Lots = append(t.Lots, page.RoundLot{URL: "/lots/" + url.PathEscape(l.ID), Name: "lot " + l.ID, Lives: fmt.Sprintf("%s, %s alive", l.Strain, words.Int(alive))})
	}
	if len(st.Alarms) > 0 {
		t.Alarm = "Alarm not over: " + strings.Join(st.Alarms, ", ") + "."
		d.page.Alarms = append(d.page.Alarms, page.RoundLink{To: t.ID, Label: t.Name, Say: t.Alarm})
	}
	if st.Unusual != "" {
		d.page.Alarms = append(d.page.Alarms, page.RoundLink{To: t.ID, Label: t.Name, Say: "More dead than usual."})
	}
	d.tank = t.Name
	for _, task := range st.Tasks {
		row, err := d.row(task, st)
		if err != nil {
			return t, err
		}
		t.Rows = append(t.Rows, row)
	}
	return t, nil
}

func (d *rounder) row(t desk.Task, st desk.Stop) (page.RoundRow, error) {
	id := rowID(t.Key)
	entry, err := d.Desk.NewID()
	if err != nil {
		return page.RoundRow{}, err
	}
	row := page.RoundRow{Job: view.Job{What: what(t, st), Below: t.Detail, Form: view.Form{Action: "/round/tick", ID: id, Entry: string(entry), Swap: true,
		Hidden: []view.Pair{{Name: "task", Value: t.Key}}}}}
	if !t.Open() {
		return row, d.done(&row, t)
	}
	d.priced(&row, t)
	if d.page.Next == "" {
		d.page.Next, d.page.NextSay = id, d.tank+": "+row.What
	}
	if t.Late > 0 {
		row.Late = "Late by " + words.Plural(t.Late, "day", "days") + "."
		d.page.LateOnes = append(d.page.LateOnes, page.RoundLink{To: id, Label: d.tank + ": " + row.What, Say: row.Late})
	}
	d.ask(&row, t, st)
	return row, nil
}

// what says the job, and in whose animals where a tank holds several lots.
func what(t desk.Task, st desk.Stop) string {
	if t.Lot == "" || len(st.Lots) < 2 {
		return t.Says
	}
	i := slices.IndexFunc(st.Lots, func(l holdfast.LotRow) bool { return l.ID == t.Lot })
	if i < 0 {
		return t.Says + ": lot " + t.Lot
	}
	return t.Says + ": " + st.Lots[i].Strain
}

// ask gives a row that waits its fields, with what was typed if it came back.
func (d *rounder) ask(row *page.RoundRow, t desk.Task, st desk.Stop) {
	typed := func(f view.Field) view.Field {
		f.ID = row.Form.ID + "~" + f.Name
		if d.back.form != nil && d.back.task == t.Key {
			f.Value, f.Err = d.back.form.Typed(f.Name), d.back.form.Err(f.Name)
			d.page.Faults = append(d.page.Faults, view.Faults(f)...)
		}
		return f
	}
	switch t.Kind {
	case desk.TaskPull:
		n := typed(view.Field{Name: "count", Label: "Moults pulled"})
		row.Count, row.None = &n, "No moults"
	case desk.TaskDead:
		n := typed(view.Field{Name: "count", Label: "Dead"})
		row.Count, row.None = &n, "None dead"
	case desk.TaskWater:
		for _, rf := range roundReadings {
			f := view.Field{Name: rf.name, Label: rf.label, Unit: rf.unit}
			if st.Last != nil {
				if x := *rf.at(st.Last); x != nil {
					f.Hint = "Last " + words.Number(*x, rf.decimals)
				}
			}
			f = typed(f)
			row.Open = row.Open || f.Err != "" || f.Value != ""
			row.Readings = append(row.Readings, f)
		}
	case desk.TaskRedose, desk.TaskChange:
		row.Measure = amountAsked(t)
		for i := range row.Measure.Fields {
			row.Measure.Fields[i] = typed(row.Measure.Fields[i])
		}
	case desk.TaskDose:
		row.Form.Action, row.GoLabel, row.Go = "/round/skip", "Treat", taskURL("mix", t)
	case desk.TaskAfter, desk.TaskEnd:
		row.Form.Action, row.GoLabel, row.Go = "/round/skip", "Look", taskURL("treatments/"+string(t.Of), t)
		if t.Kind == desk.TaskEnd {
			row.GoLabel = "End it"
		}
	case desk.TaskDecide:
		row.Form.Action, row.GoLabel, row.Go = "/round/skip", "Decide", "/lots/"+url.PathEscape(t.Lot)+"#gate"
	case desk.TaskLook:
		row.Form.Action, row.GoLabel, row.Go = "/round/skip", "Look", taskURL("look", t)
	}
	row.Note = typed(view.Field{Name: "note", Label: "Note, or why it is left out", Max: longestNote})
	row.Noting = row.Note.Err != "" || row.Note.Value != ""
}

func taskURL(what string, t desk.Task) string {
	q := url.Values{"task": {t.Key}}
	if t.Tank != "" {
		q.Set("tank", t.Tank)
	}
	return "/lots/" + url.PathEscape(t.Lot) + "/" + what + "?" + q.Encode()
}

// done says who did a task and offers to take it back; a task that two people
// did offers both.
func (d *rounder) done(row *page.RoundRow, t desk.Task) error {
	if d.last == nil || t.Done.OccurredAt > d.last.OccurredAt {
		d.last = t.Done
	}
	row.Done = d.didSay(*t.Done)
	both := []*holdfast.Event{t.Done}
	if t.Twice != nil {
		both = append(both, t.Twice)
	}
	for _, ev := range both {
		fresh, err := d.Desk.NewID()
		if err != nil {
			return err
		}
		undo := view.StripForm{Label: "Undo", Action: "/undo", Hidden: []view.Pair{
			{Name: "entry", Value: string(ev.ID)}, {Name: "id", Value: string(fresh)}, {Name: "back", Value: "/round"}}}
		if t.Twice == nil {
			row.Undo = &undo
			continue
		}
		undo.Label = "Undo " + somebody(ev.Who) + "’s"
		row.Twice = append(row.Twice, page.RoundTick{Says: d.didSay(*ev), Undo: undo})
	}
	return nil
}

// somebody is who did it, as a sentence begins.
func somebody(who string) string {
	if who == nobody {
		return "Somebody"
	}
	return who
}

// didSay is who did it, when, and what was written; a day other than today's
// is named.
func (d *rounder) didSay(ev holdfast.Event) string {
	at := ev.OccurredAt.In(d.zone)
	when := at.Format("15:04")
	if at.Format(time.DateOnly) != d.now.Format(time.DateOnly) {
		when = words.Moment(at)
	}
	return fmt.Sprintf("%s, %s. %s", somebody(ev.Who), when, tell(ev))
}

// tomorrow says what falls due on the next day: the daily jobs as counts, the
// others one by one.
func tomorrow(tasks []desk.Task, names map[string]string) []string {
	count := map[desk.TaskKind]int{}
	var single []string
	for _, t := range tasks {
		switch t.Kind {
		case desk.TaskDose, desk.TaskLook, desk.TaskAfter, desk.TaskEnd, desk.TaskRedose, desk.TaskChange, desk.TaskCarbon:
			single = append(single, fmt.Sprintf("Tank %s, %s: %s.", t.Tank, names[t.Lot], t.Says))
		default:
			count[t.Kind]++
		}
	}
	var daily []string
	for _, k := range []struct {
		kind desk.TaskKind
		what string
	}{{desk.TaskPull, "moults to pull"}, {desk.TaskDead, "looks for dead"}, {desk.TaskWater, "waters to measure"}} {
		if n := count[k.kind]; n > 0 {
			daily = append(daily, words.Int(n)+" "+k.what)
		}
	}
	if len(daily) > 0 {
		single = slices.Insert(single, 0, "As every day: "+strings.Join(daily, ", ")+".")
	}
	return single
}
