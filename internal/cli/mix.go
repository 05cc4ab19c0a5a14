package cli

import (
	"fmt"
	"io"
	"text/tabwriter"

	"holdfast/science/ref"
	"holdfast/science/water/dose"
	"holdfast/science/water/unit"
)

// Mix is the subcommand that weighs out a medicine or salt.
type Mix struct {
	Volume      string `required:"" placeholder:"AMOUNT" help:"Water really in the tank, such as \"120 l\", \"30 gal_us\" or \"25 gal_imp\"."`
	VolumeError string `placeholder:"SHARE" help:"How far the volume may be off either way, such as \"3 %\"."`
	Target      string `required:"" placeholder:"DOSE" help:"Active ingredient wanted, such as \"2.5 mg/l\" (ppm is the same), or a label's rate, such as \"1 tablet per 40 l\"."`
	Strength    string `placeholder:"STRENGTH" help:"Strength of the product, such as \"50 %\" (weight in weight), \"5 % w/v\" or \"50 mg per tablet\"; \"100 %\" if left out."`
	Change      string `placeholder:"SHARE" help:"Regular water change, such as \"30 % every 3 d\"; each is followed by a new dose up to the target."`
	HalfLife    string `placeholder:"TIME" help:"Time in which half of it breaks down, such as \"4 d\"."`
	Absorb      string `placeholder:"TIME" help:"Time in which substrate and plants take half of it up, such as \"10 d\"."`
	Redose      string `placeholder:"TIME" help:"Dose up to the target this often, such as \"2 d\", instead of at each change."`
	For         string `default:"14 d" help:"How long to follow it."`
	Scale       string `placeholder:"STEP" help:"Smallest step of the scale or syringe; \"0.01 g\" or \"0.1 ml\" if left out."`
	Ingredient  string `placeholder:"ID" help:"Which ingredient it is, such as praziquantel: then its range is checked and its cautions are shown."`
	Stock       string `placeholder:"AMOUNT" help:"Water to dissolve it in first, such as \"1 l\"; refused when it does not dissolve."`
	Reason      string `placeholder:"SENTENCE" help:"Why to go on against a refusal."`
	JSON        bool   `help:"Print JSON."`
}

// mixAnswer is the JSON document of the command.
type mixAnswer struct {
	// AmountG and WeighG are null when the product is not weighed in grams.
	AmountG *float64 `json:"amount_g"`
	WeighG  *float64 `json:"weigh_g"`
	// RedoseG brings the water back to the target exactly, RedoseWeighG as the
	// scale can; in the product's unit.
	RedoseG       []float64    `json:"redose_g"`
	RedoseWeighG  []float64    `json:"redose_weigh_g"`
	Concentration []dose.Point `json:"concentration"`
	Strength      string       `json:"strength"`
	Mix           dose.Mix     `json:"mix"`
	// Shares is the course of a label's rate, of which no mg/l is known, and Redose
	// what each re-dose of it takes, in the unit of the mix.
	Shares   []sharePoint   `json:"shares,omitempty"`
	Redose   []float64      `json:"redose,omitempty"`
	Findings []dose.Finding `json:"findings,omitempty"`
	Reason   string         `json:"reason,omitempty"`
}

// sharePoint is how much of a whole dose is in the water on a day: exactly, and as it
// was measured out.
type sharePoint struct {
	Day      float64        `json:"day"`
	Share    float64        `json:"share"`
	Measured float64        `json:"measured"`
	After    dose.Happening `json:"after,omitempty"`
}

