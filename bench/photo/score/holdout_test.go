package score_test

import (
	"testing"

	"holdfast/bench/photo/score"
	"holdfast/photo"
	"holdfast/photo/phantom"
)

// TestHoldOut looks at the first forty photographs of the hold-out split
// with the finders that are built in. docs/SCIENCE.md has the figures of more;
// the bounds here lie about two standard errors of so few below them.
func TestHoldOut(t *testing.T) {
	if testing.Short() {
		t.Skip("draws 40 photographs")
	}
	const n = 40
	rows := make([]score.Photo, n)
	threads := make([]score.Photo, n)
	eyes, withEye := 0, 0
	var sharp, soft []float64
	truths, reports := lookAt(t, n)
	for i, r := range reports {
		p := truths[i]
		rows[i].Truth, threads[i].Truth = p, p
		for _, m := range r.Marks {
			mark := score.Mark{Box: score.Box{X: m.X, Y: m.Y, W: m.W, H: m.H}, Score: m.Score}
			switch m.Kind {
			case photo.Dots:
				rows[i].Marks = append(rows[i].Marks, mark)
			case photo.Filament:
				threads[i].Marks = append(threads[i].Marks, mark)
			}
		}
		if p.BodyBlurMM <= 0.03 {
			sharp = append(sharp, r.Sharpness.Value)
		} else {
			soft = append(soft, r.Sharpness.Value)
		}
		if len(p.Eyes) > 0 {
			withEye++
			if len(r.Eyes) > 0 && score.HitsEye(r.Eyes[0].At, p) {
				eyes++
			}
		}
	}
	at := []float64{1, 2, 5}
	got, floor := score.Judge(rows, phantom.Eggs, at), score.Judge(score.Shuffled(rows, 1), phantom.Eggs, at)
	worms := score.Judge(threads, phantom.Worm, at)
	order, _ := score.AUC(sharp, soft)
	t.Logf("rows: %d resolvable, recall %.2f at %g (random order %.2f), AUC %.2f, %.1f marks a photograph",
		got.Resolvable, got.Res, at, floor.Res, got.AUC, got.MarksPerPhoto)
	t.Logf("threads: %d, in the first five %.2f; eyes %d of %d; sharpness AUC %.2f", worms.Finds, worms.First5, eyes, withEye, order)
	if got.Resolvable < 8 || worms.Finds < 8 || len(sharp) < 5 || len(soft) < 5 {
		t.Fatal("too little to find in these photographs")
	}
	for _, c := range []struct {
		what        string
		have, least float64
	}{
		{"recall at 1", got.Res[0], 0.52},
		{"recall at 2", got.Res[1], 0.55},
		{"AUC of photographs", got.AUC, 0.68},
		{"recall at 1 above a random order", got.Res[0] - floor.Res[0], 0.30},
		{"marks a photograph", got.MarksPerPhoto, 5},
		{"threads in the first five", worms.First5, 0.68},
		{"eyes", float64(eyes) / float64(withEye), 0.82},
		{"sharpness AUC", order, 0.83},
	} {
		if !(c.have >= c.least) {
			t.Errorf("%s: %.3f, want at least %.2f", c.what, c.have, c.least)
		}
	}
}

// lookAt draws the first n photographs and looks at them, two at a time, which
// is what the smallest machine that it should run on can do.
func lookAt(t *testing.T, n int) ([]phantom.Truth, []*photo.Report) {
	truths, reports, errs := make([]phantom.Truth, n), make([]*photo.Report, n), make([]error, n)
	var dec photo.Decoder
	score.Each(n, 2, func(i int) {
		p := phantom.HoldOut(i)
		truths[i] = p.Truth
		_, reports[i], errs[i] = dec.Examine(p.JPEG(), p.Truth.PxPerMM)
	})
	for _, err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
	return truths, reports
}
