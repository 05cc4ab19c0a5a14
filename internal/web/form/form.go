// Package form reads what a person typed: numbers with a comma or a point,
// counts, days, choices. It collects every fault with a sentence at its field
// and keeps the text as it was typed, so that the form comes back whole.
package form

import (
	"fmt"
	"math"
	"net/url"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"holdfast"
	"holdfast/internal/web/words"
)

// Form is one form as it was sent.
type Form struct {
	values url.Values
	faults holdfast.Problems
}

// New reads the values of a parsed form.
func New(v url.Values) *Form { return &Form{values: v} }

// longestShown is how much of a field is shown again. No field takes as much,
// so what is longer comes back cut and with its fault.
const longestShown = 32 << 10

// Typed is what stands in the field, for showing it again.
func (f *Form) Typed(name string) string {
	v := f.values.Get(name)
	if len(v) > longestShown {
		return strings.ToValidUTF8(v[:longestShown], "")
	}
	return v
}

// All are the values of a field that stands in the form several times, as typed.
func (f *Form) All(name string) []string { return f.values[name] }

// Err is what is wrong with the field, or empty.
func (f *Form) Err(name string) string {
	for _, p := range f.faults {
		if p.Field == name {
			if p.Hint == "" {
				return p.Message
			}
			return p.Message + " " + p.Hint
		}
	}
	return ""
}

// Fault notes that a field is wrong: what is wrong and what would be right,
// each a sentence. The first fault of a field stands.
func (f *Form) Fault(name, message, hint string) {
	if f.Err(name) == "" {
		f.faults = append(f.faults, holdfast.Problem{Field: name, Message: message, Hint: hint})
	}
}

// Take notes the faults that a use case found. Names that the form does not
// have stay listed under their own.
func (f *Form) Take(p holdfast.Problems) {
	for _, q := range p {
		message := q.Message
		if message != "" && !strings.HasSuffix(message, ".") && !strings.HasSuffix(message, "?") {
			r, n := utf8.DecodeRuneInString(message)
			message = string(unicode.ToUpper(r)) + message[n:] + "."
		}
		f.Fault(q.Field, message, q.Hint)
	}
}

// OK reports whether nothing is wrong so far.
func (f *Form) OK() bool { return len(f.faults) == 0 }

// Faults are all faults, in the order in which they were found.
func (f *Form) Faults() holdfast.Problems { return slices.Clone(f.faults) }

// Text is a field's text without space at its ends, at most longest
// characters; needed says that it must not be empty.
func (f *Form) Text(name string, longest int, needed bool) string {
	s := strings.TrimSpace(strings.ReplaceAll(f.values.Get(name), "\r\n", "\n"))
	switch {
	case !utf8.ValidString(s) || strings.ContainsFunc(s, func(r rune) bool { return r != '\n' && r != '\t' && unicode.IsControl(r) }):
		f.Fault(name, "There are characters in this that cannot be kept.", "Type it anew.")
	case needed && s == "":
		f.Fault(name, "This is needed.", "")
	case utf8.RuneCountInString(s) > longest:
		f.Fault(name, fmt.Sprintf("This is %s characters long.", words.Int(utf8.RuneCountInString(s))), fmt.Sprintf("At most %s can be kept.", words.Int(longest)))
	default:
		return s
	}
	return ""
}

// Range is what a number may be; Unit is said in the fault.
type Range struct {
	Low, High float64
	Unit      string
	Needed    bool
}

// number admits what people type: digits with at most one point or comma.
var number = regexp.MustCompile(`^[+-]?(\d+([.,]\d*)?|[.,]\d+)$`)

// trouble is what a number may come with and does not change it.
var trouble = strings.NewReplacer("\u2212", "-", "\u00a0", "", "\u202f", "", " ", "")

// Number is a field's number, or nil if it is empty or wrong. It reads a comma
// as a point and never takes words for numbers ("1e3", "NaN", "0x10"). A unit
// typed behind the number must be the field's own.
func (f *Form) Number(name string, r Range) *float64 {
	typed := strings.TrimSpace(f.values.Get(name))
	if typed == "" {
		if r.Needed {
			f.Fault(name, "This is needed.", "Write a number"+inUnit(r.Unit)+".")
		}
		return nil
	}
	s := typed
	if r.Unit != "" {
		if cut, ok := cutUnit(s, r.Unit); ok {
			s = cut
		}
	}
	s = trouble.Replace(s)
	if utf8.RuneCountInString(s) > 40 || !number.MatchString(s) {
		f.Fault(name, fmt.Sprintf("%q is not a number.", clip(typed)), "Write it with digits"+inUnit(r.Unit)+", such as "+example(r)+".")
		return nil
	}
	x, err := strconv.ParseFloat(strings.Replace(s, ",", ".", 1), 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		f.Fault(name, fmt.Sprintf("%q is not a number that can be kept.", clip(typed)), "")
		return nil
	}
	if x < r.Low || x > r.High {
		f.Fault(name, fmt.Sprintf("%s cannot be.", clip(typed)), fmt.Sprintf("It lies between %s and %s%s.%s", bound(r.Low), bound(r.High), behind(r.Unit), guess(s, r)))
		return nil
	}
	return &x
}

