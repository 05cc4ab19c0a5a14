package photo

import (
	"math"
	"slices"
)

// Sharpness is how much fine detail a picture holds where the animal is
// likely to be.
type Sharpness struct {
	// Value ranks frames: higher is sharper. It has no unit; see MeasureSharpness.
	Value float64
	// Noise is the standard deviation of the pixel noise, as a share of white.
	Noise float64
	// Tiles is the fine-detail energy above the noise of each TileSide square,
	// row by row, TilesX in a row. It is a hint where to look: texture and
	// contrast weigh in it as much as focus.
	Tiles  []float64
	TilesX int
	// Features are what Value was reckoned from; nil when Value is 0.
	Features []float64
}

// TileSide is the side of the squares of Sharpness.Tiles in working pixels.
const TileSide = 32

const (
	sharpSigma  = 1.0  // working pixels: the finest detail that is not one pixel
	middleReach = 0.29 // of the picture's width and height: where animals are framed
	slopeSigma  = 0.8  // working pixels: for the slope of edges
	slopeCell   = 5    // working pixels: the range of 3 by 3 cells is an edge's height
	slopeFloor  = 4.0 / 255
)

// SharpFeatures name what Sharpness.Value is reckoned from, in the order of
// Sharpness.Features: quartiles over the tiles that show the animal, and the
// noise.
var SharpFeatures = []string{
	"log noise",
	"slope 25", "slope 50", "slope 75",
	"fine to middle 25", "fine to middle 50", "fine to middle 75",
	"middle to coarse 25", "middle to coarse 50", "middle to coarse 75",
	"coarse to coarser 25", "coarse to coarser 50", "coarse to coarser 75",
	"coarse 50", "coarse 75",
	"worst direction", "best direction",
}

// MeasureSharpness measures a plane of lightness at working scale.
//
//	Value = 10 exp(log-odds / 4)
//
// where the log-odds that the blur over the animal is at most 0.03 mm come from
// the logarithm of the blur, reckoned by a linear model that was fitted on tuning
// and varied phantoms from the logarithms of, over the tiles that show the animal,
//
//   - slope: the largest gradient in a tile over the range of lightness about it,
//     with four times the noise added to the range: how steep an edge is for its
//     height, which for an edge by itself is one over its width. Its median alone
//     ranks nearly as well as all together;
//   - the ratios of the energies (mean square responses of a Laplacian of
//     Gaussian) at 1, 2, 4 and 8 pixels, each less what the picture's own noise
//     would give: how much of what structure there is is fine. Like slope they
//     change little with contrast;
//   - the energy at 4 itself and the noise, which put right what strong pigment
//     and noise add to the others;
//   - how fine the gradients of the whole animal are along the directions in which
//     they are least and most so: a smear by motion leaves what runs along it
//     sharp.
//
// Plain tiles of the animal count like its others. Nothing but the animal counts:
// what is sharp may be the gravel. Energy alone ranks strong pigment before focus.
// The variance of a plain Laplacian ranks noise and gravel first and is not used.
//
// A picture smaller than one tile, or without any detail above its noise, has
// Value 0; the former has no tiles. body tells for each tile whether it shows the
// animal; where none does, or nil, those in the middle stand for it.
func MeasureSharpness(luma *Plane, body []bool) Sharpness {
	s := Sharpness{Noise: NoiseLevel(luma), TilesX: luma.W / TileSide}
	rows := luma.H / TileSide
	if s.TilesX == 0 || rows == 0 {
		s.TilesX = 0
		return s
	}
	tiles := newTileSquares(s.TilesX, rows)
	luma.blurredLoGRows(sharpSigma, tiles.add)
	s.Tiles = tiles.means()
	fromNoise := s.Noise * s.Noise * logNoiseGain
	detail := false
	for i := range s.Tiles {
		s.Tiles[i] = max(0, s.Tiles[i]-fromNoise)
		detail = detail || s.Tiles[i] > 0
	}
	if detail {
		s.Features = s.measure(luma, rows, body)
		s.Value = 10 * math.Exp(builtIn().Sharp.Score(s.Features)/4)
	}
	return s
}

