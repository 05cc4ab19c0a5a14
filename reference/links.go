package reference

import "slices"

// Link is one entry that has to do with another.
type Link struct {
	What string `json:"what"`
	ID   string `json:"id"`
	Name string `json:"name"`
	// Why says how, seen from the entry asked for.
	Why string `json:"why"`
}

// arc is a link as filed, with its words for both directions.
type arc struct {
	from, to    node
	there, back string
}

type node struct{ what, id string }

// Related returns everything that the entry names and everything that names
// it, each once for every reason, in the order of the book. What is the word
// that Search uses, or "group"; conditions, look-alikes and pests share ids.
func (b *Book) Related(what, id string) []Link {
	self := node{kindOf(what), id}
	out := []Link{}
	add := func(n node, why string) {
		l := Link{What: b.whatIs(n), ID: n.id, Name: b.nameOf(n), Why: why}
		if !slices.Contains(out, l) {
			out = append(out, l)
		}
	}
	for _, a := range b.arcs() {
		if a.from == self {
			add(a.to, a.there)
		}
		if a.to == self {
			add(a.from, a.back)
		}
	}
	return out
}

// kindOf folds the three words for a condition into one.
func kindOf(what string) string {
	if what == "look-alike" || what == "pest" {
		return "condition"
	}
	return what
}

func (b *Book) arcs() []arc {
	var out []arc
	link := func(from, to node, there, back string) { out = append(out, arc{from, to, there, back}) }
	for _, c := range b.conditions {
		self := node{"condition", c.ID}
		if c.SignOf != "" {
			link(self, node{"condition", c.SignOf}, "it is a sign of", "shows as")
		}
		for _, a := range c.Alike {
			link(self, node{"condition", a.ID}, "looks like it", "looks like it")
		}
		for _, o := range c.Options {
			link(self, node{"medicine", o.Medicine}, "used against it", "used against")
		}
		for _, g := range c.CarriedBy {
			link(self, node{"group", g}, "can carry it", "can carry")
		}
		for _, l := range c.Listed {
			link(self, node{"listed disease", l}, "must be thought of", "suspected from")
		}
	}
	for _, k := range b.species {
		link(node{"species", k.ID}, node{"group", k.Group}, "belongs to", "kept species")
		for _, m := range k.Harmed {
			link(node{"species", k.ID}, node{"medicine", m}, "harmed by", "harms")
		}
	}
	for _, m := range b.medicines {
		for _, k := range m.Kills {
			link(node{"medicine", m.ID}, node{"condition", k}, "kills", "killed by")
		}
		for _, s := range m.Spares {
			link(node{"medicine", m.ID}, node{"condition", s}, "does not kill", "not killed by")
		}
	}
	return out
}

func (b *Book) nameOf(n node) string {
	switch n.what {
	case "condition":
		c, _ := b.Condition(n.id)
		return c.Name
	case "medicine":
		m, _ := b.Medicine(n.id)
		return m.Name
	case "species":
		k, _ := b.Kept(n.id)
		return k.Name
	case "group":
		g, _ := b.Group(n.id)
		return g.Name
	case "listed disease":
		l, _ := find(b.listed.Diseases, func(l *ListedEntry) string { return l.ID }, n.id)
		return l.Name
	}
	return ""
}

func (b *Book) whatIs(n node) string {
	if n.what != "condition" {
		return n.what
	}
	c, _ := b.Condition(n.id)
	return c.What()
}
