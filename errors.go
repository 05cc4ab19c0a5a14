package holdfast

import "strings"

// ErrorKind says what class of trouble an [Error] is; one table in the web
// adapter maps it to a status, one in the command line to an exit status.
type ErrorKind string

const (
	// Invalid: the input is wrong at the named field.
	Invalid ErrorKind = "invalid"
	// NotFound: nothing of that name exists.
	NotFound ErrorKind = "not_found"
	// Conflict: the same id came with other content, or two people disagree.
	Conflict ErrorKind = "conflict"
	// Refused: the input is well formed and a rule forbids it.
	Refused ErrorKind = "refused"
	// Busy: somebody else holds the data.
	Busy ErrorKind = "busy"
)

// Error is an error meant for a person: what is wrong, where, and the one next
// thing to do. Anything else that reaches a person becomes "something went
// wrong" and is only logged.
type Error struct {
	Kind    ErrorKind
	Field   string
	Message string
	Hint    string
}

func (e *Error) Error() string {
	s := e.Message
	if e.Field != "" {
		s = e.Field + ": " + s
	}
	return s
}

// Problem is one wrong field of an input.
type Problem struct {
	Field   string `json:"field"`
	Message string `json:"message"`
	Hint    string `json:"hint,omitempty"`
}

// Problems are all the wrong fields of one input. They are an error: nothing
// of the input was kept.
type Problems []Problem

func (p Problems) Error() string {
	parts := make([]string, len(p))
	for i, q := range p {
		parts[i] = q.Field + ": " + q.Message
	}
	return strings.Join(parts, "; ")
}

// Err returns p as an error, or nil when there is no problem.
func (p Problems) Err() error {
	if len(p) == 0 {
		return nil
	}
	return p
}
