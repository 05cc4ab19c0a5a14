package desk

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"sync"

	"holdfast"
)

// Memo remembers assessments: most entries of a day (skins pulled, none dead)
// do not bear on the evidence, and most lots of a list did not change. It holds
// no state that matters: a figure follows from the entries, with or without it.
type Memo struct {
	Evidence
	mu   sync.Mutex
	kept map[[sha256.Size]byte][]Assessment
	// order is the keys, oldest first.
	order [][sha256.Size]byte
}

// memoSize bounds how many lots' assessments are kept; one of a lot of 200
// takes about 40 kB.
const memoSize = 512

// NewMemo wraps a model of the evidence.
func NewMemo(e Evidence) *Memo {
	return &Memo{Evidence: e, kept: map[[sha256.Size]byte][]Assessment{}}
}

// Assess implements [Evidence].
func (m *Memo) Assess(c Case) ([]Assessment, error) {
	key, ok := m.key(c)
	if !ok {
		return m.Evidence.Assess(c)
	}
	m.mu.Lock()
	known, hit := m.kept[key]
	m.mu.Unlock()
	if hit {
		return known, nil
	}
	fresh, err := m.Evidence.Assess(c)
	if err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, hit := m.kept[key]; !hit {
		m.kept[key] = fresh
		m.order = append(m.order, key)
		if len(m.order) > memoSize {
			delete(m.kept, m.order[0])
			m.order = m.order[1:]
		}
	}
	return fresh, nil
}

// key is a hash of everything an assessment rests on; false when it rests on
// other lots too.
func (m *Memo) key(c Case) (key [sha256.Size]byte, ok bool) {
	if c.Lot.Parent != "" {
		return key, false
	}
	h := sha256.New()
	text := func(s string) {
		h.Write(binary.AppendUvarint(nil, uint64(len(s))))
		h.Write([]byte(s))
	}
	text(m.Model())
	text(c.Lot.ID)
	text(c.declaredKey(c.Lot))
	h.Write(binary.AppendVarint(nil, int64(c.BagSize)))
	if len(c.Beliefs) > 0 {
		b, err := json.Marshal(c.Beliefs)
		if err != nil {
			return key, false
		}
		h.Write(b)
	}
	for _, k := range eyes(c.Sight).learned() {
		text(fmt.Sprint(c.Sight[k]))
	}
	for _, ev := range c.Lot.Events {
		switch p := ev.Payload.(type) {
		case *holdfast.LotMerged:
			if p.Into == c.Lot.ID {
				return key, false
			}
		case *holdfast.MoultPull, *holdfast.TaskTicked, *holdfast.TaskSkipped, *holdfast.Note, *holdfast.PhotoAdded, *holdfast.Visit,
			*holdfast.LotPlaced, *holdfast.LotMoved, *holdfast.WaterMeasured, *holdfast.WaterChange, *holdfast.TopUp:
			continue
		case *holdfast.Death:
			if p.Count == 0 {
				continue
			}
		case *holdfast.Inspection:
			if ev.ID == "" {
				return key, false // a look that is still going on has no name yet
			}
		}
		text(string(ev.ID))
		h.Write(binary.AppendVarint(nil, int64(ev.OccurredAt)))
	}
	return [sha256.Size]byte(h.Sum(nil)), true
}
