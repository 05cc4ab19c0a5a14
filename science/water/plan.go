package water

import "math"

// planAreaCM2 returns the inside area of the ground plan in square
// centimetres, 0 or less when the glass leaves no inside.
func (t Tank) planAreaCM2() float64 {
	g := 0.0
	if t.Outside {
		g = t.GlassMM / mmPerCM
	}
	switch t.Shape {
	case Box:
		return positive(t.LengthCM-2*g) * positive(t.WidthCM-2*g)
	case BowFront:
		return bowFrontArea(t.LengthCM, t.WidthCM, t.BowCM, g)
	case Cylinder:
		d := positive(t.DiameterCM - 2*g)
		return math.Pi * d * d / 4
	case Corner:
		return cornerArea(t.LengthCM, t.ReturnCM, t.BowCM, g)
	case Hexagon:
		// The inside of a hexagon whose sides moved in by g is a hexagon.
		s := positive(t.SideCM - 2*g/math.Sqrt(3))
		return 1.5 * math.Sqrt(3) * s * s
	}
	return 0
}

func positive(v float64) float64 { return max(v, 0) }

// segmentArea returns the area between a chord and its arc.
//
//	θ = 4 atan(2s/c),  R = (c²/4 + s²)/(2s),  A = R² (θ - sin θ)/2
//
// chord and sagitta are in one unit, sagitta at least 0; a flat arc has none.
func segmentArea(chord, sagitta float64) float64 {
	if sagitta <= 0 || chord <= 0 {
		return 0
	}
	r := arcRadius(chord, sagitta)
	theta := 4 * math.Atan(2*sagitta/chord)
	return r * r * (theta - math.Sin(theta)) / 2
}

func arcRadius(chord, sagitta float64) float64 {
	return (chord*chord/4 + sagitta*sagitta) / (2 * sagitta)
}

// bowFrontArea returns the inside area of a box with a bulging front; g is the
// glass to take off. The inner face of the front is the arc about the same
// centre, with a radius smaller by g.
func bowFrontArea(length, width, bow, g float64) float64 {
	chord := length - 2*g
	if chord <= 0 {
		return 0
	}
	outer := arcRadius(length, bow)
	inner := outer - g
	if inner < chord/2 {
		return 0
	}
	centre := width + bow - outer // distance of the centre from the back
	rise := math.Sqrt(inner*inner - chord*chord/4)
	side := centre + rise - g // inside depth at the sides
	return chord*positive(side) + segmentArea(chord, inner-rise)
}

// cornerArea returns the inside area of a corner tank: back panes a, short
// ends b, front bowed by s before the line between the ends, glass g.
func cornerArea(a, b, s, g float64) float64 {
	if g > 0 {
		a, b, s = insideCorner(a, b, s, g)
	}
	if a <= 0 {
		return 0
	}
	cut := a - b
	return a*a - cut*cut/2 + segmentArea(math.Sqrt2*cut, s)
}

// insideCorner returns the inside measures of a corner tank measured outside.
// The back panes lie on the axes; the front is the line x+y = a+b or an arc
// about a point (k, k) on the diagonal.
func insideCorner(a, b, s, g float64) (ai, bi, si float64) {
	if s == 0 {
		if end := b - math.Sqrt2*g; end >= 0 {
			return a - 2*g, end, 0
		}
		return a + b - (2+math.Sqrt2)*g, 0, 0
	}
	outer := arcRadius(math.Sqrt2*(a-b), s)
	inner := outer - g
	k := ((a+b)/math.Sqrt2 + s - outer) / math.Sqrt2
	// y of the inner arc at a given x
	at := func(x float64) float64 { return k + math.Sqrt(positive(inner*inner-(x-k)*(x-k))) }
	ai, bi = a-2*g, at(a-g)-g
	if bi < 0 { // the front meets the back pane before the end pane
		ai, bi = at(g)-g, 0
	}
	if ai <= bi {
		return 0, 0, 0
	}
	half := math.Sqrt2 * (ai - bi) / 2
	return ai, bi, inner - math.Sqrt(positive(inner*inner-half*half))
}
