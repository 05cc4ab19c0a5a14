package desk

import (
	"cmp"
	"fmt"
	"slices"
	"sync"
	"time"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/clearance"
	"holdfast/science/ref"
)

// History is a lot's life as the life-cycle model reads it: what was done and
// seen until the evening of a day, and nothing that is only planned.
type History struct {
	clearance.Case
	// Start is the civil day on which the lot, or the lot that it was split from,
	// arrived: day 0 of the case. Whole numbers of the case are midnights of the
	// site, so that a pull at 9 in the morning of the tenth day is 9.375.
	Start holdfast.Day
	// TankIDs names the tanks of the case in its order; the first is where most of
	// the animals are now. The vessel of a dip has no name.
	TankIDs []string
	// Looked is how many animals were looked at for the condition, in all, and
	// Positive how many showed it.
	Looked, Positive int
	// Notes say in plain words what was simplified or assumed, each once.
	Notes []string
}

// vesselName stands among the tanks for the vessel in which some are dipped; no
// tank can be called so.
const vesselName = " vessel"

// Evening is the moment of a day, as a share of it, for which figures are
// worked out: late enough for everything that was recorded on it.
const Evening = 0.99

// How the model reads what was recorded. Both are guesses.
var (
	// soonDays is how long after a look animals with signs may be taken out or
	// moved and still be those of the look.
	soonDays = 3.0
	// unknownLitres stands for a tank of which nobody wrote the litres.
	unknownLitres = 60.0
)

// LifeCondition returns the life cycle that holds for a condition, see
// [ConditionInForce], as looks of the desk can tell of it; nil when the model
// knows none. It is shared: clone it before changing anything.
func LifeCondition(beliefs map[string]holdfast.BeliefsSet, id string) (*clearance.Condition, error) {
	builtin, ok := lifeConditions()[id]
	if _, own := beliefs[id]; !own || !ok {
		return builtin, nil
	}
	c, err := ConditionInForce(beliefs, id)
	if err != nil {
		return nil, err
	}
	return seenHere(c), nil
}

var lifeConditions = sync.OnceValue(func() map[string]*clearance.Condition {
	all := map[string]*clearance.Condition{}
	for _, id := range clearance.Conditions() {
		if c, err := clearance.LoadCondition(id); err == nil { // the package's tests read every file
			all[id] = seenHere(c)
		}
	}
	return all
})

// seenHere hides a condition's eggs from looks that cannot record them: that
// none was recorded then proves nothing.
func seenHere(c *clearance.Condition) *clearance.Condition {
	if !noticesEggs(c.ID) {
		c = c.Clone()
		c.EggMin = 1_000_000
	}
	return c
}

// noticesEggs reports whether a look can record eggs of the condition apart.
func noticesEggs(id string) bool {
	return slices.ContainsFunc(reference.Builtin().Everything(), func(c reference.Condition) bool { return c.SignOf == id })
}

// LifeCycle lays a lot out for the life-cycle model, as it stood on the evening
// of a day. It is a pure function of the lot's entries, of the tanks' readings
// and of the day. cond is what the question is about, usually
// [LifeCondition] of the id.
//
// It returns a *ref.NoAnswer when the model cannot follow the lot: animals of
// another lot came into it, nobody is left, or it is too old.
func LifeCycle(c Case, cond *clearance.Condition, asOf holdfast.Day) (*History, error) {
	b := &lifeBuilder{c: c, cond: cond, asOf: asOf, zone: c.Zone, index: map[string]int{}, pulls: map[[2]int]int{}, heat: map[int]map[int][]float64{}, stays: map[int][]stay{}}
	if b.zone == nil {
		b.zone = time.UTC
	}
	b.out = &History{Case: clearance.Case{Condition: cond, Bag: c.BagSize}}
	line, err := b.lineage()
	if err != nil {
		return nil, err
	}
	root := line[0].lot
	b.start = holdfast.DayOf(root.OpenedAt, b.zone)
	if asOf < b.start || asOf-b.start > 399 {
		return nil, &ref.NoAnswer{Reason: "The life-cycle model follows a lot for 400 days from its arrival, and no longer."}
	}
	b.alive, b.first = []int{root.Declared}, -1
	b.animals = root.Declared
	for i, part := range line {
		if err := b.live(part); err != nil {
			return nil, err
		}
		if i+1 < len(line) {
			b.part(line[i+1].lot)
		}
	}
	return b.finish(root)
}

