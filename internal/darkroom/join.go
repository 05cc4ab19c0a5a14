package darkroom

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"

	"holdfast/photo"
	"holdfast/science/ref"
)

// Bounds of joining the slices of a focus stack: how many, the size at which
// they are laid over one another, and the size that comes out.
const (
	MostSlices = 30
	alignLong  = 1400
	joinedLong = 1920
)

// Join lays the photographs of a burst over one another and joins them into one
// that is sharp where any of them is; best is the sharpest single one. It
// returns the picture's name for [Room.Joined]. Where they are no focus stack,
// or the animal moved, it returns a *ref.NoAnswer that says so: then the best
// single frame is what there is. What was joined once is not joined again.
func (r *Room) Join(ctx context.Context, sums []string, best int) (string, error) {
	if len(sums) < 3 || len(sums) > MostSlices || best < 0 || best >= len(sums) {
		return "", &ref.NoAnswer{Reason: "A focus stack has 3 to 30 frames."}
	}
	h := sha256.New()
	for _, s := range sums {
		h.Write([]byte(s))
	}
	name := hex.EncodeToString(h.Sum(nil))
	path := r.joinedPath(name)
	r.mu.Lock()
	defer r.mu.Unlock()
	if _, err := os.Stat(path); err == nil {
		return name, nil
	}
	img, err := r.join(ctx, sums, best)
	if err != nil {
		return "", err
	}
	return name, r.keep(path, img)
}

// Joined opens a picture that Join made.
func (r *Room) Joined(name string) (*os.File, error) {
	if len(name) != 64 || filepath.Base(name) != name {
		return nil, os.ErrNotExist
	}
	return os.Open(r.joinedPath(name))
}

func (r *Room) joinedPath(name string) string {
	return filepath.Join(r.dir, "joined", name+".jpg")
}

func (r *Room) join(ctx context.Context, sums []string, best int) (*photo.Image, error) {
	turn := 1
	var w, h int
	load := func(i, long int) (*photo.Image, error) {
		if err := ctx.Err(); err != nil {
			return nil, err // whoever asked has gone
		}
		img, src, denom, err := r.develop(sums[i], Print{Width: long})
		if err != nil {
			return nil, err
		}
		if i == best {
			turn = src.Meta.Orientation
		}
		return made(img, &photo.Source{W: src.W, H: src.H}, denom, Print{Width: long}), nil
	}
	planes := make([]*photo.Plane, len(sums))
	for i := range sums {
		img, err := load(i, alignLong)
		if err != nil {
			return nil, err
		}
		planes[i] = img.Luma()
		if i == 0 {
			w, h = img.W, img.H
		}
		if img.W != w || img.H != h {
			return nil, &ref.NoAnswer{Reason: "The frames are not of one size."}
		}
	}
	slices, err := photo.AlignSlices(planes, best)
	if err != nil {
		return nil, err
	}
	out, err := photo.Fuse(slices, w, func(i int) (*photo.Image, error) { return load(i, joinedLong) })
	if err != nil {
		return nil, err
	}
	if out == nil {
		return nil, errors.New("nothing came of joining")
	}
	return out.Upright(turn), nil
}
