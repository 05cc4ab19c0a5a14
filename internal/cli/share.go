package cli

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"

	"holdfast/science/ref"
)

// share is a flag that holds a share from 0 to 1. People may write it with a
// percent sign: 5% is 0.05.
type share float64

// Decode implements kong's MapperValue.
func (s *share) Decode(ctx *kong.DecodeContext) error {
	var text string
	if err := ctx.Scan.PopValueInto("share", &text); err != nil {
		return err
	}
	x, err := parseShare(text)
	if err != nil {
		return ref.Inputf(ctx.Value.Name, err.Error(), "%q is no share from 0 to 1", text)
	}
	*s = share(x)
	return nil
}

// parseShare reads "0.05", "5%" or "5 %". The error says the one thing to do.
func parseShare(text string) (float64, error) {
	number, percent := strings.CutSuffix(strings.TrimSpace(text), "%")
	number = strings.TrimSpace(number)
	x, err := strconv.ParseFloat(number, 64)
	switch {
	case err != nil && strings.Contains(number, ","):
		return 0, fmt.Errorf("Write a point, not a comma: %s.", strings.Replace(strings.TrimSpace(text), ",", ".", 1))
	case err != nil || math.IsNaN(x) || math.IsInf(x, 0):
		return 0, fmt.Errorf("Write a share such as 0.05, or 5%%.")
	case percent:
		// Through the decimal text, so that 95% is the same number as 0.95.
		x, _ = strconv.ParseFloat(number+"e-2", 64)
		if strings.ContainsAny(number, "eE") {
			return 0, fmt.Errorf("Write a share such as 0.05, or 5%%.")
		}
	case x > 1 && x <= 100:
		return 0, fmt.Errorf("Write %s%% or %s.", number, strconv.FormatFloat(x/100, 'g', 6, 64))
	}
	if x < 0 || x > 1 {
		return 0, fmt.Errorf("Write a share from 0 to 1, or from 0%% to 100%%.")
	}
	return x, nil
}

// joinNegatives turns "--flag -1" into "--flag=-1", which is what people mean:
// no flag here begins with a digit.
func joinNegatives(args []string) []string {
	var out []string
	for _, a := range args {
		last := len(out) - 1
		if negative(a) && last >= 0 && strings.HasPrefix(out[last], "--") && len(out[last]) > 2 && !strings.Contains(out[last], "=") {
			out[last] += "=" + a
			continue
		}
		out = append(out, a)
	}
	return out
}

func negative(a string) bool {
	if len(a) < 2 || a[0] != '-' {
		return false
	}
	return a[1] >= '0' && a[1] <= '9' || a[1] == '.'
}
