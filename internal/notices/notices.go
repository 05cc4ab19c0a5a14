// Package notices holds what the authors of everything that is built into the
// program ask to have passed on: their names, their licences and their notices.
//
// notices.txt is written by
//
//	go run ./internal/notices/collect
//
// whose test fails when it is out of date.
package notices

import _ "embed" // the file beside this one

// Text is the whole of it, in UTF-8.
//
//go:embed notices.txt
var Text string
