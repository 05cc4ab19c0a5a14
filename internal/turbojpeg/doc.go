// Package turbojpeg decodes JPEG files with libturbojpeg, loaded at run time
// where it is installed. It decodes at 1/2, 1/4 or 1/8 size directly, which the
// Go decoder cannot, and takes a half to a sixth of the time.
//
// This is the only place where the program runs native code. Callers check a
// file's size and structure before it gets here. The tag noturbojpeg builds a
// program that never loads it and needs no C library at all.
package turbojpeg

import "errors"

// ErrNotFound is returned by Load where the library is not installed or cannot
// be called.
var ErrNotFound = errors.New("libturbojpeg is not installed")

var (
	errDamaged = errors.New("turbojpeg: the JPEG is damaged")
	errMemory  = errors.New("turbojpeg: no memory for a decoder")
)
