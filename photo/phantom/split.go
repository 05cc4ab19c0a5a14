package phantom

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
