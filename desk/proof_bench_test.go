package desk

import (
	"fmt"
	"testing"

	"holdfast"
)

// What the pages of a look ask of the largest lots. The aims: below 5 ms for
// 10,000 animals, below 100 ms for 100,000.
func BenchmarkLookAnswers(b *testing.B) {
	for _, n := range []int{200, 10_000, 100_000} {
		l := lotOf(b, &holdfast.LotOpened{Stock: shrimp, Declared: n})
		v := &LotView{Lot: l, Shop: holdfast.DefaultSettings(), Case: Case{Lot: l, BagSize: 10}}
		cond := Tracked(l.Species)[0]
		v.Assessed = []Assessment{{Condition: cond, Figure: holdfast.Figure{Condition: cond.ID, Chance: 0.7}}}
		clean := *lookAt(60, 0, nil)
		full, err := Static{}.Assess(Case{Lot: lotOf(b, &holdfast.LotOpened{Stock: shrimp, Declared: n}, &clean), BagSize: 10})
		if err != nil {
			b.Fatal(err)
		}
		for _, q := range []struct {
			name string
			ask  func() error
		}{
			{"proof", func() error { _, _, err := v.Prove(cond, clean); return err }},
			{"luck", func() error { _, err := v.Luck(cond, 60, holdfast.ByLens); return err }},
			{"one_positive", func() error { v.OnePositive(cond, clean); return nil }},
			{"bias", func() error { _, err := v.BiasSays(60, 120); return err }},
			{"decay", func() error { _, err := v.Decay(v.Assessed[0], 0.01); return err }},
			{"more_clean", func() error {
				_, err := full[0].More(ReleaseLine(v.Shop), Look{By: holdfast.ByLens, Seen: holdfast.Sides})
				return err
			}},
			{"first_look", func() error { FirstLookAt(v.Shop, n); return nil }},
		} {
			b.Run(fmt.Sprintf("%s_%d", q.name, n), func(b *testing.B) {
				for b.Loop() {
					if err := q.ask(); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
