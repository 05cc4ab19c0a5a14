package photo

import (
	"image"
	"image/color"
	"testing"
)

// TestUpright checks each orientation tag against the words of the standard:
// where the stored first row and first column belong. Source: exif2.32, tag
// 0x0112.
func TestUpright(t *testing.T) {
	// A picture whose stored corner (0,0) is marked, with the next pixel of the
	// first row half as bright.
	m := NewImage(3, 2)
	m.Pix[0], m.Pix[3] = 200, 100
	for _, c := range []struct {
		tag        int
		w, h       int
		mark, next image.Point
	}{
		{1, 3, 2, image.Pt(0, 0), image.Pt(1, 0)}, // first row at the top, first column at the left
		{2, 3, 2, image.Pt(2, 0), image.Pt(1, 0)}, // top, right
		{3, 3, 2, image.Pt(2, 1), image.Pt(1, 1)}, // bottom, right
		{4, 3, 2, image.Pt(0, 1), image.Pt(1, 1)}, // bottom, left
		{5, 2, 3, image.Pt(0, 0), image.Pt(0, 1)}, // left, top
		{6, 2, 3, image.Pt(1, 0), image.Pt(1, 1)}, // right, top
		{7, 2, 3, image.Pt(1, 2), image.Pt(1, 1)}, // right, bottom
		{8, 2, 3, image.Pt(0, 2), image.Pt(0, 1)}, // left, bottom
		{0, 3, 2, image.Pt(0, 0), image.Pt(1, 0)}, // not a tag
	} {
		u := m.Upright(c.tag)
		red := func(p image.Point) uint8 { return u.At(p.X, p.Y).(color.RGBA).R }
		if u.W != c.w || u.H != c.h || red(c.mark) != 200 || red(c.next) != 100 {
			t.Errorf("tag %d: %v, mark %d, next %d", c.tag, u.Bounds(), red(c.mark), red(c.next))
		}
	}
}

func TestTransparentPartsAreWhite(t *testing.T) {
	n := image.NewNRGBA(image.Rect(2, 3, 6, 7)) // an origin that is not zero
	n.SetNRGBA(2, 3, color.NRGBA{10, 20, 30, 255})
	n.SetNRGBA(3, 3, color.NRGBA{0, 0, 0, 128})
	p := image.NewPaletted(n.Rect, color.Palette{color.White, color.Black})
	for _, src := range []image.Image{n, toRGBA(n)} {
		m := fromImage(src, 1)
		if got := [3]uint8(m.Pix[:3]); got != [3]uint8{10, 20, 30} {
			t.Errorf("%T: opaque %v", src, got)
		}
		if got := m.Pix[3]; got < 126 || got > 128 {
			t.Errorf("%T: half black is %d", src, got)
		}
		if got := m.Pix[6]; got != 255 {
			t.Errorf("%T: nothing is %d", src, got)
		}
	}
	if m := fromImage(p, 2); m.W != 2 || m.Pix[0] != 255 {
		t.Errorf("palette: %v", m.Pix[:3])
	}
}

func toRGBA(src image.Image) *image.RGBA {
	out := image.NewRGBA(src.Bounds())
	for y := src.Bounds().Min.Y; y < src.Bounds().Max.Y; y++ {
		for x := src.Bounds().Min.X; x < src.Bounds().Max.X; x++ {
			out.Set(x, y, src.At(x, y))
		}
	}
	return out
}

func TestCropStaysInside(t *testing.T) {
	m := NewImage(10, 8)
	m.Pix[3*(5*10+7)] = 9
	c := m.Crop(image.Rect(6, 4, 50, 50))
	if c.W != 4 || c.H != 4 || c.Pix[3*(1*4+1)] != 9 {
		t.Errorf("%v %v", c.Bounds(), c.Pix)
	}
	if c := m.Crop(image.Rect(20, 20, 30, 30)); c.W != 0 || c.H != 0 {
		t.Errorf("outside: %v", c.Bounds())
	}
}
