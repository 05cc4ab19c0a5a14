package desk

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"regexp"
	"strings"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/ref"
	"holdfast/science/signs"
)

// Book is the reference and the signs as this shop has them: what ships, with
// its own entries, names and confirmed cases.
type Book struct {
	// Kept is the fold that it comes from.
	Kept      *holdfast.Book
	Reference *reference.Book
	// Signs is moved by own suspects and cases; Before has the suspects only.
	Signs, Before *signs.Model
	// Passed says, one sentence each, what of the journal this program could
	// not take; everything else is in.
	Passed []string
}

// KeptBook returns the fold of the shop's own book.
func (d *Desk) KeptBook(ctx context.Context) (*holdfast.Book, error) {
	events, err := d.Store.Events(ctx, holdfast.Subject{Type: holdfast.SubjectBook, ID: d.Site})
	if err != nil {
		return nil, err
	}
	return holdfast.FoldBook(events), nil
}

// Book returns the reference and the signs as this shop has them.
func (d *Desk) Book(ctx context.Context) (*Book, error) {
	kept, err := d.KeptBook(ctx)
	if err != nil {
		return nil, err
	}
	return OpenBook(kept), nil
}

// OpenBook builds the book from its fold. It never fails: what cannot be taken
// is passed over and said.
func OpenBook(kept *holdfast.Book) *Book {
	b := &Book{Kept: kept, Reference: reference.Builtin()}
	var own []signs.Own
	var add reference.Additions
	add.LocalNames = map[string][]string{}
	for _, ev := range kept.Set {
		p := ev.Payload.(*holdfast.ReferenceSet)
		if p.Gone {
			continue
		}
		one := reference.Additions{Version: kept.Version, Conditions: add.Conditions, LocalNames: map[string][]string{}}
		if len(p.Own) > 0 {
			c, err := readOwn(p)
			if err != nil {
				b.pass(p.Entry, err)
				continue
			}
			one.Conditions = append(one.Conditions[:len(one.Conditions):len(one.Conditions)], c)
			if s, ok := ownSuspect(p); ok {
				own = append(own, s)
			}
		}
		if len(p.Names) > 0 {
			one.LocalNames[p.Entry] = p.Names
		}
		if _, err := reference.Builtin().With(one); err != nil {
			b.pass(p.Entry, err)
			own = dropSuspect(own, p.Entry)
			continue
		}
		add.Conditions = one.Conditions
		if len(p.Names) > 0 {
			add.LocalNames[p.Entry] = p.Names
		}
	}
	add.Version = kept.Version
	if whole, err := reference.Builtin().With(add); err == nil {
		b.Reference = whole
	} else {
		b.pass("reference", err)
	}
	var err error
	if b.Before, err = signs.New(own, nil); err != nil {
		b.pass("signs", err)
		own, b.Before = nil, signs.Default()
	}
	b.learn(own)
	return b
}

// learn takes the cases one by one, so that one of an entry since removed
// leaves the others in.
func (b *Book) learn(own []signs.Own) {
	b.Signs = b.Before
	var cases []signs.Case
	for _, ev := range b.Kept.Cases {
		p := ev.Payload.(*holdfast.CaseConfirmed)
		c := signs.Case{Truth: p.Truth, Answers: p.Signs, Proof: signs.Proof(p.Proof)}
		if err := b.Before.CheckCase(c); err != nil {
			b.pass("case of "+p.Truth, err)
			continue
		}
		cases = append(cases, c)
	}
	m, err := signs.New(own, cases)
	if err != nil {
		b.pass("cases", err)
		return
	}
	b.Signs = m
}

func (b *Book) pass(what string, err error) {
	b.Passed = append(b.Passed, fmt.Sprintf("%s: %v", what, err))
}

func dropSuspect(own []signs.Own, id string) []signs.Own {
	if n := len(own); n > 0 && own[n-1].ID == id {
		return own[:n-1]
	}
	return own
}

// readOwn reads an entry of one's own. Nothing of it is tracked, and it never
// stands on the law's side: those need a program that knows them.
func readOwn(p *holdfast.ReferenceSet) (reference.Condition, error) {
	var c reference.Condition
	dec := json.NewDecoder(bytes.NewReader(p.Own))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&c); err != nil {
		return c, ref.Inputf("own", "Write it anew on its page.", "this program cannot read it: %v", err)
	}
	if c.ID != p.Entry {
		return c, ref.Inputf("own", "Write it anew on its page.", "it calls itself %q", c.ID)
	}
	c.Tracked, c.NotifiableSuspect, c.Key = false, false, 0
	return c, nil
}

func ownSuspect(p *holdfast.ReferenceSet) (signs.Own, bool) {
	if len(p.Looks) == 0 {
		return signs.Own{}, false
	}
	start := p.Start
	if start == "" {
		start = "uncommon"
	}
	return signs.Own{ID: p.Entry, Start: start, Who: signs.AskMicroscope, Looks: p.Looks}, true
}

// Called returns the plain name of an entry, the shop's own included.
func (b *Book) Called(id string) string {
	if c, ok := b.Reference.Condition(id); ok {
		return c.Name
	}
	return id
}

