package clearance

import (
	"context"
	"math"
	"slices"
)

// Played is one lot that was made up, with everything known of it.
type Played struct {
	// Infested says whether the lot arrived infested.
	Infested bool
	// Looks are the case's looks with what they found.
	Looks []Look
	// Clear, Carrying and Alive are the truth on each day asked for.
	Clear    []bool
	Carrying []int
	Alive    []int
	// Figures and Kills (by treatment) are what was true of this lot.
	Figures Values
	Kills   map[string]float64
}

// Play makes up lot n of the case: it draws a truth from the condition's beliefs,
// follows one lot and lets every look, made or planned, turn out by chance. It
// serves to try the statements of Evidence on lots whose truth is known, and for
// invented data. Animals with signs leave where the look says so.
func Play(c Case, n int) (Played, error) {
	p, err := c.prepared()
	if err != nil {
		return Played{}, err
	}
	for i := range p.Looks {
		p.Looks[i].Worms, p.Looks[i].Eggs, p.Looks[i].Both = 0, 0, nil
	}
	k := runKey(p.Seed, n)
	luck := k.child(1 << 40)
	var v Values
	ids := p.Condition.treatmentIDs()
	kill := make([]float64, len(ids))
	p.Condition.draw(k, &v, kill, ids)
	out := Played{Infested: luck.unit(0) < *p.Infested, Figures: v, Kills: map[string]float64{}, Looks: p.Looks}
	for i, id := range ids {
		out.Kills[id] = kill[i]
	}
	var partings []parting
	for i := range p.Looks {
		t := p.trial(p.Looks[i].Day, false)
		t.settled = math.Inf(1) // every look is made
		r := t.newRun()
		r.follow(k, &v, kill, nil, partings)
		partings = append(partings, out.look(r, p, i, luck.child(uint64(i)))...)
	}
	r := p.trial(p.horizon(), true).newRun()
	r.follow(k, &v, kill, nil, partings)
	infested, alive := make([]uint16, len(p.Days)), make([]uint16, len(p.Days))
	r.count(infested, alive)
	for d, day := range p.Days {
		clear := !out.Infested || r.end <= day+evening
		carrying := int(infested[d])
		if !out.Infested {
			carrying = 0
		}
		out.Clear, out.Carrying, out.Alive = append(out.Clear, clear), append(out.Carrying, carrying), append(out.Alive, int(alive[d]))
	}
	return out, nil
}

// look lets look i turn out, on animals taken one by one, and returns where those
// with signs go.
func (out *Played) look(r *run, c *Case, i int, luck key) []parting {
	l := &out.Looks[i]
	lens := l.lens(&r.v, c.Condition.EggMin)
	var here []int
	for h := range r.hosts {
		if r.present(h, l.Day, l.Tank) {
			here = append(here, h)
		}
	}
	var gone []parting
	l.Animals = min(l.Animals, len(here))
	for n := range l.Animals {
		pick := n + int(luck.unit(at(0, uint64(n)))*float64(len(here)-n))
		here[n], here[pick] = here[pick], here[n]
		h := here[n]
		chance := lens.false
		if row := r.host(h).row; out.Infested && row >= 0 {
			chance = lens.of(r.loads[int(row)*len(r.looks.times)+i])
		}
		worm, egg := luck.unit(at(1, uint64(n))) < chance.worm, luck.unit(at(2, uint64(n))) < chance.egg
		if worm {
			l.Worms++
		}
		if egg {
			l.Eggs++
		}
		if (worm || egg) && l.PositivesTo != nil {
			gone = append(gone, parting{l.Day, int32(h), int32(*l.PositivesTo)})
		}
	}
	return gone
}

// Weighed are the runs behind an answer, each with its weight: what the lot
// teaches about every figure.
type Weighed struct {
	// Infested is the chance that the lot arrived infested.
	Infested float64
	// Weights are those of the runs of an infested lot and, had it not been, of the
	// same truths; each list sums to 1.
	Weights, CleanWeights []float64
	Figures               []Values
	// Kills are run by run in the order of Treatments.
	Kills      [][]float64
	Treatments []string
	// Clear and Carrying are run × day asked for.
	Clear    [][]bool
	Carrying [][]int
}

// Weigh follows c.Runs lots and weighs them by the looks made; planned ones weigh
// nothing. It returns the errors of Evidence.
func Weigh(ctx context.Context, c Case) (Weighed, error) {
	p, err := c.prepared()
	if err != nil {
		return Weighed{}, err
	}
	s := newSample(p, mixed)
	if err := s.grow(ctx, p.Runs); err != nil {
		return Weighed{}, err
	}
	w := weigh([]stage{{sample: s}}, *p.Infested, len(p.Looks), false)
	total := w.total()
	if total == 0 {
		return Weighed{}, noFit
	}
	out := Weighed{Infested: w.pi * mean(w.infested) / total, Treatments: s.ids, Figures: s.truth,
		Weights: normal(w.infested), CleanWeights: normal(w.clean)}
	for i := range s.n {
		out.Kills = append(out.Kills, slices.Clone(s.kills[i*len(s.ids):(i+1)*len(s.ids)]))
		clear, carrying := make([]bool, s.days), make([]int, s.days)
		for d, day := range p.Days {
			clear[d] = s.end[i] <= day+evening
			carrying[d] = int(s.infested[i*s.days+d])
		}
		out.Clear, out.Carrying = append(out.Clear, clear), append(out.Carrying, carrying)
	}
	return out, nil
}

// normal scales weights to sum to 1, or leaves them all 0.
func normal(w []float64) []float64 {
	sum := 0.0
	for _, x := range w {
		sum += x
	}
	out := make([]float64, len(w))
	for i, x := range w {
		if sum > 0 {
			out[i] = x / sum
		}
	}
	return out
}
