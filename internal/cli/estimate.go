package cli

import (
	"fmt"
	"text/tabwriter"

	"holdfast/science/freedom"
)

// Estimate is the subcommand of that name. The prior's defaults are those of
// freedom.DefaultPrior.
type Estimate struct {
	Looked        int     `placeholder:"N" required:"" help:"Animals looked at, caught at random."`
	Positive      int     `placeholder:"K" required:"" help:"Of these, animals with signs."`
	Population    int     `placeholder:"N" help:"Animals alive in the lot; without it no chance of clear is given." default:"0"`
	Sensitivity   share   `placeholder:"SHARE" help:"The chance that a carrier looked at is seen as one. Default 1." default:"1"`
	Specificity   share   `placeholder:"SHARE" help:"The chance that an animal without it is not taken for a carrier; 1 when each sign is confirmed, the default." default:"1"`
	Confidence    share   `placeholder:"SHARE" help:"Of the intervals, above 0 and below 1. Default 0.95." default:"0.95"`
	PriorInfested share   `placeholder:"SHARE" help:"Chance, before the look, that the lot comes from an infested source. 0.5 is a guess: give your supplier's." default:"0.5"`
	PriorA        float64 `placeholder:"A" help:"Shape of the share infested if so, Beta(a, b). The defaults have 0.8 to 70 % as their middle nine tenths." default:"0.749"`
	PriorB        float64 `placeholder:"B" help:"See --prior-a." default:"2.171"`
	JSON          bool    `help:"Print JSON."`
}

// estimateAnswer is the JSON of the command, version 1.
type estimateAnswer struct {
	Apparent struct {
		Estimate       float64    `json:"estimate"`
		ClopperPearson [2]float64 `json:"clopper_pearson"`
		Wilson         [2]float64 `json:"wilson"`
		AgrestiCoull   [2]float64 `json:"agresti_coull"`
		Jeffreys       [2]float64 `json:"jeffreys"`
		Blaker         [2]float64 `json:"blaker"`
	} `json:"apparent"`
	True struct {
		Estimate float64    `json:"estimate"`
		Interval [2]float64 `json:"interval"`
		Method   string     `json:"method"`
	} `json:"true"`
	Free *freeAnswer `json:"free,omitempty"`
}

type freeAnswer struct {
	Chance float64 `json:"chance"`
	Prior  float64 `json:"prior"`
}

// Run prints what a look proves.
func (c Estimate) Run(env *Env) error {
	r := freedom.Record{
		Looked: c.Looked, Positive: c.Positive, Population: c.Population, Confidence: float64(c.Confidence),
		How:   freedom.Seeing{Sensitivity: float64(c.Sensitivity), Specificity: float64(c.Specificity)},
		Prior: freedom.Prior{Infested: float64(c.PriorInfested), A: c.PriorA, B: c.PriorB},
	}
	e, err := freedom.Judge(r)
	if err != nil {
		return err
	}
	if !c.JSON {
		return printEstimate(env, r, e)
	}
	var a estimateAnswer
	a.Apparent.Estimate = e.Apparent
	a.Apparent.ClopperPearson = pair(e.ClopperPearson)
	a.Apparent.Wilson = pair(e.Wilson)
	a.Apparent.AgrestiCoull = pair(e.AgrestiCoull)
	a.Apparent.Jeffreys = pair(e.Jeffreys)
	a.Apparent.Blaker = pair(e.Blaker)
	a.True.Estimate, a.True.Interval, a.True.Method = e.True, pair(e.TrueInterval), e.TrueMethod
	if e.HasLot {
		a.Free = &freeAnswer{Chance: e.Lot.Clear(), Prior: e.Before.Clear()}
	}
	return env.PrintJSON(a)
}

func pair(i freedom.Interval) [2]float64 { return [2]float64{i.Low, i.High} }

func printEstimate(env *Env, r freedom.Record, e freedom.Estimate) error {
	fmt.Fprintln(env.Out, e.Words(r))
	if e.Clamped {
		fmt.Fprintln(env.Out, "So many, or so few, do not fit the sensitivity and specificity given: check both.")
	}
	fmt.Fprintln(env.Out)
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	line := func(name string, x float64, i freedom.Interval, method string) {
		i = i.Clip()
		fmt.Fprintf(w, "%s\t%.4f\t%.4f to %.4f\t%s\n", name, x, i.Low, i.High, method)
	}
	line("with signs", e.Apparent, e.ClopperPearson, "Clopper-Pearson")
	line("", e.Apparent, e.Wilson, "Wilson")
	line("", e.Apparent, e.AgrestiCoull, "Agresti-Coull")
	line("", e.Apparent, e.Jeffreys, "Jeffreys")
	line("", e.Apparent, e.Blaker, "Blaker")
	line("infested", e.True, e.TrueInterval, "Rogan-Gladen, from Clopper-Pearson")
	if !e.HasLot {
		return w.Flush()
	}
	fmt.Fprintf(w, "chance of clear\t%.4f\tbefore the look %.4f\tprior: infested %g, Beta(%g, %g)\n", e.Lot.Clear(), e.Before.Clear(), r.Prior.Infested, r.Prior.A, r.Prior.B)
	fmt.Fprintf(w, "infested animals\t%.1f\tup to %d (19 times in 20)\tof %d\n", e.Lot.Mean(), e.Lot.Quantile(0.95), r.Population)
	bag := min(10, r.Population)
	risk, err := e.Lot.BagRisk(bag)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "a bag of %d\t%.4f\tchance that it carries it\tdrawn at random\n", bag, risk)
	return w.Flush()
}
