package desk

import (
	"fmt"
	"math"
	"strings"

	"holdfast"
)

// Percent writes a share for people. Near 0 and 1 it keeps enough digits that
// "nearly sure" never reads as sure (0.9996 is 99.96 %, not 100 %), and there
// it rounds to the unsafe side, so that a chance just below a line never reads
// as the line: 0.9497 is 94.9 %, and a risk of 0.0104 is 1.1 %.
func Percent(share float64) string {
	p := share * 100
	near := math.Min(p, 100-p)
	switch {
	case p == 0 || p == 100:
		return fmt.Sprintf("%.0f %%", p)
	case near < 0.00095:
		if p < 50 {
			return "under 0.001 %"
		}
		return "over 99.999 %"
	case near < 9.95:
		digits := 1
		if near < 0.095 {
			digits = int(-math.Floor(math.Log10(near) + 1e-9))
		}
		scale := math.Pow10(digits)
		const slack = 1e-6 // 95.1 is 95.09999 in binary
		if p > 50 {
			p = math.Floor(p*scale+slack) / scale
		} else {
			p = math.Ceil(p*scale-slack) / scale
		}
		return strings.TrimSuffix(fmt.Sprintf("%.*f", digits, p), ".0") + " %"
	}
	return fmt.Sprintf("%.0f %%", p)
}

// PercentClear writes a chance of clear. Its unsafe side is up: near 0 it is
// rounded to the nearest tenth where Percent would round a risk up.
func PercentClear(chance float64) string {
	switch p := chance * 100; {
	case p > 0 && p < 0.1:
		return "under 0.1 %"
	case p > 0 && p < 9.95:
		return strings.TrimSuffix(fmt.Sprintf("%.1f", p), ".0") + " %"
	}
	return Percent(chance)
}

// ShortDay writes a day as people say it: 25 Nov 2026.
func ShortDay(d holdfast.Day) string { return d.Date().Format("2 Jan 2006") }

// list joins names as people do: "a, b and c".
func list(names []string) string {
	switch n := len(names); n {
	case 0:
		return ""
	case 1:
		return names[0]
	default:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}

// lower puts a name in the middle of a sentence: "Rostrum worm" becomes
// "rostrum worm".
func lower(name string) string {
	if name == "" {
		return name
	}
	return strings.ToLower(name[:1]) + name[1:]
}

// upper begins a sentence with a name or a number.
func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
