package phantom

import (
	"math"
	"math/rand/v2"
)

// ground is what lies behind the animal.
type ground struct {
	kind   string
	a, b   [3]float64
	grain  float64 // mm
	blur   float64 // mm, standard deviation at the reference aperture
	rough  float64
	strand []limb
}

func newGround(rng *rand.Rand) ground {
	kinds := []string{"gravel", "gravel", "moss", "plain", "sponge", "dish"}
	g := ground{kind: kinds[rng.IntN(len(kinds))]}
	g.grain = logBetween(rng, 0.4, 3)
	g.blur = logBetween(rng, 0.01, 0.6)
	g.rough = between(rng, 0.05, 0.5)
	bright := logBetween(rng, 0.02, 0.6)
	for i := range 3 {
		g.a[i] = bright * between(rng, 0.6, 1.2)
		g.b[i] = bright * between(rng, 0.15, 0.9)
	}
	switch g.kind {
	case "dish":
		for i := range 3 {
			g.a[i] = between(rng, 0.5, 0.8)
			g.b[i] = g.a[i]
		}
		g.rough *= 0.1
	case "moss":
		g.a = [3]float64{0.05, between(rng, 0.1, 0.25), 0.03}
		g.b = [3]float64{0.01, 0.03, 0.01}
		for range whole(rng, 60, 250) {
			x, y, a := between(rng, -16, 16), between(rng, -11, 11), between(rng, 0, 2*math.Pi)
			f := between(rng, 0.6, 2.2)
			l := limb{r0: between(rng, 0.06, 0.25), r1: 0.05, colour: rgba{g.a[0] * f, g.a[1] * f, g.a[2] * f, 1}}
			for range whole(rng, 15, 60) {
				l.path = append(l.path, [2]float64{x, y})
				x, y = x+0.12*math.Cos(a), y+0.12*math.Sin(a)
				a += 0.12 * rng.NormFloat64()
			}
			g.strand = append(g.strand, l)
		}
	}
	return g
}

// at is the ground's colour at a place in scene mm.
func (g *ground) at(x, y float64, salt uint64) rgba {
	switch g.kind {
	case "gravel":
		d1, d2, id := cells(x/g.grain, y/g.grain, salt+101)
		dome := math.Sqrt(max(0, 1-d1*d1*1.3))
		gap := step(0.02, 0.2, d2-d1)
		f := (0.35 + 0.65*dome) * (0.25 + 0.75*gap) * (1 + g.rough*fractal(x*9, y*9, 3, salt+102))
		return mix(opaque(g.a), opaque(g.b), unit(id)).lit(f * (0.5 + unit(id*31)))
	case "sponge":
		d1, _, _ := cells(x/(g.grain*0.4), y/(g.grain*0.4), salt+103)
		return mix(opaque(g.b), opaque(g.a), step(0.15, 0.5, d1)).lit(1 + g.rough*fractal(x*5, y*5, 3, salt+104))
	case "dish":
		return opaque(g.a).lit(1 + g.rough*fractal(x*0.2, y*0.2, 2, salt+105))
	}
	return mix(opaque(g.b), opaque(g.a), 0.5+0.5*fractal(x/(2*g.grain), y/(2*g.grain), 3, salt+106)).lit(1 + 0.3*g.rough*fractal(x*6, y*6, 2, salt+107))
}
