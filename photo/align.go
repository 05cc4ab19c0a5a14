package photo

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Warp is an affine map from pixels of a reference to pixels of another frame:
//
//	x' = w[0] x + w[1] y + w[2]
//	y' = w[3] x + w[4] y + w[5]
type Warp [6]float64

// Still is the warp that moves nothing.
var Still = Warp{1, 0, 0, 0, 1, 0}

// At returns where a point of the reference lies in the other frame.
func (w Warp) At(x, y float64) (float64, float64) {
	return w[0]*x + w[1]*y + w[2], w[3]*x + w[4]*y + w[5]
}

// Then returns the warp that applies w first and v to what comes out.
func (w Warp) Then(v Warp) Warp {
	x, y := v.At(w[2], w[5])
	return Warp{
		v[0]*w[0] + v[1]*w[3], v[0]*w[1] + v[1]*w[4], x,
		v[3]*w[0] + v[4]*w[3], v[3]*w[1] + v[4]*w[4], y,
	}
}

// scaled returns the warp for pictures enlarged f times, with pixel middles at
// whole numbers.
func (w Warp) scaled(f float64) Warp {
	// A point p of the large picture is (p+0.5)/f-0.5 in the small one.
	shift := (f - 1) / 2
	out := w
	out[2] = f*w[2] + shift - (w[0]+w[1])*shift
	out[5] = f*w[5] + shift - (w[3]+w[4])*shift
	return out
}

// Limits of alignment.
const (
	alignSmallest  = 48  // pixels: the shorter side of the coarsest level
	alignSmooth    = 1.2 // pixels, at every level
	alignTurns     = 30
	alignSettled   = 0.003 // pixels: a step smaller than this ends a level
	alignMaxSide   = 2000  // a larger picture is aligned at this size
	alignCorrelate = 0.6   // below this correlation there is no alignment
)

// Align finds the warp that lays frame over ref, two lightness planes of the
// same size, from coarse to fine: a shift, a turn and a change of size, which is
// what a hand, a rail and a lens that breathes do. (With all six numbers of an
// affine map free, blur that grows across the picture is taken for a stretch.)
// On each level it maximises the correlation of the smoothed pictures by
// Gauss-Newton steps, with gain and offset between the frames left free, so that
// neither exposure nor a change of focus pulls at it. first is where to begin,
// Still if nothing is known.
//
// It returns the correlation that was reached, and false when that is below
// 0.6 or the search ran away. Source: evangelidis2008.
func Align(ref, frame *Plane, first Warp) (w Warp, correlation float64, ok bool) {
	if ref.W != frame.W || ref.H != frame.H {
		return Still, 0, false
	}
	f := max(1, float64(max(ref.W, ref.H))/alignMaxSide)
	if f > 1 {
		nw, nh := int(math.Round(float64(ref.W)/f)), int(math.Round(float64(ref.H)/f))
		ref, frame = ref.Resample(nw, nh), frame.Resample(nw, nh)
		first = first.scaled(1 / f)
	}
	refs, frames := halves(ref), halves(frame)
	w = first.scaled(1 / math.Pow(2, float64(len(refs)-1)))
	for level := len(refs) - 1; level >= 0; level-- {
		w, correlation, ok = alignLevel(refs[level], frames[level], w)
		if !ok {
			return Still, correlation, false
		}
		if level > 0 {
			w = w.scaled(2)
		}
	}
	if f > 1 {
		w = w.scaled(f)
	}
	return w, correlation, correlation >= alignCorrelate
}

// halves returns a plane and its reductions to a half, a quarter and so on,
// each smoothed.
func halves(p *Plane) []*Plane {
	out := []*Plane{p.Blur(alignSmooth)}
	for min(p.W, p.H)/2 >= alignSmallest {
		p = p.Resample(p.W/2, p.H/2)
		out = append(out, p.Blur(alignSmooth))
	}
	return out
}

