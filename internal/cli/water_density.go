package cli

import (
	"fmt"
	"text/tabwriter"

	"holdfast/science/water"
)

// WaterDensity is the subcommand that gives the density of salt water.
type WaterDensity struct {
	Temp     float64 `required:"" placeholder:"C" help:"Temperature in degrees Celsius, -2 to 40."`
	Salinity float64 `required:"" placeholder:"G_KG" help:"Salinity (sea salt) in g/kg, 0 to 42."`
	JSON     bool    `help:"Print JSON."`
}

// Run prints the density.
func (c WaterDensity) Run(env *Env) error {
	rho, err := water.SeaWaterDensity(c.Temp, c.Salinity)
	if err != nil {
		return err
	}
	if c.JSON {
		return env.PrintJSON(map[string]any{"kg_m3": rho})
	}
	fmt.Fprintf(env.Out, "Sea salt of %g g/kg at %g C weighs %.3f kg a cubic metre.\n", c.Salinity, c.Temp, rho)
	fmt.Fprint(env.Out, "Common salt differs, and a hydrometer made for sea water misreads it: weigh salt for a dip.\n\n")
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "g/kg\tkg/m3")
	for _, s := range []float64{0, 10, 20, 30, 35} {
		at, err := water.SeaWaterDensity(c.Temp, s)
		if err != nil {
			return err
		}
		fmt.Fprintf(w, "%g\t%.3f\n", s, at)
	}
	return w.Flush()
}
