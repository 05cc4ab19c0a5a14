package reference

import (
	"slices"
	"strings"

	"holdfast/science/ref"
)

// OwnPrefix begins the id of every condition that a shop adds, so that it can
// never collide with one that ships later.
const OwnPrefix = "own_"

// Own reports whether the shop wrote the entry itself.
func (c Condition) Own() bool { return strings.HasPrefix(c.ID, OwnPrefix) }

// Additions are a shop's own: further conditions, and names in its own words.
type Additions struct {
	// Version rises by one with every change; old versions are kept by whoever
	// stores them.
	Version    int         `yaml:"version" json:"version"`
	Conditions []Condition `yaml:"conditions" json:"conditions,omitempty"`
	// LocalNames maps ids of conditions to names.
	LocalNames map[string][]string `yaml:"local_names" json:"local_names,omitempty"`
}

// With returns a book with the additions; the receiver does not change. It
// returns an InputError that says what is wrong with the first bad one: an id
// without OwnPrefix, a claim without a source, a link to nothing, a dose
// without a caution, a name for something unknown.
func (b *Book) With(a Additions) (*Book, error) {
	out := *b
	out.Version = a.Version
	out.conditions = slices.Clone(b.conditions)
	for _, c := range a.Conditions {
		if !strings.HasPrefix(c.ID, OwnPrefix) {
			return nil, ref.Inputf("id", "Begin it with "+OwnPrefix+".", "the id %q is not one of yours", c.ID)
		}
		out.conditions = append(out.conditions, c)
	}
	for id, names := range a.LocalNames {
		i := slices.IndexFunc(out.conditions, func(c Condition) bool { return c.ID == id })
		if i < 0 {
			return nil, ref.Inputf("local_names", "Use an id of the reference.", "there is no condition %q", id)
		}
		for _, n := range names {
			if strings.TrimSpace(n) == "" {
				return nil, ref.Inputf("local_names", "Write the name.", "an empty name for %q", id)
			}
		}
		out.conditions[i].LocalNames = slices.Concat(out.conditions[i].LocalNames, names)
	}
	if faults := out.Check(); len(faults) > 0 {
		return nil, ref.Inputf("conditions", "Mend it and save again; nothing was changed.", "%s", faults[0])
	}
	return &out, nil
}