// alignLevel improves w on one level.
func alignLevel(ref, frame *Plane, w Warp) (Warp, float64, bool) {
	correlation := 0.0
	cx, cy := float64(ref.W-1)/2, float64(ref.H-1)/2
	norm := 2 / float64(max(ref.W, ref.H))
	for range alignTurns {
		var n normal
		for y := 2; y < ref.H-2; y++ {
			for x := 2; x < ref.W-2; x++ {
				fx, fy := w.At(float64(x), float64(y))
				if fx < 2 || fy < 2 || fx > float64(frame.W-3) || fy > float64(frame.H-3) {
					continue
				}
				v := float64(frame.Sample(fx, fy))
				gx := float64(frame.Sample(fx+1, fy)-frame.Sample(fx-1, fy)) / 2
				gy := float64(frame.Sample(fx, fy+1)-frame.Sample(fx, fy-1)) / 2
				u, t := (float64(x)-cx)*norm, (float64(y)-cy)*norm
				n.add(float64(ref.Pix[y*ref.W+x]), v, [4]float64{gx*u + gy*t, gy*u - gx*t, gx, gy})
			}
		}
		if n.n < float64(ref.W*ref.H)/4 {
			return w, 0, false
		}
		step, c, ok := n.solve()
		correlation = c
		if !ok {
			return w, c, false
		}
		// From coordinates about the middle back to pixels.
		grow, turn := step[0]*norm, step[1]*norm
		d := Warp{grow, -turn, 0, turn, grow, 0}
		d[2] = step[2] - d[0]*cx - d[1]*cy
		d[5] = step[3] - d[3]*cx - d[4]*cy
		for i := range w {
			w[i] += d[i]
		}
		if math.Abs(w[0]*w[4]-w[1]*w[3]-1) > 0.3 {
			return w, c, false
		}
		if math.Abs(step[0])+math.Abs(step[1])+math.Abs(step[2])+math.Abs(step[3]) < alignSettled {
			break
		}
	}
	return w, correlation, true
}

// normal gathers the sums of a least-squares fit of
//
//	ref = a + b (frame + J step)
//
// written as ref = a + b frame + J (b step), linear in six unknowns.
type normal struct {
	n   float64
	ata [6][6]float64
	atr [6]float64
	rr  float64
	sr  float64
}

func (s *normal) add(r, v float64, j [4]float64) {
	row := [6]float64{1, v, j[0], j[1], j[2], j[3]}
	s.n++
	s.rr += r * r
	s.sr += r
	for a := range row {
		s.atr[a] += row[a] * r
		for b := a; b < len(row); b++ {
			s.ata[a][b] += row[a] * row[b]
		}
	}
}

// solve returns the step and the correlation of ref and frame before it.
func (s *normal) solve() (step [4]float64, correlation float64, ok bool) {
	a := mat.NewSymDense(6, nil)
	for i := range 6 {
		for j := i; j < 6; j++ {
			a.SetSym(i, j, s.ata[i][j])
		}
		a.SetSym(i, i, s.ata[i][i]*(1+1e-9)+1e-12)
	}
	sv, vv, rv := s.ata[0][1], s.ata[1][1], s.atr[1]
	den := (s.rr - s.sr*s.sr/s.n) * (vv - sv*sv/s.n)
	if den > 0 {
		correlation = (rv - s.sr*sv/s.n) / math.Sqrt(den)
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return step, correlation, false
	}
	var x mat.VecDense
	if err := chol.SolveVecTo(&x, mat.NewVecDense(6, s.atr[:])); err != nil {
		return step, correlation, false
	}
	gain := x.AtVec(1)
	if gain < 0.05 {
		return step, correlation, false
	}
	for i := range step {
		step[i] = x.AtVec(i+2) / gain
	}
	return step, correlation, true
}

// Apply returns frame laid over its reference: the pixel at (x, y) is frame's
// at w.At(x, y), by cubic interpolation, the border repeated.
func (m *Image) Apply(w Warp) *Image {
	out := NewImage(m.W, m.H)
	for y := range m.H {
		for x := range m.W {
			fx, fy := w.At(float64(x), float64(y))
			m.cubic(out.Pix[3*(y*m.W+x):3*(y*m.W+x)+3], fx, fy)
		}
	}
	return out
}

// Apply returns the plane laid over its reference by bilinear interpolation.
func (p *Plane) Apply(w Warp) *Plane {
	out := NewPlane(p.W, p.H)
	for y := range p.H {
		for x := range p.W {
			out.Pix[y*p.W+x] = p.Sample(w.At(float64(x), float64(y)))
		}
	}
	return out
}

// cubic interpolates with the Catmull-Rom spline.
func (m *Image) cubic(dst []uint8, x, y float64) {
	fx, fy := math.Floor(x), math.Floor(y)
	wx, wy := catmullRom(x-fx), catmullRom(y-fy)
	var sum [3]float64
	for j := range 4 {
		row := clampInt(int(fy)+j-1, m.H) * m.W
		for i := range 4 {
			p := 3 * (row + clampInt(int(fx)+i-1, m.W))
			k := wx[i] * wy[j]
			sum[0] += k * float64(m.Pix[p])
			sum[1] += k * float64(m.Pix[p+1])
			sum[2] += k * float64(m.Pix[p+2])
		}
	}
	for c, v := range sum {
		dst[c] = uint8(max(0, min(255, math.Round(v))))
	}
}

func catmullRom(t float64) [4]float64 {
	return [4]float64{
		t * (-0.5 + t*(1-0.5*t)),
		1 + t*t*(-2.5+1.5*t),
		t * (0.5 + t*(2-1.5*t)),
		t * t * (-0.5 + 0.5*t),
	}
}
