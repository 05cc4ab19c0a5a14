package unit

import (
	"fmt"
	"math/big"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"holdfast/science/ref"
)

const (
	maxText     = 80 // runes of a quantity
	maxDigits   = 25
	maxExponent = 18
)

// Parse reads one quantity of one of the wanted kinds; none wanted takes any.
//
//	quantity = number [unit [("/" | "per") [number] unit]]
//	number   = ["+" | "-"] digits ["." digits] ["e" exponent] | whole "/" whole | "one" | "half a"
//
// Case and spaces do not matter, a single comma may stand for the decimal
// point unless three digits follow it. ppm is read as mg/l, a bare per cent as
// weight in weight. The error is a *ref.InputError for field that says what
// was written, what is wanted and how to write it. Negative values are read;
// ParsePositive refuses them.
func Parse(field, text string, want ...Kind) (Quantity, error) {
	q, err := parse(field, text, want)
	if err != nil {
		return Quantity{}, err
	}
	if len(want) > 0 && !slices.Contains(want, q.kind) {
		return Quantity{}, ref.Inputf(field, hint(want), "%q is a %s; a %s is wanted", text, q.kind, join(want))
	}
	return q, nil
}

// ParsePositive is Parse that also refuses zero and less.
func ParsePositive(field, text string, want ...Kind) (Quantity, error) {
	q, err := Parse(field, text, want...)
	if err == nil && q.Sign() <= 0 {
		return Quantity{}, ref.Inputf(field, hint(want), "%q is not above zero", text)
	}
	return q, err
}

func hint(want []Kind) string {
	if len(want) == 0 {
		return "Write a number and a unit, such as 120 l or 2.5 mg/l."
	}
	var examples []string
	for _, k := range want {
		examples = append(examples, k.Examples())
	}
	return "Write it like " + strings.Join(examples, ", or ") + "."
}

func join(want []Kind) string {
	var words []string
	for _, k := range want {
		words = append(words, string(k))
	}
	return strings.Join(words, " or ")
}

// thousands is a number whose comma may be a point or part thousands.
var thousands = regexp.MustCompile(`^[-+]?[1-9][0-9]{0,2}(,[0-9]{3})+([^0-9]|$)`)

func parse(field, text string, want []Kind) (Quantity, error) {
	s := normal(text)
	if !utf8.ValidString(text) || s == "" || utf8.RuneCountInString(s) > maxText {
		return Quantity{}, ref.Inputf(field, hint(want), "%q is not a quantity", clip(text))
	}
	value, rest, ok := number(s)
	if !ok && thousands.MatchString(s) {
		return Quantity{}, ref.Inputf(field, "Write a thousand as 1000 and one and a half as 1.5.", "%q can be read as thousands or as a decimal point", clip(text))
	}
	if !ok {
		return Quantity{}, ref.Inputf(field, hint(want), "%q does not begin with a plain number", clip(text))
	}
	if rest == "" {
		if len(want) > 0 && !slices.Contains(want, Number) {
			return Quantity{}, ref.Inputf(field, hint(want), "%q has no unit", text)
		}
		return Quantity{base: value, kind: Number}, nil
	}
	u, err := parseUnit(field, rest)
	if err != nil {
		in := err.(*ref.InputError)
		if in.Hint == "" {
			in.Hint = hint(want)
		}
		return Quantity{}, in
	}
	kind, known := kindOf(u.dims)
	if !known {
		return Quantity{}, ref.Inputf(field, hint(want), "%q is no kind of quantity that is used here", text)
	}
	value.Mul(value, u.factor)
	if u.zero != nil {
		value.Add(value, u.zero)
	}
	return Quantity{base: value, kind: kind}, nil
}

// normal lowers the case, makes one micro sign of two, and joins "% w / v".
func normal(text string) string {
	s := strings.ToLower(strings.TrimSpace(text))
	s = strings.ReplaceAll(s, "μ", "µ")
	s = strings.ReplaceAll(s, "−", "-")
	s = strings.Join(strings.Fields(s), " ")
	for _, ratio := range []string{"w/v", "w/w", "v/v"} {
		s = strings.ReplaceAll(s, "% "+ratio, "%"+ratio)
	}
	for _, spelled := range []struct{ word, digits string }{{"one ", "1 "}, {"half a ", "1/2 "}} { // as labels have it: one dose per 40 l
		if rest, ok := strings.CutPrefix(s, spelled.word); ok {
			s = spelled.digits + rest
		}
	}
	return s
}

func clip(s string) string {
	if r := []rune(strings.ToValidUTF8(s, "?")); len(r) > maxText {
		return string(r[:maxText]) + "..."
	}
	return strings.ToValidUTF8(s, "?")
}

