package cli

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"

	"holdfast/photo"
	"holdfast/science/ref"
)

// Limits of fusing: the size at which frames are compared, and what the fusion
// may hold in memory at a time.
const (
	alignLong  = 1500
	fuseMemory = 250 << 20 // bytes
)

// fuse tries whether a burst is a focus stack. If it is, the fused picture is
// written and put beside the best single frame; if not, the card says why.
func (w *photoWriter) fuse(burst []int, c *sheetCard) error {
	order := slices.Sorted(slices.Values(burst)) // as taken: file names count up
	best := slices.Index(order, burst[0])
	planes := make([]*photo.Plane, len(order))
	for k, i := range order {
		m, err := w.reduced(i, float64(alignLong))
		if err != nil {
			return c.refuse(err)
		}
		planes[k] = m.Luma()
	}
	s, err := photo.AlignSlices(planes, best)
	if err != nil {
		return c.refuse(err)
	}
	alignedW := planes[0].W
	r := w.found[burst[0]].report
	denom := 1
	// A weight a frame, and a score of planes for the blending.
	for denom < 8 && r.W*r.H/(denom*denom)*4*(len(order)+14) > fuseMemory {
		denom *= 2
	}
	long := float64(max(r.W, r.H)) / float64(denom)
	fused, err := photo.Fuse(s, alignedW, func(k int) (*photo.Image, error) { return w.reduced(order[k], long) })
	if err != nil {
		return c.refuse(err)
	}
	upright := fused.Upright(w.found[burst[0]].meta.Orientation)
	b, err := upright.JPEG(92)
	if err != nil {
		return err
	}
	name := fmt.Sprintf("%04d-%s-fused.jpg", burst[0]+1, safeName(w.found[burst[0]].base()))
	if err := w.write(filepath.Join(fuseFolder, name), b); err != nil {
		return err
	}
	p, err := onSheet(upright, onSheetLong)
	p.File = fuseFolder + "/" + name
	p.Title = fmt.Sprintf("%d of %d focus slices fused", s.Count(), len(order))
	p.Detail = "look at the single frame too: fusing can make edges that are not there"
	c.Fused = &p
	return err
}

// reduced decodes a file with about long pixels on its longer side.
func (w *photoWriter) reduced(i int, long float64) (*photo.Image, error) {
	src, err := w.open(i)
	if err != nil {
		return nil, err
	}
	return w.dec.Decode(src, photo.ReductionFor(float64(max(src.W, src.H)), long))
}

// refuse notes why a burst is not fused; other errors go on.
func (c *sheetCard) refuse(err error) error {
	var no *ref.NoAnswer
	var fe *photo.FileError
	switch {
	case errors.As(err, &no):
		c.NoFuse = no.Reason
	case errors.As(err, &fe):
		c.NoFuse = fe.Message
	default:
		return err
	}
	return nil
}
