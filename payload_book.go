package holdfast

import (
	"encoding/json"
	"fmt"
)

// ReferenceSet states what the shop itself says of one entry of the reference
// from this moment on: its own names for it, or the whole of an entry that the
// shop wrote. The newest one of an entry holds; older ones are its versions.
type ReferenceSet struct {
	// Entry is the id of the entry; of one's own it begins with "own_".
	Entry string `json:"entry"`
	// Names are the shop's own words for it.
	Names []string `json:"names,omitempty"`
	// Own is the text of an entry that the shop wrote, in the reference's form;
	// absent for an entry that ships.
	Own json.RawMessage `json:"own,omitempty"`
	// Looks are the signs that it usually shows, by question of the signs, so
	// that it takes part in their ranking; Start is how usual it is here.
	Looks map[string][]string `json:"looks,omitempty"`
	Start string              `json:"start,omitempty"`
	// Gone takes an entry of one's own out of use; its id stays taken.
	Gone bool `json:"gone,omitempty"`
}

// Kind implements [Payload].
func (*ReferenceSet) Kind() Kind { return KindReferenceSet }

func (p *ReferenceSet) check(c *checker) {
	c.name("entry", p.Entry)
	if len(p.Names) > 20 {
		c.add("names", "Keep at most 20 names.", "%d names are too many", len(p.Names))
		return
	}
	for _, n := range p.Names {
		c.text("names", n, 1, 80)
	}
	if len(p.Own) > 64<<10 {
		c.add("own", "Shorten it.", "the entry has %d kB, more than 64", len(p.Own)>>10)
	}
	if len(p.Own) > 0 && p.Own[0] != '{' {
		c.add("own", "Write it on its page.", "the entry is not an object")
	}
	c.ticks("looks", p.Looks)
	c.text("start", p.Start, 0, 20)
}

// ticks checks a map from question to ticked answers.
func (c *checker) ticks(field string, all map[string][]string) {
	if len(all) > 100 {
		c.add(field, "Answer each question once.", "%d questions are too many", len(all))
		return
	}
	for q, options := range all {
		c.name(field, q)
		if len(options) > 100 {
			c.add(field, "Tick each answer once.", "%d answers are too many", len(options))
			return
		}
		for _, o := range options {
			c.name(field, o)
		}
	}
}

// CaseConfirmed says what a suspicion turned out to be, and by what it was
// confirmed, so that the signs of it count.
type CaseConfirmed struct {
	// Truth is an id of the reference.
	Truth string `json:"truth"`
	// Proof is "laboratory", "microscope" or "response" (it went as that
	// suspect would after a treatment).
	Proof string `json:"proof"`
	// By is who found it: a laboratory's or veterinarian's report.
	By string `json:"by,omitempty"`
	// Signs are what was seen, by question of the signs.
	Signs map[string][]string `json:"signs"`
	Note  string              `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*CaseConfirmed) Kind() Kind { return KindCaseConfirmed }

func (p *CaseConfirmed) check(c *checker) {
	c.name("truth", p.Truth)
	c.oneOf("proof", p.Proof, ProofLaboratory, ProofMicroscope, ProofResponse)
	c.text("by", p.By, 0, 200)
	if len(p.Signs) == 0 {
		c.add("signs", "Tick what was seen.", "the case has no sign")
	}
	c.ticks("signs", p.Signs)
	c.text("note", p.Note, 0, 2000)
}

// What a case was confirmed by.
const (
	ProofLaboratory = "laboratory"
	ProofMicroscope = "microscope"
	ProofResponse   = "response"
)

// Declared is what a seller answered to the questions before buying, or with a
// delivery. Of two answers to one question the newer one holds.
type Declared struct {
	Supplier string `json:"supplier"`
	// Consignment is the delivery it goes with; empty for a supplier asked
	// before anything was bought, and then it holds for deliveries that follow.
	Consignment string `json:"consignment,omitempty"`
	// Answers maps questions of the reference to ids of their answers, Words to
	// what was said in words.
	Answers map[string]string `json:"answers,omitempty"`
	Words   map[string]string `json:"words,omitempty"`
	// Backed is what stands behind the word: "said", "shown" (pictures, papers)
	// or "seen" (by somebody of this shop).
	Backed string `json:"backed"`
	Note   string `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*Declared) Kind() Kind { return KindDeclared }

func (p *Declared) check(c *checker) {
	c.text("supplier", p.Supplier, 1, 80)
	if p.Consignment != "" {
		c.name("consignment", p.Consignment)
	}
	if len(p.Answers)+len(p.Words) == 0 {
		c.add("answers", "Write down at least one answer.", "nothing was declared")
	}
	if len(p.Answers) > 100 || len(p.Words) > 100 {
		c.add("answers", "Answer each question once.", "too many answers")
		return
	}
	for q, a := range p.Answers {
		c.name("answers", q)
		c.name("answers", a)
	}
	for q, w := range p.Words {
		c.name("words", q)
		c.text(fmt.Sprintf("words_%s", q), w, 1, 1000)
	}
	c.oneOf("backed", p.Backed, BackedSaid, BackedShown, BackedSeen)
	c.text("note", p.Note, 0, 2000)
}

// What stands behind a seller's word.
const (
	BackedSaid  = "said"
	BackedShown = "shown"
	BackedSeen  = "seen"
)
