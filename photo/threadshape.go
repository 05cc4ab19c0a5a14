package photo

import (
	"math"
	"slices"
)

// course is what is measured once of each piece: its pixels in order, and along
// them how wide the line is, how bright, and how it turns.
type course struct {
	pixels []int32   // from one end to the other
	width  []float64 // working pixels at half height
	bright []float64 // whiteness of the crest
	kink   float64   // sharpest turn over 0.15 mm each way, radians
	curl   float64   // sum of the turns, radians
	turned float64   // sum of their sizes
	fork   [2]float64
}

// widthReach is how far across, in working pixels, a line's flank is looked for.
const widthReach = 11

// follow orders the pixels of a piece and measures along them.
func (c *threadContext) follow(p piece) course {
	out := course{pixels: p.pixels}
	for _, i := range out.pixels {
		out.width = append(out.width, c.widthAt(i))
		out.bright = append(out.bright, float64(c.soft.Pix[i]))
	}
	const lag = 8
	n := len(out.pixels)
	before, known := 0.0, false
	for k := lag; k+lag < n; k += lag / 2 {
		a, b, d := out.pixels[k-lag], out.pixels[k], out.pixels[k+lag]
		turn := turnFrom(c.heading(a, b), c.heading(b, d))
		out.kink = max(out.kink, math.Abs(turn))
	}
	for k := 0; k+lag < n; k += lag {
		h := c.heading(out.pixels[k], out.pixels[k+lag])
		if known {
			turn := turnFrom(before, h)
			out.curl += turn
			out.turned += math.Abs(turn)
		}
		before, known = h, true
	}
	out.fork = [2]float64{c.forkAt(out.pixels, false), c.forkAt(out.pixels, true)}
	return out
}

// widthAt is the width of the line at half its height above the lower flank, in
// working pixels.
func (c *threadContext) widthAt(i int32) float64 {
	x, y := int(i)%c.w, int(i)/c.w
	dx, dy := acrossStep(c.across[i])
	step := math.Hypot(float64(dx), float64(dy))
	top := float64(c.soft.Pix[i])
	sum := 0.0
	for _, sign := range []int{1, -1} {
		var v [widthReach + 1]float64
		low := top
		for k := 1; k <= widthReach; k++ {
			v[k] = float64(c.soft.At(clampInt(x+sign*k*dx, c.w), clampInt(y+sign*k*dy, c.h)))
			low = min(low, v[k])
		}
		half := (top + low) / 2
		k := 1
		for k < widthReach && v[k] > half {
			k++
		}
		sum += float64(k) * step
	}
	return sum
}

// forkAt measures whether two short lines leave an end and none between them, as
// the feelers of a worm do: the weaker of the two less what lies between, as a
// share of the crest's own response.
func (c *threadContext) forkAt(order []int32, last bool) float64 {
	end, from := order[0], order[min(len(order)-1, 8)]
	if last {
		end, from = order[len(order)-1], order[max(0, len(order)-9)]
	}
	if end == from {
		return 0
	}
	toward := c.heading(from, end)
	x, y := float64(int(end)%c.w), float64(int(end)/c.w)
	at := func(turn float64) float64 {
		sum := 0.0
		for _, d := range []float64{5, 7, 9} {
			sum += float64(c.strength.At(clampInt(int(math.Round(x+d*math.Cos(toward+turn))), c.w), clampInt(int(math.Round(y+d*math.Sin(toward+turn))), c.h)))
		}
		return sum / 3
	}
	left, right := max(at(-0.9), at(-0.6)), max(at(0.9), at(0.6))
	own := float64(c.strength.Pix[from]) + threadFloor
	return max(-1, min(1.5, (min(left, right)-at(0))/own))
}

// shape is what measureThread takes from the courses of a candidate's pieces.
type shape struct {
	width, widthSpread, taper, ripple, kink, curl, fork float64
}

func (c *threadContext) shapeOf(group []int) shape {
	var s shape
	var width, ripple []float64
	var turned, curl float64
	s.fork = -1
	longest := 0
	for _, g := range group {
		k := &c.courses[g]
		width = append(width, k.width...)
		s.kink = max(s.kink, k.kink)
		turned += k.turned
		curl += math.Abs(k.curl)
		s.fork = max(s.fork, k.fork[0], k.fork[1])
		for i := 4; i+4 < len(k.bright); i++ {
			ripple = append(ripple, math.Abs(k.bright[i]-(k.bright[i-4]+k.bright[i+4])/2))
		}
		if n := len(k.width); n > longest {
			longest = n
			third := max(1, n/3)
			a, b := mean(k.width[:third]), mean(k.width[n-third:])
			s.taper = math.Abs(a-b) / (a + b)
		}
	}
	s.width, s.widthSpread = mean(width), spread(width)
	s.ripple = mean(ripple)
	if turned > 0 {
		s.curl = curl / (turned + 0.3)
	}
	return s
}

// alikes counts the other pieces of the picture that are like a candidate's
// longest in length, width, brightness and colour. Legs, bristles and gills come
// in families; a worm is one of its kind or one of a few.
func (c *threadContext) alikes(pieces []piece, group []int) float64 {
	own := group[0]
	for _, g := range group {
		if pieces[g].length > pieces[own].length {
			own = g
		}
	}
	a := c.looks[own]
	n := 0
	for i, b := range c.looks {
		if i == own || slices.Contains(group, i) {
			continue
		}
		if math.Abs(b.length-a.length) < 0.5 && math.Abs(b.width-a.width) < 0.25 &&
			math.Abs(b.white-a.white) < 0.1 && math.Abs(b.saturation-a.saturation) < 0.1 && math.Abs(b.strength-a.strength) < 0.5 {
			n++
		}
	}
	return math.Log1p(float64(n))
}

// look is how a piece looks as a whole; length, width and strength are natural
// logarithms.
type look struct{ length, width, white, saturation, strength float64 }

func (c *threadContext) lookOf(p piece, k course) look {
	l := look{length: math.Log(p.length), width: math.Log(mean(k.width)), white: mean(k.bright)}
	n := float64(len(k.pixels))
	for _, i := range k.pixels {
		l.saturation += saturationOf(float64(c.white.Pix[i]), float64(c.bright.Pix[i])) / n
		l.strength += float64(c.strength.Pix[i]) / n
	}
	l.strength = math.Log(l.strength)
	return l
}

// bellySide tells on which side of the line from the eye to the body's middle
// the legs are: +1 or -1 by the sign of the cross product, weaker the less the
// two sides differ. Legs make the belly the side with more thin lines off the
// axis.
func (c *threadContext) bellySide(eye Point) float64 {
	bx, by := c.middle.X-eye.X, c.middle.Y-eye.Y
	l := math.Hypot(bx, by)
	if l == 0 {
		return 0
	}
	bx, by = bx/l, by/l
	const step, reach = 6, 12 * WorkingScale
	var side [2]float64
	for y := step / 2; y < c.h; y += step {
		for x := step / 2; x < c.w; x += step {
			dx, dy := float64(x)-eye.X, float64(y)-eye.Y
			along, off := dx*bx+dy*by, dx*by-dy*bx
			if along < 0 || along > reach || math.Abs(off) < 2*WorkingScale || math.Abs(off) > 6*WorkingScale {
				continue
			}
			side[btoi(off > 0)] += float64(c.strength.Pix[y*c.w+x])
		}
	}
	return (side[1] - side[0]) / (side[0] + side[1] + 1e-6)
}
