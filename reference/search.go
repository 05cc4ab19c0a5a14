package reference

import (
	"cmp"
	"slices"
	"strings"
	"unicode"
)

// Hit is one result of a search.
type Hit struct {
	// What is "condition", "look-alike", "pest", "species", "medicine",
	// "listed disease", "topic" or "question".
	What string `json:"what"`
	ID   string `json:"id"`
	Name string `json:"name"`
	// Line is a sentence that holds one of the words, or the first on it.
	Line string `json:"line,omitempty"`
	// Score orders hits; larger is better.
	Score int `json:"score"`
}

// Weights of where a word is found.
const (
	inName = 12
	inText = 2
)

// maxQuery bounds the words of a query that are looked at.
const maxQuery = 12

// entry is what Search looks through.
type entry struct {
	what, id, name string
	names          []string
	lines          []string
}

// Search finds entries that hold every word of the query, in any case, words
// matched from their beginning; names count more than text. Hits come best
// first, ties in the order of the book. An empty query finds nothing.
func (b *Book) Search(query string) []Hit {
	words := split(query)
	hits := []Hit{}
	if len(words) == 0 {
		return hits
	}
	words = words[:min(len(words), maxQuery)]
	for _, e := range b.entries() {
		if score, line := e.match(words); score > 0 {
			hits = append(hits, Hit{What: e.what, ID: e.id, Name: e.name, Line: line, Score: score})
		}
	}
	slices.SortStableFunc(hits, func(x, y Hit) int { return cmp.Compare(y.Score, x.Score) })
	return hits
}

// match returns 0 unless every word is found.
func (e entry) match(words []string) (score int, line string) {
	for _, w := range words {
		best := 0
		for _, n := range append([]string{e.name, strings.ReplaceAll(e.id, "_", " ")}, e.names...) {
			if begins(n, w) {
				best = inName
			}
		}
		for _, l := range e.lines {
			if begins(l, w) {
				best = max(best, inText)
				if line == "" {
					line = l
				}
			}
		}
		if best == 0 {
			return 0, ""
		}
		score += best
	}
	if line == "" && len(e.lines) > 0 {
		line = e.lines[0]
	}
	return score, line
}

// begins reports whether a word of text begins with w.
func begins(text, w string) bool {
	return slices.ContainsFunc(split(text), func(t string) bool { return strings.HasPrefix(t, w) })
}

func split(text string) []string {
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

// entries lists everything that can be found.
func (b *Book) entries() []entry {
	var all []entry
	for _, c := range b.conditions {
		e := entry{what: c.What(), id: c.ID, name: c.Name, names: slices.Concat(c.OtherNames, c.LocalNames, []string{c.Scientific, c.KeyLabel, c.Agent})}
		for _, s := range c.Sections() {
			e.lines = append(e.lines, says(s.Claims)...)
		}
		for _, a := range c.Alike {
			e.lines = append(e.lines, a.Say)
		}
		all = append(all, e)
	}
	for _, k := range b.species {
		e := entry{what: "species", id: k.ID, name: k.Name, names: append(slices.Clone(k.OtherNames), k.Scientific), lines: says(k.Note)}
		for _, s := range k.Strains {
			e.names = append(e.names, s.Name)
		}
		all = append(all, e)
	}
	for _, m := range b.medicines {
		all = append(all, entry{what: "medicine", id: m.ID, name: m.Name, names: []string{m.Active}, lines: says(m.Cautions)})
	}
	for _, l := range b.listed.Diseases {
		all = append(all, entry{what: "listed disease", id: l.ID, name: l.Name, names: []string{l.Agent}})
	}
	for _, t := range b.topics {
		all = append(all, entry{what: "topic", id: t.ID, name: t.Name, lines: says(t.Claims)})
	}
	for _, q := range b.questions {
		all = append(all, entry{what: "question", id: q.ID, name: q.Ask, lines: says(q.Why)})
	}
	return all
}

func says(claims []Claim) []string {
	var out []string
	for _, c := range claims {
		out = append(out, c.Say)
	}
	return out
}
