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
	Population     int   `required:"" placeholder:"N" help:"Animals alive in the lot; 0 for a lot much larger than any look."`
	Prevalence     share `required:"" placeholder:"SHARE" help:"The share infested that shall not be missed, above 0 to 1 (or 5%)."`
	Confidence     share `placeholder:"SHARE" help:"The chance wanted of finding it, above 0 and below 1. Default 0.95." default:"0.95"`
	Sensitivity    share `placeholder:"SHARE" help:"The chance that a carrier looked at is seen as one. Default 1." default:"1"`
	Specificity    share `placeholder:"SHARE" help:"The chance that an animal without it is not taken for a carrier; 1, the default, when each sign is confirmed." default:"1"`
	Allow          int   `placeholder:"K" help:"Animals with signs tolerated before the lot counts as infested. Default 0." default:"0"`
	LotSpecificity share `placeholder:"SHARE" help:"Also choose how many to allow, so that a clear lot passes with this chance." default:"0"`
	Pool           int   `placeholder:"N" help:"Animals seen together in one photograph or sieve; sensitivity and specificity are then those of one such pool. Default 1." default:"1"`
	JSON           bool  `help:"Print JSON."`
}

// sampleAnswer is the JSON of the command, version 1. Allow and LotSpecificity
// are there when the number tolerated was chosen, Pools and PoolSize when
// several animals are seen together.
type sampleAnswer struct {
	LookAt         int      `json:"look_at"`
	Confidence     float64  `json:"confidence"`
	Method         string   `json:"method"`
	Allow          *int     `json:"allow,omitempty"`
	LotSpecificity *float64 `json:"lot_specificity,omitempty"`
	Pools          int      `json:"pools,omitempty"`
	PoolSize       int      `json:"pool_size,omitempty"`
}

// noSample is the JSON when no look is enough.
type noSample struct {
	LookAt *int   `json:"look_at"`
	Reason string `json:"reason"`
}

// Run prints how many to look at.
func (c Sample) Run(env *Env) error {
	d := freedom.Design{
		Population: c.Population, Prevalence: float64(c.Prevalence), Confidence: float64(c.Confidence),
		How:   freedom.Seeing{Sensitivity: float64(c.Sensitivity), Specificity: float64(c.Specificity)},
		Allow: c.Allow, LotSpecificity: float64(c.LotSpecificity),
	}
	if c.Pool != 1 {
		return c.noAnswer(env, c.pools(env, d))
	}
	plan, err := freedom.SampleSize(d)
	if err != nil {
		return c.noAnswer(env, err)
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

// noAnswer prints, when JSON is asked for, that no look is enough and why.
func (c Sample) noAnswer(env *Env, err error) error {
	var none *ref.NoAnswer
	if !errors.As(err, &none) || !c.JSON {
		return err
	}
	if err := env.PrintJSON(noSample{Reason: none.Reason}); err != nil {
		return err
	}
	return Quiet(StatusNoAnswer)
}

// pools answers for looks that take several animals together.
func (c Sample) pools(env *Env, d freedom.Design) error {
	if c.Pool < 1 {
		return ref.Inputf("pool", "Count again.", "%d is fewer than 1", c.Pool)
	}
	if c.Allow != 0 || c.LotSpecificity != 0 {
		return ref.Inputf("pool", "Leave out --allow and --lot-specificity.", "pools are reckoned for one with signs or more")
	}
	n, err := freedom.PoolsNeeded(d.Population, d.Prevalence, d.Confidence, c.Pool, d.How)
	if err != nil {
		return err
	}
	pools := freedom.Pools{Number: n, Size: c.Pool, How: d.How}
	infested, found, quiet := 0, 0.0, 0.0
	if d.Population == 0 {
		found, quiet, err = pools.DetectUnlimited(d.Prevalence)
	} else {
		infested = freedom.DesignInfested(d.Population, d.Prevalence)
		found, quiet, err = pools.Detect(d.Population, infested)
	}
	if err != nil {
		return err
	}
	const method = "exact, pools filled without replacement"
	if c.JSON {
		return env.PrintJSON(sampleAnswer{LookAt: n * c.Pool, Confidence: found, Method: method, Pools: n, PoolSize: c.Pool})
	}
	k, of := freedom.Frequency(found)
	fmt.Fprintf(env.Out, "Look at %d pools of %d animals: an infested lot would show at least one pool with signs %d times in %d.\n", n, c.Pool, k, of)
	fmt.Fprintln(env.Out, "A pool with signs does not say which animal carries it, or how many: look at those one by one.")
	fmt.Fprintln(env.Out)
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintf(w, "look at\t%d\tin %d pools of %d, %s\n", n*c.Pool, n, c.Pool, method)
	fmt.Fprintf(w, "confidence reached\t%.4f\t\n", found)
	if d.Population > 0 {
		fmt.Fprintf(w, "infested at that share\t%d of %d\t\n", infested, d.Population)
	}
	if c.Specificity < 1 {
		fmt.Fprintf(w, "a clear lot shows none\t%.4f\t\n", quiet)
	}
	return w.Flush()
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
		fmt.Fprintf(w, "binomial\t%s\tapproximation for a very large lot, for comparison only\n", number(approximate.Binomial))
		if d.Population > 0 {
			fmt.Fprintf(w, "Cannon and Roe 1982\t%s\tapproximation; too small when sensitivity is below 1\n", number(approximate.CannonRoe))
			fmt.Fprintf(w, "MacDiarmid 1988\t%s\tapproximation\n", number(approximate.MacDiarmid))
		}
	}
	return w.Flush()
}
