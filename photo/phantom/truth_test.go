package phantom

import "testing"

// TestContrastIsAgainstTheGround: the same pale worms, laid over dark and over
// white ground. Where they stick out over the ground they cannot be seen on
// white.
func TestContrastIsAgainstTheGround(t *testing.T) {
	lost := 0
	for seed := uint64(1); seed <= 30; seed++ {
		s := NewScene(seed, tuningRanges)
		if len(s.worms) == 0 {
			continue
		}
		shot := NewShot(seed, tuningRanges, s, 300, 200)
		on := func(level float64) []Find {
			s.ground = ground{kind: "dish", a: [3]float64{level, level, level}, blur: 0.01}
			return s.Shoot(shot).Truth.Finds
		}
		dark, pale := on(0.01), on(0.8)
		if len(dark) != len(pale) {
			t.Fatalf("seed %d: %d finds on dark ground, %d on pale", seed, len(dark), len(pale))
		}
		for i, d := range dark {
			p := pale[i]
			if p.Contrast > d.Contrast+1e-6 {
				t.Errorf("seed %d, %s: contrast %.3f on pale ground, %.3f on dark", seed, d.Kind, p.Contrast, d.Contrast)
			}
			if d.Kind == Worm && d.Contrast > 0.02 && p.Contrast <= 0.02 {
				lost++
			}
		}
	}
	if lost == 0 {
		t.Error("no worm is lost on white ground")
	}
}
