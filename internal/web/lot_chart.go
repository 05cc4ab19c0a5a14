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
	t := view.Ledger{Caption: "Chance of clear by day", Columns: []view.Column{{Label: "Day"}, {Label: "Likely clear", Num: true}, {Label: "Band", Num: true}, {Label: "What"}}}
	for _, r := range e.Rows() {
		t.Rows = append(t.Rows, []view.Cell{{Text: words.FullDay(r.Day)}, {Text: r.Chance, Reck: true}, {Text: r.Band, Reck: true}, {Text: r.What}})
	}
	caption := fmt.Sprintf("How likely the lot is clear of the %s, and what was done. The band is what the chance may be.", words.MidSentence(a.Condition.Name))
	if b.v.Shop.Line == holdfast.LineBag {
		caption += fmt.Sprintf(" Your release line is drawn on the bag: at most %s of %s carry it. The line here, %s likely clear, is only a help to the eye.",
			words.Percent(b.v.Shop.BagLine), words.Plural(b.v.Shop.BagSize, "animal", "animals"), words.Percent(b.v.Shop.ClearLine))
	}
	return &page.Chart{Wide: e.Wide(), Tall: e.Tall(), Caption: caption, Table: &t}
}

// lotEvidence lays the lot's life out for the drawing.
func lotEvidence(v *desk.LotView, a desk.Assessment, zone *time.Location, now time.Time) chart.Evidence {
	l := v.Lot
	start := holdfast.DayOf(l.OpenedAt, zone)
	day := func(at holdfast.Micros) float64 {
		t := at.In(zone)
		return float64(holdfast.DayOf(at, zone)-start) + float64(t.Hour()*60+t.Minute())/(24*60)
	}
	e := chart.Evidence{Subject: lotName(l), Condition: words.MidSentence(a.Condition.Name), Start: start.Date(),
		Today: day(holdfast.MicrosOf(now)), End: float64(v.Today-start) + chartAhead, Line: v.Shop.ClearLine}
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
		if l.Parent == "" {
			e.Notes = append(e.Notes, chart.Note{Day: e.Past[0].Day, Chance: e.Past[0].Chance, Words: "before any look: a guess, " + words.Percent(e.Past[0].Chance), Reck: true})
		}
	}
	baths := 0
	for _, ev := range l.Events {
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
	return e
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
