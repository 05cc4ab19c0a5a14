//go:build !((linux || darwin || freebsd) && (amd64 || arm64) && !noturbojpeg)

package turbojpeg

// Decoder stands for the library where it cannot be loaded.
type Decoder struct{}

// Load returns ErrNotFound: this build does not load the library.
func Load() (*Decoder, error) { return nil, ErrNotFound }

// DecodeRGB returns ErrNotFound.
func (*Decoder) DecodeRGB([]byte, int) (pix []uint8, w, h int, err error) {
	return nil, 0, 0, ErrNotFound
}
