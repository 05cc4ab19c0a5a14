package photo

import (
	"cmp"
	"math"
	"slices"
)

// Kind is what a mark may be of.
type Kind string

// The kinds of marks.
const (
	Dots     Kind = "dots"     // a row or colony of regular pale dots: may be eggs
	Filament Kind = "filament" // a pale thread near the eye: may be a worm
	TuftKind Kind = "tuft"     // odd fine texture: may be ciliates
)

// Mark is a region to look at.
type Mark struct {
	Kind Kind
	// X, Y is the top-left corner and W, H the size of its box, in pixels of
	// the stored file.
	X, Y, W, H float64
	// Score is higher the more suspicious the region is, comparable between
	// photographs for marks of one kind. A filament's is lowered by better ones
	// about it, see SpreadOut: it is an order.
	Score float64
	// ExpectedFalse is how many marks of its kind that are nothing score at
	// least as high in a photograph, on average over the tuning phantoms.
	ExpectedFalse float64
	// Features are what Score was reckoned from, for refitting.
	Features []float64
	// Parts are the dots' middles, in pixels of the stored file.
	Parts []Point
	// DiameterMM and StepMM are the dots' typical diameter and distance; for a
	// filament DiameterMM is its width. LengthMM is a filament's length. Zero
	// when the scale is not known.
	DiameterMM, StepMM, LengthMM float64
}

// marksKept is how many are kept of each kind where that is not said.
const marksKept = 12

// findRows returns the candidate rows of dots, most suspicious first.
func (s *search) findRows(c *rowContext) []Mark {
	var marks []Mark
	for _, col := range Colonies(c.blobs, c.grid.chains(c.density, c.eyes)) {
		f := c.measureRows(col)
		x0, y0, x1, y1 := c.box(col, 0.06*WorkingScale)
		m := s.mark(Dots, x0, y0, x1, y1, s.models.Rows, f)
		for _, d := range col.Dots {
			m.Parts = append(m.Parts, s.stored(c.blobs[d].X, c.blobs[d].Y))
		}
		if s.pxPerMM > 0 {
			m.DiameterMM = 2 * math.Sqrt2 * medianOf(c.blobs, col.Dots, func(b Blob) float64 { return b.Sigma }) / WorkingScale
			m.StepMM = col.Chains[0].Step / WorkingScale
		}
		marks = append(marks, m)
	}
	return best(marks, s.keep)
}

// best sorts marks by score, leaves out those that lie on a better one, and
// cuts them to n; a negative n keeps all.
func best(marks []Mark, n int) []Mark {
	slices.SortStableFunc(marks, func(a, b Mark) int { return cmp.Compare(b.Score, a.Score) })
	if n < 0 {
		return marks
	}
	var kept []Mark
	for _, m := range marks {
		if len(kept) == n {
			break
		}
		if !slices.ContainsFunc(kept, func(k Mark) bool { return Overlap(k, m) }) {
			kept = append(kept, m)
		}
	}
	return kept
}

// Overlap tells whether two marks show the same place: half of the smaller lies
// in the larger, or the middle of one in the other.
func Overlap(a, b Mark) bool {
	w := min(a.X+a.W, b.X+b.W) - max(a.X, b.X)
	h := min(a.Y+a.H, b.Y+b.H) - max(a.Y, b.Y)
	if w <= 0 || h <= 0 {
		return false
	}
	if 2*w*h >= min(a.W*a.H, b.W*b.H) {
		return true
	}
	return a.holds(b.X+b.W/2, b.Y+b.H/2) || b.holds(a.X+a.W/2, a.Y+a.H/2)
}

func (m Mark) holds(x, y float64) bool {
	return x >= m.X && x <= m.X+m.W && y >= m.Y && y <= m.Y+m.H
}

// mark lays out a box in working pixels as a mark.
func (s *search) mark(k Kind, x0, y0, x1, y1 float64, model *Logistic, features []float64) Mark {
	a, b := s.stored(x0-0.5, y0-0.5), s.stored(x1+0.5, y1+0.5)
	a, b = Point{max(0, a.X), max(0, a.Y)}, Point{min(float64(s.w), b.X), min(float64(s.h), b.Y)}
	m := Mark{Kind: k, X: a.X, Y: a.Y, W: b.X - a.X, H: b.Y - a.Y, Features: features}
	m.Score = model.Score(features)
	m.ExpectedFalse = model.ExpectedFalse(m.Score)
	return m
}

// search is one picture being searched, at working scale.
type search struct {
	models        Models
	w, h          int     // stored size
	pxPerMM       float64 // stored, 0 when unknown
	keep          int     // marks of each kind
	white, bright *Plane  // at working scale
	eyes          []Eye   // in stored pixels
}

// stored turns a place in working pixels into one in stored pixels. Both count
// from the top-left corner of the first pixel in the answer, from its middle
// inside.
func (s *search) stored(x, y float64) Point {
	return Point{
		(x + 0.5) * float64(s.w) / float64(s.white.W),
		(y + 0.5) * float64(s.h) / float64(s.white.H),
	}
}

// working is the way back.
func (s *search) working(p Point) Point {
	return Point{
		p.X*float64(s.white.W)/float64(s.w) - 0.5,
		p.Y*float64(s.white.H)/float64(s.h) - 0.5,
	}
}

// storedPerMM is the scale in stored pixels. Without one the picture is searched
// as if it were at WorkingScale.
func (s *search) storedPerMM() float64 { return WorkingScale * float64(s.w) / float64(s.white.W) }

func (s *search) rowContext() *rowContext {
	layers := newBlobLayers(s.white)
	c := &rowContext{white: s.white, bright: s.bright, soft: layers.smooth[0], rms: layers.rms[1]}
	for _, e := range s.eyes {
		if len(c.eyes) < 2 && (len(c.eyes) == 0 || e.Score > 0) {
			c.eyes = append(c.eyes, s.working(e.At))
		}
	}
	if len(s.eyes) > 0 {
		c.eyeSure = 1 / (1 + math.Exp(-s.eyes[0].Score))
	}
	c.blobs = layers.blobs(c.eyes)
	c.grid = newGrid(c.blobs)
	c.density = c.grid.densities()
	fine := newSquares(s.white.W, s.white.H)
	s.white.blurredLoGRows(sharpSigma, fine.add)
	c.fine = fine.localRMS()
	return c
}
