package photo

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func noisePlane(w, h int, sd float64, seed uint64) *Plane {
	rng := rand.New(rand.NewPCG(seed, 1))
	p := NewPlane(w, h)
	for i := range p.Pix {
		p.Pix[i] = float32(0.5 + sd*rng.NormFloat64())
	}
	return p
}

// slowBlur is the definition: each pixel the weighted mean of all within reach.
func slowBlur(p *Plane, sigma float64) *Plane {
	r := int(math.Ceil(gaussReach * sigma))
	out := NewPlane(p.W, p.H)
	for y := range p.H {
		for x := range p.W {
			var sum, weight float64
			for dy := -r; dy <= r; dy++ {
				for dx := -r; dx <= r; dx++ {
					w := math.Exp(-float64(dx*dx+dy*dy) / (2 * sigma * sigma))
					sum += w * float64(p.Pix[mirror(y+dy, p.H)*p.W+mirror(x+dx, p.W)])
					weight += w
				}
			}
			out.Pix[y*p.W+x] = float32(sum / weight)
		}
	}
	return out
}

func TestBlurMatchesItsDefinition(t *testing.T) {
	for _, size := range [][2]int{{31, 17}, {5, 40}, {1, 1}, {2, 3}} {
		for _, sigma := range []float64{0.4, 1, 1.9, 3.3} {
			p := noisePlane(size[0], size[1], 0.2, 3)
			got, want := p.Blur(sigma), slowBlur(p, sigma)
			for i := range got.Pix {
				if math.Abs(float64(got.Pix[i]-want.Pix[i])) > 1e-5 {
					t.Fatalf("%v sigma %g at %d: %g, want %g", size, sigma, i, got.Pix[i], want.Pix[i])
				}
			}
		}
	}
}

func TestBlurLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 40).Draw(t, "w"), rapid.IntRange(1, 40).Draw(t, "h")
		sigma := rapid.Float64Range(0, 6).Draw(t, "sigma")
		p := noisePlane(w, h, 0.1, rapid.Uint64().Draw(t, "seed"))
		b := p.Blur(sigma)
		var before, after float64
		lo, hi := float32(math.Inf(1)), float32(math.Inf(-1))
		for i, v := range p.Pix {
			before, after = before+float64(v), after+float64(b.Pix[i])
			lo, hi = min(lo, v), max(hi, v)
		}
		// A mirrored border keeps the sum, and a mean stays within its values.
		if math.Abs(before-after) > 1e-3*float64(len(p.Pix))*0.5 {
			t.Fatalf("sum %g became %g", before, after)
		}
		for _, v := range b.Pix {
			if v < lo-1e-5 || v > hi+1e-5 {
				t.Fatalf("%g outside %g to %g", v, lo, hi)
			}
		}
	})
}

// TestLoGOfADisc checks that a disc of radius r answers most at r/sqrt(2), and
// with the height that theory gives there: 2/e of its contrast. Source:
// lindeberg1998.
func TestLoGOfADisc(t *testing.T) {
	const r, side = 8.0, 101
	p := NewPlane(side, side)
	for y := range side {
		for x := range side {
			// Each pixel's covered share, from 8 by 8 points in it.
			n := 0
			for j := range 8 {
				for i := range 8 {
					if math.Hypot(float64(x-side/2)+(float64(i)-3.5)/8, float64(y-side/2)+(float64(j)-3.5)/8) <= r {
						n++
					}
				}
			}
			p.Pix[y*side+x] = float32(n) / 64
		}
	}
	best, bestSigma := 0.0, 0.0
	for sigma := 3.0; sigma < 9; sigma += 0.05 {
		if v := float64(p.Blur(sigma).LoG(sigma).At(side/2, side/2)); v > best {
			best, bestSigma = v, sigma
		}
	}
	if math.Abs(bestSigma-r/math.Sqrt2) > 0.15 {
		t.Errorf("largest at %g, want %g", bestSigma, r/math.Sqrt2)
	}
	if want := 2 / math.E; math.Abs(best-want) > 0.01 {
		t.Errorf("height %g, want %g", best, want)
	}
}

func TestResampleKeepsRampsAndMeans(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(8, 90).Draw(t, "w"), rapid.IntRange(8, 90).Draw(t, "h")
		nw, nh := rapid.IntRange(4, 120).Draw(t, "nw"), rapid.IntRange(4, 120).Draw(t, "nh")
		p := NewPlane(w, h)
		for y := range h {
			for x := range w {
				p.Pix[y*w+x] = float32(0.01*(float64(x)+0.5) + 0.02*(float64(y)+0.5))
			}
		}
		q := p.Resample(nw, nh)
		// A ramp stays the same ramp away from the border.
		x, y := nw/2, nh/2
		want := 0.01*(float64(x)+0.5)*float64(w)/float64(nw) + 0.02*(float64(y)+0.5)*float64(h)/float64(nh)
		if got := float64(q.At(x, y)); math.Abs(got-want) > 2e-3 {
			t.Fatalf("%dx%d to %dx%d: %g, want %g", w, h, nw, nh, got, want)
		}
	})
}

func TestSampleIsBilinear(t *testing.T) {
	p := &Plane{2, 2, []float32{0, 1, 2, 3}}
	for _, c := range []struct{ x, y, want float64 }{{0, 0, 0}, {0.5, 0, 0.5}, {0.5, 0.5, 1.5}, {1, 1, 3}, {-4, 9, 2}} {
		if got := float64(p.Sample(c.x, c.y)); math.Abs(got-c.want) > 1e-6 {
			t.Errorf("(%g, %g): %g, want %g", c.x, c.y, got, c.want)
		}
	}
}

// TestRowsAsTheyComeAreThePlane holds the ways that keep no whole plane, or do
// three at once, to those that do one after the other.
func TestRowsAsTheyComeAreThePlane(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, h := rapid.IntRange(1, 40).Draw(t, "w"), rapid.IntRange(1, 40).Draw(t, "h")
		sigma := rapid.Float64Range(0.5, 4).Draw(t, "sigma")
		seed := rapid.Uint64().Draw(t, "seed")
		p := noisePlane(w, h, 0.2, seed)
		blurred := p.Blur(sigma)
		p.blurredRows(sigma, func(y int, up, mid, down []float32) {
			if !slices.Equal(mid, blurred.Row(y)) || !slices.Equal(up, blurred.Row(max(0, y-1))) || !slices.Equal(down, blurred.Row(min(h-1, y+1))) {
				t.Fatalf("row %d of %d by %d is not that of Blur", y, w, h)
			}
		})

		m := NewImage(w, h)
		rng := rand.New(rand.NewPCG(seed, 2))
		for i := range m.Pix {
			m.Pix[i] = uint8(rng.IntN(256))
		}
		ow, oh := rapid.IntRange(1, 50).Draw(t, "ow"), rapid.IntRange(1, 50).Draw(t, "oh")
		light, white, bright := m.workingPlanes(ow, oh)
		for i, c := range []struct{ together, alone *Plane }{
			{light, m.Luma()}, {white, m.Whiteness()}, {bright, m.Brightness()},
		} {
			if !slices.Equal(c.together.Pix, c.alone.Resample(ow, oh).Pix) {
				t.Fatalf("plane %d of %d by %d at %d by %d", i, w, h, ow, oh)
			}
		}
	})
}
