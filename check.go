package holdfast

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"
)

// checker collects the problems of one input.
type checker struct{ problems Problems }

func (c *checker) add(field, hint, format string, args ...any) {
	c.problems = append(c.problems, Problem{Field: field, Hint: hint, Message: fmt.Sprintf(format, args...)})
}

// MaxAnimals bounds every count of animals, so that a slip of the thumb cannot
// make a lot of ten billion.
const MaxAnimals = 1_000_000

func (c *checker) count(field string, n, low int) {
	if n < low || n > MaxAnimals {
		c.add(field, fmt.Sprintf("Write a whole number from %d to 1,000,000.", low), "%d is not a count of animals", n)
	}
}

func (c *checker) text(field, s string, low, high int) {
	n := utf8.RuneCountInString(s)
	switch {
	case !utf8.ValidString(s):
		c.add(field, "Type it again.", "the text is not valid UTF-8")
	case strings.ContainsFunc(s, func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' && r != '\r' }):
		c.add(field, "Type it again.", "the text holds control characters")
	case n < low || (low > 0 && strings.TrimSpace(s) == ""):
		c.add(field, "Write a few words.", "this must not be empty")
	case n > high:
		c.add(field, fmt.Sprintf("Keep it to %d characters.", high), "the text has %d characters", n)
	}
}

func (c *checker) name(field, s string) {
	if !ValidName(s) {
		c.add(field, "Use 1 to 40 letters, digits, dots or dashes.", "%q cannot be a name here", s)
	}
}

func (c *checker) names(field string, all []string) {
	for _, s := range all {
		c.name(field, s)
	}
}

func (c *checker) oneOf(field, s string, allowed ...string) {
	for _, a := range allowed {
		if s == a {
			return
		}
	}
	c.add(field, "Choose one of: "+strings.Join(allowed, ", ")+".", "%q is not one of the choices", s)
}

func (c *checker) number(field string, x, low, high float64, unit string) {
	if math.IsNaN(x) || math.IsInf(x, 0) || x < low || x > high {
		c.add(field, strings.TrimSpace(fmt.Sprintf("Write a number from %g to %g %s", low, high, unit))+".", "%g is out of range", x)
	}
}

// reading checks a measurement that may be missing: nil means nobody took it.
func (c *checker) reading(field string, x *float64, low, high float64, unit string) {
	if x != nil {
		c.number(field, *x, low, high, unit)
	}
}

func (c *checker) instant(field string, m Micros) {
	const year2000, year2200 = Micros(946_684_800_000_000), Micros(7_258_118_400_000_000)
	if m < year2000 || m > year2200 {
		c.add(field, "Give a date between 2000 and 2200.", "%d is not a plausible time", int64(m))
	}
}

// Money is an amount in the currency's minor unit (cents), with its ISO 4217
// code.
type Money struct {
	Minor    int64  `json:"minor"`
	Currency string `json:"currency"`
}

func (c *checker) money(field string, m *Money) {
	if m == nil {
		return
	}
	if len(m.Currency) != 3 || strings.ToUpper(m.Currency) != m.Currency {
		c.add(field, "Give the three letters of the currency, such as EUR.", "%q is not a currency", m.Currency)
	}
	if m.Minor < 0 || m.Minor > 1e13 {
		c.add(field, "Write an amount of nought or more.", "%d is not a price", m.Minor)
	}
}
