package photo

import (
	"fmt"
	"math"
	"slices"
)

// Limits of threads, lengths in mm.
const (
	threadSeed   = 2.2 // response over the local RMS that starts a thread
	threadFollow = 1.0 // and that continues it
	threadFloor  = 0.004
	threadShort  = 0.15 // shorter pieces are not looked at
	threadLong   = 3.4  // longer ones are feelers and edges
	threadJoin   = 0.3  // ends this near may be of one thread
	threadReach  = 5.5  // from a likely eye
	threadKink   = 1.0  // radians over 0.25 mm: a piece ends there
	threadsTried = 400

	threadEye = 0.8 // how sure an eye must be to look near it only
)

// piece is a stretch of thread between ends and crossings.
type piece struct {
	pixels []int32
	ends   [2]int32
	length float64 // mm
}

// findPieces follows the crests of a ridge response.
func findPieces(r *ridges, inside func(x, y float64) bool) []piece {
	mask := make([]uint8, r.w*r.h) // 1 follow, 2 seed
	var seeds []int32
	for y := 2; y < r.h-2; y++ {
		for x := 2; x < r.w-2; x++ {
			i := y*r.w + x
			v := r.strength.Pix[i]
			if v < threadFloor || !r.crest(i) || !inside(float64(x), float64(y)) {
				continue
			}
			rel := float64(v) / (r.rms.at(x, y) + rmsFloor)
			if rel >= threadFollow {
				mask[i] = 1
				if rel >= threadSeed {
					seeds = append(seeds, int32(i))
				}
			}
		}
	}
	linked := r.flood(mask, seeds)
	split(linked, mask, r.w)
	var pieces []piece
	for _, i := range linked {
		if mask[i] != 1 {
			continue
		}
		for _, p := range r.atKinks(r.trace(mask, i), mask) {
			if p.length >= threadShort {
				pieces = append(pieces, p)
			}
		}
	}
	return pieces
}

// around are the eight steps to a pixel's neighbours, in order round it.
func around(w int) [8]int32 {
	v := int32(w)
	return [8]int32{1, v + 1, v, v - 1, -1, -v - 1, -v, -v + 1}
}

// flood keeps in mask what hangs together with a seed and returns it.
func (r *ridges) flood(mask []uint8, seeds []int32) []int32 {
	steps := around(r.w)
	kept := make([]int32, 0, 4*len(seeds))
	for _, s := range seeds {
		if mask[s] == 1 {
			mask[s] = 2
			kept = append(kept, s)
		}
		for n := len(kept) - 1; n >= 0 && n < len(kept); n++ {
			for _, d := range steps {
				if j := kept[n] + d; mask[j] == 1 {
					mask[j] = 2
					kept = append(kept, j)
				}
			}
		}
	}
	for i, m := range mask {
		mask[i] = m / 2
	}
	slices.Sort(kept)
	return kept
}

// split thins the lines to one pixel and takes out the crossings.
func split(pixels []int32, mask []uint8, w int) {
	steps := around(w)
	for changed := true; changed; {
		changed = false
		for _, i := range pixels {
			if mask[i] == 1 && removable(mask, i, steps) {
				mask[i] = 0
				changed = true
			}
		}
	}
	for _, i := range pixels {
		if mask[i] == 1 && branches(mask, i, steps) > 2 {
			mask[i] = 3
		}
	}
	for _, i := range pixels {
		if mask[i] == 3 {
			mask[i] = 0
		}
	}
}

// branches counts how many separate lines leave a pixel.
func branches(mask []uint8, i int32, steps [8]int32) int {
	n := 0
	for k := range steps {
		if mask[i+steps[k]] != 0 && mask[i+steps[(k+1)%8]] == 0 {
			n++
		}
	}
	return n
}

// removable tells whether a pixel can go without parting or shortening a line.
func removable(mask []uint8, i int32, steps [8]int32) bool {
	n := 0
	for _, d := range steps {
		if mask[i+d] != 0 {
			n++
		}
	}
	if n < 3 || n > 6 || branches(mask, i, steps) != 1 {
		return false
	}
	// Only from an open side, so that a line two wide loses one of the two.
	return mask[i+steps[0]] == 0 || mask[i+steps[2]] == 0 || mask[i+steps[4]] == 0 || mask[i+steps[6]] == 0
}

