package intake

import (
	"encoding/xml"
	"strconv"
	"strings"
)

// format is what the number format of a cell says beyond its digits.
type format struct {
	date     bool
	percent  bool
	currency string // code or sign
}

// readStyles reads which number format each cell style has.
func (b *book) readStyles(d *xml.Decoder) error {
	codes := map[int]string{}
	inCells := false
	return elements(d, func(e xml.StartElement) error {
		switch e.Name.Local {
		case "numFmt":
			if id, err := strconv.Atoi(attr(e, "numFmtId")); err == nil && len(codes) < maxStyles {
				codes[id] = attr(e, "formatCode")
			}
		case "cellStyleXfs", "cellStyles", "dxfs":
			inCells = false
		case "cellXfs":
			inCells = true
		case "xf":
			if inCells && len(b.styles) < maxStyles {
				id, _ := strconv.Atoi(attr(e, "numFmtId"))
				b.styles = append(b.styles, readFormat(id, codes[id]))
			}
		}
		return nil
	})
}

// readFormat reads a number format. The numbers of the built-in ones are those
// of ECMA-376 part 1, 18.8.30.
func readFormat(id int, code string) format {
	if code == "" {
		switch {
		case id >= 14 && id <= 22, id >= 27 && id <= 36, id >= 45 && id <= 47, id >= 50 && id <= 58:
			return format{date: true}
		case id == 9 || id == 10:
			return format{percent: true}
		}
		return format{}
	}
	code, _, _ = strings.Cut(code[:min(len(code), 255)], ";") // the part for positive numbers
	var f format
	var literal strings.Builder
	for i := 0; i < len(code); i++ {
		switch c := code[i]; c {
		case '"':
			end := strings.IndexByte(code[i+1:], '"')
			if end < 0 {
				end = len(code) - i - 1
			}
			literal.WriteString(code[i+1 : i+1+end])
			i += end + 1
		case '\\', '_', '*':
			if c == '\\' && i+1 < len(code) {
				literal.WriteByte(code[i+1])
			}
			i++
		case '[':
			end := strings.IndexByte(code[i:], ']')
			if end < 0 {
				end = len(code) - i
			}
			f.bracket(code[i+1 : i+end])
			i += end
		case 'y', 'Y', 'd', 'D', 'h', 'H', 's', 'S', 'm', 'M':
			f.date = true
		case '%':
			f.percent = true
		default:
			literal.WriteByte(c)
		}
	}
	if f.currency == "" {
		f.currency = currencyIn(literal.String())
	}
	return f
}

// bracket reads the parts in brackets: [$€-407] is a currency, [h] elapsed
// time, the rest colours and conditions.
func (f *format) bracket(s string) {
	switch {
	case strings.HasPrefix(s, "$"):
		sign, locale, _ := strings.Cut(s[1:], "-")
		if code := currencyIn(sign); code != "" {
			f.currency = code
			if of := localeCurrency[strings.TrimLeft(strings.ToLower(locale), "0")]; of != "" && allows(code, of) {
				f.currency = of
			}
		}
	case strings.Trim(strings.ToLower(s), "hms") == "" && s != "":
		f.date = true
	}
}

// localeCurrency tells apart the currencies that share a sign by the language
// identifier of the format ([MS-LCID], the common ones).
var localeCurrency = map[string]string{
	"409": "USD", "1009": "CAD", "c0c": "CAD", "c09": "AUD", "1409": "NZD", "4809": "SGD", "c04": "HKD", "404": "TWD",
	"411": "JPY", "804": "CNY", "809": "GBP", "416": "BRL", "80a": "MXN",
	"41d": "SEK", "414": "NOK", "814": "NOK", "406": "DKK",
}
