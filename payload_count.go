package holdfast

// Counted says how many animals of the lot are alive. The first count after
// opening and every recount are the same kind: what was expected before is
// recorded by the fold, and nothing forces the two to agree.
type Counted struct {
	Count int `json:"count"`
	// PlusMinus is how far off the person thinks the count may be.
	PlusMinus int    `json:"plus_minus"`
	Note      string `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*Counted) Kind() Kind { return KindCounted }

func (p *Counted) check(c *checker) {
	c.count("count", p.Count, 0)
	c.count("plus_minus", p.PlusMinus, 0)
	c.text("note", p.Note, 0, 2000)
}

// Births adds young that hatched in the lot's tank.
type Births struct {
	Count int    `json:"count"`
	Note  string `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*Births) Kind() Kind { return KindBirths }

func (p *Births) check(c *checker) {
	c.count("count", p.Count, 1)
	c.text("note", p.Note, 0, 2000)
}

// Death is animals found dead. Count 0 is a count too: somebody looked and
// found none.
type Death struct {
	Count int    `json:"count"`
	Cause string `json:"cause,omitempty"`
	Task  string `json:"task,omitempty"`
}

// Kind implements [Payload].
func (*Death) Kind() Kind { return KindDeath }

func (p *Death) check(c *checker) {
	c.count("count", p.Count, 0)
	c.text("cause", p.Cause, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

// DOA is animals that were dead on arrival.
type DOA struct {
	Count int    `json:"count"`
	Note  string `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*DOA) Kind() Kind { return KindDOA }

func (p *DOA) check(c *checker) {
	c.count("count", p.Count, 1)
	c.text("note", p.Note, 0, 2000)
}

// Gone is animals that are missing without a body: eaten, or out of the tank.
type Gone struct {
	Count int    `json:"count"`
	Note  string `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*Gone) Kind() Kind { return KindGone }

func (p *Gone) check(c *checker) {
	c.count("count", p.Count, 1)
	c.text("note", p.Note, 0, 2000)
}

// Removal takes living animals out of the lot for good.
type Removal struct {
	Count int `json:"count"`
	// Positive says that they were animals with signs, taken out after a look.
	Positive bool   `json:"positive,omitempty"`
	Reason   string `json:"reason"`
}

// Kind implements [Payload].
func (*Removal) Kind() Kind { return KindRemoval }

func (p *Removal) check(c *checker) {
	c.count("count", p.Count, 1)
	c.text("reason", p.Reason, 1, 2000)
}
