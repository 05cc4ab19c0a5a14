package book

import (
	"fmt"
	"strings"

	"holdfast/internal/web/view"
	"holdfast/reference"
	"holdfast/reference/drawing"
	"holdfast/science/ref"
)

// said is a claim on the page: its source is the number of a line of the list
// at the foot, or a plain word.
type said struct {
	text, caution string
	number        int
	word          string
}

// block is a headed group of claims.
type block struct {
	heading string
	says    []said
}

// fact is a name and a value.
type fact struct{ name, value string }

// twin is something that looks like it.
type twin struct {
	url, name, small string
	tell             said
}

// option is a treatment people consider.
type option struct {
	url, name, evidence string
	says                said
}

// entry is what the page of one entry shows.
type entry struct {
	kind, title, under string
	mark               view.Mark
	word               string
	drawing            drawing.Drawing
	drawn              bool
	facts              []fact
	blocks             []block
	twins              []twin
	options            []option
	related            []relatedGroup
	sources            []string
}

// relatedGroup is a row of links with the same reason.
type relatedGroup struct {
	why   string
	links []reference.Link
}

// source numbers the sources in the order they are named.
func (e *entry) source(c reference.Claim) said {
	s := said{text: c.Say, caution: c.Caution}
	src, ok := ref.Lookup(c.From)
	if !ok {
		s.word = c.From
		return s
	}
	line := c.Origin()
	if src.DOI != "" {
		line += ", doi " + src.DOI
	}
	for i, have := range e.sources {
		if have == line {
			s.number = i + 1
			return s
		}
	}
	e.sources = append(e.sources, line)
	s.number = len(e.sources)
	return s
}

func (e *entry) add(sections []reference.Section) {
	for _, s := range sections {
		b := block{heading: s.Title}
		for _, c := range s.Claims {
			b.says = append(b.says, e.source(c))
		}
		e.blocks = append(e.blocks, b)
	}
}

// newEntry makes the page of an entry, false if there is none.
func newEntry(b *reference.Book, what, id string) (entry, bool) {
	e := entry{mark: view.NoMark, kind: what}
	ok := false
	switch what {
	case "condition", "look-alike", "pest":
		ok = e.condition(b, what, id)
	case "medicine":
		ok = e.medicine(b, id)
	case "species":
		ok = e.species(b, id)
	case "topic":
		var t reference.Topic
		if t, ok = b.Topic(id); ok {
			e.title = t.Name
			e.add([]reference.Section{{Title: "To know", Claims: t.Claims}})
		}
	case "question":
		ok = e.question(b, id)
	case "group":
		var g reference.Group
		if g, ok = b.Group(id); ok {
			e.title = g.Name
			e.add(g.Sections())
		}
	case "listed disease":
		ok = e.listed(b, id)
	}
	if !ok {
		return entry{}, false
	}
	e.relate(b, what, id)
	return e, true
}

func (e *entry) condition(b *reference.Book, what, id string) bool {
	c, ok := b.Condition(id)
	if !ok || c.What() != what {
		return false
	}
	e.title, e.under = c.Name, c.Scientific
	e.mark, e.word = alarm(c)
	e.drawing, e.drawn = reference.Drawing(c.Drawing)
	e.factsOf(b, c)
	e.add(c.Sections())
	for _, a := range c.Alike {
		o, _ := b.Condition(a.ID)
		t := twin{url: EntryURL(o.What(), o.ID), name: o.Name, tell: e.source(a.Claim)}
		if d, ok := reference.Drawing(o.Drawing); ok {
			t.small = d.Small
		}
		e.twins = append(e.twins, t)
	}
	for _, o := range c.Options {
		m, _ := b.Medicine(o.Medicine)
		e.options = append(e.options, option{url: EntryURL("medicine", m.ID), name: m.Name, evidence: evidenceWords[o.Evidence], says: e.source(o.Claim)})
	}
	return true
}

// evidenceWords say how good the evidence for a treatment is.
var evidenceWords = map[string]string{
	"good":     "tried on this animal in a controlled trial",
	"moderate": "tried on close relatives",
	"analogy":  "known from other worms and other hosts only",
	"practice": "what keepers report",
	"none":     "no evidence",
}

var isolationWords = map[reference.Isolation]string{
	reference.NoIsolation:    "nothing beyond the usual",
	reference.OwnTools:       "own net and tube, last on the round",
	reference.OwnTank:        "own tank, no shared water, own tools, last on the round",
	reference.HoldEverything: "everything stands still, nothing in, nothing out",
}

