package photo

import (
	"math"

	"holdfast/science/ref"
)

// Limits of fusing.
const (
	focusSmooth = 4.0 // pixels: how far around a pixel its focus is judged
	focusPower  = 4.0 // how clearly the sharpest frame wins
	levelsKept  = 6   // of the blending pyramid
)

// Fuse joins the slices of a focus stack into one picture that is sharp where
// any of them is, in the place of the reference frame. load returns frame i,
// all of one size; it is called twice for each frame used, and only a few
// frames are held at a time.
//
// Each pixel's weight grows with the local energy of its fine detail; the
// frames are blended level by level of a Laplacian pyramid with the weights
// smoothed likewise, so that no seams show. The warps in s belong to pictures
// alignedW pixels wide and are enlarged to what load returns.
// Source: burt1983, mertens2009.
func Fuse(s *Slices, alignedW int, load func(i int) (*Image, error)) (*Image, error) {
	var weights []*Plane
	var used []int
	w, h := 0, 0
	for i := range s.Used {
		if !s.Used[i] {
			continue
		}
		m, err := s.aligned(i, alignedW, load)
		if err != nil {
			return nil, err
		}
		if w == 0 {
			w, h = m.W, m.H
		}
		if m.W != w || m.H != h {
			return nil, ref.Inputf("frames", "", "frame %d is %d by %d pixels, not %d by %d", i, m.W, m.H, w, h)
		}
		weights = append(weights, focusOf(m.Luma()))
		used = append(used, i)
	}
	if len(used) == 0 {
		return nil, &ref.NoAnswer{Reason: "No frames to fuse."}
	}
	normalise(weights)
	var sum [3][]*Plane
	for k, i := range used {
		m, err := s.aligned(i, alignedW, load)
		if err != nil {
			return nil, err
		}
		blend := gaussianPyramid(weights[k])
		weights[k] = nil
		for c := range 3 {
			detail := laplacianPyramid(m.channel(c))
			if sum[c] == nil {
				for _, l := range detail {
					sum[c] = append(sum[c], NewPlane(l.W, l.H))
				}
			}
			for level, l := range detail {
				to := sum[c][level].Pix
				for j, v := range l.Pix {
					to[j] += v * blend[level].Pix[j]
				}
			}
		}
	}
	out := NewImage(w, h)
	for c := range 3 {
		for j, v := range collapse(sum[c]).Pix {
			out.Pix[3*j+c] = uint8(max(0, min(255, math.Round(float64(v)))))
		}
	}
	return out, nil
}

// aligned loads a frame and lays it over the reference.
func (s *Slices) aligned(i, alignedW int, load func(i int) (*Image, error)) (*Image, error) {
	m, err := load(i)
	if err != nil {
		return nil, err
	}
	if i == s.Reference {
		return m, nil
	}
	return m.Apply(s.Warps[i].scaled(float64(m.W) / float64(alignedW))), nil
}

// focusOf is the local energy of the fine detail, above the noise.
func focusOf(luma *Plane) *Plane {
	floor := float32(1.2 * math.Pow(NoiseLevel(luma), 2))
	e := luma.Blur(1).LoG(1)
	for i, v := range e.Pix {
		e.Pix[i] = v * v
	}
	e = e.Blur(focusSmooth)
	for i, v := range e.Pix {
		e.Pix[i] = float32(math.Pow(float64(max(0, v-floor))+1e-9, focusPower/2))
	}
	return e
}

// normalise makes the weights of each pixel sum to 1.
func normalise(weights []*Plane) {
	for i := range weights[0].Pix {
		sum := 0.0
		for _, w := range weights {
			sum += float64(w.Pix[i])
		}
		for _, w := range weights {
			if sum > 0 {
				w.Pix[i] = float32(float64(w.Pix[i]) / sum)
			} else {
				w.Pix[i] = 1 / float32(len(weights))
			}
		}
	}
}

// channel returns one primary, 0 to 255.
func (m *Image) channel(c int) *Plane {
	p := NewPlane(m.W, m.H)
	for i := range p.Pix {
		p.Pix[i] = float32(m.Pix[3*i+c])
	}
	return p
}

func gaussianPyramid(p *Plane) []*Plane {
	out := []*Plane{p}
	for len(out) < levelsKept && min(p.W, p.H) >= 16 {
		p = p.Resample((p.W+1)/2, (p.H+1)/2)
		out = append(out, p)
	}
	return out
}

// laplacianPyramid holds in each level what the next coarser one lacks.
func laplacianPyramid(p *Plane) []*Plane {
	g := gaussianPyramid(p)
	for k := range len(g) - 1 {
		up := g[k+1].Resample(g[k].W, g[k].H)
		d := NewPlane(g[k].W, g[k].H)
		for i, v := range g[k].Pix {
			d.Pix[i] = v - up.Pix[i]
		}
		g[k] = d
	}
	return g
}

func collapse(levels []*Plane) *Plane {
	p := levels[len(levels)-1]
	for k := len(levels) - 2; k >= 0; k-- {
		up := p.Resample(levels[k].W, levels[k].H)
		for i, v := range levels[k].Pix {
			up.Pix[i] += v
		}
		p = up
	}
	return p
}
