package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/freedom"
)

// looking answers GET /looking: how well the shop sees, learned from animals
// that were looked at twice.
func (s *Server) looking(w http.ResponseWriter, r *http.Request) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	sight, err := s.Desk.LearnSight(r.Context())
	if err != nil {
		return err
	}
	var l page.Looking
	for _, x := range sight.Learned {
		way, err := s.lookingWay(x)
		if err != nil {
			return err
		}
		l.Ways = append(l.Ways, way)
	}
	l.Tables = lookingTables(sight.Pairs)
	if i := atoi(r.URL.Query().Get("pair"), -1); i >= 0 && i < len(sight.Pairs) {
		pair, err := lookingPair(sight.Pairs[i])
		if err != nil {
			return err
		}
		l.Pair = &pair
	}
	l.Says = lookingSays(sight.Learned)
	l.Marks, l.MarksOut = lookingMarks(sight.Marks), marksLeftOut(sight.Marks)
	if l.Repeat, err = s.lookingRepeat(r); err != nil {
		return err
	}
	return s.page(w, r, http.StatusOK, page.LookingPage(view.Page{Frame: frame, Title: "How well we see", At: view.Tanks, Width: view.Middle}, l))
}

// lookingMarks says how the desk's own marks do beside people; empty before any
// row was named without them.
func lookingMarks(m desk.MarksLearned) string {
	if m.Rows == 0 {
		return ""
	}
	return "Rows of eggs that people named on photographs before a mark was shown. " + marksSay(m)
}

// inTen says a share as a count of ten.
func inTen(x float64) string {
	switch n := int(x*10 + 0.5); n {
	case 0:
		return "fewer than 1 in 10"
	case 10:
		if x < 0.995 {
			return "9 in 10 or more"
		}
		return "10 in 10"
	default:
		return fmt.Sprintf("about %d in 10", n)
	}
}

func bandInTen(i freedom.Interval) string {
	return fmt.Sprintf("%s to %s in 10", words.Number(i.Low*10, 0), words.Number(i.High*10, 0))
}

// lookingSays says, for each condition, what each way sees: "By eye you see
// about 4 in 10, with the lens about 8 in 10."
func lookingSays(all []desk.SightLearned) []string {
	var out []string
	for i := 0; i < len(all); {
		cond, say := all[i].Condition, ""
		for ; i < len(all) && all[i].Condition.ID == cond.ID; i++ {
			if say == "" {
				say = words.Capital(byWords[all[i].By]) + " you see " + inTen(all[i].Share)
			} else {
				say += ", " + byWords[all[i].By] + " " + inTen(all[i].Share)
			}
		}
		out = append(out, fmt.Sprintf("%s of those that carry the %s.", say, words.MidSentence(cond.Name)))
	}
	return out
}

func (s *Server) lookingWay(x desk.SightLearned) (page.LookingWay, error) {
	out := page.LookingWay{Name: words.Capital(byWords[x.By]) + ", " + words.MidSentence(x.Condition.Name),
		Learned: fmt.Sprintf("%s (%s, 9 times in 10).", inTen(x.Share), bandInTen(x.Interval)),
		On:      fmt.Sprintf("It saw %s of %s that another look found.", words.Int(x.Seen), words.Int(x.Carriers)),
		Now:     fmt.Sprintf("The desk reckons with %s, its own guess, which would weigh as much as %s animals.", inTen(x.Now.Mean()), words.Int(int(x.Now.A+x.Now.B+0.5)))}
	if x.MarkCarriers > 0 {
		out.On = fmt.Sprintf("It saw %s of %s that another look or a mark found. Of these %s by a mark of the desk that was then called real; %s had been named before it was shown.",
			words.Int(x.Seen), words.Int(x.Carriers), words.Plural(x.MarkCarriers, "is known", "are known"), words.Int(x.MarkSeen))
		out.Marks = true
	}
	if x.Adopted {
		out.Now = fmt.Sprintf("The desk reckons with %s, as you adopted it.", inTen(x.Now.Mean()))
	}
	id, err := s.Desk.NewID()
	if err != nil {
		return out, err
	}
	do := "adopt"
	switch {
	case x.Adopted && x.Now == x.Belief:
		do, out.Button = "forget", "Go back to the desk’s guess"
	case x.Enough():
		out.Button = "Reckon with what you learned"
	default:
		out.Why = "Too few to reckon with: 10 animals known to carry it are needed."
		return out, nil
	}
	out.Form = &view.Form{Action: "/looking", ID: "way-" + x.By + "-" + x.Condition.ID, Entry: string(id),
		Hidden: []view.Pair{{Name: "do", Value: do}, {Name: "by", Value: x.By}, {Name: "condition", Value: x.Condition.ID}}}
	return out, nil
}

func reader(r desk.Reader) string { return byWords[r.By] + " (" + r.Who + ")" }