// trace takes the piece that a pixel belongs to out of mask.
func (r *ridges) trace(mask []uint8, start int32) piece {
	steps := around(r.w)
	p := piece{pixels: []int32{start}}
	mask[start] = 0
	for n := 0; n < len(p.pixels); n++ {
		for _, d := range steps {
			if j := p.pixels[n] + d; mask[j] == 1 {
				mask[j] = 0
				p.pixels = append(p.pixels, j)
			}
		}
	}
	p.ends[0] = r.farthest(p.pixels, start)
	p.ends[1] = r.farthest(p.pixels, p.ends[0])
	p.length = lengthOf(len(p.pixels))
	return p
}

// lengthOf is the length in mm of a line of n pixels, which is between n and
// 1.41 n.
func lengthOf(n int) float64 { return 1.12 * float64(n) / WorkingScale }

// inOrder walks the pixels of a piece from its first end. mask is 0 at them and
// is left so.
func (r *ridges) inOrder(p piece, mask []uint8) []int32 {
	for _, i := range p.pixels {
		mask[i] = 4
	}
	steps := around(r.w)
	order := make([]int32, 1, len(p.pixels))
	order[0] = p.ends[0]
	mask[p.ends[0]] = 0
	for n := 0; n < len(order); n++ {
		for _, d := range steps {
			if j := order[n] + d; mask[j] == 4 {
				mask[j] = 0
				order = append(order, j)
			}
		}
	}
	return order
}

// atKinks cuts a piece where it turns sharply: there a worm meets an outline, or
// a leg has its knee. What is still too long is cut into equal parts.
func (r *ridges) atKinks(p piece, mask []uint8) []piece {
	p.pixels = r.inOrder(p, mask)
	const lag = 7
	var cuts []int
	n := len(p.pixels)
	from := 0
	for k := lag; k+lag < n; k++ {
		turn := math.Abs(turnFrom(r.heading(p.pixels[k-lag], p.pixels[k]), r.heading(p.pixels[k], p.pixels[k+lag])))
		if turn > threadKink && k-from >= lag {
			cuts, from = append(cuts, k), k+lag
			k += lag
		}
	}
	var out []piece
	from = 0
	for _, to := range append(cuts, n) {
		part := p.pixels[from:to]
		from = to
		parts := 1 + int(lengthOf(len(part))/threadLong)
		for q := range parts {
			a, b := len(part)*q/parts, len(part)*(q+1)/parts
			if b > a {
				out = append(out, piece{pixels: part[a:b], ends: [2]int32{part[a], part[b-1]}, length: lengthOf(b - a)})
			}
		}
	}
	return out
}

// heading is the direction from one pixel to another, in radians.
func (r *ridges) heading(a, b int32) float64 {
	w := int32(r.w)
	return math.Atan2(float64(b/w-a/w), float64(b%w-a%w))
}

// turnFrom is how far one turns from direction a to b, -pi to pi.
func turnFrom(a, b float64) float64 { return math.Mod(b-a+3*math.Pi, 2*math.Pi) - math.Pi }

func (r *ridges) farthest(pixels []int32, from int32) int32 {
	best, bestD := from, -1.0
	for _, i := range pixels {
		if d := r.distance(i, from); d > bestD {
			best, bestD = i, d
		}
	}
	return best
}

// distance is in working pixels.
func (r *ridges) distance(a, b int32) float64 {
	w := int32(r.w)
	return math.Hypot(float64(a%w-b%w), float64(a/w-b/w))
}

// joinPieces returns the candidates as lists of pieces: each alone, and groups
// whose ends come near each other, as long as they are not too long.
func joinPieces(r *ridges, pieces []piece) [][]int {
	var out [][]int
	seen := map[string]bool{}
	add := func(group []int) {
		key := fmt.Sprint(group)
		if !seen[key] {
			seen[key] = true
			out = append(out, group)
		}
	}
	for _, reach := range []float64{0, threadJoin / 2, threadJoin} {
		group := singles(len(pieces))
		long := make([]float64, len(pieces))
		for i, p := range pieces {
			long[i] = p.length
		}
		if reach > 0 {
			for i := range pieces {
				for j := range i {
					a, b := group.of(i), group.of(j)
					if a != b && long[a]+long[b] < threadLong && r.touch(pieces[i], pieces[j], reach*WorkingScale) {
						name, gone := group.join(a, b)
						long[name] += long[gone]
					}
				}
			}
		}
		for _, g := range group.groups() {
			if long[g[0]] < threadLong { // a longer piece is alone
				add(g)
			}
		}
	}
	return out
}

