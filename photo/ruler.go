package photo

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"

	"holdfast/science/ref"
)

// Ruler is what was found of a ruler in a photograph.
type Ruler struct {
	// Spacing is the distance from tick to tick in pixels of the plane that was
	// searched; Angle the direction along the ruler, in radians.
	Spacing, Angle float64
	// Lines is the share of the lines scanned across the picture that show the
	// same spacing, 0 to 1, and Peak how many times their common rhythm stands
	// out of the rest of its spectrum.
	Lines, Peak float64
}

// Limits of the search for a ruler. Gravel and grass, which have no ruler in
// them, reach a Peak of 15 to 35; drawn rulers some thousand.
const (
	rulerLong    = 2400 // pixels: a larger picture is searched at this size
	rulerAngles  = 36
	rulerLines   = 48
	tickFewest   = 12  // ticks across the picture
	tickSmallest = 5.0 // pixels from tick to tick
	rulerPeak    = 120.0
	rulerShare   = 0.05 // of the scan lines
)

// FindRuler looks for a ruler by its regular ticks: in each direction it takes
// lines across the picture, the power spectrum of each line's changes of
// lightness, and looks for a rhythm that many lines share and that has its
// second harmonic. The direction with the clearest rhythm wins; the top of its
// peak, between frequencies, gives the spacing.
//
// What a tick is worth, a millimetre or a half, the person has to say. It
// returns a *ref.NoAnswer when nothing is regular enough to be a ruler.
func FindRuler(luma *Plane) (Ruler, error) {
	f := max(1, float64(max(luma.W, luma.H))/rulerLong)
	p := luma
	if f > 1 {
		p = luma.Resample(int(math.Round(float64(luma.W)/f)), int(math.Round(float64(luma.H)/f)))
	}
	none := &ref.NoAnswer{Reason: "No regular ticks were found; tap two lines of the ruler instead."}
	if min(p.W, p.H) < 64 {
		return Ruler{}, none
	}
	var best Ruler
	for k := range rulerAngles {
		best = better(best, scanRuler(p, math.Pi*float64(k)/rulerAngles))
	}
	for _, part := range []float64{2, 4, 8} {
		at := best.Angle
		for _, turn := range []float64{-1, 1} {
			best = better(best, scanRuler(p, at+turn*math.Pi/rulerAngles/part))
		}
	}
	if best.Peak < rulerPeak || best.Lines < rulerShare {
		return Ruler{}, none
	}
	best.Spacing *= f
	return best, nil
}

// better is the ruler that shows more clearly.
func better(a, b Ruler) Ruler {
	if b.Peak*b.Lines > a.Peak*a.Lines {
		return b
	}
	return a
}

// ruled is one scan line: its power spectrum and where that has its peak.
type ruled struct {
	spectrum []float64
	bin      int
}

// scanRuler looks along one direction.
func scanRuler(p *Plane, angle float64) Ruler {
	sin, cos := math.Sincos(angle)
	long := math.Hypot(float64(p.W), float64(p.H))
	n := 1
	for n < int(long) {
		n *= 2
	}
	var lines []ruled
	for k := range rulerLines {
		off := (float64(k)+0.5)/rulerLines*long - long/2
		s, inside := scanLine(p, sin, cos, off, n)
		if inside < int(0.3*float64(max(p.W, p.H))) {
			continue
		}
		if spec := rhythm(s, n); spec != nil {
			lines = append(lines, ruled{spec, peakBin(spec, n, inside)})
		}
	}
	if len(lines) < 4 {
		return Ruler{}
	}
	slices.SortFunc(lines, func(a, b ruled) int { return cmp.Compare(a.bin, b.bin) })
	var best Ruler
	for i := range lines {
		r := agreeing(lines[i:], n)
		r.Angle = angle
		r.Lines /= float64(len(lines))
		best = better(best, r)
	}
	return best
}

