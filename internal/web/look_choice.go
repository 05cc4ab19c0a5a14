package web

import (
	"fmt"
	"strconv"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// choices are the ways of choosing animals that a person can say.
var choices = []string{holdfast.ChosenRandom, holdfast.ChosenAll, holdfast.ChosenAsCaught, holdfast.ChosenWeak}

// choose takes how the animals are chosen. A second look has its animals.
func (g *going) choose(f *form.Form, v *desk.LotView) {
	if g.Second != "" {
		g.Chosen = holdfast.ChosenAgain
		return
	}
	if how := f.OneOf("chosen", choices, false); how != "" {
		g.Chosen = how
	}
	g.Among = 0
	if g.Chosen != holdfast.ChosenAsCaught && g.Chosen != holdfast.ChosenWeak {
		return
	}
	if n := f.Count("among", max(1, len(g.Animals)), max(1, v.Lot.Alive.High), false); n != nil {
		g.Among = *n
	}
}

// secondLook makes the look at the animals of an earlier one, blind to it.
func (s *Server) secondLook(v *desk.LotView, id holdfast.ID) (going, error) {
	for _, ev := range v.Twice(s.Desk.Now()) {
		p := ev.Payload.(*holdfast.Inspection)
		if ev.ID != id || len(p.Animals) > mostScreens {
			continue
		}
		g := going{Planned: len(p.Animals), By: holdfast.ByLens, Chosen: holdfast.ChosenAgain, Second: id,
			Why: "A second pair of eyes judges the same animals, each by its number, without knowing what was said of it. Together the two looks teach how well each of them sees."}
		for _, a := range p.Animals {
			g.Numbers, g.Places = append(g.Numbers, a.No), append(g.Places, a.Place)
		}
		return g, nil
	}
	return going{}, &holdfast.Error{Kind: holdfast.Refused, Message: "The animals of that look cannot be judged once more.",
		Hint: "It must stand, be at most three days old, have looked at animals one by one, and no dose may lie between."}
}

// lookLuck says what a look at so many can miss, in counts of animals.
func lookLuck(l *page.Look, v *desk.LotView, g going) error {
	if g.Second != "" || len(v.Assessed) == 0 {
		return nil
	}
	cond := v.Assessed[0].Condition
	n := min(g.Planned, max(1, v.Lot.Alive.N))
	lines, err := v.Luck(cond, n, g.By)
	if err != nil {
		return err
	}
	l.LuckOf = fmt.Sprintf("What a clean look at %s can miss: %s, %s", words.Int(n), words.MidSentence(cond.Name), byWords[g.By])
	l.Luck = lines
	return nil
}

// lookProofs states what the look proves by itself, and the command that says
// the same.
func lookProofs(v *desk.LotView, p holdfast.Inspection) ([]page.Proof, error) {
	var out []page.Proof
	for _, a := range v.Assessed {
		proof, ok, err := v.Prove(a.Condition, p)
		if err != nil {
			return nil, err
		}
		if ok {
			out = append(out, proofShown(proof))
		}
	}
	return out, nil
}

// proofShown writes a proof out as the command prints it, in words and counts.
func proofShown(p desk.Proof) page.Proof {
	e, r := p.Estimate, p.Record
	share := func(low, high float64) string {
		return fmt.Sprintf("%s to %s of 100", words.OfHundred(low), words.OfHundred(high))
	}
	signs, truly := e.ClopperPearson.Clip(), e.TrueInterval
	return page.Proof{Name: p.Condition.Name, Says: p.Says, Command: p.Command, Rows: [][]string{
		{"Showed signs", fmt.Sprintf("%s of %s", words.Int(r.Positive), words.Int(r.Looked)), share(signs.Low, signs.High)},
		{"Carry it", words.OfHundred(e.True) + " of 100", share(truly.Low, truly.High)},
		{"Likely clear", words.Percent(e.Lot.Clear()), "before the look " + words.Percent(e.Before.Clear())},
		{"Carriers in the lot", "about " + words.Number(e.Lot.Mean(), 1), "at most " + words.Int(e.Lot.Quantile(0.95)) + ", 19 times in 20"},
	}}
}

// quickLook makes a look out of numbers: how many, and how many with what.
func quickLook(f *form.Form, v *desk.LotView, g going) holdfast.Inspection {
	p := g.inspection(v)
	p.Animals, p.Blind, p.Among, p.Second = nil, false, 0, ""
	p.Chosen = f.OneOf("drawn", choices, true)
	p.Random = p.Chosen == holdfast.ChosenRandom || p.Chosen == holdfast.ChosenAll
	var seen []holdfast.Side
	for _, side := range f.Some("qside", []string{"left", "right", "belly", "head"}) {
		seen = append(seen, holdfast.Side(side))
	}
	if len(seen) == 0 {
		f.Fault("qside", "No side was seen.", "Tap the sides that were in view.")
	}
	n := f.Count("looked", 1, max(1, v.Lot.Alive.High), true)
	size := 1
	if k := f.Count("pool", 1, 100, false); k != nil {
		size = *k
	}
	if n == nil {
		return p
	}
	if *n%size != 0 {
		f.Fault("looked", fmt.Sprintf("%d animals do not make whole pictures of %d.", *n, size), "Count the pictures of one size; enter the rest as another look.")
		return p
	}
	if size > 1 {
		p.Pool = size
	}
	if p.Chosen == holdfast.ChosenAsCaught || p.Chosen == holdfast.ChosenWeak {
		if m := f.Count("quick_among", *n, max(1, v.Lot.Alive.High), false); m != nil {
			p.Among = *m
		}
	}
	records := *n / size
	for i := range records {
		p.Animals = append(p.Animals, holdfast.Animal{No: i + 1, Seen: seen})
	}
	for _, a := range v.Assessed {
		k := f.Count("with_"+a.Condition.ID, 0, records, false)
		for i := 0; k != nil && i < *k; i++ {
			p.Animals[i].Findings = append(p.Animals[i].Findings, holdfast.Finding{Condition: a.Condition.ID})
		}
	}
	return p
}

// choiceOptions are the ways of choosing with what each is worth.
func choiceOptions() []view.Option {
	return []view.Option{
		{Value: holdfast.ChosenRandom, Label: "At random, from all over the tank", Below: "Every animal could have been taken. Only this, or all of them, proves something of the others."},
		{Value: holdfast.ChosenAll, Label: "All of them"},
		{Value: holdfast.ChosenAsCaught, Label: "Whichever could be caught", Below: "Those that hide had no chance. Counted at the lower of two readings."},
		{Value: holdfast.ChosenWeak, Label: "The weak or odd ones first", Below: "Good for finding it. Clean ones among them are weighed by odds of their own and never as a random look."},
	}
}

// atoi reads a number of an address, or gives the other.
func atoi(s string, other int) int {
	if n, err := strconv.Atoi(s); err == nil {
		return n
	}
	return other
}
