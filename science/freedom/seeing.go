package freedom

import (
	"math"

	"holdfast/science/ref"
)

// Chance is what one animal's record says: how likely exactly that record was
// if the animal is infested, and if it is not. Only the ratio matters to the
// lot; an animal seen from one side only, or a blurred one, simply has the two
// chances closer together, and {1, 1} is an animal of which nothing was seen.
//
// Both lie in [0, 1] and not both may be 0. A value other than 0 must be at
// least 1e-30: smaller ones are no statement anyone can make.
type Chance struct {
	IfInfested    float64
	IfNotInfested float64
}

// leastChance keeps products of a few likelihood ratios inside float64.
const leastChance = 1e-30

func checkChance(field string, v float64) error {
	if v > 0 && v < leastChance {
		return ref.Inputf(field, "Give 0, or at least 1e-30.", "%v is too small", v)
	}
	return checkShare(field, v)
}

func (c Chance) check() error {
	for _, v := range []float64{c.IfInfested, c.IfNotInfested} {
		if err := checkChance("chance", v); err != nil {
			return err
		}
	}
	if c.IfInfested == 0 && c.IfNotInfested == 0 {
		return ref.Inputf("chance", "Check the sensitivity and specificity given for this animal.",
			"the record of this animal is impossible whether it is infested or not")
	}
	return nil
}

// Seeing is how well one way of looking at one animal works.
type Seeing struct {
	// Sensitivity is the chance that an infested animal is recorded positive.
	Sensitivity float64
	// Specificity is the chance that an animal without the condition is
	// recorded clean; 1 when every suspicion is confirmed before it is entered.
	Specificity float64
}

// PerfectSeeing misses nothing and mistakes nothing.
var PerfectSeeing = Seeing{Sensitivity: 1, Specificity: 1}

// Clean returns the chances of a record without signs.
func (s Seeing) Clean() Chance { return Chance{1 - s.Sensitivity, s.Specificity} }

// Positive returns the chances of a record with signs.
func (s Seeing) Positive() Chance { return Chance{s.Sensitivity, 1 - s.Specificity} }

// Times returns how well k looks at the same animal do together when an
// animal counts as positive as soon as one look is.
//
//	Se_k = 1 - (1-Se)^k      Sp_k = Sp^k
//
// k is at least 1. The looks are taken as independent, which is optimistic: a
// worm that hides today hides tomorrow. For sides of one animal give each side
// its own Chance instead.
func (s Seeing) Times(k int) Seeing {
	if k < 1 {
		k = 1
	}
	return Seeing{
		Sensitivity: -math.Expm1(float64(k) * math.Log1p(-s.Sensitivity)),
		Specificity: math.Pow(s.Specificity, float64(k)),
	}
}

// Check refuses shares outside [0, 1] and a way of looking that says nothing,
// or the opposite of what it should: sensitivity + specificity must exceed 1.
func (s Seeing) Check() error {
	if err := checkShare("sensitivity", s.Sensitivity); err != nil {
		return err
	}
	if err := checkShare("specificity", s.Specificity); err != nil {
		return err
	}
	if s.Sensitivity+s.Specificity <= 1 {
		return ref.Inputf("sensitivity", "Sensitivity and specificity together must exceed 1.",
			"looking with sensitivity %v and specificity %v tells nothing", s.Sensitivity, s.Specificity)
	}
	return nil
}

// Repeat returns n animals with the same record.
func Repeat(c Chance, n int) []Chance {
	if n <= 0 {
		return nil
	}
	out := make([]Chance, n)
	for i := range out {
		out[i] = c
	}
	return out
}
