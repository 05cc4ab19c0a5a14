// Package cli is the command-line door: one struct per subcommand, text for
// people and JSON for scripts from the same result. It never exits the
// process; Run returns the exit status.
package cli

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"

	"github.com/alecthomas/kong"

	"holdfast/desk"
	"holdfast/internal/notices"
)

// Streams are what a command reads and writes.
type Streams struct {
	In  io.Reader
	Out io.Writer
	Err io.Writer
	// Folder opens a data folder for reading, beside whoever writes to it; done
	// closes it. Nil where the caller has no store.
	Folder func(ctx context.Context, dir, site string) (d *desk.Desk, done func(), err error)
}

// Env is what a running command gets besides its own flags.
type Env struct {
	Streams
	// Context ends when the process is asked to stop.
	Context context.Context
}

// root lists every subcommand in the order that help shows them.
type root struct {
	// Plugins are subcommands that the caller of Run adds.
	kong.Plugins

	Course   Course   `cmd:"" help:"Work out when a lot may be clear under a course of treatment, and compare courses."`
	Sample   Sample   `cmd:"" help:"Work out how many animals to look at."`
	Estimate Estimate `cmd:"" help:"Work out what a look at some of the animals proves."`

	Version Version `cmd:"" help:"Print the program's version and the versions of its formats."`
	Notices Notices `cmd:"" help:"Print the licences and notices of what is built into the program."`
	Photos  Photos  `cmd:"" help:"Sort photographs, find the sharp ones and mark where to look."`
	Mix     Mix     `cmd:"" help:"Weigh out a medicine or salt for the water that is there, and follow it over days."`
	Water   Water   `cmd:"" help:"Work out ammonia, oxygen and density of water."`

	Signs     Signs     `cmd:"" help:"From what is seen on an animal to what it might be, and what to look at next."`
	Reference Reference `cmd:"" help:"Search and show the reference of conditions, look-alikes, species and active ingredients."`

	Password Password `cmd:"" help:"Set the password that pages ask for when the desk can be reached from other machines."`
}

// Notices is the subcommand of that name.
type Notices struct{}

// Run prints the notices.
func (Notices) Run(env *Env) error {
	_, err := io.WriteString(env.Out, notices.Text)
	return err
}

// Version is the subcommand of that name.
type Version struct {
	JSON bool `help:"Print JSON."`
}

// Run prints the version.
func (v Version) Run(env *Env) error {
	if v.JSON {
		return env.PrintJSON(map[string]any{"holdfast": ProgramVersion})
	}
	fmt.Fprintln(env.Out, "holdfast", ProgramVersion)
	return nil
}

// ProgramVersion follows SemVer; formats carry version numbers of their own.
const ProgramVersion = "0.1.0"

// PrintJSON writes v as one line of JSON. NaN and infinities are an error of
// ours: results carry null and a reason instead.
func (e *Env) PrintJSON(v any) error {
	enc := json.NewEncoder(e.Out)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// Run parses args, runs the subcommand and returns the exit status. more are
// pointers to structs with further subcommands, as kong's plugins are.
func Run(ctx context.Context, args []string, s Streams, more ...any) int {
	env := &Env{Streams: s, Context: ctx}
	asJSON := slices.Contains(args, "--json")
	exited := false
	parser, err := kong.New(&root{Plugins: more},
		kong.Name("holdfast"),
		kong.Description("From the hour a box of live shrimp is opened to the day the lot may be sold."),
		kong.Writers(s.Out, s.Err),
		kong.Exit(func(int) { exited = true }),
		kong.Bind(env),
	)
	if err != nil {
		return report(s.Err, asJSON, err)
	}
	kctx, err := parser.Parse(joinNegatives(args))
	if exited { // --help printed its text
		return StatusDone
	}
	if err != nil {
		return report(s.Err, asJSON, usageError(err))
	}
	return report(s.Err, asJSON, kctx.Run(env))
}
