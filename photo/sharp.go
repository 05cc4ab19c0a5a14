package photo

import (
	"cmp"
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
	centreReach = 0.35 // of the picture's width and height: where animals are framed
	bestShare   = 0.08 // of the tiles: the part of the animal in focus
	bodyShare   = 0.15 // of the tiles: the part with most structure, in focus or not
	slopeSigma  = 0.8  // working pixels: for the slope of edges
	slopeCell   = 5    // working pixels: the range of 3 by 3 cells is an edge's height
	slopeFloor  = 4.0 / 255
)

// SharpFeatures name what Sharpness.Value is reckoned from, in the order of
// Sharpness.Features.
var SharpFeatures = []string{
	"log slope", "log fine to coarse", "log middle to coarse, lower quarter", "log middle to coarse",
	"log coarse to coarser", "log noise", "log coarse",
	"body slope 25", "body slope 50", "body slope 75", "body slope 90",
	"body fine to coarse 25", "body fine to coarse 50", "body fine to coarse 75", "body fine to coarse 90",
	"body middle to coarse 25", "body middle to coarse 50", "body middle to coarse 75", "body middle to coarse 90",
	"body coarse to coarser 25", "body coarse to coarser 50", "body coarse to coarser 75", "body coarse to coarser 90",
	"body share",
}

// MeasureSharpness measures a plane of lightness at working scale.
//
//	Value = 10 exp(log-odds / 4)
//
// where the log-odds that the blur over the animal is at most 0.03 mm come from
// the logarithm of the blur, reckoned from the measures below by a linear model
// that was fitted on tuning phantoms:
//
//   - slope: the largest gradient in a tile over the range of lightness about it,
//     with four times the noise added to the range, over the best 8 % of the
//     tiles: how steep an edge is for its height;
//   - the ratios of the energies (mean square responses of a Laplacian of
//     Gaussian) at 1, 2, 4 and 8 pixels, as medians and a lower quartile over the
//     15 % of the tiles with most energy at 4: whether what has structure has fine
//     structure. All are less what the picture's own noise would give;
//   - quartiles and the upper tenth of slope and ratios over the tiles that show
//     the animal, the more structured 60 % of them, and how many they are;
//   - the noise, and the energy at 4 itself, over the best 15 %, which put right
//     what noise and strong pigment add to the others.
//
// Energy alone ranks strong pigment before focus.
//
// In the measures that are not of the animal's tiles the tiles are weighted by exp(-(x/0.35W)^2-(y/0.35H)^2) from the
// middle, so that neither gravel at the border nor a large soft background
// decides. The variance of a plain Laplacian ranks noise and gravel first and is
// not used.
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
	weight := centreWeights(s.TilesX, rows)
	half := luma.Resample(max(1, luma.W/2), max(1, luma.H/2))
	quarter := half.Resample(max(1, half.W/2), max(1, half.H/2))
	fine := s.Tiles
	// Halving averages four pixels, so white noise is left with a quarter of its
	// variance; at a quarter of the size what remains of it is next to nothing.
	halved := s.Noise * s.Noise / 4
	middle := reducedTiles(half.Blur(1).LoG(1), 2, s.TilesX, rows, halved*logNoiseGain)
	coarse := reducedTiles(half.Blur(2).LoG(2), 2, s.TilesX, rows, halved*coarseNoiseGain)
	coarser := reducedTiles(quarter.Blur(2).LoG(2), 4, s.TilesX, rows, halved/4*coarseNoiseGain)

	order := make([]int, len(fine))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(coarse[b]*weight[b], coarse[a]*weight[a]) })
	order = order[:max(1, int(bodyShare*float64(len(order))))]
	ratio := func(a, b []float64, q float64) float64 {
		v := make([]float64, len(order))
		for k, i := range order {
			v[k] = logEnergy(a[i]) - logEnergy(b[i])
		}
		slices.Sort(v)
		return quantile(v, q)
	}
	slopes := edgeSlopes(luma, s.Noise, s.TilesX, rows)
	f := []float64{
		logEnergy(topMean(slopes, weight, bestShare)),
		ratio(fine, coarse, 0.5), ratio(middle, coarse, 0.25), ratio(middle, coarse, 0.5),
		ratio(coarse, coarser, 0.5), math.Log(s.Noise + 1e-4), logEnergy(topMean(coarse, weight, bodyShare)),
	}
	if !slices.Contains(body, true) {
		body = make([]bool, len(fine))
		for i, w := range weight {
			body[i] = w > 0.5
		}
	}
	return append(f, overBody(body, slopes, fine, middle, coarse, coarser)...)
}

// plainTiles is the share of the animal's tiles that have too little structure to
// tell anything.
const plainTiles = 0.4

// overBody measures the tiles that show the animal.
func overBody(body []bool, slopes, fine, middle, coarse, coarser []float64) []float64 {
	var energy []float64
	for i, is := range body {
		if is && coarse[i] > 0 {
			energy = append(energy, logEnergy(coarse[i]))
		}
	}
	slices.Sort(energy)
	least := quantile(energy, plainTiles)
	var of [4][]float64
	for i, is := range body {
		if c := logEnergy(coarse[i]); is && coarse[i] > 0 && c >= least {
			for k, v := range []float64{math.Log(slopes[i] + 1e-4), logEnergy(fine[i]) - c, logEnergy(middle[i]) - c, c - logEnergy(coarser[i])} {
				of[k] = append(of[k], v)
			}
		}
	}
	var f []float64
	for _, v := range of {
		if len(v) == 0 { // nothing known of the animal: the model takes the mean
			f = append(f, math.NaN(), math.NaN(), math.NaN(), math.NaN())
			continue
		}
		slices.Sort(v)
		f = append(f, quantile(v, 0.25), quantile(v, 0.5), quantile(v, 0.75), quantile(v, 0.9))
	}
	return append(f, float64(len(energy))/float64(len(coarse)))
}

// logEnergy is a logarithm that bears nothing at all.
func logEnergy(v float64) float64 { return math.Log(v + 1e-7) }

// centreWeights are the weights of the tiles.
func centreWeights(across, down int) []float64 {
	w := make([]float64, across*down)
	for i := range w {
		x := ((float64(i%across)+0.5)/float64(across) - 0.5) / centreReach
		y := ((float64(i/across)+0.5)/float64(down) - 0.5) / centreReach
		w[i] = math.Exp(-x*x - y*y)
	}
	return w
}

// topMean is the mean of the largest share of the weighted values.
func topMean(v, weight []float64, share float64) float64 {
	weighted := make([]float64, len(v))
	for i := range v {
		weighted[i] = v[i] * weight[i]
	}
	slices.Sort(weighted)
	return mean(weighted[len(weighted)-max(1, int(math.Round(share*float64(len(weighted))))):])
}

// edgeSlopes is the largest ratio of gradient to range in each tile.
func edgeSlopes(luma *Plane, noise float64, across, down int) []float64 {
	g := luma.Blur(slopeSigma)
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
// variance 1 has after Blur(1).LoG(1) and Blur(2).LoG(2).
var logNoiseGain, coarseNoiseGain = noiseGain(sharpSigma), noiseGain(2)

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
