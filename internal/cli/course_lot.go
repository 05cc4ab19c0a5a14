package cli

import (
	"cmp"
	"encoding/json"
	"fmt"
	"os"
	"text/tabwriter"

	"holdfast/science/clearance"
	"holdfast/science/ref"
)

// lotFile is the file of holdfast course FILE.
type lotFile struct {
	// Condition is the id of a condition that comes with the program.
	Condition string `json:"condition"`
	// Figures change what is believed of single figures or of a treatment's kill.
	Figures map[string]json.RawMessage `json:"figures"`
	Lot     clearance.Case             `json:"lot"`
	Line    clearance.ReleaseLine      `json:"line"`
	Costs   clearance.Costs            `json:"costs"`
	Prices  *clearance.Prices          `json:"prices"`
	Until   float64                    `json:"until"`
	Courses []clearance.Course         `json:"courses"`
	Search  bool                       `json:"search"`
	// Treatment, LookAnimals and LooksBefore are what a search plans with.
	Treatment   string    `json:"treatment"`
	LookAnimals int       `json:"look_animals"`
	LooksBefore []float64 `json:"looks_before"`
	Runs        int       `json:"runs"`
	Seed        uint64    `json:"seed"`
}

// maxCompared is how many courses one file may compare.
const maxCompared = 200

func (c Course) runLot(env *Env) error {
	f := lotFile{Condition: "rostrum_worm"}
	if err := readJSONFile(c.File, &f); err != nil {
		return err
	}
	cond, err := c.condition(&f)
	if err != nil {
		return err
	}
	f.Lot.Condition = cond
	f.Lot.Runs = cmp.Or(c.Runs, f.Runs, f.Lot.Runs)
	f.Lot.Seed = cmp.Or(c.Seed, f.Seed, f.Lot.Seed, 1)
	if f.Line.Clear > 0 {
		f.Lot.Line = f.Line.Clear
	}
	if !f.Search && len(f.Courses) == 0 {
		return c.evidence(env, f.Lot)
	}
	q := clearance.Question{Case: f.Lot, Line: f.Line, Costs: f.Costs, Prices: f.Prices, Until: f.Until, Candidates: f.Courses,
		Treatment: f.Treatment, LookAnimals: f.LookAnimals, LooksBefore: f.LooksBefore}
	if q.Case.Days == nil {
		q.Case.Days = []float64{f.Lot.Today}
	}
	if len(f.Courses) > maxCompared {
		return ref.Inputf("courses", "Compare at most 200 at a time.", "%d courses", len(f.Courses))
	}
	ask := clearance.Compare
	if f.Search {
		if len(f.Courses) > 0 {
			return ref.Inputf("search", "Ask for one or the other.", "the file names courses and asks for a search")
		}
		ask = clearance.Search
	}
	answer, err := ask(env.Context, q, c.report(env))
	if err != nil {
		return err
	}
	if c.JSON {
		return env.PrintJSON(answer)
	}
	return printAnswer(env, cond, &answer, f.Costs != (clearance.Costs{}))
}

func (c Course) condition(f *lotFile) (*clearance.Condition, error) {
	var cond *clearance.Condition
	if c.Condition != "" {
		b, err := os.ReadFile(c.Condition)
		if err != nil {
			return nil, ref.Inputf("condition", "Check the name.", "cannot read the file: %v", err)
		}
		if cond, err = clearance.ParseCondition(b); err != nil {
			return nil, err
		}
	} else {
		var err error
		if cond, err = clearance.LoadCondition(f.Condition); err != nil {
			return nil, err
		}
	}
	return cond, cond.Believe(f.Figures)
}

func (c Course) report(env *Env) func(clearance.Progress) bool {
	if !c.Progress {
		return nil
	}
	return func(p clearance.Progress) bool {
		fmt.Fprintf(env.Err, "%d of %d courses\n", p.Done, p.Total)
		return true
	}
}