// guess asks whether a point was left out, which is the commonest slip with
// wet hands: 74 for a pH of 7.4.
func guess(s string, r Range) string {
	if len(s) < 2 || strings.ContainsAny(s, ".,-+") {
		return ""
	}
	with := s[:1] + "." + s[1:]
	if x, err := strconv.ParseFloat(with, 64); err == nil && x >= r.Low && x <= r.High && r.High < 100 {
		return " Did you mean " + with + "?"
	}
	return ""
}

// Count is a field's whole number, or nil if it is empty or wrong.
func (f *Form) Count(name string, low, high int, needed bool) *int {
	x := f.Number(name, Range{Low: float64(low), High: float64(high), Needed: needed})
	if x == nil {
		return nil
	}
	if *x != math.Trunc(*x) {
		f.Fault(name, fmt.Sprintf("%s is not a whole number.", clip(strings.TrimSpace(f.values.Get(name)))), "")
		return nil
	}
	n := int(*x)
	return &n
}

// OneOf is a field's choice among options, or empty.
func (f *Form) OneOf(name string, options []string, needed bool) string {
	s := f.values.Get(name)
	switch {
	case s == "" && !needed:
		return ""
	case s == "":
		f.Fault(name, "Choose one.", "")
	case !slices.Contains(options, s):
		f.Fault(name, "That is not one of the choices.", "Choose again.")
	default:
		return s
	}
	return ""
}

// Some are a field's ticked boxes among options, in the order of options.
func (f *Form) Some(name string, options []string) []string {
	var out []string
	for _, o := range options {
		if slices.Contains(f.values[name], o) {
			out = append(out, o)
		}
	}
	for _, s := range f.values[name] {
		if !slices.Contains(options, s) {
			f.Fault(name, "That is not one of the choices.", "Choose again.")
		}
	}
	return out
}

// Moment is a field's date and time of day in the zone, or the zero time if it
// is empty or wrong. It must not lie before earliest or after latest.
func (f *Form) Moment(name string, zone *time.Location, earliest, latest time.Time) time.Time {
	s := strings.TrimSpace(f.values.Get(name))
	if s == "" {
		return time.Time{}
	}
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05", "2006-01-02 15:04", time.DateOnly} {
		t, err := time.ParseInLocation(layout, s, zone)
		if err != nil {
			continue
		}
		switch {
		case t.After(latest):
			f.Fault(name, "That lies in the future.", "")
		case t.Before(earliest):
			f.Fault(name, "That is too long ago.", "The earliest is "+words.FullDay(earliest.In(zone))+".")
		default:
			return t
		}
		return time.Time{}
	}
	f.Fault(name, fmt.Sprintf("%q is not a day that can be read.", clip(s)), "Write it as 2026-11-25, or with the time as 2026-11-25 14:10.")
	return time.Time{}
}

// bound writes an end of a range, large whole ones with their thousands apart.
func bound(x float64) string {
	if x == math.Trunc(x) && math.Abs(x) < 1e12 {
		return words.Int(int(x))
	}
	return words.Number(x, 3)
}

func inUnit(unit string) string {
	if unit == "" {
		return ""
	}
	return " in " + unit
}

func behind(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

func example(r Range) string {
	return words.Number(max(r.Low, min(r.High, 7.5)), 1)
}

// cutUnit takes the unit off the end of what was typed.
func cutUnit(s, unit string) (string, bool) {
	if len(s) <= len(unit) || !strings.EqualFold(s[len(s)-len(unit):], unit) {
		return s, false
	}
	return strings.TrimSpace(s[:len(s)-len(unit)]), true
}

// clip keeps a wrong text short in its own fault.
func clip(s string) string {
	const longest = 30
	if utf8.RuneCountInString(s) <= longest {
		return strings.ToValidUTF8(s, "?")
	}
	return strings.ToValidUTF8(string([]rune(s)[:longest]), "?") + "…"
}