// touch tells whether an end of one piece comes within reach of the other.
func (r *ridges) touch(a, b piece, reach float64) bool {
	for _, e := range a.ends {
		for _, f := range b.ends {
			if r.distance(e, f) < reach {
				return true
			}
		}
	}
	return false
}

// threadFeatures name what measureThread returns.
var threadFeatures = []string{
	"log length", "length off", "pieces", "straight", "log strength", "relative", "relative spread", "thick",
	"white", "saturation", "saturation change", "contrast", "one-sided", "ground",
	"eye distance", "eye beyond", "eye within", "no eye", "box fill",
	"goes on least", "goes on most", "clutter", "alike", "weakest contrast", "bright contrast", "bend", "ahead", "aside",
	"width", "width spread", "taper", "ripple", "kink", "curl", "fork", "alikes", "belly", "ground spread", "in eye", "longest share",
}

type threadContext struct {
	*ridges
	white, bright, soft *Plane
	eyes                []Point
	eyeSure             float64
	middle              Point // of the body, about the first eye
	belly               float64
	eyeRadius           float64 // working pixels
	courses             []course
	looks               []look
}

// measureThread returns the features of a candidate.
func (c *threadContext) measureThread(pieces []piece, group []int) (features []float64, x0, y0, x1, y1 float64) {
	var rel, strength, thick, white, sat, change, contrast, sided []float64
	x0, y0, x1, y1 = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	length, direct := 0.0, 0.0
	ground, bright := 0.0, 0.0
	var grounds []float64
	n, inEye, longest := 0.0, 0.0, 0.0
	for _, g := range group {
		p := pieces[g]
		length += p.length
		longest = max(longest, p.length)
		direct += c.distance(p.ends[0], p.ends[1]) / WorkingScale
		for _, i := range p.pixels {
			x, y := int(i)%c.w, int(i)/c.w
			x0, y0, x1, y1 = min(x0, float64(x)), min(y0, float64(y)), max(x1, float64(x)), max(y1, float64(y))
			v := float64(c.strength.Pix[i])
			strength = append(strength, v)
			rel = append(rel, v/(c.rms.at(x, y)+rmsFloor))
			thick = append(thick, c.sigmas[c.scale[i]])
			w := float64(c.soft.Pix[i])
			white = append(white, w)
			s := saturationOf(float64(c.white.Pix[i]), float64(c.bright.Pix[i]))
			sat = append(sat, s)
			dx, dy := acrossStep(c.across[i])
			const off = 6
			l, r := float64(c.soft.At(x+off*dx, y+off*dy)), float64(c.soft.At(x-off*dx, y-off*dy))
			contrast = append(contrast, w-max(l, r))
			sided = append(sided, math.Abs(l-r))
			ground += (l + r) / 2
			grounds = append(grounds, (l+r)/2)
			if len(c.eyes) > 0 && math.Hypot(float64(x)-c.eyes[0].X, float64(y)-c.eyes[0].Y) < c.eyeRadius {
				inEye++
			}
			j := clampInt(y+off*dy, c.h)*c.w + clampInt(x+off*dx, c.w)
			k := clampInt(y-off*dy, c.h)*c.w + clampInt(x-off*dx, c.w)
			bright += float64(c.bright.Pix[i]) - float64(c.bright.Pix[j]+c.bright.Pix[k])/2
			change = append(change, s-(saturationOf(float64(c.white.Pix[j]), float64(c.bright.Pix[j]))+saturationOf(float64(c.white.Pix[k]), float64(c.bright.Pix[k])))/2)
			n++
		}
	}
	mx, my := (x0+x1)/2, (y0+y1)/2
	d, none := 3.0, 1.0
	if len(c.eyes) > 0 {
		d, none = nearestEye(c.eyes, mx, my), 1-c.eyeSure
	}
	sure := 1 - none
	const pad = 2
	least, most := c.beyond(pieces, group, mean(strength))
	clutter, alike := c.about(pieces, group, x0, y0, x1, y1, mean(strength))
	from, to := c.outerEnds(pieces, group)
	ahead, aside, belly := 0.0, 0.0, 0.0
	if len(c.eyes) > 0 {
		bx, by := c.eyes[0].X-c.middle.X, c.eyes[0].Y-c.middle.Y
		if l := math.Hypot(bx, by); l > 0 {
			bx, by = bx/l, by/l
			dx, dy := (mx-c.eyes[0].X)/WorkingScale, (my-c.eyes[0].Y)/WorkingScale
			ahead, aside = max(-6, min(6, dx*bx+dy*by))*sure, min(6, math.Abs(dx*by-dy*bx))*sure
			belly = max(-4, min(4, -(dx*by-dy*bx))) * c.belly * sure
		}
	}
	sh := c.shapeOf(group)
	meanContrast := mean(contrast)
	slices.Sort(contrast)
	return []float64{
		math.Log(length), math.Abs(math.Log(length / 1.2)), float64(min(6, len(group))), direct / length,
		math.Log(mean(strength)), math.Log(mean(rel)), spread(strength), mean(thick),
		mean(white), mean(sat), mean(change), meanContrast, mean(sided), ground / n,
		d * sure, max(0, d-3.2) * sure, max(0, 0.7-d) * sure, none,
		math.Log(n / ((x1 - x0 + 3) * (y1 - y0 + 3))),
		min(2, least), min(2, most), clutter, alike, quantile(contrast, 0.2), bright / n,
		min(4, length/(c.distance(from, to)/WorkingScale+0.05)), ahead, aside,
		math.Log(sh.width), sh.widthSpread, sh.taper, math.Log(sh.ripple+0.002) - math.Log(math.Max(0.01, meanContrast)), sh.kink, sh.curl, sh.fork,
		c.alikes(pieces, group), belly, deviation(grounds), inEye / n * sure, longest / length,
	}, x0 - pad, y0 - pad, x1 + pad, y1 + pad
}

