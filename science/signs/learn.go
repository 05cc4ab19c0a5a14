package signs

import (
	"cmp"
	"math"
	"slices"

	"holdfast/science/ref"
)

// Proof is what confirmed a case.
type Proof string

// Proofs, best first.
const (
	Laboratory Proof = "laboratory"
	Microscope Proof = "microscope"
	Response   Proof = "response" // it went as that suspect would after treatment
)

// proofWeight is how much of a case a proof is worth. Judgement: a response to
// treatment proves little, since many things pass by themselves.
var proofWeight = map[Proof]float64{Laboratory: 1, Microscope: 0.8, Response: 0.3}

// Weight of the shipped judgement against own cases, in cases: a suspect's row
// counts as if it rested on rowWeight of them, the starting shares together on
// startCases. Judgement.
const (
	rowWeight  = 20
	startCases = 100
)

// Case is one of the shop's own, confirmed.
type Case struct {
	Truth   string  `json:"truth" yaml:"truth"`
	Answers Answers `json:"answers" yaml:"answers"`
	Proof   Proof   `json:"proof" yaml:"proof"`
}

// Learned says how far own cases have moved a suspect.
type Learned struct {
	ID string `json:"id"`
	// Cases is the sum of the worth of the own cases.
	Cases float64 `json:"cases"`
	// PriorWeight is how much of the suspect's row is still the shipped
	// judgement, 1 with no own case.
	PriorWeight float64 `json:"prior_weight"`
}

// Learn returns the shipped model moved by confirmed cases. Each row of the
// table is the mean of a Dirichlet prior worth rowWeight cases,
//
//	P'(o | s) = (rowWeight·P(o | s) + n(o)) / (rowWeight + Σ n),
//
// where a case with several options ticked counts for each in proportion to
// P(o | s). Starting shares move likewise with startCases. Settings are not
// learned. The cap is applied afterwards. A proof against "impossible" lifts
// it. Order does not matter; no cases give Default.
//
// It returns an InputError for an unknown suspect, proof, question or option.
func Learn(cases []Case) (*Model, error) { return learn(builtin(), cases) }

func learn(t *table, cases []Case) (*Model, error) {
	base := &Model{questions: t.questions}
	counts := make([][][]float64, len(t.ids))
	seen := make([]float64, len(t.ids))
	total := 0.
	for s := range counts {
		counts[s] = make([][]float64, len(t.questions))
		for q := range counts[s] {
			counts[s][q] = make([]float64, len(t.questions[q].Options))
		}
	}
	for _, c := range cases {
		s := slices.Index(t.ids, c.Truth)
		if s < 0 {
			return nil, ref.Inputf("truth", "Use an id of the reference, or \"other\".", "no suspect %q", c.Truth)
		}
		w, ok := proofWeight[c.Proof]
		if !ok {
			return nil, ref.Inputf("proof", "Use laboratory, microscope or response.", "no proof %q", string(c.Proof))
		}
		ticked, err := base.ticked(c.Answers)
		if err != nil {
			return nil, err
		}
		seen[s] += w
		total += w
		for q, options := range ticked {
			if len(options) > 0 && t.questions[q].Kind == Look {
				share(counts[s][q], t.look[s][q], options, w)
			}
		}
	}
	m := build(t.moved(counts, seen, total))
	for s, id := range t.ids {
		m.seen = append(m.seen, Learned{ID: id, Cases: seen[s], PriorWeight: rowWeight / (rowWeight + seen[s])})
	}
	return m, nil
}

// share adds w to the counts of the options in proportion to their chances,
// equally when all are impossible.
func share(counts, chance []float64, options []int, w float64) {
	sum := 0.
	for _, o := range options {
		sum += chance[o]
	}
	for _, o := range options {
		if sum > 0 {
			counts[o] += w * chance[o] / sum
		} else {
			counts[o] += w / float64(len(options))
		}
	}
}

// moved returns the table with the counts added to it.
func (t *table) moved(counts [][][]float64, seen []float64, total float64) *table {
	out := &table{questions: t.questions, ids: t.ids, who: t.who, factor: t.factor, start: slices.Clone(t.start)}
	normalise(out.start)
	for s := range out.start {
		out.start[s] = (startCases*out.start[s] + seen[s]) / (startCases + total)
	}
	for s := range t.look {
		rows := make([][]float64, len(t.questions))
		for q, p := range t.look[s] {
			if p == nil {
				continue
			}
			rows[q] = slices.Clone(p)
			for o := range rows[q] {
				rows[q][o] = rowWeight*p[o] + counts[s][q][o]
			}
			normalise(rows[q])
		}
		out.look = append(out.look, rows)
	}
	return out
}

// Learned returns, for a model made by Learn, how far own cases moved each
// suspect; nothing for Default.
func (m *Model) Learned() []Learned { return slices.Clone(m.seen) }

// Change is one figure that own cases moved.
type Change struct {
	Suspect string `json:"suspect"`
	// Question and Option name a sign; both are empty for the starting share.
	Question string `json:"question,omitempty"`
	Option   string `json:"option,omitempty"`
	// Before and After are how often the suspect shows the sign, or its share
	// before any answer.
	Before float64 `json:"before"`
	After  float64 `json:"after"`
}

// Changes returns what differs from another model of the same suspects by a
// thousandth or more, the largest first.
func (m *Model) Changes(from *Model) []Change {
	var out []Change
	add := func(c Change) {
		if math.Abs(c.After-c.Before) >= 0.001 {
			out = append(out, c)
		}
	}
	for s, id := range m.ids {
		b := slices.Index(from.ids, id)
		if b < 0 {
			continue
		}
		add(Change{Suspect: id, Before: from.start[b], After: m.start[s]})
		for q, row := range m.look[s] {
			for o := range row {
				add(Change{Suspect: id, Question: m.questions[q].ID, Option: m.questions[q].Options[o].ID, Before: from.look[b][q][o], After: row[o]})
			}
		}
	}
	slices.SortStableFunc(out, func(x, y Change) int {
		return cmp.Compare(math.Abs(y.After-y.Before), math.Abs(x.After-x.Before))
	})
	return out
}

// CheckCase returns an InputError if the case names a suspect, proof, question
// or option that the model does not have.
func (m *Model) CheckCase(c Case) error {
	if !slices.Contains(m.ids, c.Truth) {
		return ref.Inputf("truth", "Use an id of the reference, or \"other\".", "no suspect %q", c.Truth)
	}
	if _, ok := proofWeight[c.Proof]; !ok {
		return ref.Inputf("proof", "Use laboratory, microscope or response.", "no proof %q", string(c.Proof))
	}
	_, err := m.ticked(c.Answers)
	return err
}
