package phantom

import (
	"math"
	"math/rand/v2"
)

// Scene is an animal in its surroundings, before any camera.
type Scene struct {
	ranges Ranges
	salt   uint64
	strain strain
	body   *body

	eyes  []eye
	limbs []limb

	colonies []colony
	scatters []colony
	margins  []colony
	worms    []worm
	tufts    []tuft
	bubbles  []bubble
	specks   []bubble // floating grains

	bands              []span // mm along the body that are white
	patch              float64
	texture            float64
	lamella, lamellaA  float64 // period in mm and strength of the gills
	lamellaTilt        float64
	saddle             float64
	crumple, crumpleMM float64 // unevenness of the shell
	gloss, shine       float64
	pale, dark         speckle
	paleStrength       float64
	light              [3]float64
	ambient            float64

	ground ground
}

type eye struct{ t, w, r float64 }

// limb is a leg or a feeler: scene mm, tapering.
type limb struct {
	path     [][2]float64
	r0, r1   float64
	z        float64
	behind   bool
	colour   rgba
	segments float64
}

type bubble struct{ x, y, r, z, opacity float64 }

// NewScene draws a scene from seed within the ranges.
func NewScene(seed uint64, r Ranges) *Scene {
	rng := rand.New(rand.NewPCG(seed, 0x5ce9e))
	s := &Scene{ranges: r, salt: seed * 0x9e3779b97f4a7c15}
	s.strain = r.strains[rng.IntN(len(r.strains))]
	for i := range 3 { // no two animals of a strain are alike
		f := math.Exp(0.25 * rng.NormFloat64())
		s.strain.shell[i] = min(0.85, s.strain.shell[i]*f)
	}
	s.body = newBody(rng)
	s.drawShell(rng)
	s.drawHead(rng)
	s.drawLimbs(rng)
	s.drawFinds(rng)
	s.drawClutter(rng)
	s.ground = newGround(rng)
	return s
}

func (s *Scene) drawShell(rng *rand.Rand) {
	if s.strain.bands {
		t := between(rng, -1, 3)
		for t < s.body.length {
			wide := between(rng, 0.8, 4)
			s.bands = append(s.bands, span{t, t + wide})
			t += wide + between(rng, 0.8, 4)
		}
	}
	s.patch = between(rng, 0, 0.7)
	s.texture = between(rng, 0.05, 0.45)
	s.lamella = between(rng, 0.09, 0.3)
	s.lamellaA = logBetween(rng, 0.01, 0.35)
	s.lamellaTilt = between(rng, -0.5, 0.5)
	if chance(rng, 0.3) {
		s.saddle = between(rng, 0.2, 0.8)
	}
	s.crumple, s.crumpleMM = logBetween(rng, 0.02, 0.5), between(rng, 0.15, 0.7)
	s.gloss, s.shine = logBetween(rng, 0.03, 0.7), logBetween(rng, 12, 150)
	s.dark = speckle{between(rng, 0.07, 0.22), s.strain.dots * between(rng, 0.2, 1), 0.012, between(rng, 0.025, 0.07), s.salt + 11}
	s.pale = speckle{between(rng, 0.12, 0.5), between(rng, 0, 0.4), 0.015, between(rng, 0.03, 0.09), s.salt + 23}
	s.paleStrength = logBetween(rng, 0.02, 0.5)
	a := between(rng, 0, 2*math.Pi)
	tilt := between(rng, 0.2, 1.0)
	s.light = [3]float64{math.Cos(a) * math.Sin(tilt), math.Sin(a) * math.Sin(tilt), math.Cos(tilt)}
	s.ambient = between(rng, 0.25, 0.7)
}

func (s *Scene) drawHead(rng *rand.Rand) {
	b := s.body
	r := between(rng, 0.33, 0.55) * math.Sqrt(b.size)
	if b.dorsal {
		s.eyes = []eye{{0.1, 1.1, r}, {0.1, -1.1, r}}
		return
	}
	s.eyes = []eye{{between(rng, -0.15, 0.45) * b.size, between(rng, 0.0, 0.5), r}}
}

