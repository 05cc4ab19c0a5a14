package intake

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/japanese"
	"golang.org/x/text/encoding/simplifiedchinese"
	"golang.org/x/text/encoding/traditionalchinese"
	"golang.org/x/text/encoding/unicode"

	"holdfast/science/ref"
)

var encodings = map[string]encoding.Encoding{
	"utf-8":        unicode.UTF8,
	"utf-16le":     unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM),
	"utf-16be":     unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM),
	"windows-1252": charmap.Windows1252,
	"windows-1250": charmap.Windows1250,
	"gb18030":      simplifiedchinese.GB18030,
	"big5":         traditionalchinese.Big5,
	"shift_jis":    japanese.ShiftJIS,
}

// Encodings lists the names that Options.Encoding takes.
func Encodings() []string { return slices.Sorted(maps.Keys(encodings)) }

// decode turns the bytes of a text file into text. The encoding is the forced
// one; else what the byte order mark or the pattern of bytes says; else, for
// bytes that are no UTF-8, the one of the older encodings in which most words
// are known column names, Windows-1252 where none stands out. guessed says
// that it was that last case.
func decode(data []byte, forced string) (text, name string, guessed bool, err error) {
	switch {
	case forced != "":
		name = strings.ToLower(forced)
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		name = "utf-8"
	case bytes.HasPrefix(data, []byte("\xff\xfe")):
		name = "utf-16le"
	case bytes.HasPrefix(data, []byte("\xfe\xff")):
		name = "utf-16be"
	default:
		if name = unmarkedUTF16(data); name == "" {
			if utf8.Valid(data) {
				name = "utf-8"
			} else {
				name, guessed = legacy(data), true
			}
		}
	}
	enc, ok := encodings[name]
	if !ok {
		return "", "", false, ref.Inputf("encoding", "Choose one of "+strings.Join(Encodings(), ", ")+".", "%q is not an encoding that is read", forced)
	}
	out, err := enc.NewDecoder().Bytes(data)
	if err != nil {
		return "", "", false, ref.Inputf("file", "Save the list as XLSX, or as CSV in UTF-8.", "the text cannot be read as %s", name)
	}
	text = strings.TrimPrefix(string(out), "\ufeff")
	if strings.ContainsRune(text, 0) {
		return "", "", false, ref.Inputf("file", "Choose an XLSX or CSV file.", "the file is neither a workbook nor text")
	}
	return text, name, guessed, nil
}

// unmarkedUTF16 recognises UTF-16 without a byte order mark by its zero bytes:
// in lists most characters are digits, separators and Latin letters.
func unmarkedUTF16(data []byte) string {
	head := data[:min(len(data), 4096)&^1]
	var zeros [2]int
	for i, b := range head {
		if b == 0 {
			zeros[i%2]++
		}
	}
	half := len(head) / 2
	switch {
	case half == 0:
	case zeros[1]*10 > half*4 && zeros[0]*20 < half:
		return "utf-16le"
	case zeros[0]*10 > half*4 && zeros[1]*20 < half:
		return "utf-16be"
	}
	return ""
}

func legacy(data []byte) string {
	head := data[:min(len(data), 16<<10)]
	best, most := "windows-1252", knownWords(head, encodings["windows-1252"])
	for _, name := range []string{"windows-1250", "gb18030", "big5", "shift_jis"} {
		if n := knownWords(head, encodings[name]); n > most {
			best, most = name, n
		}
	}
	return best
}

// knownWords counts the different column names among the fields of a text
// that hold a character outside ASCII: the others say nothing about the
// encoding.
func knownWords(data []byte, enc encoding.Encoding) int {
	out, err := enc.NewDecoder().Bytes(data)
	if err != nil {
		return 0
	}
	fields := strings.FieldsFunc(string(out), func(r rune) bool { return strings.ContainsRune(",;\t|\r\n\"", r) })
	seen := map[string]bool{}
	for _, f := range fields {
		if len(f) < 100 && strings.ContainsFunc(f, func(r rune) bool { return r >= 0x80 }) {
			if key := normal(f); key != "" && len(words()[key]) > 0 {
				seen[key] = true
			}
		}
	}
	return len(seen)
}

func encodingNote(name string, guessed bool) string {
	if !guessed {
		return ""
	}
	return fmt.Sprintf("The file does not say how its letters are written; read as %s. If names look wrong, choose another encoding.", name)
}
