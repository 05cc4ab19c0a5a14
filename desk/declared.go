package desk

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/ref"
)

// believed is how much of what a seller says in its own favour is taken, by
// what stands behind the word: the share of the step on the scale of the odds'
// logarithm. Guesses. What speaks against the seller is taken whole: nobody
// invents worms in the own stock.
var believed = map[string]ref.Param{
	holdfast.BackedSaid:  {Value: 0.5, Low: 0, High: 1, Unit: "share", Basis: ref.Guess, Note: "Only said."},
	holdfast.BackedShown: {Value: 0.75, Low: 0.25, High: 1, Unit: "share", Basis: ref.Guess, Note: "With pictures or papers."},
	holdfast.BackedSeen:  {Value: 1, Low: 0.75, High: 1, Unit: "share", Basis: ref.Guess, Note: "Seen by somebody of this shop."},
}

// declaredSteps multiply the odds that a lot is infested, by question, answer
// and condition ("" for all). Sizes are guesses; where a direction was seen in
// a study, the reference names it at the question.
var declaredSteps = []struct {
	question, answer, condition string
	odds                        float64
}{
	{"bred_or_traded", "raised", "", 0.8},
	{"bred_or_traded", "bought_lately", "", 1.5},
	{"shared_water", "alone", "", 0.8},
	{"shared_water", "shared", "", 1.5},
	{"treatments", "dip", reference.RostrumWorm, 0.8},
	{"treatments", "dip", reference.SegmentedWorm, 0.7},
	{"treatments", "bath", reference.RostrumWorm, 0.7},
	{"seen", "nothing", "", 0.8},
	{"seen", "worms", reference.RostrumWorm, 4},
	{"seen", "worms", reference.SegmentedWorm, 3},
	{"seen", "green", reference.GreenGrowth, 5},
}

// declaredCap bounds what all a seller's words together do to the odds: words
// order what to think of, looks decide.
const declaredCap = 6

// declaredAnswers are the answers in force of a delivery, by question: of two
// declarations the newer one.
func declaredAnswers(c *holdfast.Consignment) map[string]said {
	all := map[string]said{}
	if c == nil {
		return all
	}
	for _, ev := range c.Declared {
		p := ev.Payload.(*holdfast.Declared)
		for q, a := range p.Answers {
			all[q] = said{a, p.Backed}
		}
	}
	return all
}

// said is one answer and what stands behind it.
type said struct{ answer, backed string }

// declaredOdds is what the seller's words do to the odds that the lot carries
// the condition, where it was raised included.
func (c Case) declaredOdds(l *holdfast.Lot, condition string) float64 {
	if c.Consignment == nil || l.Consignment != c.Consignment.ID {
		return 1 // animals merged in from another delivery: nothing is taken as known
	}
	answers := declaredAnswers(c.Consignment)
	step := believe(originOdds[c.Consignment.Origin], holdfast.BackedSaid)
	if o, ok := answers["origin"]; ok {
		if odds, known := originOdds[originOf[o.answer]]; known {
			step = believe(odds, o.backed)
		}
	}
	log := math.Log(step)
	for _, s := range declaredSteps {
		if a, ok := answers[s.question]; ok && a.answer == s.answer && (s.condition == "" || s.condition == condition) {
			log += math.Log(believe(s.odds, a.backed))
		}
	}
	limit := math.Log(declaredCap)
	return math.Exp(max(-limit, min(limit, log)))
}

// believe takes a step that favours the seller only as far as something stands
// behind it.
func believe(odds float64, backed string) float64 {
	if odds >= 1 {
		return odds
	}
	return math.Pow(odds, believed[backed].Value)
}

// declaredKey names everything declared that a figure rests on.
func (c Case) declaredKey(l *holdfast.Lot) string {
	if c.Consignment == nil || l.Consignment != c.Consignment.ID {
		return ""
	}
	answers := declaredAnswers(c.Consignment)
	key := c.Consignment.Origin
	for _, q := range slices.Sorted(maps.Keys(answers)) {
		key += "\x00" + q + "\x00" + answers[q].answer + "\x00" + answers[q].backed
	}
	return key
}

// originOf maps answers to "where did they grow up" to a delivery's origin.
// Animals the seller bred stand indoors as far as anybody can tell.
var originOf = map[string]string{"own": "farmed_indoor", "indoor": "farmed_indoor", "pond": "farmed_outdoor", "wild": "wild"}

