package dose

import (
	"holdfast/science/ref"
	"holdfast/science/water"
)

// Strength and time of a salt dip.
var (
	// DipStart is where to begin, well below the folk recipe.
	DipStart = ref.Param{Value: 30, Low: 30, High: 76, Unit: "g/l", Basis: ref.Practice,
		Note: "Grams to each litre of water. At 30 g/l flatworms of crayfish took 15 to 20 minutes to die (Sugiani et al. 2015), so half a minute may not do it: look again after."}
	// DipSeconds is how long.
	DipSeconds = ref.Param{Value: 30, Low: 15, High: 60, Unit: "s", Basis: ref.Practice,
		Note: "Out at once at the first stop sign, whatever the watch says."}
)

// StopSigns are what ends a dip or bath at once, in the order they are seen.
func StopSigns() []string {
	return []string{
		"racing or flipping over",
		"lying on its side",
		"no longer moving its legs",
		"limp when touched",
	}
}

// WhenStopped says what to do at a stop sign.
const WhenStopped = "Net them out into clean water of the same temperature, conductivity and hardness, air on. Changing half the water leaves half the dose."

// DipOrder is a salt dip that somebody wants.
type DipOrder struct {
	// WaterL is the water that the salt goes into.
	WaterL float64 `json:"water_l"`
	// GPerL is grams to each litre of that water.
	GPerL float64 `json:"g_per_l"`
	TempC float64 `json:"temp_c"`
	// ScaleG is the step of the scale, 0 for 0.1 g.
	ScaleG float64 `json:"scale_g,omitempty"`
}

// Dip is a salt dip as it can be made.
type Dip struct {
	WeighG float64 `json:"weigh_g"`
	// Brine is what WeighG makes: grams a litre, per cent, density.
	Brine water.Brine `json:"brine"`
	// Folk is the tablespoon-to-a-cup recipe for comparison.
	Folk water.Brine `json:"folk"`
	// Seconds is the time to begin with, Longest the most.
	Seconds float64 `json:"seconds"`
	Longest float64 `json:"longest"`
}

// PlanDip returns the grams to weigh and what they make. The strengths met in
// practice are 30 to 76 g/l; below 15 or above 100 is refused as a slip. The
// error is a *ref.InputError for salt, volume, temp or scale.
func PlanDip(o DipOrder) (Dip, error) {
	if !(o.GPerL >= 15 && o.GPerL <= 100) {
		return Dip{}, ref.Inputf("salt", "Dips run from 30 to 76 g to a litre of water; start at 30.", "%g g/l is no dip", o.GPerL)
	}
	measure := Measure{Step: o.ScaleG}
	if o.ScaleG == 0 {
		measure.Step = 0.1
	}
	if err := measure.check("scale"); err != nil {
		return Dip{}, err
	}
	grams := o.GPerL * o.WaterL
	if !measure.Enough(grams) {
		return Dip{}, ref.Inputf("volume", "Make more of it: half a litre or a litre.", "%.2g g is too little for a scale that shows %g g", grams, measure.Step)
	}
	weigh := measure.Round(grams)
	brine, err := water.MixBrine(weigh, o.WaterL, o.TempC)
	if err != nil {
		return Dip{}, err
	}
	folk, err := FolkDip(TableSalt, "tbsp_us", "cup_us", o.TempC)
	if err != nil {
		return Dip{}, err
	}
	return Dip{WeighG: weigh, Brine: brine, Folk: folk, Seconds: DipSeconds.Value, Longest: DipSeconds.High}, nil
}

// FolkDip returns what one level spoon of a salt in one cup of water really
// makes. Spoon and cup are named units. The error is a *ref.InputError.
func FolkDip(p Powder, spoon, cup string, tempC float64) (water.Brine, error) {
	density, err := Poured(p)
	if err != nil {
		return water.Brine{}, err
	}
	spoonL, err := volumeOf("spoon", spoon)
	if err != nil {
		return water.Brine{}, err
	}
	cupL, err := volumeOf("cup", cup)
	if err != nil {
		return water.Brine{}, err
	}
	return water.MixBrine(1000*spoonL*density.Value, cupL, tempC)
}
