package web

import (
	"crypto/rand"
	"encoding/hex"
	"errors"
	"net/http"

	"holdfast"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/ref"
)

// errNoPage is an address where nothing stands.
var errNoPage = &holdfast.Error{Kind: holdfast.NotFound, Message: "There is nothing at this address.", Hint: "It may have been mistyped, or copied only in part."}

// statusOf is the one map from errors to statuses.
func statusOf(err error) int {
	var known *holdfast.Error
	var tooLarge *http.MaxBytesError
	var fields holdfast.Problems
	var input *ref.InputError
	var noAnswer *ref.NoAnswer
	switch {
	case errors.As(err, &tooLarge):
		return http.StatusRequestEntityTooLarge
	case errors.As(err, &fields), errors.As(err, &input):
		return http.StatusBadRequest
	case errors.As(err, &noAnswer):
		return http.StatusUnprocessableEntity
	case errors.As(err, &known):
		switch known.Kind {
		case holdfast.Invalid:
			return http.StatusBadRequest
		case holdfast.NotFound:
			return http.StatusNotFound
		case holdfast.Conflict:
			return http.StatusConflict
		case holdfast.Refused:
			return http.StatusUnprocessableEntity
		case holdfast.Busy:
			return http.StatusServiceUnavailable
		}
	}
	return http.StatusInternalServerError
}

// problem answers with a page for the error. An error that was not written for
// people is logged under a reference, and the page says only that.
func (s *Server) problem(w http.ResponseWriter, r *http.Request, err error) {
	status := statusOf(err)
	pr := describe(status, err)
	if status == http.StatusInternalServerError {
		pr.Ref = faultNumber()
		s.Log.Error("page failed", "ref", pr.Ref, "method", r.Method, "path", r.URL.Path, "error", err)
	}
	s.problemPage(w, r, pr)
}

func (s *Server) problemPage(w http.ResponseWriter, r *http.Request, pr view.Problem) {
	// The store may be what failed, so the frame does without it.
	p := view.Page{Frame: view.Frame{Assets: s.assets, Who: who(r), Shut: !s.signedIn(r)}, Title: pr.Heading, At: view.Nowhere, Width: view.Middle}
	if err := s.page(w, r, pr.Status, view.ProblemPage(p, pr)); err != nil {
		s.Log.Error("problem page failed", "error", err)
		http.Error(w, pr.Wrong, pr.Status)
	}
}

func faultNumber() string {
	var b [4]byte
	_, _ = rand.Read(b[:]) // never fails
	return hex.EncodeToString(b[:])
}

// describe says what is wrong, what was kept, and the one next thing.
func describe(status int, err error) view.Problem {
	pr := view.Problem{Status: status, Wrong: sentence(err), Kept: "Nothing was recorded by this.", Next: "Go to the round", NextURL: "/round"}
	switch status {
	case http.StatusNotFound:
		pr.Heading, pr.Kept = "Not found", "Nothing was changed."
		pr.Next, pr.NextURL = "See all lots", "/lots"
	case http.StatusBadRequest:
		pr.Heading = "That cannot be right"
	case http.StatusConflict:
		pr.Heading, pr.Kept = "Somebody was there first", "What was recorded before stands. Nothing of this was added to it."
	case http.StatusUnprocessableEntity:
		pr.Heading = "Not possible as it stands"
	case http.StatusRequestEntityTooLarge:
		pr.Heading, pr.Wrong = "Too much at once", "What was sent is larger than this page takes."
	case http.StatusServiceUnavailable:
		pr.Heading = "Busy just now"
	default:
		pr.Heading, pr.Wrong = "Something went wrong", "The desk could not finish this. It is not your doing."
		pr.Kept = "What was recorded before is safe. Whether this was, the journal of the lot shows."
	}
	return pr
}

// sentence is what the error says to a person, hint included.
func sentence(err error) string {
	var known *holdfast.Error
	var fields holdfast.Problems
	var input *ref.InputError
	switch {
	case errors.As(err, &fields) && len(fields) > 0:
		return joined(fields[0].Field+": "+fields[0].Message+".", fields[0].Hint)
	case errors.As(err, &known):
		return joined(known.Message, known.Hint)
	case errors.As(err, &input):
		return joined(words.Capital(ended(input.Message)), input.Hint)
	}
	return err.Error()
}

func joined(message, hint string) string {
	if hint == "" {
		return message
	}
	return message + " " + hint
}
