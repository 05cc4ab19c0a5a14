package photo

import "fmt"

// Limits of what can be told. Those of white were set on 100 tuning phantoms: on
// a dark ground they name 17 of 22 white-banded animals and 7 of 45 others, most
// of them clear or brown. On a pale ground nothing is said of white.
const (
	whiteLevel  = 0.6  // of the brightest twentieth: what counts as white is as bright
	whiteGrey   = 0.2  // saturation below which it is
	whiteShare  = 0.06 // of the place that is looked at
	whiteGround = 0.1  // of the frame's border, above which the ground is pale
	borderShare = 0.08 // of the width and height: the border

	fieldSmallest = 4.0 // mm: a narrower picture shows no whole head of a shrimp
	fieldLargest  = 150.0
)

// cannotTell lists the reasons why nothing can be told from the picture.
func (s *search) cannotTell(r *Report) []string {
	var why []string
	if !r.Usable {
		why = append(why, "too soft")
	}
	if s.pxPerMM == 0 {
		why = append(why, "no scale")
	}
	if s.whiteShell() {
		why = append(why, "white parts of the shell, on which pale dots do not show")
	}
	return why
}

// whiteShell tells whether more of the gill region, or of the picture's middle
// when no eye is sure, is white than can be glare, on a ground that is not.
func (s *search) whiteShell() bool {
	x0, y0, x1, y1 := s.white.W/4, s.white.H/4, s.white.W-s.white.W/4, s.white.H-s.white.H/4
	if g := s.regions(); len(g) == 2 && g[1].Sure {
		a, b := s.working(Point{g[1].X, g[1].Y}), s.working(Point{g[1].X + g[1].W, g[1].Y + g[1].H})
		x0, y0 = clampInt(int(a.X), s.white.W), clampInt(int(a.Y), s.white.H)
		x1, y1 = clampInt(int(b.X), s.white.W), clampInt(int(b.Y), s.white.H)
	}
	level := whiteLevel * s.brightest(x0, y0, x1, y1)
	bx, by := int(borderShare*float64(s.white.W)), int(borderShare*float64(s.white.H))
	var n, white, border, pale int
	for y := 0; y < s.white.H; y += 2 {
		lo, hi := s.white.Row(y), s.bright.Row(y)
		for x := 0; x < s.white.W; x += 2 {
			is := btoi(hi[x] > level && lo[x] > (1-whiteGrey)*hi[x])
			if x >= x0 && x < x1 && y >= y0 && y < y1 {
				n, white = n+1, white+is
			}
			if x < bx || y < by || x >= s.white.W-bx || y >= s.white.H-by {
				border, pale = border+1, pale+is
			}
		}
	}
	return float64(white) > whiteShare*float64(n) && float64(pale) < whiteGround*float64(border)
}

// brightest is the brightness that a twentieth of a box exceeds.
func (s *search) brightest(x0, y0, x1, y1 int) float32 {
	var hist [256]int
	n := 0
	for y := y0; y < y1; y += 2 {
		for x := x0; x < x1; x += 2 {
			hist[clampInt(int(s.bright.Pix[y*s.bright.W+x]*255), 256)]++
			n++
		}
	}
	above := 0
	for v := 255; v >= 0; v-- {
		if above += hist[v]; 20*above > n {
			return float32(v) / 255
		}
	}
	return 0
}

// scaleNote says when a scale makes the picture wider or narrower than a macro
// photograph of a shrimp can be.
func scaleNote(w, h int, pxPerMM float64) string {
	if pxPerMM <= 0 {
		return ""
	}
	long := float64(max(w, h)) / pxPerMM
	if long >= fieldSmallest && long <= fieldLargest {
		return ""
	}
	return fmt.Sprintf("implausible scale: the picture would be %.3g mm wide; measure a ruler again", long)
}

// Sizes that the marks of a kind can have, in mm. Eggs of 0.09 to 0.2 mm at
// steps of 0.1 to 0.4 mm and worms up to 3 mm are what the finders were made
// for; the biology behind is in docs/SCIENCE.md.
const (
	dotSmallest, dotLargest = 0.07, 0.22
	wormLongest             = 3.0
	wormShortest            = 0.3
)

// Implausible says in words what is odd about a mark's size, "" when nothing is
// or the scale is not known.
func (m Mark) Implausible() string {
	switch {
	case m.Kind == Dots && m.DiameterMM > 0 && (m.DiameterMM < dotSmallest || m.DiameterMM > dotLargest):
		return fmt.Sprintf("dots of %.2f mm are no size for eggs: check the scale", m.DiameterMM)
	case m.Kind == Dots && m.DiameterMM > 0 && m.StepMM < 0.8*m.DiameterMM:
		return "the dots overlap: check the scale"
	case m.Kind == Filament && m.LengthMM > wormLongest:
		return fmt.Sprintf("%.1f mm is long for a worm: a feeler or a leg, or the scale is wrong", m.LengthMM)
	case m.Kind == Filament && m.LengthMM > 0 && m.LengthMM < wormShortest:
		return fmt.Sprintf("%.2f mm is short for a worm", m.LengthMM)
	}
	return ""
}
