package cli

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"

	"holdfast"
	"holdfast/science/ref"
)

// Exit statuses, as docs/exit-status.md lists them.
const (
	StatusDone     = 0 // done
	StatusFault    = 1 // a fault of the program or the machine
	StatusInput    = 2 // bad input
	StatusNoAnswer = 3 // the question has no answer; the JSON says why
	StatusFound    = 4 // verify found something wrong
	StatusBusy     = 5 // the data folder is in use
)

// Problem is an error as RFC 9457 lays it out, with the field and a hint.
type Problem struct {
	Type   string `json:"type"`
	Title  string `json:"title"`
	Detail string `json:"detail"`
	Field  string `json:"field,omitempty"`
	Hint   string `json:"hint,omitempty"`
	Status int    `json:"exit_status"`
}

// statuses and titles are the one map from the desk's errors.
var (
	statuses = map[holdfast.ErrorKind]int{holdfast.Invalid: StatusInput, holdfast.NotFound: StatusInput, holdfast.Conflict: StatusInput,
		holdfast.Refused: StatusInput, holdfast.Busy: StatusBusy}
	titles = map[holdfast.ErrorKind]string{holdfast.Invalid: "Bad input", holdfast.NotFound: "Not found", holdfast.Conflict: "Conflict",
		holdfast.Refused: "Refused", holdfast.Busy: "In use"}
)

// quiet is an error whose message the command already printed.
type quiet struct{ status int }

func (q quiet) Error() string { return fmt.Sprintf("exit status %d", q.status) }

// Quiet returns an error that makes Run return status and print nothing:
// for commands whose answer itself says what is missing.
func Quiet(status int) error { return quiet{status} }

// flagOf finds the flag that the parser's message is about.
var flagOf = regexp.MustCompile(`^(?:missing flags: )?--([a-z0-9-]+)(?:[:=,]|$)`)

// usageError is what the parser of the command line has to say, at the flag it
// names.
func usageError(err error) error {
	var in *ref.InputError
	if errors.As(err, &in) {
		return in
	}
	out := &ref.InputError{Message: err.Error(), Hint: "See holdfast --help."}
	if m := flagOf.FindStringSubmatch(out.Message); m != nil {
		out.Field = m[1]
		out.Message = strings.TrimPrefix(out.Message, "--"+m[1]+": ")
		switch {
		case strings.HasPrefix(out.Message, "missing flags"):
			out.Message, out.Hint = "it is missing", "Write --"+m[1]+" and a value; see holdfast --help."
		case strings.Contains(out.Message, "expected a float"):
			out.Hint = "Write a number with digits and a point, such as --" + m[1] + " 7.8."
		case strings.Contains(out.Message, "int but got"):
			out.Hint = "Write a whole number with digits."
		case strings.Contains(out.Message, "(short flag)"):
			out.Message = "a value that begins with a minus reads as another flag"
			out.Hint = "Join a value that begins with a minus to its flag: --" + m[1] + "=…"
		}
	}
	return out
}

// report prints err for a person or a script and returns the exit status.
func report(w io.Writer, asJSON bool, err error) int {
	if err == nil {
		return StatusDone
	}
	var q quiet
	if errors.As(err, &q) {
		return q.status
	}
	p := problem(err)
	if asJSON {
		_ = json.NewEncoder(w).Encode(p)
		return p.Status
	}
	fmt.Fprintf(w, "holdfast: %s\n", p.Detail)
	if p.Hint != "" {
		fmt.Fprintf(w, "  %s\n", p.Hint)
	}
	return p.Status
}

// problem maps an error to what people and scripts are told.
func problem(err error) Problem {
	var in *ref.InputError
	if errors.As(err, &in) {
		detail := in.Message
		if in.Field != "" {
			detail = in.Field + ": " + in.Message
		}
		return Problem{Type: "about:blank", Title: "Bad input", Detail: detail, Field: in.Field, Hint: in.Hint, Status: StatusInput}
	}
	var no *ref.NoAnswer
	if errors.As(err, &no) {
		return Problem{Type: "about:blank", Title: "No answer exists", Detail: no.Reason, Status: StatusNoAnswer}
	}
	var fields holdfast.Problems
	if errors.As(err, &fields) && len(fields) > 0 {
		return Problem{Type: "about:blank", Title: "Bad input", Detail: fields.Error(), Field: fields[0].Field, Hint: fields[0].Hint, Status: StatusInput}
	}
	var known *holdfast.Error
	if errors.As(err, &known) {
		return Problem{Type: "about:blank", Title: titles[known.Kind], Detail: known.Error(), Field: known.Field, Hint: known.Hint, Status: statuses[known.Kind]}
	}
	return Problem{Type: "about:blank", Title: "Something went wrong", Detail: err.Error(), Status: StatusFault}
}
