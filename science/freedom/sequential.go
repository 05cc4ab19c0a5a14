package freedom

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"holdfast/science/ref"
)

// Line is what a lot must reach before it may go: drawn on the chance of
// clear, or on the bag risk when Bag is not 0.
type Line struct {
	// Clear is the least chance of clear, in (0, 1). Used when Bag is 0.
	Clear float64
	// Bag is the number of animals in a bag, and Risk the highest chance, in
	// (0, 1), that a bag carries the condition.
	Bag  int
	Risk float64
}

// ClearLine draws the line on the chance of clear.
func ClearLine(chance float64) Line { return Line{Clear: chance} }

// BagLine draws the line on the risk of a bag of m animals.
func BagLine(m int, risk float64) Line { return Line{Bag: m, Risk: risk} }

// Met tells whether the lot reaches the line. A bag larger than the lot is
// judged as the whole lot.
func (line Line) Met(l Lot) bool {
	ok, _ := line.judge(line.glanceAt(l))
	return ok
}

func logit(p float64) float64 { return math.Log(p / (1 - p)) }

func (line Line) check() error {
	if line.Bag == 0 {
		return checkOpenShare("line", line.Clear)
	}
	if err := checkCount("bag", line.Bag, 1, MaxAnimals); err != nil {
		return err
	}
	return checkOpenShare("line", line.Risk)
}

// words names the line for a reason: "a chance of clear of 95 %".
func (line Line) words() string {
	if line.Bag == 0 {
		return "a chance of clear of " + percent(line.Clear)
	}
	return fmt.Sprintf("a bag risk of %s for %d animals", percent(line.Risk), line.Bag)
}

// percent writes a share as people read it: whole per cents, and two digits of
// the rarer side where that is less than ten per cent. It never says 0 % or
// 100 % of what is not sure.
func percent(share float64) string {
	switch {
	case share > 0 && share < 0.5e-4:
		return "under 0.01 %"
	case share < 1 && share > 1-0.5e-4:
		return "over 99.99 %"
	}
	digits := 0
	for rare := min(share, 1-share) * 100; rare > 0 && rare < 10 && digits < 4; rare *= 10 {
		if at := share * 100 * math.Pow10(digits); math.Abs(at-math.Round(at)) < 1e-6 {
			break
		}
		digits++
	}
	return fmt.Sprintf("%.*f %%", digits, share*100)
}

// MoreClean returns how many more animals, all clean, bring the lot to the
// line: "seventeen more clean ones and you are there". They are looked at as
// next says, at random, in the same look as sofar: animals already recorded
// today and not yet entered into the lot (nil for a new look), so that no
// animal is looked at twice.
//
// The answer is the smallest m >= 0 for which Look(sofar and m clean) meets
// the line, found by bracketing: each further clean animal raises the chance of
// clear and lowers the bag risk (the number still infested falls in likelihood
// ratio order, because the coefficients of the look are log-concave).
//
// MoreClean returns *ref.NoAnswer when even all animals alive, each looked at
// once and clean, do not reach the line, or when the lot is known to carry the
// condition and so can never be clear by looking; bad input as Look does.
func (l Lot) MoreClean(line Line, sofar []Chance, next Seeing) (int, error) {
	m, _, err := l.moreClean(line, sofar, next)
	return m, err
}

// moreClean also returns the lots it tried, by number of clean animals; 0 is
// among them unless the input is bad.
func (l Lot) moreClean(line Line, sofar []Chance, next Seeing) (int, map[int]Lot, error) {
	seen, err := grouped(sofar)
	if err != nil {
		return 0, nil, err
	}
	tried := map[int]Lot{}
	m, err := moreClean(line, l.Alive(), len(sofar), next, func(m int) (bool, float64, error) {
		after, err := l.look(append(slices.Clone(seen), group{next.Clean(), m}))
		if err != nil {
			return false, 0, err
		}
		tried[m] = after
		met, margin := line.judge(line.glanceAt(after))
		return met, margin, nil
	})
	return m, tried, err
}

