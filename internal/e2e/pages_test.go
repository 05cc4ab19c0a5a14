package e2e

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"holdfast/internal/web/webtest"
)

// screens is where pictures of the pages are kept, root the folder of the
// project.
const (
	screens = "../../docs/screens"
	root    = "../.."
)

// shoot keeps a picture of the screen with the element at its top, when
// HOLDFAST_SCREENS asks for pictures.
func shoot(t *testing.T, b *webtest.Browser, name, selector string) {
	t.Helper()
	if os.Getenv("HOLDFAST_SCREENS") != "1" {
		return
	}
	webtest.Eval[bool](b, fmt.Sprintf(`(() => { const e = document.querySelector(%q); if (!e) return false; e.scrollIntoView({block: "start"}); window.scrollBy(0, -12); return true })()`, selector))
	b.Shot(screens, name, false)
	squeeze(t, filepath.Join(screens, name+".png"))
}

// What the README shows and links to is there, and no picture is kept that
// nothing shows.
func TestReadmeIsTrue(t *testing.T) {
	raw, err := os.ReadFile(filepath.Join(root, "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	shown := map[string]bool{}
	for _, m := range regexp.MustCompile(`(?:\]\(|src=")([^)#"]+)`).FindAllStringSubmatch(string(raw), -1) {
		if strings.Contains(m[1], "://") {
			continue
		}
		if _, err := os.Stat(filepath.Join(root, m[1])); err != nil {
			t.Errorf("the README leads to %s: %v", m[1], err)
		}
		shown[filepath.Base(m[1])] = true
	}
	pictures, err := filepath.Glob(filepath.Join(screens, "*.png"))
	if err != nil || len(pictures) < 8 {
		t.Fatalf("%d pictures, want at least eight (%v)", len(pictures), err)
	}
	for _, p := range pictures {
		if !shown[filepath.Base(p)] {
			t.Errorf("%s is shown nowhere in the README", filepath.Base(p))
		}
	}
}

// squeeze keeps the 256 commonest colours of a picture: of a page's text and
// marks they are all that matters, and the file is half the size.
func squeeze(t *testing.T, path string) {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	often := map[color.Color]int{}
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			often[color.RGBAModel.Convert(img.At(x, y))]++
		}
	}
	var p color.Palette
	for c := range often {
		p = append(p, c)
	}
	slices.SortFunc(p, func(a, b color.Color) int { return often[b] - often[a] })
	small := image.NewPaletted(img.Bounds(), p[:min(256, len(p))])
	draw.Draw(small, small.Bounds(), img, image.Point{}, draw.Src)
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, small); err != nil {
		t.Fatal(err)
	}
	if b.Len() > 150<<10 {
		t.Errorf("%s has %d kB, more than a picture of a page should", path, b.Len()>>10)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
