package photo

import "math"

// beyond measures how far the pale line goes on past the two outer ends of a
// candidate: the strongest response in a fan ahead of each end, as a share of
// the candidate's own mean strength, the weaker first. A leg or a feeler goes
// on; a thread ends.
func (c *threadContext) beyond(pieces []piece, group []int, strength float64) (least, most float64) {
	from, to := c.outerEnds(pieces, group)
	least, most = c.ahead(pieces, group, from)/strength, c.ahead(pieces, group, to)/strength
	return min(least, most), max(least, most)
}

// outerEnds are the two ends of the group that lie furthest apart.
func (c *threadContext) outerEnds(pieces []piece, group []int) (from, to int32) {
	far := -1.0
	for _, g := range group {
		for _, h := range group {
			for _, a := range pieces[g].ends {
				for _, b := range pieces[h].ends {
					if d := c.distance(a, b); d > far {
						from, to, far = a, b, d
					}
				}
			}
		}
	}
	return from, to
}

// ahead is the mean over steps of the strongest response in a fan that opens
// from an end in the direction in which the candidate arrives there.
func (c *threadContext) ahead(pieces []piece, group []int, end int32) float64 {
	const near, reach, fan = 10.0, 14, 0.5 // working pixels, and radians
	x, y := float64(int(end)%c.w), float64(int(end)/c.w)
	var mx, my, n float64
	for _, g := range group {
		for _, i := range pieces[g].pixels {
			if c.distance(i, end) <= near {
				mx, my, n = mx+float64(int(i)%c.w), my+float64(int(i)/c.w), n+1
			}
		}
	}
	toward := math.Atan2(y-my/n, x-mx/n)
	sum := 0.0
	for d := 4; d <= reach; d += 2 {
		top := 0.0
		for _, turn := range []float64{-fan, -fan / 2, 0, fan / 2, fan} {
			px, py := x+float64(d)*math.Cos(toward+turn), y+float64(d)*math.Sin(toward+turn)
			top = max(top, float64(c.strength.At(clampInt(int(math.Round(px)), c.w), clampInt(int(math.Round(py)), c.h))))
		}
		sum += top
	}
	return sum / 6
}

// about measures the surroundings: the mean response within 0.4 mm of the box
// as a share of the candidate's own, and how much of it runs the same way.
// Teeth, bristles and gills stand among their like.
func (c *threadContext) about(pieces []piece, group []int, x0, y0, x1, y1, strength float64) (clutter, alike float64) {
	var ways [4]int
	for _, g := range group {
		for _, i := range pieces[g].pixels {
			ways[c.across[i]]++
		}
	}
	way := 0
	for k := range ways {
		if ways[k] > ways[way] {
			way = k
		}
	}
	const grow, step = 0.4 * WorkingScale, 3
	var sum, same, n float64
	for y := max(0, int(y0-grow)); y < min(c.h, int(y1+grow)); y += step {
		for x := max(0, int(x0-grow)); x < min(c.w, int(x1+grow)); x += step {
			i := y*c.w + x
			v := float64(c.strength.Pix[i])
			sum, n = sum+v, n+1
			if int(c.across[i]) == way {
				same += v
			}
		}
	}
	return sum / n / strength, (same + 1e-6) / (sum + 4e-6)
}

// bodyMiddle is where what has structure lies about the eye: the middle of the
// ridge response within 9 mm of it.
func (c *threadContext) bodyMiddle(eye Point) Point {
	const reach, step = 9 * WorkingScale, 16
	var sx, sy, sw float64
	for y := step / 2; y < c.h; y += step {
		for x := step / 2; x < c.w; x += step {
			if d := math.Hypot(float64(x)-eye.X, float64(y)-eye.Y); d < reach {
				w := c.rms.at(x, y)
				sx, sy, sw = sx+w*float64(x), sy+w*float64(y), sw+w
			}
		}
	}
	if sw == 0 {
		return eye
	}
	return Point{sx / sw, sy / sw}
}
