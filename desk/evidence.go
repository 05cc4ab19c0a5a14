package desk

import (
	"time"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/freedom"
)

// Evidence turns what is known of a lot into figures. The desk asks it and
// nothing else, so that another model can take its place.
type Evidence interface {
	// Model names the model and its version; figures of another are computed
	// again.
	Model() string
	// Assess returns one assessment for each condition the lot's animals can
	// carry and the desk keeps a chance of, in the order of the reference.
	Assess(Case) ([]Assessment, error)
}

// Case is what is known of a lot.
type Case struct {
	Lot *holdfast.Lot
	// Consignment is the delivery it came with.
	Consignment *holdfast.Consignment
	// BagSize is how many animals a bag holds.
	BagSize int
	// Beliefs are what the shop believes of conditions, see [ConditionInForce].
	Beliefs map[string]holdfast.BeliefsSet
	// Sight is what the shop learned of how well it sees.
	Sight map[holdfast.SightKey]holdfast.SightSet
	// Other loads another lot, for one that was split off or merged in.
	Other func(id string) (*holdfast.Lot, error)
	// Tank loads a tank; nil means that nothing is known of its water.
	Tank func(id string) (*holdfast.Tank, error)
	// Zone is the site's; nil means UTC.
	Zone *time.Location
}

// Assessment is what the evidence says of one condition.
type Assessment struct {
	Condition reference.Condition
	// NotLooked says that no look could have shown it: then the figure is the
	// prior and no chance may be stated as found.
	NotLooked bool
	Figure    holdfast.Figure
	// Line is the chance after each thing that bears on it, oldest first.
	Line []Point
	// Why is empty, or says in words why no figure could be computed.
	Why string
	// Pending says that a figure is being worked out and none is kept.
	Pending bool
	// Because says why the life-cycle model does not answer and the figure is
	// that of the model without one; empty where it does, and where the desk uses
	// no other.
	Because string
	// Answer is what the life-cycle model said; nil where it does not answer.
	Answer *Answer
	// More answers how many more clean animals would reach a line.
	More func(freedom.Line, Look) (int, error)
}

// Point is the chance of clear at one moment.
type Point struct {
	At                holdfast.Micros
	Chance, Low, High float64
	// Entry is what brought it there; empty for the prior.
	Entry holdfast.ID
}

// Look is a way of looking that is planned.
type Look struct {
	By   string
	Seen []holdfast.Side
	// Sofar are animals already judged in the look that is going on.
	Sofar []holdfast.Animal
}

// Known reports whether there is a figure that rests on what was seen.
func (a *Assessment) Known() bool { return !a.NotLooked && !a.Pending && a.Why == "" }

// Worst returns the assessment with the least chance of clear, or nil when
// nothing was looked for.
func Worst(all []Assessment) *Assessment {
	var worst *Assessment
	for i := range all {
		a := &all[i]
		if a.Known() && (worst == nil || a.Figure.Chance < worst.Figure.Chance) {
			worst = a
		}
	}
	return worst
}
