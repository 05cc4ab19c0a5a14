package view

import (
	"fmt"
	"strings"
)

// neatPath is 24 bars of 10 with gaps of 10, the head's neat-line.
var neatPath = func() string {
	var b strings.Builder
	for x := 0; x < 480; x += 20 {
		fmt.Fprintf(&b, "M%d 0h10v5h-10z", x)
	}
	return b.String()
}()
