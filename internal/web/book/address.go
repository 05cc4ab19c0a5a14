package book

import "strings"

// Where the pages stand.
const (
	ReferenceURL = "/reference"
	SignsURL     = "/signs"
)

// EntryURL is the address of an entry; what is the word that the reference
// uses, as "condition" or "listed disease".
func EntryURL(what, id string) string {
	return ReferenceURL + "/" + strings.ReplaceAll(what, " ", "-") + "/" + id
}

// whatOf is the word of an address: "look-alike" keeps its dash.
func whatOf(segment string) string {
	if segment == "listed-disease" {
		return "listed disease"
	}
	return segment
}
