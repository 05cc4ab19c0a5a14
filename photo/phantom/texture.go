package phantom

import (
	"math"
	"math/rand/v2"
)

// hash2 is a fixed scrambling of two whole numbers and a salt into 64 bits:
// the same place in the same scene always has the same texture.
func hash2(x, y int, salt uint64) uint64 {
	h := uint64(int64(x))*0x9e3779b97f4a7c15 ^ uint64(int64(y))*0xc2b2ae3d27d4eb4f ^ salt
	h ^= h >> 29
	h *= 0xbf58476d1ce4e5b9
	h ^= h >> 32
	h *= 0x94d049bb133111eb
	return h ^ h>>29
}

// unit turns a hash into a number from 0 to 1.
func unit(h uint64) float64 { return float64(h>>11) / (1 << 53) }

// valueNoise is smooth noise from -1 to 1 with features about 1 across.
func valueNoise(x, y float64, salt uint64) float64 {
	fx, fy := math.Floor(x), math.Floor(y)
	ix, iy := int(fx), int(fy)
	tx, ty := smooth(x-fx), smooth(y-fy)
	a := lerp(unit(hash2(ix, iy, salt)), unit(hash2(ix+1, iy, salt)), tx)
	b := lerp(unit(hash2(ix, iy+1, salt)), unit(hash2(ix+1, iy+1, salt)), tx)
	return 2*lerp(a, b, ty) - 1
}

// fractal sums octaves of valueNoise, each twice as fine and half as strong.
func fractal(x, y float64, octaves int, salt uint64) float64 {
	sum, amp := 0.0, 1.0
	for i := range octaves {
		sum += amp * valueNoise(x, y, salt+uint64(i)*7919)
		x, y, amp = 2.03*x+17.1, 2.03*y-9.7, amp/2
	}
	return sum
}

func smooth(t float64) float64     { return t * t * (3 - 2*t) }
func lerp(a, b, t float64) float64 { return a + (b-a)*t }

// step rises smoothly from 0 at lo to 1 at hi.
func step(lo, hi, x float64) float64 {
	return smooth(max(0, min(1, (x-lo)/(hi-lo))))
}

// speckle is a field of round spots, one at most in each cell.
type speckle struct {
	cell       float64 // mm between cells
	share      float64 // of cells that hold a spot
	rMin, rMax float64 // mm
	salt       uint64
}

// at returns how much of a spot covers (x, y), 0 to 1, with edges as soft as
// edge mm.
func (s speckle) at(x, y, edge float64) float64 {
	cover := 0.0
	cx, cy := int(math.Floor(x/s.cell)), int(math.Floor(y/s.cell))
	for j := cy - 1; j <= cy+1; j++ {
		for i := cx - 1; i <= cx+1; i++ {
			h := hash2(i, j, s.salt)
			if unit(h) >= s.share {
				continue
			}
			px := (float64(i) + unit(hash2(i, j, s.salt+1))) * s.cell
			py := (float64(j) + unit(hash2(i, j, s.salt+2))) * s.cell
			r := lerp(s.rMin, s.rMax, unit(hash2(i, j, s.salt+3)))
			d := math.Hypot(x-px, y-py)
			cover = max(cover, 1-step(r-edge, r+edge, d))
		}
	}
	return cover
}

// cells returns the distance to the nearest and to the second nearest of
// points scattered one a unit cell, and the hash of the nearest: grains.
func cells(x, y float64, salt uint64) (d1, d2 float64, id uint64) {
	d1, d2 = math.Inf(1), math.Inf(1)
	cx, cy := int(math.Floor(x)), int(math.Floor(y))
	for j := cy - 1; j <= cy+1; j++ {
		for i := cx - 1; i <= cx+1; i++ {
			h := hash2(i, j, salt)
			d := math.Hypot(x-float64(i)-unit(h), y-float64(j)-unit(hash2(i, j, salt+1)))
			if d < d1 {
				d1, d2, id = d, d1, h
			} else if d < d2 {
				d2 = d
			}
		}
	}
	return d1, d2, id
}

// between draws evenly from lo to hi.
func between(rng *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }

// logBetween draws evenly on a logarithmic scale.
func logBetween(rng *rand.Rand, lo, hi float64) float64 {
	return lo * math.Exp(rng.Float64()*math.Log(hi/lo))
}

// chance is true with probability p.
func chance(rng *rand.Rand, p float64) bool { return rng.Float64() < p }

// whole draws a whole number from lo to hi, both included.
func whole(rng *rand.Rand, lo, hi int) int { return lo + rng.IntN(hi-lo+1) }