// measure returns the features.
func (s *Sharpness) measure(luma *Plane, rows int, body []bool) []float64 {
	half := luma.Resample(max(1, luma.W/2), max(1, luma.H/2))
	halfSoft := half.Blur(2)
	quarter := half.Resample(max(1, half.W/2), max(1, half.H/2))
	// Halving averages four pixels, so white noise is left with a quarter of its
	// variance; at a quarter of the size what remains of it is next to nothing.
	halved := s.Noise * s.Noise / 4
	fine := s.Tiles
	middle := reducedTiles(half.Blur(1).LoG(1), 2, s.TilesX, rows, halved*logNoiseGain)
	coarse := reducedTiles(halfSoft.LoG(2), 2, s.TilesX, rows, halved*coarseNoiseGain)
	coarser := reducedTiles(quarter.Blur(2).LoG(2), 4, s.TilesX, rows, halved/4*coarseNoiseGain)
	if !slices.Contains(body, true) {
		body = middleTiles(s.TilesX, rows)
	}
	quartiles := func(of func(i int) float64) []float64 {
		var v []float64
		for i, is := range body {
			if is {
				v = append(v, of(i))
			}
		}
		slices.Sort(v)
		return []float64{quantile(v, 0.25), quantile(v, 0.5), quantile(v, 0.75)}
	}
	g := luma.Blur(slopeSigma)
	slopes := edgeSlopes(g, s.Noise, s.TilesX, rows)
	f := []float64{math.Log(s.Noise + 1e-4)}
	f = append(f, quartiles(func(i int) float64 { return math.Log(slopes[i] + 1e-3) })...)
	for _, pair := range [][2][]float64{{fine, middle}, {middle, coarse}, {coarse, coarser}} {
		f = append(f, quartiles(func(i int) float64 { return logEnergy(pair[0][i]) - logEnergy(pair[1][i]) })...)
	}
	f = append(f, quartiles(func(i int) float64 { return logEnergy(coarse[i]) })[1:]...)
	least, most := fineByDirection(g, halfSoft, body, s.TilesX, s.Noise)
	return append(f, least, most)
}

// logEnergy is a logarithm to which responses of less than a quarter of a grey
// level of 255 are next to nothing.
func logEnergy(v float64) float64 { return math.Log(v + 1e-6) }

// middleTiles are those where an animal is framed, at least one of a small picture.
func middleTiles(across, down int) []bool {
	out := make([]bool, across*down)
	for i := range out {
		x := (float64(i%across)+0.5)/float64(across) - 0.5
		y := (float64(i/across)+0.5)/float64(down) - 0.5
		out[i] = math.Hypot(x, y) < max(middleReach, 0.75/float64(min(across, down)))
	}
	return out
}

// edgeSlopes is the largest ratio of gradient to range in each tile of a plane
// smoothed by slopeSigma.
func edgeSlopes(g *Plane, noise float64, across, down int) []float64 {
	floor := float32(4*noise + slopeFloor)
	span := cellRanges(g)
	out := make([]float64, across*down)
	for y := 1; y < min(down*TileSide, g.H-1); y++ {
		up, mid, low := g.Row(y-1), g.Row(y), g.Row(y+1)
		ranges := span.Row(min(y/slopeCell, span.H-1))
		tiles := out[y/TileSide*across:]
		for t := range across {
			var top float32
			for x := max(1, t*TileSide); x < min((t+1)*TileSide, g.W-1); x++ {
				dx, dy := mid[x+1]-mid[x-1], low[x]-up[x]
				r := ranges[min(x/slopeCell, span.W-1)] + floor
				top = max(top, (dx*dx+dy*dy)/(4*r*r))
			}
			tiles[t] = max(tiles[t], float64(top))
		}
	}
	for i, v := range out {
		out[i] = math.Sqrt(v)
	}
	return out
}

