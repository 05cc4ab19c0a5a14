package photo

import (
	"math"
	"slices"

	"holdfast/science/ref"
)

// Slices is a burst that may be a focus stack: frames of one framing whose
// focus moves.
type Slices struct {
	// Reference is the index of the frame that the others are laid over: the
	// best single frame.
	Reference int
	// Warps lay each frame over the reference.
	Warps []Warp
	// Used tells which frames could be aligned.
	Used []bool
	// Moved is how far, in pixels, parts of the picture still lie apart after
	// the alignment: the 90th percentile over the textured tiles of the worst
	// frame. A live animal that moved shows here.
	Moved float64
	// Depth is the share of textured tiles that are clearly sharper in another
	// frame than in the one that has most sharp tiles. Near 0 the frames have
	// the same focus.
	Depth float64
}

// Limits of a focus stack.
const (
	fewestSlices = 3
	mostSlices   = 40
	movedLimit   = 1.0  // pixels at the size that was aligned
	depthLimit   = 0.09 // share of tiles
	depthClear   = 1.5  // times the energy of fine detail
	stackTile    = 48   // pixels
)

// AlignSlices lays the frames of a burst over one another. planes are their
// lightness, all of one size, in the order they were taken; best is the index
// of the sharpest.
//
// It returns a *ref.NoAnswer that says why, in words for a person, when the
// frames are no focus stack or the animal moved: then the best single frame is
// what there is. The Slices are returned with the reason where they were
// measured.
func AlignSlices(planes []*Plane, best int) (*Slices, error) {
	if len(planes) < fewestSlices || len(planes) > mostSlices {
		return nil, &ref.NoAnswer{Reason: "A focus stack has 3 to 40 frames."}
	}
	if best < 0 || best >= len(planes) {
		return nil, ref.Inputf("best", "", "frame %d of %d", best, len(planes))
	}
	for _, p := range planes {
		if p.W != planes[0].W || p.H != planes[0].H || min(p.W, p.H) < 2*stackTile {
			return nil, &ref.NoAnswer{Reason: "The frames differ in size or are too small."}
		}
	}
	s := &Slices{Reference: best, Warps: make([]Warp, len(planes)), Used: make([]bool, len(planes))}
	s.Warps[best], s.Used[best] = Still, true
	// Outwards from the reference: neighbours share most of their focus.
	for _, way := range []int{1, -1} {
		last := best
		for i := best + way; i >= 0 && i < len(planes); i += way {
			step, _, ok := Align(planes[last], planes[i], Still)
			if !ok {
				continue
			}
			w := s.Warps[last].Then(step)
			// Small errors add up along the way; the direct way takes them out.
			if direct, _, ok := Align(planes[best], planes[i], w); ok && near(direct, w, planes[i]) {
				w = direct
			}
			s.Warps[i], s.Used[i], last = w, true, i
		}
	}
	if s.Count() < fewestSlices {
		return s, &ref.NoAnswer{Reason: "The frames do not lie over one another."}
	}
	s.compare(planes)
	switch {
	case s.Moved > movedLimit:
		return s, &ref.NoAnswer{Reason: "The animal moved between the frames; the best single frame is shown."}
	case s.Depth < depthLimit:
		return s, &ref.NoAnswer{Reason: "The frames have the same focus; the best single frame is shown."}
	}
	return s, nil
}

// Count returns how many frames could be aligned.
func (s *Slices) Count() int {
	n := 0
	for _, u := range s.Used {
		if u {
			n++
		}
	}
	return n
}

// near tells whether two warps agree within two pixels at the corners.
func near(a, b Warp, p *Plane) bool {
	w, h := float64(p.W), float64(p.H)
	for _, c := range [][2]float64{{0, 0}, {w, 0}, {0, h}, {w, h}} {
		ax, ay := a.At(c[0], c[1])
		bx, by := b.At(c[0], c[1])
		if math.Hypot(ax-bx, ay-by) > 2 {
			return false
		}
	}
	return true
}

