package intake

import (
	_ "embed"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// wordsCSV lists the column names by which each field goes in nine languages,
// with a weight below 1 for names that other columns use too. A field left
// empty marks names of columns that are none of ours. Ordinary dictionary
// words and terms of the trade, written down from memory.
//
//go:embed words.csv
var wordsCSV string

// meaning is one reading of a column name.
type meaning struct {
	field  Field
	weight float64
}

// words maps each normal form to its readings.
var words = sync.OnceValue(func() map[string][]meaning {
	m := map[string][]meaning{}
	for _, line := range strings.Split(strings.TrimSpace(wordsCSV), "\n")[1:] {
		f := strings.SplitN(line, ",", 3)
		weight, err := strconv.ParseFloat(f[1], 64)
		if err != nil {
			panic("words.csv: " + line) // embedded: a test reads every line
		}
		for _, w := range strings.Split(f[2], "|") {
			key := normal(w)
			m[key] = append(m[key], meaning{Field(f[0]), weight})
		}
	}
	return m
})

// maxName is the length in bytes above which a text is no column name.
const maxName = 120

// longest is the number of words of the longest listed name.
const longest = 4

// normal is the form under which a column name is compared and remembered:
// lower case, no accents, only letters, digits, currency signs and #, single
// blanks. "Prix  unitaire (€)" becomes "prix unitaire €".
func normal(s string) string {
	var b strings.Builder
	gap := false
	for _, r := range norm.NFKD.String(strings.ToLower(s)) {
		switch {
		case unicode.Is(unicode.Mn, r) && !voiced(r):
			continue
		case unicode.IsLetter(r), unicode.IsDigit(r), unicode.Is(unicode.Sc, r), r == '#', voiced(r):
			if gap && b.Len() > 0 {
				b.WriteByte(' ')
			}
			gap = false
			switch r {
			case 'ß':
				b.WriteString("ss")
			case 'ł':
				b.WriteByte('l')
			case 'ø':
				b.WriteByte('o')
			default:
				b.WriteRune(r)
			}
		default:
			gap = true
		}
	}
	return norm.NFC.String(b.String())
}

// voiced are the marks that make another letter of a kana, not an accent.
func voiced(r rune) bool { return r == '\u3099' || r == '\u309a' }

// scores holds for each field how well a name fits it, from 0 to 1.
type scores map[Field]float64

func (s scores) raise(f Field, x float64) {
	if x > s[f] {
		s[f] = x
	}
}

// best is the highest score of a field of ours.
func (s scores) best() float64 {
	top := 0.0
	for f, x := range s {
		if f != "" {
			top = max(top, x)
		}
	}
	return top
}

// headerScore reads a column name; one that names a currency is an amount of
// money, whatever the other words.
func headerScore(name string) scores {
	s := nameScore(name)
	if len(name) > maxName || currencyIn(name) == "" {
		return s
	}
	each := s[Count] > 0 || s[PerBag] > 0
	for f := range s {
		if f != Ignore && f != Currency && !f.money() {
			delete(s, f)
		}
	}
	switch {
	case s.best() > 0:
	case each:
		s.raise(Price, 0.85)
	case strings.TrimSpace(withoutUnits(name)) == "":
		s.raise(Price, 0.6)
		s.raise(Total, 0.55)
	}
	return s
}

// nameScore reads the words of a column name. A whole known name counts fully;
// a name in two languages or with a unit, by its parts; a known name within a
// longer one, less, the longest and last one first, since "box weight" is a
// weight.
func nameScore(name string) scores {
	s := scores{}
	if len(name) > maxName {
		return s
	}
	key := normal(withoutUnits(name))
	if key == "" {
		key = normal(name)
	}
	if s.known(key, 1) {
		return s
	}
	for i, part := range strings.FieldsFunc(name, func(r rune) bool { return strings.ContainsRune("/|\n()（）[]:", r) }) {
		s.known(normal(withoutUnits(part)), max(0.85-0.05*float64(i), 0.7))
	}
	if len(s) == 0 {
		s.within(strings.Fields(key))
	}
	if len(s) == 0 {
		s.inside(key)
	}
	if len(s) == 0 {
		s.nearly(key)
	}
	return s
}

func (s scores) known(key string, factor float64) bool {
	for _, m := range words()[key] {
		s.raise(m.field, m.weight*factor)
	}
	return len(words()[key]) > 0
}

// within looks for listed names among consecutive words.
func (s scores) within(tokens []string) {
	for n := min(longest, len(tokens)); n > 0; n-- {
		for i := len(tokens) - n; i >= 0; i-- {
			if s.known(strings.Join(tokens[i:i+n], " "), 0.7) {
				return
			}
		}
	}
}

// inside looks for listed names in scripts without blanks.
func (s scores) inside(key string) {
	if strings.Trim(key, " abcdefghijklmnopqrstuvwxyz0123456789#") == "" {
		return
	}
	top := 0
	for w, ms := range words() {
		n := len([]rune(w))
		if n < 2 || !unicode.In([]rune(w)[0], unicode.Han, unicode.Katakana, unicode.Hiragana) || !strings.Contains(key, w) || n < top {
			continue
		}
		if n > top {
			top = n
			clear(s)
		}
		for _, m := range ms {
			s.raise(m.field, m.weight*0.75)
		}
	}
}

// nearly forgives one wrong letter in names of five letters and more.
func (s scores) nearly(key string) {
	if len(key) < 5 || len(key) > 40 {
		return
	}
	for w, ms := range words() {
		if len(w) >= 5 && oneOff(key, w) {
			for _, m := range ms {
				s.raise(m.field, m.weight*0.6)
			}
		}
	}
}

// oneOff says whether one letter changed, added or left out makes a into b.
func oneOff(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(b)-len(a) > 1 {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	if len(a) == len(b) {
		return i < len(a) && a[i+1:] == b[i+1:]
	}
	return a[i:] == b[i+1:]
}

// withoutUnits drops currencies and units of length from a name, which say
// how a column is written, not what it is.
func withoutUnits(name string) string {
	tokens := strings.FieldsFunc(name, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.Is(unicode.Sc, r) && !unicode.Is(unicode.Mn, r) && r != '.' && r != '#' && r != '\''
	})
	kept := tokens[:0]
	for _, t := range tokens {
		low := strings.ToLower(t)
		if currencyToken(t) == "" && low != "cm" && low != "mm" && low != "in" && low != "ca" {
			kept = append(kept, t)
		}
	}
	return strings.Join(kept, " ")
}
