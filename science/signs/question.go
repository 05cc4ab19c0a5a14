package signs

import (
	_ "embed"
	"math"
	"slices"
	"strings"

	"holdfast/science/ref"
)

// Kind says how an answer counts.
type Kind string

const (
	// Look is a sign: it counts by how often each suspect shows it.
	Look Kind = "look"
	// Setting is known beforehand and only moves the starting chances.
	Setting Kind = "setting"
)

// Question is one thing a person can be asked.
type Question struct {
	ID   string `yaml:"id" json:"id"`
	Ask  string `yaml:"ask" json:"ask"`
	Kind Kind   `yaml:"kind" json:"kind"`
	// Effort runs from 1, a glance, to 4, a microscope or days of waiting.
	Effort  int      `yaml:"effort" json:"effort,omitempty"`
	Options []Option `yaml:"options" json:"options"`
}

// Option is one possible answer.
type Option struct {
	ID  string `yaml:"id" json:"id"`
	Say string `yaml:"say" json:"say"`
}

//go:embed questions.yaml
var questionsYAML []byte

// Answers maps a question's id to the ids of the options ticked. Several
// options mean "one of these, or all of them". A question left out, or with
// nothing ticked, was not answered.
type Answers map[string][]string

func (q Question) option(id string) int {
	return slices.IndexFunc(q.Options, func(o Option) bool { return o.ID == id })
}

func (q Question) optionIDs() string {
	var ids []string
	for _, o := range q.Options {
		ids = append(ids, o.ID)
	}
	return strings.Join(ids, ", ")
}

// ticked turns answers into option numbers by question number, each option
// once and in the table's order, nil where nothing was ticked. An unknown
// question or option is an InputError.
func (m *Model) ticked(a Answers) ([][]int, error) {
	out := make([][]int, len(m.questions))
	for id, options := range a {
		q := slices.IndexFunc(m.questions, func(q Question) bool { return q.ID == id })
		if q < 0 {
			return nil, ref.Inputf(id, "Questions are: "+m.questionIDs()+".", "no such question")
		}
		for _, o := range options {
			n := m.questions[q].option(o)
			if n < 0 {
				return nil, ref.Inputf(id, "Answers are: "+m.questions[q].optionIDs()+".", "no answer %q to this question", o)
			}
			out[q] = append(out[q], n)
		}
		slices.Sort(out[q])
		out[q] = slices.Compact(out[q])
	}
	return out, nil
}

func (m *Model) questionIDs() string {
	var ids []string
	for _, q := range m.questions {
		ids = append(ids, q.ID)
	}
	return strings.Join(ids, ", ")
}

// SizeOption returns the option of the question "size" for a length measured
// in millimetres, for instance on a photograph with a scale. It returns an
// InputError unless the length is a positive finite number.
func SizeOption(mm float64) (string, error) {
	if !(mm > 0) || math.IsInf(mm, 1) {
		return "", ref.Inputf("size", "Give the length in millimetres, as 1.5.", "a length of %g mm makes no sense", mm)
	}
	switch {
	case mm < 0.3:
		return "under_0_3_mm", nil
	case mm < 1:
		return "0_3_to_1_mm", nil
	case mm < 3:
		return "1_to_3_mm", nil
	case mm < 10:
		return "3_to_10_mm", nil
	}
	return "over_10_mm", nil
}
