package photo

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"sync"

	"golang.org/x/image/tiff"
	"golang.org/x/image/webp"
)

// JPEGScaler decodes a JPEG at a fraction of its size, as libturbojpeg does.
type JPEGScaler interface {
	// DecodeRGB decodes data at 1/denom of its size in each direction (denom is
	// 1, 2, 4 or 8) into packed RGB rows without padding. It returns an error
	// for a damaged file, even when part of the picture came out.
	DecodeRGB(data []byte, denom int) (pix []uint8, w, h int, err error)
}

// Limits bound what one file may cost. They are checked before any pixel is
// decoded.
type Limits struct {
	// Bytes is the largest file that is read.
	Bytes int
	// Pixels is the largest width times height.
	Pixels int
	// Memory is how many bytes the decoded pixels may take; progressive JPEG
	// and 16 bits a channel take the most a pixel. HEIC takes two to three times
	// as much while it is decoded.
	Memory int
}

// DefaultLimits lets through what cameras and phones write today: 100
// megapixels and 256 MB. A larger file is refused with a message.
var DefaultLimits = Limits{Bytes: 256 << 20, Pixels: 105_000_000, Memory: 450 << 20}

// bigDecode is the memory above which pictures are decoded one at a time.
const bigDecode = 120 << 20

// Decoder turns the bytes of a file into a picture. The zero value uses the
// Go decoders and DefaultLimits. It may be used from several goroutines.
type Decoder struct {
	// JPEG decodes JPEG data faster than the Go decoder, or is nil. Where it
	// fails the Go decoder has the last word, so that both ways refuse the same
	// files.
	JPEG JPEGScaler
	// Limits bound a file; the zero value stands for DefaultLimits.
	Limits Limits
	// Models are the last words on what is found; nil ones stand for those that
	// come with the program.
	Models Models
	// Keep is how many marks of each kind a photograph keeps; 0 stands for 12,
	// enough to draw the whole curve of hits against false marks. A negative
	// number keeps every candidate, also those on top of a better one, for
	// fitting.
	Keep int

	big sync.Mutex // held while a picture of more than bigDecode is decoded
}

// FileError says why a file was not read. Message is for the person and does
// not repeat the file's name.
type FileError struct {
	Message string
	Err     error // what the decoder said, or nil
}

func (e *FileError) Error() string {
	if e.Err == nil {
		return e.Message
	}
	return e.Message + " (" + e.Err.Error() + ")"
}

func (e *FileError) Unwrap() error { return e.Err }

// Source is one file, opened: what it is and what its tags say, without its
// pixels.
type Source struct {
	// Format is told from the content.
	Format Format
	// W and H are the stored size in pixels. For a camera raw file they are
	// those of the largest preview inside, which is what is read.
	W, H int
	// Preview is true when the picture is a preview inside a camera raw file.
	Preview bool
	// Meta is what the tags say; the zero value when there are none.
	Meta Meta

	data   []byte // the bytes that hold the pixels
	memory int    // what decoding them all takes
}

// Open looks at the bytes of a file without decoding its pixels. It returns a
// *FileError when the file is not a picture that can be read, or exceeds the
// limits. data is kept and must not be changed while the Source is in use.
func (d *Decoder) Open(data []byte) (*Source, error) {
	lim := d.limits()
	if len(data) == 0 {
		return nil, &FileError{Message: "The file is empty."}
	}
	if len(data) > lim.Bytes {
		return nil, TooLarge(int64(len(data)), lim)
	}
	src := &Source{Format: Sniff(data[:min(len(data), 64)]), data: data}
	if src.Format == "" {
		return nil, &FileError{Message: "This is not a JPEG, PNG, HEIC, TIFF, WebP or camera raw file."}
	}
	if src.Format == TIFF {
		if jpg, ok := largestPreview(data); ok {
			src.data, src.Preview = jpg, true
		}
	}
	cfg, err := src.config()
	if err != nil && src.Format == TIFF && !src.Preview {
		return nil, &FileError{Message: "The file holds no picture that can be read: a raw file without a preview, or a damaged one.", Err: err}
	}
	if err != nil {
		return nil, &FileError{Message: "The file is damaged: its size cannot be read.", Err: err}
	}
	src.W, src.H = cfg.Width, cfg.Height
	if src.W <= 0 || src.H <= 0 {
		return nil, &FileError{Message: "The file says that it has no pixels."}
	}
	if src.W > lim.Pixels/src.H {
		return nil, &FileError{Message: fmt.Sprintf("The picture is %d by %d pixels; at most %d megapixels are read.", src.W, src.H, lim.Pixels/1_000_000)}
	}
	src.memory = int(src.bytesPerPixel(cfg) * float64(src.W*src.H))
	if src.memory > lim.Memory {
		return nil, &FileError{Message: fmt.Sprintf("The picture would take %d MB to decode; at most %d MB are spent. Save it as an ordinary JPEG.", src.memory>>20, lim.Memory>>20)}
	}
	src.Meta = readMeta(data, src.Format)
	return src, nil
}

