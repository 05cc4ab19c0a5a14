package cli

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"text/tabwriter"

	"holdfast/science/clearance"
	"holdfast/science/ref"
)

// Course is the subcommand that works out what a course of treatment would do.
type Course struct {
	File           string `arg:"" optional:"" type:"path" help:"A lot, what was done and seen, and the courses to compare or \"search\": true (JSON; see docs/course.md)."`
	Lot            string `placeholder:"ID" help:"Search for a lot that stands in the data folder, with its history, the shop's beliefs and its release line."`
	Data           string `placeholder:"DIR" env:"HOLDFAST_DATA" help:"The data folder of --lot; it may be in use."`
	Against        string `placeholder:"CONDITION" help:"What the course of --lot is against; without it, what was found or is least likely to be clear."`
	Scenarios      string `type:"path" placeholder:"FILE" help:"Read a list of fixed scenarios (the form of the check files) and print the chance of free of each on each of its days."`
	Condition      string `type:"path" placeholder:"FILE" help:"A condition's data file, copied from --print-condition and changed."`
	PrintCondition string `placeholder:"ID" help:"Print the data file of a condition, such as rostrum_worm, to copy and change."`
	Runs           int    `default:"0" help:"Simulated lots for each answer; 0: as the file says, or 4000 (1000 for each course)."`
	Seed           uint64 `default:"0" help:"The same seed gives the same answer, whatever the number of cores; 0: as the file says, or 1."`
	Progress       bool   `help:"Tell on standard error how far a search is."`
	JSON           bool   `help:"Print JSON."`
}

// Run answers the question in the file.
func (c Course) Run(env *Env) error {
	switch {
	case c.PrintCondition != "":
		b, err := clearance.ConditionFile(c.PrintCondition)
		if err != nil {
			return err
		}
		_, err = env.Out.Write(b)
		return err
	case c.Scenarios != "":
		return c.runScenarios(env)
	case c.Lot != "" && c.File != "":
		return ref.Inputf("FILE", "Ask for one or the other.", "a file and a lot were named")
	case c.Lot != "":
		return c.runStored(env)
	case c.File != "":
		return c.runLot(env)
	}
	return ref.Inputf("FILE", "Name the file of a lot, a lot of a data folder with --lot, or a list of scenarios with --scenarios.", "nothing was asked")
}

// readJSONFile decodes a JSON file into v, or says what is wrong with it.
func readJSONFile(path string, v any) error {
	b, err := os.ReadFile(path)
	if err != nil {
		return ref.Inputf("FILE", "Check the name.", "cannot read the file: %v", err)
	}
	d := json.NewDecoder(bytes.NewReader(b))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		return ref.Inputf("FILE", "The file must be JSON as docs/course.md describes.", "%s is not as expected: %v", path, err)
	}
	if d.More() {
		return ref.Inputf("FILE", "Leave one JSON document in the file.", "%s goes on after its end", path)
	}
	return nil
}

// maxScenarios is how many scenarios one file may hold.
const maxScenarios = 1000

func (c Course) runScenarios(env *Env) error {
	var list []clearance.Scenario
	if err := readJSONFile(c.Scenarios, &list); err != nil {
		return err
	}
	if len(list) == 0 {
		return ref.Inputf("FILE", "Put at least one scenario into the list.", "the list of scenarios is empty")
	}
	if len(list) > maxScenarios {
		return ref.Inputf("FILE", "Ask for at most 1000 at a time.", "%d scenarios", len(list))
	}
	runs, seed := c.Runs, c.Seed
	if runs == 0 {
		runs = 4000
	}
	var all []clearance.ScenarioFree
	for i := range list {
		free, err := list[i].Free(env.Context, runs, seed)
		if err != nil {
			return err
		}
		all = append(all, free...)
	}
	if c.JSON {
		return env.PrintJSON(all)
	}
	fmt.Fprintf(env.Out, "The chance that a lot that arrived infested is free of worms, larvae and eggs, from %d simulated lots each.\nRuns that passed the cap of worms count as not free.\n\n", runs)
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "scenario\tday\tfree\t±\tcapped")
	for _, f := range all {
		fmt.Fprintf(w, "%s\t%g\t%.1f %%\t%.1f\t%.1f %%\n", f.Scenario, f.Day, 100*f.Free, 100*f.SE, 100*f.Capped)
	}
	return w.Flush()
}
