package cli

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"holdfast/reference"
	"holdfast/science/ref"
)

// Reference is the subcommand of that name.
type Reference struct {
	Search ReferenceSearch `cmd:"" help:"Find conditions, look-alikes, pests, species, active ingredients and questions to the seller."`
	Show   ReferenceShow   `cmd:"" help:"Show one entry with its sources and what it has to do with."`
	List   ReferenceList   `cmd:"" help:"List everything, or what a species can carry."`
	Draw   ReferenceDraw   `cmd:"" help:"Print a drawing as SVG."`
}

// ReferenceSearch finds entries by words.
type ReferenceSearch struct {
	Words []string `arg:"" help:"Words that must all occur."`
	JSON  bool     `help:"Print JSON."`
}

// Run prints the hits.
func (c ReferenceSearch) Run(env *Env) error {
	query := strings.Join(c.Words, " ")
	hits := reference.Builtin().Search(query)
	if c.JSON {
		return env.PrintJSON(map[string]any{"query": query, "hits": hits})
	}
	if len(hits) == 0 {
		return &ref.NoAnswer{Reason: fmt.Sprintf("nothing in the reference has all of %q", query)}
	}
	w := tabwriter.NewWriter(env.Out, 0, 4, 2, ' ', 0)
	for _, h := range hits {
		fmt.Fprintf(w, "%s\t%s\t%s\n", h.What, h.ID, h.Name)
	}
	return w.Flush()
}

// ReferenceList lists entries.
type ReferenceList struct {
	CarriedBy string `help:"Only what this species or group can carry." placeholder:"ID"`
	JSON      bool   `help:"Print JSON."`
}

// Run prints the list.
func (c ReferenceList) Run(env *Env) error {
	b := reference.Builtin()
	all := b.Everything()
	if c.CarriedBy != "" {
		_, species := b.Kept(c.CarriedBy)
		if _, group := b.Group(c.CarriedBy); !species && !group {
			var ids []string
			for _, g := range b.Groups() {
				ids = append(ids, g.ID)
			}
			return ref.Inputf("carried-by", "Groups are "+strings.Join(ids, ", ")+".", "no species or group %q", c.CarriedBy)
		}
		all = b.CanCarry(c.CarriedBy)
	}
	if c.JSON {
		return env.PrintJSON(map[string]any{"entries": all})
	}
	w := tabwriter.NewWriter(env.Out, 0, 4, 2, ' ', 0)
	for _, e := range all {
		fmt.Fprintf(w, "%s\t%s\t%s%s\n", e.What(), e.ID, e.Name, alarm(e))
	}
	return w.Flush()
}

// alarm is the short warning behind a name.
func alarm(e reference.Condition) string {
	switch {
	case e.NotifiableSuspect:
		return "  (hold everything, call the authority)"
	case e.KillsNoCure:
		return "  (kills, no cure)"
	}
	return ""
}

// ReferenceShow shows one entry.
type ReferenceShow struct {
	ID   string `arg:"" help:"Id of a condition, look-alike, pest, species, active ingredient or listed disease."`
	JSON bool   `help:"Print JSON."`
}

// Run prints the entry, or says which ids come close.
func (c ReferenceShow) Run(env *Env) error {
	b := reference.Builtin()
	if e, ok := b.Condition(c.ID); ok {
		return c.print(env, e.What(), e, e.Name+alarm(e), e.Sections())
	}
	if m, ok := b.Medicine(c.ID); ok {
		return c.print(env, "medicine", m, m.Name, m.Sections())
	}
	if k, ok := b.Kept(c.ID); ok {
		return c.print(env, "species", k, k.Name+", "+k.Scientific, k.Sections())
	}
	if t, ok := b.Topic(c.ID); ok {
		return c.print(env, "topic", t, t.Name, t.Sections())
	}
	for _, l := range b.Listed().Diseases {
		if l.ID == c.ID {
			return c.print(env, "listed disease", l, l.Name+"\n"+b.Listed().Edition, nil)
		}
	}
	hint := "See holdfast reference list."
	if hits := b.Search(strings.ReplaceAll(c.ID, "_", " ")); len(hits) > 0 {
		hint = "Perhaps " + hits[0].ID + "."
	}
	return ref.Inputf("id", hint, "nothing in the reference has the id %q", c.ID)
}

func (c ReferenceShow) print(env *Env, what string, entry any, title string, sections []reference.Section) error {
	related := reference.Builtin().Related(what, c.ID)
	if c.JSON {
		return env.PrintJSON(map[string]any{"what": what, "entry": entry, "related": related})
	}
	fmt.Fprintf(env.Out, "%s\n", title)
	for _, s := range sections {
		fmt.Fprintf(env.Out, "\n%s\n", s.Title)
		for _, claim := range s.Claims {
			fmt.Fprintf(env.Out, "  %s\n    [%s]\n", claim.Say, claim.Origin())
			if claim.Caution != "" {
				fmt.Fprintf(env.Out, "    Caution: %s\n", claim.Caution)
			}
		}
	}
	if len(related) > 0 {
		fmt.Fprintln(env.Out, "\nHas to do with")
		w := tabwriter.NewWriter(env.Out, 0, 4, 2, ' ', 0)
		for _, l := range related {
			fmt.Fprintf(w, "  %s\t%s\t%s\n", l.Why, l.ID, l.Name)
		}
		if err := w.Flush(); err != nil {
			return err
		}
	}
	fmt.Fprintln(env.Out, "\nAn aid to judgement, not a diagnosis. Local law, the label and an aquatic veterinarian decide.")
	return nil
}

// ReferenceDraw prints a drawing.
type ReferenceDraw struct {
	ID string `arg:"" help:"Id of a condition, look-alike or pest, or animal for the places to look at."`
}

// Run prints the drawing as SVG.
func (c ReferenceDraw) Run(env *Env) error {
	name := c.ID
	if e, ok := reference.Builtin().Condition(c.ID); ok {
		name = e.Drawing
	}
	d, ok := reference.Drawing(name)
	if !ok {
		return ref.Inputf("id", "See holdfast reference list.", "there is no drawing of %q", c.ID)
	}
	_, err := fmt.Fprintln(env.Out, d.SVG)
	return err
}
