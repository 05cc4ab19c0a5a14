package freedom

import (
	"math"

	"holdfast/science/ref"
)

// LotOf returns the lot of alive animals of which d carry the condition with
// chance masses[d]: what another model says of it. masses may be shorter than
// alive+1; they are scaled to sum to 1.
func LotOf(alive int, masses []float64) (Lot, error) {
	if err := checkCount("population", alive, 0, MaxAnimals); err != nil {
		return Lot{}, err
	}
	if len(masses) > alive+1 {
		return Lot{}, ref.Inputf("masses", "Give one chance for each number from none to all.", "%d chances for %d animals", len(masses), alive)
	}
	mass, sum := make([]float64, alive+1), 0.0
	for d, p := range masses {
		if !(p >= 0) || math.IsInf(p, 0) {
			return Lot{}, ref.Inputf("masses", "Give chances from 0 to 1.", "%g is not a chance", p)
		}
		mass[d] = p
		sum += p
	}
	if sum <= 0 {
		return Lot{}, ref.Inputf("masses", "Give at least one chance above 0.", "the chances sum to nothing")
	}
	for d := range mass {
		mass[d] /= sum
	}
	return Lot{mass: mass}, nil
}
