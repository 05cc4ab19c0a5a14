package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"image/jpeg"
	"image/png"
	"os"
	"path/filepath"
	"testing"
	"time"
)

func mustRead(t testing.TB, name string) []byte {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// TestEveryFormatShowsTheSamePicture reads one picture as other programs wrote
// it (testdata/formats/make.sh) and compares it with the pixels it was drawn
// from.
func TestEveryFormatShowsTheSamePicture(t *testing.T) {
	for _, c := range []struct {
		name   string
		format Format
		off    int // largest difference allowed, of 255
	}{
		{"picture.png", PNG, 0},
		{"picture.tif", TIFF, 0},
		{"picture.webp", WebP, 0},
		{"picture.jpg", JPEG, 14},
		{"progressive.jpg", JPEG, 14},
		{"picture.heic", HEIC, 14},
	} {
		var d Decoder
		src, err := d.Open(mustRead(t, "formats/"+c.name))
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if src.Format != c.format || src.W != 160 || src.H != 120 || src.Preview {
			t.Errorf("%s: %+v", c.name, src)
		}
		m, err := d.Decode(src, 1)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		// Away from edges, where compression rings.
		for _, p := range []image.Point{{5, 5}, {150, 10}, {40, 35}, {110, 80}, {70, 110}} {
			want := [3]int{40 + p.X, 60 + p.Y, 90}
			switch p {
			case image.Point{40, 35}:
				want = [3]int{200, 30, 40}
			case image.Point{110, 80}:
				want = [3]int{250, 240, 230}
			}
			i := 3 * (p.Y*m.W + p.X)
			for ch := range 3 {
				if diff := int(m.Pix[i+ch]) - want[ch]; diff > c.off || diff < -c.off {
					t.Errorf("%s at %v: got %v, want %v", c.name, p, m.Pix[i:i+3], want)
					break
				}
			}
		}
	}
}

func TestReducedDecodingIsTheBlockMean(t *testing.T) {
	var d Decoder
	src, err := d.Open(mustRead(t, "formats/picture.png"))
	if err != nil {
		t.Fatal(err)
	}
	full, err := d.Decode(src, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, denom := range []int{2, 4, 8} {
		m, err := d.Decode(src, denom)
		if err != nil || m.W != 160/denom || m.H != 120/denom {
			t.Fatalf("1/%d: %v %v", denom, m.Bounds(), err)
		}
		for y := range m.H {
			for x := range m.W {
				for c := range 3 {
					sum := 0
					for j := range denom {
						for i := range denom {
							sum += int(full.Pix[3*((y*denom+j)*full.W+x*denom+i)+c])
						}
					}
					want, got := float64(sum)/float64(denom*denom), float64(m.Pix[3*(y*m.W+x)+c])
					if got-want > 0.51 || want-got > 0.51 {
						t.Fatalf("1/%d at %d,%d: got %g, want %g", denom, x, y, got, want)
					}
				}
			}
		}
	}
}

// TestReducedJPEGMatchesReducedPixels compares the short way, means in each
// plane, with the long one, means of converted pixels.
func TestReducedJPEGMatchesReducedPixels(t *testing.T) {
	for _, ratio := range []image.YCbCrSubsampleRatio{
		image.YCbCrSubsampleRatio444, image.YCbCrSubsampleRatio422, image.YCbCrSubsampleRatio420,
		image.YCbCrSubsampleRatio440, image.YCbCrSubsampleRatio411, image.YCbCrSubsampleRatio410,
	} {
		m := image.NewYCbCr(image.Rect(0, 0, 45, 31), ratio)
		for i := range m.Y {
			m.Y[i] = uint8(60 + i%45*2)
		}
		for i := range m.Cb {
			m.Cb[i], m.Cr[i] = uint8(118+i%m.CStride), uint8(136-i%m.CStride)
		}
		for _, denom := range []int{1, 2, 4, 8} {
			short, long := reduceYCbCr(m, denom), reduceRGB(reduceYCbCr(m, 1), denom)
			if short.W != long.W || short.H != long.H {
				t.Fatalf("%v 1/%d: %v and %v", ratio, denom, short.Bounds(), long.Bounds())
			}
			for i := range short.Pix {
				if diff := int(short.Pix[i]) - int(long.Pix[i]); diff > 8 || diff < -8 {
					t.Fatalf("%v 1/%d byte %d: %d and %d", ratio, denom, i, short.Pix[i], long.Pix[i])
				}
			}
		}
	}
}

// TestMeta reads tags that exiftool wrote (testdata/formats/make.sh).
func TestMeta(t *testing.T) {
	var d Decoder
	src, err := d.Open(mustRead(t, "formats/picture.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	m := src.Meta
	if want := time.Date(2026, 3, 4, 3, 6, 7, 0, time.UTC); !m.Taken.Equal(want) || !m.Zoned {
		t.Errorf("taken %v, zoned %v; want %v", m.Taken, m.Zoned, want)
	}
	if m.Orientation != 6 || m.Camera != "Invented One" || m.Lens != "60 mm macro" {
		t.Errorf("%+v", m)
	}
	if m.FocalMM != 60 || m.Focal35MM != 90 || m.SubjectMM != 210 || m.SensorPxPerMM != 255.5 {
		t.Errorf("%+v", m)
	}
	if src, err = d.Open(mustRead(t, "formats/picture.png")); err != nil || src.Meta != (Meta{Orientation: 1}) {
		t.Errorf("without tags: %+v, %v", src.Meta, err)
	}
}

func encodeJPEG(w, h int) []byte {
	var b bytes.Buffer
	m := image.NewGray(image.Rect(0, 0, w, h))
	for i := range m.Pix {
		m.Pix[i] = uint8(i)
	}
	if err := jpeg.Encode(&b, m, nil); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// rawFile lays out a raw file as cameras do: a first directory with a small
// thumbnail, a sub-directory with the large preview, a loop back to the first.
func rawFile(order binary.AppendByteOrder, thumb, preview []byte) []byte {
	magic := "II"
	if order.String() == "BigEndian" {
		magic = "MM"
	}
	b := order.AppendUint16([]byte(magic), 42)
	b = order.AppendUint32(b, 8)
	entry := func(b []byte, tag uint16, v int) []byte {
		b = order.AppendUint16(b, tag)
		b = order.AppendUint16(b, 4)
		b = order.AppendUint32(b, 1)
		return order.AppendUint32(b, uint32(v))
	}
	const subAt, dataAt = 8 + 2 + 3*12 + 4, 8 + 2 + 3*12 + 4 + 2 + 3*12 + 4
	b = order.AppendUint16(b, 3)
	b = entry(b, tagSubIFDs, subAt)
	b = entry(b, tagJPEGOffset, dataAt)
	b = entry(b, tagJPEGLength, len(thumb))
	b = order.AppendUint32(b, subAt)
	b = order.AppendUint16(b, 3)
	b = entry(b, tagCompression, 7)
	b = entry(b, tagStripOffsets, dataAt+len(thumb))
	b = entry(b, tagStripByteCounts, len(preview))
	b = order.AppendUint32(b, 8) // round in a circle
	return append(append(b, thumb...), preview...)
}

func TestRawFileGivesItsLargestPreview(t *testing.T) {
	thumb, preview := encodeJPEG(160, 120), encodeJPEG(800, 600)
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		var d Decoder
		src, err := d.Open(rawFile(order, thumb, preview))
		if err != nil {
			t.Fatalf("%v: %v", order, err)
		}
		if !src.Preview || src.W != 800 || src.H != 600 || src.Format != TIFF {
			t.Errorf("%v: %+v", order, src)
		}
		if m, err := d.Decode(src, 4); err != nil || m.W != 200 {
			t.Errorf("%v: %v", order, err)
		}
	}
	var d Decoder
	if _, err := d.Open(rawFile(binary.LittleEndian, thumb, thumb)); err == nil {
		t.Error("a raw file with a thumbnail alone was read")
	}
}

// bombPNG says that it is w by h and holds next to nothing.
func bombPNG(w, h uint32) []byte {
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 1, 1))); err != nil {
		panic(err)
	}
	data := b.Bytes()
	binary.BigEndian.PutUint32(data[16:], w)
	binary.BigEndian.PutUint32(data[20:], h)
	binary.BigEndian.PutUint32(data[29:], crcPNG(data[12:29]))
	return data
}

func crcPNG(b []byte) uint32 {
	c := ^uint32(0)
	for _, x := range b {
		c ^= uint32(x)
		for range 8 {
			c = c>>1 ^ (c&1)*0xedb88320
		}
	}
	return ^c
}

// bombJPEG is a real JPEG whose header was changed to say 60,000 by 60,000.
func bombJPEG() []byte {
	data := encodeJPEG(16, 16)
	i := bytes.Index(data, []byte{0xff, 0xc0})
	binary.BigEndian.PutUint16(data[i+5:], 60000)
	binary.BigEndian.PutUint16(data[i+7:], 60000)
	return data
}

// manyScans is a progressive JPEG with its scans repeated n times over.
func manyScans(t *testing.T, n int) []byte {
	data := mustRead(t, "formats/progressive.jpg")
	from := bytes.Index(data, []byte{0xff, 0xda})
	body := data[from : len(data)-2]
	return append(append(data[:from:from], bytes.Repeat(body, n)...), 0xff, 0xd9)
}

func TestHostileFilesAreNamedAndCostLittle(t *testing.T) {
	good := mustRead(t, "formats/picture.jpg")
	heicFile := mustRead(t, "formats/picture.heic")
	bombHEIC := bytes.Clone(heicFile)
	i := bytes.Index(bombHEIC, []byte("ispe"))
	binary.BigEndian.PutUint32(bombHEIC[i+8:], 60000)
	binary.BigEndian.PutUint32(bombHEIC[i+12:], 60000)
	for name, data := range map[string][]byte{
		"empty":             nil,
		"text":              []byte("no pixels in here, only words and more words"),
		"JPEG cut short":    good[:len(good)/2],
		"JPEG header only":  good[:20],
		"PNG bomb":          bombPNG(60000, 60000),
		"PNG that is empty": bombPNG(3000, 3000),
		"JPEG bomb":         bombJPEG(),
		"JPEG of scans":     manyScans(t, 40),
		"HEIC bomb":         bombHEIC,
		"HEIC cut short":    heicFile[:len(heicFile)-1000],
		"HEIC header only":  heicFile[:40],
		"TIFF header only":  []byte("II*\x00\x08\x00\x00\x00"),
	} {
		var d Decoder
		_, _, err := d.Examine(data, 0)
		var fe *FileError
		if !errors.As(err, &fe) || fe.Message == "" {
			t.Errorf("%s: %v", name, err)
		}
	}
	d := Decoder{Limits: Limits{Bytes: 1000, Pixels: 1 << 20, Memory: 1 << 20}}
	if _, err := d.Open(good); err == nil {
		t.Error("a file above the limit was opened")
	}
}

// TestGoDecoderHasTheLastWord checks that a native decoder that fails does not
// make a readable file unreadable.
func TestGoDecoderHasTheLastWord(t *testing.T) {
	d := Decoder{JPEG: failing{}}
	src, err := d.Open(mustRead(t, "formats/grey.jpg"))
	if err != nil {
		t.Fatal(err)
	}
	if m, err := d.Decode(src, 2); err != nil || m.W != 80 || m.H != 60 {
		t.Errorf("%v", err)
	}
}

type failing struct{}

func (failing) DecodeRGB([]byte, int) ([]uint8, int, int, error) {
	return nil, 0, 0, errors.New("no")
}

// TestMemoryIsReckonedBeforeItIsTaken checks the figure for each kind of JPEG
// against its frame header, by hand: samples a pixel, five bytes a sample when
// progressive.
func TestMemoryIsReckonedBeforeItIsTaken(t *testing.T) {
	for name, want := range map[string]float64{"grey.jpg": 1, "picture.jpg": 1.5, "progressive.jpg": 7.5} {
		if got := jpegBytesPerPixel(mustRead(t, "formats/"+name)); got != want {
			t.Errorf("%s: %g bytes a pixel, want %g", name, got, want)
		}
	}
	d := Decoder{Limits: Limits{Bytes: 1 << 20, Pixels: 1 << 20, Memory: 100_000}}
	if _, err := d.Open(mustRead(t, "formats/picture.jpg")); err != nil {
		t.Errorf("28,800 bytes of pixels: %v", err)
	}
	if _, err := d.Open(mustRead(t, "formats/progressive.jpg")); err == nil {
		t.Error("144,000 bytes of pixels passed")
	}
}

func TestReductionKeepsEnoughPixels(t *testing.T) {
	for _, c := range []struct {
		have, wanted float64
		denom        int
	}{{250, 53, 4}, {440, 53, 8}, {105, 53, 1}, {106, 53, 2}, {20, 53, 1}, {5000, 53, 8}} {
		if got := ReductionFor(c.have, c.wanted); got != c.denom {
			t.Errorf("%g for %g: 1/%d, want 1/%d", c.have, c.wanted, got, c.denom)
		}
	}
}

// FuzzOpen feeds arbitrary bytes to everything that parses a file before its
// pixels: sniffing, sizes, tags, raw previews, HEIC boxes.
func FuzzOpen(f *testing.F) {
	for _, name := range []string{"picture.png", "picture.tif", "picture.webp", "picture.jpg", "progressive.jpg", "picture.heic"} {
		f.Add(mustRead(f, "formats/"+name))
	}
	f.Add(rawFile(binary.BigEndian, encodeJPEG(16, 16), encodeJPEG(700, 16)))
	f.Fuzz(func(t *testing.T, data []byte) {
		d := Decoder{Limits: Limits{Bytes: 1 << 20, Pixels: 1 << 18, Memory: 1 << 22}}
		src, err := d.Open(data)
		if err != nil {
			return
		}
		if src.W <= 0 || src.H <= 0 || src.W*src.H > d.Limits.Pixels {
			t.Fatalf("%d by %d passed", src.W, src.H)
		}
		if o := src.Meta.Orientation; o < 1 || o > 8 {
			t.Fatalf("orientation %d", o)
		}
		if src.Format == HEIC {
			return // seconds a picture
		}
		m, err := d.Decode(src, 2)
		if err == nil && len(m.Pix) != 3*m.W*m.H {
			t.Fatalf("%d by %d with %d bytes", m.W, m.H, len(m.Pix))
		}
	})
}

// FuzzHEICBoxes looks for containers on which the walk fails to end or reads
// outside.
func FuzzHEICBoxes(f *testing.F) {
	f.Add(mustRead(f, "formats/picture.heic"))
	f.Fuzz(func(t *testing.T, data []byte) { _, _ = heicLargest(data) })
}

// mustDecode reads a picture from testdata at full size.
func mustDecode(t testing.TB, name string) *Image {
	t.Helper()
	var d Decoder
	src, err := d.Open(mustRead(t, name))
	if err != nil {
		t.Fatal(err)
	}
	m, err := d.Decode(src, 1)
	if err != nil {
		t.Fatal(err)
	}
	return m
}
