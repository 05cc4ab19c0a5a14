package holdfast

import (
	"encoding/hex"
	"regexp"
)

// ID names an entry: a UUIDv7 (RFC 9562) in its lower-case text form, made
// where the entry was recorded, so that a phone without signal can name what
// it writes.
type ID string

// MakeID builds a UUIDv7 from a time in Unix milliseconds and ten random
// bytes, of which 74 bits are used.
func MakeID(unixMilli int64, random [10]byte) ID {
	var b [16]byte
	for i := range 6 {
		b[i] = byte(unixMilli >> (8 * (5 - i)))
	}
	copy(b[6:], random[:])
	b[6] = b[6]&0x0f | 0x70
	b[8] = b[8]&0x3f | 0x80
	h := hex.EncodeToString(b[:])
	return ID(h[:8] + "-" + h[8:12] + "-" + h[12:16] + "-" + h[16:20] + "-" + h[20:])
}

var idForm = regexp.MustCompile(`^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`)

// Valid reports whether the ID is a UUIDv7 in canonical text form.
func (id ID) Valid() bool { return idForm.MatchString(string(id)) }

var nameForm = regexp.MustCompile(`^[a-zA-Z0-9][a-zA-Z0-9._-]{0,39}$`)

// ValidName reports whether s can name a lot, tank or consignment: 1 to 40
// letters, digits, dots, dashes or underscores, starting with a letter or
// digit, so that it stands in an address and on a label unchanged.
func ValidName(s string) bool { return nameForm.MatchString(s) }
