package dose

import "holdfast/science/ref"

// Saying is one statement and where it comes from: a key of ref.Sources,
// "common practice" or "judgement".
type Saying struct {
	Say  string `json:"say"`
	From string `json:"from"`
}

// Disinfection returns what makes nets and tools harmless, the best first.
// Salt is not among them.
func Disinfection() []Saying {
	return []Saying{
		{"Dry for a day and more, to the core of every mesh: eggs of a flatworm of sea fish never hatched after 24 hours of drying.", "hirazawa2003"},
		{"Heat: an hour at 40 C or more in the tub, or what the tool bears above 50 C for 15 minutes.", "hirazawa2003"},
		{"Chlorine above 60 mg/l for an hour, then thiosulfate, rinsing and drying.", "hirazawa2003"},
		{"Never salt alone: adults die in brine, eggs live.", "sugiani2015"},
	}
}

// WhenAirFails returns what to do when the air stops during a bath.
func WhenAirFails() []Saying {
	return []Saying{
		{"Lift water with a cup and let it fall, every few minutes, until an air pump on batteries runs.", "common practice"},
		{"No food, lamp on if there are plants and the medicine bears light.", "common practice"},
		{"Not back within the hours shown, or animals at the surface: out into clean, matched water; the bath counts in part.", "common practice"},
	}
}

// WhenHeaterFails returns what to do when the heater stops, or does not stop.
func WhenHeaterFails() []Saying {
	return []Saying{
		{"Cold: wrap the tank, warm the room; do not pour warm water in. What was colder than the medicine needs counts in part.", "common practice"},
		{"Hot: heater out of the wall, lid off, air on; warm water holds less oxygen and medicines bite harder.", "common practice"},
		{"Bring it back by no more than a degree or two an hour.", "common practice"},
	}
}

// AtTheEnd returns how a bath is ended.
func AtTheEnd() []Saying {
	return []Saying{
		{"Carbon goes back when the time is full and not before; fresh carbon, out again before the next dose.", "common practice"},
		{"Then change water until the residue is reached, in steps that the animals bear.", "common practice"},
		{"Medicated water is never poured outdoors or into a storm drain: through carbon, and as the law of the place says.", "common practice"},
	}
}

// ThiosulfatePerChlorine is grams of sodium thiosulfate pentahydrate to a gram
// of chlorine: 2 Na2S2O3·5H2O + Cl2, 2 · 248.18 / 70.906.
const ThiosulfatePerChlorine = 7.0

// Thiosulfate returns the grams of sodium thiosulfate pentahydrate that take
// the chlorine out of litres of water with mgL mg/l of it. Use half as much
// again to be sure. The error is a *ref.InputError for volume or chlorine.
func Thiosulfate(litres, mgL float64) (float64, error) {
	if !(litres > 0 && litres <= 1e5) {
		return 0, ref.Inputf("volume", "Give the litres of the tub.", "%g l cannot be", litres)
	}
	if !(mgL > 0 && mgL <= 1e5) {
		return 0, ref.Inputf("chlorine", "Give the chlorine in mg/l, such as 100.", "%g mg/l of chlorine cannot be", mgL)
	}
	return litres * mgL / 1000 * ThiosulfatePerChlorine, nil
}
