package freedom

import "math"

// Treat returns the lot after something that clears the whole lot with chance
// clears, and otherwise leaves an unknown smaller number infested: those left
// are D given D >= 1 with D ~ BetaBinomial(N, a, b) of the prior left, whose
// Infested is not used.
//
//	P'(0) = P(0) + clears (1 - P(0))
//	P'(d) = (1 - clears) (1 - P(0)) P(D = d | D >= 1),  d >= 1
//
// What the looks before it said of how many were infested is given up on
// purpose: after a bath nobody knows how many still carry eggs. It is the
// static stand-in for a life-cycle model.
//
// clears lies in [0, 1].
func (l Lot) Treat(clears float64, left Prior) (Lot, error) {
	if err := checkShare("clears", clears); err != nil {
		return Lot{}, err
	}
	if err := left.check(); err != nil {
		return Lot{}, err
	}
	if l.Alive() == 0 {
		return l, nil
	}
	mass := betaBinomial(l.Alive(), left.A, left.B)
	still, some := (1-clears)*l.Infested(), Lot{mass: mass}.Infested()
	for d := range mass[1:] {
		mass[d+1] *= still / some
	}
	mass[0] = l.Clear() + clears*l.Infested()
	scale(mass, 1)
	return Lot{mass: mass, logEv: l.logEv}, nil
}

// Join returns the belief about a lot joined of both: at each level of how
// well we see, the lots are joined as [Lot.Join] does. Both must have the same
// number of levels. A level that either finds impossible stays so.
func (b Belief) Join(other Belief) (Belief, error) {
	if err := checkCount("levels", len(other.all()), len(b.all()), len(b.all())); err != nil {
		return Belief{}, err
	}
	out := Belief{lots: make([]Lot, len(b.all()))}
	for i, l := range b.all() {
		if math.IsInf(l.logEv, -1) || math.IsInf(other.all()[i].logEv, -1) {
			out.lots[i] = Lot{mass: l.mass, logEv: math.Inf(-1)}
			continue
		}
		joined, err := l.Join(other.all()[i])
		if err != nil {
			return Belief{}, err
		}
		out.lots[i] = joined
	}
	return out, nil
}