type lifeBuilder struct {
	c    Case
	cond *clearance.Condition
	asOf holdfast.Day
	zone *time.Location
	out  *History

	start holdfast.Day
	// index gives the tank's number in the case, first its number of appearance.
	index map[string]int
	first int   // the tank of arrival, -1 until one is named
	alive []int // animals of the lot by tank
	// animals is how many were alive on day 0, as everything since tells it.
	animals int
	pulls   map[[2]int]int            // tank and day: pulls made
	heat    map[int]map[int][]float64 // tank, day: readings
	stays   map[int][]stay            // by tank: the glass it was, in order
	quiet   float64                   // until then a clean look proves nothing
	signs   *pending
}

// stay is a tank of glass that a tank of the case was, from a day on.
type stay struct {
	id   string
	from float64
}

// generation is a lot of the lineage with the moment it was left.
type generation struct {
	lot   *holdfast.Lot
	until holdfast.Micros
}

// lineage returns the lots this one descends from, the first first, and itself.
func (b *lifeBuilder) lineage() ([]generation, error) {
	line := []generation{{b.c.Lot, noEnd}}
	for l := b.c.Lot; l.Parent != ""; {
		if len(line) > 20 || b.c.Other == nil {
			return nil, &ref.NoAnswer{Reason: "The lot was split off too many times to follow."}
		}
		parent, err := b.c.Other(l.Parent)
		if err != nil {
			return nil, err
		}
		line = append(line, generation{parent, l.OpenedAt})
		l = parent
	}
	slices.Reverse(line)
	if line[0].lot.Opened == "" {
		return nil, &ref.NoAnswer{Reason: "Nothing says when and with how many animals the lot began."}
	}
	return line, nil
}

// day places an instant on the case's axis.
func (b *lifeBuilder) day(at holdfast.Micros) float64 {
	t := at.In(b.zone)
	d := float64(holdfast.DayOf(at, b.zone)-b.start) + float64(t.Hour()*3600+t.Minute()*60+t.Second())/86400
	return max(d, 1e-3)
}

func (b *lifeBuilder) note(format string, args ...any) {
	if s := fmt.Sprintf(format, args...); !slices.Contains(b.out.Notes, s) {
		b.out.Notes = append(b.out.Notes, s)
	}
}

// tank returns the number of a tank, a new one for a new name; the fullest for
// an entry that names none.
func (b *lifeBuilder) tank(id string) int {
	if id == "" {
		best := 0
		for i, n := range b.alive {
			if n > b.alive[best] {
				best = i
			}
		}
		return best
	}
	if i, ok := b.index[id]; ok {
		return i
	}
	if b.first < 0 { // the tank of arrival: whoever lives is there
		b.first = 0
		b.index[id] = 0
		b.out.TankIDs = []string{id}
		b.stays[0] = []stay{{id, 0}}
		return 0
	}
	i := b.helper()
	b.index[id], b.out.TankIDs[i] = i, id
	b.stays[i] = []stay{{id, 0}}
	return i
}

// helper adds a tank without a name.
func (b *lifeBuilder) helper() int {
	b.alive = append(b.alive, 0)
	for len(b.out.TankIDs) < len(b.alive) {
		b.out.TankIDs = append(b.out.TankIDs, "")
	}
	return len(b.alive) - 1
}

func (b *lifeBuilder) total() int {
	n := 0
	for _, x := range b.alive {
		n += x
	}
	return n
}

// live goes through the events of one generation until it is left.
func (b *lifeBuilder) live(g generation) error {
	for _, ev := range g.lot.Events {
		if ev.OccurredAt >= g.until || holdfast.DayOf(ev.OccurredAt, b.zone) > b.asOf {
			break
		}
		if err := b.step(g.lot, ev); err != nil {
			return err
		}
	}
	return nil
}

func (b *lifeBuilder) step(l *holdfast.Lot, ev holdfast.Event) error {
	at := b.day(ev.OccurredAt)
	switch p := ev.Payload.(type) {
	case *holdfast.LotPlaced:
		b.place(ev, p.Count)
	case *holdfast.LotMoved:
		b.move(ev, p)
	case *holdfast.Counted:
		d := p.Count - b.total()
		switch {
		case d > 0:
			b.more(d, ev.Tank)
		case d < 0 && int(at) == 0:
			b.fewer(at, -d, ev.Tank, false)
		case d < 0:
			b.exit(at, -d, b.tank(ev.Tank), false)
		}
	case *holdfast.Births:
		b.note("Young that were born are counted as if they had been there from the first day: the model knows no births.")
		b.more(p.Count, ev.Tank)
	case *holdfast.DOA:
		b.fewer(at, p.Count, ev.Tank, true)
	case *holdfast.Death:
		b.exit(at, p.Count, b.tank(ev.Tank), true)
	case *holdfast.Removal:
		b.remove(ev, p)
	case *holdfast.LotMerged:
		if p.Into == l.ID {
			return &ref.NoAnswer{Reason: "Animals of another lot were put among these. The life-cycle model follows one arrival at a time."}
		}
		b.exit(at, p.Count, b.tank(ev.Tank), false)
	case *holdfast.Treatment:
		b.treat(ev, p)
	case *holdfast.MoultPull:
		if holdfast.DayOf(ev.OccurredAt, b.zone) < b.asOf { // today's count from tomorrow on
			b.pulls[[2]int{b.tank(ev.Tank), int(at)}]++
		}
	case *holdfast.Inspection:
		b.look(l, ev, p)
	case *holdfast.CaseConfirmed:
		b.confirmed(p)
	default:
		if d := l.Changes(ev); d < 0 {
			b.exit(at, -d, b.tank(ev.Tank), false)
		}
	}
	return nil
}

