package darkroom

import (
	"bytes"
	"errors"
	"image/jpeg"
	"os"
	"testing"

	"holdfast/internal/media"
	"holdfast/photo"
	"holdfast/photo/phantom"
	"holdfast/science/ref"
)

// A drawn focus stack is joined once and kept; photographs of different scenes
// are not joined, and it says why.
func TestJoinFocusStack(t *testing.T) {
	if testing.Short() {
		t.Skip("draws a focus stack")
	}
	dir := t.TempDir()
	m := media.Open(dir)
	r := Open(dir, m, nil)
	scene, shots := phantom.Stack(3, 5, 900, 600)
	var sums []string
	best, top := 0, -1.0
	for i, c := range shots {
		p := scene.Shoot(c)
		k, err := m.Save(bytes.NewReader(p.JPEG()))
		if err != nil {
			t.Fatal(err)
		}
		sums = append(sums, k.SHA256)
		if v := photo.MeasureSharpness(p.Luma(), nil).Value; v > top {
			best, top = i, v
		}
	}
	name, err := r.Join(t.Context(), sums, best)
	var none *ref.NoAnswer
	if errors.As(err, &none) {
		t.Fatalf("refused: %s", none.Reason)
	}
	if err != nil {
		t.Fatal(err)
	}
	f, err := r.Joined(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := jpeg.Decode(f)
	if err != nil || img.Bounds().Dx() != 900 || img.Bounds().Dy() != 600 {
		t.Fatalf("joined is %v, %v", img.Bounds(), err)
	}
	if again, err := r.Join(t.Context(), sums, best); again != name || err != nil {
		t.Errorf("joined again as %s, %v", again, err)
	}
	for what, bad := range map[string][]string{"two frames": sums[:2], "none": nil} {
		if _, err := r.Join(t.Context(), bad, 0); !errors.As(err, &none) {
			t.Errorf("%s: %v", what, err)
		}
	}
	var others []string
	for _, no := range []string{"204", "212", "260"} {
		raw, err := os.ReadFile("../demo/photographs/drawn-" + no + ".jpg")
		if err != nil {
			t.Fatal(err)
		}
		k, err := m.Save(bytes.NewReader(raw))
		if err != nil {
			t.Fatal(err)
		}
		others = append(others, k.SHA256)
	}
	if _, err := r.Join(t.Context(), others, 0); !errors.As(err, &none) || none.Reason == "" {
		t.Errorf("three scenes: %v, want a refusal with its reason", err)
	}
	for _, bad := range []string{"", "../../x", name[:10], "zz"} {
		if _, err := r.Joined(bad); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("%q: %v", bad, err)
		}
	}
}
