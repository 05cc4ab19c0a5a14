package freedom

import (
	"math"

	"holdfast/science/ref"
)

// RoganGladen returns the share truly infested behind an apparent share, with
// no clamping:
//
//	P = (AP + Sp - 1) / (Se + Sp - 1)
//
// apparent lies in [0, 1]. Below 0 it means fewer positives than mistakes
// alone would give, above 1 that the sensitivity is higher than thought.
// Source: rogan1978
func RoganGladen(apparent float64, how Seeing) (float64, error) {
	if err := checkShare("apparent", apparent); err != nil {
		return 0, err
	}
	if err := how.Check(); err != nil {
		return 0, err
	}
	return how.truth(apparent), nil
}

func (s Seeing) truth(apparent float64) float64 {
	return (apparent - (1 - s.Specificity)) / (s.Sensitivity - (1 - s.Specificity))
}

// Through carries an interval for the apparent share over to the true one, end
// by end, and clips it to [0, 1]. It takes sensitivity and specificity as
// known; when they are learned from few animals the truth is wider.
func (i Interval) Through(how Seeing) Interval {
	return Interval{how.truth(i.Low), how.truth(i.High)}.Clip()
}

// RoganGladenWald returns the usual large-sample interval for the true share,
// unclipped:
//
//	P ± z √(AP(1-AP)/n) / (Se + Sp - 1)
//
// Too narrow for few animals and of no width at k = 0: for comparison only.
// Source: rogan1978
func RoganGladenWald(k, n int, how Seeing, confidence float64) (Interval, error) {
	if err := checkSeen(k, n, confidence); err != nil {
		return Interval{}, err
	}
	if err := how.Check(); err != nil {
		return Interval{}, err
	}
	p := float64(k) / float64(n)
	half := normalTwoSided(confidence) * math.Sqrt(p*(1-p)/float64(n)) / (how.Sensitivity + how.Specificity - 1)
	return Interval{how.truth(p) - half, how.truth(p) + half}, nil
}

// Record is what one look at a lot gave.
type Record struct {
	// Looked of the animals were looked at, at random; Positive had signs.
	Looked, Positive int
	// Population is the number alive, 0 when not known or very large.
	Population int
	// How one looked.
	How Seeing
	// Confidence of the intervals, in (0, 1).
	Confidence float64
	// Prior of the lot; used when Population is known.
	Prior Prior
}

// Estimate is what a look proves.
type Estimate struct {
	// Apparent is the share recorded positive, with its intervals.
	Apparent                                               float64
	ClopperPearson, Wilson, AgrestiCoull, Jeffreys, Blaker Interval
	// True is the share infested: Rogan and Gladen's estimate clamped to
	// [0, 1], with the Clopper-Pearson limits carried over.
	True         float64
	TrueInterval Interval
	// TrueMethod names how True was computed.
	TrueMethod string
	// Clamped says that fewer positives were seen than mistakes alone would
	// give, or more than the sensitivity allows, so True is an end of its range.
	Clamped bool
	// Lot is the posterior, and Before the prior, when Population is known.
	Lot, Before Lot
	// HasLot says so.
	HasLot bool
}

// TrueMethod is the name of the method behind Estimate.True.
const TrueMethod = "Rogan-Gladen, Clopper-Pearson limits mapped, clamped to 0..1"

// Judge returns what a record proves.
func Judge(r Record) (Estimate, error) {
	if err := checkSeen(r.Positive, r.Looked, r.Confidence); err != nil {
		return Estimate{}, err
	}
	if err := checkCount("population", r.Population, 0, MaxAnimals); err != nil {
		return Estimate{}, err
	}
	if err := r.How.Check(); err != nil {
		return Estimate{}, err
	}
	e := Estimate{Apparent: float64(r.Positive) / float64(r.Looked), TrueMethod: TrueMethod}
	for _, m := range []struct {
		into *Interval
		by   func(k, n int, confidence float64) (Interval, error)
	}{
		{&e.ClopperPearson, ClopperPearson}, {&e.Wilson, Wilson}, {&e.AgrestiCoull, AgrestiCoull},
		{&e.Jeffreys, Jeffreys}, {&e.Blaker, Blaker},
	} {
		i, err := m.by(r.Positive, r.Looked, r.Confidence)
		if err != nil {
			return Estimate{}, err
		}
		*m.into = i
	}
	raw := r.How.truth(e.Apparent)
	e.True, e.TrueInterval = clip(raw), e.ClopperPearson.Through(r.How)
	e.Clamped = raw < 0 || raw > 1
	if r.Population == 0 {
		return e, nil
	}
	if r.Looked > r.Population {
		return Estimate{}, checkLooked(r.Looked, r.Population)
	}
	var err error
	if e.Before, err = NewLot(r.Population, r.Prior); err != nil {
		return Estimate{}, err
	}
	e.HasLot = true
	e.Lot, err = e.Before.look([]group{
		{r.How.Clean(), r.Looked - r.Positive},
		{r.How.Positive(), r.Positive},
	})
	return e, err
}

// InfestedLimits returns the one-sided limits for the number infested in a
// finite lot, those looked at included, when positive of looked were positive:
//
//	high = largest D with P(T <= x | D) > 1-c
//	low  = smallest D with P(T >= x | D) > 1-c
//
// No prior enters. Each limit holds on its own with confidence c; both
// together with 2c-1.
//
// Source: cannon2001 (perfect looks); with imperfect ones T as in Detect.
func InfestedLimits(population, looked, positive int, confidence float64, how Seeing) (low, high int, err error) {
	if err := checkCount("population", population, 1, MaxAnimals); err != nil {
		return 0, 0, err
	}
	if err := checkSeen(positive, looked, confidence); err != nil {
		return 0, 0, err
	}
	if err := checkLooked(looked, population); err != nil {
		return 0, 0, err
	}
	if err := how.Check(); err != nil {
		return 0, 0, err
	}
	// P(T > k | D) grows with D. chance says whether it is refused.
	more := func(D, k int) float64 {
		if k < 0 {
			return 1
		}
		return newDetector(population, D, how).exceeds(looked, k)
	}
	// more can round to 1 within 1e-16 of it, hence the slack on both sides.
	high, found := fewest(0, population, func(D int) bool { return more(D, positive) >= confidence-slack })
	if found {
		high--
	} else {
		high = population
	}
	low, found = fewest(0, population, func(D int) bool { return more(D, positive-1) > 1-confidence+slack })
	if !found || high < low {
		return 0, 0, &ref.NoAnswer{Reason: "So many positives do not fit any number infested at this sensitivity and specificity. Check both."}
	}
	return low, high, nil
}
