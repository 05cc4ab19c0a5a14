// Command holdfast helps an importer-retailer of live freshwater shrimp decide
// on evidence when a lot may be sold. See the README.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"

	"holdfast/internal/cli"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := cli.Main(ctx)
	stop()
	os.Exit(status)
}
