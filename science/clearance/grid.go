package clearance

import (
	"context"
	"fmt"
	"math"
	"slices"
)

// spot is a place of the grid.
type spot struct {
	doses int
	gap   float64
	pulls int
}

func (p spot) within() bool {
	return p.doses >= minDoses && p.doses <= maxDoses && p.gap >= minGap && p.gap <= maxGap && p.pulls >= 0 && p.pulls <= maxPulls &&
		(p.doses > 1 || p.gap == minGap) // a single dose has no gap
}

// grid is a search over spots.
type grid struct {
	*tour
	q     *Question
	tried map[spot]int // index in seen
}

func (g *grid) course(p spot) Course {
	animals, before := g.q.looks()
	c := g.s.c
	return Course{Treatment: g.q.treatment(c.Condition), First: max(math.Floor(c.Today)+1, c.nextDose(p.gap)),
		Doses: p.doses, Gap: p.gap, PullsPerDay: p.pulls, LookAnimals: animals, LooksBefore: before}
}

// try tries the spots that were not tried yet, after the courses also.
func (g *grid) try(ctx context.Context, spots []spot, also ...Course) (added bool, err error) {
	var fresh []spot
	for _, p := range spots {
		if _, ok := g.tried[p]; !ok && p.within() && len(g.tried)+len(fresh) < maxCourses && !slices.Contains(fresh, p) {
			fresh = append(fresh, p)
		}
	}
	for _, p := range fresh {
		g.tried[p] = len(g.seen) + len(also)
		also = append(also, g.course(p))
	}
	return len(fresh) > 0, g.visit(ctx, also)
}

// explore tries the usual practice and the first grid, then the surroundings of the best of each kind
// until nothing around them is untried.
func (g *grid) explore(ctx context.Context, practice []Course) error {
	var first []spot
	for _, doses := range []int{2, 3, 4} {
		for _, gap := range []float64{7, 14, 21, 28} {
			for _, pulls := range []int{1, 2} {
				first = append(first, spot{doses, gap, pulls})
			}
		}
	}
	if _, err := g.try(ctx, first, practice...); err != nil {
		return err
	}
	for {
		var around []spot
		for _, order := range []func(a, b *Outlook) int{byEarliest, byCost} {
			around = append(around, neighbours(g.best(order, 1)[0], gapStep)...)
		}
		added, err := g.try(ctx, around)
		if err != nil || !added {
			return err
		}
	}
}

// best returns the best spots of an order.
func (g *grid) best(order func(a, b *Outlook) int, n int) []spot {
	var spots []spot
	for p := range g.tried {
		spots = append(spots, p)
	}
	slices.SortFunc(spots, func(a, b spot) int {
		if o := order(&g.seen[g.tried[a]], &g.seen[g.tried[b]]); o != 0 {
			return o
		}
		return g.tried[a] - g.tried[b]
	})
	return spots[:min(n, len(spots))]
}

// neighbours are the spots one step away in one direction.
func neighbours(p spot, gap float64) []spot {
	out := []spot{
		{p.doses + 1, p.gap, p.pulls}, {p.doses, p.gap + gap, p.pulls}, {p.doses, p.gap - gap, p.pulls},
		{p.doses, p.gap, p.pulls + 1}, {p.doses, p.gap, p.pulls - 1},
	}
	fewer := spot{p.doses - 1, p.gap, p.pulls}
	if fewer.doses == 1 {
		fewer.gap = minGap
	}
	return append(out, fewer)
}

// edges names the limits that the best spots lie on.
func (g *grid) edges() []string {
	var out []string
	say := func(s string) {
		if !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	for _, order := range []func(a, b *Outlook) int{byEarliest, byCost} {
		p := g.best(order, 1)[0]
		if p.doses == maxDoses {
			say(fmt.Sprintf("%d doses are the most considered", maxDoses))
		}
		if p.gap == maxGap {
			say(fmt.Sprintf("%g days are the longest gap considered", maxGap))
		}
		if p.gap == minGap && p.doses > 1 {
			say(fmt.Sprintf("%g days are the shortest gap considered", minGap))
		}
		if p.pulls == maxPulls {
			say(fmt.Sprintf("%d pulls a day are the most considered", maxPulls))
		}
	}
	if len(g.tried) >= maxCourses {
		say(fmt.Sprintf("the search stopped after %d courses", maxCourses))
	}
	return out
}

// recheck refines the best spots by gaps of a few days, and tries what comes out
// again on fresh draws, release day by day, with four times the runs.
func (g *grid) recheck(ctx context.Context, c *Case, a ask) ([]Finalist, error) {
	var best []spot
	for _, order := range []func(a, b *Outlook) int{byEarliest, byCost} {
		for _, p := range g.best(order, finalists) {
			if !slices.Contains(best, p) {
				best = append(best, p)
			}
		}
	}
	var near []spot
	for _, p := range best {
		if p.doses > 1 {
			near = append(near, spot{p.doses, p.gap + 3, p.pulls}, spot{p.doses, p.gap - 3, p.pulls})
		}
	}
	if _, err := g.try(ctx, near); err != nil {
		return nil, err
	}
	best = best[:0]
	for i := range finalists { // in turn, so that both kinds are among them
		for _, order := range []func(a, b *Outlook) int{byEarliest, byCost} {
			if ranked := g.best(order, finalists); i < len(ranked) && !slices.Contains(best, ranked[i]) && len(best) < finalists {
				best = append(best, ranked[i])
			}
		}
	}
	fresh := *c
	fresh.Seed, fresh.Runs = mix(c.Seed+1), min(4*c.Runs, maxRuns)
	out := make([]Finalist, len(best))
	for m := range always + 1 {
		if m != mixed {
			fresh.Runs = c.Runs
		}
		s, err := stand(ctx, &fresh, m)
		if err != nil {
			return nil, err
		}
		for i, p := range best {
			o, err := s.outlook(ctx, g.course(p), a.around(&g.seen[g.tried[p]]))
			if err != nil {
				return nil, err
			}
			*[]*Outlook{&out[i].Mixed, &out[i].Never, &out[i].Always}[m] = o
		}
	}
	return out, nil
}

// around asks for release day by day near the day that mattered.
func (a ask) around(o *Outlook) ask {
	day := a.until
	switch {
	case o.Earliest != nil:
		day = o.Earliest.Day
	case o.Best != nil:
		day = o.Best.Day
	}
	a.from, a.until, a.step = day-7, min(day+14, a.until), 1
	return a
}