// agreeing sums the spectra of the lines, sorted by peak, that share the first
// one's, within half a percent and one bin. Lines counts them.
func agreeing(lines []ruled, n int) Ruler {
	first := lines[0].bin
	if first == 0 {
		return Ruler{}
	}
	reach := first + 1 + first/200
	sum := make([]float64, len(lines[0].spectrum))
	k := 0
	for k < len(lines) && lines[k].bin <= reach {
		for b, v := range lines[k].spectrum {
			sum[b] += v
		}
		k++
	}
	bin := first
	for b := first; b <= reach && b+1 < len(sum); b++ {
		if sum[b] > sum[bin] {
			bin = b
		}
	}
	if bin < 1 || bin+1 >= len(sum) {
		return Ruler{}
	}
	at := float64(bin) + peak(float32(sum[bin-1]), float32(sum[bin]), float32(sum[bin+1]))
	return Ruler{Spacing: float64(n) / at, Lines: float64(k), Peak: sum[bin] / median(sum[tickFewest:])}
}

// scanLine reads the changes of lightness along a line at a distance off from
// the middle, into n values, and returns how many lie inside the picture.
func scanLine(p *Plane, sin, cos, off float64, n int) (values []float64, inside int) {
	values = make([]float64, n)
	cx, cy := float64(p.W-1)/2-sin*off, float64(p.H-1)/2+cos*off
	last := 0.0
	for i := range n {
		d := float64(i) - float64(n)/2
		x, y := cx+cos*d, cy+sin*d
		if x < 0 || y < 0 || x > float64(p.W-1) || y > float64(p.H-1) {
			continue
		}
		v := float64(p.Sample(x, y))
		if inside > 0 {
			values[i] = v - last // shading drops out
		}
		last = v
		inside++
	}
	return values, inside
}

// rhythm is the power spectrum of a line, its sum 1, each value held within a
// few times the typical change so that one edge does not decide; nil for a line
// without any change.
func rhythm(values []float64, n int) []float64 {
	var sizes []float64
	for _, v := range values {
		if v != 0 {
			sizes = append(sizes, math.Abs(v))
		}
	}
	if len(sizes) < n/8 {
		return nil
	}
	slices.Sort(sizes)
	limit := 4 * quantile(sizes, 0.8)
	for i, v := range values {
		values[i] = max(-limit, min(limit, v))
	}
	coefficients := fourier.NewFFT(n).Coefficients(nil, values)
	spec := make([]float64, n/2)
	total := 0.0
	for i := range spec {
		c := coefficients[i]
		spec[i] = real(c)*real(c) + imag(c)*imag(c)
		total += spec[i]
	}
	if total == 0 {
		return nil
	}
	for i := range spec {
		spec[i] /= total
	}
	return spec
}

// peakBin returns the frequency of a line's clearest rhythm, judged with its
// second harmonic, or 0.
func peakBin(spec []float64, n, inside int) int {
	lo := tickFewest * n / inside
	hi := min(len(spec)-2, int(float64(n)/tickSmallest))
	best, at := 0.0, 0
	for b := max(2, lo); b < hi; b++ {
		v := spec[b]
		if v < spec[b-1] || v < spec[b+1] {
			continue
		}
		if 2*b+2 < len(spec) {
			v += slices.Max(spec[2*b-2 : 2*b+3])
		}
		if v > best {
			best, at = v, b
		}
	}
	return at
}

// median returns the middle of v without changing it.
func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return quantile(s, 0.5)
}

// ScaleFromTaps returns the pixels a millimetre from two points on a ruler that
// lie mm millimetres apart.
func ScaleFromTaps(a, b Point, mm float64) (float64, error) {
	if !(mm > 0) {
		return 0, ref.Inputf("mm", "Give the millimetres between the two lines.", "%g mm between the two lines", mm)
	}
	s := math.Hypot(a.X-b.X, a.Y-b.Y) / mm
	return s, CheckPxPerMM(s)
}
