package turbojpeg

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"testing"
)

// loaded returns the library or skips where it is not installed.
func loaded(t *testing.T) *Decoder {
	t.Helper()
	d, err := Load()
	if err != nil {
		if !errors.Is(err, ErrNotFound) {
			t.Fatalf("Load: %v is not ErrNotFound", err)
		}
		t.Skip("libturbojpeg is not installed")
	}
	return d
}

// ramp is a smooth colour picture, on which every decoder should agree.
func ramp(w, h int) []byte {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			m.Set(x, y, color.RGBA{uint8(40 + 160*x/w), uint8(200 - 150*y/h), uint8(60 + 60*(x+y)/(w+h)), 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		panic(err)
	}
	return b.Bytes()
}

func TestSameAsGoDecoderFullSize(t *testing.T) {
	d := loaded(t)
	data := ramp(333, 217)
	want, err := jpeg.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	pix, w, h, err := d.DecodeRGB(data, 1)
	if err != nil || w != 333 || h != 217 {
		t.Fatalf("got %d x %d, %v", w, h, err)
	}
	for y := range h {
		for x := range w {
			r, g, b, _ := want.At(x, y).RGBA()
			for c, v := range []uint32{r, g, b} {
				if diff := int(v>>8) - int(pix[3*(y*w+x)+c]); diff > 4 || diff < -4 {
					t.Fatalf("pixel %d,%d channel %d: Go %d, native %d", x, y, c, v>>8, pix[3*(y*w+x)+c])
				}
			}
		}
	}
}

func TestReducedSizesRoundUp(t *testing.T) {
	d := loaded(t)
	data := ramp(333, 217)
	for denom, want := range map[int][2]int{2: {167, 109}, 4: {84, 55}, 8: {42, 28}} {
		pix, w, h, err := d.DecodeRGB(data, denom)
		if err != nil || w != want[0] || h != want[1] || len(pix) != 3*w*h {
			t.Errorf("1/%d: got %d x %d, %d bytes, %v; want %v", denom, w, h, len(pix), err, want)
		}
	}
	if _, _, _, err := d.DecodeRGB(data, 3); err == nil {
		t.Error("1/3 was accepted")
	}
}

func TestDamagedFilesAreRefused(t *testing.T) {
	d := loaded(t)
	data := ramp(333, 217)
	for name, bad := range map[string][]byte{
		"empty": nil, "two bytes": data[:2], "header only": data[:200], "cut in half": data[:len(data)/2], "no JPEG": []byte("shrimp, not pixels"),
	} {
		if _, _, _, err := d.DecodeRGB(bad, 1); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

// FuzzDecodeRGB looks for input on which the library crashes the process or
// reports a size that does not fit what it wrote.
func FuzzDecodeRGB(f *testing.F) {
	d, err := Load()
	if err != nil {
		f.Skip(err)
	}
	data := ramp(64, 48)
	f.Add(data, 1)
	f.Add(data[:len(data)-20], 8)
	f.Fuzz(func(t *testing.T, data []byte, denom int) {
		cfg, err := jpeg.DecodeConfig(bytes.NewReader(data))
		if err != nil || cfg.Width*cfg.Height > 1<<22 {
			return // callers check first
		}
		pix, w, h, err := d.DecodeRGB(data, denom)
		if err == nil && len(pix) != 3*w*h {
			t.Fatalf("%d x %d has %d bytes", w, h, len(pix))
		}
	})
}
