package photo

import (
	"cmp"
	"math"
	"slices"
)

// Eye is a place where an eye may be.
type Eye struct {
	// At is its middle, in pixels of the plane that was searched.
	At Point
	// RadiusMM is the radius of the dark disc.
	RadiusMM float64
	// Score is the log-odds, on the tuning phantoms, that this is an eye.
	Score float64
	// Features are what Score was reckoned from, for refitting.
	Features []float64
}

// eyeScale is the number of pixels a millimetre at which eyes are looked for.
const eyeScale = WorkingScale / 4

// eyeRadii are the radii in mm of the dark discs that are tried.
var eyeRadii = []float64{0.33, 0.42, 0.52, 0.62}

// Limits of the search: how many dark spots are measured, how far two must lie
// apart in mm, and how many are returned.
const (
	eyeTries = 40
	eyeApart = 0.5
	eyeKept  = 4
)

// FindEyes returns where eyes may be, best first, at most four. brightness is
// max(R, G, B) at eyeScale: an eye is a round disc that is dark in every
// primary, with something lighter most of the way round. Nothing in the picture
// need be an eye: see Eye.Score.
func FindEyes(brightness *Plane, model *Logistic) []Eye {
	tries := darkSpots(brightness)
	eyes := make([]Eye, 0, len(tries))
	for _, t := range tries {
		e := Eye{At: Point{t.x, t.y}, RadiusMM: t.r / eyeScale}
		e.Features = measureEye(brightness, t)
		e.Score = model.Score(e.Features)
		eyes = append(eyes, e)
	}
	slices.SortStableFunc(eyes, func(a, b Eye) int { return cmp.Compare(b.Score, a.Score) })
	var kept []Eye
	for _, e := range eyes {
		near := slices.ContainsFunc(kept, func(k Eye) bool {
			return math.Hypot(k.At.X-e.At.X, k.At.Y-e.At.Y) < eyeApart*eyeScale
		})
		if !near && len(kept) < eyeKept {
			kept = append(kept, e)
		}
	}
	return kept
}

// spot is a dark disc of radius r pixels, with its Laplacian's response.
type spot struct{ x, y, r, response float64 }

// darkSpots returns the strongest dark discs over all radii.
func darkSpots(p *Plane) []spot {
	layers := make([]*Plane, len(eyeRadii))
	for i, r := range eyeRadii {
		sigma := r * eyeScale / math.Sqrt2
		layers[i] = p.Blur(sigma).LoG(sigma)
		for j, v := range layers[i].Pix {
			layers[i].Pix[j] = -v
		}
	}
	var spots []spot
	for i, l := range layers {
		for y := 1; y+1 < l.H; y++ {
			row := l.Row(y)
			for x := 1; x+1 < l.W; x++ {
				if v := row[x]; v > 0.02 && topOfAll(layers, i, x, y, v, 2) {
					spots = append(spots, spot{float64(x), float64(y), eyeRadii[i] * eyeScale, float64(v)})
				}
			}
		}
	}
	slices.SortStableFunc(spots, func(a, b spot) int { return cmp.Compare(b.response, a.response) })
	return spots[:min(len(spots), eyeTries)]
}

// topOfAll tells whether v at (x, y) of layer i is the largest value within
// reach pixels in every layer next to it. Of equal values the first counts.
func topOfAll(layers []*Plane, i, x, y int, v float32, reach int) bool {
	for k := max(0, i-1); k <= min(len(layers)-1, i+1); k++ {
		l := layers[k]
		for yy := max(0, y-reach); yy <= min(l.H-1, y+reach); yy++ {
			row := l.Row(yy)[max(0, x-reach):min(l.W, x+reach+1)]
			for dx, u := range row {
				if u < v {
					continue
				}
				xx := max(0, x-reach) + dx
				before := k < i || k == i && (yy < y || yy == y && xx < x)
				if u > v || before {
					return false
				}
			}
		}
	}
	return true
}

// EyeFeatures name the measures of a dark disc, in the order of Eye.Features.
var EyeFeatures = []string{"response", "dark", "darkest", "even", "ring quarter", "ring median", "ring least", "ring spread", "radius"}

// measureEye looks at a dark disc and the ring about it.
func measureEye(p *Plane, s spot) []float64 {
	var inside []float64
	const sectors = 12
	var ring [sectors][]float64
	reach := int(1.9*s.r) + 1
	for dy := -reach; dy <= reach; dy++ {
		for dx := -reach; dx <= reach; dx++ {
			d := math.Hypot(float64(dx), float64(dy)) / s.r
			x, y := int(s.x)+dx, int(s.y)+dy
			if x < 0 || y < 0 || x >= p.W || y >= p.H {
				continue
			}
			v := float64(p.Pix[y*p.W+x])
			switch {
			case d < 0.7:
				inside = append(inside, v)
			case d > 1.25 && d < 1.8:
				k := int((math.Atan2(float64(dy), float64(dx))/(2*math.Pi) + 1) * sectors)
				ring[k%sectors] = append(ring[k%sectors], v)
			}
		}
	}
	slices.Sort(inside)
	low, mid, high := quantile(inside, 0.1), quantile(inside, 0.5), quantile(inside, 0.9)
	var sides []float64
	for _, r := range ring {
		if len(r) > 0 {
			slices.Sort(r)
			sides = append(sides, quantile(r, 0.5)-mid)
		}
	}
	slices.Sort(sides)
	return []float64{
		s.response, mid, low, high - mid,
		quantile(sides, 0.25), quantile(sides, 0.5), quantile(sides, 0), quantile(sides, 0.9) - quantile(sides, 0.1), s.r / eyeScale,
	}
}

// quantile returns the q-quantile of sorted values, 0 of none.
func quantile(sorted []float64, q float64) float64 {
	if len(sorted) == 0 {
		return 0
	}
	f := q * float64(len(sorted)-1)
	i := int(f)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (f-float64(i))*(sorted[i+1]-sorted[i])
}
