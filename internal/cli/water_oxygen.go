package cli

import (
	"fmt"
	"text/tabwriter"

	"holdfast/science/water"
)

// WaterOxygen is the subcommand that gives the oxygen water can hold.
type WaterOxygen struct {
	Temp     float64 `required:"" placeholder:"C" help:"Temperature in degrees Celsius, 0 to 40."`
	Pressure float64 `default:"101.325" help:"Air pressure at the place (not reduced to sea level) in kPa, 50 to 110."`
	Salinity float64 `placeholder:"G_KG" help:"Salinity in g/kg, 0 to 45."`
	JSON     bool    `help:"Print JSON."`
}

// Run prints the saturation.
func (c WaterOxygen) Run(env *Env) error {
	full, err := water.OxygenSaturation(c.Temp, c.Pressure, c.Salinity)
	if err != nil {
		return err
	}
	if c.JSON {
		return env.PrintJSON(map[string]any{"saturation_mg_l": full})
	}
	fmt.Fprintf(env.Out, "Water at %g C under %g kPa of air holds %.2f mg/l of oxygen.\n", c.Temp, c.Pressure, full)
	fmt.Fprint(env.Out, "Shrimp want more than 5 mg/l and fail below 2 (common practice).\n\n")
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "of saturation\tmg/l")
	for _, share := range []float64{1, 0.8, 0.6, 0.4, 0.2} {
		fmt.Fprintf(w, "%.0f %%\t%.2f\n", 100*share, share*full)
	}
	return w.Flush()
}
