package reference

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"holdfast/science/ref"
)

var (
	idForm   = regexp.MustCompile(`^[a-z][a-z0-9_]*$`)
	doseForm = regexp.MustCompile(`(?i)\d[\d.,]*\s*(?:-|–|to)?\s*[\d.,]*\s*(?:mg|µg|ug|g|ml|mL|drops?|ppm|ppt|%)\s*(?:/\s*|per\s+)?(?:l|litre|liter|gallon)?\b`)
	// wordsDose finds a dose without a figure: a spoon, tablet, drop or gram to some
	// water.
	wordsDose = regexp.MustCompile(`(?i)\b(?:(?:one|two|three|four|five|six|ten|half a|\d+) (?:grams?|millilitres?)|(?:an?|one|two|three|four|five|half a|\d+) (?:level |heaped )?(?:tablets?|drops?|pinch(?:es)?|doses?))\b[^.]{0,40}\b(?:per|to|in) (?:an? |each |one |\d+ )?(?:litres?|l|cups?|gallons?|bucket)\b|\b(?:tea|table)spoon(?:s|fuls?)?\b`)
	// brandForm finds the shapes that only brands have: a mark, capitals inside a
	// word. One written in small letters looks like any word; telling them apart
	// takes a list of brands, which has no place here, or of every honest word.
	brandForm = regexp.MustCompile(`[®™©]|\b[a-z]+[A-Z]\w*|\b[A-Z][a-z]+[A-Z]\w*`)
)

// notBrands are words in mixed capitals that are units or terms.
var notBrands = []string{"pH"}

// Check returns what is wrong with the book, one sentence each: a claim
// without a known source, a link to nothing, something that looks like a
// product's name, a dose without a caution, a value outside its range.
func (b *Book) Check() []string {
	c := checker{book: b, seen: map[string]bool{}}
	for _, e := range b.conditions {
		c.condition(e)
	}
	for _, k := range b.species {
		c.kept(k)
	}
	for _, g := range b.groups {
		c.id("group", g.ID)
		c.claims("group "+g.ID, g.Note)
	}
	for _, m := range b.medicines {
		c.medicine(m)
	}
	for _, s := range b.sites {
		c.id("site", s.ID)
		c.words("site "+s.ID, s.Name, s.Tell)
	}
	for _, t := range b.topics {
		c.id("topic", t.ID)
		c.words("topic "+t.ID, t.Name)
		c.claims("topic "+t.ID, t.Claims)
		if len(t.Claims) == 0 {
			c.fault("topic %s: nothing said", t.ID)
		}
	}
	for _, q := range b.questions {
		c.question(q)
	}
	c.from("listed diseases", b.listed.From)
	for _, l := range b.listed.Diseases {
		c.id("listed", l.ID)
	}
	return c.faults
}

type checker struct {
	book   *Book
	seen   map[string]bool
	faults []string
}

func (c *checker) fault(format string, args ...any) {
	c.faults = append(c.faults, fmt.Sprintf(format, args...))
}

// id wants a well-formed id that is unique within its kind.
func (c *checker) id(kind, id string) {
	if !idForm.MatchString(id) {
		c.fault("%s %q: an id is lower-case words joined by _", kind, id)
	}
	if c.seen[kind+" "+id] {
		c.fault("%s %q occurs twice", kind, id)
	}
	c.seen[kind+" "+id] = true
}

// from wants a known source or one of the two plain origins.
func (c *checker) from(where, key string) {
	if key == CommonPractice || key == Judgement {
		return
	}
	if key == "" {
		c.fault("%s: no source", where)
	} else if _, ok := ref.Lookup(key); !ok {
		c.fault("%s: unknown source %q", where, key)
	}
}

func (c *checker) claims(where string, claims ...[]Claim) {
	for _, claim := range slices.Concat(claims...) {
		c.claim(where, claim)
	}
}

func (c *checker) claim(where string, claim Claim) {
	if strings.TrimSpace(claim.Say) == "" {
		c.fault("%s: an empty claim", where)
	}
	c.from(where, claim.From)
	c.words(where, claim.Say, claim.Caution)
	if (doseForm.MatchString(claim.Say) || wordsDose.MatchString(claim.Say)) && claim.Caution == "" {
		c.fault("%s: %q states a strength without a caution", where, claim.Say)
	}
}

// words refuses what looks like a product's name.
func (c *checker) words(where string, texts ...string) {
	for _, t := range texts {
		for _, w := range brandForm.FindAllString(t, -1) {
			if !slices.Contains(notBrands, w) {
				c.fault("%s: %q looks like a product's name", where, w)
			}
		}
	}
}

func (c *checker) link(where string, ok bool, to string) {
	if !ok {
		c.fault("%s: link to %q, which does not exist", where, to)
	}
}

