package freedom

import (
	"math"

	"holdfast/science/ref"
)

// Look returns the lot after a random look at len(animals) of its animals,
// caught without replacement within the look and put back after it.
//
//	P(D | records) ∝ P(D) · [z^D] (1+z)^(N-n) prod_i (b_i + a_i z) / C(N, D)
//
// with a_i and b_i the chances of what was recorded on animal i. The order of
// animals does not matter. Time is O(N) for up to two different records, and
// O(N) more for every animal with yet another record.
//
// A look that chose its animals (the slow ones, the pale ones) is not random:
// use [Lot.LookWeak] or [Lot.Found]. Two looks at the same animals are not
// independent of each other; a look that repeats the same catch should be
// entered once, with the better of both records.
//
// Look returns an error when more animals were looked at than are alive, when
// a chance is out of range, and *ref.NoAnswer when the records contradict what
// is already known.
//
// Accuracy: relative error below 1e-11 in every P(D) above 1e-250 for N up to
// 60 against rational arithmetic, see TestLookAgainstRational.
// Source: cameron1998
func (l Lot) Look(animals []Chance) (Lot, error) {
	groups, err := grouped(animals)
	if err != nil {
		return Lot{}, err
	}
	return l.look(groups)
}

func (l Lot) look(groups []group) (Lot, error) {
	n, alive := 0, l.Alive()
	for _, g := range groups {
		n += g.n
	}
	if err := checkLooked(n, alive); err != nil {
		return Lot{}, err
	}
	seen := multiply(append([]group{{Chance{1, 1}, alive - n}}, groups...))
	// C(N, D) rises by (N-D)/(D+1) from D to D+1.
	for i := range seen.ratio {
		d := seen.low + i
		seen.ratio[i] *= float64(d+1) / float64(alive-d)
	}
	for d := range seen.low {
		seen.logC += math.Log(float64(d+1) / float64(alive-d))
	}
	return l.weigh(seen)
}

func checkLooked(n, alive int) error {
	if n > alive {
		return ref.Inputf("looked", "Count the animals alive again, or enter two looks.",
			"%d animals were looked at but only %d are alive", n, alive)
	}
	return nil
}

// weigh multiplies P(D) by the coefficient of z^D.
func (l Lot) weigh(by product) (Lot, error) {
	if by.low > l.Alive() {
		return Lot{}, contradiction()
	}
	return l.reweigh(by.low, by.logC, runFromRatios(by.ratio))
}

// Take returns the lot without len(animals) animals that were caught at random,
// recorded as given, and do not go back (sent to a laboratory, put down, moved
// to the hospital tank). One at a time:
//
//	P'(d) ∝ b P(d) (N-d)/N + a P(d+1) (d+1)/N
//
// When of one random catch some go back and some do not, give those that leave
// to Take and the rest to Look of the result: that is exact whatever the
// choice was based on, as long as it was based on what is in the records.
//
// Take returns an error as Look does. Time is O(N) for each animal.
func (l Lot) Take(animals []Chance) (Lot, error) {
	if err := checkLooked(len(animals), l.Alive()); err != nil {
		return Lot{}, err
	}
	mass, logEv := l.Distribution(), l.logEv
	for _, a := range animals {
		if err := a.check(); err != nil {
			return Lot{}, err
		}
		top := max(a.IfInfested, a.IfNotInfested) // so that no product underflows
		sum := takeOne(mass, Chance{a.IfInfested / top, a.IfNotInfested / top})
		mass = mass[:len(mass)-1]
		if sum == 0 {
			return Lot{}, contradiction()
		}
		scale(mass, sum)
		logEv += math.Log(sum) + math.Log(top)
	}
	return Lot{mass: mass, logEv: logEv}, nil
}

// takeOne removes one random animal recorded as c from mass in place, leaving
// the last element unused, and returns the sum.
func takeOne(mass []float64, c Chance) float64 {
	n := len(mass) - 1
	stay, leave := c.IfNotInfested/float64(n), c.IfInfested/float64(n)
	sum := 0.0
	for d := range n {
		v := mass[d]*float64(n-d)*stay + mass[d+1]*float64(d+1)*leave
		mass[d] = v
		sum += v
	}
	return sum
}

// LookWeak returns the lot after a look at animals chosen for looking weak,
// pale or slow. Weak of the animals alive are such; those looked at are random
// among them. odds says how many times the odds of being infested are higher
// for a weak animal than for another: 1 makes it a random look at the weak
// ones, and a number above 1 makes each clean weak animal prove more.
//
//	P(D | records) ∝ P(D) · [z^D] (1+z)^(N-w) (1+oz)^(w-n) prod_i (b_i + a_i o z)
//	                      / [z^D] (1+z)^(N-w) (1+oz)^w
//
// which is Fisher's noncentral hypergeometric distribution of the infested
// among the weak. The odds are an assumption: if weak animals are not in truth
// infested more often, an odds above 1 makes the lot look safer than it is.
// Give the caught animals their own sensitivity in their chances.
//
// LookWeak returns an error as Look does, and when weak is below the number
// looked at or odds lies outside [1/1000, 1000].
// Source: fisher1935
func (l Lot) LookWeak(weak int, odds float64, animals []Chance) (Lot, error) {
	alive := l.Alive()
	if err := checkCount("weak", weak, len(animals), alive); err != nil {
		return Lot{}, err
	}
	if math.IsNaN(odds) || odds < 1e-3 || odds > 1e3 {
		return Lot{}, ref.Inputf("odds", "Give how many times the odds are higher, for instance 3; 1 if you do not know.", "%v is out of range", odds)
	}
	groups, err := grouped(animals)
	if err != nil {
		return Lot{}, err
	}
	for i := range groups {
		groups[i].IfInfested *= odds
	}
	others := group{Chance{1, 1}, alive - weak}
	seen := multiply(append(groups, others, group{Chance{odds, 1}, weak - len(animals)}))
	all := multiply([]group{others, {Chance{odds, 1}, weak}})
	for i := range seen.ratio {
		seen.ratio[i] /= all.ratio[seen.low+i]
	}
	for _, r := range all.ratio[:seen.low] {
		seen.logC -= math.Log(r)
	}
	seen.logC -= all.logC
	return l.weigh(seen)
}

// Found returns the lot once at least k of its animals are known for sure to
// be infested, however they were come upon: a chance sight, a hand-picked weak
// animal, a buyer's word. It uses the presence and nothing else,
//
//	P(D | found) ∝ P(D) for D >= k
//
// so that animals chosen by eye never count as a random look: clean ones among
// them prove nothing here, and k found of many chosen says nothing of the
// share.
//
// Found returns an error when k exceeds the animals alive, *ref.NoAnswer when
// that many was already impossible.
func (l Lot) Found(k int) (Lot, error) {
	if err := checkCount("found", k, 0, l.Alive()); err != nil {
		return Lot{}, err
	}
	mass, sum := l.Distribution(), 0.0
	clear(mass[:k])
	for _, p := range mass {
		sum += p
	}
	if sum == 0 {
		return Lot{}, contradiction()
	}
	scale(mass, sum)
	return Lot{mass: mass, logEv: l.logEv + math.Log(sum)}, nil
}
