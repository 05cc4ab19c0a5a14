package photo

// Place names a part of the animal that is shown enlarged.
type Place string

// The places, each a square about the eye.
const (
	// Rostrum is the disc of 3.2 mm about the eye: the rostrum and the head,
	// where flatworms hold on. On phantoms it held more than 80 % of the worms in
	// 82 % of photographs.
	Rostrum Place = "rostrum"
	// Gills is the disc of 6.5 mm about the eye: the whole head shield with the
	// gill chamber, where eggs lie. A disc of 4.5 mm missed most of it.
	Gills Place = "gills"
)

// Radii of the places about the eye, in mm.
const (
	rostrumMM = 3.2
	gillsMM   = 6.5
)

// Region is a part of the picture to enlarge, whatever is marked in it.
type Region struct {
	Place Place
	// X, Y is the top-left corner and W, H the size of its box, in pixels of the
	// stored file, cut to the frame.
	X, Y, W, H float64
	// Sure tells whether the eye in its middle is more likely an eye than not.
	// Without that, or without a scale, the region is a first guess at where to
	// look and may lie beside the animal.
	Sure bool
}

// regions returns the places about the likeliest eye, none without any.
func (s *search) regions() []Region {
	if len(s.eyes) == 0 {
		return nil
	}
	eye := s.eyes[0]
	perMM := s.storedPerMM()
	var out []Region
	for _, p := range []struct {
		place Place
		mm    float64
	}{{Rostrum, rostrumMM}, {Gills, gillsMM}} {
		r := p.mm * perMM
		x0, y0 := max(0, eye.At.X-r), max(0, eye.At.Y-r)
		x1, y1 := min(float64(s.w), eye.At.X+r), min(float64(s.h), eye.At.Y+r)
		out = append(out, Region{Place: p.place, X: x0, Y: y0, W: x1 - x0, H: y1 - y0, Sure: eye.Score > 0 && s.pxPerMM > 0})
	}
	return out
}
