package water

import (
	"fmt"
	"math"

	"holdfast/science/ref"
)

// within refuses a value outside [lo, hi] and says what is right. The
// comparison is written so that NaN is refused too.
func within(field, what string, v, lo, hi float64, unit string) error {
	if v >= lo && v <= hi {
		return nil
	}
	if unit != "" {
		unit = " " + unit
	}
	return ref.Inputf(field, fmt.Sprintf("Give a %s from %g to %g%s.", what, lo, hi, unit),
		"a %s of %g%s is outside %g to %g", what, v, unit, lo, hi)
}

// CheckPH refuses what no pH meter can show, and guesses a lost decimal point.
func CheckPH(field string, ph float64) error {
	if ph >= 0 && ph <= 14 {
		return nil
	}
	hint := "pH lies between 0 and 14; shrimp water between 5 and 9."
	if ph >= 40 && ph <= 99 {
		hint = fmt.Sprintf("Did you mean %.1f? %s", ph/10, hint)
	}
	return ref.Inputf(field, hint, "pH %g cannot be", ph)
}

func firstError(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

const zeroCelsius = 273.15

func kelvin(tempC float64) float64 { return tempC + zeroCelsius }

func pow10(x float64) float64 { return math.Pow(10, x) }
