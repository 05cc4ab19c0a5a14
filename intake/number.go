package intake

import (
	"math/big"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"
)

// MaxCount is the largest count of animals in one line.
const MaxCount = 1_000_000

// written is a number as it stands in a text: "€ 1.234,50 / pc" has the
// digits 1.234,50, before "€" and after "/ pc".
type written struct {
	before, digits, after string
	negative              bool
}

// split takes a text apart around its number; ok is false when there is none
// or more than one.
func split(text string) (w written, ok bool) {
	s := strings.TrimSpace(norm.NFKC.String(text))
	if strings.HasPrefix(s, "(") && strings.HasSuffix(s, ")") {
		w.negative, s = true, strings.TrimSpace(s[1:len(s)-1])
	}
	first := strings.IndexFunc(s, isDigit)
	last := strings.LastIndexFunc(s, isDigit)
	if first < 0 {
		return w, false
	}
	// A mark before the first digit belongs to it, as in ".5".
	if first > 0 && (s[first-1] == '.' || s[first-1] == ',') {
		first--
	}
	w.before, w.digits, w.after = s[:first], s[first:last+1], strings.TrimSpace(s[last+1:])
	// A mark or dash after the last digit, as in "12,-", says nothing.
	w.after = strings.TrimSpace(strings.TrimPrefix(strings.TrimPrefix(w.after, ",-"), ".-"))
	for _, minus := range []string{"-", "−", "–"} {
		if strings.Contains(w.before, minus) {
			w.negative = true
			w.before = strings.Replace(w.before, minus, "", 1)
		}
	}
	w.before = strings.TrimSpace(strings.Replace(w.before, "+", "", 1))
	if w.after == "-" {
		w.negative, w.after = true, ""
	}
	return w, true
}

func isDigit(r rune) bool { return r >= '0' && r <= '9' }

// plain turns digits with marks into a number with a point. decimal is the
// mark that the list uses, "" when unknown. unclear says that the mark could
// be either; ok is false when this is no number.
func plain(digits, decimal string) (number string, unclear, ok bool) {
	s := strings.Map(func(r rune) rune {
		switch {
		case r == '’' || r == '\'' || unicode.IsSpace(r):
			return ' '
		}
		return r
	}, digits)
	if strings.Trim(s, "0123456789., ") != "" {
		return "", false, false
	}
	if strings.Contains(s, " ") {
		cut := strings.IndexAny(s, ".,")
		if cut < 0 {
			cut = len(s)
		}
		if !thousands(s[:cut], ' ') || strings.Contains(s[cut:], " ") {
			return "", false, false
		}
		s = strings.ReplaceAll(s, " ", "")
	}
	dots, commas := strings.Count(s, "."), strings.Count(s, ",")
	switch {
	case dots == 0 && commas == 0:
		return s, false, true
	case dots > 0 && commas > 0:
		mark, other := byte('.'), byte(',')
		if strings.LastIndexByte(s, ',') > strings.LastIndexByte(s, '.') {
			mark, other = ',', '.'
		}
		at := strings.IndexByte(s, mark)
		if strings.Count(s, string(mark)) > 1 || !thousands(s[:at], rune(other)) {
			return "", false, false
		}
		return strings.ReplaceAll(s[:at], string(other), "") + "." + s[at+1:], false, true
	}
	mark := byte('.')
	if commas > 0 {
		mark = ','
	}
	if dots+commas > 1 {
		if !thousands(s, rune(mark)) {
			return "", false, false
		}
		return strings.ReplaceAll(s, string(mark), ""), false, true
	}
	at := strings.IndexByte(s, mark)
	whole, part := s[:at], s[at+1:]
	grouped := whole + part
	point := whole + "." + part
	if whole == "" {
		point = "0." + part
	}
	switch {
	case len(part) != 3 || whole == "" || len(whole) > 3 || whole[0] == '0':
		return point, false, true
	case decimal == string(mark):
		return point, false, true
	case decimal != "":
		return grouped, false, true
	}
	return point, true, true
}

// thousands says whether the mark groups digits as people do: threes, or the
// Indian way of twos before the last three.
func thousands(s string, mark rune) bool {
	groups := strings.Split(s, string(mark))
	if len(groups[0]) == 0 || len(groups[0]) > 3 {
		return false
	}
	if len(groups) == 1 {
		return true
	}
	if len(groups[len(groups)-1]) != 3 {
		return false
	}
	size := len(groups[1])
	for _, g := range groups[1 : len(groups)-1] {
		if len(g) != size || size < 2 || size > 3 {
			return false
		}
	}
	return true
}

// pieceWords may stand beside a count of animals.
var pieceWords = []string{"pcs", "pc", "pieces", "piece", "pce", "pces", "ea", "heads", "head", "animals", "shrimp", "shrimps", "x",
	"stk", "stck", "stuck", "st", "stuks", "stuk", "ex", "tiere", "garnelen", "pieces", "uds", "ud", "unidades", "pz", "pezzi", "szt", "sztuk",
	"只", "隻", "尾", "匹", "個", "个", "头", "ekor", "ekr"}

