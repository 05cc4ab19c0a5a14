package photo

import (
	"cmp"
	"math"
	"slices"
)

// Blob is a pale spot.
type Blob struct {
	// X and Y are its middle, in working pixels, between pixels.
	X, Y float64
	// Sigma is the scale at which it answers most, in working pixels; a disc of
	// radius r answers at r/sqrt(2).
	Sigma float64
	// Response is the scale-normalised Laplacian there, in units of white.
	Response float64
	// Relative is Response over the local root mean square response.
	Relative float64
	// Round is the ratio of the smaller to the larger curvature, 0 to 1.
	Round float64
}

// blobSigmas are the scales, for discs of 0.09 to 0.17 mm.
var blobSigmas = []float64{1.9, 2.5, 3.3}

// Limits of what counts as a spot, and of how many are kept.
const (
	minResponse   = 0.004
	minRelative   = 0.8
	minRound      = 0.35
	localRMS      = 1.0   // mm: the Gaussian window of the local RMS
	rmsFloor      = 0.002 // keeps flat ground from dividing by nothing
	blobsPerCell  = 60    // in each square millimetre
	blobsPerPhoto = 6000
	blobsFar      = 1500 // of them beyond eyeReach of any likely eye
)

// eyeReach is how far from the eye, in mm, the gill chamber ends.
const eyeReach = 7.0

// nearAny tells whether a place in working pixels lies within reach mm of one of
// the eyes.
func nearAny(eyes []Point, x, y, reach float64) bool {
	for _, e := range eyes {
		if math.Hypot(e.X-x, e.Y-y) < reach*WorkingScale {
			return true
		}
	}
	return false
}

// nearestEye is how many mm a place in working pixels lies from the nearest of
// the eyes, at most 12.
func nearestEye(eyes []Point, x, y float64) float64 {
	d := 12.0
	for _, e := range eyes {
		d = min(d, math.Hypot(e.X-x, e.Y-y)/WorkingScale)
	}
	return d
}

// FindBlobs returns the pale round spots of a whiteness plane at WorkingScale,
// strongest first. Where eyes are given, fewer are kept away from them.
func FindBlobs(g *Plane, eyes []Point) []Blob {
	return newBlobLayers(g).blobs(eyes)
}

// blobLayers are a plane smoothed at each scale, its Laplacian there, and the
// local RMS of that.
type blobLayers struct {
	smooth, log []*Plane
	rms         []localMean
}

func newBlobLayers(g *Plane) *blobLayers {
	var b blobLayers
	for _, s := range blobSigmas {
		p := g.Blur(s)
		l := p.LoG(s)
		b.smooth, b.log, b.rms = append(b.smooth, p), append(b.log, l), append(b.rms, newLocalRMS(l))
	}
	return &b
}

func (b *blobLayers) blobs(eyes []Point) []Blob {
	var blobs []Blob
	for i, l := range b.log {
		rms := b.rms[i]
		for y := 2; y+2 < l.H; y++ {
			row := l.Row(y)
			for x := 2; x+2 < l.W; x++ {
				v := row[x]
				if v < minResponse || v < row[x-1] || v < row[x+1] {
					continue
				}
				if !topOfAll(b.log, i, x, y, v, 2) {
					continue
				}
				spot := Blob{Sigma: blobSigmas[i], Response: float64(v)}
				spot.Relative = spot.Response / (rms.at(x, y) + rmsFloor)
				if spot.Relative < minRelative {
					continue
				}
				if spot.Round = roundness(b.smooth[i], x, y); spot.Round < minRound {
					continue
				}
				spot.X = float64(x) + peak(row[x-1], v, row[x+1])
				spot.Y = float64(y) + peak(l.Pix[(y-1)*l.W+x], v, l.Pix[(y+1)*l.W+x])
				blobs = append(blobs, spot)
			}
		}
	}
	return thin(blobs, eyes)
}

