package web

import (
	"fmt"
	"net/http"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// lotRecord answers GET /lots/{id}/record: what a buyer reads.
func (s *Server) lotRecord(w http.ResponseWriter, r *http.Request) error {
	rec, err := s.Desk.Record(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	l := rec.Lot
	p := page.Record{Shop: rec.Shop.Name, Name: lotName(l), LotURL: lotURL(l.ID), Told: rec.Disclosed, Unseen: rec.NotLooked,
		Printed: "As it stood on " + words.FullDay(f.Now) + ", " + f.Now.Format("15:04") + "."}
	p.From = fmt.Sprintf("Came on %s", words.FullDay(l.OpenedAt.In(f.Now.Location())))
	if rec.Supplier != "" {
		p.From += " from " + rec.Supplier
	}
	p.From += fmt.Sprintf(", %s on the packing list.", words.Plural(l.Declared, "animal", "animals"))
	recordStand(rec, &p)
	recordFigures(rec, &p)
	recordDone(rec, f, &p)
	return s.page(w, r, http.StatusOK, page.RecordPage(view.Page{Frame: f, Title: "Record of " + p.Name, At: view.Lots, Width: view.Middle}, p))
}

// recordStand says whether it is for sale and puts first what must be known.
func recordStand(rec *desk.Record, p *page.Record) {
	switch rec.Lot.Status {
	case holdfast.Released:
		p.Mark, p.Stand = view.Clear, "Released for sale on "+desk.ShortDay(rec.On)+" by "+rec.Lot.Released.Who+"."
	case holdfast.Recalled:
		p.Mark, p.Stand = view.Stop, "Recalled. Not for sale."
	case holdfast.Disclosed:
		p.Mark, p.Stand = view.Half, "For sale to the trade, with the finding disclosed."
	case holdfast.Closed:
		p.Mark, p.Stand = view.Done, "Closed."
	default:
		p.Mark, p.Stand = view.Held, "Held. Not for sale."
	}
	if a := rec.FoundAfter; a != nil {
		p.Stops = append(p.Stops, fmt.Sprintf("After the release, on %s, signs were found on %s of %s looked at: %s.", desk.ShortDay(a.Day), words.Int(a.Positive), words.Int(a.Looked), strings.Join(a.Found, ", ")))
	}
	for _, s := range rec.Lot.Suspects {
		p.Stops = append(p.Stops, desk.SuspectedSays(rec.Lot, s)+" is suspected. Nothing of this lot may leave.")
	}
	p.Signed = signedFacts(rec.Overrides)
}

// signedFacts say who released below the line, when, why and what was not met.
func signedFacts(all []desk.OverrideLine) []page.Fact {
	var out []page.Fact
	for _, o := range all {
		name := desk.ShortDay(o.Day) + ", " + o.Who
		if o.TakenBack {
			name += ", taken back since"
		}
		out = append(out, page.Fact{Mark: view.Late, Name: name, Says: because(ended(o.Reason)+" Not met", strings.Join(o.Unmet, "; "))})
	}
	return out
}

// recordFigures are the figures frozen in the release, if there is one.
func recordFigures(rec *desk.Record, p *page.Record) {
	if rec.Release == nil {
		p.NotYet = "It has not been released, so no chance is stated here."
		return
	}
	rel := rec.Release
	p.LineSays = fmt.Sprintf("The shop’s line on that day: at least %s likely clear of each.", words.Percent(rel.LineValue))
	if rel.Line == holdfast.LineBag {
		p.LineSays = fmt.Sprintf("The shop’s line on that day: at most %s of bags of %s carry it.", words.Percent(rel.LineValue), words.Int(rel.BagSize))
		for _, f := range rel.Figures {
			p.LineSays += fmt.Sprintf(" If the whole lot is sold, at least one buyer gets the %s with a chance of %s.", strings.ToLower(desk.Called(f.Condition)), words.Percent(f.BuyersRisk))
		}
	}
	t := view.Ledger{Caption: "How sure the shop was when it released the lot", Fold: true, Columns: []view.Column{
		{Label: "Looked for"}, {Label: "Seen"}, {Label: "Likely clear", Num: true}, {Label: "Between", Num: true}, {Label: fmt.Sprintf("Bags of %d that carry it", rel.BagSize), Num: true}}}
	for _, f := range rel.Figures {
		seen := "none seen on " + words.Int(f.Looked)
		if f.Positive > 0 {
			seen = fmt.Sprintf("seen on %s of %s", words.Int(f.Positive), words.Int(f.Looked))
		}
		t.Rows = append(t.Rows, []view.Cell{{Text: desk.Called(f.Condition)}, {Text: seen, Needs: f.Positive > 0}, {Text: words.Percent(f.Chance), Reck: true},
			{Text: frozenRange(f), Reck: true}, {Text: words.OfHundred(f.BagRisk) + " of 100", Reck: true}})
	}
	if len(t.Rows) > 0 {
		p.Figures, p.Numbers = &t, recordNumbers(rel)
	} else {
		p.NotYet = "It was released without a look that could have shown anything, so no chance is stated."
	}
	for _, g := range rel.Gate {
		if !g.Met {
			p.Unmet = append(p.Unmet, page.Fact{Mark: view.Late, Name: g.Name, Says: g.Says})
		}
	}
}

// recordNumbers are the figures of the condition that is least surely absent.
func recordNumbers(rel *holdfast.Release) []view.Big {
	worst := rel.Figures[0]
	for _, f := range rel.Figures[1:] {
		if f.Chance < worst.Chance {
			worst = f
		}
	}
	name := strings.ToLower(desk.Called(worst.Condition))
	return []view.Big{
		{Number: words.Percent(worst.Chance), Before: "likely clear ", Bold: "of the " + name, Below: frozenRange(worst)},
		{Number: words.OfHundred(worst.BagRisk), Before: "of 100 ", Bold: "bags of " + words.Int(rel.BagSize), After: " would carry it"},
	}
}

// frozenRange is the range frozen with a figure; early releases froze none.
func frozenRange(f holdfast.Figure) string {
	if f.Low == 0 && f.High == 0 {
		return "no range worked out"
	}
	return words.PercentRange(f.Low, f.High)
}

// lookedBy says in words how a look was made.
var lookedBy = map[string]string{holdfast.ByEye: "by eye", holdfast.ByLens: "with a lens", holdfast.ByPhoto: "on photographs", holdfast.ByMicroscope: "under the microscope"}

func recordDone(rec *desk.Record, f view.Frame, p *page.Record) {
	if len(rec.Looks) > 0 {
		t := view.Ledger{Caption: "Looks at the animals", Fold: true, Brief: true, Columns: []view.Column{{Label: "Day"}, {Label: "How"}, {Label: "Animals", Num: true}, {Label: "Seen"}}}
		for _, l := range rec.Looks {
			how := lookedBy[l.By]
			if l.Random {
				how += ", drawn at random"
			} else {
				how += ", chosen"
			}
			seen := view.Cell{Text: "none seen on " + words.Int(l.Looked)}
			if l.Positive > 0 {
				seen = view.Cell{Text: fmt.Sprintf("%s on %s", strings.Join(l.Found, ", "), words.Int(l.Positive)), Needs: true}
			}
			t.Rows = append(t.Rows, []view.Cell{{Text: desk.ShortDay(l.Day)}, {Text: how}, {Text: words.Int(l.Looked)}, seen})
		}
		p.Looks = &t
	}
	if len(rec.Given) > 0 {
		t := view.Ledger{Caption: "Treatments", Fold: true, Columns: []view.Column{{Label: "Day"}, {Label: "What was given"}}}
		for _, ev := range rec.Given {
			t.Rows = append(t.Rows, []view.Cell{{Text: words.FullDay(ev.OccurredAt.In(f.Now.Location()))}, {Text: tell(ev)}})
		}
		p.Given = &t
	}
	p.Pulls = "Moults were not pulled."
	if rec.Pulls > 0 {
		p.Pulls = fmt.Sprintf("Moults were pulled %s.", words.Plural(rec.Pulls, "time", "times"))
	}
}
