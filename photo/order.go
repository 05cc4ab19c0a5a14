package photo

import (
	"cmp"
	"math"
	"slices"
)

// How an order of crops is spread over the picture: two that show mostly the
// same are one, and each crop that is taken lowers those about it, so that the
// first few do not all go to one leg.
const (
	sameCrop   = 0.2  // intersection over union from which two crops are one
	sameMiddle = 0.3  // mm between their middles below which they are
	nearLoss   = 1.0  // log-odds taken off a crop at the middle of a better one
	nearReach  = 0.75 // mm over which that falls by e
)

// SpreadOut orders marks that are only ever looked at one after the other, best
// first, and cuts them to n; a negative n sorts them and keeps all. perMM is the
// scale in stored pixels. The scores handed out have the loss taken off, so that
// sorting by them gives the order.
func SpreadOut(marks []Mark, n int, perMM float64) []Mark {
	byScore := func(a, b Mark) int { return cmp.Compare(b.Score, a.Score) }
	slices.SortStableFunc(marks, byScore)
	if n < 0 {
		return marks
	}
	left := slices.Clone(marks)
	var out []Mark
	for len(left) > 0 && len(out) < n {
		top := 0
		for i := range left {
			if left[i].Score > left[top].Score {
				top = i
			}
		}
		m := left[top]
		out = append(out, m)
		left = slices.DeleteFunc(left, func(o Mark) bool { return sameCrops(m, o, perMM) })
		for i := range left {
			left[i].Score -= nearLoss * math.Exp(-apart(m, left[i])/(nearReach*perMM))
		}
	}
	return out
}

func sameCrops(a, b Mark, perMM float64) bool {
	w := max(0, min(a.X+a.W, b.X+b.W)-max(a.X, b.X))
	h := max(0, min(a.Y+a.H, b.Y+b.H)-max(a.Y, b.Y))
	return w*h > sameCrop*(a.W*a.H+b.W*b.H-w*h) || apart(a, b) < sameMiddle*perMM
}

// apart is the distance of the middles.
func apart(a, b Mark) float64 {
	return math.Hypot(a.X+a.W/2-b.X-b.W/2, a.Y+a.H/2-b.Y-b.H/2)
}
