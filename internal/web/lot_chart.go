package web

import (
	"fmt"
	"slices"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/chart"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// chartAhead is how many days beyond today the drawing leaves room for.
const chartAhead = 14

// chart draws the evidence for one condition.
func (b *lotBuild) chart(a desk.Assessment) *page.Chart {
	e := lotEvidence(b.v, a, b.zone, b.now)
	t := view.Ledger{Caption: "Chance of clear by day", Columns: []view.Column{{Label: "Day"}, {Label: "Likely clear", Num: true}, {Label: "Band", Num: true}, {Label: "If eggs hatch on it never / always", Num: true}, {Label: "What"}}}
	for _, r := range e.Rows() {
		t.Rows = append(t.Rows, []view.Cell{{Text: words.FullDay(r.Day)}, {Text: r.Chance, Reck: true}, {Text: r.Band, Reck: true}, {Text: r.Hatch, Reck: true}, {Text: r.What}})
	}
	caption := fmt.Sprintf("How likely the lot is clear of the %s, and what was done. The band is what the chance may be.", words.MidSentence(a.Condition.Name))
	if len(e.Forecast) > 0 {
		caption += " " + aheadSay(b.v, a)
	}
	if e.Hatching() {
		caption += " " + hatchSay
	}
	if b.v.Shop.Line == holdfast.LineBag {
		caption += fmt.Sprintf(" Your release line is drawn on the bag: at most %s of %s carry it. The line here, %s likely clear, is only a help to the eye.",
			words.Percent(b.v.Shop.BagLine), words.Plural(b.v.Shop.BagSize, "animal", "animals"), words.Percent(b.v.Shop.ClearLine))
	}
	return &page.Chart{Wide: e.Wide(), Tall: e.Tall(), Caption: caption, Table: &t}
}

// hatchSay says what the thin lines are.
const hatchSay = "The thin lines are the same if eggs hatch on the animal never (thin, unbroken) or always (dash and dot): nobody has looked, and the thick line mixes both."

// lotEvidence lays the lot's life out for the drawing.
func lotEvidence(v *desk.LotView, a desk.Assessment, zone *time.Location, now time.Time) chart.Evidence {
	l := v.Lot
	start := holdfast.DayOf(l.OpenedAt, zone)
	if a.Answer != nil && a.Answer.Start != 0 {
		start = a.Answer.Start // of a lot that was split off, its parent's arrival
	}
	day := func(at holdfast.Micros) float64 {
		t := at.In(zone)
		return float64(holdfast.DayOf(at, zone)-start) + float64(t.Hour()*60+t.Minute())/(24*60)
	}
	e := chart.Evidence{Subject: lotName(l), Condition: words.MidSentence(a.Condition.Name), Start: start.Date(),
		Today: day(holdfast.MicrosOf(now)), End: float64(v.Today-start) + chartAhead, Line: v.Shop.ClearLine}
	if a.Answer != nil && len(a.Answer.Line) > 0 {
		lifeLine(&e, v, a)
	} else {
		steps(&e, v, a, day)
	}
	events(&e, v, a, day)
	return e
}

// steps draws a chance that stays until something bears on it.
func steps(e *chart.Evidence, v *desk.LotView, a desk.Assessment, day func(holdfast.Micros) float64) {
	for i, p := range a.Line {
		at := chart.Point{Day: max(day(p.At), 0), Chance: p.Chance, Low: p.Low, High: p.High}
		if i > 0 { // the chance stays until something bears on it
			before := e.Past[len(e.Past)-1]
			before.Day = at.Day
			e.Past = append(e.Past, before)
		}
		e.Past = append(e.Past, at)
	}
	if n := len(e.Past); n > 0 {
		last := e.Past[n-1]
		last.Day = max(last.Day, e.Today)
		e.Past = append(e.Past, last)
		if v.Lot.Parent == "" {
			guessed(e)
		}
	}
}

// guessed says what the line begins with.
func guessed(e *chart.Evidence) {
	e.Notes = append(e.Notes, chart.Note{Day: e.Past[0].Day, Chance: e.Past[0].Chance, Words: "before any look: a guess, " + words.Percent(e.Past[0].Chance), Reck: true})
}

// lifeLine draws the line of the life-cycle model, past and to come: under the
// accepted course if there is one, else if nothing more is done.
func lifeLine(e *chart.Evidence, v *desk.LotView, a desk.Assessment) {
	k := a.Answer
	today := float64(v.Today-k.Start) + desk.Evening
	point := func(p desk.LinePoint) chart.Point {
		return chart.Point{Day: p.Day, Chance: p.P, Low: p.Low, High: p.High, Never: p.Never, Always: p.Always}
	}
	for _, p := range k.Line {
		if p.Day <= today+0.001 {
			e.Past = append(e.Past, point(p))
		} else if len(k.Course) == 0 {
			e.Forecast = append(e.Forecast, point(p))
		}
	}
	for _, p := range k.Course {
		if p.Day > today+0.001 {
			e.Forecast = append(e.Forecast, point(p))
		}
	}
	if n := len(e.Past); n > 0 {
		e.Today = max(e.Today, e.Past[n-1].Day)
		if v.Lot.Parent == "" {
			guessed(e)
		}
	}
	if n := len(e.Forecast); n > 0 {
		e.End = max(e.End, e.Forecast[n-1].Day)
	}
	for _, l := range k.Ifs {
		e.Ifs = append(e.Ifs, chart.If{Day: l.Day, Chance: l.ClearIfSigns, Words: timesIn(1 - l.Expected)})
	}
	planned(e, v, a)
}

// timesIn writes a chance as one time in so many.
func timesIn(p float64) string {
	if p < 0.001 {
		return ""
	}
	return fmt.Sprintf("1 time in %d", max(1, int(1/p+0.5)))
}

// planned adds to the lanes what the accepted course plans from tomorrow on.
func planned(e *chart.Evidence, v *desk.LotView, a desk.Assessment) {
	if v.Lot.Course == nil {
		return
	}
	p := v.Lot.Course.Payload.(*holdfast.CourseAccepted)
	if p.Condition != a.Condition.ID {
		return
	}
	at := func(d holdfast.Day) float64 { return float64(d - a.Answer.Start) }
	for _, d := range p.Doses {
		if d > v.Today {
			e.Baths = append(e.Baths, chart.Bath{From: at(d), To: at(d) + p.BathDays, Standing: chart.Planned})
		}
	}
	for d := max(p.PullFrom, v.Today+1); p.PullsPerDay > 0 && d <= p.PullUntil; d++ {
		if !slices.Contains(p.SkipPulls, d) {
			e.Pulls = append(e.Pulls, chart.Pull{Day: at(d) + 0.4, Standing: chart.Planned})
		}
	}
	for _, l := range p.Looks {
		if l.Day > v.Today {
			e.Looks = append(e.Looks, chart.Look{Day: at(l.Day) + 0.4, Animals: l.Animals, Standing: chart.Planned})
		}
	}
	e.End = max(e.End, at(p.Release)+1)
}

// aheadSay says what the line to come stands for.
func aheadSay(v *desk.LotView, a desk.Assessment) string {
	k := a.Answer
	if len(k.Course) == 0 {
		return "Broken, what is to come if nothing more is done."
	}
	say := "Broken, what is to come on the accepted course while its looks find nothing."
	last := k.Course[len(k.Course)-1]
	for i := len(k.Line) - 1; i >= 0; i-- {
		if p := k.Line[i]; p.Day <= last.Day {
			say += fmt.Sprintf(" If nothing more were done, it would be %s on %s.", words.Percent(p.P), words.ShortDay((k.Start + holdfast.Day(p.Day)).Date()))
			break
		}
	}
	return say
}

// events fills the lanes with what happened.
func events(e *chart.Evidence, v *desk.LotView, a desk.Assessment, day func(holdfast.Micros) float64) {
	baths := 0
	for _, ev := range v.Lot.Events {
		at := max(day(ev.OccurredAt), 0)
		switch p := ev.Payload.(type) {
		case *holdfast.Treatment:
			if p.Trial {
				continue
			}
			baths++
			bath := chart.Bath{From: at, To: at + p.Hours/24, Words: words.Int(baths)}
			if p.Held != holdfast.HeldFull {
				bath.Standing = chart.Partly
			}
			e.Baths = append(e.Baths, bath)
		case *holdfast.MoultPull:
			e.Pulls = append(e.Pulls, chart.Pull{Day: at})
		case *holdfast.Inspection:
			if n := positives(p, a.Condition.ID); n > 0 || slices.Contains(p.LookedFor, a.Condition.ID) {
				e.Looks = append(e.Looks, chart.Look{Day: at, Animals: p.Looked(), Positive: n})
			}
		case *holdfast.Death:
			if p.Count > 0 {
				e.Deaths = append(e.Deaths, chart.Died{Day: at, N: p.Count})
			}
		case *holdfast.DOA:
			e.Deaths = append(e.Deaths, chart.Died{Day: at, N: p.Count})
		}
	}
}

// positives counts the animals with the condition or a sign of it.
func positives(p *holdfast.Inspection, condition string) int {
	n := 0
	for _, a := range p.Animals {
		if slices.ContainsFunc(a.Findings, func(f holdfast.Finding) bool { return desk.ConditionOf(f.Condition) == condition }) {
			n++
		}
	}
	return n
}
