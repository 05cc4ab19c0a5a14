package signs

import "slices"

// flag is a reason to hold everything that does not wait for the ranking: the
// table cannot be sure enough of rare and dangerous things.
type flag struct {
	say  string
	when func(Answers) bool
}

// flags follow the usual alarm signs of notifiable crustacean disease: fast
// unexplained deaths, white flecks in the shell, deaths of prawns or crayfish.
// Common practice.
var flags = []flag{
	{"many die within days and no cause is named", func(a Answers) bool {
		return only(a["deaths"], "fast") && !anyOf(a["news"], "transport", "water_change", "substance")
	}},
	{"long-arm prawns or crayfish die fast", func(a Answers) bool {
		return only(a["deaths"], "fast") && only(a["animal"], "prawn", "crayfish")
	}},
	{"white flecks in the shell", func(a Answers) bool {
		return only(a["form"], "flecks")
	}},
}

// Flags returns the reasons in a to hold everything and ask the authority,
// whatever leads the ranking.
func Flags(a Answers) []string {
	out := []string{}
	for _, f := range flags {
		if f.when(a) {
			out = append(out, f.say)
		}
	}
	return out
}

// only: something was ticked, and nothing but the options named.
func only(ticked []string, options ...string) bool {
	return len(ticked) > 0 && !slices.ContainsFunc(ticked, func(o string) bool { return !slices.Contains(options, o) })
}

func anyOf(ticked []string, options ...string) bool {
	return slices.ContainsFunc(ticked, func(o string) bool { return slices.Contains(options, o) })
}
