// Command holdfast helps an importer-retailer of live freshwater shrimp decide
// on evidence when a lot may be sold. See the README.
//
// Calculations are subcommands of package cli; the subcommands here open a
// data folder and wire store, desk and pages together.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	_ "time/tzdata" // the site's zone must not depend on the machine

	"holdfast/desk"
	"holdfast/internal/cli"
)

// commands are the subcommands that work on a data folder.
type commands struct {
	Demo   Demo   `cmd:"" help:"Start a desk with an invented shop and a year of its history."`
	Serve  Serve  `cmd:"" help:"Start the desk of a data folder."`
	Import Import `cmd:"" help:"Receive a packing list (XLSX or CSV), or read an exported journal (JSON lines) into an empty folder."`
	Export Export `cmd:"" help:"Write everything out as XLSX, CSV or JSON lines."`
	Backup Backup `cmd:"" help:"Copy the database and the photographs to a new folder, also while a desk is running."`
	Verify Verify `cmd:"" help:"Fold everything again and say exactly what is wrong, also while a desk is running."`
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], cli.Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr})
	stop()
	os.Exit(status)
}

// run is main without the process, for tests.
func run(ctx context.Context, args []string, s cli.Streams) int {
	s.Folder = func(ctx context.Context, dir, site string) (*desk.Desk, func(), error) {
		f, err := readFolder(ctx, dir, site)
		if err != nil {
			return nil, nil, err
		}
		return f.desk, func() { _ = f.store.Close() }, nil
	}
	return cli.Run(ctx, args, s, &commands{})
}
