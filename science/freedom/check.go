package freedom

import (
	"math"

	"holdfast/science/ref"
)

// MaxAnimals is the largest lot and the longest search: beyond it a lot is for
// every practical purpose unlimited.
const MaxAnimals = 1_000_000

// checkShare refuses what is not a number in [0, 1].
func checkShare(field string, x float64) error {
	if math.IsNaN(x) || x < 0 || x > 1 {
		return ref.Inputf(field, "Give a share from 0 to 1, for instance 0.95.", "%v is not between 0 and 1", x)
	}
	return nil
}

// checkOpenShare refuses what is not strictly between 0 and 1.
func checkOpenShare(field string, x float64) error {
	if math.IsNaN(x) || x <= 0 || x >= 1 {
		return ref.Inputf(field, "Give a share above 0 and below 1, for instance 0.95.", "%v is not above 0 and below 1", x)
	}
	return nil
}

// checkCount refuses what is not a count from low to high.
func checkCount(field string, n, low, high int) error {
	switch {
	case n < low:
		return ref.Inputf(field, "Count again.", "%d is fewer than %d", n, low)
	case n > high:
		return ref.Inputf(field, "Count again.", "%d is more than %d", n, high)
	}
	return nil
}

// checkPositive refuses what is not a finite number above zero and below a
// million, the range in which the beta functions here are exact.
func checkPositive(field string, x float64) error {
	if math.IsNaN(x) || x < 1e-6 || x > 1e6 {
		return ref.Inputf(field, "Give a number from 0.000001 to 1000000, for instance 1.", "%v is out of range", x)
	}
	return nil
}
