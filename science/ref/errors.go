package ref

import "fmt"

// InputError says that one input is wrong and what would be right.
// Commands answer it with exit status 2, pages show it at the field.
type InputError struct {
	// Field is the input's name as the person meets it: a flag without its
	// dashes, or a form field.
	Field string
	// Message says what is wrong, in plain words, with the offending value.
	Message string
	// Hint says the one thing to do.
	Hint string
}

func (e *InputError) Error() string {
	if e.Field == "" {
		return e.Message
	}
	return e.Field + ": " + e.Message
}

// Inputf returns an InputError for field with a formatted message.
func Inputf(field, hint, format string, args ...any) *InputError {
	return &InputError{Field: field, Hint: hint, Message: fmt.Sprintf(format, args...)}
}

// NoAnswer says that the question was well put and no answer exists, for
// instance that no sample of a small lot can reach the wanted confidence.
// Commands answer it with exit status 3 and the reason in their JSON.
type NoAnswer struct {
	Reason string
}

func (e *NoAnswer) Error() string { return e.Reason }
