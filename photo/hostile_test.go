package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"runtime"
	"testing"
	"time"
)

// tiffOf builds a little-endian TIFF from entries of (tag, type, count, value).
func tiffOf(next uint32, entries ...[4]uint32) []byte {
	b := []byte("II*\x00\x08\x00\x00\x00")
	b = binary.LittleEndian.AppendUint16(b, uint16(len(entries)))
	for _, e := range entries {
		b = binary.LittleEndian.AppendUint16(b, uint16(e[0]))
		b = binary.LittleEndian.AppendUint16(b, uint16(e[1]))
		b = binary.LittleEndian.AppendUint32(b, e[2])
		b = binary.LittleEndian.AppendUint32(b, e[3])
	}
	return binary.LittleEndian.AppendUint32(b, next)
}

// withEXIF puts a TIFF block as EXIF into a JPEG.
func withEXIF(jpg, block []byte) []byte {
	app := append([]byte("Exif\x00\x00"), block...)
	head := []byte{0xff, 0xd8, 0xff, 0xe1, byte((len(app) + 2) >> 8), byte(len(app) + 2)}
	return append(append(head, app...), jpg[2:]...)
}

// TestTagsInCirclesEnd gives tags whose directories point at themselves and at
// each other. The picture must still be read, soon.
func TestTagsInCirclesEnd(t *testing.T) {
	const long, exifIFD, gpsIFD, subIFDs = 4, 0x8769, 0x8825, 0x014a
	good := encodeJPEG(64, 48)
	for name, block := range map[string][]byte{
		"next is itself":      tiffOf(8, [4]uint32{0x0112, 3, 1, 1}),
		"EXIF is itself":      tiffOf(0, [4]uint32{exifIFD, long, 1, 8}),
		"all point back":      tiffOf(8, [4]uint32{exifIFD, long, 1, 8}, [4]uint32{gpsIFD, long, 1, 8}, [4]uint32{subIFDs, long, 1, 8}),
		"a value of 4 GB":     tiffOf(0, [4]uint32{0x010f, 2, 0xffffffff, 8}),
		"offsets far outside": tiffOf(0xfffffff0, [4]uint32{exifIFD, long, 1, 0xfffffff0}),
	} {
		start := time.Now()
		var d Decoder
		src, r, err := d.Examine(withEXIF(good, block), 0)
		if err != nil || src.W != 64 || r == nil {
			t.Errorf("JPEG, %s: %v", name, err)
		}
		if _, _, err := d.Examine(block, 0); err == nil {
			t.Errorf("TIFF, %s: read as a picture", name)
		}
		if took := time.Since(start); took > 20*time.Second {
			t.Errorf("%s took %v", name, took)
		}
	}
}

// TestBombsCostNoMemory holds that what a file claims is refused before the
// memory for it is taken.
func TestBombsCostNoMemory(t *testing.T) {
	const short, long = 3, 4
	bombTIFF := tiffOf(0, [4]uint32{0x0100, long, 1, 60000}, [4]uint32{0x0101, long, 1, 60000}, [4]uint32{0x0102, short, 1, 8},
		[4]uint32{0x0103, short, 1, 8}, [4]uint32{0x0106, short, 1, 1}, [4]uint32{0x0111, long, 1, 8}, [4]uint32{0x0115, short, 1, 1},
		[4]uint32{0x0116, long, 1, 60000}, [4]uint32{0x0117, long, 1, 100})
	webp := bytes.Clone(mustRead(t, "formats/picture.webp"))
	i := bytes.Index(webp, []byte("VP8L"))
	if i < 0 {
		t.Fatal("the sample is not lossless WebP")
	}
	binary.LittleEndian.PutUint32(webp[i+9:], 16383|16383<<14) // both sides, 14 bits each
	for name, data := range map[string][]byte{
		"PNG": bombPNG(60000, 60000), "JPEG": bombJPEG(), "TIFF": bombTIFF, "WebP": webp,
		"TIFF preview of a bomb": rawFile(binary.LittleEndian, bombJPEG(), bombJPEG()),
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		var d Decoder
		_, _, err := d.Examine(data, 0)
		runtime.ReadMemStats(&after)
		var fe *FileError
		if !errors.As(err, &fe) || fe.Message == "" {
			t.Errorf("%s: %v", name, err)
		}
		if took := after.TotalAlloc - before.TotalAlloc; took > 16<<20 {
			t.Errorf("%s took %d MB", name, took>>20)
		}
	}
}

// FuzzMeta feeds arbitrary EXIF blocks inside a good JPEG.
func FuzzMeta(f *testing.F) {
	good := encodeJPEG(16, 16)
	f.Add(tiffOf(8, [4]uint32{0x8769, 4, 1, 8}))
	f.Add(tiffOf(0, [4]uint32{0x0112, 3, 1, 6}, [4]uint32{0xa20e, 5, 1, 8}))
	f.Fuzz(func(t *testing.T, block []byte) {
		if len(block) > 60000 {
			return
		}
		var d Decoder
		src, err := d.Open(withEXIF(good, block))
		if err != nil {
			t.Fatalf("tags took the picture along: %v", err)
		}
		if m := src.Meta; m.Orientation < 1 || m.Orientation > 8 || !(m.SensorPxPerMM >= 0) || !(m.FocalMM >= 0) {
			t.Fatalf("%+v", m)
		}
	})
}

// FuzzRawPreview walks arbitrary TIFF-based files.
func FuzzRawPreview(f *testing.F) {
	f.Add(rawFile(binary.BigEndian, encodeJPEG(16, 16), encodeJPEG(700, 16)))
	f.Add(rawFile(binary.LittleEndian, encodeJPEG(700, 16), encodeJPEG(16, 16)))
	f.Add(tiffOf(8, [4]uint32{0x014a, 4, 16, 8}))
	f.Fuzz(func(t *testing.T, data []byte) {
		jpg, ok := largestPreview(data)
		if ok && (len(jpg) == 0 || len(jpg) > len(data)) {
			t.Fatalf("%d bytes of %d", len(jpg), len(data))
		}
	})
}
