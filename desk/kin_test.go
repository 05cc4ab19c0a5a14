package desk

import (
	"fmt"
	"maps"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"holdfast"
)

// A lot may carry what another carries if one animal, brought into one lot at one
// instant, can have spread to both. Here every such introduction is played
// through, forward in time, and what it reached is compared.
func TestKinAgainstEveryIntroduction(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := []string{"a", "b", "c"}
		g := gifts{from: map[string][]gift{}, to: map[string][]gift{}}
		type passed struct{ from, to string }
		var story []passed // one an instant, from 1
		for i := range rapid.IntRange(0, 10).Draw(t, "events") {
			from := rapid.SampledFrom(names).Draw(t, "from")
			to := fmt.Sprintf("part%d", i)
			if rapid.Bool().Draw(t, "merged") {
				to = rapid.SampledFrom(names).Draw(t, "into")
			} else {
				names = append(names, to)
			}
			at := holdfast.Micros(i + 1)
			g.from[from] = append(g.from[from], gift{to, at})
			g.to[to] = append(g.to[to], gift{from, at})
			story = append(story, passed{from, to})
		}
		suspect := rapid.SampledFrom(names).Draw(t, "suspect")
		want := map[string]bool{}
		for _, brought := range names {
			for when := 0; when <= len(story); when++ {
				carries := map[string]bool{brought: true}
				for _, p := range story[when:] {
					if carries[p.from] {
						carries[p.to] = true
					}
				}
				if carries[suspect] {
					maps.Copy(want, carries)
				}
			}
		}
		got := slices.Sorted(maps.Keys(g.sharing(suspect)))
		if !slices.Equal(got, slices.Sorted(maps.Keys(want))) {
			t.Fatalf("suspicion in %s after %v holds %v, want %v", suspect, story, got, slices.Sorted(maps.Keys(want)))
		}
	})
}
