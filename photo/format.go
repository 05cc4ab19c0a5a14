package photo

import "bytes"

// Format is what a file's first bytes say it is, whatever its name says.
type Format string

// The formats that are read.
const (
	JPEG Format = "jpeg"
	PNG  Format = "png"
	HEIC Format = "heic"
	TIFF Format = "tiff" // also the camera raw files built on it
	WebP Format = "webp"
)

// Sniff tells the format of a file from its first bytes; 32 are enough. It
// returns "" for anything that is not read.
func Sniff(head []byte) Format {
	switch {
	case bytes.HasPrefix(head, []byte("\xff\xd8\xff")):
		return JPEG
	case bytes.HasPrefix(head, []byte("\x89PNG\r\n\x1a\n")):
		return PNG
	case bytes.HasPrefix(head, []byte("II*\x00")), bytes.HasPrefix(head, []byte("MM\x00*")):
		return TIFF
	case len(head) >= 12 && string(head[:4]) == "RIFF" && string(head[8:12]) == "WEBP":
		return WebP
	case len(head) >= 12 && string(head[4:8]) == "ftyp" && heicBrand(head):
		return HEIC
	}
	return ""
}

// heicBrand looks for a brand of the HEVC still picture family (ISO/IEC
// 23008-12) among the major brand and the compatible ones in sight.
func heicBrand(head []byte) bool {
	for i := 8; i+4 <= len(head); i += 4 {
		switch string(head[i : i+4]) {
		case "heic", "heix", "heim", "heis", "hevc", "hevx", "mif1", "msf1":
			return true
		case "avif", "avis":
			return false
		}
	}
	return false
}