// lookingTables lists the pairs of readers, one table a condition. The pairs
// come sorted by condition.
func lookingTables(pairs []desk.Paired) []view.Ledger {
	var out []view.Ledger
	for i, p := range pairs {
		if i == 0 || pairs[i-1].Condition.ID != p.Condition.ID {
			out = append(out, view.Ledger{Caption: p.Condition.Name, Fold: true, Columns: []view.Column{{Label: "Who"}, {Label: "Both saw it", Num: true},
				{Label: "Only the first", Num: true}, {Label: "Only the second", Num: true}, {Label: "Neither", Num: true}, {Label: "Lots", Num: true}}})
		}
		var sum freedom.Twofold
		for _, c := range p.Counts {
			sum.Both, sum.OnlyFirst, sum.OnlySecond, sum.Neither = sum.Both+c.Both, sum.OnlyFirst+c.OnlyFirst, sum.OnlySecond+c.OnlySecond, sum.Neither+c.Neither
		}
		t := &out[len(out)-1]
		t.Rows = append(t.Rows, []view.Cell{{Text: words.Capital(pairName(p)), URL: fmt.Sprintf("/looking?pair=%d#pair", i)}, {Text: words.Int(sum.Both)},
			{Text: words.Int(sum.OnlyFirst)}, {Text: words.Int(sum.OnlySecond)}, {Text: words.Int(sum.Neither)}, {Text: words.Int(len(p.Lots))}})
	}
	return out
}

// pairName names both readers, the first one first.
func pairName(p desk.Paired) string {
	if p.Same() {
		return reader(p.First) + ", twice"
	}
	return reader(p.First) + " and " + reader(p.Second)
}

func lookingPair(p desk.Paired) (page.LookingPair, error) {
	first, second := reader(p.First), reader(p.Second)
	out := page.LookingPair{Name: p.Condition.Name + ": " + pairName(p), Says: p.Confirmed.Words(first, second)}
	for i, c := range p.Counts {
		out.Rows = append(out.Rows, []string{p.Lots[i], words.Int(c.Both), words.Int(c.OnlyFirst), words.Int(c.OnlySecond), words.Int(c.Neither)})
	}
	if p.LeftOut > 0 {
		out.Left = words.Plural(p.LeftOut, "animal was", "animals were") + " not seen from all sides that matter in both looks and left out."
	}
	out.Warnings = append(out.Warnings, p.Confirmed.Warnings...)
	unsure, err := p.BothUnsure()
	if err != nil {
		return out, err
	}
	for i, name := range []string{first, second} {
		if p.Same() && i == 1 {
			break
		}
		se, sp := unsure.Sensitivity[i], unsure.Specificity[i]
		out.Unsure = append(out.Unsure, fmt.Sprintf("%s: sees %s carriers (%s), and takes %s of 100 animals without it for carriers (%s to %s).", words.Capital(name),
			inTen(se.Share), bandInTen(se.Interval), words.OfHundred(1-sp.Share), words.OfHundred(1-sp.High), words.OfHundred(1-sp.Low)))
	}
	for _, x := range unsure.Warnings {
		if !slices.Contains(out.Warnings, x) {
			out.Warnings = append(out.Warnings, x)
		}
	}
	return out, nil
}

// lookingRepeat lists the newest looks whose animals may be judged once more.
func (s *Server) lookingRepeat(r *http.Request) ([]page.LookingRepeat, error) {
	rows, _, err := s.Desk.Store.Lots(r.Context(), desk.LotQuery{Statuses: []holdfast.Status{holdfast.Held, holdfast.Released, holdfast.Recalled, holdfast.Colony}})
	if err != nil {
		return nil, err
	}
	now := s.Desk.Now()
	slices.SortFunc(rows, func(a, b holdfast.LotRow) int { return int(min(1, max(-1, b.LastLook-a.LastLook))) })
	var out []page.LookingRepeat
	for _, row := range rows {
		if row.LastLook < holdfast.MicrosOf(now.Add(-desk.SecondWithin)) || len(out) >= 20 {
			break
		}
		v, err := s.Desk.View(r.Context(), row.ID)
		if err != nil {
			return nil, err
		}
		zone, err := s.Desk.Zone(r.Context())
		if err != nil {
			return nil, err
		}
		for _, ev := range v.Twice(now) {
			p := ev.Payload.(*holdfast.Inspection)
			if len(p.Animals) > mostScreens {
				continue
			}
			out = append(out, page.LookingRepeat{Name: fmt.Sprintf("%s: the %s of %s, first judged by %s", lotName(v.Lot), words.Plural(len(p.Animals), "animal", "animals"), words.Moment(ev.OccurredAt.In(zone)), ev.Who),
				URL: lotURL(row.ID) + "/look?" + url.Values{"second": {string(ev.ID)}}.Encode()})
		}
	}
	return out, nil
}

// lookingSave adopts what was learned of a way of looking, or forgets it.
func (s *Server) lookingSave(w http.ResponseWriter, r *http.Request) error {
	by, err := s.actor(r)
	if err != nil {
		return err
	}
	do := r.PostForm.Get("do")
	if do != "adopt" && do != "forget" {
		return &holdfast.Error{Kind: holdfast.Invalid, Message: "This form says nothing to do.", Hint: "Open the page again."}
	}
	id, err := s.Desk.AdoptSight(r.Context(), by, holdfast.SightKey{By: r.PostForm.Get("by"), Condition: r.PostForm.Get("condition")}, do == "forget")
	if err != nil {
		return err
	}
	return s.recorded(w, r, "/looking", "", id)
}