// thin keeps the strongest blobs of each square millimetre and of the photo,
// so that glinting texture in one place, or gravel about the animal, does not
// crowd out the rest.
func thin(blobs []Blob, eyes []Point) []Blob {
	slices.SortStableFunc(blobs, func(a, b Blob) int { return cmp.Compare(b.Response, a.Response) })
	inCell := map[[2]int]int{}
	far := 0
	kept := blobs[:0]
	for _, b := range blobs {
		cell := [2]int{int(b.X / WorkingScale), int(b.Y / WorkingScale)}
		if inCell[cell] >= blobsPerCell || len(kept) >= blobsPerPhoto {
			continue
		}
		if len(eyes) > 0 && !nearAny(eyes, b.X, b.Y, eyeReach) {
			if far >= blobsFar {
				continue
			}
			far++
		}
		inCell[cell]++
		kept = append(kept, b)
	}
	return kept
}

// peak returns where between -1/2 and 1/2 the parabola through three values,
// the middle one the largest, has its top.
func peak(left, mid, right float32) float64 {
	den := left - 2*mid + right
	if den >= 0 {
		return 0
	}
	return max(-0.5, min(0.5, 0.5*float64((left-right)/den)))
}

// roundness is the ratio of the curvatures of a smoothed plane at a bright
// spot: the smaller eigenvalue of the Hessian over the larger; 0 when the spot
// is a ridge or a saddle.
func roundness(p *Plane, x, y int) float64 {
	m := p.Pix[y*p.W+x]
	up, down := p.Pix[(y-1)*p.W+x-1:(y-1)*p.W+x+2], p.Pix[(y+1)*p.W+x-1:(y+1)*p.W+x+2]
	xx := float64(p.Pix[y*p.W+x-1] - 2*m + p.Pix[y*p.W+x+1])
	yy := float64(up[1] - 2*m + down[1])
	xy := float64(up[0]-up[2]-down[0]+down[2]) / 4
	mean, diff := (xx+yy)/2, math.Hypot((xx-yy)/2, xy)
	if mean+diff >= 0 { // the weaker curvature is not downwards
		return 0
	}
	return (mean + diff) / (mean - diff)
}

// rmsSquare is the side of the squares whose mean squares the local RMS is
// smoothed from.
const rmsSquare = 8

// localMean is the root mean square of a plane under a Gaussian window.
type localMean struct{ p *Plane }

func newLocalRMS(l *Plane) localMean {
	s := newSquares(l.W, l.H)
	for y := range l.H {
		s.add(y, l.Row(y))
	}
	return s.localRMS()
}

// squares gathers a plane's sums of squares over squares of side rmsSquare.
type squares struct {
	sums *Plane
	w, h int // of the plane
}

func newSquares(w, h int) *squares {
	return &squares{sums: NewPlane(max(1, w/rmsSquare), max(1, h/rmsSquare)), w: w, h: h}
}

// add takes in row y.
func (s *squares) add(y int, row []float32) {
	if y/rmsSquare >= s.sums.H {
		return
	}
	sums := s.sums.Row(y / rmsSquare)
	for x := range sums {
		sum := sums[x]
		for _, v := range row[x*rmsSquare : min(s.w, (x+1)*rmsSquare)] {
			sum += v * v
		}
		sums[x] = sum
	}
}

func (s *squares) localRMS() localMean {
	n := float32(min(s.w, rmsSquare) * min(s.h, rmsSquare))
	for i := range s.sums.Pix {
		s.sums.Pix[i] /= n
	}
	m := s.sums.Blur(localRMS * WorkingScale / rmsSquare)
	for i, v := range m.Pix {
		m.Pix[i] = float32(math.Sqrt(float64(max(0, v))))
	}
	return localMean{m}
}

func (r localMean) at(x, y int) float64 {
	const half = (rmsSquare - 1) / 2.0
	return float64(r.p.Sample((float64(x)-half)/rmsSquare, (float64(y)-half)/rmsSquare))
}
