package freedom

import "math"

// glance is what a line is judged by, without the whole distribution behind it.
type glance struct {
	clear, infested float64 // P(D = 0) and P(D > 0)
	risk            float64 // of a bag, when the line asks for one
	logEv           float64
}

// glanceAt reads off a lot what the line is judged by.
func (line Line) glanceAt(l Lot) glance {
	g := glance{clear: l.Clear(), infested: l.Infested(), logEv: l.logEv}
	if line.Bag > 0 {
		g.risk = l.bagRisk(min(line.Bag, l.Alive()))
	}
	return g
}

// judge tells whether the line is met, and by how much in log odds.
func (line Line) judge(g glance) (met bool, margin float64) {
	const slack = 1e-12
	if line.Bag == 0 {
		return g.clear >= line.Clear-slack, math.Log(g.clear/g.infested) - logit(line.Clear)
	}
	return g.risk <= line.Risk+slack, logit(line.Risk) - logit(g.risk)
}

// unseen is where the tail of a sum no longer reaches its sixteenth digit.
const unseen = 1e-19

// glanceClean is glanceAt of the lot after n animals, all recorded alike as c,
// without making that lot: with a record that speaks against infestation the
// weight of D falls with every D, so the sum may stop where the rest, at most
// the last weight, is unseen. false means that it cannot tell this way (the
// record speaks for infestation, or nearly all the weight lies far out) and
// the lot has to be made.
func (line Line) glanceClean(l Lot, c Chance, n int) (glance, bool) {
	if c.IfNotInfested == 0 || c.IfInfested > c.IfNotInfested || n == 0 {
		return glance{}, false
	}
	mass, alive, odds := l.dist(), l.Alive(), c.IfInfested/c.IfNotInfested
	rest := alive - n
	// See [twoBinomials]: upwards its terms are positive only up to here.
	turn := alive
	if rest > 0 {
		turn = int((float64(n)*odds + float64(rest)) / (odds + 1))
	}
	bag, risk, miss := min(line.Bag, alive), 0.0, 1.0 // of a bag when d are infested
	weight, before := 1.0, 0.0                        // of d and of d-1
	var beyond []float64                              // c_{d+1}/c_d from d = turn+1 on
	sum, infested, risky := 0.0, 0.0, 0.0
	for d := 0; ; d++ {
		w := mass[d] * weight
		sum += w
		risky += w * risk
		if d > 0 {
			infested += w
		}
		if d == alive {
			break
		}
		if weight < leastMass {
			return glance{}, false
		}
		// The recursion of [twoBinomials], each coefficient divided by C(N, d).
		next := weight
		switch {
		case rest == 0:
			next *= odds
		case d <= turn:
			each := 1 / float64(alive-d)
			next = (odds*float64(n-d)+float64(rest-d))*each*weight + odds*float64(d)*each*before
		default:
			if beyond == nil {
				beyond = ratiosBeyond(turn, odds, n, alive)
			}
			next *= beyond[d-turn-1] * float64(d+1) / float64(alive-d)
		}
		before, weight = weight, next
		if weight <= unseen*sum {
			break
		}
		if bag > 0 {
			hit := min(1, float64(bag)/float64(alive-d))
			risk += miss * hit
			miss *= 1 - hit
		}
	}
	if sum < math.Sqrt(leastMass) {
		return glance{}, false
	}
	return glance{
		clear: mass[0] / sum, infested: infested / sum, risk: risky / sum,
		logEv: l.logEv + math.Log(sum) + float64(n)*math.Log(c.IfNotInfested),
	}, true
}

// ratiosBeyond returns the ratios of [twoBinomials] from d = turn+1 on, for n
// animals of the given odds and the others of odds 1.
func ratiosBeyond(turn int, odds float64, n, alive int) []float64 {
	ratio := make([]float64, max(alive-turn-1, 0))
	above := 0.0
	for d := alive; d > turn+1; d-- {
		slope := odds*float64(n-d) + float64(alive-n-d)
		above = odds * float64(alive-d+1) / (float64(d+1)*above - slope)
		ratio[d-turn-2] = above
	}
	return ratio
}
