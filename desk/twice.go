package desk

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/freedom"
)

// Reader is one way of looking as it was practised: how, and by whom.
type Reader struct{ By, Who string }

// Paired are the animals that two readers judged, for one condition.
type Paired struct {
	Condition reference.Condition
	First     Reader
	Second    Reader
	// Lots are the counts by lot, in the order of their ids.
	Lots    []string
	Counts  []freedom.Twofold
	Animals int
	// LeftOut animals were not seen from all sides that matter in both looks, or
	// the same marks of the desk led both readers.
	LeftOut int
	// Confirmed is what the pair teaches if every positive was a carrier; see
	// [Paired.BothUnsure] for what it teaches if neither reader is sure.
	Confirmed freedom.TwoWays
}

// Same reports whether one person looked twice in the same way.
func (p Paired) Same() bool { return p.First == p.Second }

// SightLearned is how well one way of looking sees a condition by all pairs.
type SightLearned struct {
	Condition reference.Condition
	By        string
	// Carriers are the animals known to carry it, because another look saw it;
	// Seen are those that this way saw too.
	Carriers, Seen int
	// MarkCarriers of the carriers are known by a mark of the desk that the person
	// called real, MarkSeen were named before it was shown.
	MarkCarriers, MarkSeen int
	freedom.Learned
	// Now is what the desk reckons with.
	Now     freedom.Unsure
	Adopted bool
}

// enoughCarriers is how many known carriers a way of looking must have been
// tried on before the desk offers to reckon with what was learned.
const enoughCarriers = 10

// Enough reports whether the figure may be adopted.
func (s SightLearned) Enough() bool { return s.Carriers >= enoughCarriers }

// Sight gathers what second looks teach of how well the shop sees.
type Sight struct {
	Pairs   []Paired
	Learned []SightLearned
	// Marks is how the desk's marks of rows did beside people who had not seen
	// them.
	Marks MarksLearned
}

// MarksLearned is how often the desk marks a row of eggs that a person named on
// the same photographs before any mark was shown.
type MarksLearned struct {
	// Rows are animals on which a row was named so, Marked those of them of which
	// a mark was then called real.
	Rows, Marked int
	freedom.Learned
	// Unsaid animals had a row named but marks of which nothing was said; InView
	// were judged with the marks in view from the start. Neither counts.
	Unsaid, InView int
}

// keptSight is what was learned up to an entry of the journal.
type keptSight struct {
	mu    sync.Mutex
	head  holdfast.Hash
	known bool
	Sight
}

// LearnSight reads all second looks of the journal, and all looks by photographs
// at which people judged before the desk's marks were shown: the marks are a
// second reader of the same photographs then. Looks that were taken back
// count for nothing. Until the journal grows the answer is remembered.
func (d *Desk) LearnSight(ctx context.Context) (Sight, error) {
	_, head, err := d.Store.Head(ctx)
	if err != nil {
		return Sight{}, err
	}
	k := &d.sight
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.known && k.head == head {
		return k.Sight, nil
	}
	learned, err := d.learnSight(ctx)
	if err == nil {
		k.head, k.known, k.Sight = head, true, learned
	}
	return learned, err
}

func (d *Desk) learnSight(ctx context.Context) (Sight, error) {
	shop, err := d.Settings(ctx)
	if err != nil {
		return Sight{}, err
	}
	lots, err := d.lotsReadTwice(ctx)
	if err != nil {
		return Sight{}, err
	}
	g := gathered{pairs: map[pairKey]*Paired{}, ways: map[holdfast.SightKey]*SightLearned{}}
	for _, id := range lots {
		l, err := d.Lot(ctx, id)
		if err != nil {
			return Sight{}, err
		}
		for _, ev := range l.Events {
			if p, ok := ev.Payload.(*holdfast.Inspection); ok {
				if first, ok := firstLook(l, p.Second); ok {
					g.pair(l, first, ev)
				}
				g.marks(l, p)
			}
		}
	}
	return g.learn(shop.Sight)
}

// lotsReadTwice returns the lots that name a second look or were judged by
// photographs, in order.
func (d *Desk) lotsReadTwice(ctx context.Context) ([]string, error) {
	found := map[string]bool{}
	err := d.Store.Each(ctx, 0, func(e holdfast.Entry) error {
		if e.Kind == holdfast.KindInspection && (bytes.Contains(e.Payload, []byte(`"second":"`)) || bytes.Contains(e.Payload, []byte(`"photos":[`))) {
			found[e.Lot] = true
		}
		return nil
	})
	var lots []string
	for id := range found {
		lots = append(lots, id)
	}
	slices.Sort(lots)
	return lots, err
}

