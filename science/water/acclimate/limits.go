package acclimate

import (
	"strings"

	"holdfast/science/ref"
)

// Limits is how fast a group of animals may be brought from one water to
// another.
type Limits struct {
	Group string
	// ShareAnHour is the part of the difference in conductivity crossed in an
	// hour, at most.
	ShareAnHour ref.Param
	// FreeAnHour is a change of conductivity that nobody need hold back, µS/cm
	// an hour: a small difference may be crossed faster than ShareAnHour.
	FreeAnHour ref.Param
}

func share(value, low, high float64) ref.Param {
	return ref.Param{Value: value, Low: low, High: high, Unit: "share/h", Basis: ref.Practice,
		Note: "Drip by 10 to 20 % of the difference an hour, 1 to 4 hours."}
}

func free(value, low, high float64) ref.Param {
	return ref.Param{Value: value, Low: low, High: high, Unit: "µS/cm/h", Basis: ref.Guess,
		Note: "No trial on dwarf shrimp was found."}
}

// groups are the groups of the reference book, by its ids. Only the first two
// have a custom of their own; the others take the nearer of the two.
var groups = []Limits{
	{"neocaridina", share(0.20, 0.10, 0.30), free(50, 25, 100)},
	{"caridina", share(0.10, 0.05, 0.20), free(25, 10, 50)},
	{"sulawesi", share(0.10, 0.05, 0.20), free(25, 10, 50)},
	{"amano", share(0.20, 0.10, 0.30), free(50, 25, 100)},
	{"filter_shrimp", share(0.20, 0.10, 0.30), free(50, 25, 100)},
	{"prawn", share(0.20, 0.10, 0.30), free(50, 25, 100)},
	{"crayfish", share(0.20, 0.10, 0.30), free(50, 25, 100)},
	{"crab", share(0.20, 0.10, 0.30), free(50, 25, 100)},
	{"snail", share(0.20, 0.10, 0.30), free(50, 25, 100)},
	{"fish", share(0.20, 0.10, 0.30), free(50, 25, 100)},
}

// LimitsOf returns the limits of a group. The error names the groups.
func LimitsOf(group string) (Limits, error) {
	var ids []string
	for _, g := range groups {
		if g.Group == group {
			return g, nil
		}
		ids = append(ids, g.Group)
	}
	return Limits{}, ref.Inputf("group", "Choose "+strings.Join(ids, ", ")+".", "no such group: %q", group)
}

// How fast the other properties may change in the water around the animals. No
// trial on dwarf shrimp was found for any of them.
var (
	// HardnessAnHour is also the difference that nobody drips for; a wider one is
	// crossed at the group's own share an hour at most.
	HardnessAnHour = ref.Param{Value: 3, Low: 2, High: 5, Unit: "dH/h", Basis: ref.Practice, Note: "Total or carbonate hardness."}
	// PHAnHour is of what is left of the difference when air has driven the
	// carbon dioxide out of the bag: that part goes within minutes, drip or no drip.
	PHAnHour = ref.Param{Value: 0.5, Low: 0.2, High: 1, Unit: "1/h", Basis: ref.Practice, Note: "Keepers name a fifth of a unit to a whole one an hour."}
	// TempAnHour bounds the float of the closed bag: a degree in ten minutes.
	TempAnHour = ref.Param{Value: 6, Low: 2, High: 12, Unit: "C/h", Basis: ref.Practice, Note: "A bag floats 15 to 30 minutes for the usual few degrees."}
)

// Figures behind a plan that nobody measures.
var (
	// FloatTau is how fast a floating bag takes the tank's temperature on.
	FloatTau = ref.Param{Value: 20, Low: 15, High: 30, Unit: "min", Basis: ref.Guess,
		Note: "Time in which a floating half-litre bag loses two thirds of its difference."}
	// Equal is the difference in temperature that no longer matters.
	Equal = ref.Param{Value: 0.5, Low: 0.3, High: 1, Unit: "C", Basis: ref.Guess, Note: "Difference below which the bag counts as equal."}
	// AirRate is how fast an air stone brings oxygen into a small vessel.
	AirRate = ref.Param{Value: 4, Low: 2, High: 10, Unit: "1/h", Basis: ref.Guess,
		Note: "Transfer rate of one air stone in a few litres; the low figure is used."}
	// DropML is a drop from a drip line.
	DropML = ref.Param{Value: 0.05, Low: 0.033, High: 0.1, Unit: "ml", Basis: ref.Practice,
		Note: "Twenty drops to a millilitre; lines differ by half. Fill a cup against the clock instead."}
)
