package cli

import (
	"errors"
	"fmt"
	"strconv"
	"text/tabwriter"

	"holdfast/science/freedom"
	"holdfast/science/ref"
)

// Sample is the subcommand of that name.
type Sample struct {
	Population     int     `required:"" help:"Animals alive in the lot; 0 for a lot much larger than any look."`
	Prevalence     float64 `required:"" help:"The share infested that shall not be missed, above 0 to 1."`
	Confidence     float64 `help:"The chance wanted of finding it, above 0 and below 1." default:"0.95"`
	Sensitivity    float64 `help:"The chance that a carrier looked at is seen as one." default:"1"`
	Specificity    float64 `help:"The chance that an animal without it is not taken for a carrier; 1 when each sign is confirmed." default:"1"`
	Allow          int     `help:"Animals with signs tolerated before the lot counts as infested." default:"0"`
	LotSpecificity float64 `help:"Also choose how many to allow, so that a clear lot passes with this chance." default:"0"`
	JSON           bool    `help:"Print JSON."`
}

// sampleAnswer is the JSON of the command, version 1. Allow and LotSpecificity
// are there when the number tolerated was chosen.
type sampleAnswer struct {
	LookAt         int      `json:"look_at"`
	Confidence     float64  `json:"confidence"`
	Method         string   `json:"method"`
	Allow          *int     `json:"allow,omitempty"`
	LotSpecificity *float64 `json:"lot_specificity,omitempty"`
}

// noSample is the JSON when no look is enough.
type noSample struct {
	LookAt *int   `json:"look_at"`
	Reason string `json:"reason"`
}

// Run prints how many to look at.
func (c Sample) Run(env *Env) error {
	d := freedom.Design{
		Population: c.Population, Prevalence: c.Prevalence, Confidence: c.Confidence,
		How:   freedom.Seeing{Sensitivity: c.Sensitivity, Specificity: c.Specificity},
		Allow: c.Allow, LotSpecificity: c.LotSpecificity,
	}
	plan, err := freedom.SampleSize(d)
	var none *ref.NoAnswer
	if errors.As(err, &none) && c.JSON {
		if err := env.PrintJSON(noSample{Reason: none.Reason}); err != nil {
			return err
		}
		return Quiet(StatusNoAnswer)
	}
	if err != nil {
		return err
	}
	if !c.JSON {
		return c.print(env, d, plan)
	}
	a := sampleAnswer{LookAt: plan.Look, Confidence: plan.Confidence, Method: plan.Method}
	if c.LotSpecificity != 0 {
		a.Allow, a.LotSpecificity = &plan.Allow, &plan.LotSpecificity
	}
	return env.PrintJSON(a)
}

func (c Sample) print(env *Env, d freedom.Design, plan freedom.Plan) error {
	fmt.Fprintln(env.Out, plan.Words(d))
	if c.LotSpecificity != 0 {
		fmt.Fprintf(env.Out, "Up to %d with signs count as mistakes; a larger look may need a larger allowance, so look at exactly this many.\n", plan.Allow)
	} else {
		fmt.Fprintln(env.Out, "That is how surely an infested lot shows, not the chance that this lot is clear: ask holdfast estimate once you have looked.")
	}
	fmt.Fprintln(env.Out)
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "look at\t%d\t%s\n", plan.Look, plan.Method)
	fmt.Fprintf(w, "confidence reached\t%.4f\t\n", plan.Confidence)
	if d.Population > 0 {
		fmt.Fprintf(w, "infested at that share\t%d of %d\t\n", plan.Infested, d.Population)
	}
	if c.Specificity < 1 {
		fmt.Fprintf(w, "a clear lot passes\t%.4f\t\n", plan.LotSpecificity)
	}
	if plan.Allow == 0 && c.Specificity == 1 {
		approximate, err := freedom.Approximate(d)
		if err != nil {
			return err
		}
		number := func(n int) string {
			if n == 0 {
				return "more than there are"
			}
			return strconv.Itoa(n)
		}
		fmt.Fprintf(w, "binomial\t%s\tapproximation, for comparison only\n", number(approximate.Binomial))
		if d.Population > 0 {
			fmt.Fprintf(w, "Cannon and Roe 1982\t%s\tapproximation; too small when sensitivity is below 1\n", number(approximate.CannonRoe))
			fmt.Fprintf(w, "MacDiarmid 1988\t%s\tapproximation\n", number(approximate.MacDiarmid))
		}
	}
	return w.Flush()
}