type pairKey struct {
	condition     string
	first, second Reader
}

type gathered struct {
	pairs map[pairKey]*Paired
	ways  map[holdfast.SightKey]*SightLearned
	seen  MarksLearned
}

// pair enters the animals of two looks for every condition both looked for.
func (g *gathered) pair(l *holdfast.Lot, first, second holdfast.Event) {
	a, b := first.Payload.(*holdfast.Inspection), second.Payload.(*holdfast.Inspection)
	for _, c := range Tracked(l.Species) {
		if !slices.Contains(a.LookedFor, c.ID) || !slices.Contains(b.LookedFor, c.ID) {
			continue
		}
		x, y := Reader{a.By, first.Who}, Reader{b.By, second.Who}
		flip := x.By > y.By || x.By == y.By && x.Who > y.Who
		if flip {
			x, y = y, x
		}
		key := pairKey{c.ID, x, y}
		p := g.pairs[key]
		if p == nil {
			p = &Paired{Condition: c, First: x, Second: y}
			g.pairs[key] = p
		}
		i := slices.Index(p.Lots, l.ID)
		if i < 0 {
			i = len(p.Lots)
			p.Lots, p.Counts = append(p.Lots, l.ID), append(p.Counts, freedom.Twofold{})
		}
		for _, u := range a.Animals {
			j := slices.IndexFunc(b.Animals, func(w holdfast.Animal) bool { return w.No == u.No })
			if j < 0 {
				continue
			}
			if w := b.Animals[j]; flip {
				g.animal(p, i, w, u)
			} else {
				g.animal(p, i, u, w)
			}
		}
	}
}

// animal enters one animal that both judged.
func (g *gathered) animal(p *Paired, lot int, u, w holdfast.Animal) {
	cond := p.Condition.ID
	const allSides = 0.999
	x, xAlone := saidAlone(u, cond)
	y, yAlone := saidAlone(w, cond)
	if !xAlone && !yAlone || !u.Readable() && !shows(u, cond) || !w.Readable() && !shows(w, cond) ||
		seenShare(cond, u.Seen) < allSides || seenShare(cond, w.Seen) < allSides {
		p.LeftOut++
		return
	}
	p.Animals++
	c := &p.Counts[lot]
	switch {
	case x && y:
		c.Both++
	case x:
		c.OnlyFirst++
	case y:
		c.OnlySecond++
	default:
		c.Neither++
	}
	if y { // the second look says that it carries it: did the first one see it?
		g.carrier(p.Condition, p.First.By, x)
	}
	if x {
		g.carrier(p.Condition, p.Second.By, y)
	}
}

// carrier enters one animal known to carry it, and whether a way of looking saw
// that.
func (g *gathered) carrier(c reference.Condition, by string, saw bool) *SightLearned {
	k := holdfast.SightKey{By: by, Condition: c.ID}
	if g.ways[k] == nil {
		g.ways[k] = &SightLearned{Condition: c, By: by}
	}
	g.ways[k].Carriers++
	if saw {
		g.ways[k].Seen++
	}
	return g.ways[k]
}

// saidAlone reports whether a reader said that the animal carries the condition,
// and whether no mark of the desk led the eye there. What was said before the
// marks goes before what was said with them: two people led by one mark are not
// two readers.
func saidAlone(a holdfast.Animal, condition string) (says, alone bool) {
	if a.Alone == nil {
		return shows(a, condition), len(a.Photos) == 0
	}
	return slices.ContainsFunc(a.Alone.Named, func(c string) bool { return ConditionOf(c) == condition }), true
}

// marks enters what a look by photographs says of its person and of the desk's
// marks, each by what the other found: the person named it before the marks were
// shown, the marks know nothing of the person. Only rows of eggs are marked. Both
// read the same photographs, so the sides do not matter here, and what no
// photograph shows is missed by both.
func (g *gathered) marks(l *holdfast.Lot, p *holdfast.Inspection) {
	of := ConditionOf(reference.EggRow)
	i := slices.IndexFunc(Tracked(l.Species), func(c reference.Condition) bool { return c.ID == of })
	if i < 0 || !slices.Contains(p.LookedFor, of) {
		return
	}
	for _, a := range p.Animals {
		if len(a.Photos) > 0 && a.Alone == nil {
			g.seen.InView++
		}
		if a.Alone == nil || a.Alone.Marks == nil {
			continue
		}
		m := a.Alone.Marks
		if m.Real > 0 {
			named, _ := saidAlone(a, of)
			way := g.carrier(Tracked(l.Species)[i], p.By, named)
			way.MarkCarriers++
			if named {
				way.MarkSeen++
			}
		}
		switch {
		case !a.Alone.Has(reference.EggRow):
		case m.Real > 0:
			g.seen.Rows++
			g.seen.Marked++
		case m.Nothing == m.Rows: // none of the marks is it
			g.seen.Rows++
		default:
			g.seen.Unsaid++
		}
	}
}

