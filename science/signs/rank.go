package signs

import (
	"cmp"
	"slices"
)

// Who can say what it is.
const (
	AskSelf       = "self"       // look again yourself
	AskLens       = "lens"       // a macro lens with good light decides
	AskMicroscope = "microscope" // a laboratory, or anybody with a microscope who knows
	AskVet        = "vet"        // an aquatic veterinarian
	AskAuthority  = "authority"  // the animal-health authority, before anything else
)

// HoldShare is the share of notifiable suspects from which everything is to be
// held and the authority asked, whatever leads the ranking. Judgement: set low
// because a needless call costs little.
const HoldShare = 0.05

// notifiable are the suspects that the law may want to hear of.
var notifiable = []string{"listed_disease", "crayfish_plague"}

// Suspect is one line of a ranking.
type Suspect struct {
	ID string `json:"id"`
	// Share of the whole weight, 0 to 1. It orders suspects; it is not a
	// measured frequency.
	Share float64 `json:"share"`
	// Start is its share before any answer.
	Start float64 `json:"start"`
	// RuledOut means that an answer is impossible for it.
	RuledOut bool `json:"ruled_out,omitempty"`
	// Who can say whether it is this.
	Who string `json:"who"`
	// Weights are the factors of the answers, in the order of the questions.
	Weights []Weight `json:"weights"`
	// Alike are the suspects most like it that the answers leave standing.
	Alike []string `json:"alike"`
}

// Weight is what one answer did to one suspect.
type Weight struct {
	Question string `json:"question"`
	// Factor is how many times as usual the answer is with this suspect as with
	// all suspects together; above 1 it speaks for it. For a setting it is the
	// factor on the starting share.
	Factor float64 `json:"factor"`
}

// Ranking is every suspect, best first.
type Ranking struct {
	Suspects []Suspect `json:"suspects"`
	// NothingFits means that "something else" leads.
	NothingFits bool `json:"nothing_fits"`
	// Hold means nothing in, nothing out, call first: there is a flag, or the
	// suspects which the law may want to hear of have HoldShare or more.
	Hold            bool    `json:"hold"`
	NotifiableShare float64 `json:"notifiable_share"`
	// Flags are reasons to hold that do not depend on the table.
	Flags []string `json:"flags"`
	// Ask is who to ask now.
	Ask string `json:"ask"`
}

// alikeCount is how many look-alikes a suspect names.
const alikeCount = 4

// Rank weighs every suspect by the answers:
//
//	share(s) ∝ start(s) · Π settings factor(s, answer) · Π looks P(answer | s)
//
// with P of several ticked options their sum. The order of answers does not
// matter. No answers give the starting shares.
//
// It returns an InputError for an unknown question or option.
func (m *Model) Rank(a Answers) (Ranking, error) {
	ticked, err := m.ticked(a)
	if err != nil {
		return Ranking{}, err
	}
	share := m.posterior(ticked)
	var r Ranking
	for s, id := range m.ids {
		line := Suspect{ID: id, Share: share[s], Start: m.start[s], RuledOut: share[s] == 0, Who: m.who[id], Weights: []Weight{}}
		for q, options := range ticked {
			if len(options) > 0 {
				line.Weights = append(line.Weights, Weight{m.questions[q].ID, m.weight(s, q, options)})
			}
		}
		line.Alike = m.alike(s, share)
		r.Suspects = append(r.Suspects, line)
		if slices.Contains(notifiable, id) {
			r.NotifiableShare += share[s]
		}
	}
	slices.SortStableFunc(r.Suspects, func(x, y Suspect) int { return cmp.Compare(y.Share, x.Share) })
	lead := r.Suspects[0]
	r.NothingFits = lead.ID == Other
	r.Ask = lead.Who
	r.Flags = Flags(a)
	if len(r.Flags) > 0 || r.NotifiableShare >= HoldShare {
		r.Hold, r.Ask = true, AskAuthority
	}
	return r, nil
}

// weight is the factor of an answer for a suspect against all together.
func (m *Model) weight(s, q int, options []int) float64 {
	l := m.likelihood(s, q, options)
	if m.questions[q].Kind == Setting {
		return l
	}
	all := 0.
	for t := range m.ids {
		all += m.start[t] * m.likelihood(t, q, options)
	}
	return l / all
}

// alike names the suspects most like s: those whose signs overlap most with
// its own over all looks, among those not ruled out.
func (m *Model) alike(s int, share []float64) []string {
	type near struct {
		t       int
		overlap float64
	}
	var all []near
	for t := range m.ids {
		if t != s && share[t] > 0 && m.ids[t] != Other {
			all = append(all, near{t, m.near[s][t]})
		}
	}
	slices.SortStableFunc(all, func(x, y near) int { return cmp.Compare(y.overlap, x.overlap) })
	out := []string{}
	for _, n := range all[:min(alikeCount, len(all))] {
		out = append(out, m.ids[n.t])
	}
	return out
}

// AskWords says in a sentence whom to ask.
func AskWords(who string) string {
	switch who {
	case AskSelf:
		return "Look again yourself."
	case AskLens:
		return "A macro lens with light from the side decides: two pictures seconds apart, two angles, both sides."
	case AskMicroscope:
		return "Somebody with a microscope must look: a laboratory or an aquatic veterinarian."
	case AskVet:
		return "Ask an aquatic veterinarian."
	}
	return "Call the animal-health authority or an aquatic veterinarian first. Nothing in, nothing out, no treatment."
}
