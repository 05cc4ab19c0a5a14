package desk

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"hash"
	"maps"
	"slices"

	"holdfast"
	"holdfast/science/clearance"
)

// figureKey stands for everything that the figures of a lot rest on: for each
// condition the whole case and what is believed, the course, the day, the line
// that decides how sharp they have to be, the model and the seed.
func (v *LotView) figureKey(qs []question) (string, error) {
	h := sha256.New()
	enc := json.NewEncoder(h)
	course := ""
	if v.Lot.Course != nil {
		course = string(v.Lot.Course.ID)
	}
	for _, x := range []any{LifeModel, LifeSeed, v.Lot.ID, v.Today, v.Shop.ClearLine, v.Shop.BagSize, course, v.Lot.Status == holdfast.Closed} {
		if err := enc.Encode(x); err != nil {
			return "", err
		}
	}
	for _, q := range qs {
		parts := []any{q.condition.ID, q.because}
		if q.history != nil {
			parts = append(parts, q.history.Case, q.history.Looked, q.history.Positive, beliefsOf(q.life))
		} else {
			parts = append(parts, v.rowKey()) // another model answers, from the entries
		}
		for _, x := range parts {
			if err := enc.Encode(x); err != nil {
				return "", err
			}
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:16]), nil
}

// beliefsOf is what a condition's answer rests on.
func beliefsOf(c *clearance.Condition) any {
	kills := map[string]clearance.Belief{}
	for id, t := range c.Treatments {
		kills[id] = t.Kill
	}
	return []any{c.ID, c.Version, c.EggMin, c.Cap, c.Infested, c.Figures, kills}
}

func (v *LotView) rowKey() string {
	return rowKey(v.Case, v.Shop)
}

// rowKey stands for what the figures of a lot rest on as far as the lot's row
// knows it: its entries that bear on the evidence, those of the lots it came
// from, what the seller declared and the shop's settings. Pulls and readings of
// the water are left out: they count from the next day on, which has a figure of
// its own.
func rowKey(c Case, shop holdfast.ShopSet) string {
	h := sha256.New()
	text := func(s string) {
		h.Write(binary.AppendUvarint(nil, uint64(len(s))))
		h.Write([]byte(s))
	}
	text(LifeModel)
	text(fmt.Sprint(shop.ClearLine, shop.BagSize, shop.Zone))
	for _, id := range slices.Sorted(maps.Keys(shop.Beliefs)) {
		b, err := json.Marshal(shop.Beliefs[id])
		text(string(b))
		if err != nil {
			text(err.Error())
		}
	}
	for _, k := range eyes(shop.Sight).learned() {
		text(fmt.Sprint(k, shop.Sight[k]))
	}
	hashLot(h, text, c, c.Lot, noEnd, 0)
	return hex.EncodeToString(h.Sum(nil)[:16])
}

func hashLot(h hash.Hash, text func(string), c Case, l *holdfast.Lot, end holdfast.Micros, depth int) {
	text(l.ID)
	text(c.declaredKey(l))
	for _, ev := range l.Events {
		if ev.OccurredAt >= end {
			break
		}
		switch p := ev.Payload.(type) {
		case *holdfast.MoultPull, *holdfast.TaskTicked, *holdfast.TaskSkipped, *holdfast.Note, *holdfast.PhotoAdded, *holdfast.Visit,
			*holdfast.Hold, *holdfast.Release, *holdfast.Override:
			continue
		case *holdfast.Death:
			if p.Count == 0 {
				continue
			}
		case *holdfast.LotMerged:
			if p.Into == l.ID && depth < 20 && c.Other != nil {
				if other, err := c.Other(ev.Lot); err == nil {
					hashLot(h, text, c, other, ev.OccurredAt, depth+1)
				}
			}
		}
		text(string(ev.ID))
		h.Write(binary.AppendVarint(nil, int64(ev.OccurredAt)))
	}
	if l.Parent != "" && depth < 20 && c.Other != nil {
		if parent, err := c.Other(l.Parent); err == nil {
			hashLot(h, text, c, parent, l.OpenedAt, depth+1)
		}
	}
}
