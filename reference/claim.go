package reference

import (
	"slices"

	"holdfast/science/ref"
)

// Origins of a claim that has no publication behind it.
const (
	// CommonPractice is what keepers and traders commonly do or report,
	// without controlled evidence.
	CommonPractice = "common practice"
	// Judgement is the considered guess of whoever wrote the data.
	Judgement = "judgement"
)

// Claim is one statement and where it comes from.
type Claim struct {
	// Say is the statement, one to three plain sentences.
	Say string `yaml:"say" json:"say"`
	// From is a key of ref.Sources, CommonPractice or Judgement.
	From string `yaml:"from" json:"from"`
	// Caution is what can go wrong; a claim that states a dose must have one.
	Caution string `yaml:"caution" json:"caution,omitempty"`
}

// Origin is the claim's source in words: the full citation with how far it
// was read, or the plain word for practice and judgement.
func (c Claim) Origin() string {
	s, ok := ref.Lookup(c.From)
	if !ok {
		return c.From
	}
	switch s.Seen {
	case "memory":
		return s.Citation + " (from memory)"
	case "abstract":
		return s.Citation + " (abstract read)"
	}
	return s.Citation
}

// Section is a headed group of claims, for pages and print.
type Section struct {
	Title  string  `json:"title"`
	Claims []Claim `json:"claims"`
}

// sections keeps those that say something, in the order given.
func sections(all ...Section) []Section {
	return slices.DeleteFunc(all, func(s Section) bool { return len(s.Claims) == 0 })
}
