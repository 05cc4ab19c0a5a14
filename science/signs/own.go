package signs

import (
	"slices"

	"holdfast/science/ref"
)

// Own is a suspect that a shop added, with the signs it usually shows.
type Own struct {
	ID string
	// Start is the word for how usual it is here: common, usual, uncommon, rare
	// or very_rare.
	Start string
	// Who can say whether it is this, one of the Ask constants.
	Who string
	// Looks are the answers it usually gives. A ticked answer is shown often,
	// another answer to the same question rarely; a question left out tells
	// nothing of it. Settings are not taken.
	Looks Answers
}

// New returns the shipped model with a shop's own suspects, moved by its
// confirmed cases as [Learn] says. Without either it is Default.
//
// It returns an InputError for an own suspect whose id is taken, whose start
// or who is no such word, or that shows nothing.
func New(own []Own, cases []Case) (*Model, error) {
	if len(own) == 0 && len(cases) == 0 {
		return Default(), nil
	}
	t := builtin()
	if len(own) > 0 {
		var err error
		if t, err = t.with(own); err != nil {
			return nil, err
		}
	}
	return learn(t, cases)
}

// with returns the table with own suspects before "something else", whose own
// row stays what it was.
func (t *table) with(own []Own) (*table, error) {
	out := &table{questions: t.questions, ids: slices.Clone(t.ids), who: map[string]string{},
		start: slices.Clone(t.start), look: slices.Clone(t.look), factor: slices.Clone(t.factor)}
	for id, who := range t.who {
		out.who[id] = who
	}
	for _, o := range own {
		if slices.Contains(out.ids, o.ID) || o.ID == "" {
			return nil, ref.Inputf("id", "Choose another name.", "there is a suspect %q already", o.ID)
		}
		w, ok := startWeight[o.Start]
		if !ok {
			return nil, ref.Inputf("start", "Use common, usual, uncommon, rare or very_rare.", "no word %q for how usual it is", o.Start)
		}
		if !slices.Contains([]string{AskSelf, AskLens, AskMicroscope, AskVet, AskAuthority}, o.Who) {
			return nil, ref.Inputf("who", "Use self, lens, microscope, vet or authority.", "nobody is called %q", o.Who)
		}
		looks, factors, err := out.ownRows(o)
		if err != nil {
			return nil, err
		}
		at := len(out.ids) - 1
		out.ids = slices.Insert(out.ids, at, o.ID)
		out.start = slices.Insert(out.start, at, w)
		out.look = slices.Insert(out.look, at, looks)
		out.factor = slices.Insert(out.factor, at, factors)
		out.who[o.ID] = o.Who
	}
	return out, nil
}

// ownRows turns ticks into rows: questions left out get the mean of all.
func (t *table) ownRows(o Own) (looks, factors [][]float64, err error) {
	ticked, err := (&Model{questions: t.questions}).ticked(o.Looks)
	if err != nil {
		return nil, nil, err
	}
	said := 0
	looks, factors = make([][]float64, len(t.questions)), make([][]float64, len(t.questions))
	for n, q := range t.questions {
		switch {
		case q.Kind == Setting:
			factors[n] = slices.Repeat([]float64{1}, len(q.Options))
		case len(ticked[n]) == 0:
			looks[n] = t.mean(n)
		default:
			said++
			looks[n] = slices.Repeat([]float64{levelShare["rare"]}, len(q.Options))
			for _, i := range ticked[n] {
				looks[n][i] = levelShare["often"]
			}
			normalise(looks[n])
		}
	}
	if said == 0 {
		return nil, nil, ref.Inputf("looks", "Tick at least one sign that it shows.", "%q shows nothing", o.ID)
	}
	return looks, factors, nil
}
