// Package words says numbers, dates and amounts the way every page says them:
// chances never as surer than they are, units behind a space that does not
// break, a dash for what is not known.
package words

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"holdfast/desk"
	"holdfast/money"
)

// gap joins a number and its unit, and thousands: a space that does not break.
const gap = "\u00a0"

// Percent says a chance, 0 to 1, in per cent as desk.PercentClear rounds it:
// whole in the middle, with one decimal within ten of the ends, where decisions
// fall, and there down, so that 94.97 % never reads as 95. A page says no more
// than "over 99.9 %" short of 1. A number that is no chance gives a dash.
func Percent(p float64) string {
	switch {
	case math.IsNaN(p) || p < 0 || p > 1:
		return "–"
	case p > 0.999 && p < 1:
		return "over 99.9" + gap + "%"
	}
	return strings.TrimSuffix(desk.PercentClear(p), " %") + gap + "%"
}

// PercentRange says a band of chances, "24 to 31 %".
func PercentRange(low, high float64) string {
	a, b := Percent(low), Percent(high)
	if a == b {
		return a
	}
	return strings.TrimSuffix(a, gap+"%") + " to " + b
}

// OfHundred says a share as a count of 100, for risks a buyer can picture:
// "34", "under 1". A number that is no share gives a dash.
func OfHundred(p float64) string {
	switch {
	case math.IsNaN(p) || p < 0 || p > 1:
		return "–"
	case p > 0 && p < 0.005:
		return "under 1"
	case p < 1 && p > 0.995:
		return "over 99"
	}
	return strconv.Itoa(int(math.Round(p * 100)))
}

// Day says a date as the round does: "Wed 25 Nov".
func Day(t time.Time) string { return t.Format("Mon 2 Jan") }

// ShortDay says a date without its weekday: "25 Nov".
func ShortDay(t time.Time) string { return t.Format("2 Jan") }

// FullDay says a date with its year, for registers: "25 Nov 2026".
func FullDay(t time.Time) string { return t.Format("2 Jan 2006") }

// Moment says a date and the time of day: "25 Nov 08:05".
func Moment(t time.Time) string { return t.Format("2 Jan 15:04") }

// Plural says n with the right form of a word: "1 animal", "3 animals".
func Plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return Int(n) + " " + many
}

// Int says a whole number with a space between thousands.
func Int(n int) string {
	s := strconv.Itoa(n)
	start := 0
	if n < 0 {
		start = 1
	}
	for i := len(s) - 3; i > start; i -= 3 {
		s = s[:i] + gap + s[i:]
	}
	return s
}

// Number says x with at most the given decimals, without trailing noughts;
// a number that is none gives a dash.
func Number(x float64, decimals int) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "–"
	}
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return strings.Replace(s, "-", "\u2212", 1)
}

// Measure says x with its unit: "54 L".
func Measure(x float64, decimals int, unit string) string {
	return Number(x, decimals) + gap + unit
}

// Money says an amount in minor units with its ISO 4217 code; codes with a
// sign everybody knows get the sign.
func Money(minor int64, currency string) string {
	sign := ""
	if minor < 0 {
		sign, minor = "\u2212", -minor
	}
	unit := money.Units(currency)
	amount := Int(int(minor / unit))
	if unit > 1 {
		amount += fmt.Sprintf(".%0*d", len(strconv.FormatInt(unit, 10))-1, minor%unit)
	}
	switch currency {
	case "EUR":
		return sign + "€" + amount
	case "GBP":
		return sign + "£" + amount
	case "USD":
		return sign + "$" + amount
	}
	return sign + amount + gap + currency
}

// Capital begins a sentence with a name or a number.
func Capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// MidSentence puts a name in the middle of a sentence: "Rostrum worm" becomes
// "rostrum worm".
func MidSentence(name string) string {
	if name == "" {
		return name
	}
	return strings.ToLower(name[:1]) + name[1:]
}
