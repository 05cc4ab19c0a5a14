package photo

import (
	"cmp"
	"math"
	"slices"
)

// Odd texture is looked for in windows of this size.
const (
	tuftWindow = 0.22 // mm: standard deviation
	tuftCell   = 8    // working pixels
	tuftsTried = 24
	tuftHalf   = 0.4 // mm: half of a mark's side
)

// tuftFeatures name what is measured of a window.
var tuftFeatures = []string{
	"log energy", "disorder", "white", "saturation", "energy over round", "eye distance", "no eye", "thin",
}

// Cosine and sine of twice the angle of a direction, so that opposite ways agree,
// and which scale is thin. They are looked up: branches on them are as good as
// random.
var (
	cosTwice  = [4]float32{1, 0, -1, 0}
	sinTwice  = [4]float32{0, 1, 0, -1}
	thinScale = [2]float32{1, 0}
)

// findTufts returns places of fine pale lines in disorder: fuzz. Like threads,
// they are an order of crops and no alarm.
func (s *search) findTufts(c *rowContext, r *ridges) []Mark {
	w, h := r.w/tuftCell, r.h/tuftCell
	if w < 3 || h < 3 {
		return nil
	}
	energy, cos2, sin2, thin := NewPlane(w, h), NewPlane(w, h), NewPlane(w, h), NewPlane(w, h)
	for y := range h * tuftCell {
		for cell := range w {
			j, i := y/tuftCell*w+cell, y*r.w+cell*tuftCell
			e, c, s, t := energy.Pix[j], cos2.Pix[j], sin2.Pix[j], thin.Pix[j]
			across, scale := r.across[i:][:tuftCell], r.scale[i:][:tuftCell]
			for k, v := range r.strength.Pix[i:][:tuftCell] {
				e += v
				c += v * cosTwice[across[k]&3]
				s += v * sinTwice[across[k]&3]
				t += v * thinScale[min(scale[k], 1)]
			}
			energy.Pix[j], cos2.Pix[j], sin2.Pix[j], thin.Pix[j] = e, c, s, t
		}
	}
	const sigma = tuftWindow * WorkingScale / tuftCell
	wide := energy.Blur(3 * sigma)
	for _, p := range []*Plane{energy, cos2, sin2, thin} {
		copy(p.Pix, p.Blur(sigma).Pix)
	}
	var marks []Mark
	for _, p := range peaksOf(energy) {
		x, y := p%w, p/w
		px, py := (float64(x)+0.5)*tuftCell, (float64(y)+0.5)*tuftCell
		e := float64(energy.Pix[p]) + 1e-6
		coherent := math.Hypot(float64(cos2.Pix[p]), float64(sin2.Pix[p])) / e
		white := float64(c.soft.Sample(px, py))
		d, none := 3.0, 1.0
		if len(c.eyes) > 0 {
			d, none = nearestEye(c.eyes, px, py), 1-c.eyeSure
		}
		f := []float64{
			math.Log(e), 1 - coherent, white, saturationOf(float64(s.white.Sample(px, py)), float64(s.bright.Sample(px, py))),
			math.Log(e / (float64(wide.Pix[p]) + 1e-6)), d * (1 - none), none, float64(thin.Pix[p]) / e,
		}
		const half = tuftHalf * WorkingScale
		marks = append(marks, s.mark(TuftKind, px-half, py-half, px+half, py+half, s.models.Tufts, f))
	}
	return best(marks, s.keep)
}

// peaksOf returns the pixels that are larger than their neighbours, largest
// first.
func peaksOf(p *Plane) []int {
	var out []int
	for y := 1; y+1 < p.H; y++ {
		for x := 1; x+1 < p.W; x++ {
			if topOfAll([]*Plane{p}, 0, x, y, p.Pix[y*p.W+x], 1) {
				out = append(out, y*p.W+x)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b int) int { return cmp.Compare(p.Pix[b], p.Pix[a]) })
	return out[:min(len(out), tuftsTried)]
}
