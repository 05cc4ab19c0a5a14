package clearance

import (
	"context"
	"slices"
	"testing"
)

// nested returns, sorted, the share of free lots on the only day of a case without
// looks under each of many sets of figures; what belongs to the lot (prevalence,
// load) differs from lot to lot within a set.
func nested(t *testing.T, c *Case, sets, lots int) []float64 {
	t.Helper()
	ids := c.Condition.treatmentIDs()
	free := make([]int, sets*lots)
	err := each(context.Background(), sets*lots, batch, func() func(int) {
		r := c.trial(c.horizon(), true).newRun()
		return func(i int) {
			var v, lot Values
			kill, other := make([]float64, len(ids)), make([]float64, len(ids))
			c.Condition.draw(runKey(1001, i/lots), &v, kill, ids)
			k := runKey(2002, i)
			c.Condition.draw(k, &lot, other, ids)
			for _, f := range lotFigures {
				v[f] = lot[f]
			}
			r.follow(k, &v, kill, nil, nil)
			if r.end <= c.Days[0] {
				free[i] = 1
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
	var shares []float64
	for s := range sets {
		n := 0
		for _, x := range free[s*lots : (s+1)*lots] {
			n += x
		}
		shares = append(shares, float64(n)/float64(lots))
	}
	slices.Sort(shares)
	return shares
}
