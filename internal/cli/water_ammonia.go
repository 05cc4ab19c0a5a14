package cli

import (
	"fmt"
	"text/tabwriter"

	"holdfast/science/water"
)

// WaterAmmonia is the subcommand that splits total ammonia.
type WaterAmmonia struct {
	PH       float64 `required:"" placeholder:"PH" help:"pH of the water, 0 to 14."`
	Temp     float64 `required:"" placeholder:"C" help:"Temperature in degrees Celsius, 0 to 50."`
	TAN      float64 `required:"" placeholder:"MG_L" name:"tan" help:"Total ammonia in mg/l as nitrogen: ask the kit's leaflet what it reports (as NH4 divide by 1.2878, as NH3 by 1.2159)."`
	Salinity float64 `placeholder:"G_KG" help:"Salinity in g/kg; an approximation above 3."`
	JSON     bool    `help:"Print JSON."`
}

// Run prints the un-ionized part.
func (c WaterAmmonia) Run(env *Env) error {
	a, err := water.AmmoniaAt(c.PH, c.Temp, c.TAN, c.Salinity)
	if err != nil {
		return err
	}
	if c.JSON {
		return env.PrintJSON(a)
	}
	fmt.Fprintf(env.Out, "At pH %g and %g C, %.3g mg/l of nitrogen are un-ionized ammonia, %.3g %% of the total.\n", c.PH, c.Temp, a.UnionizedMgLN, 100*a.Fraction)
	fmt.Fprintf(env.Out, "Common practice keeps it below %g mg/l and acts at %g; it rises when an opened bag loses its carbon dioxide.\n", water.AmmoniaKeepBelow.Value, water.AmmoniaAlarm.Value)
	if c.Salinity > 3 {
		fmt.Fprintln(env.Out, "Above 3 g/kg the salt term is an approximation: the figure may be a fifth off.")
	}
	fmt.Fprintln(env.Out)
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "pH\tun-ionized, mg/l as N")
	for _, ph := range []float64{c.PH, 7, 7.5, 8, 8.5} {
		at, err := water.AmmoniaAt(ph, c.Temp, c.TAN, c.Salinity)
		if err != nil {
			return err
		}
		fmt.Fprintf(w, "%g\t%.4f\n", ph, at.UnionizedMgLN)
	}
	return w.Flush()
}
