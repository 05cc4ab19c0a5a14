package web

import (
	"context"
	"fmt"
	"math"
	"slices"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/chart"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/clearance"
)

// picked fills the course that is shown in full, and the form that moves its
// parts.
func (c *coursed) picked(ctx context.Context, p *page.Course, rows []standIn, f *form.Form) error {
	pick := c.pickOf(rows)
	i := slices.IndexFunc(rows, func(r standIn) bool { return r.pick == pick })
	if f != nil && !f.OK() {
		p.Picked = &page.CourseFull{Name: "Your own"}
		p.Edit = c.edit(nil, f)
		for _, all := range [][]view.Field{{p.Edit.Treatment}, p.Edit.Doses, {p.Edit.Pulls}, p.Edit.Dates, p.Edit.Skips, p.Edit.Looks, p.Edit.Fields} {
			p.Picked.Faults = append(p.Picked.Faults, view.Faults(all...)...)
		}
		if len(p.Picked.Faults) == 0 { // a fault of no field of the form
			for _, x := range f.Faults() {
				p.Picked.Faults = append(p.Picked.Faults, view.Fault{ID: "move", Label: "The plan", Message: joined(x.Message, x.Hint)})
			}
		}
		return nil
	}
	if i < 0 {
		p.Edit = c.edit(nil, nil)
		if f != nil {
			p.Edit = c.edit(nil, f)
			p.Picked = &page.CourseFull{Name: "Your own", Waits: "Working out what it does."}
		}
		return nil
	}
	r := rows[i]
	p.Edit = c.edit(&r.plan, nil)
	full := &page.CourseFull{Name: r.name}
	p.Picked = full
	v, st := c.evaluated(ctx, r.plan)
	if st.Err != nil {
		return st.Err
	}
	if v == nil {
		full.Waits = "Working out its line."
	} else {
		switch {
		case c.s.rough(v):
			full.Waits = fmt.Sprintf("A rough answer from %s simulated lots, give or take %s. It sharpens by itself.", words.Int(v.Outlook.Runs), giveOrTake(v.At().Clear))
		case !st.Ended:
			full.Waits = "Its band, and the answers for eggs that hatch on the animal never and always, are being worked out."
		}
		c.inFull(full, r, v)
	}
	if pick != "now" {
		a, err := c.accept(r.plan, "", "Accept this course")
		if err != nil {
			return err
		}
		a.Weight = view.Main
		a.Lead = "Its doses, pulls and looks become the lot’s tasks on the round. Nothing is final: stop it, or take the acceptance back, at any time."
		full.Accept = &a
	}
	return nil
}

// accept is the button that makes a plan the lot's course.
func (c *coursed) accept(p holdfast.CourseAccepted, because, label string) (page.Act, error) {
	id, err := c.s.Desk.NewID()
	if err != nil {
		return page.Act{}, err
	}
	v := planValues(p)
	if because != "" {
		v.Set("because", because)
	}
	a := page.Act{Form: view.Form{Action: courseURL(c.v.Lot.ID), Entry: string(id), Class: "plain", Hidden: pairsOf(v)}, Button: label}
	if c.tried.what == "accept" {
		a.Refused = c.tried.refused
	}
	return a, nil
}

// inFull shows what a course would do, from its evidence line.
func (c *coursed) inFull(full *page.CourseFull, r standIn, v *desk.CourseView) {
	day := v.At()
	name := words.MidSentence(c.base.Condition.Name)
	band := ""
	if v.Line != nil {
		last := v.Line.Mixed.Points[len(v.Line.Mixed.Points)-1].Clear
		band = words.PercentRange(min(last.Low, day.Clear.Value), max(last.High, day.Clear.Value))
	}
	full.Numbers = []view.Big{
		{Number: words.Percent(day.Clear.Value), Before: "on " + desk.ShortDay(r.plan.Release) + " likely clear", Bold: "of the " + name, Below: band},
		{Number: words.OfHundred(day.BagRisk.Value), Before: "of 100 bags", Bold: "of " + words.Int(c.v.Shop.BagSize), After: "would carry it"},
		{Number: words.Percent(day.LooksClean), Before: "that all its looks", Bold: "find nothing", Below: "else it begins anew"},
	}
	e := c.evidence(r, v)
	t := view.Ledger{Caption: "Chance of clear under this course", Columns: []view.Column{{Label: "Day"}, {Label: "Likely clear", Num: true}, {Label: "Band", Num: true}, {Label: "If eggs hatch on it never / always", Num: true}, {Label: "What"}}}
	for _, row := range e.Rows() {
		t.Rows = append(t.Rows, []view.Cell{{Text: words.FullDay(row.Day)}, {Text: row.Chance, Reck: true}, {Text: row.Band, Reck: true}, {Text: row.Hatch, Reck: true}, {Text: row.What}})
	}
	full.Chart = &page.Chart{Wide: e.Wide(), Tall: e.Tall(), Table: &t,
		Caption: fmt.Sprintf("How likely the lot would be clear of the %s. Each planned look counts as having found nothing; dotted is where signs would throw it back. The band is where the chance may lie, nine times of ten, were the figures of the parasite and the medicine known.", name)}
	if e.Hatching() {
		full.Chart.Caption += " " + hatchSay
	}
	full.Says = c.says(r, v, day)
}