func (s *Scene) drawLimbs(rng *rand.Rand) {
	b := s.body
	shell := opaque(s.strain.shell)
	colour := mix(shell, rgba{0.45, 0.42, 0.36, 1}, between(rng, 0.1, 0.8)).with(between(rng, 0.25, 0.85))
	for i := range whole(rng, 4, 6) { // walking legs
		for _, behind := range []bool{true, false} {
			if chance(rng, 0.15) {
				continue
			}
			t := (1.5 + 0.95*float64(i)) * b.size
			w := -0.9
			if b.dorsal {
				w = 1 - 2*float64(btoi(behind))
			}
			x, y, nx, ny := b.at(t, w)
			s.limbs = append(s.limbs, leg(rng, x, y, math.Atan2(ny*w, nx*w), b.size, behind, colour))
		}
	}
	for range whole(rng, 8, 14) { // swimming legs under the tail
		t := between(rng, carapace+0.5, 15) * b.size
		x, y, nx, ny := b.at(t, -0.9)
		a := math.Atan2(-ny, -nx) + between(rng, -0.5, 0.5)
		l := limb{r0: between(rng, 0.1, 0.25) * b.size, r1: 0.05, z: between(rng, -0.5, 0.5), behind: chance(rng, 0.5), colour: colour}
		for k := range 12 {
			d := float64(k) * 0.11 * b.size
			l.path = append(l.path, [2]float64{x + d*math.Cos(a+0.03*float64(k)), y + d*math.Sin(a+0.03*float64(k))})
		}
		s.limbs = append(s.limbs, l)
	}
	for range whole(rng, 3, 7) { // feelers
		x, y, nx, ny := b.at(-0.1, between(rng, -0.5, 0.3))
		forward := math.Atan2(-b.up*nx, b.up*ny) + math.Pi
		a := forward + between(rng, -0.9, 0.9)
		l := limb{r0: between(rng, 0.03, 0.09), r1: 0.012, z: between(rng, -0.8, 1.2), behind: chance(rng, 0.4), colour: colour, segments: between(rng, 0.08, 0.3)}
		bend := between(rng, -0.25, 0.25)
		for range whole(rng, 20, 90) {
			l.path = append(l.path, [2]float64{x, y})
			x, y = x+0.15*math.Cos(a), y+0.15*math.Sin(a)
			a += bend*0.15 + 0.02*rng.NormFloat64()
		}
		s.limbs = append(s.limbs, l)
	}
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
}

// leg is a limb with two knees.
func leg(rng *rand.Rand, x, y, a, size float64, behind bool, colour rgba) limb {
	l := limb{r0: between(rng, 0.1, 0.2) * size, r1: 0.04, z: between(rng, 0.2, 1.2), behind: behind, colour: colour}
	if behind {
		l.z = -l.z
	}
	a += between(rng, -0.6, 0.6)
	for joint := range 3 {
		long := between(rng, 0.7, 1.6) * size
		for s := 0.0; s < long; s += 0.08 {
			l.path = append(l.path, [2]float64{x, y})
			x, y = x+0.08*math.Cos(a), y+0.08*math.Sin(a)
		}
		if joint < 2 {
			a += between(rng, 0.3, 1.1) * float64(1-2*whole(rng, 0, 1))
		}
	}
	return l
}

func (s *Scene) drawFinds(rng *rand.Rand) {
	if chance(rng, 0.45) {
		for range 1 + btoi(chance(rng, 0.12)) {
			c := newColony(rng, s.body, s.ranges)
			if len(c.eggs) >= 4 {
				s.colonies = append(s.colonies, c)
			}
		}
	}
	if chance(rng, 0.35) {
		for range whole(rng, 1, 3) {
			s.worms = append(s.worms, newWorm(rng, s.body))
		}
	}
	if chance(rng, 0.15) {
		for range whole(rng, 1, 4) {
			s.tufts = append(s.tufts, newTuft(rng, s.body))
		}
	}
}

func (s *Scene) drawClutter(rng *rand.Rand) {
	if chance(rng, 0.4) {
		for range whole(rng, 1, 4) {
			s.scatters = append(s.scatters, newScatter(rng, s.body, s.ranges))
		}
	}
	if chance(rng, 0.35) {
		for range whole(rng, 1, 2) {
			s.margins = append(s.margins, newMargin(rng, s.body))
		}
	}
	if chance(rng, 0.3) {
		for range whole(rng, 1, 12) {
			s.bubbles = append(s.bubbles, bubble{between(rng, -12, 12), between(rng, -8, 8), logBetween(rng, 0.05, 0.5), between(rng, -1.5, 2.5), between(rng, 0.2, 0.9)})
		}
	}
	if chance(rng, 0.6) {
		for range whole(rng, 5, 120) {
			s.specks = append(s.specks, bubble{between(rng, -15, 15), between(rng, -10, 10), logBetween(rng, 0.01, 0.07), between(rng, -4, 4), between(rng, 0.1, 0.8)})
		}
	}
}
