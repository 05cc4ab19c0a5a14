//go:build (linux || darwin || freebsd) && (amd64 || arm64) && !noturbojpeg

package turbojpeg

import (
	"fmt"
	"runtime"
	"sync"

	"github.com/ebitengine/purego"
)

// library holds the functions of the TurboJPEG API 2.x, which 3.x kept.
type library struct {
	initDecompress func() uintptr
	header         func(h uintptr, buf *byte, size uint, w, ht, subsampling, colorspace *int32) int32
	decompress     func(h uintptr, buf *byte, size uint, dst *byte, w, pitch, ht, format, flags int32) int32
	destroy        func(h uintptr) int32
}

// Numbers of turbojpeg.h, version 2.1.
const (
	formatRGB      = 0
	flagLimitScans = 1 << 15 // give up on progressive files with over 500 scans
)

// maxSide is the largest side of a JPEG: ITU-T T.81 stores it in 16 bits.
const maxSide = 1<<16 - 1

func names() []string {
	if runtime.GOOS == "darwin" {
		return []string{"libturbojpeg.0.dylib", "libturbojpeg.dylib"}
	}
	return []string{"libturbojpeg.so.0"}
}

// Load opens the library where the system keeps its libraries. It returns
// ErrNotFound, or an error that wraps it, where there is none to use. The
// library is opened once and stays open.
func Load() (*Decoder, error) { return load() }

var load = sync.OnceValues(func() (d *Decoder, err error) {
	// Registering panics on a symbol that is missing or a signature that the
	// platform cannot call.
	defer func() {
		if p := recover(); p != nil {
			d, err = nil, fmt.Errorf("%w: %v", ErrNotFound, p)
		}
	}()
	for _, name := range names() {
		h, openErr := purego.Dlopen(name, purego.RTLD_NOW|purego.RTLD_LOCAL)
		if openErr != nil {
			continue
		}
		var lib library
		purego.RegisterLibFunc(&lib.initDecompress, h, "tjInitDecompress")
		purego.RegisterLibFunc(&lib.header, h, "tjDecompressHeader3")
		purego.RegisterLibFunc(&lib.decompress, h, "tjDecompress2")
		purego.RegisterLibFunc(&lib.destroy, h, "tjDestroy")
		return &Decoder{lib: lib}, nil
	}
	return nil, ErrNotFound
})

// Decoder is the loaded library. It may be used from several goroutines.
type Decoder struct{ lib library }

// DecodeRGB decodes a JPEG at 1/denom of its size, rounded up, into packed
// rows of R, G, B. denom is 1, 2, 4 or 8. The caller has checked the size that
// the file announces. It returns an error for a file that is damaged in any
// way the library notices, and for colour spaces that it does not turn into
// RGB.
func (d *Decoder) DecodeRGB(data []byte, denom int) (pix []uint8, w, h int, err error) {
	if len(data) < 4 {
		return nil, 0, 0, errDamaged
	}
	switch denom {
	case 1, 2, 4, 8:
	default:
		return nil, 0, 0, fmt.Errorf("turbojpeg: cannot decode at 1/%d", denom)
	}
	handle := d.lib.initDecompress()
	if handle == 0 {
		return nil, 0, 0, errMemory
	}
	defer d.lib.destroy(handle)
	size := uint(len(data))
	var fullW, fullH, sub, space int32
	if d.lib.header(handle, &data[0], size, &fullW, &fullH, &sub, &space) != 0 {
		return nil, 0, 0, errDamaged
	}
	if fullW < 1 || fullH < 1 || fullW > maxSide || fullH > maxSide {
		return nil, 0, 0, errDamaged
	}
	w, h = (int(fullW)+denom-1)/denom, (int(fullH)+denom-1)/denom
	pix = make([]uint8, 3*w*h)
	status := d.lib.decompress(handle, &data[0], size, &pix[0], int32(w), int32(3*w), int32(h), formatRGB, flagLimitScans)
	runtime.KeepAlive(data)
	runtime.KeepAlive(pix)
	if status != 0 {
		return nil, 0, 0, errDamaged
	}
	return pix, w, h, nil
}