// says is what stands under the line in words.
func (c *coursed) says(r standIn, v *desk.CourseView, day clearance.ReleaseDay) []page.Fact {
	fact := func(name, format string, args ...any) page.Fact {
		return page.Fact{Mark: view.NoMark, Name: name, Says: fmt.Sprintf(format, args...)}
	}
	var out []page.Fact
	if v.Line != nil {
		n := len(v.Line.Mixed.Points) - 1
		out = append(out, fact("If eggs hatch on the animal", "never: %s likely clear on that day; always: %s. Nobody has looked; the figure above mixes both.",
			words.Percent(v.Line.Never.Points[n].Clear.Value), words.Percent(v.Line.Always.Points[n].Clear.Value)))
	}
	cost := words.Money(int64(math.Round(day.Cost)), c.v.Shop.Currency)
	guessed := ""
	if !c.money.Own {
		guessed = " The amounts are guesses until you write your own."
	}
	out = append(out, fact("Expected cost", "%s: one attempt over the chance that its looks are clean, and what a release costs that was not clear, times its chance.%s", cost, guessed),
		fact("The animals", "%s of %s are expected to die until then, of the doses and otherwise.", words.Number(day.Deaths, 0), words.Int(c.v.Lot.Alive.N)))
	if day.Clear.SE > 0 {
		out = append(out, fact("How sure the calculation is", "give or take %.1f points by chance, from %s simulated lots. The row above it was worked out on other draws.", 196*day.Clear.SE, words.Int(v.Outlook.Runs)))
	}
	if v.Line != nil && v.Line.Doubt != "" {
		out = append(out, fact("Doubt", "%s", v.Line.Doubt))
	}
	return out
}

// evidence is the lot's line so far and under the course.
func (c *coursed) evidence(r standIn, v *desk.CourseView) chart.Evidence {
	b := c.base
	today := b.At(c.today) + .5
	e := chart.Evidence{Subject: lotName(c.v.Lot), Condition: words.MidSentence(b.Condition.Name), Start: b.Start.Date(), Today: today,
		End: b.At(r.plan.Release) + 3, Line: c.v.Shop.ClearLine}
	if i := slices.IndexFunc(c.v.Assessed, func(a desk.Assessment) bool { return a.Condition.ID == b.Condition.ID }); i >= 0 {
		e = lotEvidence(c.v, c.v.Assessed[i], c.zone, c.today.Start(c.zone).In(c.zone))
		e.Today, e.End, e.Ifs, e.Notes = today, b.At(r.plan.Release)+3, nil, nil
		e.Baths = slices.DeleteFunc(e.Baths, func(x chart.Bath) bool { return x.Standing == chart.Planned })
		e.Looks = slices.DeleteFunc(e.Looks, func(x chart.Look) bool { return x.Standing == chart.Planned })
		e.Pulls = slices.DeleteFunc(e.Pulls, func(x chart.Pull) bool { return x.Standing == chart.Planned })
	}
	e.Forecast = nil
	if v.Line == nil {
		for _, x := range v.Outlook.Forecast {
			if x.Day > today && x.Day < b.At(r.plan.Release) {
				e.Forecast = append(e.Forecast, chart.Point{Day: x.Day, Chance: x.IfClean})
			}
		}
		e.Forecast = append(e.Forecast, chart.Point{Day: b.At(r.plan.Release), Chance: v.At().Clear.Value})
	} else {
		for i, x := range v.Line.Mixed.Points {
			e.Forecast = append(e.Forecast, chart.Point{Day: max(x.Day, today+.01), Chance: x.Clear.Value, Low: x.Clear.Low, High: x.Clear.High,
				Never: v.Line.Never.Points[i].Clear.Value, Always: v.Line.Always.Points[i].Clear.Value})
		}
	}
	lane := c.lane(r)
	e.Baths = append(e.Baths, lane.Baths...)
	for _, day := range lane.Pulls {
		e.Pulls = append(e.Pulls, chart.Pull{Day: day + .4, Standing: chart.Planned})
	}
	e.Looks = append(e.Looks, lane.Looks...)
	if v.Line == nil {
		return e
	}
	for _, l := range v.Line.Mixed.Looks {
		if l.Planned {
			e.Ifs = append(e.Ifs, chart.If{Day: l.Day, Chance: l.ClearIfSigns, Words: oneIn(1 - l.Expected)})
		}
	}
	return e
}

// oneIn says a chance as one time in so many.
func oneIn(p float64) string {
	if p <= 0.005 {
		return "seldom"
	}
	if n := math.Round(1 / p); n > 1 {
		return fmt.Sprintf("1 time in %.0f", n)
	}
	return "most times"
}

