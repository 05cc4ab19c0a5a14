package photo

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// Frame is what sorting needs to know of one photograph.
type Frame struct {
	// Name breaks ties of time; camera file names count up.
	Name string
	// Taken is when; zero when the file does not say.
	Taken time.Time
	// Likeness is the picture's signature; see Signature.
	Likeness []float32
	// Sharpness is Sharpness.Value.
	Sharpness float64
	// Usable is Report.Usable.
	Usable bool
}

// Frames are one burst when each was taken soon after the one before and looks
// like it. The limits were set on drawn bursts (package phantom).
const (
	burstGap      = 4 * time.Second
	likeInBurst   = 0.70 // with times close enough
	likeUntimed   = 0.85 // when one of the two has no time
	signatureLong = 48   // pixels along the longer side of a signature
	maxShift      = 5    // signature pixels that a hand may have moved
)

// Sort groups frames into bursts. It returns the bursts in the order in which
// they were taken, each a list of indices into frames with the best frame
// first: usable before not, sharper before less sharp. Every frame is in
// exactly one burst.
func Sort(frames []Frame) [][]int {
	order := make([]int, len(frames))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		fa, fb := frames[a], frames[b]
		// Frames without a time keep to their names, after the others.
		if fa.Taken.IsZero() != fb.Taken.IsZero() {
			if fa.Taken.IsZero() {
				return 1
			}
			return -1
		}
		return cmp.Or(fa.Taken.Compare(fb.Taken), cmp.Compare(fa.Name, fb.Name))
	})
	var bursts [][]int
	for n, i := range order {
		if n > 0 && together(frames[order[n-1]], frames[i]) {
			last := &bursts[len(bursts)-1]
			*last = append(*last, i)
			continue
		}
		bursts = append(bursts, []int{i})
	}
	for _, b := range bursts {
		slices.SortStableFunc(b, func(x, y int) int {
			fx, fy := frames[x], frames[y]
			if fx.Usable != fy.Usable {
				if fx.Usable {
					return -1
				}
				return 1
			}
			return cmp.Compare(fy.Sharpness, fx.Sharpness)
		})
	}
	return bursts
}

func together(a, b Frame) bool {
	if a.Taken.IsZero() || b.Taken.IsZero() {
		return Similarity(a.Likeness, b.Likeness) >= likeUntimed
	}
	return b.Taken.Sub(a.Taken) <= burstGap && Similarity(a.Likeness, b.Likeness) >= likeInBurst
}

// Signature returns a thumbnail of a lightness plane for Similarity: its width
// and height, then its pixels.
func Signature(luma *Plane) []float32 { return signatureOf(luma, luma.W, luma.H) }

// signatureOf takes the shape from the stored size, so that frames of one
// camera have signatures of one size whatever their scales were rounded to.
func signatureOf(luma *Plane, storedW, storedH int) []float32 {
	long := max(storedW, storedH)
	w, h := max(1, storedW*signatureLong/long), max(1, storedH*signatureLong/long)
	small := luma.Resample(w, h)
	return append([]float32{float32(w), float32(h)}, small.Pix...)
}

// Similarity returns how alike two pictures are by their signatures: the
// largest correlation over small shifts, from -1 to 1, and 0 when their shapes
// differ or one has no contrast at all. Brightness and contrast do not matter,
// so that a flash that came late does not part a burst.
func Similarity(a, b []float32) float64 {
	if len(a) < 3 || len(a) != len(b) || a[0] != b[0] || a[1] != b[1] {
		return 0
	}
	w, h := int(a[0]), int(a[1])
	pa, pb := &Plane{w, h, a[2:]}, &Plane{w, h, b[2:]}
	best := math.Inf(-1)
	for dy := -maxShift; dy <= maxShift; dy++ {
		for dx := -maxShift; dx <= maxShift; dx++ {
			best = max(best, correlation(pa, pb, dx, dy))
		}
	}
	return best
}

// correlation is Pearson's, over the part where a and b shifted by (dx, dy)
// overlap; 0 where a side has no contrast or nothing overlaps.
func correlation(a, b *Plane, dx, dy int) float64 {
	var n, sa, sb, saa, sbb, sab float64
	for y := max(0, dy); y < min(a.H, a.H+dy); y++ {
		for x := max(0, dx); x < min(a.W, a.W+dx); x++ {
			va, vb := float64(a.Pix[y*a.W+x]), float64(b.Pix[(y-dy)*b.W+x-dx])
			n, sa, sb = n+1, sa+va, sb+vb
			saa, sbb, sab = saa+va*va, sbb+vb*vb, sab+va*vb
		}
	}
	if n == 0 {
		return 0
	}
	den := (saa - sa*sa/n) * (sbb - sb*sb/n)
	if den <= 1e-12 {
		return 0
	}
	return (sab - sa*sb/n) / math.Sqrt(den)
}