func (e *entry) factsOf(b *reference.Book, c reference.Condition) {
	put := func(name, value string) {
		if value != "" {
			e.facts = append(e.facts, fact{name, value})
		}
	}
	if c.Own() {
		put("Written by", "your shop")
	}
	put("You call it", strings.Join(c.LocalNames, ", "))
	put("Also called", strings.Join(c.OtherNames, ", "))
	put("What it is", c.Agent)
	if c.SizeMM[1] > 0 {
		put("Length", fmt.Sprintf("%g to %g mm", c.SizeMM[0], c.SizeMM[1]))
	}
	var sites []string
	for _, id := range c.Sites {
		s, _ := b.Site(id)
		name := strings.ToLower(s.Name)
		if s.Number > 0 {
			name += fmt.Sprintf(" (%d)", s.Number)
		}
		sites = append(sites, name)
	}
	put("Where", strings.Join(sites, ", "))
	put("Keep apart", isolationWords[c.Isolation])
	if c.IsCondition() && c.Kind != reference.Unknown {
		put("Course planner", planner(c))
	}
}

// planner says whether the course planner knows the condition.
func planner(c reference.Condition) string {
	switch {
	case c.NotifiableSuspect:
		return "no course: not to be treated"
	case c.LifeCycle == "":
		return "does not know it"
	}
	return "knows it, with the clock of the " + strings.ReplaceAll(c.LifeCycle, "_", " ")
}

func (e *entry) medicine(b *reference.Book, id string) bool {
	m, ok := b.Medicine(id)
	if !ok {
		return false
	}
	e.title, e.under = m.Name, m.Active
	e.mark, e.word = useMark(m.Use)
	e.add(m.Sections())
	return true
}

func (e *entry) species(b *reference.Book, id string) bool {
	k, ok := b.Kept(id)
	if !ok {
		return false
	}
	g, _ := b.Group(k.Group)
	e.title, e.under = k.Name, k.Scientific
	e.facts = append(e.facts, fact{"Group", g.Name}, fact{"Grown", fmt.Sprintf("%g to %g mm", k.LengthMM[0], k.LengthMM[1])})
	if len(k.OtherNames) > 0 {
		e.facts = append(e.facts, fact{"Also called", strings.Join(k.OtherNames, ", ")})
	}
	var strains []string
	for _, s := range k.Strains {
		strains = append(strains, s.Name+" ("+bodyWords[s.Body]+")")
	}
	if len(strains) > 0 {
		e.facts = append(e.facts, fact{"Strains", strings.Join(strains, ", ")})
	}
	e.add(k.Sections())
	return true
}

var bodyWords = map[string]string{"clear": "clear body", "part": "partly clear", "opaque": "opaque"}

func (e *entry) question(b *reference.Book, id string) bool {
	for _, q := range b.Questions() {
		if q.ID != id {
			continue
		}
		e.title = q.Ask
		e.facts = append(e.facts, fact{"How far to trust the answer", trustWords[q.Trust]})
		e.add([]reference.Section{{Title: "Why ask", Claims: q.Why}})
		return true
	}
	return false
}

var trustWords = map[string]string{
	"check":    "it can be checked on arrival",
	"likely":   "mostly true",
	"doubtful": "cannot be checked; a small step only when it favours the seller",
}

func (e *entry) listed(b *reference.Book, id string) bool {
	l := b.Listed()
	for _, d := range l.Diseases {
		if d.ID != id {
			continue
		}
		e.title, e.under = d.Name, d.Agent
		e.mark, e.word = view.Stop, "on the list of notifiable crustacean diseases"
		e.facts = append(e.facts, fact{"List", l.Edition})
		if d.Note != "" {
			e.facts = append(e.facts, fact{"Note", d.Note})
		}
		e.add([]reference.Section{{Title: "The law", Claims: []reference.Claim{{Say: "Suspicion alone may have to be reported. Ask the authority where you are which list holds today.", From: l.From}}}})
		return true
	}
	return false
}

// relate gathers links by their reason, without those the page shows anyway.
func (e *entry) relate(b *reference.Book, what, id string) {
	for _, l := range b.Related(what, id) {
		if l.Why == "looks like it" && e.hasTwin(EntryURL(l.What, l.ID)) || l.Why == "used against it" {
			continue
		}
		n := len(e.related)
		for i := range e.related {
			if e.related[i].why == l.Why {
				n = i
			}
		}
		if n == len(e.related) {
			e.related = append(e.related, relatedGroup{why: l.Why})
		}
		e.related[n].links = append(e.related[n].links, l)
	}
}

func (e *entry) hasTwin(url string) bool {
	for _, t := range e.twins {
		if t.url == url {
			return true
		}
	}
	return false
}