// exits shows the other ways out beside the best course.
func (c *coursed) exits(p *page.Course, a *clearance.Answer) {
	t := view.Ledger{Caption: "Ways out, in money and in buyers harmed", Fold: true, Columns: []view.Column{{Label: "Way"}, {Label: "On", Num: true}, {Label: "Money", Num: true}, {Label: "Bags sold", Num: true}, {Label: "Buyers harmed", Num: true}, {Label: "Buyers who know", Num: true}}}
	names := map[string]string{"release now": "Release now", "treat on": "Treat on, the cheapest course", "claim": "Claim or return", "disclosed": "Sell to the trade, disclosed", "colony": "Keep as a colony", "put down": "Put down humanely"}
	best := math.Inf(-1)
	bestName := ""
	for _, w := range desk.Exits(a.WaysOut, c.v.Shop.Currency) {
		money := words.Money(w.Amount.Minor, w.Amount.Currency)
		if w.Loses {
			money = words.Money(-w.Amount.Minor, w.Amount.Currency)
		}
		if w.Money > best {
			best, bestName = w.Money, words.MidSentence(names[w.Way])
		}
		t.Rows = append(t.Rows, []view.Cell{{Text: names[w.Way]}, {Text: desk.ShortDay(c.base.Day(w.Day)), Reck: true}, {Text: money, Reck: true, Needs: w.Loses},
			{Text: words.Number(w.Bags, 0), Reck: true}, {Text: words.Number(w.Harmed, 1), Reck: true, Needs: w.Harmed >= .05}, {Text: words.Number(w.Knowing, 1), Reck: true}})
	}
	p.Exits = &t
	p.ExitsSay = "In money alone, to " + bestName + " comes out best with what things cost here."
	if !c.money.Own {
		p.ExitsSay = "With guessed prices: in money alone, to " + bestName + " comes out best. Write your own prices below before you rely on it."
	}
}

// practice holds facts of the trade beside what the search found.
func (c *coursed) practice(a *clearance.Answer, ended bool) []page.Fact {
	fact := func(name, format string, args ...any) page.Fact {
		return page.Fact{Mark: view.NoMark, Name: name, Says: fmt.Sprintf(format, args...)}
	}
	var out []page.Fact
	if o := a.Earliest; o != nil && ended {
		if n := len(o.Starts); n > 1 {
			out = append(out, fact("Repeat after 14 to 21 days", "%s doses, %s apart. The search was free to choose 7 to 35 days.", words.Capital(countWords(n)), words.Plural(int(math.Round(o.Starts[1]-o.Starts[0])), "day", "days")))
		}
		if d, ok := dayOf(o, false); ok && len(o.Starts) > 0 {
			out = append(out, fact("At least 28 days more after the last dose", "%s here, and %s.", words.Plural(int(math.Round(d.Day-o.Ends)), "day", "days"), reachedSays(d.Met)))
		}
		for _, e := range a.Edges {
			out = append(out, fact("The search ended at a limit", "%s.", words.Capital(e)))
		}
	}
	if len(a.Practice) > 0 {
		if d, ok := dayOf(&a.Practice[0], false); ok {
			out = append(out, fact("The usual practice as it stands", "%s likely clear on %s, with every look clean.", words.Percent(d.Clear.Value), desk.ShortDay(c.base.Day(d.Day))))
		}
	}
	out = append(out, fact("Pull moults for several weeks", "%s after the last dose, until 95 of 100 animals have moulted at the tank’s temperature.", words.Plural(int(a.PullDays), "day", "days")))
	if c.base.Condition.Usual() == "praziquantel" {
		out = append(out, fact("Strength", "praziquantel enters at 2.5 mg/l, within the 2 to 5 mg/l met in practice; no trial on this worm was found."))
	}
	return out
}

func reachedSays(met bool) string {
	if met {
		return "the line is reached"
	}
	return "the line is not reached"
}

func countWords(n int) string {
	if n < 10 {
		return []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"}[n]
	}
	return words.Int(n)
}

// computed says how the figures come about.
func (c *coursed) computed(p *page.Course) []page.Fact {
	fact := func(name, says string) page.Fact { return page.Fact{Mark: view.NoMark, Name: name, Says: says} }
	out := []page.Fact{
		fact("The model", "Every animal, worm, egg, larva and shed skin of about "+words.Int(c.s.Runs)+" lots like this one is followed in continuous time; the lots are weighed by how well they explain what was seen. The best three courses are refined and tried again on fresh lots."),
		fact("The figures", "Most clocks of the worm are borrowed from relatives or guessed, with wide ranges. With them the usual practice clears a heavily infested lot far less often than practice believes."),
		fact("The lot", fmt.Sprintf("%s on arrival on %s, the doses, pulls, looks, deaths and temperatures in its journal; likely infested before any look: %s.", words.Plural(c.base.Animals, "animal", "animals"), desk.ShortDay(c.base.Start), words.Percent(*c.base.Infested))),
	}
	return out
}
