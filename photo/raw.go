package photo

import (
	"bytes"
	"encoding/binary"
	"image/jpeg"

	"golang.org/x/image/tiff"
)

// Camera raw files of the TIFF family hold JPEG pictures of their own making,
// often one at full size. This file finds them; the sensor data is not read.

// TIFF tags that locate a JPEG. Source: tiff6, exif2.32.
const (
	tagCompression     = 0x0103
	tagStripOffsets    = 0x0111
	tagStripByteCounts = 0x0117
	tagSubIFDs         = 0x014a
	tagJPEGOffset      = 0x0201
	tagJPEGLength      = 0x0202
	tagExifIFD         = 0x8769
)

// minPreview is the least width of a preview worth reading; smaller ones are
// thumbnails.
const minPreview = 640

// Directories in a file may point at each other in circles; more than these
// are not followed.
const (
	maxDirectories = 64
	maxEntries     = 512
	maxSubIFDs     = 16
)

// largestPreview returns the bytes of the largest JPEG stored in a TIFF-based
// file, cut to its announced length, and whether there is one that is wider
// than a thumbnail and larger than the file's own first picture, if that is of
// a kind that can be read. A file without one is an ordinary TIFF.
func largestPreview(data []byte) ([]byte, bool) {
	w := walkTIFF(data)
	bestPixels := 0
	if w.plain {
		if cfg, err := tiff.DecodeConfig(bytes.NewReader(data)); err == nil {
			bestPixels = cfg.Width * cfg.Height
		}
	}
	var best []byte
	for _, span := range w.found {
		jpg := data[span[0]:span[1]]
		if !bytes.HasPrefix(jpg, []byte("\xff\xd8\xff")) {
			continue
		}
		cfg, err := jpeg.DecodeConfig(bytes.NewReader(jpg))
		// Sensor data may itself be JPEG with one component a colour and 12
		// bits or more, which DecodeConfig refuses.
		if err != nil || cfg.Width < minPreview || cfg.Width*cfg.Height <= bestPixels {
			continue
		}
		best, bestPixels = jpg, cfg.Width*cfg.Height
	}
	return best, best != nil
}

// walkTIFF visits the directories of a TIFF-based file.
func walkTIFF(data []byte) *tiffWalker {
	if len(data) < 8 {
		return &tiffWalker{}
	}
	var order binary.ByteOrder = binary.LittleEndian
	if data[0] == 'M' {
		order = binary.BigEndian
	}
	w := &tiffWalker{data: data, order: order, seen: map[uint32]bool{}}
	w.todo = append(w.todo, order.Uint32(data[4:]))
	for len(w.todo) > 0 && len(w.seen) < maxDirectories {
		off := w.todo[0]
		w.todo = w.todo[1:]
		if off != 0 && !w.seen[off] {
			w.seen[off] = true
			w.directory(off)
		}
	}
	return w
}

type tiffWalker struct {
	data  []byte
	order binary.ByteOrder
	seen  map[uint32]bool
	todo  []uint32
	// found lists where JPEG data may lie: [start, end) offsets inside data.
	found [][2]int
	// plain is set when the first directory's picture has no compression or one
	// without loss.
	plain bool
}

// directory reads one image file directory and queues those it points to.
func (w *tiffWalker) directory(off uint32) {
	at := int(off)
	if at < 0 || at+2 > len(w.data) {
		return
	}
	n := int(w.order.Uint16(w.data[at:]))
	at += 2
	if n > maxEntries || at+12*n > len(w.data) {
		return
	}
	tags := map[uint16]uint32{}
	for i := range n {
		e := w.data[at+12*i : at+12*i+12]
		tag, count := w.order.Uint16(e), w.order.Uint32(e[4:])
		switch tag {
		case tagSubIFDs:
			w.subIFDs(e, count)
		case tagExifIFD:
			w.todo = append(w.todo, w.order.Uint32(e[8:]))
		case tagCompression, tagStripOffsets, tagStripByteCounts, tagJPEGOffset, tagJPEGLength:
			if count == 1 { // several strips are no single JPEG
				tags[tag] = w.value(e)
			}
		}
	}
	w.span(tags[tagJPEGOffset], tags[tagJPEGLength])
	switch tags[tagCompression] {
	case 6, 7: // JPEG, old and new
		w.span(tags[tagStripOffsets], tags[tagStripByteCounts])
	case 1, 5, 8, 32773, 32946: // none, LZW, deflate, PackBits
		w.plain = w.plain || len(w.seen) == 1
	}
	if next := at + 12*n; next+4 <= len(w.data) {
		w.todo = append(w.todo, w.order.Uint32(w.data[next:]))
	}
}

// value reads an entry's single number, stored as SHORT (3) or LONG (4).
func (w *tiffWalker) value(e []byte) uint32 {
	if w.order.Uint16(e[2:]) == 3 {
		return uint32(w.order.Uint16(e[8:]))
	}
	return w.order.Uint32(e[8:])
}

func (w *tiffWalker) subIFDs(e []byte, count uint32) {
	if count == 1 {
		w.todo = append(w.todo, w.order.Uint32(e[8:]))
		return
	}
	at := int(w.order.Uint32(e[8:]))
	for i := range min(int(count), maxSubIFDs) {
		if p := at + 4*i; p+4 <= len(w.data) {
			w.todo = append(w.todo, w.order.Uint32(w.data[p:]))
		}
	}
}

func (w *tiffWalker) span(off, n uint32) {
	start, end := int(off), int(off)+int(n)
	if start > 0 && n > 4 && end <= len(w.data) {
		w.found = append(w.found, [2]int{start, end})
	}
}
