package web

import (
	"fmt"
	"net/http"

	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// reckoned answers GET /lots/{id}/reckoned: how the lot's chances came about.
func (s *Server) reckoned(w http.ResponseWriter, r *http.Request) error {
	v, err := s.Desk.View(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	f := form.New(r.URL.Query())
	weekly := desk.Introduction.Value
	if x := f.Number("weekly", form.Range{Low: 0, High: 50, Unit: "%"}); x != nil {
		weekly = *x / 100
	}
	out := page.ReckonedPage{LotURL: lotURL(v.Lot.ID), Name: lotName(v.Lot), Action: lotURL(v.Lot.ID) + "/reckoned",
		Lead: "Each line is something that bears on the chance, and the chance after it. A look counts the animals for what they are: drawn at random, picked, or whichever could be caught."}
	out.Weekly = view.Field{Name: "weekly", Label: "Chance in a week", Unit: "%", Value: words.Number(weekly*100, 2), Err: f.Err("weekly"),
		Hint: fmt.Sprintf("A guess between %s and %s.", words.Percent(desk.Introduction.Low), words.Percent(desk.Introduction.High))}
	status := http.StatusOK
	if !f.OK() {
		status, out.Weekly.Value = http.StatusBadRequest, f.Typed("weekly")
		out.Faults = view.Faults(out.Weekly)
	}
	for _, a := range v.Assessed {
		c, err := reckonedCondition(v, a, weekly, frame)
		if err != nil {
			return err
		}
		out.Conditions = append(out.Conditions, c)
	}
	if len(v.Assessed) == 0 {
		out.Lead = "These animals can carry nothing that the desk keeps a chance of."
	}
	return s.page(w, r, status, page.Reckoned(view.Page{Frame: frame, Title: "How this was reckoned", At: view.Lots, Width: view.Middle}, out))
}

func reckonedCondition(v *desk.LotView, a desk.Assessment, weekly float64, frame view.Frame) (page.ReckonedCondition, error) {
	c := page.ReckonedCondition{ID: a.Condition.ID, Name: a.Condition.Name, Why: a.Why}
	if a.Why != "" {
		return c, nil
	}
	if a.NotLooked {
		c.Why = "Nobody has looked for it yet: what stands here is what is guessed beforehand."
	}
	steps, err := v.Reckoned(a)
	if err != nil {
		return c, err
	}
	zone := frame.Now.Location()
	c.Steps = view.Ledger{Caption: "How the chance of the " + a.Condition.Name + " came about", Fold: true,
		Columns: []view.Column{{Label: "When"}, {Label: "What"}, {Label: "Taken as"}, {Label: "Likely clear after"}}}
	for _, s := range steps {
		what := "Before anybody looked."
		if s.Event.ID != "" {
			what = tell(s.Event)
		}
		chance := "–"
		if s.Figure {
			chance = words.Percent(s.Chance)
			if s.Low < s.High {
				chance += " (" + words.PercentRange(s.Low, s.High) + ")"
			}
		}
		c.Steps.Rows = append(c.Steps.Rows, []view.Cell{{Text: words.Moment(s.At.In(zone))}, {Text: what}, {Text: s.How}, {Text: chance, Reck: true}})
		if s.Proof != nil {
			p := proofShown(*s.Proof)
			p.Name = words.Moment(s.At.In(zone))
			c.Looks = append(c.Looks, p)
		}
	}
	if v.Lot.Alive.N < 1 {
		c.Routine = "No animals of this lot are left to look at."
		return c, nil
	}
	if c.Returned, err = returnedSays(v, a); err != nil || a.NotLooked {
		return c, err
	}
	d, err := v.Decay(a, weekly)
	if err != nil {
		return c, err
	}
	c.Decay = decayTable(d)
	c.Routine = routineSays(d)
	return c, nil
}

func returnedSays(v *desk.LotView, a desk.Assessment) (string, error) {
	r, ok, err := v.Returned(a)
	if err != nil || !ok {
		return "", err
	}
	say := fmt.Sprintf("The %s clean looks since the last dose, %s in all, by themselves: with every animal put back they give %s likely clear", words.Int(r.Looks), words.Plural(r.Animals, "animal", "animals"), words.Percent(r.With))
	if !r.Fits {
		return say + ". Kept apart, there would not have been so many.", nil
	}
	return say + fmt.Sprintf("; had those looked at been kept apart, so that none was seen twice, %s.", words.Percent(r.Without)), nil
}

func decayTable(d desk.Decay) *view.Ledger {
	t := view.Ledger{Caption: "How the chance falls when nobody looks", Fold: true, Columns: []view.Column{{Label: "Without a look"}, {Label: "Likely clear", Num: true}}}
	for i, w := range d.Weeks {
		label := "for " + words.Plural(w, "week", "weeks")
		if w == 0 {
			label = "now"
		}
		t.Rows = append(t.Rows, []view.Cell{{Text: label}, {Text: words.Percent(d.After[i]), Reck: true}})
	}
	return &t
}

func routineSays(d desk.Decay) string {
	if d.Why != "" {
		return d.Why
	}
	return fmt.Sprintf("A clean look at %s each week would find a lot that carries it %s times in 100, and holds the chance between %s just before a look and %s just after.",
		words.Int(d.Look), words.OfHundred(d.Sees), words.Percent(d.Before), words.Percent(d.Holds))
}
