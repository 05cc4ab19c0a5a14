package clearance

import (
	"cmp"
	"context"
	"math"

	"holdfast/science/ref"
)

// Result is the answer to a Case.
type Result struct {
	// Condition is the id of what the chances are about: "clear" always means
	// clear of it.
	Condition string `json:"condition"`
	Bag       int    `json:"bag"`
	Seed      uint64 `json:"seed"`
	// Mixed believes of hatching on the animal what the condition's data say; Never
	// and Always are the same lot if no egg, or every ripe egg, hatches there.
	// Neither is a bound of the other: the mixed chance may lie outside both.
	Mixed  Line `json:"mixed"`
	Never  Line `json:"never"`
	Always Line `json:"always"`
	// Drivers are the figures whose doubt moves the chance of clear most.
	Drivers []Driver `json:"drivers,omitempty"`
	// Doubt says in one sentence why the answer should not be trusted; empty if
	// nothing speaks against it.
	Doubt string `json:"doubt,omitempty"`
}

// noFit is the answer when nothing explains the looks.
var noFit = &ref.NoAnswer{Reason: "No simulated lot shows what the looks found: the counts do not fit the assumptions. Check what was recorded, the share in view and the beliefs about seeing."}

// fewFit is said when the effective number of runs is small.
const fewFit = "Few simulated lots show what the looks found; the chance may be off by more than its error says."

// study is one question with the runs followed for it so far.
type study struct {
	c      *Case
	stages [3][]stage
}

func newStudy(c *Case) *study {
	s := &study{c: c}
	for m := range s.stages {
		s.stages[m] = []stage{{sample: newSample(c, mode(m))}}
	}
	return s
}

// Evidence returns the chance of clear and the bag risk on each day asked for,
// given everything that was done and seen, from c.Runs lots followed (half as many
// for never and always). Where few of them carry the weight it follows more, up to
// 64,000, and then copies those that do.
//
// It returns an *ref.InputError for a case out of range, an *ref.NoAnswer when no
// run can explain what the looks found, and ctx's error when that ends first. The
// same case gives the same answer on any number of cores.
func Evidence(ctx context.Context, c Case) (Result, error) {
	p, err := c.prepared()
	if err != nil {
		return Result{}, err
	}
	s := newStudy(p)
	if err := s.grow(ctx, p.Runs); err != nil {
		return Result{}, err
	}
	if err := s.strengthen(ctx); err != nil {
		return Result{}, err
	}
	return s.result(ctx)
}

// Quick returns the mixed answer from exactly c.Runs lots, without bands and
// without more runs where few carry the weight: fast and coarse, its error says how
// coarse. Errors are those of Evidence.
func Quick(ctx context.Context, c Case) (Result, error) {
	p, err := c.prepared()
	if err != nil {
		return Result{}, err
	}
	s := newStudy(p)
	if err := s.stages[mixed][0].grow(ctx, p.Runs); err != nil {
		return Result{}, err
	}
	return s.quick()
}

// quick puts the mixed answer together, without bands.
func (s *study) quick() (Result, error) {
	r := Result{Condition: s.c.Condition.ID, Bag: s.c.Bag, Seed: s.c.Seed, Mixed: line(s.c, s.stages[mixed])}
	for _, x := range r.Mixed.Points {
		if math.IsNaN(x.Clear.Value) {
			return r, noFit
		}
	}
	if s.ess(mixed) < 100 {
		r.Doubt = fewFit
	}
	return r, nil
}

// Sharpen is Evidence in instalments: report gets a first answer from few runs
// (c.Runs; 0 means 1,000), then better ones, until the Monte Carlo error is below
// half a point on every day whose chance of clear lies within a tenth of the
// line, or runs are spent. It ends early, with the last answer, when report
// returns false.
func Sharpen(ctx context.Context, c Case, report func(Result) bool) (Result, error) {
	c.Runs = cmp.Or(c.Runs, 1000)
	p, err := c.prepared()
	if err != nil {
		return Result{}, err
	}
	s := newStudy(p)
	for runs := p.Runs; ; runs *= 2 {
		if err := s.grow(ctx, runs); err != nil {
			return Result{}, err
		}
		last := runs*2 > maxRuns
		if last {
			if err := s.strengthen(ctx); err != nil {
				return Result{}, err
			}
		}
		r, err := s.result(ctx)
		if err != nil || !report(r) || last || s.sharp(&r) {
			return r, err
		}
	}
}

// sharp says whether more runs would change nothing that matters.
func (s *study) sharp(r *Result) bool {
	if s.ess(mixed) < enough || s.ess(never) < enough || s.ess(always) < enough {
		return false
	}
	for _, p := range r.Mixed.Points {
		if math.Abs(p.Clear.Value-s.c.Line) < .1 && p.Clear.SE > .005 || p.Clear.SE > .01 {
			return false
		}
	}
	return true
}

// grow follows runs until there are n of the mixed kind and half as many of the
// others.
func (s *study) grow(ctx context.Context, n int) error {
	for m := range s.stages {
		want := n
		if mode(m) != mixed {
			want = max(n/2, 100)
		}
		if err := s.stages[m][0].grow(ctx, want); err != nil {
			return err
		}
	}
	return nil
}

// ess is the effective number of runs after the last look made.
func (s *study) ess(m mode) float64 {
	return weigh(s.stages[m], *s.c.Infested, s.c.lastLook(), false).ess()
}

// strengthen follows more runs where too few carry the weight, then copies.
func (s *study) strengthen(ctx context.Context) error {
	for m := range s.stages {
		first := &s.stages[m][0]
		for s.ess(mode(m)) < enough && first.n < maxRuns {
			if err := first.grow(ctx, min(2*first.n, maxRuns)); err != nil {
				return err
			}
		}
		for range maxResample {
			if s.ess(mode(m)) >= enough {
				break
			}
			next, err := resample(ctx, s.c, s.stages[m])
			if err != nil {
				return err
			}
			s.stages[m] = next
		}
	}
	return nil
}

// result puts the answer together.
func (s *study) result(ctx context.Context) (Result, error) {
	r := Result{Condition: s.c.Condition.ID, Bag: s.c.Bag, Seed: s.c.Seed}
	for m, to := range map[mode]*Line{mixed: &r.Mixed, never: &r.Never, always: &r.Always} {
		*to = line(s.c, s.stages[m])
		for _, p := range to.Points {
			if math.IsNaN(p.Clear.Value) {
				return r, noFit
			}
		}
	}
	if a := r.Mixed.Ancestors; r.Mixed.Resampled > 0 && a < fewAncestors {
		r.Doubt = "Hardly any simulated lot shows what the looks found, so there is too little to weigh. The assumptions do not fit this lot."
	} else if s.ess(mixed) < 100 {
		r.Doubt = fewFit
	}
	return r, s.bands(ctx, &r)
}
