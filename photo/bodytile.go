package photo

import "math"

// Of telling the animal from its ground by colour, lengths in mm.
const (
	bodyNear  = 3.0  // about the eye: what lies there is taken for the animal
	bodyFar   = 14.0 // beyond it nothing is
	bodyEdge  = 0.1  // of the width and height: the border, taken for the ground
	bodyCell  = 8    // working pixels: colours are means over cells of this side
	bodyShown = 0.6  // odds from which a tile is the animal's
	bodyLeast = 0.1  // chance from which it is
)

// bodyTiles tells for each tile of TileSide working pixels, row by row, whether
// it shows the animal, which two looks at its colours must agree on: they are
// commoner about the eye than along the border of the picture, and they belong to
// the animal when the picture is divided in two, see animalChance. Without a sure
// eye the middle of the picture stands for it, as that is where animals are
// framed.
func (s *search) bodyTiles(img *Image) []bool {
	w, h := s.white.W, s.white.H
	small := img.Resample(max(1, w/bodyCell), max(1, h/bodyCell))
	eye, sure := Point{float64(w) / 2, float64(h) / 2}, false
	if len(s.eyes) > 0 && s.eyes[0].Score > 0 {
		eye, sure = s.working(s.eyes[0].At), true
	}
	odds, chance := colourOdds(small, eye), animalChance(small, eye, sure)
	across, down := w/TileSide, h/TileSide
	out := make([]bool, across*down)
	const side = TileSide / bodyCell
	for i := range out {
		x0, y0 := i%across*side, i/across*side
		var common, belong, n float64
		for y := y0; y < min(small.H, y0+side); y++ {
			for x := x0; x < min(small.W, x0+side); x++ {
				common, belong, n = common+odds[colourOf(small, x, y)], belong+float64(chance.At(x, y)), n+1
			}
		}
		n = max(1, n)
		dx, dy := (float64(i%across)+0.5)*TileSide-eye.X, (float64(i/across)+0.5)*TileSide-eye.Y
		out[i] = common > bodyShown*n && belong > bodyLeast*n && math.Hypot(dx, dy) < bodyFar*WorkingScale
	}
	return out
}

// colourOdds is for each colour how much commoner it is about the eye than along
// the border: its share there over the sum of both shares.
func colourOdds(small *Image, eye Point) (odds [512]float64) {
	var near, edge [512]float64
	var nearAll, edgeAll float64
	for y := range small.H {
		for x := range small.W {
			u, v := float64(x)/float64(small.W), float64(y)/float64(small.H)
			switch {
			case math.Hypot(float64(x)*bodyCell-eye.X, float64(y)*bodyCell-eye.Y) < bodyNear*WorkingScale:
				near[colourOf(small, x, y)]++
				nearAll++
			case min(u, v) < bodyEdge || max(u, v) > 1-bodyEdge:
				edge[colourOf(small, x, y)]++
				edgeAll++
			}
		}
	}
	for c := range odds {
		if n, e := near[c]/max(1, nearAll), edge[c]/max(1, edgeAll); n+e > 0 {
			odds[c] = n / (n + e)
		}
	}
	return odds
}

// colourOf is one of 8 by 8 by 8 colours.
func colourOf(m *Image, x, y int) int {
	i := 3 * (y*m.W + x)
	return int(m.Pix[i]>>5)<<6 | int(m.Pix[i+1]>>5)<<3 | int(m.Pix[i+2]>>5)
}