// fineByDirection is the logarithm of the energy of the gradients of the animal's
// tiles in a lightly smoothed plane over that in a strongly smoothed one of half
// the size, along the direction in which it is least and that in which it is most.
// Every tile counts alike, whatever its contrast.
func fineByDirection(fine, halfCoarse *Plane, body []bool, across int, noise float64) (least, most float64) {
	const floor = 1e-6 // mean square: gradients below are next to nothing
	fromNoise := noise * noise * gradientNoiseGain
	var f, c gradients
	for i, is := range body {
		if is {
			x, y := i%across, i/across
			tf := gradientsOf(fine, x*TileSide, y*TileSide, TileSide, fromNoise)
			tc := gradientsOf(halfCoarse, x*TileSide/2, y*TileSide/2, TileSide/2, 0)
			weight := 1 / (tc.xx + tc.yy + floor)
			f.add(tf, weight)
			c.add(tc, weight)
		}
	}
	least, most = math.Inf(1), math.Inf(-1)
	const directions = 8
	for k := range directions {
		sin, cos := math.Sincos(math.Pi * float64(k) / directions)
		r := math.Log((max(0, f.along(cos, sin)) + 1e-4) / (c.along(cos, sin) + 1e-4))
		least, most = min(least, r), max(most, r)
	}
	return least, most
}

// gradients are the mean products of the components of the gradient.
type gradients struct{ xx, yy, xy float64 }

func (g *gradients) add(o gradients, weight float64) {
	g.xx, g.yy, g.xy = g.xx+weight*o.xx, g.yy+weight*o.yy, g.xy+weight*o.xy
}

// along is the mean square of the gradient along a direction.
func (g gradients) along(cos, sin float64) float64 {
	return cos*cos*g.xx + sin*sin*g.yy + 2*cos*sin*g.xy
}

// gradientsOf measures a square of p, less the mean square that noise gives each
// component.
func gradientsOf(p *Plane, x0, y0, side int, fromNoise float64) gradients {
	var xx, yy, xy float32
	n := 0
	for y := max(1, y0); y < min(p.H-1, y0+side); y++ {
		up, mid, low := p.Row(y-1), p.Row(y), p.Row(y+1)
		for x := max(1, x0); x < min(p.W-1, x0+side); x++ {
			dx, dy := mid[x+1]-mid[x-1], low[x]-up[x]
			xx, yy, xy = xx+dx*dx, yy+dy*dy, xy+dx*dy
			n++
		}
	}
	k := 1 / (4 * float64(max(1, n)))
	return gradients{max(0, float64(xx)*k-fromNoise), max(0, float64(yy)*k-fromNoise), float64(xy) * k}
}

// cellRanges is the range of lightness in each cell and those about it.
func cellRanges(p *Plane) *Plane {
	w, h := max(1, p.W/slopeCell), max(1, p.H/slopeCell)
	lo, hi, out := NewPlane(w, h), NewPlane(w, h), NewPlane(w, h)
	for y := range h {
		for x := range w {
			least, most := float32(math.Inf(1)), float32(math.Inf(-1))
			for yy := y * slopeCell; yy < min(p.H, (y+1)*slopeCell); yy++ {
				for _, v := range p.Row(yy)[x*slopeCell : min(p.W, (x+1)*slopeCell)] {
					least, most = min(least, v), max(most, v)
				}
			}
			lo.Pix[y*w+x], hi.Pix[y*w+x] = least, most
		}
	}
	for y := range h {
		for x := range w {
			least, most := lo.Pix[y*w+x], hi.Pix[y*w+x]
			for yy := max(0, y-1); yy <= min(h-1, y+1); yy++ {
				for xx := max(0, x-1); xx <= min(w-1, x+1); xx++ {
					least, most = min(least, lo.Pix[yy*w+xx]), max(most, hi.Pix[yy*w+xx])
				}
			}
			out.Pix[y*w+x] = most - least
		}
	}
	return out
}

// reducedTiles is the mean square of each tile in a plane that is f times
// smaller than the tiles' own, less what noise gives.
func reducedTiles(p *Plane, f, across, down int, fromNoise float64) []float64 {
	out := make([]float64, across*down)
	side := TileSide / f
	for i := range out {
		x, y, n := i%across*side, i/across*side, 0
		for yy := y; yy < min(p.H, y+side); yy++ {
			for _, v := range p.Row(yy)[min(p.W, x):min(p.W, x+side)] {
				out[i] += float64(v) * float64(v)
				n++
			}
		}
		out[i] = max(0, out[i]/float64(max(1, n))-fromNoise)
	}
	return out
}