// Run prints the dose and its course.
func (c Mix) Run(env *Env) error {
	course, label, err := c.read()
	if err != nil {
		return err
	}
	answer := mixAnswer{RedoseG: []float64{}, RedoseWeighG: []float64{}, Concentration: []dose.Point{}, Strength: course.Strength.Text}
	if answer.Findings, err = c.rules(course.MgL); err != nil {
		return err
	}
	if label != nil {
		answer.Strength = "as the label says"
		answer.Reason = "the label's rate does not say how much active ingredient there is, so the water is told in shares of its dose"
		err = answer.followLabel(*label, course)
	} else {
		err = answer.follow(course)
	}
	if err != nil {
		return err
	}
	if answer.Mix.Unit == dose.Gram {
		answer.AmountG, answer.WeighG = &answer.Mix.Amount, &answer.Mix.InHand
	} else if answer.Reason == "" {
		answer.Reason = fmt.Sprintf("this product is measured in %s: see mix", answer.Mix.Unit)
	}
	if err := c.stock(answer.Mix.ActiveMg); err != nil {
		return err
	}
	if c.JSON {
		return env.PrintJSON(answer)
	}
	return answer.print(env.Out, course)
}

func (a *mixAnswer) follow(course dose.Course) error {
	run, err := course.Follow()
	if err != nil {
		return asFlag(err)
	}
	a.Mix, a.Concentration = run.Mix, run.Curve
	for _, r := range run.Redoses {
		a.RedoseG = append(a.RedoseG, r.Amount)
		a.RedoseWeighG = append(a.RedoseWeighG, r.InHand)
	}
	return nil
}

func (a *mixAnswer) followLabel(label dose.LabelDose, course dose.Course) error {
	run, err := label.Follow(course)
	if err != nil {
		return asFlag(err)
	}
	a.Mix = run.Mix
	for _, p := range run.Curve {
		a.Shares = append(a.Shares, sharePoint{p.Day, p.MgL, p.WeighedMgL, p.After})
	}
	for _, r := range run.Redoses {
		a.Redose = append(a.Redose, r.InHand)
	}
	return nil
}

// asFlag names a field of the science as the flag that the person wrote.
func asFlag(err error) error {
	in, ok := err.(*ref.InputError)
	if !ok {
		return err
	}
	named := *in
	if flag, ok := map[string]string{"days": "for", "half_life": "half-life"}[in.Field]; ok {
		named.Field = flag
	}
	return &named
}

// read turns the flags into a course, or into a label's rate when the target
// is one and the strength does not say what a tablet or dose holds.
func (c Mix) read() (dose.Course, *dose.LabelDose, error) {
	course, label, wrong := dose.Typed{Volume: c.Volume, VolumeError: c.VolumeError, Target: c.Target, Strength: c.Strength, Scale: c.Scale,
		Ingredient: c.Ingredient, For: c.For, Change: c.Change, Redose: c.Redose, HalfLife: c.HalfLife, Absorb: c.Absorb}.Read()
	if len(wrong) > 0 {
		return course, nil, wrong[0]
	}
	return course, label, nil
}

// rules checks the strength against the ingredient's range; what concerns the
// tank is shown and not judged, since a command cannot see it.
func (c Mix) rules(mgL float64) ([]dose.Finding, error) {
	if c.Ingredient == "" || mgL == 0 {
		return nil, nil
	}
	i, err := dose.Find(c.Ingredient)
	if err != nil {
		return nil, err
	}
	form := "bath"
	if len(i.Uses) == 1 {
		form = i.Uses[0].Form
	}
	found, err := dose.Check(dose.Proposal{Ingredient: c.Ingredient, Form: form, MgL: mgL})
	if err != nil {
		return nil, err
	}
	for _, f := range found {
		if f.Level != dose.Refuse {
			continue
		}
		if _, err := dose.Reason("reason", c.Reason); err != nil {
			return nil, ref.Inputf("target", "Change it, or say with --reason in a sentence why you go on.", "%s", f.Say)
		}
	}
	return found, nil
}

// stock refuses a first solution that is stronger than the ingredient dissolves.
func (c Mix) stock(activeMg float64) error {
	if c.Stock == "" {
		return nil
	}
	q, err := unit.ParsePositive("stock", c.Stock, unit.Volume)
	if err != nil {
		return err
	}
	if c.Ingredient == "" {
		return ref.Inputf("ingredient", "Name it with --ingredient.", "whether it dissolves depends on what it is")
	}
	i, err := dose.Find(c.Ingredient)
	if err != nil {
		return err
	}
	if i.Solubility == nil || i.Suspension {
		return &ref.NoAnswer{Reason: fmt.Sprintf("nothing is known of how %s dissolves, or it does not", i.Name)}
	}
	_, err = dose.CheckStock(activeMg, q.Base(), i.Solubility.LowMgL, i.Solubility.HighMgL)
	return err
}

