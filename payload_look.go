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
	// Photo is the SHA-256 of the photograph on which it was judged, and Box
	// where on it, if the person said so.
	Photo string `json:"photo,omitempty"`
	Box   *Box   `json:"box,omitempty"`
}

// Box is a part of a photograph in pixels of the file as stored, whatever its
// orientation tag says: X and Y are the top-left corner.
type Box struct {
	X int `json:"x"`
	Y int `json:"y"`
	W int `json:"w"`
	H int `json:"h"`
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
	// Photos are the photographs by which it was judged, if it was.
	Photos []AnimalPhoto `json:"photos,omitempty"`
	// Alone is what was said of it by the photographs before the desk's marks
	// were shown; nil where nobody was asked before, or there are no photographs.
	Alone *Alone `json:"alone,omitempty"`
}

// Alone is what a person said of an animal before any of the desk's marks on
// its photographs was shown. The findings of the animal are what was said in
// the end, with the marks.
type Alone struct {
	// Named are the conditions named then, as in [Finding]; none is an answer.
	Named []string `json:"named"`
	// Marks is what became of the marks that were then shown; nil where the desk
	// could not look for any, as without a scale.
	Marks *MarksJudged `json:"marks,omitempty"`
}

// MarksJudged counts the rows of dots that the desk marked on the photographs of
// one animal that a person was shown.
type MarksJudged struct {
	Rows int `json:"rows"`
	// Real of them the person called a row of eggs, Nothing something else; of
	// the rest nothing was said.
	Real    int `json:"real"`
	Nothing int `json:"nothing"`
}

// Has reports whether the condition was named before any mark was shown.
func (a Alone) Has(condition string) bool { return slices.Contains(a.Named, condition) }

// AnimalPhoto is a photograph of one animal and the side that it shows.
type AnimalPhoto struct {
	SHA256 string `json:"sha256"`
	Side   Side   `json:"side"`
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
	// Random says that the animals were drawn by lot, or that all were looked
	// at. Animals picked because they looked weak prove presence, never absence,
	// unless they are reckoned as what they are, see Chosen.
	Random bool `json:"random"`
	// Chosen is one of the Chosen constants. It is empty in entries written
	// before it was asked: then Random alone says it.
	Chosen string `json:"chosen,omitempty"`
	// Among is how many animals the choice was made from where that was not the
	// whole lot: those that looked weak, or those that could be caught. 0 means
	// that nobody counted them.
	Among int `json:"among,omitempty"`
	// Pool is how many animals each record takes together, as in one photograph
	// of five; 0 and 1 mean one.
	Pool int `json:"pool,omitempty"`
	// Second is the look whose animals were judged here once more, by other eyes
	// or in another way, without knowledge of the first verdicts. The numbers of
	// the animals are those of that look.
	Second ID `json:"second,omitempty"`
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

// How the animals of a look were chosen.
const (
	ChosenRandom   = "random"
	ChosenAll      = "all"
	ChosenAsCaught = "as_caught"  // whichever could be caught
	ChosenWeak     = "weak_first" // the weak, pale or odd ones on purpose
	ChosenAgain    = "again"      // those of an earlier look
)

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
	p.checkChoice(c)
	c.text("note", p.Note, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

// checkChoice holds together what says how the animals were chosen.
func (p *Inspection) checkChoice(c *checker) {
	c.oneOf("chosen", p.Chosen, "", ChosenRandom, ChosenAll, ChosenAsCaught, ChosenWeak, ChosenAgain)
	if p.Chosen != "" && p.Random != (p.Chosen == ChosenRandom || p.Chosen == ChosenAll) {
		c.add("chosen", "Say once how the animals were chosen.", "random is %t but the animals were chosen %q", p.Random, p.Chosen)
	}
	c.count("among", p.Among, 0)
	if p.Among > 0 {
		switch {
		case p.Chosen != ChosenWeak && p.Chosen != ChosenAsCaught:
			c.add("among", "Leave it empty.", "%d were there to choose from, but the look was not a choice among some", p.Among)
		case p.Among < p.Looked():
			c.add("among", "Count those you chose from again.", "%d were looked at among only %d", p.Looked(), p.Among)
		}
	}
	if p.Pool < 0 || p.Pool > 100 {
		c.add("pool", "Take 1 to 100 animals together.", "%d animals in one picture", p.Pool)
	}
	if (p.Second != "") != (p.Chosen == ChosenAgain) || (p.Second != "" && !p.Second.Valid()) {
		c.add("second", "Start the second look from the first one.", "the look does not say which look it repeats")
	}
}

// PerRecord returns how many animals each record takes together, 1 or more.
func (p *Inspection) PerRecord() int { return max(1, p.Pool) }

// Looked returns how many animals were looked at.
func (p *Inspection) Looked() int { return len(p.Animals) * p.PerRecord() }

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
		f.place(c, at)
	}
	if len(a.Photos) > 200 {
		c.add(at+".photos", "Name at most 200 photographs of an animal.", "%d photographs are too many", len(a.Photos))
		return
	}
	for _, p := range a.Photos {
		if _, err := ParseHash(p.SHA256); err != nil {
			c.add(at+".photos", "Add the photograph again.", "%v", err)
		}
		c.oneOf(at+".photos", string(p.Side), string(Left), string(Right), string(Belly), string(Head))
	}
	if a.Alone != nil {
		a.Alone.check(c, at+".alone")
	}
}

func (a Alone) check(c *checker, at string) {
	if len(a.Named) > 20 {
		c.add(at, "Name at most 20 conditions.", "%d conditions are too many", len(a.Named))
		return
	}
	for _, name := range a.Named {
		c.name(at, name)
	}
	if m := a.Marks; m != nil && (m.Rows < 0 || m.Real < 0 || m.Nothing < 0 || m.Real+m.Nothing > m.Rows) {
		c.add(at, "Judge the marks again.", "of %d marks %d are real and %d nothing", m.Rows, m.Real, m.Nothing)
	}
}

// place checks where on a photograph a finding was judged.
func (f Finding) place(c *checker, at string) {
	if f.Photo != "" {
		if _, err := ParseHash(f.Photo); err != nil {
			c.add(at+".photo", "Choose the photograph again.", "%v", err)
		}
	}
	if b := f.Box; b != nil {
		const far = 1 << 20 // pixels; no photograph is wider
		if f.Photo == "" || b.X < 0 || b.Y < 0 || b.W < 1 || b.H < 1 || b.X > far || b.Y > far || b.W > far || b.H > far {
			c.add(at+".box", "Mark the place on the photograph again.", "the place %v is on no photograph", *b)
		}
	}
}

// Tally counts, for one condition, the animals that told something and the
// records that showed it: a pool with signs counts as one with signs.
func (p *Inspection) Tally(condition string) (looked, positive int) {
	for _, a := range p.Animals {
		if a.Has(condition) {
			positive++
			looked += p.PerRecord()
		} else if a.Readable() {
			looked += p.PerRecord()
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