func acrossStep(d uint8) (dx, dy int) {
	switch d {
	case 0:
		return 1, 0
	case 1:
		return 1, 1
	case 2:
		return 0, 1
	}
	return 1, -1
}

// findThreads returns candidate threads near the eyes, in the order in which
// they should be looked at. As an alarm they are worth nothing: legs, feelers
// and glints are pale lines too.
func (s *search) findThreads(c *rowContext, fine *ridges) []Mark {
	var marks []Mark
	for _, r := range []*ridges{fine, newRidges(s.white, thickSigmas)} {
		marks = append(marks, s.threadsAlong(c, r)...)
	}
	return SpreadOut(marks, s.keep, s.storedPerMM())
}

// threadsAlong returns the candidates on one map of ridges.
func (s *search) threadsAlong(c *rowContext, r *ridges) []Mark {
	t := &threadContext{ridges: r, white: s.white, bright: s.bright, soft: c.soft, eyes: c.eyes, eyeSure: c.eyeSure}
	if len(t.eyes) > 0 {
		t.middle = t.bodyMiddle(t.eyes[0])
		t.belly = t.bellySide(t.eyes[0])
		t.eyeRadius = s.eyes[0].RadiusMM * WorkingScale
	}
	inside := func(x, y float64) bool { return true }
	if c.eyeSure > threadEye {
		inside = func(x, y float64) bool { return nearAny(c.eyes, x, y, threadReach) }
	}
	pieces := findPieces(r, inside)
	slices.SortStableFunc(pieces, func(a, b piece) int { return r.rank(b) - r.rank(a) })
	pieces = pieces[:min(len(pieces), threadsTried)]
	for _, p := range pieces {
		k := t.follow(p)
		t.courses, t.looks = append(t.courses, k), append(t.looks, t.lookOf(p, k))
	}
	var marks []Mark
	for _, g := range joinPieces(r, pieces) {
		f, x0, y0, x1, y1 := t.measureThread(pieces, g)
		m := s.mark(Filament, x0, y0, x1, y1, s.models.Threads, f)
		if s.pxPerMM > 0 {
			m.LengthMM = math.Exp(f[0])
		}
		marks = append(marks, m)
	}
	return marks
}

// rank orders pieces by their summed strength.
func (r *ridges) rank(p piece) int {
	sum := 0.0
	for _, i := range p.pixels {
		sum += float64(r.strength.Pix[i])
	}
	return int(1e4 * sum)
}
