package photo

import (
	"math"
	"slices"
)

// Sharpness is how much fine detail a picture holds where the animal is
// likely to be.
type Sharpness struct {
	// Value ranks frames of the same kind of picture: higher is sharper. It is
	// the root mean square of the fine-detail response, above the noise, in
	// the best tiles, in thousandths of full white.
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
)

// MeasureSharpness measures a plane of lightness at working scale.
//
// In each tile it takes the mean square of a Laplacian of Gaussian of 1 pixel
// and subtracts what the picture's own noise would give. The tiles are
// weighted by exp(-(x/0.35W)^2-(y/0.35H)^2) from the middle, and the mean of
// the best 8 % counts, so that neither gravel at the border nor a large soft
// background decides. The variance of a plain Laplacian ranks noise and gravel
// first and is not used.
//
// A picture smaller than one tile has Value 0 and no tiles.
func MeasureSharpness(luma *Plane) Sharpness {
	s := Sharpness{Noise: NoiseLevel(luma), TilesX: luma.W / TileSide}
	rows := luma.H / TileSide
	if s.TilesX == 0 || rows == 0 {
		s.TilesX = 0
		return s
	}
	response := luma.Blur(sharpSigma).LoG(sharpSigma)
	s.Tiles = tileMeanSquares(response, s.TilesX, rows)
	fromNoise := s.Noise * s.Noise * logNoiseGain
	weighted := make([]float64, len(s.Tiles))
	for i := range s.Tiles {
		s.Tiles[i] = max(0, s.Tiles[i]-fromNoise)
		x := ((float64(i%s.TilesX)+0.5)/float64(s.TilesX) - 0.5) / centreReach
		y := ((float64(i/s.TilesX)+0.5)/float64(rows) - 0.5) / centreReach
		weighted[i] = s.Tiles[i] * math.Exp(-x*x-y*y)
	}
	slices.Sort(weighted)
	best := weighted[len(weighted)-max(1, int(math.Round(bestShare*float64(len(weighted))))):]
	sum := 0.0
	for _, v := range best {
		sum += v
	}
	s.Value = 1000 * math.Sqrt(sum/float64(len(best)))
	return s
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