// readCount reads a whole number of animals. problem is empty, or says what is
// wrong with the value.
func readCount(c Cell, decimal string) (n int, problem string) {
	switch c.Kind {
	case Fault:
		return 0, "is the spreadsheet's error " + quote(c.Text)
	case Formula:
		return 0, "is a formula without a stored result"
	case Date:
		return 0, "is the date " + quote(c.Text)
	case Bool:
		return 0, "is " + quote(c.Text)
	}
	if c.blank() {
		return 0, "is empty"
	}
	if c.Kind == Text && strings.HasPrefix(c.Text, "=") {
		return 0, "is the formula text " + quote(c.Text)
	}
	w, ok := split(c.Text)
	if !ok {
		return 0, "is " + quote(c.Text)
	}
	if unit := strings.TrimSuffix(normal(w.before+" "+w.after), " "); unit != "" && !slices.Contains(pieceWords, unit) || strings.ContainsAny(w.before+w.after, "%~≈<>±?") {
		return 0, "is " + quote(c.Text) + ", not a plain number of animals"
	}
	number, unclear, ok := plainOf(w, c, decimal)
	if !ok {
		return 0, "is " + quote(c.Text)
	}
	if unclear { // animals come whole: 1,200 and 1.200 are both twelve hundred
		number = strings.Replace(number, ".", "", 1)
	}
	r, ok := new(big.Rat).SetString(number)
	switch {
	case !ok || len(number) > 40:
		return 0, "is " + quote(c.Text)
	case w.negative && r.Sign() > 0:
		return 0, "is negative: " + quote(c.Text)
	case !r.IsInt():
		return 0, "is not a whole number: " + quote(c.Text)
	case r.Num().Cmp(big.NewInt(MaxCount)) > 0:
		return 0, "is " + quote(c.Text) + ", more than " + group(MaxCount)
	}
	return int(r.Num().Int64()), ""
}

// plainOf reads the digits of a cell: a spreadsheet's own number has a point.
func plainOf(w written, c Cell, decimal string) (number string, unclear, ok bool) {
	if c.Kind == Number {
		return w.digits, false, strings.Trim(w.digits, "0123456789.") == "" && strings.Count(w.digits, ".") <= 1
	}
	return plain(w.digits, decimal)
}

// readMoney reads an amount of money and the currency written with it ("" for
// none). problem is empty, or says what is wrong with the value.
func readMoney(c Cell, decimal string) (amount *big.Rat, currency, problem string) {
	switch c.Kind {
	case Fault:
		return nil, "", "is the spreadsheet's error " + quote(c.Text)
	case Formula:
		return nil, "", "is a formula without a stored result"
	case Date:
		return nil, "", "is the date " + quote(c.Text)
	case Bool:
		return nil, "", "is " + quote(c.Text)
	}
	if c.Kind == Text && strings.HasPrefix(c.Text, "=") {
		return nil, "", "is the formula text " + quote(c.Text)
	}
	w, ok := split(c.Text)
	if !ok {
		return nil, "", "is " + quote(c.Text)
	}
	currency = c.Currency
	if rest := strings.TrimSpace(w.before + " " + w.after); rest != "" {
		said := currencyIn(rest)
		if said == "" || !onlyCurrency(rest) {
			return nil, "", "is " + quote(c.Text) + ", not a plain amount of money"
		}
		currency = said
	}
	number, unclear, ok := plainOf(w, c, decimal)
	if !ok {
		return nil, "", "is " + quote(c.Text)
	}
	if unclear {
		grouped := strings.Replace(number, ".", "", 1)
		return nil, "", "is " + quote(c.Text) + ", which could be " + grouped + " or " + number
	}
	amount, ok = new(big.Rat).SetString(number)
	if !ok || len(number) > 40 {
		return nil, "", "is " + quote(c.Text)
	}
	if w.negative && amount.Sign() > 0 {
		return nil, "", "is negative: " + quote(c.Text)
	}
	return amount, currency, ""
}

// onlyCurrency says whether a text holds, besides currencies, no more than a
// word for "each".
func onlyCurrency(s string) bool {
	for _, t := range currencyWords(s) {
		if currencyToken(t) == "" && !slices.Contains(pieceWords, normal(t)) {
			return false
		}
	}
	return !strings.ContainsAny(s, "%~≈<>±?")
}

// quote shows a value of a list in a sentence, cut when long.
func quote(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return "'" + strings.ReplaceAll(s, "\n", " ") + "'"
}

// decimalMark finds the list's decimal mark in the amounts and counts that can
// be read in one way only. It returns "" when nothing tells or the list uses
// both.
func decimalMark(rows []Row, cols []int) string {
	points, commas := 0, 0
	for _, r := range rows {
		for _, col := range cols {
			c := r.at(col)
			if c.Kind != Text || c.blank() {
				continue
			}
			w, ok := split(c.Text)
			if !ok {
				continue
			}
			number, unclear, ok := plain(w.digits, "")
			if !ok || unclear {
				continue
			}
			at := strings.IndexByte(number, '.')
			switch {
			case at >= 0 && strings.HasSuffix(w.digits, ","+number[at+1:]):
				commas++
			case at >= 0:
				points++
			case strings.Contains(w.digits, ","): // grouped twice: the other mark is the decimal one
				points++
			case strings.Contains(w.digits, "."):
				commas++
			}
		}
	}
	switch {
	case commas > 0 && points == 0:
		return ","
	case points > 0 && commas == 0:
		return "."
	}
	return ""
}
