package darkroom

import (
	"bytes"
	"context"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/media"
	"holdfast/photo"
)

// room is a room with one photograph: a JPEG of four quarters, red, green, blue
// and white.
func room(t *testing.T, w, h int, name string) (*Room, string) {
	t.Helper()
	dir := t.TempDir()
	m := media.Open(dir)
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{255, 0, 0, 255}
			switch {
			case x >= w/2 && y >= h/2:
				c = color.RGBA{255, 255, 255, 255}
			case x >= w/2:
				c = color.RGBA{0, 255, 0, 255}
			case y >= h/2:
				c = color.RGBA{0, 0, 255, 255}
			}
			img.Set(x, y, c)
		}
	}
	var b bytes.Buffer
	err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 95})
	if name == "png" {
		b.Reset()
		err = png.Encode(&b, img)
	}
	if err != nil {
		t.Fatal(err)
	}
	k, err := m.Save(&b)
	if err != nil {
		t.Fatal(err)
	}
	return Open(dir, m, nil), k.SHA256
}

func shown(t *testing.T, r *Room, sum string, p Print) image.Image {
	t.Helper()
	f, err := r.Picture(t.Context(), sum, p)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := jpeg.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func near(t *testing.T, img image.Image, x, y int, want color.RGBA) {
	t.Helper()
	r, g, b, _ := img.At(x, y).RGBA()
	for _, d := range []int{int(r>>8) - int(want.R), int(g>>8) - int(want.G), int(b>>8) - int(want.B)} {
		if d < -40 || d > 40 {
			t.Errorf("at %d, %d the colour is %d %d %d, want %v", x, y, r>>8, g>>8, b>>8, want)
			return
		}
	}
}

func TestPictureIsMadeOnceAtBoundedWidths(t *testing.T) {
	for _, kind := range []string{"jpeg", "png"} {
		r, sum := room(t, 1600, 1200, kind)
		for asked, want := range map[int]int{0: 240, -5: 240, 240: 240, 241: 480, 1000: 1600, 1 << 30: 1600} {
			img := shown(t, r, sum, Print{Width: asked})
			if img.Bounds().Dx() != want {
				t.Errorf("%s: asked for %d, got %d wide, want %d", kind, asked, img.Bounds().Dx(), want)
			}
			w, h := img.Bounds().Dx(), img.Bounds().Dy()
			near(t, img, w/4, h/4, color.RGBA{255, 0, 0, 255})
			near(t, img, w/4, 3*h/4, color.RGBA{0, 0, 255, 255})
		}
		files, _ := filepath.Glob(filepath.Join(r.dir, sum[:2], sum, "*"))
		if len(files) != 4 {
			t.Errorf("%s: %d files were made, want 4: %v", kind, len(files), files)
		}
	}
}

func TestCropIsThePartAskedFor(t *testing.T) {
	r, sum := room(t, 1600, 1200, "jpeg")
	img := shown(t, r, sum, Print{Width: 480, Crop: image.Rect(800, 600, 1600, 1200)})
	if img.Bounds().Dx() != 480 || img.Bounds().Dy() != 360 {
		t.Fatalf("size %v", img.Bounds())
	}
	near(t, img, 240, 180, color.RGBA{255, 255, 255, 255})
	near(t, img, 20, 20, color.RGBA{255, 255, 255, 255})
	// Beyond the edge only what is there comes, and outside of it nothing breaks.
	shown(t, r, sum, Print{Width: 240, Crop: image.Rect(1500, 1100, 5000, 5000)})
	shown(t, r, sum, Print{Width: 240, Crop: image.Rect(4000, 4000, 5000, 5000), Raise: true})
}

func TestUnknownAndDamagedPhotographs(t *testing.T) {
	r, sum := room(t, 800, 600, "jpeg")
	for _, bad := range []string{"", "../../etc", strings.Repeat("a", 64), strings.Repeat("z", 64)} {
		_, err := r.Picture(t.Context(), bad, Print{Width: 240})
		var e *holdfast.Error
		if !errors.As(err, &e) || e.Kind != holdfast.NotFound {
			t.Errorf("%q: %v, want not found", bad, err)
		}
	}
	k, err := r.originals.Save(strings.NewReader("\xff\xd8\xff\xe0 an invented photograph"))
	if err != nil {
		t.Fatal(err)
	}
	var fe *photo.FileError
	if _, err := r.Picture(t.Context(), k.SHA256, Print{Width: 240}); !errors.As(err, &fe) {
		t.Errorf("a damaged file: %v", err)
	}
	reading, err := r.Reading(k.SHA256, 50, photo.Models{})
	if err != nil || reading.Fault == "" {
		t.Errorf("a damaged file is read as %+v, %v", reading, err)
	}
	// Bytes that changed on the disk are found out.
	path := filepath.Join(filepath.Dir(r.dir), "photographs", sum[:2], sum)
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte("\xff\xd8\xff other"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Picture(t.Context(), sum, Print{Width: 480}); !errors.As(err, &fe) || !strings.Contains(fe.Message, "changed") {
		t.Errorf("changed bytes: %v", err)
	}
}

func TestNothingIsMadeForWhoHasGone(t *testing.T) {
	r, sum := room(t, 400, 300, "jpeg")
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := r.Picture(ctx, sum, Print{Width: 240}); !errors.Is(err, context.Canceled) {
		t.Errorf("%v", err)
	}
}

func TestSweepDeletesTheOldest(t *testing.T) {
	dir := t.TempDir()
	at := time.Now().Add(-time.Hour)
	for i, name := range []string{"a", "b", "c", "d"} {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, make([]byte, 100), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(path, at, at.Add(time.Duration(i)*time.Minute)); err != nil {
			t.Fatal(err)
		}
	}
	left := func() string {
		files, err := os.ReadDir(dir)
		if err != nil {
			t.Fatal(err)
		}
		var all string
		for _, f := range files {
			all += f.Name()
		}
		return all
	}
	if err := Sweep(dir, 400); err != nil || left() != "abcd" {
		t.Errorf("within the bound %s is left, %v", left(), err)
	}
	if err := Sweep(dir, 399); err != nil || left() != "d" {
		t.Errorf("above the bound %s is left, %v, want d", left(), err)
	}
	if err := Sweep(filepath.Join(dir, "nothing"), 1); err != nil {
		t.Errorf("no folder: %v", err)
	}
}

// reading is a reading of a picture of which only the eye is known.
func reading(img *photo.Image, turn int, perMM float64) *desk.Reading {
	r := &desk.Reading{W: img.W, H: img.H, PxPerMM: perMM, Eye: &desk.Spot{X: 180, Y: 200, R: 8}}
	if turn == 3 {
		r.Eye = &desk.Spot{X: 599 - 180, Y: 399 - 200, R: 8}
	}
	return r
}

// findGills on a drawing: a red body to the right of a black eye on green.
func TestGillsLieOnTheAnimal(t *testing.T) {
	const perMM = 20
	img := photo.NewImage(600, 400)
	for y := range 400 {
		for x := range 600 {
			i := 3 * (y*600 + x)
			dx, dy := x-180, y-200
			switch {
			case dx*dx+dy*dy < 64:
				img.Pix[i], img.Pix[i+1], img.Pix[i+2] = 5, 5, 5
			case x > 170 && x < 500 && y > 160 && y < 250:
				img.Pix[i], img.Pix[i+1], img.Pix[i+2] = 200, 40, 40
			default:
				img.Pix[i], img.Pix[i+1], img.Pix[i+2] = 30, 120, 50
			}
		}
	}
	for turn, want := range map[int][2]float64{1: {260, 200}, 3: {339, 199}} {
		r := reading(img.Upright(turn), turn, perMM)
		findGills(img.Upright(turn), r)
		if r.Gills == nil || math.Hypot(r.Gills.X-want[0], r.Gills.Y-want[1]) > perMM {
			t.Errorf("turned %d: gills at %+v, want about %v", turn, r.Gills, want)
		}
		if r.White != 0 {
			t.Errorf("a red animal is white by %v", r.White)
		}
	}
}
