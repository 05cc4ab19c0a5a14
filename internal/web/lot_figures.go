package web

import (
	"fmt"
	"math"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/clearance"
)

// figuresSay says how a figure stands: as of when, from how many simulated
// lots, how far chance in the calculation may move it.
func figuresSay(v *desk.LotView, a desk.Assessment) (view.Mark, string) {
	st := v.State
	soon := ""
	if st.Wait > 0 {
		soon = fmt.Sprintf(" in about %s", words.Plural(int(math.Ceil(st.Wait.Seconds())), "second", "seconds"))
		if st.Ahead > 0 {
			soon += fmt.Sprintf(", after %s whose %s opened before", words.Plural(st.Ahead, "other lot", "other lots"), map[bool]string{true: "page was", false: "pages were"}[st.Ahead == 1])
		} else {
			soon += "; it comes before all other lots"
		}
	}
	if a.Pending {
		return view.Half, "It is being worked out" + soon + "; the page follows by itself, or load it again."
	}
	if a.Because != "" {
		return view.Held, "Reckoned without a life cycle, and so without what may have hatched since. " + a.Because
	}
	w := a.Figure.Worked
	if w == nil {
		return view.Held, ""
	}
	from := fmt.Sprintf("From %s simulated lots, %s of which in effect carry the weight; another draw would move the chance by about %s.",
		words.Int(w.Runs), words.Int(int(math.Round(w.ESS))), inPoints(w.SE))
	if w.Doubt != "" {
		from += " " + w.Doubt
	}
	switch {
	case st.Old:
		return view.Late, fmt.Sprintf("As of %s. What was recorded since, or the days passed, are being worked in%s; the page follows by itself, or load it again. %s", words.FullDay(st.AsOf.Date()), soon, from)
	case st.First:
		return view.Half, fmt.Sprintf("A first answer without a range; a sharper one comes%s. %s", soon, from)
	}
	return view.Held, from
}

// unproven says that the figure leaves open that what was found was a mistake,
// where that part of it is not small.
func unproven(a desk.Assessment) string {
	k := a.Answer
	if k == nil || k.Unproven == 0 || a.Pending || a.Figure.Chance < 0.01 {
		return ""
	}
	return fmt.Sprintf("%s showed it and nothing was confirmed: part of this chance is that it was a mistake. "+
		"Once a microscope or a laboratory has shown what it is, the figure leaves that out.", words.Plural(k.Unproven, "animal", "animals"))
}

// inPoints writes a Monte Carlo error in points of a hundred, rounded up.
func inPoints(se float64) string {
	p := math.Ceil(se*1000) / 10
	if p == 1 {
		return "1 point"
	}
	return strings.TrimSuffix(fmt.Sprintf("%.1f", p), ".0") + " points"
}

// hatching are the answers for eggs that hatch on the animal never, as
// believed, and always.
func hatching(v *desk.LotView, a desk.Assessment) *view.Ledger {
	w := a.Figure.Worked
	if w == nil || w.Never == nil || w.Always == nil {
		return nil
	}
	t := view.Ledger{Caption: "The greatest unknown: do eggs hatch on the animal?", Columns: []view.Column{{Label: "Eggs hatch on the animal"},
		{Label: "Likely clear", Num: true}, {Label: "Bags of " + words.Int(v.Shop.BagSize) + " that carry it, of 100", Num: true}}}
	row := func(name string, chance, bag float64) {
		t.Rows = append(t.Rows, []view.Cell{{Text: name}, {Text: words.Percent(chance), Reck: true}, {Text: words.OfHundred(bag), Reck: true}})
	}
	row("never", w.Never.Chance, w.Never.BagRisk)
	row("nobody knows: every share of them alike", a.Figure.Chance, a.Figure.BagRisk)
	row("always, once ripe", w.Always.Chance, w.Always.BagRisk)
	return &t
}

// lifts says in words what would lift the chance most now.
func lifts(v *desk.LotView, a desk.Assessment) (string, []page.Fact) {
	k := a.Answer
	if k == nil || len(k.Levers) == 0 {
		return "", nil
	}
	until := words.Day(k.LeverDay.Date())
	base := "If nothing more is done"
	if len(k.Course) > 0 {
		base = "On its course as planned"
	}
	say := fmt.Sprintf("%s the lot would be %s likely clear of the %s on %s. One thing at a time would make it:", base, words.Percent(k.LeverBase), words.MidSentence(a.Condition.Name), until)
	var out []page.Fact
	for _, s := range k.Levers {
		out = append(out, page.Fact{Mark: liftMark(s), Name: lift(v, k, s), Says: liftSays(s)})
	}
	return say, out
}

func liftMark(s clearance.Step) view.Mark {
	if s.What != "bag" && s.Gain < 2*s.GainSE {
		return view.Unlooked
	}
	return view.Clear
}

func lift(v *desk.LotView, k *desk.Answer, s clearance.Step) string {
	on := words.Day((k.Start + holdfast.Day(math.Floor(s.Day))).Date())
	switch s.What {
	case "look":
		return fmt.Sprintf("Look at %s on %s", words.Plural(s.Animals, "animal", "animals"), on)
	case "dose":
		return "One more dose from " + on
	case "pulls":
		return "Pull every moult until " + on
	case "second pull":
		return "Pull once more a day until " + on
	case "wait":
		return "Wait until " + on
	case "bag":
		return fmt.Sprintf("Sell bags of %d instead of %d", s.Animals, v.Shop.BagSize)
	}
	return s.What
}

func liftSays(s clearance.Step) string {
	switch {
	case s.What == "bag":
		return fmt.Sprintf("%s of 100 bags would carry it instead of %s. The chance of clear stays as it is.", words.OfHundred(s.BagRisk), words.OfHundred(s.BagRisk-s.BagGain))
	case s.Gain < 2*s.GainSE:
		return fmt.Sprintf("%s: no difference that could be told from chance.", words.Percent(s.Clear))
	}
	say := fmt.Sprintf("%s, %+.1f points.", words.Percent(s.Clear), 100*s.Gain)
	if s.What == "look" {
		say += fmt.Sprintf(" That is if none has signs, which happens %s times of 100.", words.OfHundred(s.Clean))
	}
	return say
}
