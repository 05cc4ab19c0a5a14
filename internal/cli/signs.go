package cli

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"
	"strconv"
	"strings"
	"text/tabwriter"

	"holdfast/internal/paper"
	"holdfast/reference"
	"holdfast/science/ref"
	"holdfast/science/signs"
)

// maxSignsFile bounds what is read from a file of answers or cases.
const maxSignsFile = 1 << 20

// Signs is the subcommand of that name.
type Signs struct {
	Answers   []string `arg:"" optional:"" help:"What is seen, as question=answer or question=answer,answer; a length as size=1.5mm. See --questions." placeholder:"question=answer"`
	From      string   `help:"Read the answers from a JSON file, - for standard input." placeholder:"FILE"`
	Cases     string   `help:"Let the shop's own confirmed cases move the table: a JSON file of [{truth, answers, proof}]." placeholder:"FILE"`
	Top       int      `help:"How many suspects to print for people." default:"6"`
	CaseFile  string   `help:"Also write a PDF for a veterinarian or a laboratory, with the photographs attached." placeholder:"FILE.pdf"`
	Photo     []string `help:"A photograph for the case file, JPEG or PNG; may be given again." placeholder:"FILE"`
	About     []string `help:"A sentence on the animals for the case file: lot, tank, treatments; may be given again." sep:"none"`
	Questions bool     `help:"List the questions and their answers instead."`
	JSON      bool     `help:"Print JSON."`
}

// signsCaution goes with every ranking.
const signsCaution = "This orders suspects by judgement; it never says that it is one. The shares are not measured frequencies. Local law and a licensed aquatic veterinarian decide."

// signsReport is the JSON of the command, version 1.
type signsReport struct {
	Version     int              `json:"version"`
	Answers     signs.Answers    `json:"answers"`
	Suspects    []namedSuspect   `json:"suspects"`
	NothingFits bool             `json:"nothing_fits"`
	Hold        bool             `json:"hold"`
	Notifiable  float64          `json:"notifiable_share"`
	Flags       []string         `json:"flags"`
	Ask         string           `json:"ask"`
	Next        []signs.NextLook `json:"next"`
	Learned     []signs.Learned  `json:"learned,omitempty"`
	Caution     string           `json:"caution"`
	CaseFile    string           `json:"case_file,omitempty"`

	ranked []signs.Suspect
}

// namedSuspect is a suspect with what the reference says of it.
type namedSuspect struct {
	signs.Suspect
	Name        string              `json:"name"`
	Isolation   reference.Isolation `json:"isolation,omitempty"`
	KillsNoCure bool                `json:"kills_no_cure,omitempty"`
	Notifiable  bool                `json:"notifiable_suspect,omitempty"`
	TellApart   []reference.Alike   `json:"tell_apart,omitempty"`
}

// Run ranks what is seen and names the next look.
func (c Signs) Run(env *Env) error {
	model := signs.Default()
	if c.Cases != "" {
		var cases []signs.Case
		if err := readJSON(env, "cases", c.Cases, &cases); err != nil {
			return err
		}
		var err error
		if model, err = signs.Learn(cases); err != nil {
			return err
		}
	}
	if c.Questions {
		return printQuestions(env, model, c.JSON)
	}
	answers, err := c.answers(env)
	if err != nil {
		return err
	}
	report, err := rankSigns(model, answers)
	if err != nil {
		return err
	}
	if c.CaseFile == "" && len(c.Photo)+len(c.About) > 0 {
		return ref.Inputf("case-file", "Add --case-file FILE.pdf.", "photographs and sentences go into a case file, and none was asked for")
	}
	if c.CaseFile != "" {
		if err := writeCaseFile(c.CaseFile, report, model.Questions(), c.About, c.Photo); err != nil {
			return err
		}
		report.CaseFile = c.CaseFile
	}
	if c.JSON {
		return env.PrintJSON(report)
	}
	return report.print(env, max(c.Top, 1))
}

// answers gathers those of the file and of the command line.
func (c Signs) answers(env *Env) (signs.Answers, error) {
	answers := signs.Answers{}
	if c.From != "" {
		if err := readJSON(env, "from", c.From, &answers); err != nil {
			return nil, err
		}
	}
	for _, a := range c.Answers {
		question, options, ok := strings.Cut(a, "=")
		if !ok || question == "" || options == "" {
			return nil, ref.Inputf("answers", "Write it as site=rostrum.", "%q is not question=answer", a)
		}
		for o := range strings.SplitSeq(options, ",") {
			if question == "size" {
				if mm, ok := strings.CutSuffix(o, "mm"); ok && !strings.HasSuffix(mm, "_") {
					length, err := strconv.ParseFloat(mm, 64)
					if err != nil {
						return nil, ref.Inputf("size", "Write it as size=1.5mm.", "%q is not a length", o)
					}
					if o, err = signs.SizeOption(length); err != nil {
						return nil, err
					}
				}
			}
			answers[question] = append(answers[question], o)
		}
	}
	if len(answers) == 0 {
		return nil, ref.Inputf("answers", "Say for instance: holdfast signs site=rostrum colour=white animal=neocaridina", "nothing was said of what is seen")
	}
	return answers, nil
}