func (g *gathered) learn(adopted map[holdfast.SightKey]holdfast.SightSet) (Sight, error) {
	var out Sight
	flat := freedom.Unsure{A: 1, B: 1}
	for _, p := range g.pairs {
		if p.Animals == 0 {
			continue
		}
		var err error
		if p.Confirmed, err = freedom.LearnConfirmed(p.Counts, flat, flat, 0.9); err != nil {
			return out, err
		}
		out.Pairs = append(out.Pairs, *p)
	}
	slices.SortFunc(out.Pairs, func(a, b Paired) int {
		return cmp.Or(cmp.Compare(a.Condition.Name, b.Condition.Name), cmp.Compare(b.Animals, a.Animals), cmp.Compare(fmt.Sprint(a.First, a.Second), fmt.Sprint(b.First, b.Second)))
	})
	for k, w := range g.ways {
		one, err := freedom.LearnConfirmed([]freedom.Twofold{{Both: w.Seen, OnlySecond: w.Carriers - w.Seen}}, flat, flat, 0.9)
		if err != nil {
			return out, err
		}
		w.Learned = one.Sensitivity[0]
		w.Now = eyes(adopted).belief(k.Condition, k.By)
		_, w.Adopted = adopted[k]
		out.Learned = append(out.Learned, *w)
	}
	out.Marks = g.seen
	one, err := freedom.LearnConfirmed([]freedom.Twofold{{Both: g.seen.Marked, OnlySecond: g.seen.Rows - g.seen.Marked}}, flat, flat, 0.9)
	if err != nil {
		return out, err
	}
	out.Marks.Learned = one.Sensitivity[0]
	slices.SortFunc(out.Learned, func(a, b SightLearned) int {
		return cmp.Or(cmp.Compare(a.Condition.Name, b.Condition.Name), cmp.Compare(a.Share, b.Share), cmp.Compare(a.By, b.By))
	})
	return out, nil
}

// BothUnsure estimates sensitivity and specificity of both readers of a pair
// when neither is sure to be right. The draws begin from a fixed state, so that
// the same looks give the same figures; those of the newest few pairs are kept,
// because drawing them takes a tenth of a second and more.
func (p Paired) BothUnsure() (freedom.TwoWays, error) {
	key := fmt.Sprint(p.Same(), p.Counts)
	unsureMu.Lock()
	defer unsureMu.Unlock()
	if known, ok := unsureKept[key]; ok {
		return known, nil
	}
	priors := freedom.FlatLearnPriors()
	priors.SameWay, priors.Share = p.Same(), freedom.LotShares
	out, err := freedom.LearnTwoWays(rand.New(rand.NewPCG(1983, 36)), p.Counts, priors, 0.9)
	if err == nil {
		if len(unsureKept) >= 64 {
			clear(unsureKept)
		}
		unsureKept[key] = out
	}
	return out, err
}

var (
	unsureMu   sync.Mutex
	unsureKept = map[string]freedom.TwoWays{}
)

// AdoptSight lets the desk reckon with what was learned of a way of looking, or,
// with forget, with its own guess again.
func (d *Desk) AdoptSight(ctx context.Context, by Actor, way holdfast.SightKey, forget bool) (holdfast.ID, error) {
	set := holdfast.SightSet{By: way.By, Condition: way.Condition}
	if !forget {
		all, err := d.LearnSight(ctx)
		if err != nil {
			return "", err
		}
		i := slices.IndexFunc(all.Learned, func(s SightLearned) bool { return s.By == way.By && s.Condition.ID == way.Condition })
		if i < 0 || !all.Learned[i].Enough() {
			return "", refused(fmt.Sprintf("Too few animals known to carry it were looked at that way; %d are needed.", enoughCarriers), "Let a second pair of eyes judge more animals.")
		}
		s := all.Learned[i]
		set.A, set.B, set.Carriers = s.Belief.A, s.Belief.B, s.Carriers
	}
	return d.writeFirst(ctx, by, note{payload: &set})
}