// print writes the answer for a person.
func (a mixAnswer) print(out io.Writer, course dose.Course) error {
	m := a.Mix
	fmt.Fprintf(out, "Strength of the product: %s.", a.Strength)
	if m.Unit == dose.Gram {
		other := m.AtOtherStrength(1, 0.05)
		fmt.Fprintf(out, " At 100 %% it would be %.3g g, at 5 %% %.3g g: read the tub again.", other[0], other[1])
	}
	if m.Direct {
		fmt.Fprintf(out, "\nTake %s (exactly %.6g) for %.6g l of water", taken(m.InHand, m.Unit), m.Amount, course.Volume.Litres)
	} else {
		fmt.Fprintf(out, "\nThe dose for %.6g l of water is %.4g %s", course.Volume.Litres, m.Amount, m.Unit)
	}
	if m.MgL > 0 {
		fmt.Fprintf(out, "; it makes %s", dose.MgLText(m.MgL))
		if m.High > m.Low {
			fmt.Fprintf(out, ", between %s and %s", dose.MgLText(m.Low), dose.MgLText(m.High))
		}
	}
	fmt.Fprintln(out, ".")
	if !m.Direct {
		a.printSmall(out)
	}
	for _, f := range a.Findings {
		fmt.Fprintf(out, "%s: %s\n", f.Level, f.Say)
	}
	if len(a.Shares) > 0 {
		return a.printShares(out)
	}
	return a.printCurve(out)
}

func (a mixAnswer) printSmall(out io.Writer) {
	switch {
	case a.Mix.Stock != nil:
		s := a.Mix.Stock
		fmt.Fprintf(out, "That is too little for this scale: weigh %.6g g into water up to %.6g ml, and take %.6g ml of it.\n", s.WeighG, s.InML, s.TakeML)
	case a.Mix.NoStock != "":
		fmt.Fprintf(out, "That is too little for this scale, and no stock helps: %s.\n", a.Mix.NoStock)
	default:
		fmt.Fprintln(out, "That is too little to measure well: thin the product first.")
	}
}

func (a mixAnswer) printCurve(out io.Writer) error {
	fmt.Fprintln(out)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "day\texact\tas weighed\t")
	said := a.happenings(a.RedoseWeighG)
	for _, p := range a.Concentration {
		fmt.Fprintf(w, "%.3g\t%s\t%s\t%s\n", p.Day, dose.MgLText(p.MgL), dose.MgLText(p.WeighedMgL), said(p.After))
	}
	return w.Flush()
}

func (a mixAnswer) printShares(out io.Writer) error {
	fmt.Fprintf(out, "In mg/l nothing is known: %s.\n\n", a.Reason)
	w := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "day\tof a dose\tas measured\t")
	said := a.happenings(a.Redose)
	for _, p := range a.Shares {
		fmt.Fprintf(w, "%.3g\t%.3g %%\t%.3g %%\t%s\n", p.Day, 100*p.Share, 100*p.Measured, said(p.After))
	}
	return w.Flush()
}

// happenings words what happened at each point of a course in turn, a further dose
// with the next of the amounts.
func (a mixAnswer) happenings(redoses []float64) func(dose.Happening) string {
	return func(h dose.Happening) string {
		if h != dose.Redosed {
			return string(h)
		}
		x := redoses[0]
		redoses = redoses[1:]
		return "re-dosed with " + taken(x, a.Mix.Unit)
	}
}

// taken is an amount in the hand with its unit.
func taken(x float64, u dose.Unit) string {
	if (u == dose.Tablet || u == dose.Dose) && x != 1 {
		return fmt.Sprintf("%.6g %ss", x, u)
	}
	return fmt.Sprintf("%.6g %s", x, u)
}
