package signs

import (
	_ "embed"
	"fmt"
	"slices"

	"go.yaml.in/yaml/v4"
)

//go:embed table.yaml
var tableYAML []byte

// row is one suspect as the table file has it.
type row struct {
	Start    string                         `yaml:"start"`
	Who      string                         `yaml:"who"`
	Look     map[string]map[string][]string `yaml:"look"`
	Settings map[string]map[string][]string `yaml:"settings"`
}

// table is the judgement before any cap: shares by suspect, question, option.
type table struct {
	questions []Question
	ids       []string
	who       map[string]string
	start     []float64     // weights
	look      [][][]float64 // suspect, question, option; nil for a setting
	factor    [][][]float64 // suspect, question, option; nil for a look
}

// readTable reads the two files strictly: an unknown word, question or option
// is an error, and so is an option named twice.
func readTable(questionsText, tableText []byte) (*table, error) {
	t := &table{who: map[string]string{}}
	if err := yaml.Load(questionsText, &t.questions, yaml.WithKnownFields()); err != nil {
		return nil, fmt.Errorf("questions.yaml: %w", err)
	}
	rows := map[string]row{}
	if err := yaml.Load(tableText, &rows, yaml.WithKnownFields()); err != nil {
		return nil, fmt.Errorf("table.yaml: %w", err)
	}
	for id := range rows {
		t.ids = append(t.ids, id)
	}
	slices.Sort(t.ids)
	for _, id := range t.ids {
		if err := t.add(id, rows[id]); err != nil {
			return nil, fmt.Errorf("table.yaml: %s: %w", id, err)
		}
	}
	t.fillGaps()
	t.addOther()
	return t, nil
}

func (t *table) add(id string, r row) error {
	w, ok := startWeight[r.Start]
	if !ok {
		return fmt.Errorf("unknown start %q", r.Start)
	}
	if !slices.Contains([]string{AskSelf, AskLens, AskMicroscope, AskVet, AskAuthority}, r.Who) {
		return fmt.Errorf("unknown who %q", r.Who)
	}
	looks := make([][]float64, len(t.questions))
	factors := make([][]float64, len(t.questions))
	used := 0
	for n, q := range t.questions {
		var err error
		if levels, ok := r.Look[q.ID]; ok && q.Kind == Look {
			used++
			looks[n], err = spread(q, levels, levelShare, never)
			normalise(looks[n])
		}
		if q.Kind == Setting {
			if _, ok := r.Settings[q.ID]; ok {
				used++
			}
			factors[n], err = spread(q, r.Settings[q.ID], settingFactor, 1)
		}
		if err != nil {
			return fmt.Errorf("%s: %w", q.ID, err)
		}
	}
	if used != len(r.Look)+len(r.Settings) {
		return fmt.Errorf("names a question that does not exist or is of the other kind")
	}
	t.who[id] = r.Who
	t.start = append(t.start, w)
	t.look = append(t.look, looks)
	t.factor = append(t.factor, factors)
	return nil
}

// spread gives every option of q the value of its word, or rest.
func spread(q Question, levels map[string][]string, value map[string]float64, rest float64) ([]float64, error) {
	out := make([]float64, len(q.Options))
	named := make([]bool, len(out))
	for i := range out {
		out[i] = rest
	}
	for word, options := range levels {
		v, ok := value[word]
		if !ok {
			return nil, fmt.Errorf("unknown word %q", word)
		}
		for _, o := range options {
			n := q.option(o)
			if n < 0 || named[n] {
				return nil, fmt.Errorf("option %q unknown or named twice", o)
			}
			out[n], named[n] = v, true
		}
	}
	return out, nil
}

// fillGaps gives a suspect that tells nothing on a question the mean of those
// that do, so that the answer neither favours nor hurts it.
func (t *table) fillGaps() {
	for q := range t.questions {
		if t.questions[q].Kind != Look {
			continue
		}
		mean := t.mean(q)
		for s := range t.look {
			if t.look[s][q] == nil {
				t.look[s][q] = slices.Clone(mean)
			}
		}
	}
}

// mean is the average of the suspects that have a row for question q.
func (t *table) mean(q int) []float64 {
	out := make([]float64, len(t.questions[q].Options))
	for s := range t.look {
		for o, v := range t.look[s][q] {
			out[o] += v
		}
	}
	normalise(out)
	return out
}

// addOther appends "something else": half the mean of all suspects, half
// every option alike, so that it fits nothing well and everything a little.
func (t *table) addOther() {
	looks := make([][]float64, len(t.questions))
	factors := make([][]float64, len(t.questions))
	for q, question := range t.questions {
		n := len(question.Options)
		if question.Kind == Setting {
			factors[q] = slices.Repeat([]float64{1}, n)
			continue
		}
		looks[q] = t.mean(q)
		for o := range looks[q] {
			looks[q][o] = (looks[q][o] + 1/float64(n)) / 2
		}
	}
	sum := 0.
	for _, w := range t.start {
		sum += w
	}
	t.ids = append(t.ids, Other)
	t.who[Other] = AskMicroscope
	t.start = append(t.start, sum*otherShare/(1-otherShare))
	t.look = append(t.look, looks)
	t.factor = append(t.factor, factors)
}

// normalise brings xs to a sum of one; all zeros stay.
func normalise(xs []float64) {
	sum := 0.
	for _, x := range xs {
		sum += x
	}
	if sum == 0 {
		return
	}
	for i := range xs {
		xs[i] /= sum
	}
}
