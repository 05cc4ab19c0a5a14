package phantom

import (
	"math"
	"math/rand/v2"
)

// Photographs of the splits are numbered from 0. Their seeds lie far apart, so
// that no scene is in both.
const (
	tuningSeed  = 1_000_000_000
	holdOutSeed = 7_000_000_000
)

// Size is the size of the splits' photographs in pixels.
const (
	Width  = 1500
	Height = 1000
)

// Tuning returns photograph i of the split that methods may be fitted on.
func Tuning(i int) *Photo { return numbered(tuningSeed, i, tuningRanges) }

// HoldOut returns photograph i of the split that is only ever measured on.
func HoldOut(i int) *Photo { return numbered(holdOutSeed, i, heldRanges) }

func numbered(base uint64, i int, r Ranges) *Photo {
	seed := base + uint64(i)
	s := NewScene(seed, r)
	return s.Shoot(NewShot(seed, r, s, Width, Height))
}

// Stack returns how scene number seed is photographed as a focus stack of n
// frames from the near side of the animal to the far one, w by h pixels, as a
// hand on a rail would: the picture grows by 0.4 % a frame, shifts by some 4
// pixels and turns by some 0.15 degrees.
func Stack(seed uint64, n, w, h int) (*Scene, []Shot) {
	s := NewScene(tuningSeed+500_000+seed, tuningRanges)
	base := NewShot(tuningSeed+500_000+seed, tuningRanges, s, w, h)
	base.MotionPx, base.BlurPerMM, base.Noise = 0, 0.03, min(base.Noise, 0.01)
	rng := rand.New(rand.NewPCG(seed, 0x57ac))
	shots := make([]Shot, n)
	for i := range shots {
		c := base
		c.FocusMM = 2.4 - 3*float64(i)/float64(n-1)
		c.Zoom = 1 + 0.004*float64(i-n/2)
		c.ShiftX, c.ShiftY = 4*rng.NormFloat64(), 4*rng.NormFloat64()
		c.Roll = 0.15 * math.Pi / 180 * rng.NormFloat64()
		c.Seed = rng.Uint64()
		shots[i] = c
	}
	return s, shots
}