// compare measures Moved and Depth.
func (s *Slices) compare(planes []*Plane) {
	refPlane := planes[s.Reference]
	across, down := refPlane.W/stackTile, refPlane.H/stackTile
	energy := make([][]float64, len(planes))
	for i := range planes {
		if !s.Used[i] {
			continue
		}
		over := planes[i].Apply(s.Warps[i])
		fine := over.Blur(1.2).LoG(1.2)
		floor := 1.5 * math.Pow(NoiseLevel(planes[i]), 2)
		for t := range across * down {
			energy[i] = append(energy[i], max(0, tileEnergy(fine, t%across, t/across)-floor))
		}
		if i != s.Reference {
			s.Moved = max(s.Moved, residual(refPlane, over, across, down))
		}
	}
	s.Depth = depth(energy, across*down)
}

func tileEnergy(p *Plane, tx, ty int) float64 {
	sum := 0.0
	for y := ty * stackTile; y < (ty+1)*stackTile; y++ {
		for _, v := range p.Row(y)[tx*stackTile : (tx+1)*stackTile] {
			sum += float64(v) * float64(v)
		}
	}
	return sum / (stackTile * stackTile)
}

// depth compares the tiles in the upper half of detail. energy has the tiles of
// each frame that is used.
func depth(energy [][]float64, tiles int) float64 {
	best := make([]float64, tiles)
	winner := make([]int, tiles)
	for i, e := range energy {
		for t, v := range e {
			if v > best[t] {
				best[t], winner[t] = v, i
			}
		}
	}
	sorted := slices.Clone(best)
	slices.Sort(sorted)
	least := max(1e-7, quantile(sorted, 0.5))
	wins := make([]int, len(energy))
	for t, v := range best {
		if v >= least {
			wins[winner[t]]++
		}
	}
	most := slices.Index(wins, slices.Max(wins))
	n, other := 0, 0
	for t, v := range best {
		if v >= least {
			n++
			if v > depthClear*energy[most][t] {
				other++
			}
		}
	}
	if n == 0 {
		return 0
	}
	return float64(other) / float64(n)
}

// residual is how far the textured tiles of two aligned pictures still lie
// apart: the 90th percentile of the shift that a least-squares fit finds in
// each, on pictures smoothed so far that a change of focus matters little.
func residual(a, b *Plane, across, down int) float64 {
	const smooth = 4
	a, b = a.Blur(smooth), b.Blur(smooth)
	var shifts, texture []float64
	for ty := range down {
		for tx := range across {
			d, t := tileShift(a, b, tx, ty)
			shifts, texture = append(shifts, d), append(texture, t)
		}
	}
	sorted := slices.Clone(texture)
	slices.Sort(sorted)
	least := max(1e-5, quantile(sorted, 0.6))
	var kept []float64
	for i, t := range texture {
		if t >= least {
			kept = append(kept, shifts[i])
		}
	}
	slices.Sort(kept)
	return quantile(kept, 0.9)
}

// tileShift fits b = a(x + d) + offset in one tile and returns |d| and the
// smaller eigenvalue of the gradients, which says how well d is known.
func tileShift(a, b *Plane, tx, ty int) (shift, texture float64) {
	var xx, xy, yy, xt, yt, n, ma, mb float64
	x0, y0 := max(1, tx*stackTile), max(1, ty*stackTile)
	x1, y1 := min(a.W-1, (tx+1)*stackTile), min(a.H-1, (ty+1)*stackTile)
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			ma, mb, n = ma+float64(a.Pix[y*a.W+x]), mb+float64(b.Pix[y*a.W+x]), n+1
		}
	}
	ma, mb = ma/n, mb/n
	for y := y0; y < y1; y++ {
		for x := x0; x < x1; x++ {
			i := y*a.W + x
			gx := float64(a.Pix[i+1]-a.Pix[i-1]+b.Pix[i+1]-b.Pix[i-1]) / 4
			gy := float64(a.Pix[i+a.W]-a.Pix[i-a.W]+b.Pix[i+a.W]-b.Pix[i-a.W]) / 4
			t := (float64(a.Pix[i]) - ma) - (float64(b.Pix[i]) - mb)
			xx, xy, yy = xx+gx*gx, xy+gx*gy, yy+gy*gy
			xt, yt = xt+gx*t, yt+gy*t
		}
	}
	det := xx*yy - xy*xy
	texture = (xx+yy)/2 - math.Hypot((xx-yy)/2, xy)
	if det <= 0 {
		return 0, 0
	}
	return math.Hypot((yy*xt-xy*yt)/det, (xx*yt-xy*xt)/det), texture / n
}