// readJSON reads one strict JSON document from a file or standard input.
func readJSON(env *Env, field, name string, into any) error {
	in := env.In
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return ref.Inputf(field, "Give a file that can be read.", "cannot open %s", name)
		}
		defer f.Close()
		in = f
	}
	text, err := io.ReadAll(io.LimitReader(in, maxSignsFile+1))
	if err != nil {
		return ref.Inputf(field, "Give a file that can be read.", "cannot read %s", name)
	}
	if len(text) > maxSignsFile {
		return ref.Inputf(field, "Keep it under a megabyte.", "%s is too large", name)
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(into); err != nil {
		return ref.Inputf(field, "See docs/SCIENCE.md for the form.", "%s is not the JSON wanted: %v", name, err)
	}
	if dec.More() {
		return ref.Inputf(field, "One document, please.", "%s goes on after its end", name)
	}
	return nil
}

// rankSigns puts ranking, next looks and reference together.
func rankSigns(model *signs.Model, answers signs.Answers) (signsReport, error) {
	ranking, err := model.Rank(answers)
	if err != nil {
		return signsReport{}, err
	}
	next, err := model.Next(answers)
	if err != nil {
		return signsReport{}, err
	}
	report := signsReport{
		Version: 1, Answers: answers, NothingFits: ranking.NothingFits, Hold: ranking.Hold,
		Notifiable: ranking.NotifiableShare, Flags: ranking.Flags, Ask: ranking.Ask,
		Next: next, Learned: model.Learned(), Caution: signsCaution, ranked: ranking.Suspects,
	}
	for _, s := range ranking.Suspects {
		e, _ := reference.Builtin().Condition(s.ID)
		named := namedSuspect{Suspect: s, Name: e.Name, Isolation: e.Isolation, KillsNoCure: e.KillsNoCure, Notifiable: e.NotifiableSuspect}
		for _, a := range e.Alike {
			if slices.Contains(s.Alike, a.ID) {
				named.TellApart = append(named.TellApart, a)
			}
		}
		report.Suspects = append(report.Suspects, named)
	}
	return report, nil
}

func (r signsReport) print(env *Env, top int) error {
	switch lead := r.Suspects[0]; {
	case r.NothingFits:
		fmt.Fprintln(env.Out, "Nothing in the book fits what was said.")
	default:
		fmt.Fprintf(env.Out, "Of what the book knows, %q fits best; that is a suspicion, not a finding.\n", strings.ToLower(lead.Name))
	}
	if r.Hold {
		fmt.Fprintln(env.Out, "HOLD EVERYTHING: this could be a disease that the law wants to hear of.")
		for _, f := range r.Flags {
			fmt.Fprintf(env.Out, "  because %s\n", f)
		}
		fmt.Fprintln(env.Out, "Until somebody with the right to say so has ruled that out, whatever leads below changes nothing.")
	}
	fmt.Fprintln(env.Out, signs.AskWords(r.Ask))
	fmt.Fprintln(env.Out)
	w := tabwriter.NewWriter(env.Out, 0, 4, 2, ' ', 0)
	fmt.Fprintln(w, "share\tsuspect\tmost for it\tmost against it")
	for _, s := range r.Suspects[:min(top, len(r.Suspects))] {
		pro, con := strongest(s.Weights)
		fmt.Fprintf(w, "%.0f %%\t%s\t%s\t%s\n", 100*s.Share, s.Name, pro, con)
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if lead := r.Suspects[0]; len(lead.TellApart) > 0 {
		fmt.Fprintln(env.Out, "\nWhat else looks like it")
		for _, a := range lead.TellApart {
			fmt.Fprintf(env.Out, "  %s\n", a.Say)
		}
	}
	if len(r.Next) > 0 {
		n := r.Next[0]
		fmt.Fprintf(env.Out, "\nLook next: %s\n", n.Ask)
		for _, o := range n.Answers[:min(3, len(n.Answers))] {
			e, _ := reference.Builtin().Condition(o.Leader)
			fmt.Fprintf(env.Out, "  %s: then %s leads\n", o.Say, strings.ToLower(e.Name))
		}
	}
	if r.CaseFile != "" {
		fmt.Fprintf(env.Out, "\nThe case is in %s.\n", r.CaseFile)
	}
	fmt.Fprintf(env.Out, "\n%s\n", r.Caution)
	return nil
}

// strongest is paper.Strongest with a dash for an empty cell.
func strongest(weights []signs.Weight) (pro, con string) {
	pro, con = paper.Strongest(weights)
	return cmp.Or(pro, "-"), cmp.Or(con, "-")
}

func printQuestions(env *Env, model *signs.Model, asJSON bool) error {
	if asJSON {
		return env.PrintJSON(map[string]any{"questions": model.Questions()})
	}
	for _, q := range model.Questions() {
		fmt.Fprintf(env.Out, "%s  %s\n", q.ID, q.Ask)
		for _, o := range q.Options {
			fmt.Fprintf(env.Out, "    %s: %s\n", o.ID, o.Say)
		}
	}
	return nil
}