func (c *checker) condition(e Condition) {
	where := "condition " + e.ID
	c.id("condition", e.ID)
	c.words(where, slices.Concat([]string{e.Name, e.Agent, e.KeyLabel}, e.OtherNames, e.LocalNames)...)
	switch e.Kind {
	case Parasite, Epibiont, Disease, Disorder, Pest, Normal, Artefact, Unknown:
	default:
		c.fault("%s: unknown kind %q", where, e.Kind)
	}
	switch e.Isolation {
	case NoIsolation, OwnTools, OwnTank, HoldEverything:
	case "":
		if e.IsCondition() {
			c.fault("%s: no isolation level", where)
		}
	default:
		c.fault("%s: unknown isolation %q", where, e.Isolation)
	}
	if e.NotifiableSuspect && e.Isolation != HoldEverything {
		c.fault("%s: a notifiable suspicion must hold everything", where)
	}
	if e.SizeMM[0] < 0 || e.SizeMM[1] < e.SizeMM[0] {
		c.fault("%s: size %v", where, e.SizeMM)
	}
	if len(e.Look) == 0 {
		c.fault("%s: nothing on what it looks like", where)
	}
	if e.IsCondition() && len(e.Do) == 0 {
		c.fault("%s: nothing on what to do", where)
	}
	if e.Tracked && (len(e.CarriedBy) == 0 || len(e.Tell) == 0) {
		c.fault("%s: tracked, but without carriers or words for the buyer", where)
	}
	c.claims(where, e.Look, e.Where, e.Life, e.Spreads, e.Harm, e.Do, e.Stop, e.Law, e.Tell)
	c.conditionLinks(where, e)
}

func (c *checker) conditionLinks(where string, e Condition) {
	if e.Drawing != "" {
		_, ok := Drawing(e.Drawing)
		c.link(where, ok, e.Drawing)
	}
	if e.SignOf != "" {
		_, ok := c.book.Condition(e.SignOf)
		c.link(where, ok && e.SignOf != e.ID, e.SignOf)
	}
	for _, g := range e.CarriedBy {
		_, ok := c.book.Group(g)
		c.link(where, ok, g)
	}
	for _, s := range e.Sites {
		_, ok := c.book.Site(s)
		c.link(where, ok, s)
	}
	for _, l := range e.Listed {
		_, ok := find(c.book.listed.Diseases, func(d *ListedEntry) string { return d.ID }, l)
		c.link(where, ok, l)
	}
	for _, a := range e.Alike {
		_, ok := c.book.Condition(a.ID)
		c.link(where, ok && a.ID != e.ID, a.ID)
		c.claim(where, a.Claim)
	}
	for _, o := range e.Options {
		m, ok := c.book.Medicine(o.Medicine)
		c.link(where, ok, o.Medicine)
		if m.Use == Never {
			c.fault("%s: offers %q, which kills shrimp", where, o.Medicine)
		}
		if !slices.Contains([]string{"good", "moderate", "analogy", "practice", "none"}, o.Evidence) {
			c.fault("%s: unknown evidence %q", where, o.Evidence)
		}
		c.claim(where, o.Claim)
	}
	if e.NotifiableSuspect && len(e.Options) > 0 {
		c.fault("%s: a notifiable suspicion is not treated", where)
	}
}

func (c *checker) kept(k Kept) {
	where := "species " + k.ID
	c.id("species", k.ID)
	_, ok := c.book.Group(k.Group)
	c.link(where, ok, k.Group)
	c.claims(where, k.Note)
	if k.LengthMM[0] <= 0 || k.LengthMM[1] < k.LengthMM[0] {
		c.fault("%s: length %v", where, k.LengthMM)
	}
	for _, s := range []Span{k.Needs.TempC, k.Needs.PH, k.Needs.GH, k.Needs.KH, k.Needs.Conductivity} {
		c.from(where, s.From)
		if s.Low < 0 || s.High <= s.Low {
			c.fault("%s: range %g to %g", where, s.Low, s.High)
		}
	}
	for _, s := range k.Strains {
		c.id("strain of "+k.ID, s.ID)
		c.words(where, s.Name)
		if !slices.Contains([]string{"clear", "part", "opaque"}, s.Body) {
			c.fault("%s: strain %s: body %q", where, s.ID, s.Body)
		}
	}
	for _, m := range k.Harmed {
		_, ok := c.book.Medicine(m)
		c.link(where, ok, m)
	}
}

func (c *checker) medicine(m Medicine) {
	where := "medicine " + m.ID
	c.id("medicine", m.ID)
	c.words(where, m.Name, m.Active)
	c.claims(where, m.Cautions)
	if len(m.Cautions) == 0 {
		c.fault("%s: no caution", where)
	}
	if !slices.Contains([]Use{Usable, Avoid, Never}, m.Use) {
		c.fault("%s: unknown use %q", where, m.Use)
	}
	for _, id := range slices.Concat(m.Kills, m.Spares) {
		_, ok := c.book.Condition(id)
		c.link(where, ok, id)
	}
	if m.Use == Never && len(m.Doses) > 0 {
		c.fault("%s: a dose of something that kills shrimp", where)
	}
	for _, d := range m.Doses {
		c.from(where, d.From)
		if d.Caution == "" {
			c.fault("%s: a dose without a caution", where)
		}
		if !(d.Low > 0 && d.High >= d.Low && d.TimeLow > 0 && d.TimeHigh >= d.TimeLow) {
			c.fault("%s: dose range %+v", where, d)
		}
		if !slices.Contains([]string{"g/L", "mg/L"}, d.Unit) || !slices.Contains([]string{"s", "min", "h"}, d.TimeUnit) {
			c.fault("%s: dose in %q for %q", where, d.Unit, d.TimeUnit)
		}
	}
}

func (c *checker) question(q Question) {
	where := "question " + q.ID
	c.id("question", q.ID)
	c.words(where, q.Ask)
	c.claims(where, q.Why)
	if len(q.Why) == 0 || q.Ask == "" {
		c.fault("%s: nothing to ask, or no reason", where)
	}
	if !slices.Contains([]string{"check", "likely", "doubtful"}, q.Trust) {
		c.fault("%s: unknown trust %q", where, q.Trust)
	}
	for _, a := range q.Answers {
		c.id("answer to "+q.ID, a.ID)
	}
}