// declaredOrigin are the answers to the signs' question "origin" that the
// seller's word allows.
func declaredOrigin(c *holdfast.Consignment, l *holdfast.Lot) []string {
	if c == nil || l.Consignment != c.ID {
		return nil
	}
	origin, backed := c.Origin, holdfast.BackedSaid
	if o, ok := declaredAnswers(c)["origin"]; ok {
		origin, backed = originOf[o.answer], o.backed
	}
	switch origin {
	case "wild":
		return []string{"wild"}
	case "farmed_outdoor":
		return []string{"pond"}
	case "farmed_indoor":
		if backed == holdfast.BackedSaid {
			return []string{"indoor", "pond"}
		}
		return []string{"indoor"}
	}
	return nil
}

// DeclarationLine is one answer of a seller as a page shows it.
type DeclarationLine struct {
	Question, Ask string
	Answer        string
	Backed        string
	// Trust is the word of the reference for how far to believe it.
	Trust string
	Entry holdfast.ID
	At    holdfast.Micros
}

// Declarations returns what the seller declared with a delivery, in the order
// of the questions, the answers in force only.
func Declarations(c *holdfast.Consignment) []DeclarationLine {
	return declarationLines(c.Declared)
}

func declarationLines(events []holdfast.Event) []DeclarationLine {
	var out []DeclarationLine
	for _, q := range reference.Builtin().Questions() {
		line := DeclarationLine{Question: q.ID, Ask: q.Ask, Trust: q.Trust}
		for _, ev := range events {
			p := ev.Payload.(*holdfast.Declared)
			if answer := q.Said(p.Answers, p.Words); answer != "" {
				line.Answer, line.Backed, line.Entry, line.At = answer, p.Backed, ev.ID, ev.OccurredAt
			}
		}
		if line.Answer != "" {
			out = append(out, line)
		}
	}
	return out
}

// Declare keeps what a seller declared, before buying or with a delivery.
func (d *Desk) Declare(ctx context.Context, by Actor, p holdfast.Declared) (holdfast.ID, error) {
	if p.Consignment != "" {
		c, err := d.Consignment(ctx, p.Consignment)
		if err != nil {
			return "", err
		}
		p.Supplier = c.Supplier
	}
	if problems := checkAnswers(p); len(problems) > 0 {
		return "", problems
	}
	return d.writeFirst(ctx, by, note{payload: &p})
}

// checkAnswers wants questions and answers of the reference.
func checkAnswers(p holdfast.Declared) holdfast.Problems {
	var out holdfast.Problems
	known := map[string]reference.Question{}
	for _, q := range reference.Builtin().Questions() {
		known[q.ID] = q
	}
	for _, id := range slices.Sorted(maps.Keys(p.Answers)) {
		q, ok := known[id]
		if ok {
			ok = slices.ContainsFunc(q.Answers, func(a reference.Answer) bool { return a.ID == p.Answers[id] })
		}
		if !ok {
			out = append(out, holdfast.Problem{Field: id, Message: "that is not one of the answers", Hint: "Choose again."})
		}
	}
	for _, id := range slices.Sorted(maps.Keys(p.Words)) {
		if _, ok := known[id]; !ok {
			out = append(out, holdfast.Problem{Field: id, Message: fmt.Sprintf("there is no question %q", id), Hint: "Open the page again."})
		}
	}
	return out
}

// askedWithin is how long a declaration made before buying is taken to hold
// for a delivery of the same supplier. A guess.
const askedWithin = 90 * 24 * 3600 * holdfast.Micros(1e6)

// askedBefore returns what the supplier declared before anything was bought,
// if it was not too long ago and not taken with a delivery already.
func (d *Desk) askedBefore(ctx context.Context, supplier string, at holdfast.Micros) (*holdfast.Declared, error) {
	kept, err := d.KeptBook(ctx)
	if err != nil {
		return nil, err
	}
	var found *holdfast.Declared
	for _, ev := range kept.Declared {
		p := ev.Payload.(*holdfast.Declared)
		if !strings.EqualFold(strings.TrimSpace(p.Supplier), strings.TrimSpace(supplier)) {
			continue
		}
		switch {
		case p.Consignment != "":
			found = nil
		case ev.OccurredAt <= at && at-ev.OccurredAt <= askedWithin:
			found = p
		}
	}
	return found, nil
}
