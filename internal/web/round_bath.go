package web

import (
	"context"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/water/dose"
)

// amountAsked says how much a task of a bath asks for, in big figures, and asks
// what was really measured.
func amountAsked(t desk.Task) *page.RoundMeasure {
	m := t.Measure
	out := &page.RoundMeasure{Caution: m.Caution}
	switch {
	case t.Kind == desk.TaskChange:
		out.Number, out.With = litreWords(m.Amount), "out, and matched water in"
		out.Fields = []view.Field{{Name: "litres", Label: "Changed", Unit: "L"}}
	case m.Stock != nil:
		s := m.Stock
		out.First = "Too little for the scale. First a stock: weigh " + gramWords(s.WeighG) + " into water up to " + mlWords(s.InML) + "."
		out.Number, out.With = mlWords(s.TakeML), "of that stock"
		if s.Suspended {
			out.With += ": it does not dissolve, shake and draw at once"
		}
		out.Fields = []view.Field{{Name: "stock_g", Label: "Weighed for the stock", Unit: "g"}, {Name: "stock_ml", Label: "Water up to", Unit: "ml"}, {Name: "taken_ml", Label: "Taken of it", Unit: "ml"}}
	default:
		out.Number, out.With = amountWords(m.Amount, dose.Unit(m.Unit)), "more of the product"
		out.Fields = []view.Field{{Name: "weighed", Label: "Really weighed", Unit: m.Unit}}
		if m.Unit != "g" {
			out.Fields[0].Label = "Really measured"
		}
	}
	if m.Amount == 0 && t.Kind == desk.TaskRedose {
		out.Number, out.With = "nothing", "by reckoning the target still stands: leave it out, and say so"
	}
	return out
}

// redoseOf reads a further dose off a row of the round.
func (s *Server) redoseOf(f *form.Form, t desk.Task, note string) parsed {
	again := holdfast.Redose{Treatment: t.Of, Note: note, Task: t.Key}
	switch {
	case t.Measure.Stock != nil || f.Typed("stock_g") != "":
		again.WeighedG, again.Note = readStock(f, note, stockLimit{t.Measure.MgPer, t.Measure.Solubility})
	case t.Measure.Unit == "g":
		again.WeighedG = f.Number("weighed", form.Range{Low: 0.0001, High: 100000, Unit: "g", Needed: true})
	default:
		again.Taken, again.TakenUnit = f.Number("weighed", form.Range{Low: 0.0001, High: 100000, Needed: true}), t.Measure.Unit
	}
	field := "weighed"
	if t.Measure.Stock != nil {
		field = "taken_ml"
	}
	return parsed{&again, func(ctx context.Context, by desk.Actor) error {
		return renamed(renamed(s.Desk.DoseAgain(ctx, by, t.Lot, t.Of, again), "weighed_g", field), "taken", field)
	}}
}

// changeOf reads a water change off a row of the round.
func (s *Server) changeOf(f *form.Form, t desk.Task, note string) parsed {
	litres := 0.0
	if x := f.Number("litres", form.Range{Low: 0.1, High: 100000, Unit: "L", Needed: true}); x != nil {
		litres = *x
	}
	return parsed{&holdfast.WaterChange{Litres: litres, Note: note}, func(ctx context.Context, by desk.Actor) error {
		return s.Desk.ChangeWater(ctx, by, t.Tank, litres, note, t.Key)
	}}
}

// measureFields are the fields of a row that asks for an amount.
var measureFields = []string{"weighed", "stock_g", "stock_ml", "taken_ml", "litres"}

// stepsFact says what became of the further doses and water changes of a bath's
// plan.
func (b *treatmentBuild) stepsFact() []page.Fact {
	var out []page.Fact
	steps := desk.StepsOf(b.l, b.tank, b.g)
	for n, s := range steps {
		at := b.g.At.Add(hours(s.Hours))
		what := "Water change of " + words.Percent(s.ChangeShare)
		if s.Dose {
			what = "Further dose"
		}
		f := page.Fact{Mark: view.Unlooked, Name: what, Says: "planned for " + words.Moment(at.In(b.zone)) + "."}
		left := s.Left
		if !s.Dose {
			left = s.NoChange
		}
		switch {
		case left != nil:
			f.Mark, f.Says = view.Half, f.Says+" Left out: "+ended(left.Payload.(*holdfast.TaskSkipped).Reason)
		case s.Dose && s.Dosed != nil || !s.Dose && s.Changed != nil:
			f.Mark, f.Says = view.Done, f.Says+" Done."
		case b.g.Ended != nil:
			f.Mark, f.Says = view.Half, f.Says+" Not done."
		case n+1 < len(steps) && b.g.At.Add(hours(steps[n+1].Hours)).Before(b.now):
			f.Mark, f.Says = view.Half, f.Says+" Not done; the next one makes up for it."
		case at.Before(b.now):
			f.Mark, f.Says = view.Late, f.Says+" Not done yet: it stands on the round."
		}
		out = append(out, f)
	}
	return out
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
