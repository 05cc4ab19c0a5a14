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

// MeasureSharpness measures a plane of lightness at working scale.
//
//	Value = 10,000 * sqrt(energy) * slope * fineness
//
// energy is the root mean square response of a Laplacian of Gaussian of 1 pixel,
// less what the picture's own noise would give, over the best 8 % of the tiles.
// slope is the largest gradient in a tile over the range of lightness about it,
// with four times the noise added to the range: how steep an edge is for its
// height, over the best 8 %. fineness is the median ratio of the energies at 1
// and at 4 pixels over the 15 % of the tiles with most of the latter: whether what
// has structure has fine structure. Energy alone ranks strong pigment before
// focus; slope and fineness do not depend on contrast, but on texture.
//
// In each the tiles are weighted by exp(-(x/0.35W)^2-(y/0.35H)^2) from the
// middle, so that neither gravel at the border nor a large soft background
// decides. The variance of a plain Laplacian ranks noise and gravel first and is
// not used.
//
// A picture smaller than one tile has Value 0 and no tiles.
func MeasureSharpness(luma *Plane) Sharpness {
	s := Sharpness{Noise: NoiseLevel(luma), TilesX: luma.W / TileSide}
	rows := luma.H / TileSide
	if s.TilesX == 0 || rows == 0 {
		s.TilesX = 0
		return s
	}
	s.Tiles = tileMeanSquares(luma.Blur(sharpSigma).LoG(sharpSigma), s.TilesX, rows)
	fromNoise := s.Noise * s.Noise * logNoiseGain
	for i := range s.Tiles {
		s.Tiles[i] = max(0, s.Tiles[i]-fromNoise)
	}
	weight := centreWeights(s.TilesX, rows)
	energy := topMean(s.Tiles, weight, bestShare)
	slope := topMean(edgeSlopes(luma, s.Noise, s.TilesX, rows), weight, bestShare)
	s.Value = 1e4 * math.Sqrt(math.Sqrt(energy)) * slope * s.fineness(luma, weight)
	return s
}

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

// fineness compares the fine detail with the coarse, which is measured at half
// size.
func (s *Sharpness) fineness(luma *Plane, weight []float64) float64 {
	half := luma.Resample(max(1, luma.W/2), max(1, luma.H/2))
	response := half.Blur(2).LoG(4) // sigma 2 at half size; the unit of 4 at full
	rows := len(s.Tiles) / s.TilesX
	coarse := make([]float64, len(s.Tiles))
	for i := range coarse {
		x, y := i%s.TilesX, i/s.TilesX
		n := 0
		for yy := y * TileSide / 2; yy < min(response.H, (y+1)*TileSide/2); yy++ {
			for _, v := range response.Row(yy)[x*TileSide/2 : min(response.W, (x+1)*TileSide/2)] {
				coarse[i] += float64(v) * float64(v)
				n++
			}
		}
		coarse[i] /= float64(max(1, n))
	}
	order := make([]int, s.TilesX*rows)
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(coarse[b]*weight[b], coarse[a]*weight[a]) })
	var ratios []float64
	for _, i := range order[:max(1, int(math.Round(bodyShare*float64(len(order)))))] {
		ratios = append(ratios, math.Sqrt(s.Tiles[i]/(coarse[i]+1e-7)))
	}
	slices.Sort(ratios)
	return quantile(ratios, 0.5)
}

// TileMeanSquares returns the mean square of each tile of TileSide pixels that
// lies whole in the plane, row by row.
func TileMeanSquares(p *Plane) []float64 { return tileMeanSquares(p, p.W/TileSide, p.H/TileSide) }

func tileMeanSquares(p *Plane, across, down int) []float64 {
	sums := make([]float64, across*down)
	for y := range down * TileSide {
		row := p.Row(y)
		out := sums[y/TileSide*across:]
		for t := range across {
			var s float32
			for _, v := range row[t*TileSide : (t+1)*TileSide] {
				s += v * v
			}
			out[t] += float64(s)
		}
	}
	for i := range sums {
		sums[i] /= TileSide * TileSide
	}
	return sums
}

// logNoiseGain is the variance that white noise of variance 1 has after
// Blur(1).LoG(1): the sum of the squares of the combined kernel.
var logNoiseGain = func() float64 {
	const side = 21
	p := NewPlane(side, side)
	p.Pix[side/2*side+side/2] = 1
	sum := 0.0
	for _, v := range p.Blur(sharpSigma).LoG(sharpSigma).Pix {
		sum += float64(v) * float64(v)
	}
	return sum
}()

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
