package desk

import (
	"holdfast"
	"holdfast/science/clearance"
)

// more says that d animals more were there than was thought: then they were
// there from the first day.
func (b *lifeBuilder) more(d int, tank string) {
	b.animals += d
	to := b.tank(tank)
	b.alive[to] += d
	if to != max(b.first, 0) {
		b.out.Moves = append(b.out.Moves, clearance.Move{Day: 2e-3, Animals: d, From: max(b.first, 0), To: to})
	}
}

// fewer says that d of those declared never lived here. Animals that were looked
// at did live, and so did those of another tank: they left now instead.
func (b *lifeBuilder) fewer(at float64, d int, tank string, dead bool) {
	seen := 0
	for _, l := range b.out.Looks {
		seen = max(seen, l.Animals)
	}
	i := max(b.first, 0)
	never := max(0, min(d, b.alive[i], b.animals-seen))
	b.animals -= never
	b.alive[i] -= never
	b.exit(at, d-never, b.tank(tank), dead)
}

// exit takes n animals out of a tank, and of the fullest ones when it has fewer.
func (b *lifeBuilder) exit(at float64, n, tank int, dead bool) {
	for n > 0 && b.total() > 0 {
		if b.alive[tank] == 0 {
			tank = b.tank("")
		}
		k := min(n, b.alive[tank])
		b.alive[tank] -= k
		n -= k
		b.out.Exits = append(b.out.Exits, clearance.Exit{Day: at, Animals: k, Dead: dead, Tank: tank})
	}
}

// place puts animals into a tank. The first tank named is that of arrival; more
// of them mean that animals were carried there.
func (b *lifeBuilder) place(ev holdfast.Event, count int) {
	if b.first < 0 {
		b.tank(ev.Tank)
		return
	}
	if count > 0 {
		b.carry(b.day(ev.OccurredAt), b.first, b.tank(ev.Tank), count)
	}
}

func (b *lifeBuilder) carry(at float64, from, to, n int) {
	n = min(n, b.alive[from])
	if from == to || n < 1 {
		return
	}
	b.alive[from] -= n
	b.alive[to] += n
	b.out.Moves = append(b.out.Moves, clearance.Move{Day: at, Animals: n, From: from, To: to})
}

func (b *lifeBuilder) move(ev holdfast.Event, p *holdfast.LotMoved) {
	at := b.day(ev.OccurredAt)
	from := b.tank(p.From)
	if _, known := b.index[ev.Tank]; !known && (p.Count == 0 || p.Count >= b.total()) && b.alive[from] == b.total() {
		// All of them moved: their tank is another glass from now on. What lay on
		// skins there is taken to come along, the cautious side.
		b.index[ev.Tank] = from
		b.out.TankIDs[from] = ev.Tank
		b.stays[from] = append(b.stays[from], stay{ev.Tank, at})
		return
	}
	to := b.tank(ev.Tank)
	n := p.Count
	if n == 0 || n > b.alive[from] {
		n = b.alive[from]
	}
	if p.Hospital && from != to && p.Count > 0 {
		n -= b.positivesGo(at, n, to)
	}
	b.carry(at, from, to, n)
}

// part leaves the parent lot: the child's animals, taken at random, go to its
// tank and the rest is out of the question.
func (b *lifeBuilder) part(child *holdfast.Lot) {
	at := b.day(child.OpenedAt)
	tank := ""
	for _, ev := range child.Events {
		if s, ok := ev.Payload.(*holdfast.LotSplit); ok && s.NewLot == child.ID {
			tank = ev.Tank
		}
	}
	b.settle()
	b.note("It was split off lot %s; until then it shares that lot’s history.", child.Parent)
	to := b.tank(tank)
	want := child.Declared
	if have := b.total(); want > have {
		b.more(want-have, tank)
	}
	rest := b.total() - want
	for i := range b.alive { // animals of other tanks come over, the rest leaves
		if i == to {
			continue
		}
		k := min(b.alive[i], max(0, want-b.alive[to]))
		b.carry(at, i, to, k)
	}
	for i := range b.alive {
		keep := 0
		if i == to {
			keep = want
		}
		if k := min(rest, b.alive[i]-keep); k > 0 {
			b.alive[i] -= k
			rest -= k
			b.out.Exits = append(b.out.Exits, clearance.Exit{Day: at + 1e-6, Animals: k, Tank: i})
		}
	}
}

// remove takes animals out. Those with signs leave with the look that found
// them, once all of them are out.
func (b *lifeBuilder) remove(ev holdfast.Event, p *holdfast.Removal) {
	at := b.day(ev.OccurredAt)
	n := p.Count
	s := b.signs
	if !p.Positive || s == nil || at > s.day+soonDays {
		b.exit(at, n, b.tank(ev.Tank), false)
		return
	}
	before := len(b.out.Exits)
	b.exit(at, n, b.tank(ev.Tank), false)
	s.exits = append(s.exits, b.out.Exits[before:]...)
	b.out.Exits = b.out.Exits[:before]
	s.out += n
	if s.out < s.any || s.look < 0 || s.carried == 0 {
		return
	}
	to := -1
	b.out.Looks[s.look].PositivesTo = &to
	surplus := s.out - s.carried
	for _, x := range s.exits { // who left beside them was taken at random
		if x.Animals = min(x.Animals, surplus); x.Animals > 0 {
			surplus -= x.Animals
			b.out.Exits = append(b.out.Exits, x)
		}
	}
	b.signs = nil
}

// positivesGo says that the animals with signs went to a tank, when as many as
// there were of them go to a hospital soon after, and returns how many.
func (b *lifeBuilder) positivesGo(at float64, n, to int) int {
	s := b.signs
	if s == nil || at > s.day+soonDays || n < s.any || s.look < 0 || s.carried == 0 || s.out > 0 {
		return 0
	}
	b.note("Animals moved to a hospital tank soon after a find, as many as showed signs or more, are taken to be those with signs.")
	l := &b.out.Looks[s.look]
	if l.Tank == to {
		return 0
	}
	l.PositivesTo = &to
	k := min(s.carried, b.alive[l.Tank])
	b.alive[l.Tank] -= k
	b.alive[to] += k
	b.signs = nil
	return k
}

// settle gives up on learning which animals with signs were taken out.
func (b *lifeBuilder) settle() {
	if b.signs != nil && len(b.signs.exits) > 0 {
		b.out.Exits = append(b.out.Exits, b.signs.exits...)
		b.note("Fewer animals were taken out than showed signs; the model takes them as drawn at random.")
	}
	b.signs = nil
}
