package darkroom

import (
	"math"

	"holdfast/desk"
	"holdfast/photo"
)

// Where the gill chamber lies and how large it is, in mm from the eye. A guess
// from the proportions of drawn animals of 20 to 25 mm.
const (
	gillsFromEye = 4.0
	gillsRadius  = 2.6
)

// Of telling the animal from its ground: the scale in pixels a millimetre at
// which it is done, the reach about the eye whose colours are taken for the
// animal's, the width of the border whose colours are taken for the ground's,
// and the disc that is tried in each direction, in mm.
const (
	bodyScale  = 8.0
	eyeReach   = 2.5
	groundEdge = 0.12 // of the picture
	discFar    = 3.4
	discRadius = 1.7
	directions = 36
)

// whiteFrom is the whiteness, min(R, G, B), from which on a pale dot has no
// room left to stand out.
const whiteFrom = 190

// findGills looks from the eye to where the animal lies, whichever way it
// faces and however the camera was held: the direction in which a disc holds
// most pixels of colours that are commoner about the eye than along the border
// of the picture. It also measures how white the animal is there.
func findGills(img *photo.Image, r *desk.Reading) {
	if r.Eye == nil || r.PxPerMM == 0 {
		return
	}
	step := max(1, int(r.PxPerMM*float64(img.W)/float64(r.W)/bodyScale)) // every so many pixels of img
	g := ground{img: img, step: step, perMM: r.PxPerMM * float64(img.W) / float64(r.W),
		ex: r.Eye.X * float64(img.W) / float64(r.W), ey: r.Eye.Y * float64(img.H) / float64(r.H)}
	g.learn()
	best, at := -1.0, 0
	for d := range directions {
		a := 2 * math.Pi * float64(d) / directions
		if v := g.disc(g.ex+discFar*g.perMM*math.Cos(a), g.ey+discFar*g.perMM*math.Sin(a), discRadius*g.perMM); v > best {
			best, at = v, d
		}
	}
	a := 2 * math.Pi * float64(at) / directions
	far := gillsFromEye * r.PxPerMM
	r.Gills = &desk.Spot{X: r.Eye.X + far*math.Cos(a), Y: r.Eye.Y + far*math.Sin(a), R: gillsRadius * r.PxPerMM}
	r.White = g.white(r.Gills.X*float64(img.W)/float64(r.W), r.Gills.Y*float64(img.H)/float64(r.H), gillsRadius*g.perMM)
}

// ground tells the animal from what lies about it by their colours.
type ground struct {
	img    *photo.Image
	step   int
	perMM  float64
	ex, ey float64
	odds   [512]float64 // share of the animal among pixels of a colour
}

// colour is one of 8 by 8 by 8.
func (g *ground) colour(x, y int) int {
	i := 3 * (y*g.img.W + x)
	return int(g.img.Pix[i]>>5)<<6 | int(g.img.Pix[i+1]>>5)<<3 | int(g.img.Pix[i+2]>>5)
}

func (g *ground) learn() {
	var near, edge [512]float64
	var nearAll, edgeAll float64
	mx, my := int(groundEdge*float64(g.img.W)), int(groundEdge*float64(g.img.H))
	for y := 0; y < g.img.H; y += g.step {
		for x := 0; x < g.img.W; x += g.step {
			d := math.Hypot(float64(x)-g.ex, float64(y)-g.ey) / g.perMM
			switch {
			case d < eyeReach:
				near[g.colour(x, y)]++
				nearAll++
			case x < mx || y < my || x >= g.img.W-mx || y >= g.img.H-my:
				edge[g.colour(x, y)]++
				edgeAll++
			}
		}
	}
	for c := range g.odds {
		n, e := near[c]/max(1, nearAll), edge[c]/max(1, edgeAll)
		if n+e > 0 {
			g.odds[c] = n / (n + e)
		}
	}
}

// disc is the mean share of the animal in a disc; outside the picture is none.
func (g *ground) disc(cx, cy, rad float64) float64 {
	sum, n := 0.0, 0
	g.each(cx, cy, rad, func(x, y int, in bool) {
		n++
		if in {
			sum += g.odds[g.colour(x, y)]
		}
	})
	return sum / float64(max(1, n))
}

// white is the share of the animal in a disc that is white.
func (g *ground) white(cx, cy, rad float64) float64 {
	var animal, white float64
	g.each(cx, cy, rad, func(x, y int, in bool) {
		if !in {
			return
		}
		i := 3 * (y*g.img.W + x)
		w := g.odds[g.colour(x, y)]
		animal += w
		if min(g.img.Pix[i], g.img.Pix[i+1], g.img.Pix[i+2]) >= whiteFrom {
			white += w
		}
	})
	if animal == 0 {
		return 0
	}
	return white / animal
}

func (g *ground) each(cx, cy, rad float64, f func(x, y int, in bool)) {
	for y := int(cy - rad); y <= int(cy+rad); y += g.step {
		for x := int(cx - rad); x <= int(cx+rad); x += g.step {
			if math.Hypot(float64(x)-cx, float64(y)-cy) <= rad {
				f(x, y, x >= 0 && y >= 0 && x < g.img.W && y < g.img.H)
			}
		}
	}
}
