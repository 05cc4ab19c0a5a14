package clearance

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// Standing is what is known of a lot today: runs drawn in proportion to how well
// they explain what was seen, so that every plan is tried on the same lots.
type Standing struct {
	c    *Case // the past only
	mode mode
	past *sample
	// copies are the runs that plans are tried on, each as likely as the others.
	copies   []particle
	ancestor []int
	// infested is the chance, today, that the lot arrived infested.
	infested float64
	// clean are the weights of past's runs had the lot not been infested, summing
	// to 1.
	clean []float64
	// few is how many effective runs a rough standing rests on; 0: it is none.
	few float64
}

// Stand works out where a lot stands on c.Today from c.Runs lots (0 means 1,000).
// Only what has happened counts: doses begun, pulls made, looks made, animals gone;
// what the case plans is left out. It returns the errors of Evidence.
func Stand(ctx context.Context, c Case) (*Standing, error) {
	if c.Runs == 0 {
		c.Runs = 1000
	}
	p, err := c.soFar().prepared()
	if err != nil {
		return nil, err
	}
	return stand(ctx, p, mixed)
}

// roughESS effective runs are enough for a rough standing, and leastESS the fewest:
// of fewer all may be clear by chance.
const roughESS, leastESS = 60, 25

// StandSoon is Stand for who waits: it follows lots, most of them by lot only as
// Sift does, until enough of them carry the weight, or soon ends and some do. What is
// tried on it says by its error how rough it is. ctx ends everything. Errors are
// those of Stand.
func StandSoon(ctx, soon context.Context, c Case) (*Standing, error) {
	c.Runs = cmp.Or(c.Runs, 200)
	p, err := c.soFar().prepared()
	if err != nil {
		return nil, err
	}
	if len(p.Looks) == 0 {
		return stand(ctx, p, mixed)
	}
	var best *Standing
	past := newSample(p, mixed)
	for n := 100; ; n *= 2 {
		if best != nil && best.few >= leastESS {
			ctx = soon
		}
		if err := past.sift(ctx, n); err != nil {
			if best != nil && best.few >= leastESS {
				return best, nil
			}
			return nil, err
		}
		stages := []stage{{sample: past}}
		w := weigh(stages, *p.Infested, len(p.Looks), false)
		if w.total() > 0 {
			s := &Standing{c: p, mode: mixed, past: past, few: w.ess()}
			s.settle(w, &stages[0])
			best = s
		}
		if n*2 > maxRuns && best == nil {
			return nil, noFit
		}
		if n*2 > maxRuns || best != nil && (best.few >= roughESS || best.few >= leastESS && soon.Err() != nil) {
			return best, nil
		}
	}
}

// warmed is the standing with other temperatures after today.
func (s *Standing) warmed(tanks []Tank) *Standing {
	n, c := *s, *s.c
	c.Tanks = tanks
	n.c = &c
	return &n
}

// soFar returns the case without what lies after today.
func (c *Case) soFar() *Case {
	n := *c
	n.Days = []float64{c.Today}
	n.Doses = slices.DeleteFunc(slices.Clone(c.Doses), func(d Dose) bool { return d.Day > c.Today })
	n.Looks = slices.DeleteFunc(slices.Clone(c.Looks), func(l Look) bool { return l.Planned || l.Day > c.Today })
	n.Exits = slices.DeleteFunc(slices.Clone(c.Exits), func(x Exit) bool { return x.Day > c.Today })
	n.Moves = slices.DeleteFunc(slices.Clone(c.Moves), func(m Move) bool { return m.Day > c.Today })
	n.Pulls = nil
	for _, p := range c.Pulls {
		if p.From <= c.Today {
			p.To = min(p.To, c.Today)
			n.Pulls = append(n.Pulls, p)
		}
	}
	return &n
}

func stand(ctx context.Context, c *Case, m mode) (*Standing, error) {
	s := &Standing{c: c, mode: m, past: newSample(c, m)}
	looks := len(c.Looks)
	n := c.Runs
	most := min(maxRuns, max(2000, 2*maxTried/c.Animals)) // so that a large lot does not take for ever
	if looks > 0 {
		n = max(n, min(2000, 5*n))
	}
	stages := []stage{{sample: s.past}}
	var w *weights
	for {
		if err := s.past.grow(ctx, min(n, most)); err != nil {
			return nil, err
		}
		w = weigh(stages, *c.Infested, looks, false)
		// Fewer than half as many effective runs as copies would make the copies
		// too much alike.
		if looks == 0 || w.ess() >= float64(c.Runs)/2 || n >= most {
			break
		}
		n *= 2
	}
	if w.total() == 0 {
		return nil, noFit
	}
	s.settle(w, &stages[0])
	return s, nil
}

