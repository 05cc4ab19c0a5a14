package reference

import (
	"cmp"
	"embed"
	"fmt"
	"slices"
	"sync"

	"go.yaml.in/yaml/v4"
)

//go:embed data/*.yaml
var data embed.FS

// Book is the whole reference. It is read-only once built; With returns a new
// one.
type Book struct {
	// Version is that of the shop's additions; 0 is the book as shipped.
	Version    int
	conditions []Condition // conditions, then look-alikes, then pests, as filed
	species    []Kept
	groups     []Group
	medicines  []Medicine
	sites      []Site
	listed     List
	questions  []Question
	topics     []Topic
}

// Builtin returns the book as shipped.
func Builtin() *Book { return builtin() }

var builtin = sync.OnceValue(func() *Book {
	b, err := load(func(name string) ([]byte, error) { return data.ReadFile("data/" + name) })
	if err != nil {
		panic("reference: embedded data: " + err.Error()) // tests read it before anybody else can
	}
	return b
})

// load reads every file; a field that the schema does not know is an error.
func load(read func(name string) ([]byte, error)) (*Book, error) {
	b := &Book{}
	var alike, pests []Condition
	for _, f := range []struct {
		name string
		into any
	}{
		{"conditions.yaml", &b.conditions},
		{"lookalikes.yaml", &alike},
		{"pests.yaml", &pests},
		{"species.yaml", &b.species},
		{"groups.yaml", &b.groups},
		{"medicines.yaml", &b.medicines},
		{"sites.yaml", &b.sites},
		{"listed.yaml", &b.listed},
		{"questions.yaml", &b.questions},
		{"topics.yaml", &b.topics},
	} {
		text, err := read(f.name)
		if err != nil {
			return nil, err
		}
		if err := yaml.Load(text, f.into, yaml.WithKnownFields()); err != nil {
			return nil, fmt.Errorf("%s: %w", f.name, err)
		}
	}
	b.conditions = slices.Concat(b.conditions, alike, pests)
	return b, nil
}

// Conditions returns what can be wrong with an animal, "something else" and
// "cannot tell" included, in the order of the book.
func (b *Book) Conditions() []Condition { return b.pick((*Condition).IsCondition) }

// LookAlikes returns normal things and things not of the animal.
func (b *Book) LookAlikes() []Condition { return b.pick((*Condition).IsLookAlike) }

// Pests returns what lives in the tank.
func (b *Book) Pests() []Condition {
	return b.pick(func(c *Condition) bool { return c.Kind == Pest })
}

// Everything returns conditions, look-alikes and pests.
func (b *Book) Everything() []Condition { return slices.Clone(b.conditions) }

// Keys returns what stands on the verdict keys of an inspection, in order.
func (b *Book) Keys() []Condition {
	keys := b.pick(func(c *Condition) bool { return c.Key > 0 })
	slices.SortFunc(keys, func(x, y Condition) int { return cmp.Compare(x.Key, y.Key) })
	return keys
}

func (b *Book) pick(want func(*Condition) bool) []Condition {
	var out []Condition
	for i := range b.conditions {
		if c := &b.conditions[i]; want(c) {
			out = append(out, *c)
		}
	}
	return out
}

// Condition returns the condition, look-alike or pest with the given id.
func (b *Book) Condition(id string) (Condition, bool) {
	return find(b.conditions, func(c *Condition) string { return c.ID }, id)
}

// Species returns the species the book knows.
func (b *Book) Species() []Kept { return slices.Clone(b.species) }

// Kept returns the species with the given id.
func (b *Book) Kept(id string) (Kept, bool) {
	return find(b.species, func(k *Kept) string { return k.ID }, id)
}

// Groups returns the groups of species.
func (b *Book) Groups() []Group { return slices.Clone(b.groups) }

// Group returns the group with the given id.
func (b *Book) Group(id string) (Group, bool) {
	return find(b.groups, func(g *Group) string { return g.ID }, id)
}

// Medicines returns the active ingredients.
func (b *Book) Medicines() []Medicine { return slices.Clone(b.medicines) }

// Medicine returns the active ingredient with the given id.
func (b *Book) Medicine(id string) (Medicine, bool) {
	return find(b.medicines, func(m *Medicine) string { return m.ID }, id)
}

// Sites returns the places on and around the animal.
func (b *Book) Sites() []Site { return slices.Clone(b.sites) }

// Site returns the place with the given id.
func (b *Book) Site(id string) (Site, bool) {
	return find(b.sites, func(s *Site) string { return s.ID }, id)
}

// Listed returns the list of notifiable crustacean diseases and its edition.
func (b *Book) Listed() List { return b.listed }

// CanCarry returns the conditions that animals of a species group can carry,
// each once, signs of another condition left out. The group may also be given
// as a species id. An unknown group carries everything that any group can:
// not knowing the animal must never shorten the list.
func (b *Book) CanCarry(group string) []Condition {
	if k, ok := b.Kept(group); ok {
		group = k.Group
	}
	_, known := b.Group(group)
	return b.pick(func(c *Condition) bool {
		return c.IsCondition() && c.Kind != Unknown && c.SignOf == "" &&
			(slices.Contains(c.CarriedBy, group) || !known && len(c.CarriedBy) > 0)
	})
}

// find returns the one with an id. The rows are large: they are not copied to be
// looked at.
func find[T any](all []T, id func(*T) string, want string) (T, bool) {
	for i := range all {
		if id(&all[i]) == want {
			return all[i], true
		}
	}
	var none T
	return none, false
}

// Conditions returns the conditions of the book as shipped.
func Conditions() []Condition { return Builtin().Conditions() }

// Species returns the species of the book as shipped.
func Species() []Kept { return Builtin().Species() }

// CanCarry returns what a group or species can carry, from the book as shipped.
func CanCarry(group string) []Condition { return Builtin().CanCarry(group) }
