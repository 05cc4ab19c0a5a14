package photo

import "math"

// gaussReach is how many standard deviations of a Gaussian are summed; beyond
// lie 0.05 % of its weight.
const gaussReach = 3.5

// gaussKernel returns the right half of a sampled Gaussian, its middle first,
// with the whole summing to 1.
func gaussKernel(sigma float64) []float32 {
	r := int(math.Ceil(gaussReach * sigma))
	k := make([]float64, r+1)
	sum := 0.0
	for i := range k {
		k[i] = math.Exp(-float64(i*i) / (2 * sigma * sigma))
		sum += k[i]
		if i > 0 {
			sum += k[i]
		}
	}
	out := make([]float32, r+1)
	for i := range k {
		out[i] = float32(k[i] / sum)
	}
	return out
}

// Blur returns p smoothed by a Gaussian of standard deviation sigma pixels,
// the border mirrored about its outermost pixels' edge. sigma <= 0 copies.
func (p *Plane) Blur(sigma float64) *Plane {
	out := NewPlane(p.W, p.H)
	if sigma <= 0 || p.W == 0 || p.H == 0 {
		copy(out.Pix, p.Pix)
		return out
	}
	b := newBlurrer(p, sigma)
	for y := range p.H {
		b.row(out.Row(y), y)
	}
	return out
}

// blurredRows calls f with each row of p.Blur(sigma) and the rows above and below
// it, those beyond the border mirrored. The rows hold only during the call: a
// plane that is read once this way need not be kept.
func (p *Plane) blurredRows(sigma float64, f func(y int, up, mid, down []float32)) {
	b := newBlurrer(p, sigma)
	var ring [3][]float32
	for i := range ring {
		ring[i] = make([]float32, p.W)
	}
	for y := range p.H {
		if y == 0 {
			b.row(ring[0], 0)
		}
		if y+1 < p.H {
			b.row(ring[(y+1)%3], y+1)
		}
		f(y, ring[mirror(y-1, p.H)%3], ring[y%3], ring[mirror(y+1, p.H)%3])
	}
}

// blurrer smooths a plane row by row.
type blurrer struct {
	p              *Plane
	kernel         []float32
	column, padded []float32
}

func newBlurrer(p *Plane, sigma float64) *blurrer {
	k := gaussKernel(sigma)
	return &blurrer{p: p, kernel: k, column: make([]float32, p.W), padded: make([]float32, p.W+2*(len(k)-1))}
}

func (b *blurrer) row(dst []float32, y int) {
	blurColumns(b.column, b.p, y, b.kernel)
	mirrorInto(b.padded, b.column, len(b.kernel)-1)
	blurRow(dst, b.padded, b.kernel)
}

// mirror brings an index that lies outside 0..n-1 back by reflection about the
// edges, so that -1 is 0 and n is n-1.
func mirror(i, n int) int {
	for i < 0 || i >= n {
		if i < 0 {
			i = -1 - i
		} else {
			i = 2*n - 1 - i
		}
	}
	return i
}

func mirrorInto(padded, row []float32, r int) {
	copy(padded[r:], row)
	for i := 1; i <= r; i++ {
		padded[r-i] = row[mirror(-i, len(row))]
		padded[r+len(row)+i-1] = row[mirror(len(row)+i-1, len(row))]
	}
}

// blurColumns writes row y of p smoothed along the columns.
func blurColumns(dst []float32, p *Plane, y int, k []float32) {
	row := func(y int) []float32 { return p.Row(mirror(y, p.H)) }
	weigh(dst, row(y), k, func(i int) (before, after []float32) { return row(y - i), row(y + i) })
}

// blurRow smooths one row that has len(k)-1 mirrored values on either side.
func blurRow(dst, padded, k []float32) {
	n, r := len(dst), len(k)-1
	weigh(dst, padded[r:r+n], k, func(i int) (before, after []float32) { return padded[r-i : r-i+n], padded[r+i : r+i+n] })
}

// weigh writes the sum of the middle values and of the pairs i steps before and
// after them, each with its weight in k. Two pairs are taken at a time, and the
// middle with the first two, which keeps the cache and the registers busy.
func weigh(dst, mid, k []float32, pair func(i int) (before, after []float32)) {
	n := len(dst)
	mid = mid[:n]
	if len(k) < 3 {
		k0 := k[0]
		for x := range dst {
			dst[x] = k0 * mid[x]
		}
	}
	i := 1
	for ; i+1 < len(k); i += 2 {
		a, b := pair(i)
		c, d := pair(i + 1)
		a, b, c, d = a[:n], b[:n], c[:n], d[:n]
		k0, k1, k2 := k[0], k[i], k[i+1]
		if i == 1 {
			for x := range dst {
				dst[x] = k0*mid[x] + (k1*(a[x]+b[x]) + k2*(c[x]+d[x]))
			}
			continue
		}
		for x := range dst {
			dst[x] += k1*(a[x]+b[x]) + k2*(c[x]+d[x])
		}
	}
	if i < len(k) {
		a, b := pair(i)
		a, b = a[:n], b[:n]
		k1 := k[i]
		for x := range dst {
			dst[x] += k1 * (a[x] + b[x])
		}
	}
}

// LoG returns the scale-normalised negative Laplacian of a plane that was
// smoothed by a Gaussian of standard deviation sigma,
//
//	-sigma^2 (g_xx + g_yy)
//
// from second differences: positive on bright spots, and for a disc of radius
// r largest at sigma = r/sqrt(2). The plane is Blur(sigma) of the picture.
// Source: lindeberg1998.
func (p *Plane) LoG(sigma float64) *Plane {
	out := NewPlane(p.W, p.H)
	for y := range p.H {
		logRow(out.Row(y), p.Row(mirror(y-1, p.H)), p.Row(y), p.Row(mirror(y+1, p.H)), sigma)
	}
	return out
}

// logRow writes one row of LoG from the smoothed row and its neighbours.
func logRow(dst, up, mid, down []float32, sigma float64) {
	s2 := float32(sigma * sigma)
	w := len(dst)
	up, mid, down = up[:w], mid[:w], down[:w]
	for x := 1; x+1 < w; x++ {
		dst[x] = s2 * (4*mid[x] - mid[x-1] - mid[x+1] - up[x] - down[x])
	}
	for _, x := range []int{0, w - 1} {
		l, r := mid[mirror(x-1, w)], mid[mirror(x+1, w)]
		dst[x] = s2 * (4*mid[x] - l - r - up[x] - down[x])
	}
}

// blurredLoGRows calls f with each row of p.Blur(sigma).LoG(sigma), which holds
// only during the call.
func (p *Plane) blurredLoGRows(sigma float64, f func(y int, row []float32)) {
	dst := make([]float32, p.W)
	p.blurredRows(sigma, func(y int, up, mid, down []float32) {
		logRow(dst, up, mid, down, sigma)
		f(y, dst)
	})
}
