package signs

import (
	"math"
	"slices"
	"sync"
)

// Model is the table ready for use, perhaps moved by the shop's own cases. It
// is read-only.
type Model struct {
	questions []Question
	ids       []string
	who       map[string]string
	start     []float64     // shares, sum one
	look      [][][]float64 // capped shares by suspect, question, option
	factor    [][][]float64
	near      [][]float64 // overlap of every two suspects
	seen      []Learned
}

var builtin = sync.OnceValue(func() *table {
	t, err := readTable(questionsYAML, tableYAML)
	if err != nil {
		panic("signs: embedded data: " + err.Error()) // tests read it before anybody else can
	}
	return t
})

var shipped = sync.OnceValue(func() *Model { return build(builtin()) })

// Default returns the model as shipped.
func Default() *Model { return shipped() }

// Questions returns every question in the order it is asked.
func (m *Model) Questions() []Question { return slices.Clone(m.questions) }

// Suspects returns the ids of all suspects, "something else" last.
func (m *Model) Suspects() []string { return slices.Clone(m.ids) }

// build caps a table.
func build(t *table) *Model {
	m := &Model{questions: t.questions, ids: t.ids, who: t.who, factor: t.factor, start: slices.Clone(t.start)}
	normalise(m.start)
	m.look = make([][][]float64, len(t.ids))
	for s := range m.look {
		m.look[s] = make([][]float64, len(t.questions))
	}
	for q := range t.questions {
		if t.questions[q].Kind != Look {
			continue
		}
		rows := make([][]float64, len(t.ids))
		for s := range rows {
			rows[s] = slices.Clone(t.look[s][q])
		}
		capRatios(rows, Cap)
		for s := range rows {
			m.look[s][q] = rows[s]
		}
	}
	m.near = make([][]float64, len(t.ids))
	for s := range m.near {
		m.near[s] = make([]float64, len(t.ids))
		for u := range s {
			m.near[s][u] = m.overlap(s, u)
			m.near[u][s] = m.near[s][u]
		}
	}
	return m
}

// capRatios lifts the small entries of each row until, in every column, the
// largest entry is at most limit times the smallest that is not zero, each
// row still summing to one. The cap of every column then holds for every set
// of columns as well. Lifting lowers the large entries, so it is repeated
// until nothing moves.
func capRatios(rows [][]float64, limit float64) {
	for range 10_000 {
		moved := 0.
		floors := slices.Clone(rows[0])
		for _, r := range rows[1:] {
			for o, v := range r {
				floors[o] = max(floors[o], v)
			}
		}
		for _, r := range rows {
			before := slices.Clone(r)
			for o, v := range r {
				if v > 0 {
					r[o] = max(v, floors[o]/limit)
				}
			}
			normalise(r)
			for o := range r {
				moved = max(moved, math.Abs(r[o]-before[o]))
			}
		}
		if moved < 1e-14 {
			return
		}
	}
}

// likelihood is the chance that a suspect shows one of the options of a look,
// or the factor by which a setting moves it.
func (m *Model) likelihood(s, q int, options []int) float64 {
	sum := 0.
	if m.questions[q].Kind == Setting {
		for _, o := range options {
			sum += m.factor[s][q][o]
		}
		return sum / float64(len(options))
	}
	for _, o := range options {
		sum += m.look[s][q][o]
	}
	return sum
}

// posterior returns the share of each suspect given the ticked options.
func (m *Model) posterior(ticked [][]int) []float64 {
	logs := make([]float64, len(m.ids))
	top := math.Inf(-1)
	for s := range m.ids {
		logs[s] = math.Log(m.start[s])
		for q, options := range ticked {
			if len(options) > 0 {
				logs[s] += math.Log(m.likelihood(s, q, options))
			}
		}
		top = max(top, logs[s])
	}
	out := make([]float64, len(logs))
	for s, l := range logs {
		out[s] = math.Exp(l - top) // Other never falls to zero, so top is finite
	}
	normalise(out)
	return out
}