// TooLarge is the error for a file of n bytes, for callers that know its size
// before they read it.
func TooLarge(n int64, lim Limits) error {
	return &FileError{Message: fmt.Sprintf("The file has %d MB; at most %d MB are read.", n>>20, lim.Bytes>>20)}
}

func (d *Decoder) limits() Limits {
	if d.Limits == (Limits{}) {
		return DefaultLimits
	}
	return d.Limits
}

// pixelFormat is the format of the pixels, which in a raw file with a preview
// is JPEG.
func (s *Source) pixelFormat() Format {
	if s.Preview {
		return JPEG
	}
	return s.Format
}

func (s *Source) config() (image.Config, error) {
	r := bytes.NewReader(s.data)
	switch s.pixelFormat() {
	case JPEG:
		return jpegConfig(s.data)
	case PNG:
		return png.DecodeConfig(r)
	case TIFF:
		return tiff.DecodeConfig(r)
	case WebP:
		return webp.DecodeConfig(r)
	default:
		return heicConfig(s.data)
	}
}

// bytesPerPixel is what decoding takes at its peak.
func (s *Source) bytesPerPixel(cfg image.Config) float64 {
	switch s.pixelFormat() {
	case JPEG:
		return jpegBytesPerPixel(s.data)
	case HEIC:
		return heicBytesPerPixel
	}
	switch cfg.ColorModel {
	case color.GrayModel:
		return 1
	case color.Gray16Model:
		return 2
	case color.RGBA64Model, color.NRGBA64Model:
		return 8
	}
	return 4
}

// Decode returns the pixels reduced by denom in each direction (1, 2, 4 or 8;
// each pixel stands for a block of denom by denom), as stored, not turned
// upright. For HEIC, whose container may crop, it sets the size in s to what
// came out. It returns a *FileError when the file is damaged.
func (d *Decoder) Decode(s *Source, denom int) (*Image, error) {
	if s.pixelFormat() == JPEG && d.JPEG != nil {
		if pix, w, h, err := d.JPEG.DecodeRGB(s.data, denom); err == nil {
			return &Image{W: w, H: h, Pix: pix}, nil
		}
	}
	if s.memory > bigDecode {
		d.big.Lock()
		defer d.big.Unlock()
	}
	full, err := s.decodeFull()
	if err != nil {
		return nil, &FileError{Message: "The file is damaged or cut short.", Err: err}
	}
	b := full.Bounds()
	if s.Format == HEIC { // its container may crop what it holds
		s.W, s.H = b.Dx(), b.Dy()
	}
	if b.Dx() != s.W || b.Dy() != s.H {
		return nil, &FileError{Message: fmt.Sprintf("The file is damaged: it says %d by %d pixels and holds %d by %d.", s.W, s.H, b.Dx(), b.Dy())}
	}
	return fromImage(full, denom), nil
}

// decodeFull decodes every pixel with the Go decoders. A panic inside one is
// turned into an error: a hostile file must not stop the others.
func (s *Source) decodeFull() (img image.Image, err error) {
	defer func() {
		if p := recover(); p != nil {
			img, err = nil, fmt.Errorf("decoder failed: %v", p)
		}
	}()
	r := bytes.NewReader(s.data)
	switch s.pixelFormat() {
	case JPEG:
		return jpeg.Decode(r)
	case PNG:
		return png.Decode(r)
	case TIFF:
		return tiff.Decode(r)
	case WebP:
		return webp.Decode(r)
	case HEIC:
		return heicDecode(s.data)
	}
	return nil, errors.New("unknown format")
}

// ReductionFor returns the largest of 1, 2, 4, 8 by which a picture may be
// reduced and still have at least wanted pixels where the file has have.
func ReductionFor(have, wanted float64) int {
	for _, denom := range []int{8, 4, 2} {
		if have/float64(denom) >= wanted {
			return denom
		}
	}
	return 1
}
