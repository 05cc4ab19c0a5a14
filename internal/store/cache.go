package store

import (
	"container/list"
	"sync"

	"holdfast"
)

// cachedEvents is how many decoded events are kept. A decoded event takes about
// 1 kB, so the cache stays near 100 MB.
const cachedEvents = 100_000

// cache keeps the decoded events of the subjects used last, so that an entry
// for a lot with hundreds of entries does not decode them all again. It holds
// committed state only. A nil cache keeps nothing.
type cache struct {
	mu    sync.Mutex
	limit int
	held  int
	// generation counts commits: what a reader loaded before a commit may lack
	// that commit's entries.
	generation int64
	order      *list.List // of *cached, used last in front
	bySubject  map[holdfast.Subject]*list.Element
}

type cached struct {
	subject holdfast.Subject
	events  []holdfast.Event
	// lot is what the events of a lot fold to, or nil while nobody asked.
	lot *holdfast.Lot
}

func newCache(limit int) *cache {
	return &cache{limit: limit, order: list.New(), bySubject: map[holdfast.Subject]*list.Element{}}
}

func (c *cache) get(s holdfast.Subject) ([]holdfast.Event, bool) {
	if c == nil {
		return nil, false
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	el, ok := c.bySubject[s]
	if !ok {
		return nil, false
	}
	c.order.MoveToFront(el)
	return el.Value.(*cached).events, true
}

// lot returns the fold of the lot's events if it is known.
func (c *cache) lot(s holdfast.Subject) *holdfast.Lot {
	if c == nil {
		return nil
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	el, ok := c.bySubject[s]
	if !ok {
		return nil
	}
	c.order.MoveToFront(el)
	return el.Value.(*cached).lot
}

// keepLot keeps what a lot's events, as many as it was folded from, fold to.
func (c *cache) keepLot(s holdfast.Subject, l *holdfast.Lot) {
	if c == nil {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if el, ok := c.bySubject[s]; ok && len(el.Value.(*cached).events) == len(l.All) {
		el.Value.(*cached).lot = l
	}
}

// age returns the generation to be named in offer.
func (c *cache) age() int64 {
	if c == nil {
		return 0
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.generation
}

// offer keeps what a reader loaded, unless something was committed since age.
func (c *cache) offer(age int64, s holdfast.Subject, events []holdfast.Event) {
	if c == nil {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	if age == c.generation {
		c.put(s, events)
	}
}

// commit takes over what a transaction loaded and folded, and forgets the subjects it
// touched of which it kept nothing.
func (c *cache) commit(touched map[holdfast.Subject]bool, loaded map[holdfast.Subject][]holdfast.Event, lots map[string]*holdfast.Lot) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.generation++
	for s := range touched {
		if _, ok := loaded[s]; !ok {
			c.drop(s)
		}
	}
	for s, events := range loaded {
		c.put(s, events)
		if s.Type == holdfast.SubjectLot {
			if el, ok := c.bySubject[s]; ok {
				el.Value.(*cached).lot = lots[s.ID]
			}
		}
	}
}

// clear forgets everything.
func (c *cache) clear() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.generation++
	c.held = 0
	c.order.Init()
	clear(c.bySubject)
}

func (c *cache) put(s holdfast.Subject, events []holdfast.Event) {
	c.drop(s)
	c.bySubject[s] = c.order.PushFront(&cached{subject: s, events: events})
	c.held += cost(events)
	for c.held > c.limit {
		c.drop(c.order.Back().Value.(*cached).subject)
	}
}

func (c *cache) drop(s holdfast.Subject) {
	if el, ok := c.bySubject[s]; ok {
		c.held -= cost(el.Value.(*cached).events)
		c.order.Remove(el)
		delete(c.bySubject, s)
	}
}

// cost counts the subject itself too: a million names nobody knows must not
// fill the memory.
func cost(events []holdfast.Event) int { return 1 + len(events) }