// settle draws the copies by the weights.
func (s *Standing) settle(w *weights, first *stage) {
	s.infested = w.pi * mean(w.infested) / w.total()
	s.clean = w.clean
	if total := mean(w.clean) * float64(len(w.clean)); total > 0 {
		for i := range s.clean {
			s.clean[i] /= total
		}
	}
	s.draw(w, first, len(s.c.Looks))
}

func (s *Standing) draw(w *weights, first *stage, looks int) {
	if sum := mean(w.infested) * float64(len(w.infested)); looks > 0 && sum > 0 {
		s.copies, s.ancestor = first.copyOut(w.infested, sum, s.c.Today, 1, s.c.Runs)
		return
	}
	for i := range s.c.Runs {
		s.copies = append(s.copies, particle{run: i})
		s.ancestor = append(s.ancestor, i)
	}
}

// future is what may be done after today.
type future struct {
	doses []Dose
	pulls []Pulls
	looks []Look
	days  []float64
}

// prospect is a future tried on the copies.
type prospect struct {
	*sample
	s     *Standing
	first int // looks before it have been made
}

// try follows every copy through a future.
func (s *Standing) try(ctx context.Context, f future) (*prospect, error) {
	p, err := s.tryAll(ctx, []future{f}, bush{{before: -1}})
	if err != nil {
		return nil, err
	}
	return p[0], nil
}

// tryAll follows every copy through the futures of a bush.
func (s *Standing) tryAll(ctx context.Context, fs []future, b bush) ([]*prospect, error) {
	var all []*prospect
	for _, f := range fs {
		p, err := s.prospect(f)
		if err != nil {
			return nil, err
		}
		all = append(all, p)
	}
	return all, each(ctx, len(s.copies), batch, func() func(int) {
		workers := make([]*worker, len(all))
		for i, p := range all {
			workers[i] = p.newWorker()
			if t := b[i]; t.before >= 0 {
				workers[i].after(workers[t.before], t.fork)
			}
		}
		return func(i int) {
			for _, w := range workers {
				w.do(i, s.copies[i])
			}
		}
	})
}

// prospect lays a future out.
func (s *Standing) prospect(f future) (*prospect, error) {
	c := *s.c
	c.Days = f.days
	c.Doses = append(slices.Clone(c.Doses), f.doses...)
	c.Pulls = append(slices.Clone(c.Pulls), f.pulls...)
	first := len(c.Looks)
	c.Looks = slices.Clone(c.Looks)
	for _, l := range f.looks {
		l.Planned, l.Worms, l.Eggs, l.Both, l.PositivesTo = true, 0, 0, nil, nil
		c.Looks = append(c.Looks, l)
	}
	q, err := c.prepared()
	if err != nil {
		return nil, err
	}
	p := &prospect{sample: newSample(q, s.mode), s: s, first: first}
	p.room(len(s.copies))
	return p, nil
}

// verdict is what a prospect says of one day, given that some of its looks found
// nothing.
type verdict struct {
	clear, bag Share
	infested   float64 // expected share of animals that carry anything
	clean      float64 // chance that those looks all find nothing
}

// on answers for asked day d; looks are indexes of planned looks.
func (p *prospect) on(d int, looks []int) verdict {
	w := &weights{pi: p.s.infested, ancestor: p.s.ancestor}
	w.infested = make([]float64, p.n)
	for i := range w.infested {
		x := 0.0
		for _, l := range looks {
			x += p.like[i*p.looks+l]
		}
		w.infested[i] = math.Exp(x)
	}
	w.clean = p.falseAlarms(looks)
	o := on{p.sample, d, p.c.Days[d]}
	v := verdict{w.share(o.free, 1), w.share(o.bag, 0), w.share(o.share, 0).Value, w.total()}
	if n := p.s.few; n > 0 {
		v.clear.SE, v.bag.SE = max(v.clear.SE, ofFew(v.clear.Value, n)), max(v.bag.SE, ofFew(v.bag.Value, n))
	}
	return v
}

// ofFew is the spread of a share that was seen among n with nothing known before:
// also of few that all agree, some share may not.
func ofFew(share, n float64) float64 {
	a, b := share*n+1, (1-share)*n+1
	return math.Sqrt(a * b / ((a + b) * (a + b) * (a + b + 1)))
}

// falseAlarms returns, for each run of the past, its weight had the lot not been
// infested times the chance that none of the looks finds anything; the mean of
// the weights alone is 1.
func (p *prospect) falseAlarms(looks []int) []float64 {
	out := make([]float64, len(p.s.clean))
	n := float64(len(out))
	for i, c := range p.s.clean {
		x := c * n
		for _, l := range looks {
			v := &p.s.past.truth[i]
			m := int32(p.c.Looks[l].Animals)
			x *= power(1-v[FPAdult], m) * power(1-v[FPEgg], m)
		}
		out[i] = x
	}
	return out
}

// alive is the expected number of animals in the lot's tank on asked day d.
func (p *prospect) alive(d int) float64 {
	return on{p.sample, d, p.c.Days[d]}.meanAlive()
}
