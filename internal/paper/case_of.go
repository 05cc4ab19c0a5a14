package paper

import (
	"fmt"

	"holdfast/reference"
	"holdfast/science/signs"
)

// caseSuspects is how many suspects a case file names.
const caseSuspects = 8

// CaseOf puts what was ticked, what it might be and how samples come into a
// case file; the caller adds animals, photographs and the time. Without any
// answer no suspect is named.
func CaseOf(b *reference.Book, questions []signs.Question, a signs.Answers, r signs.Ranking) CaseFile {
	var c CaseFile
	for _, q := range questions {
		if said := answerWords(q, a[q.ID]); said != "" {
			c.Said = append(c.Said, Said{Question: q.Ask, Answer: said})
		}
	}
	if len(c.Said) > 0 {
		c.Alarm, c.Ask = r.Flags, signs.AskWords(r.Ask)
		for i, s := range r.Suspects[:min(caseSuspects, len(r.Suspects))] {
			if i >= 3 && s.Share < 0.005 {
				break
			}
			e, _ := b.Condition(s.ID)
			pro, con := Strongest(s.Weights)
			c.Suspects = append(c.Suspects, CaseSuspect{Name: e.Name, Share: fmt.Sprintf("%.0f %%", 100*s.Share), For: pro, Against: con})
		}
	}
	for _, id := range []string{"samples", "packing", "suspicion"} {
		t, _ := b.Topic(id)
		adv := Advice{Title: t.Name}
		for _, claim := range t.Claims {
			line := claim.Say
			if claim.Caution != "" {
				line += " Caution: " + claim.Caution
			}
			adv.Lines = append(adv.Lines, line)
		}
		c.Advice = append(c.Advice, adv)
	}
	return c
}

// Strongest names the answers that speak most for and most against a suspect,
// with their factors; empty where none does.
func Strongest(weights []signs.Weight) (pro, con string) {
	most, least := 1.0, 1.0
	for _, w := range weights {
		if w.Factor > most {
			most, pro = w.Factor, fmt.Sprintf("%s (x%.1f)", w.Question, w.Factor)
		}
		if w.Factor < least {
			least, con = w.Factor, fmt.Sprintf("%s (x%.2f)", w.Question, w.Factor)
		}
	}
	return pro, con
}

// answerWords says what was ticked, in the words of the question.
func answerWords(q signs.Question, ticked []string) string {
	words := ""
	for _, o := range q.Options {
		for _, t := range ticked {
			if t == o.ID {
				if words != "" {
					words += ", or "
				}
				words += o.Say
				break
			}
		}
	}
	return words
}
