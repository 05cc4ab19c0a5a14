package darkroom

import (
	"context"

	"holdfast/photo"
)

// rulerLong is the size at which ticks are looked for, in pixels of the longer
// side: fine enough for half millimetres across a field of 10 cm.
const rulerLong = 1800

// Ruler looks for a ruler's regular ticks in a photograph and returns their
// distance in stored pixels. What a tick stands for the person has to say. It
// returns a *ref.NoAnswer when nothing is regular enough.
func (r *Room) Ruler(ctx context.Context, sum string) (photo.Ruler, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return photo.Ruler{}, err
	}
	img, src, _, err := r.develop(sum, Print{Width: rulerLong})
	if err != nil {
		return photo.Ruler{}, err
	}
	found, err := photo.FindRuler(img.Luma())
	found.Spacing *= float64(src.W) / float64(img.W)
	return found, err
}