// NameEntry keeps the shop's own names for an entry; none takes them away.
func (d *Desk) NameEntry(ctx context.Context, by Actor, id string, names []string) (holdfast.ID, error) {
	book, err := d.Book(ctx)
	if err != nil {
		return "", err
	}
	if _, ok := book.Reference.Condition(id); !ok {
		return "", &holdfast.Error{Kind: holdfast.NotFound, Message: fmt.Sprintf("The reference has no entry %q.", id), Hint: "Look it up in Reference."}
	}
	p := &holdfast.ReferenceSet{Entry: id, Names: names}
	for _, ev := range book.Kept.Set {
		if old := ev.Payload.(*holdfast.ReferenceSet); old.Entry == id {
			p.Own, p.Looks, p.Start = old.Own, old.Looks, old.Start
		}
	}
	return d.setEntry(ctx, by, book, p)
}

// OwnEntry is an entry that a shop writes itself.
type OwnEntry struct {
	// Entry is written in the reference's form; its id may be empty for a new
	// one and is then made from the name.
	Entry reference.Condition
	Names []string
	// Looks and Start let it take part in the ranking; both may be empty.
	Looks signs.Answers
	Start string
}

// WriteEntry keeps a new entry of one's own, or a new version of one, and
// returns its id.
func (d *Desk) WriteEntry(ctx context.Context, by Actor, e OwnEntry) (string, holdfast.ID, error) {
	book, err := d.Book(ctx)
	if err != nil {
		return "", "", err
	}
	c := e.Entry
	if c.ID == "" {
		if c.ID = freeID(book, c.Name); c.ID == "" {
			return "", "", holdfast.Problems{{Field: "name", Message: "the name has no letters that an id can be made of", Hint: "Use at least two Latin letters."}}
		}
		if by.ID != "" { // a form sent twice must not make a second entry
			if before, err := d.Store.Entry(ctx, by.ID); err == nil {
				if p, ok := before.Payload.(*holdfast.ReferenceSet); ok {
					return p.Entry, by.ID, nil
				}
			}
		}
	} else if old, ok := book.Reference.Condition(c.ID); !ok || !old.Own() {
		return "", "", &holdfast.Error{Kind: holdfast.NotFound, Message: fmt.Sprintf("The shop has no entry %q of its own.", c.ID), Hint: "Look it up in Reference."}
	}
	c.LocalNames, c.Tracked, c.NotifiableSuspect, c.Key = nil, false, false, 0
	text, err := compact(c)
	if err != nil {
		return "", "", err
	}
	p := &holdfast.ReferenceSet{Entry: c.ID, Names: e.Names, Own: text, Looks: e.Looks, Start: e.Start}
	id, err := d.setEntry(ctx, by, book, p)
	return c.ID, id, err
}

// DropEntry takes an entry of one's own out of use.
func (d *Desk) DropEntry(ctx context.Context, by Actor, id string) (holdfast.ID, error) {
	book, err := d.Book(ctx)
	if err != nil {
		return "", err
	}
	if c, ok := book.Reference.Condition(id); !ok || !c.Own() {
		return "", &holdfast.Error{Kind: holdfast.NotFound, Message: fmt.Sprintf("The shop has no entry %q of its own.", id), Hint: "Look it up in Reference."}
	}
	return d.writeFirst(ctx, by, note{payload: &holdfast.ReferenceSet{Entry: id, Gone: true}})
}

// setEntry refuses what the reference or the signs would not take.
func (d *Desk) setEntry(ctx context.Context, by Actor, book *Book, p *holdfast.ReferenceSet) (holdfast.ID, error) {
	if err := tryEntry(book, p); err != nil {
		return "", err
	}
	return d.writeFirst(ctx, by, note{payload: p})
}

// tryEntry builds the book as it would be with the statement.
func tryEntry(book *Book, p *holdfast.ReferenceSet) error {
	next := *book.Kept
	next.Set = nil
	replaced := false
	ev := holdfast.Event{Payload: p}
	for _, old := range book.Kept.Set {
		if old.Payload.(*holdfast.ReferenceSet).Entry == p.Entry {
			old, replaced = ev, true
		}
		next.Set = append(next.Set, old)
	}
	if !replaced {
		next.Set = append(next.Set, ev)
	}
	after := OpenBook(&next)
	if len(after.Passed) > len(book.Passed) {
		for _, say := range after.Passed {
			if rest, ok := strings.CutPrefix(say, p.Entry+": "); ok {
				return holdfast.Problems{{Field: "entry", Message: rest, Hint: "Mend it and keep it again; nothing was changed."}}
			}
		}
		return holdfast.Problems{{Field: "entry", Message: after.Passed[len(after.Passed)-1], Hint: "Mend it and keep it again; nothing was changed."}}
	}
	return nil
}

var notIDLetters = regexp.MustCompile(`[^a-z0-9]+`)

// freeID makes an id of one's own from a name, with a number if it is taken.
func freeID(b *Book, name string) string {
	word := strings.Trim(notIDLetters.ReplaceAllString(strings.ToLower(name), "_"), "_")
	if len(word) > 28 {
		word = strings.TrimRight(word[:28], "_")
	}
	if len(word) < 2 {
		return ""
	}
	taken := map[string]bool{}
	for _, ev := range b.Kept.Past {
		taken[ev.Payload.(*holdfast.ReferenceSet).Entry] = true
	}
	id := reference.OwnPrefix + word
	for n := 2; taken[id]; n++ {
		id = fmt.Sprintf("%s%s_%d", reference.OwnPrefix, word, n)
	}
	return id
}

// compact writes JSON as the journal keeps it: without escapes for HTML.
func compact(v any) (json.RawMessage, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSpace(b.Bytes()), nil
}
