package intake

import (
	"encoding/xml"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"
)

// readStrings reads the workbook's table of texts. Of a text longer than a
// cell may be only the beginning is kept, enough to see that it is too long.
func (b *book) readStrings(d *xml.Decoder) error {
	var r richText
	for {
		tok, err := d.RawToken()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		r.token(tok)
		if e, ok := tok.(xml.EndElement); ok && e.Name.Local == "si" {
			if len(b.strings) == maxStrings {
				return errBig
			}
			b.strings = append(b.strings, r.take())
		}
	}
}

// richText gathers the text of an element that may be cut into runs, leaving
// out the reading aids that East Asian texts carry.
type richText struct {
	text     strings.Builder
	inT, aid bool
}

func (r *richText) token(tok xml.Token) {
	switch e := tok.(type) {
	case xml.StartElement:
		switch e.Name.Local {
		case "t":
			r.inT = true
		case "rPh":
			r.aid = true
		}
	case xml.EndElement:
		switch e.Name.Local {
		case "t":
			r.inT = false
		case "rPh":
			r.aid = false
		}
	case xml.CharData:
		if r.inT && !r.aid && r.text.Len() <= 8*MaxCell {
			r.text.Write(e[:min(len(e), 8*MaxCell)])
		}
	}
}

func (r *richText) take() string {
	s := strings.ToValidUTF8(r.text.String(), "")
	r.text.Reset()
	r.inT, r.aid = false, false
	return unescape(s)
}

// unescape reads the notation _x000D_ with which workbooks write characters
// that XML cannot hold.
func unescape(s string) string {
	if !strings.Contains(s, "_x") {
		return s
	}
	var out strings.Builder
	for i := 0; i < len(s); {
		if i+7 <= len(s) && s[i] == '_' && s[i+1] == 'x' && s[i+6] == '_' {
			if n, err := strconv.ParseUint(s[i+2:i+6], 16, 32); err == nil && utf8.ValidRune(rune(n)) {
				out.WriteRune(rune(n))
				i += 7
				continue
			}
		}
		out.WriteByte(s[i])
		i++
	}
	return out.String()
}
