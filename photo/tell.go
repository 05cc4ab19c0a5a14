package photo

import "fmt"

// Limits of what can be told. They name animals that are white all over; white
// bands are not told from a pale ground, so pages say of every photograph that
// pale dots do not show on white.
const (
	whiteLevel    = 0.70 // min(R, G, B) above which a pale dot has little room to be paler
	whiteGrey     = 0.20 // saturation below which a shell counts as white
	whiteShare    = 0.60 // of the place that is looked at
	whiteDetail   = 0.10 // of the best tiles' energy: a tile with less is background or soft
	fieldSmallest = 4.0  // mm: a narrower picture shows no whole head of a shrimp
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
	if s.whiteShell(r.Sharpness) > whiteShare {
		why = append(why, "white shell, on which pale dots do not show")
	}
	return why
}

// whiteShell is the share that is white and grey of what is in focus in the gill
// region, or in the picture's middle when no eye is sure. Tiles without detail
// are left out: a pale background is no shell.
func (s *search) whiteShell(sharp Sharpness) float64 {
	x0, y0, x1, y1 := s.white.W/4, s.white.H/4, s.white.W-s.white.W/4, s.white.H-s.white.H/4
	if g := s.regions(); len(g) == 2 && g[1].Sure {
		a, b := s.working(Point{g[1].X, g[1].Y}), s.working(Point{g[1].X + g[1].W, g[1].Y + g[1].H})
		x0, y0 = clampInt(int(a.X), s.white.W), clampInt(int(a.Y), s.white.H)
		x1, y1 = clampInt(int(b.X), s.white.W), clampInt(int(b.Y), s.white.H)
	}
	least := whiteDetail * sharp.energy
	n, white := 0, 0
	for y := y0; y < y1; y += 2 {
		lo, hi := s.white.Row(y), s.bright.Row(y)
		for x := x0; x < x1; x += 2 {
			tx, ty := x/TileSide, y/TileSide
			if tx >= sharp.TilesX || ty*sharp.TilesX+tx >= len(sharp.Tiles) || sharp.Tiles[ty*sharp.TilesX+tx] < least {
				continue
			}
			n++
			if lo[x] > whiteLevel && lo[x] > (1-whiteGrey)*hi[x] {
				white++
			}
		}
	}
	return float64(white) / float64(max(1, n))
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
