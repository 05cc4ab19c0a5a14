//go:build ignore

// Draw writes the photographs of the invented shop; see photographs/README.md.
package main

import (
	"fmt"
	"os"

	"holdfast/photo/phantom"
)

func main() {
	for _, i := range []int{200, 201, 204, 205, 212, 214, 221, 236, 260} {
		name := fmt.Sprintf("internal/demo/photographs/drawn-%d.jpg", i)
		if err := os.WriteFile(name, phantom.Tuning(i).JPEG(), 0o644); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}