// moreClean finds the smallest m for which judge(m) says that the line is met.
func moreClean(line Line, alive, sofar int, next Seeing, judge func(m int) (bool, float64, error)) (int, error) {
	if err := line.check(); err != nil {
		return 0, err
	}
	if err := next.Check(); err != nil {
		return 0, err
	}
	if err := checkLooked(sofar, alive); err != nil {
		return 0, err
	}
	left, impossible := alive-sofar, alive+1 // the fewest clean ones that cannot be
	m, found, err := least(left, func(m int) (bool, float64, error) {
		met, margin, err := judge(m)
		var contradicted *ref.NoAnswer
		if errors.As(err, &contradicted) {
			impossible = min(impossible, m)
			return true, math.Inf(1), nil // look below
		}
		return met, margin, err
	})
	if err != nil {
		return 0, err
	}
	if !found {
		return 0, unreachable(line, left, sofar)
	}
	switch impossible {
	case 0:
		return 0, contradiction()
	case m:
		return 0, &ref.NoAnswer{Reason: "This lot is known to carry the condition: before clean animals could bring it to " + line.words() + " the carriers would have to be among them."}
	}
	return m, nil
}

// least returns the smallest m in 0..most at which ok holds, which it does
// from some m on; found is false when it does not hold at most. margin is
// below 0 before and above after. Drawn against the logarithm of m it is
// nearly straight, so the search aims along it (false position, the end that
// stays twice at half weight: the Illinois rule) and halves the bracket every
// fourth time in case it is not.
func least(most int, ok func(m int) (bool, float64, error)) (m int, found bool, err error) {
	holds, below, err := ok(0)
	if err != nil || holds {
		return 0, holds, err
	}
	holds, above, err := ok(most)
	if err != nil || !holds {
		return 0, false, err
	}
	low, high, moved := 0, most, 0 // the end that moved last: -1 low, +1 high
	for step := 1; high-low > 1; step++ {
		mid := low + (high-low)/2
		if rise := above - below; step%4 != 0 && rise > 0 && !math.IsInf(rise, 0) {
			from, to := math.Log1p(float64(low)), math.Log1p(float64(high))
			mid = int(math.Ceil(math.Expm1(from - below/rise*(to-from))))
			mid = min(max(mid, low+1), high-1)
		}
		holds, margin, err := ok(mid)
		if err != nil {
			return 0, false, err
		}
		if holds {
			if high, above = mid, margin; moved > 0 {
				below /= 2
			}
			moved = 1
		} else {
			if low, below = mid, margin; moved < 0 {
				above /= 2
			}
			moved = -1
		}
	}
	return high, true, nil
}

func unreachable(line Line, left, sofar int) error {
	what := fmt.Sprintf("Looking at all %d animals and finding nothing", left)
	switch {
	case left == 0:
		what = "All animals have been looked at, and that"
	case sofar > 0:
		what = fmt.Sprintf("Looking at all %d others too and finding nothing", left)
	}
	return &ref.NoAnswer{Reason: what + " does not reach " + line.words() + ": one look misses too much. Look again another day, see more of each animal, or treat."}
}

// AllClean returns the chance that n animals looked at, at random, would all
// be clean: how likely the good news is before anyone looks.
func (l Lot) AllClean(n int, how Seeing) (float64, error) {
	after, err := l.Look(Repeat(how.Clean(), n))
	if err != nil {
		var impossible *ref.NoAnswer
		if errors.As(err, &impossible) {
			return 0, nil
		}
		return 0, err
	}
	return min(1, math.Exp(after.logEv-l.logEv)), nil
}

// IfOnePositive returns what one positive among the next n animals, the others
// clean, would make of the lot.
//
// n is at least 1 and at most N. With specificity 1 the lot is then surely not
// clear.
func (l Lot) IfOnePositive(n int, how Seeing) (Lot, error) {
	if err := checkCount("looked", n, 1, l.Alive()); err != nil {
		return Lot{}, err
	}
	return l.Look(append(Repeat(how.Clean(), n-1), how.Positive()))
}