// evidence answers for a lot without courses to compare.
func (c Course) evidence(env *Env, lot clearance.Case) error {
	r, err := clearance.Evidence(env.Context, lot)
	if err != nil {
		return err
	}
	if c.JSON {
		return env.PrintJSON(r)
	}
	name := lot.Condition.Name
	last := r.Mixed.Points[len(r.Mixed.Points)-1]
	fmt.Fprintf(env.Out, "On day %g the lot is clear of the %s with a chance of %s; a bag of %d carries it with a chance of %s.\n", last.Day, name, percent(last.Clear.Value), r.Bag, percent(last.BagRisk.Value))
	fmt.Fprintf(env.Out, "Were the figures known, the chance of clear would lie between %s and %s, 9 times of 10.\n\n", percent(last.Clear.Low), percent(last.Clear.High))
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "day\tclear\t±\tband\teggs never hatch on the animal\talways\tbag risk")
	for i, p := range r.Mixed.Points {
		fmt.Fprintf(w, "%g\t%s\t%.1f\t%s to %s\t%s\t%s\t%s\n", p.Day, percent(p.Clear.Value), 100*p.Clear.SE, percent(p.Clear.Low), percent(p.Clear.High),
			percent(r.Never.Points[i].Clear.Value), percent(r.Always.Points[i].Clear.Value), percent(p.BagRisk.Value))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if r.Doubt != "" {
		fmt.Fprintf(env.Out, "\n%s\n", r.Doubt)
	}
	return nil
}

func percent(p float64) string { return fmt.Sprintf("%.1f %%", 100*p) }

func printAnswer(env *Env, cond *clearance.Condition, a *clearance.Answer, money bool) error {
	if a.Reached {
		fmt.Fprintf(env.Out, "The earliest release that reaches the line for the %s is day %g, with a chance of clear of %s.\n", cond.Name, a.Earliest.Earliest.Day, percent(a.Earliest.Earliest.Clear.Value))
	} else if b := a.Earliest.Best; b != nil {
		fmt.Fprintf(env.Out, "No course reaches the line for the %s. The best there is gives a chance of clear of %s on day %g.\n", cond.Name, percent(b.Clear.Value), b.Day)
	} else {
		fmt.Fprintln(env.Out, "No course can be looked at and released before the last day considered.")
	}
	fmt.Fprintf(env.Out, "All figures assume that the planned looks find nothing; the chance of that stands beside them.\n\n")
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	fmt.Fprint(w, "course\tdoses on day\trelease\tclear\tbag risk\tlooks clean")
	if money {
		fmt.Fprint(w, "\tcost")
	}
	fmt.Fprintln(w)
	var rows []*clearance.Outlook
	for i := range a.Finalists {
		rows = append(rows, &a.Finalists[i].Mixed)
	}
	if len(rows) == 0 {
		for i := range a.Courses {
			rows = append(rows, &a.Courses[i])
		}
	}
	for i := range a.Practice {
		rows = append(rows, &a.Practice[i])
	}
	for _, o := range rows {
		printOutlook(w, o, money)
	}
	return w.Flush()
}

func printOutlook(w *tabwriter.Writer, o *clearance.Outlook, money bool) {
	name := o.Course.Name
	if name == "" {
		name = fmt.Sprintf("%d doses, %d pulls a day", o.Course.Doses, o.Course.PullsPerDay)
	}
	fmt.Fprintf(w, "%s\t%s", name, dayList(o.Starts))
	d := o.Earliest
	if d == nil {
		d = o.Best
	}
	if d == nil {
		fmt.Fprintln(w, "\tnone")
		return
	}
	fmt.Fprintf(w, "\tday %g\t%s\t%s\t%s", d.Day, percent(d.Clear.Value), percent(d.BagRisk.Value), percent(d.LooksClean))
	if money {
		fmt.Fprintf(w, "\t%.2f", d.Cost/100)
	}
	fmt.Fprintln(w)
}

func dayList(days []float64) string {
	s := ""
	for i, d := range days {
		if i > 0 {
			s += " "
		}
		s += fmt.Sprintf("%g", d)
	}
	return s
}
