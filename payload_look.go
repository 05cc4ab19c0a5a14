package holdfast

import (
	"fmt"
	"slices"
)

// Side is a part of an animal that was in view or not.
type Side string

// The sides of an animal. Left and right show the gill chamber through the
// clear side of the carapace.
const (
	Left  Side = "left"
	Right Side = "right"
	Belly Side = "belly"
	Head  Side = "head"
)

// Sides lists the sides in the order in which they are shown.
var Sides = []Side{Left, Right, Belly, Head}

// How a look was made.
const (
	ByEye        = "eye"
	ByLens       = "lens"
	ByPhoto      = "photo"
	ByMicroscope = "microscope"
)

// Finding is a sign on one animal.
type Finding struct {
	// Condition is an id of the reference, such as "rostrum_worm". Two are
	// reserved: "pigment" for a spot that is no parasite and "cannot_tell".
	Condition string `json:"condition"`
	// Sign is what was seen of it, such as "worm" or "egg_row".
	Sign        string `json:"sign,omitempty"`
	Site        string `json:"site,omitempty"`
	Form        string `json:"form,omitempty"`
	Arrangement string `json:"arrangement,omitempty"`
	Motion      string `json:"motion,omitempty"`
	Note        string `json:"note,omitempty"`
}

// Verdicts that name no condition.
const (
	Pigment    = "pigment"
	CannotTell = "cannot_tell"
)

// Animal is what one animal showed.
type Animal struct {
	No int `json:"no"`
	// Place is where it was caught, in words ("back left, low").
	Place string `json:"place,omitempty"`
	// Seen lists the sides that were in view.
	Seen     []Side    `json:"seen"`
	Findings []Finding `json:"findings,omitempty"`
}

// Has reports whether the animal showed signs of the condition.
func (a Animal) Has(condition string) bool {
	return slices.ContainsFunc(a.Findings, func(f Finding) bool { return f.Condition == condition })
}

// Readable reports whether the look at this animal told anything: at least one
// side seen and no "cannot tell".
func (a Animal) Readable() bool { return len(a.Seen) > 0 && !a.Has(CannotTell) }

// Inspection is a look at n animals of the lot.
type Inspection struct {
	By string `json:"by"`
	// Random says that the animals were drawn by lot. Animals picked because
	// they looked weak prove presence, never absence.
	Random bool `json:"random"`
	// LookedFor lists the conditions that this look could have shown.
	LookedFor []string `json:"looked_for"`
	// Planned is how many the look was meant to take; the gate asks for it.
	Planned int      `json:"planned"`
	Animals []Animal `json:"animals"`
	// Blind says that the chance was hidden while the person judged.
	Blind bool   `json:"blind,omitempty"`
	Note  string `json:"note,omitempty"`
	Task  string `json:"task,omitempty"`
}

// Kind implements [Payload].
func (*Inspection) Kind() Kind { return KindInspection }

func (p *Inspection) check(c *checker) {
	c.oneOf("by", p.By, ByEye, ByLens, ByPhoto, ByMicroscope)
	if len(p.LookedFor) == 0 || len(p.LookedFor) > 50 {
		c.add("looked_for", "Choose at least one condition.", "the look says nothing of what it looked for")
	}
	for _, cond := range p.LookedFor {
		c.name("looked_for", cond)
	}
	c.count("planned", p.Planned, 0)
	if len(p.Animals) == 0 || len(p.Animals) > 10_000 {
		c.add("animals", "Record 1 to 10,000 animals.", "%d animals were looked at", len(p.Animals))
	}
	seen := make(map[int]bool, len(p.Animals))
	for i, a := range p.Animals {
		a.check(c, fmt.Sprintf("animals[%d]", i))
		if seen[a.No] {
			c.add("animals", "Number the animals once each.", "animal %d stands twice", a.No)
		}
		seen[a.No] = true
		if len(c.problems) > 20 {
			return
		}
	}
	c.text("note", p.Note, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

func (a Animal) check(c *checker, at string) {
	c.count(at+".no", a.No, 1)
	c.text(at+".place", a.Place, 0, 80)
	for i, s := range a.Seen {
		c.oneOf(at+".seen", string(s), string(Left), string(Right), string(Belly), string(Head))
		if slices.Contains(a.Seen[:i], s) {
			c.add(at+".seen", "Name each side once.", "side %q stands twice", s)
		}
	}
	if len(a.Findings) > 20 {
		c.add(at+".findings", "Record at most 20 findings an animal.", "%d findings are too many", len(a.Findings))
		return
	}
	for _, f := range a.Findings {
		c.name(at+".condition", f.Condition)
		for _, s := range []string{f.Sign, f.Site, f.Form, f.Arrangement, f.Motion} {
			c.text(at+".finding", s, 0, 80)
		}
		c.text(at+".note", f.Note, 0, 500)
	}
}

// Tally counts, for one condition, the animals that told something and those
// that showed it.
func (p *Inspection) Tally(condition string) (looked, positive int) {
	for _, a := range p.Animals {
		if a.Has(condition) {
			positive++
			looked++
		} else if a.Readable() {
			looked++
		}
	}
	return looked, positive
}

// Positive counts the animals with a sign of any condition.
func (p *Inspection) Positive() int {
	n := 0
	for _, a := range p.Animals {
		if slices.ContainsFunc(a.Findings, func(f Finding) bool { return f.Condition != Pigment && f.Condition != CannotTell }) {
			n++
		}
	}
	return n
}

// PhotoAdded says that a photograph of the lot is kept under its content hash.
type PhotoAdded struct {
	SHA256 string `json:"sha256"`
	Size   int64  `json:"size"`
	Media  string `json:"media"`
	Name   string `json:"name,omitempty"`
	// Inspection and Animal tie it to one animal of a look, if it belongs to one.
	Inspection ID     `json:"inspection,omitempty"`
	Animal     int    `json:"animal,omitempty"`
	Side       Side   `json:"side,omitempty"`
	Note       string `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*PhotoAdded) Kind() Kind { return KindPhotoAdded }

func (p *PhotoAdded) check(c *checker) {
	if _, err := ParseHash(p.SHA256); err != nil {
		c.add("sha256", "Add the photograph again.", "%v", err)
	}
	if p.Size < 1 || p.Size > 1<<30 {
		c.add("size", "Photographs may have up to 1 GB.", "a photograph of %d bytes", p.Size)
	}
	c.oneOf("media", p.Media, "image/jpeg", "image/png", "image/webp", "image/heic", "image/tiff")
	c.text("name", p.Name, 0, 200)
	if p.Inspection != "" && !p.Inspection.Valid() {
		c.add("inspection", "Choose the look again.", "%q is not an entry", p.Inspection)
	}
	c.count("animal", p.Animal, 0)
	c.oneOf("side", string(p.Side), "", string(Left), string(Right), string(Belly), string(Head))
	c.text("note", p.Note, 0, 2000)
}
