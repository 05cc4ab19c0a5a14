package phantom

import (
	"math"
	"math/rand/v2"
)

const variedSeed = 3_000_000_000

// Varied returns photograph i of a second split that methods may be fitted on.
// Its shells have any colour but white, its ranges are wider than either other
// split's, and it holds what they have not: worms that taper, wind, or show no
// feelers, bristles along the legs, loose fibres, pale legs, hard glare. What is
// fitted on one manner of drawing learns its habits; this one has fewer.
func Varied(i int) *Photo {
	seed := variedSeed + uint64(i)
	rng := rand.New(rand.NewPCG(seed, 0x7a71ed))
	r := variedRanges(rng)
	s := NewScene(seed, r)
	s.vary(rng)
	return s.Shoot(NewShot(seed, r, s, Width, Height))
}

func variedRanges(rng *rand.Rand) Ranges {
	hue, full, value := between(rng, 0, 2*math.Pi), between(rng, 0.15, 0.97), logBetween(rng, 0.05, 0.7)
	st := strain{name: "any colour", clear: between(rng, 0.05, 0.9), bands: chance(rng, 0.15), dots: between(rng, 0.1, 0.6)}
	for k := range 3 {
		st.shell[k] = value * (1 - full*(0.5+0.5*math.Cos(hue+2*math.Pi/3*float64(k))))
		st.pigment[k] = st.shell[k] * between(rng, 0.1, 0.7)
	}
	return Ranges{
		strains:     []strain{st},
		eggDiameter: span{0.08, 0.2}, eggGap: span{1.05, 2.3}, eggOpacity: span{0.05, 0.9},
		eggJitter: span{0.02, 0.13}, eggRows: 7,
		pxPerMM: span{38, 115}, blurPerMM: span{0.006, 0.065}, focusMiss: 0.6,
		noise: span{0.0015, 0.045}, jpegQuality: [2]int{55, 97},
	}
}

// vary changes a scene beyond what NewScene draws.
func (s *Scene) vary(rng *rand.Rand) {
	s.gloss, s.shine = s.gloss*logBetween(rng, 0.5, 2), s.shine*logBetween(rng, 0.5, 2.5)
	for i := range s.worms {
		s.worms[i].vary(rng)
	}
	wide, pale, cover := logBetween(rng, 0.55, 1.5), between(rng, 0, 0.5), between(rng, 0.5, 1.4)
	for i := range s.limbs {
		l := &s.limbs[i]
		l.r0, l.r1 = l.r0*wide, l.r1*wide
		a := min(1, l.colour.a*cover)
		l.colour = mix(l.colour, rgba{0.75, 0.73, 0.68, 1}, pale).with(a)
	}
	if chance(rng, 0.5) {
		s.addBristles(rng)
	}
	if chance(rng, 0.25) {
		for range whole(rng, 1, 3) {
			s.limbs = append(s.limbs, fibre(rng))
		}
	}
}

// vary gives a worm another course and outline, from where it is fixed.
func (w *worm) vary(rng *rand.Rand) {
	w.radius *= logBetween(rng, 0.65, 1.4)
	w.taper = max(0, between(rng, -0.6, 0.7))
	if len(w.path) < 2 {
		return
	}
	x, y := w.path[0][0], w.path[0][1]
	angle := math.Atan2(w.path[1][1]-y, w.path[1][0]-x)
	turns, phase, bend := between(rng, 0, 2.2), between(rng, 0, 2*math.Pi), between(rng, -1.2, 1.2)
	length := between(rng, 0.45, 2.6)
	w.path = w.path[:0]
	const pace = 0.05
	for d := 0.0; d < length; d += pace {
		w.path = append(w.path, [2]float64{x, y})
		angle += (bend + turns*math.Sin(2*math.Pi*d/1.2+phase)) * pace
		x, y = x+pace*math.Cos(angle), y+pace*math.Sin(angle)
	}
	shown := chance(rng, 0.6)
	for i, side := range []float64{-0.4, 0.4} {
		w.feelers[i] = w.feelers[i][:0]
		if !shown {
			continue
		}
		for k := range whole(rng, 3, 6) {
			d := pace * float64(k)
			w.feelers[i] = append(w.feelers[i], [2]float64{x + d*math.Cos(angle+side), y + d*math.Sin(angle+side)})
		}
	}
}

// addBristles puts rows of fine hairs along some of the limbs.
func (s *Scene) addBristles(rng *rand.Rand) {
	limbs := s.limbs
	for _, l := range limbs {
		if l.segments > 0 || len(l.path) < 6 || !chance(rng, 0.4) {
			continue
		}
		long, lean, apart := between(rng, 0.12, 0.5), between(rng, 0.4, 1.4), whole(rng, 1, 3)
		if chance(rng, 0.5) {
			lean = -lean
		}
		for k := len(l.path) / 3; k+1 < len(l.path); k += apart {
			p, q := l.path[k], l.path[k+1]
			a := math.Atan2(q[1]-p[1], q[0]-p[0]) + lean + 0.1*rng.NormFloat64()
			hair := limb{r0: 0.014, r1: 0.006, z: l.z, behind: l.behind, colour: l.colour.lit(1.2)}
			for d := 0.0; d <= long; d += long / 4 {
				hair.path = append(hair.path, [2]float64{p[0] + d*math.Cos(a), p[1] + d*math.Sin(a)})
			}
			s.limbs = append(s.limbs, hair)
		}
	}
}

// fibre is a thread that lies anywhere and belongs to nothing.
func fibre(rng *rand.Rand) limb {
	r := between(rng, 0.01, 0.04)
	l := limb{r0: r, r1: r, z: between(rng, -1, 2), behind: chance(rng, 0.4),
		colour: rgba{0.7, 0.7, 0.68, between(rng, 0.2, 0.8)}}
	x, y, a, bend := between(rng, -9, 9), between(rng, -6, 6), between(rng, 0, 2*math.Pi), between(rng, -0.8, 0.8)
	for range whole(rng, 12, 70) {
		l.path = append(l.path, [2]float64{x, y})
		x, y = x+0.08*math.Cos(a), y+0.08*math.Sin(a)
		a += 0.08*bend + 0.05*rng.NormFloat64()
	}
	return l
}
