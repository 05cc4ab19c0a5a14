package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"holdfast"
	"holdfast/science/clearance"
	"holdfast/science/ref"
)

// ConditionInForce returns the life cycle that holds for a condition at this
// shop: its own data file, or the one that comes with the program, with the
// shop's own intervals put in. beliefs are those of the shop's settings
// ([holdfast.ShopSet]); nil gives the program's. Errors are a *ref.InputError for
// a condition without a life cycle and for beliefs that no longer fit it.
func ConditionInForce(beliefs map[string]holdfast.BeliefsSet, id string) (*clearance.Condition, error) {
	own, ok := beliefs[id]
	if !ok {
		return clearance.LoadCondition(id)
	}
	return conditionOf(own)
}

// conditionOf returns the condition as an entry states it.
func conditionOf(own holdfast.BeliefsSet) (*clearance.Condition, error) {
	var c *clearance.Condition
	var err error
	if len(own.File) > 0 {
		c, err = clearance.ParseCondition(own.File)
	} else {
		c, err = clearance.LoadCondition(own.Condition)
	}
	if err != nil {
		return nil, err
	}
	changes := map[string]json.RawMessage{}
	for name, f := range own.Figures {
		change := any(map[string]float64{"low": f.Low, "high": f.High})
		if f.Low == f.High {
			change = map[string]float64{"value": f.Low}
		}
		if changes[name], err = json.Marshal(change); err != nil {
			return nil, err
		}
	}
	if err := c.Believe(changes); err != nil {
		return nil, err
	}
	return c, c.Check()
}

// SetBeliefs states what the shop believes of a condition from now on. What
// does not make a condition is refused with [holdfast.Problems] at its figures.
func (d *Desk) SetBeliefs(ctx context.Context, by Actor, b holdfast.BeliefsSet) (holdfast.ID, error) {
	if len(b.File) > 0 {
		var compact bytes.Buffer
		if err := json.Compact(&compact, b.File); err != nil {
			return "", holdfast.Problems{{Field: "file", Message: "the file is not JSON: " + err.Error(), Hint: "Copy a data file that comes with the program and change its numbers."}}
		}
		b.File = compact.Bytes()
	}
	if err := CheckBeliefs(b); err != nil {
		return "", err
	}
	return d.writeFirst(ctx, by, note{payload: &b})
}

// CheckBeliefs returns [holdfast.Problems] for beliefs that make no condition,
// each at its figure, or nil.
func CheckBeliefs(b holdfast.BeliefsSet) error {
	alone := holdfast.BeliefsSet{Condition: b.Condition, File: b.File}
	c, err := conditionOf(alone)
	if err != nil {
		return problemsAt("file", err)
	}
	if c.ID != b.Condition {
		return holdfast.Problems{{Field: "file", Message: fmt.Sprintf("the file is about %q, not about %q", c.ID, b.Condition), Hint: "Choose the file of this condition, or set its id."}}
	}
	var problems holdfast.Problems
	for _, name := range slices.Sorted(maps.Keys(b.Figures)) {
		one := alone
		one.Figures = map[string]holdfast.OwnFigure{name: b.Figures[name]}
		if _, err := conditionOf(one); err != nil {
			problems = append(problems, problemsAt(name, err)...)
		}
	}
	if len(problems) == 0 {
		if _, err := conditionOf(b); err != nil { // figures that do not go together
			problems = problemsAt("file", err)
		}
	}
	return problems.Err()
}

// problemsAt turns the error of a belief into a problem at a field.
func problemsAt(field string, err error) holdfast.Problems {
	var in *ref.InputError
	if errors.As(err, &in) {
		return holdfast.Problems{{Field: field, Message: in.Message, Hint: in.Hint}}
	}
	return holdfast.Problems{{Field: field, Message: strings.TrimSpace(err.Error())}}
}

// Consequence is the chance of clear of two standard lots under the usual
// practice, as a set of beliefs has it.
type Consequence struct {
	// Heavy arrives with 40 of 100 animals infested, Light with 2 of 100.
	Heavy, Light clearance.Share
}

// Day and shares of the standard lots: two doses a fortnight apart from the day
// after arrival, one pull a day, release four weeks after the last dose.
const (
	standardDay   = 46
	standardHeavy = 0.4
	standardLight = 0.02
)

// ConsequenceOf works out what beliefs of a condition mean for a standard heavy
// and a standard light lot: 200 animals in 100 l at 24 °C, known to be infested,
// treated as is usual, from runs simulated lots each. No look is made.
func ConsequenceOf(ctx context.Context, cond *clearance.Condition, runs int) (Consequence, error) {
	var out Consequence
	for _, lot := range []struct {
		share float64
		to    *clearance.Share
	}{{standardHeavy, &out.Heavy}, {standardLight, &out.Light}} {
		c := cond.Clone()
		if err := c.Believe(map[string]json.RawMessage{clearance.Prev.String(): json.RawMessage(fmt.Sprintf(`{"value":%g}`, lot.share))}); err != nil {
			return out, err
		}
		certain := 1.0
		id := c.Usual()
		q := clearance.Case{Condition: c, Animals: 200, Tanks: []clearance.Tank{{VolumeL: 100}}, Infested: &certain, Days: []float64{standardDay}, Runs: runs, Seed: CourseSeed,
			Pulls: []clearance.Pulls{{From: 0, To: standardDay, PerDay: 1}}}
		for _, day := range []float64{1, 15} {
			q.Doses = append(q.Doses, clearance.Dose{Treatment: id, Day: day, Days: c.Treatments[id].Days})
		}
		r, err := clearance.Evidence(ctx, q)
		if err != nil {
			return out, err
		}
		*lot.to = r.Mixed.Points[0].Clear
	}
	return out, nil
}