// number takes a number off the front of s.
func number(s string) (value *big.Rat, rest string, ok bool) {
	i := 0
	if i < len(s) && (s[i] == '-' || s[i] == '+') {
		i++
	}
	start, points, digits := i, 0, 0
	for i < len(s) && (isDigit(s[i]) || s[i] == '.' || s[i] == ',') {
		if isDigit(s[i]) {
			digits++
		} else {
			points++
		}
		i++
	}
	mantissa := s[:i]
	if digits == 0 || digits > maxDigits || points > 1 {
		return nil, "", false
	}
	if at := strings.IndexByte(mantissa, ','); at >= 0 {
		if len(mantissa)-at-1 == 3 && mantissa[start] != '0' { // 1,000: a thousand or one?
			return nil, "", false
		}
		mantissa = strings.Replace(mantissa, ",", ".", 1)
	}
	i += exponentLength(s[i:])
	value, ok = new(big.Rat).SetString(mantissa + s[len(mantissa):i])
	if !ok {
		return nil, "", false
	}
	rest = strings.TrimSpace(s[i:])
	if denominator, after, found := fraction(rest); found && points == 0 {
		if denominator.Sign() == 0 {
			return nil, "", false
		}
		return value.Quo(value, denominator), after, true
	}
	return value, rest, true
}

// exponentLength returns how many bytes of s are an exponent small enough to
// work with; a larger one is left standing and fails as a unit.
func exponentLength(s string) int {
	if len(s) < 2 || s[0] != 'e' {
		return 0
	}
	i := 1
	if s[i] == '-' || s[i] == '+' {
		i++
	}
	j := i
	for j < len(s) && isDigit(s[j]) {
		j++
	}
	if n, err := strconv.Atoi(s[i:j]); err != nil || n > maxExponent {
		return 0
	}
	return j
}

// fraction reads "/2" of "1/2 tsp_us".
func fraction(s string) (denominator *big.Rat, rest string, ok bool) {
	if !strings.HasPrefix(s, "/") {
		return nil, "", false
	}
	i := 1
	for i < len(s) && isDigit(s[i]) {
		i++
	}
	if i == 1 || i > maxDigits {
		return nil, "", false
	}
	denominator, ok = new(big.Rat).SetString(s[1:i])
	return denominator, strings.TrimSpace(s[i:]), ok
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// parseUnit reads a unit or a ratio of two: "mg/l", "tablet per 40 l". Without
// anything better to say the error's hint is empty.
func parseUnit(field, s string) (scale, error) {
	s = normal(s)
	if s == "1" {
		return scale{factor: big.NewRat(1, 1)}, nil
	}
	if u, ok := table[s]; ok {
		return u, nil
	}
	top, bottom, isRatio := strings.Cut(s, " per ")
	if !isRatio {
		top, bottom, isRatio = strings.Cut(s, "/")
	}
	if !isRatio {
		return scale{}, unknown(field, s)
	}
	over, err := simpleUnit(field, strings.TrimSpace(top))
	if err != nil {
		return scale{}, err
	}
	bottom = strings.TrimSpace(bottom)
	count := big.NewRat(1, 1)
	if value, rest, ok := number(bottom); ok {
		count, bottom = value, rest
	}
	if count.Sign() <= 0 {
		return scale{}, ref.Inputf(field, "", "%q divides by nothing", s)
	}
	under, err := simpleUnit(field, bottom)
	if err != nil {
		return scale{}, err
	}
	factor := new(big.Rat).Quo(over.factor, under.factor)
	return scale{
		name:   s,
		factor: factor.Quo(factor, count),
		dims:   over.dims.over(under.dims),
	}, nil
}

// simpleUnit reads a unit that is no ratio and has its zero at nothing.
func simpleUnit(field, s string) (scale, error) {
	u, ok := table[s]
	if !ok {
		return scale{}, unknown(field, s)
	}
	if u.zero != nil {
		return scale{}, ref.Inputf(field, "", "a temperature has no place in a ratio: %q", s)
	}
	return u, nil
}

func unknown(field, s string) error {
	if choices, ok := ambiguous[s]; ok {
		return ref.Inputf(field, "Write "+choices+".", "%q could mean several things", s)
	}
	if i := strings.IndexFunc(s, unicode.IsDigit); i == 0 {
		return ref.Inputf(field, "", "%q: one number and one unit are wanted", clip(s))
	}
	return ref.Inputf(field, "", "no such unit: %q", clip(s))
}

// Repeat is something done again and again: "30 % every 3 d".
type Repeat struct {
	Amount Quantity
	Every  Quantity
}

// ParseRepeat reads an amount of one of the wanted kinds and the time after
// which it comes again. Both must be above zero.
func ParseRepeat(field, text string, want ...Kind) (Repeat, error) {
	amount, every, ok := strings.Cut(normal(text), " every ")
	if !ok {
		example := "30 %"
		if len(want) > 0 {
			example, _, _ = strings.Cut(want[0].Examples(), ",")
		}
		return Repeat{}, ref.Inputf(field, fmt.Sprintf("Write it like %s every 3 d.", example), "%q does not say how often", clip(text))
	}
	a, err := ParsePositive(field, amount, want...)
	if err != nil {
		return Repeat{}, err
	}
	if every != "" && !isDigit(every[0]) && every[0] != '-' { // "every day"
		every = "1 " + every
	}
	e, err := ParsePositive(field, every, Time)
	if err != nil {
		return Repeat{}, err
	}
	return Repeat{Amount: a, Every: e}, nil
}
