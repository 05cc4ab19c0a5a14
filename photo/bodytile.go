package photo

import "math"

// Of telling the animal from its ground by colour, lengths in mm.
const (
	bodyNear  = 3.0  // about the eye: what lies there is taken for the animal
	bodyFar   = 14.0 // beyond it nothing is
	bodyEdge  = 0.1  // of the width and height: the border, taken for the ground
	bodyCell  = 8    // working pixels: colours are means over cells of this side
	bodyShown = 0.6  // share of a tile from which it is the animal's
)

// bodyTiles tells for each tile of TileSide working pixels, row by row, whether
// it shows the animal: its colours are commoner about the eye than along the
// border of the picture. Without a sure eye the middle of the picture stands for
// it, as that is where animals are framed.
func (s *search) bodyTiles(img *Image) []bool {
	w, h := s.white.W, s.white.H
	small := img.Resample(max(1, w/bodyCell), max(1, h/bodyCell))
	eye := Point{float64(w) / 2, float64(h) / 2}
	if len(s.eyes) > 0 && s.eyes[0].Score > 0 {
		eye = s.working(s.eyes[0].At)
	}
	odds := colourOdds(small, eye)
	across, down := w/TileSide, h/TileSide
	out := make([]bool, across*down)
	const side = TileSide / bodyCell
	for i := range out {
		x0, y0 := i%across*side, i/across*side
		sum, n := 0.0, 0.0
		for y := y0; y < min(small.H, y0+side); y++ {
			for x := x0; x < min(small.W, x0+side); x++ {
				sum, n = sum+odds[colourOf(small, x, y)], n+1
			}
		}
		dx, dy := (float64(i%across)+0.5)*TileSide-eye.X, (float64(i/across)+0.5)*TileSide-eye.Y
		out[i] = sum > bodyShown*max(1, n) && math.Hypot(dx, dy) < bodyFar*WorkingScale
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
