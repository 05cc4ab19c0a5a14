package reference

import "slices"

// Topic is what to know whatever the condition is: looking, medicines, putting
// animals down, samples, suspicion, safety.
type Topic struct {
	ID     string  `yaml:"id" json:"id"`
	Name   string  `yaml:"name" json:"name"`
	Claims []Claim `yaml:"claims" json:"claims"`
}

// Sections returns what the topic has to say.
func (t Topic) Sections() []Section { return sections(Section{t.Name, t.Claims}) }

// Topics returns all topics in the order of the book.
func (b *Book) Topics() []Topic { return slices.Clone(b.topics) }

// Topic returns the topic with the given id.
func (b *Book) Topic(id string) (Topic, bool) {
	return find(b.topics, func(t *Topic) string { return t.ID }, id)
}
