package photo_test

import (
	"errors"
	"math"
	"testing"

	"holdfast/photo"
	"holdfast/photo/phantom"
	"holdfast/science/ref"
)

// lumas shoots the frames of a stack.
func lumas(s *phantom.Scene, shots []phantom.Shot) (planes []*photo.Plane, frames []*photo.Image, best int) {
	top := -1.0
	for i, c := range shots {
		m := s.Shoot(c).Image
		p := m.Luma()
		planes, frames = append(planes, p), append(frames, m)
		if v := photo.MeasureSharpness(p, nil).Value; v > top {
			top, best = v, i
		}
	}
	return planes, frames, best
}

// worstCorner is how far apart two warps lay the middle half of a picture, in
// pixels.
func worstCorner(a, b photo.Warp, w, h int) float64 {
	worst := 0.0
	for _, fx := range []float64{0.25, 0.75} {
		for _, fy := range []float64{0.25, 0.75} {
			ax, ay := a.At(fx*float64(w), fy*float64(h))
			bx, by := b.At(fx*float64(w), fy*float64(h))
			worst = max(worst, math.Hypot(ax-bx, ay-by))
		}
	}
	return worst
}

func psnr(a, b *photo.Image) float64 {
	sum := 0.0
	for i, v := range a.Pix {
		d := float64(v) - float64(b.Pix[i])
		sum += d * d
	}
	return 10 * math.Log10(255*255*float64(len(a.Pix))/sum)
}

// TestFocusStack aligns and fuses drawn stacks whose true alignment and whose
// picture sharp all over are known.
func TestFocusStack(t *testing.T) {
	scenes := 4
	if testing.Short() {
		scenes = 1
	}
	var errs []float64
	gain, refused := 0.0, 0
	for seed := range uint64(scenes) {
		s, shots := phantom.Stack(seed, 5, 600, 400)
		planes, frames, best := lumas(s, shots)
		got, err := photo.AlignSlices(planes, best)
		if err != nil {
			t.Logf("stack %d refused: %v moved %.2f px, depth %.2f", seed, err, got.Moved, got.Depth)
			refused++
			continue
		}
		for i := range shots {
			if i != best && got.Used[i] {
				errs = append(errs, worstCorner(got.Warps[i], shots[best].WarpTo(shots[i]), 600, 400))
			}
		}
		fused, err := photo.Fuse(got, 600, func(i int) (*photo.Image, error) { return frames[i], nil })
		if err != nil {
			t.Fatal(err)
		}
		ideal := shots[best]
		ideal.BlurPerMM, ideal.Noise = 0, 0
		want := s.Shoot(ideal).Image
		g := psnr(fused, want) - psnr(frames[best], want)
		t.Logf("stack %d: moved %.2f px, depth %.2f, fused %.2f dB better than the best frame", seed, got.Moved, got.Depth, g)
		gain += g
	}
	sum := 0.0
	for _, e := range errs {
		sum += e / float64(len(errs))
	}
	t.Logf("alignment error: mean %.3f px over %d frames", sum, len(errs))
	if len(errs) == 0 || sum > 0.25 {
		t.Errorf("mean alignment error %.3f px over %d frames, want at most a quarter", sum, len(errs))
	}
	if gain < 0 {
		t.Errorf("the fused pictures are %.2f dB worse than the best frames", -gain)
	}
	if 2*refused > scenes {
		t.Errorf("%d of %d stacks refused", refused, scenes)
	}
}

// TestStackOfAMovingAnimalIsRefused lets the animal walk over the ground.
func TestStackOfAMovingAnimalIsRefused(t *testing.T) {
	s, shots := phantom.Stack(1, 4, 600, 400)
	for i := range shots {
		shots[i].StepX = 5 * float64(i)
	}
	planes, _, best := lumas(s, shots)
	got, err := photo.AlignSlices(planes, best)
	var no *ref.NoAnswer
	if !errors.As(err, &no) {
		t.Errorf("%v %+v", err, got)
	}
}

func TestWhatIsNoStackIsRefused(t *testing.T) {
	s, shots := phantom.Stack(2, 3, 600, 400)
	for i := range shots {
		shots[i].FocusMM = 1
	}
	planes, _, best := lumas(s, shots)
	var no *ref.NoAnswer
	if got, err := photo.AlignSlices(planes, best); !errors.As(err, &no) {
		t.Errorf("same focus: %v, depth %g", err, got.Depth)
	}
	if _, err := photo.AlignSlices(planes[:2], 0); !errors.As(err, &no) {
		t.Errorf("two frames: %v", err)
	}
	other, more := phantom.Stack(9, 3, 600, 400)
	strange, _, _ := lumas(other, more)
	if _, err := photo.AlignSlices([]*photo.Plane{planes[0], strange[0], strange[2]}, 0); !errors.As(err, &no) {
		t.Errorf("another scene: %v", err)
	}
	if _, err := photo.AlignSlices(append(planes, photo.NewPlane(200, 200)), 0); !errors.As(err, &no) {
		t.Errorf("another size: %v", err)
	}
}
