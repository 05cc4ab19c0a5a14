package desk

import (
	"cmp"
	"maps"
	"slices"
	"sync"

	"holdfast"
	"holdfast/science/freedom"
	"holdfast/science/ref"
)

// How well one animal is seen, for each way of looking with all four sides in
// view. All four are guesses: nobody has measured how often a keeper sees these
// animals. The beta distribution is what the figure may be, and the band of
// every chance comes from it.
var sensitivity = map[string]struct {
	freedom.Unsure
	ref.Param
}{
	holdfast.ByEye:        {freedom.Unsure{A: 4, B: 6}, ref.Param{Value: 0.4, Low: 0.17, High: 0.66, Unit: "share", Basis: ref.Guess, Note: "With the naked eye, of animals that carry it."}},
	holdfast.ByLens:       {freedom.Unsure{A: 8, B: 2}, ref.Param{Value: 0.8, Low: 0.57, High: 0.96, Unit: "share", Basis: ref.Guess, Note: "With a hand lens or macro lens, of animals that carry it."}},
	holdfast.ByPhoto:      {freedom.Unsure{A: 8.5, B: 1.5}, ref.Param{Value: 0.85, Low: 0.63, High: 0.98, Unit: "share", Basis: ref.Guess, Note: "On sharp macro photographs, of animals that carry it."}},
	holdfast.ByMicroscope: {freedom.Unsure{A: 19, B: 1}, ref.Param{Value: 0.95, Low: 0.85, High: 0.997, Unit: "share", Basis: ref.Guess, Note: "Under the microscope, of animals that carry it."}},
}

// sideShare says how much of the seeing each side is worth: a look at one side
// of an animal is not a look at the animal. The belly's share for the segmented
// worm follows where it was found in Niwa and others (55 % between the last
// walking legs and the first swimming legs); the rest is judgement.
var sideShare = map[string]map[holdfast.Side]float64{
	"rostrum_worm":   {holdfast.Head: 0.5, holdfast.Left: 0.2, holdfast.Right: 0.2, holdfast.Belly: 0.1},
	"segmented_worm": {holdfast.Belly: 0.55, holdfast.Left: 0.175, holdfast.Right: 0.175, holdfast.Head: 0.1},
	"green_growth":   {holdfast.Belly: 0.8, holdfast.Left: 0.1, holdfast.Right: 0.1, holdfast.Head: 0},
}

// seenShare returns how much of the seeing the sides in view are worth, 0 to 1.
func seenShare(condition string, seen []holdfast.Side) float64 {
	shares, ok := sideShare[condition]
	sum := 0.0
	for _, s := range seen {
		if ok {
			sum += shares[s]
		} else {
			sum += 1 / float64(len(holdfast.Sides))
		}
	}
	return min(1, sum)
}

// eyes are how well the shop sees: what it learned of itself, and for the rest
// the guesses above.
type eyes map[holdfast.SightKey]holdfast.SightSet

// learned are the ways of looking that the shop learned something of, in order.
func (e eyes) learned() []holdfast.SightKey {
	return slices.SortedFunc(maps.Keys(e), func(a, b holdfast.SightKey) int {
		return cmp.Or(cmp.Compare(a.By, b.By), cmp.Compare(a.Condition, b.Condition))
	})
}

// belief returns what the sensitivity of a way of looking may be.
func (e eyes) belief(condition, by string) freedom.Unsure {
	if own, ok := e[holdfast.SightKey{By: by, Condition: condition}]; ok {
		return freedom.Unsure{A: own.A, B: own.B}
	}
	return sensitivity[by].Unsure
}

// value returns the one figure for it.
func (e eyes) value(condition, by string) float64 {
	if own, ok := e[holdfast.SightKey{By: by, Condition: condition}]; ok {
		return own.A / (own.A + own.B)
	}
	return sensitivity[by].Value
}

// plain is a way of looking with all sides in view, as its one figure has it.
func (e eyes) plain(condition, by string) freedom.Seeing {
	return freedom.Seeing{Sensitivity: e.value(condition, by), Specificity: 1}
}

// ofGood is the share of a good look, one with the lens that the program guesses,
// that a way of looking is worth.
func (e eyes) ofGood(condition, by string) float64 {
	return min(1, e.value(condition, by)/sensitivity[holdfast.ByLens].Value)
}

// seeing returns how well an animal with these sides in view is seen at a
// level of how good the eyes are. A positive is taken as confirmed by a second
// look, so no animal without the condition is recorded as carrying it.
func (e eyes) seeing(condition, by string, seen []holdfast.Side, level float64) (freedom.Seeing, error) {
	if _, ok := sensitivity[by]; !ok {
		return freedom.Seeing{}, ref.Inputf("by", "Choose eye, lens, photo or microscope.", "%q is no way of looking", by)
	}
	full := atLevels(e.belief(condition, by))[min(int(level*levels), levels-1)]
	return freedom.Seeing{Sensitivity: full * seenShare(condition, seen), Specificity: 1}, nil
}

// sightLevels keeps the quantiles drawn so far: they are too slow to draw for
// every animal, and there are few beliefs.
var sightLevels sync.Map // freedom.Unsure to *[levels]float64

// atLevels returns the sensitivities at the levels that figures average over.
func atLevels(u freedom.Unsure) *[levels]float64 {
	if known, ok := sightLevels.Load(u); ok {
		return known.(*[levels]float64)
	}
	var t [levels]float64
	for i := range t {
		t[i], _ = u.At((float64(i) + 0.5) / levels) // the journal holds only parameters in range
	}
	sightLevels.Store(u, &t)
	return &t
}

// shows reports whether the animal showed the condition or a sign of it.
func shows(a holdfast.Animal, condition string) bool {
	for _, f := range a.Findings {
		if ConditionOf(f.Condition) == condition {
			return true
		}
	}
	return false
}

// record returns what one animal's record says of the condition; false when it
// says nothing.
func (e eyes) record(p *holdfast.Inspection, a holdfast.Animal, condition string, level float64) (freedom.Chance, bool, error) {
	positive := shows(a, condition)
	if !positive && !a.Readable() {
		return freedom.Chance{}, false, nil
	}
	sides := a.Seen
	if positive && seenShare(condition, sides) == 0 {
		sides = holdfast.Sides // it was seen, whatever was ticked
	}
	s, err := e.seeing(condition, p.By, sides, level)
	if err != nil {
		return freedom.Chance{}, false, err
	}
	if positive {
		return s.Positive(), true, nil
	}
	return s.Clean(), true, nil
}

// chances returns what each readable animal's record says of the condition.
// What other eyes said of the same animal is weighed with it: the chances of
// both records multiply, as for looks that do not know of each other.
func (e eyes) chances(p *holdfast.Inspection, again []*holdfast.Inspection, condition string, level float64) ([]freedom.Chance, error) {
	var out []freedom.Chance
	for _, a := range p.Animals {
		c, told, err := e.record(p, a, condition, level)
		if err != nil {
			return nil, err
		}
		for _, q := range again {
			for _, b := range q.Animals {
				if b.No != a.No {
					continue
				}
				d, also, err := e.record(q, b, condition, level)
				switch {
				case err != nil:
					return nil, err
				case also && told:
					c = freedom.Chance{IfInfested: c.IfInfested * d.IfInfested, IfNotInfested: c.IfNotInfested * d.IfNotInfested}
				case also:
					c, told = d, true
				}
			}
		}
		if told {
			out = append(out, c)
		}
	}
	return out, nil
}
