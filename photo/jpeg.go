package photo

import (
	"bytes"
	"errors"
	"image"
	"image/jpeg"
)

// maxScans bounds the passes of a progressive JPEG. Encoders write 6 to 10;
// each costs a pass over the whole picture, so thousands of empty ones in a
// small file would hold a core for minutes.
const maxScans = 100

var errScans = errors.New("the JPEG has too many scans")

// jpegConfig returns the size of a JPEG after checking its number of scans.
func jpegConfig(data []byte) (image.Config, error) {
	cfg, err := jpeg.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return cfg, err
	}
	if countScans(data) > maxScans {
		return cfg, errScans
	}
	return cfg, nil
}

// jpegBytesPerPixel is what decoding a JPEG takes, from its frame header: one
// byte a sample, and for a progressive one four more for the coefficient kept
// between scans. Without a header it assumes the worst.
func jpegBytesPerPixel(data []byte) float64 {
	const worst = 15
	var bpp float64 = worst
	eachSegment(data, func(marker byte, body []byte) bool {
		if marker < 0xc0 || marker > 0xc2 {
			return marker != 0xda
		}
		if len(body) < 6 || len(body) < 6+3*int(body[5]) {
			return false
		}
		most, sum := 0, 0
		for i := range int(body[5]) {
			samples := int(body[6+3*i+1]>>4) * int(body[6+3*i+1]&15)
			most, sum = max(most, samples), sum+samples
		}
		if most == 0 {
			return false
		}
		bpp = float64(sum) / float64(most)
		if marker == 0xc2 {
			bpp *= 5
		}
		return false
	})
	return bpp
}

// countScans counts start-of-scan markers.
func countScans(data []byte) int {
	n := 0
	eachSegment(data, func(marker byte, _ []byte) bool {
		if marker == 0xda {
			n++
		}
		return true
	})
	return n
}

// eachSegment calls f with each marker segment up to the end of the image, as
// long as it returns true. Inside entropy-coded data 0xFF is always followed by
// 0x00 or a restart marker (ITU-T T.81, B.1.1.5), so no other marker can occur
// there; the bodies of segments are skipped over.
func eachSegment(data []byte, f func(marker byte, body []byte) bool) {
	for i := 2; i+3 < len(data); {
		j := bytes.IndexByte(data[i:], 0xff)
		if j < 0 || i+j+3 >= len(data) {
			return
		}
		i += j
		marker := data[i+1]
		switch {
		case marker == 0xff: // fill byte
			i++
		case marker == 0 || marker == 1 || marker >= 0xd0 && marker <= 0xd8:
			i += 2
		case marker == 0xd9: // end of image
			return
		default:
			n := int(data[i+2])<<8 | int(data[i+3])
			if !f(marker, data[i+4:max(i+4, min(i+2+n, len(data)))]) {
				return
			}
			i += 2 + n
		}
	}
}
