package cli

import (
	"encoding/json"
	"fmt"
	"os"
	"text/tabwriter"

	"holdfast/science/clearance"
	"holdfast/science/ref"
)

// Course is the subcommand that works out what a course of treatment would do.
type Course struct {
	Scenarios string `type:"path" help:"Read a list of fixed scenarios (the form of the check files) and print the chance of free of each on each of its days."`
	Runs      int    `default:"4000" help:"Simulated lots for each answer."`
	Seed      uint64 `default:"1" help:"The same seed gives the same answer, whatever the number of cores."`
	JSON      bool   `help:"Print JSON."`
}

// Run answers the question in the file.
func (c Course) Run(env *Env) error {
	if c.Scenarios == "" {
		return ref.Inputf("FILE", "Name a file with --scenarios.", "nothing was asked")
	}
	return c.runScenarios(env)
}

// readFile decodes a JSON file into v, or says which byte is wrong.
func readFile(path string, v any) error {
	b, err := os.ReadFile(path)
	if err != nil {
		return ref.Inputf("FILE", "Check the name.", "cannot read the file: %v", err)
	}
	if err := json.Unmarshal(b, v); err != nil {
		return ref.Inputf("FILE", "The file must be JSON as the documentation of the command describes.", "%s is not as expected: %v", path, err)
	}
	return nil
}

func (c Course) runScenarios(env *Env) error {
	var list []clearance.Scenario
	if err := readFile(c.Scenarios, &list); err != nil {
		return err
	}
	if len(list) == 0 {
		return ref.Inputf("FILE", "Put at least one scenario into the list.", "the list of scenarios is empty")
	}
	var all []clearance.ScenarioFree
	for i := range list {
		free, err := list[i].Free(env.Context, c.Runs, c.Seed)
		if err != nil {
			return err
		}
		all = append(all, free...)
	}
	if c.JSON {
		return env.PrintJSON(all)
	}
	fmt.Fprintf(env.Out, "The chance that a lot that arrived infested is free of worms, larvae and eggs, from %d simulated lots each.\nRuns that passed the cap of worms count as not free.\n\n", c.Runs)
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "scenario\tday\tfree\t±\tcapped")
	for _, f := range all {
		fmt.Fprintf(w, "%s\t%g\t%.1f %%\t%.1f\t%.1f %%\n", f.Scenario, f.Day, 100*f.Free, 100*f.SE, 100*f.Capped)
	}
	return w.Flush()
}