// TileMeanSquares returns the mean square of each tile of TileSide pixels that
// lies whole in the plane, row by row.
func TileMeanSquares(p *Plane) []float64 {
	t := newTileSquares(p.W/TileSide, p.H/TileSide)
	for y := range p.H {
		t.add(y, p.Row(y))
	}
	return t.means()
}

// tileSquares gathers the sums of squares of tiles.
type tileSquares struct {
	across int
	sums   []float64
}

func newTileSquares(across, down int) *tileSquares {
	return &tileSquares{across: across, sums: make([]float64, across*down)}
}

// add takes in row y; rows below the last whole tile count nowhere.
func (t *tileSquares) add(y int, row []float32) {
	first := y / TileSide * t.across
	if first >= len(t.sums) {
		return
	}
	for i := range t.across {
		var s float32
		for _, v := range row[i*TileSide : (i+1)*TileSide] {
			s += v * v
		}
		t.sums[first+i] += float64(s)
	}
}

func (t *tileSquares) means() []float64 {
	for i := range t.sums {
		t.sums[i] /= TileSide * TileSide
	}
	return t.sums
}

// logNoiseGain and coarseNoiseGain are the variances that white noise of
// variance 1 has after Blur(1).LoG(1) and Blur(2).LoG(2), gradientNoiseGain that
// of half the difference of two pixels on either side after Blur(slopeSigma).
var (
	logNoiseGain, coarseNoiseGain = noiseGain(sharpSigma), noiseGain(2)
	gradientNoiseGain             = gradientGain(slopeSigma)
)

// gradientGain is the sum of the squares of the combined kernel.
func gradientGain(sigma float64) float64 {
	k := gaussKernel(sigma)
	at := func(i int) float64 {
		if i = max(i, -i); i < len(k) {
			return float64(k[i])
		}
		return 0
	}
	var along, across float64
	for i := -len(k); i <= len(k); i++ {
		d := (at(i+1) - at(i-1)) / 2
		along, across = along+d*d, across+at(i)*at(i)
	}
	return along * across
}

// noiseGain is the sum of the squares of the combined kernel.
func noiseGain(sigma float64) float64 {
	const side = 41
	p := NewPlane(side, side)
	p.Pix[side/2*side+side/2] = 1
	sum := 0.0
	for _, v := range p.Blur(sigma).LoG(sigma).Pix {
		sum += float64(v) * float64(v)
	}
	return sum
}

// NoiseLevel estimates the standard deviation of white noise in a picture from
// the median absolute response of a mask that ignores planes and ramps:
//
//	 1 -2  1
//	-2  4 -2      median |response| / (0.6745 * 6)
//	 1 -2  1
//
// The median, where the original takes the mean, keeps textured parts from
// counting as noise as long as they fill less than half of the picture. Noise
// that a camera has smoothed away is not seen. Source: immerkaer1996.
func NoiseLevel(p *Plane) float64 {
	if p.W < 3 || p.H < 3 {
		return 0
	}
	// A row in three is enough for a median, and a histogram for finding it.
	const bins, top = 4096, 0.5
	var hist [bins]int
	n := 0
	for y := 1; y+1 < p.H; y += 3 {
		a, b, c := p.Row(y-1), p.Row(y), p.Row(y+1)
		for x := 1; x+1 < p.W; x++ {
			v := a[x-1] - 2*a[x] + a[x+1] - 2*b[x-1] + 4*b[x] - 2*b[x+1] + c[x-1] - 2*c[x] + c[x+1]
			if v < 0 {
				v = -v
			}
			hist[min(bins-1, int(v*(bins/top)))]++
			n++
		}
	}
	seen := 0
	for i, count := range hist {
		if seen+count > n/2 {
			inside := (float64(n/2-seen) + 0.5) / float64(count)
			return (float64(i) + inside) * top / bins / (0.6745 * 6)
		}
		seen += count
	}
	return 0
}
