package desk

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
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
			b.fewer(-d)
		case d < 0:
			b.exit(at, -d, b.tank(ev.Tank), false)
		}
	case *holdfast.Births:
		b.note("Young that were born are counted as if they had been there from the first day: the model knows no births.")
		b.more(p.Count, ev.Tank)
	case *holdfast.DOA:
		b.fewer(p.Count)
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
	default:
		if d := l.Changes(ev); d < 0 {
			b.exit(at, -d, b.tank(ev.Tank), false)
		}
	}
	return nil
}

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

// fewer says that d of those declared never lived here.
func (b *lifeBuilder) fewer(d int) {
	i := max(b.first, 0)
	d = min(d, b.alive[i], b.animals)
	b.animals -= d
	b.alive[i] -= d
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

// treat adds a bath or dip that acts on the condition.
func (b *lifeBuilder) treat(ev holdfast.Event, p *holdfast.Treatment) {
	at := b.day(ev.OccurredAt)
	tank := b.tank(ev.Tank)
	if p.TempC != nil && !p.Trial && p.Form == "bath" {
		b.warm(tank, at, *p.TempC)
	}
	if p.Trial || p.Held == holdfast.HeldVoid {
		return
	}
	id, known := lifeTreatment(b.cond, p)
	if !known {
		b.note("A %s with %s counts for nothing: the model has no figure for it against the %s.", p.Form, p.Active, lower(b.cond.Name))
		return
	}
	d := clearance.Dose{Treatment: id, Day: at, Tank: tank}
	held := 1.0
	if p.Held == holdfast.HeldPartial {
		held = partialShare
		b.note("A treatment that held its conditions in part counts half.")
	}
	if kind := b.cond.Treatments[id]; kind.Kind == "bath" {
		d.Days = min(max(p.Hours/24, 0.01), 60)
		if short := d.Days / kind.Days; short < 0.95 {
			held *= short
			b.note("A bath shorter than %g days counts in proportion to its length.", kind.Days)
		}
	}
	d.Lost = 1 - held
	b.quiet = max(b.quiet, at+d.Days+SettleDays.Value)
	if d.Days == 0 && p.Count > 0 && p.Count < b.alive[tank] {
		// Some were dipped: they go to a vessel of their own and come back.
		vessel, ok := b.index[vesselName]
		if !ok {
			vessel = b.helper()
			b.index[vesselName] = vessel
		}
		b.carry(at, tank, vessel, p.Count)
		d.Day, d.Tank = at+1e-5, vessel
		b.carry(at+2e-5, vessel, tank, p.Count)
	}
	b.out.Doses = append(b.out.Doses, d)
}

// lifeTreatment returns the model's id for a treatment as it was recorded.
func lifeTreatment(cond *clearance.Condition, p *holdfast.Treatment) (string, bool) {
	active := strings.ToLower(p.Active)
	id := ""
	switch {
	case strings.Contains(active, "praziquantel"):
		id = "praziquantel"
	case isSalt(active):
		id = "sodium_chloride_" + p.Form
	}
	t, ok := cond.Treatments[id]
	return id, ok && t.Kind == p.Form
}

func (b *lifeBuilder) warm(tank int, at, tempC float64) {
	if tempC < 1 || tempC > 40 {
		return
	}
	if b.heat[tank] == nil {
		b.heat[tank] = map[int][]float64{}
	}
	b.heat[tank][int(at)] = append(b.heat[tank][int(at)], tempC)
}

// pending is the newest look that found signs, until it is known what became of
// the animals that showed them.
type pending struct {
	look    int // its place among the looks; -1 when it is none for the model
	day     float64
	any     int // animals with signs of anything
	carried int // of them, those with signs of the condition
	out     int // animals with signs taken out since
	exits   []clearance.Exit
}

// look adds what was seen. Animals picked for their looks, and animals seen too
// soon after a dose, prove presence only.
func (b *lifeBuilder) look(l *holdfast.Lot, ev holdfast.Event, p *holdfast.Inspection) {
	at := b.day(ev.OccurredAt)
	if p.Second != "" {
		return // weighed with the look that it repeats
	}
	tally := eyes(b.c.Sight).seenOf(p, b.again(l, ev.ID), b.cond.ID)
	if !slices.Contains(p.LookedFor, b.cond.ID) && tally.carriers == 0 {
		return
	}
	b.settle()
	b.out.Looked += tally.looked
	b.out.Positive += tally.carriers
	k := clearance.Look{Day: at, Animals: tally.looked, Worms: tally.worms, Eggs: tally.eggs, Both: &tally.both,
		View: tally.view / float64(max(tally.looked, 1)), Tank: b.tank(ev.Tank)}
	caught := p.Chosen == holdfast.ChosenAsCaught
	switch {
	case at < b.quiet:
		b.note("Clean looks within %g days of a dose prove nothing: a dose hides what it does not kill.", SettleDays.Value)
		k.Picked, k.Animals = true, tally.carriers
	case caught && tally.carriers == 0:
		b.note("A clean look at whatever could be caught counts a third: those that hide may carry it more often.")
		k.View /= caughtOdds.Value
	case !p.Random && !caught:
		b.note("Looks at animals that were picked for their looks prove presence only.")
		k.Picked, k.Animals = true, tally.carriers
	}
	place := -1
	if k.Animals > 0 && (k.View > 0 || tally.carriers > 0) {
		if k.View == 0 {
			k.View = 1
		}
		if short := k.Animals - b.total(); short > 0 {
			b.more(short, ev.Tank)
		}
		place = len(b.out.Looks)
		b.out.Looks = append(b.out.Looks, k)
	}
	if n := p.Positive(); n > 0 {
		b.signs = &pending{look: place, day: at, any: n, carried: tally.carriers}
	}
}

// seen counts one look for one condition.
type seen struct {
	looked, carriers, worms, eggs, both int
	view                                float64 // summed over those looked at
}

// again returns the second looks at the same animals that were made by then.
func (b *lifeBuilder) again(l *holdfast.Lot, id holdfast.ID) []*holdfast.Inspection {
	return secondLooks(l, id, (b.asOf + 1).Start(b.zone))
}

// seenOf counts a look and those that repeat it: what any of them saw is seen.
// A picture of several animals stands, when clean, for all of them, and with
// signs for one that has them.
func (e eyes) seenOf(p *holdfast.Inspection, again []*holdfast.Inspection, condition string) seen {
	var s seen
	by := e.ofGood(condition, p.By)
	for _, a := range p.Animals {
		worm, egg := signsOn(a, condition)
		for _, q := range again {
			for _, x := range q.Animals {
				if x.No == a.No {
					w, e := signsOn(x, condition)
					worm, egg = worm || w, egg || e
				}
			}
		}
		if !worm && !egg && !a.Readable() {
			continue
		}
		n := 1
		if !worm && !egg {
			n = p.PerRecord()
		}
		s.looked += n
		sides := a.Seen
		if (worm || egg) && seenShare(condition, sides) == 0 {
			sides = holdfast.Sides
		}
		s.view += float64(n) * by * seenShare(condition, sides)
		if worm {
			s.worms++
		}
		if egg {
			s.eggs++
		}
		switch {
		case worm && egg:
			s.both++
			s.carriers++
		case worm || egg:
			s.carriers++
		}
	}
	return s
}

// signsOn reports whether the animal showed the condition, or eggs of it.
func signsOn(a holdfast.Animal, condition string) (worm, egg bool) {
	for _, f := range a.Findings {
		switch {
		case f.Condition == condition:
			worm = true
		case ConditionOf(f.Condition) == condition:
			egg = true
		}
	}
	return worm, egg
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

// water gives every tank its litres and its temperatures.
func (b *lifeBuilder) water() error {
	for i := range b.out.TankIDs {
		t := clearance.Tank{}
		stays := b.stays[i]
		if len(stays) == 0 {
			stays = []stay{{}}
		}
		for k, st := range stays {
			until := math.Inf(1)
			if k+1 < len(stays) {
				until = stays[k+1].from
			}
			litres, err := b.glass(i, st, until)
			if err != nil {
				return err
			}
			if t.VolumeL == 0 || litres < t.VolumeL {
				t.VolumeL = litres
			}
		}
		if len(stays) > 1 {
			b.note("The lot was moved whole; the smallest of its tanks speaks for all, where larvae find a host soonest.")
		}
		t.Temp = b.temps(i)
		if len(t.Temp) == 0 && stays[0].id != "" {
			b.note("No temperature was measured in tank %s; 24 °C are assumed.", b.out.TankIDs[i])
		}
		b.out.Tanks = append(b.out.Tanks, t)
	}
	return nil
}

// glass returns the litres of a tank and notes its temperatures. What was
// measured today counts from tomorrow on, so that a figure for a day does not
// change with every reading of that day.
func (b *lifeBuilder) glass(tank int, st stay, until float64) (float64, error) {
	var known *holdfast.Tank
	if st.id != "" && b.c.Tank != nil {
		var err error
		if known, err = b.c.Tank(st.id); err != nil {
			return 0, err
		}
	}
	if known != nil {
		for _, ev := range known.Measured {
			w := ev.Payload.(*holdfast.WaterMeasured)
			day := holdfast.DayOf(ev.OccurredAt, b.zone)
			if at := float64(day - b.start); w.TempC != nil && day < b.asOf && at < until && (at >= math.Floor(st.from) || st.from == 0) {
				b.warm(tank, at, *w.TempC)
			}
		}
		if known.Litres > 0 {
			if known.System != "" {
				b.note("Tank %s shares its water with others; the model knows this lot alone and reckons with the litres of the tank.", st.id)
			}
			return known.Litres, nil
		}
	}
	if st.id != "" || tank == 0 {
		b.note("Nobody wrote down the litres of the tank; %g are assumed.", unknownLitres)
	}
	return unknownLitres, nil
}

// temps is a tank's temperature from day to day: the mean of a day's readings to
// half a degree, held until the next.
func (b *lifeBuilder) temps(tank int) []clearance.TempFrom {
	var days []int
	for d := range b.heat[tank] {
		days = append(days, d)
	}
	slices.Sort(days)
	var out []clearance.TempFrom
	for _, d := range days {
		sum := 0.0
		for _, x := range b.heat[tank][d] {
			sum += x
		}
		t := clearance.TempFrom{Day: float64(d), TempC: math.Round(sum/float64(len(b.heat[tank][d]))*2) / 2}
		switch n := len(out); {
		case d <= 0: // what was measured before the lot came holds on its first day
			t.Day = 0
			out = []clearance.TempFrom{t}
		case n == 0 || out[n-1].TempC != t.TempC:
			out = append(out, t)
		}
	}
	return out
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