// finish puts the tanks in order and fills in what does not hang on one event.
func (b *lifeBuilder) finish(root *holdfast.Lot) (*History, error) {
	b.settle()
	out := b.out
	switch {
	case b.total() == 0:
		return nil, &ref.NoAnswer{Reason: "No animals are left in this lot."}
	case b.animals > 50_000:
		return nil, &ref.NoAnswer{Reason: "The life-cycle model follows at most 50,000 animals."}
	}
	for len(out.TankIDs) < len(b.alive) {
		out.TankIDs = append(out.TankIDs, "")
	}
	if len(b.alive) > 8 {
		return nil, &ref.NoAnswer{Reason: "The lot was moved through more tanks than the life-cycle model can follow."}
	}
	out.Start, out.Animals, out.Today = b.start, b.animals, float64(b.asOf-b.start)+Evening
	out.Days = []float64{out.Today}
	infested := b.c.declared(root, b.cond.ID, b.cond.Infested.Mean())
	out.Infested = &infested
	if err := b.water(); err != nil {
		return nil, err
	}
	b.layPulls()
	b.mainFirst()
	slices.SortStableFunc(out.Looks, func(x, y clearance.Look) int { return cmp.Compare(x.Day, y.Day) })
	return out, nil
}

// layPulls writes the pulls that were made; on other days none were.
func (b *lifeBuilder) layPulls() {
	keys := make([][2]int, 0, len(b.pulls))
	for k := range b.pulls {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(x, y [2]int) int { return cmp.Or(cmp.Compare(x[0], y[0]), cmp.Compare(x[1], y[1])) })
	for _, k := range keys {
		n := min(b.pulls[k], 4)
		if len(b.out.Pulls) > 0 {
			last := &b.out.Pulls[len(b.out.Pulls)-1]
			if last.Tank == k[0] && last.PerDay == n && int(last.To)+1 == k[1] {
				last.To = float64(k[1]) + Evening
				continue
			}
		}
		b.out.Pulls = append(b.out.Pulls, clearance.Pulls{From: float64(k[1]), To: float64(k[1]) + Evening, PerDay: n, Done: true, Tank: k[0]})
	}
}

// mainFirst makes the tank with most of the animals the first of the case, of
// which alive and bag risk are told. Arrival was elsewhere if it was another.
func (b *lifeBuilder) mainFirst() {
	main := b.tank("")
	if n := b.total() - b.alive[main]; n > 0 {
		b.note("The bag risk is that of the animals in tank %s; %s elsewhere.", b.out.TankIDs[main], standing(n))
	}
	if main == 0 {
		return
	}
	out := b.out
	swap := func(t *int) {
		switch *t {
		case 0:
			*t = main
		case main:
			*t = 0
		}
	}
	for i := range out.Doses {
		swap(&out.Doses[i].Tank)
	}
	for i := range out.Pulls {
		swap(&out.Pulls[i].Tank)
	}
	for i := range out.Exits {
		swap(&out.Exits[i].Tank)
	}
	for i := range out.Moves {
		swap(&out.Moves[i].From)
		swap(&out.Moves[i].To)
	}
	for i := range out.Looks {
		swap(&out.Looks[i].Tank)
		if to := out.Looks[i].PositivesTo; to != nil && *to >= 0 {
			moved := *to
			swap(&moved)
			out.Looks[i].PositivesTo = &moved
		}
	}
	out.Tanks[0], out.Tanks[main] = out.Tanks[main], out.Tanks[0]
	out.TankIDs[0], out.TankIDs[main] = out.TankIDs[main], out.TankIDs[0]
	out.Moves = slices.Insert(out.Moves, 0, clearance.Move{Day: 0, Animals: out.Animals, From: 0, To: main})
}

// standing says that animals are somewhere.
func standing(n int) string {
	if n == 1 {
		return "1 animal is"
	}
	return fmt.Sprintf("%d animals are", n)
}
