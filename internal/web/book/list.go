package book

import (
	"net/url"
	"strings"
	"unicode/utf8"

	"holdfast/internal/web/view"
	"holdfast/reference"
)

// card is one entry of the list.
type card struct {
	url, name, line, small string
	mark                   view.Mark
	word                   string
	// own says that the shop wrote it, or what the shop calls it.
	own string
}

// shelf is a group of cards under a heading.
type shelf struct {
	id, heading string
	cards       []card
}

// list is what the list page shows.
type list struct {
	query   string
	shelves []shelf
	sieves  []view.Sieve
	found   int
}

// longestQuery bounds what is searched for.
const longestQuery = 200

// shelfOrder is the order of the kinds, with their headings.
var shelfOrder = []struct{ what, heading string }{
	{"condition", "What can be wrong"},
	{"look-alike", "Normal, or nothing at all"},
	{"pest", "In the tank"},
	{"medicine", "Active ingredients"},
	{"species", "Animals"},
	{"topic", "Whatever it is"},
	{"question", "Ask the seller"},
	{"listed disease", "Notifiable diseases"},
}

// newList answers a query: every word must occur; no words show everything.
func newList(b *reference.Book, q url.Values) list {
	query := strings.TrimSpace(q.Get("q"))
	if utf8.RuneCountInString(query) > longestQuery {
		query = string([]rune(query)[:longestQuery])
	}
	only := q.Get("kind")
	l := list{query: query}
	hits := everything(b)
	if query != "" {
		hits = b.Search(query)
	}
	for _, s := range shelfOrder {
		sh := shelf{id: strings.ReplaceAll(s.what, " ", "-"), heading: s.heading}
		for _, h := range hits {
			if h.What == s.what {
				sh.cards = append(sh.cards, newCard(b, h))
			}
		}
		l.sieves = append(l.sieves, view.Sieve{Label: s.heading, URL: listURL(query, s.what), Count: len(sh.cards), Current: only == s.what})
		if len(sh.cards) > 0 && (only == "" || only == s.what) {
			l.shelves = append(l.shelves, sh)
			l.found += len(sh.cards)
		}
	}
	l.sieves = append([]view.Sieve{{Label: "Everything", URL: listURL(query, ""), Count: len(hits), Current: only == ""}}, l.sieves...)
	return l
}

func listURL(query, kind string) string {
	v := url.Values{}
	if query != "" {
		v.Set("q", query)
	}
	if kind != "" {
		v.Set("kind", kind)
	}
	if len(v) == 0 {
		return ReferenceURL
	}
	return ReferenceURL + "?" + v.Encode()
}

// everything lists all entries as hits, in the order of the book.
func everything(b *reference.Book) []reference.Hit {
	var all []reference.Hit
	for _, c := range b.Everything() {
		all = append(all, reference.Hit{What: c.What(), ID: c.ID, Name: c.Name})
	}
	for _, m := range b.Medicines() {
		all = append(all, reference.Hit{What: "medicine", ID: m.ID, Name: m.Name})
	}
	for _, k := range b.Species() {
		all = append(all, reference.Hit{What: "species", ID: k.ID, Name: k.Name})
	}
	for _, t := range b.Topics() {
		all = append(all, reference.Hit{What: "topic", ID: t.ID, Name: t.Name})
	}
	for _, q := range b.Questions() {
		all = append(all, reference.Hit{What: "question", ID: q.ID, Name: q.Ask})
	}
	for _, d := range b.Listed().Diseases {
		all = append(all, reference.Hit{What: "listed disease", ID: d.ID, Name: d.Name})
	}
	return all
}

func newCard(b *reference.Book, h reference.Hit) card {
	c := card{url: EntryURL(h.What, h.ID), name: h.Name, line: h.Line, mark: view.NoMark}
	switch h.What {
	case "condition", "look-alike", "pest":
		e, _ := b.Condition(h.ID)
		if d, ok := reference.Drawing(e.Drawing); ok {
			c.small = d.Small
		}
		c.mark, c.word = alarm(e)
		c.own = shopWords(e)
		if c.line == "" && len(e.Look) > 0 {
			c.line = e.Look[0].Say
		}
	case "medicine":
		m, _ := b.Medicine(h.ID)
		c.mark, c.word = useMark(m.Use)
		if c.line == "" {
			c.line = m.Active
		}
	case "species":
		k, _ := b.Kept(h.ID)
		if c.line == "" {
			c.line = k.Scientific
		}
	}
	return c
}

// alarm is the state mark beside a condition, if any.
func alarm(e reference.Condition) (view.Mark, string) {
	switch {
	case e.NotifiableSuspect:
		return view.Stop, "hold everything, call the authority"
	case e.KillsNoCure:
		return view.Stop, "kills, no cure"
	}
	return view.NoMark, ""
}

func useMark(u reference.Use) (view.Mark, string) {
	switch u {
	case reference.Never:
		return view.Stop, "never: kills shrimp"
	case reference.Avoid:
		return view.Half, "better avoided"
	}
	return view.NoMark, ""
}

// shopWords says what of an entry is the shop's own.
func shopWords(e reference.Condition) string {
	var parts []string
	if e.Own() {
		parts = append(parts, "your own entry")
	}
	if len(e.LocalNames) > 0 {
		parts = append(parts, "you call it "+strings.Join(e.LocalNames, ", "))
	}
	return strings.Join(parts, "; ")
}
