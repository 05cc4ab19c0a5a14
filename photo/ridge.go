package photo

import "math"

// ridgeSigmas are the scales, in working pixels, at which pale threads of 0.05
// to 0.16 mm answer.
var ridgeSigmas = []float64{1.2, 2.2}

// thickSigmas is for threads of 0.12 to 0.2 mm, which are followed by themselves:
// taken together with the finer scales they would swallow thin lines beside
// thick ones.
var thickSigmas = []float64{3.6}

// ridges is the response to pale threads: strength at the better scale, the
// scale's index, and the direction across, in steps of 45 degrees.
type ridges struct {
	w, h     int
	sigmas   []float64
	strength *Plane
	scale    []uint8
	across   []uint8
	rms      localMean
}

// RidgeResponse returns how strongly the surroundings of each pixel look like a
// pale line at scale sigma, from the Hessian of the smoothed plane with the
// eigenvalues l1 <= l2:
//
//	sigma^2 max(0, -l1 - 0.7 |l2|)
//
// A line has l2 near 0; a spot, with both strongly negative, answers less.
// smoothed is Blur(sigma) of the picture. Source: lindeberg1998b.
func RidgeResponse(smoothed *Plane, sigma float64) *Plane {
	r := &ridges{w: smoothed.W, h: smoothed.H, strength: NewPlane(smoothed.W, smoothed.H),
		scale: make([]uint8, len(smoothed.Pix)), across: make([]uint8, len(smoothed.Pix))}
	for y := 1; y+1 < r.h; y++ {
		r.raise(y, smoothed.Row(y-1), smoothed.Row(y), smoothed.Row(y+1), sigma, 0)
	}
	return r.strength
}

func newRidges(g *Plane, sigmas []float64) *ridges {
	r := &ridges{sigmas: sigmas, w: g.W, h: g.H, strength: NewPlane(g.W, g.H), scale: make([]uint8, len(g.Pix)), across: make([]uint8, len(g.Pix))}
	for i, s := range sigmas {
		g.blurredRows(s, func(y int, up, mid, down []float32) {
			if y > 0 && y+1 < g.H {
				r.raise(y, up, mid, down, s, uint8(i))
			}
		})
	}
	r.rms = newLocalRMS(r.strength)
	return r
}

// raise puts in the response of row y at one scale wherever it is larger, from
// the smoothed row and its neighbours.
func (r *ridges) raise(y int, up, mid, down []float32, sigma float64, scale uint8) {
	s2 := float32(sigma * sigma)
	w := r.w
	up, mid, down = up[:w], mid[:w], down[:w]
	out, scales, across := r.strength.Row(y)[:w], r.scale[y*w:][:w], r.across[y*w:][:w]
	for x := 1; x+1 < w; x++ {
		xx := mid[x-1] - 2*mid[x] + mid[x+1]
		yy := up[x] - 2*mid[x] + down[x]
		if xx+yy >= 0 { // no pale line curves upwards in sum
			continue
		}
		xy := (up[x-1] - up[x+1] - down[x-1] + down[x+1]) / 4
		half := (xx - yy) / 2
		mean, diff := (xx+yy)/2, float32(math.Sqrt(float64(half*half+xy*xy)))
		v := s2 * (diff - mean - 0.7*abs32(mean+diff))
		if v > out[x] {
			out[x], scales[x], across[x] = v, scale, direction(half, xy)
		}
	}
}

// direction tells which way the Hessian curves down most, in steps of 45
// degrees: 0 along x, 1 along x and y, 2 along y, 3 along x and minus y. half
// is half of xx-yy.
func direction(half, xy float32) uint8 {
	// The direction has twice the angle of (-half, -xy). Which way is as good as
	// random from pixel to pixel, so it is looked up rather than branched for.
	return ways[btoi(half < 0)<<2|btoi(abs32(half) > abs32(xy))<<1|btoi(xy < 0)]
}

// ways is direction by whether half is negative, whether it is the larger, and
// whether xy is negative.
var ways = [8]uint8{3, 1, 2, 2, 3, 1, 0, 0}

func abs32(v float32) float32 { return math.Float32frombits(math.Float32bits(v) &^ (1 << 31)) }

// crest tells whether a pixel is at least as strong as its neighbours across.
func (r *ridges) crest(i int) bool {
	var d int
	switch r.across[i] {
	case 0:
		d = 1
	case 1:
		d = r.w + 1
	case 2:
		d = r.w
	default:
		d = r.w - 1
	}
	v := r.strength.Pix[i]
	return v >= r.strength.Pix[i-d] && v > r.strength.Pix[i+d]
}
