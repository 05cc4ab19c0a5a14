package desk

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"holdfast"
)

// GateItem is one condition of the release gate: met or not, and if not what would meet it.
type GateItem struct {
	// Key is stable; Name is for people.
	Key  string
	Name string
	Met  bool
	// Says is how it stands and, when not met, what would meet it.
	Says string
	// From is the first day on which it could be met by waiting alone; 0 when
	// waiting does not meet it.
	From holdfast.Day
	// Absolute conditions cannot be overridden by anybody's signature.
	Absolute bool
}

// Gate returns the conditions of release as they stand today, unmet ones first.
func (v *LotView) Gate(zone *time.Location) []GateItem {
	items := []GateItem{v.suspicion()}
	for _, a := range v.Assessed {
		items = append(items, v.line(a))
	}
	items = append(items, v.here(zone), v.sinceSign(zone), v.cleanLook(zone), v.deaths(zone))
	slices.SortStableFunc(items, func(a, b GateItem) int {
		switch {
		case a.Met == b.Met:
			return 0
		case a.Met:
			return 1
		}
		return -1
	})
	return items
}

// suspicion is the one condition that no signature overrides.
func (v *LotView) suspicion() GateItem {
	it := GateItem{Key: "suspicion", Name: "Nothing suspected that must be reported or has no cure", Absolute: true}
	var names []string
	for _, s := range suspected(v.Lot) {
		names = append(names, SuspectedSays(v.Lot, s))
	}
	if len(names) == 0 {
		it.Met, it.Says = true, "None recorded."
		return it
	}
	slices.Sort(names)
	it.Says = fmt.Sprintf("%s: hold everything and call the authority or an aquatic veterinarian. It opens only when the suspicion is lifted in writing; no signature overrides it.", list(names))
	return it
}

// SuspectedSays names what a lot is suspected of, and in which lot it was if that
// is another.
func SuspectedSays(l *holdfast.Lot, condition string) string {
	say := Called(condition)
	if in := l.SuspectedIn[condition]; in != "" {
		say += " (in lot " + in + ")"
	}
	return say
}

// suspected returns, in alphabetical order, what a lot is suspected of that must
// be reported or has no cure: what somebody recorded, and what signs speak of
// that were found and not lifted since.
func suspected(l *holdfast.Lot) []string {
	all := slices.Clone(l.Suspects)
	for cond := range l.LastSign {
		if stops(cond) && !cleared(l, cond) && !slices.Contains(all, cond) {
			all = append(all, cond)
		}
	}
	slices.Sort(all)
	return all
}

// cleared reports whether a suspicion of the condition was lifted after the
// last sign of it.
func cleared(l *holdfast.Lot, condition string) bool {
	for _, ev := range l.Events {
		if h, ok := ev.Payload.(*holdfast.Hold); ok && h.Cleared == condition && ev.OccurredAt > l.LastSign[condition] {
			return true
		}
	}
	return false
}

func (v *LotView) line(a Assessment) GateItem {
	it := GateItem{Key: "line_" + a.Condition.ID, Name: lineName(v.Shop, a.Condition.Name)}
	switch {
	case a.Why != "" && a.Answer != nil:
		it.Says = a.Why
	case a.Why != "":
		it.Says = a.Why + " Put the entries right first."
	case a.Pending:
		it.Says = "It is being worked out" + v.State.about() + "."
	case a.NotLooked:
		it.Says = "Not looked. " + v.MoreSays(a)
	case Reached(v.Shop, a.Figure) && (a.Answer == nil || v.State.Current()):
		it.Met, it.Says = true, v.figureSays(a.Figure)
	case Reached(v.Shop, a.Figure):
		it.Says = fmt.Sprintf("%s on %s. It is being worked out anew%s; it counts once it is.", v.wasSays(a.Figure), ShortDay(v.State.AsOf), v.State.about())
	default:
		it.Says = v.figureSays(a.Figure) + " " + v.MoreSays(a)
	}
	return it
}

func lineName(s holdfast.ShopSet, condition string) string {
	if s.Line == holdfast.LineBag {
		return fmt.Sprintf("Bag of %d: at most %s carry the %s", s.BagSize, Percent(s.BagLine), lower(condition))
	}
	return fmt.Sprintf("At least %s likely clear of the %s", Percent(s.ClearLine), lower(condition))
}

// figureSays states the figure the line is drawn on; with a line on the bag it
// says too what selling the whole lot means.
func (v *LotView) figureSays(f holdfast.Figure) string {
	if v.Shop.Line == holdfast.LineBag {
		return fmt.Sprintf("Now %s a bag; %s that at least one buyer gets it if the whole lot is sold.", Percent(f.BagRisk), Percent(f.BuyersRisk))
	}
	return fmt.Sprintf("Now %s.", PercentClear(f.Chance))
}

// wasSays states a figure that is not current any more.
func (v *LotView) wasSays(f holdfast.Figure) string {
	if v.Shop.Line == holdfast.LineBag {
		return Percent(f.BagRisk) + " a bag"
	}
	return PercentClear(f.Chance)
}

// about says how long it will take.
func (s FigureState) about() string {
	if s.Wait <= 0 {
		return ""
	}
	return ", about " + inSeconds(s.Wait)
}

func (v *LotView) here(zone *time.Location) GateItem {
	it := GateItem{Key: "days_here", Name: fmt.Sprintf("%d days here", v.Shop.DaysHere)}
	opened := holdfast.DayOf(v.Lot.OpenedAt, zone)
	return v.wait(it, opened+holdfast.Day(v.Shop.DaysHere), fmt.Sprintf("%d so far.", v.Today-opened))
}

// wait finishes a condition that the calendar alone meets.
func (v *LotView) wait(it GateItem, from holdfast.Day, now string) GateItem {
	it.Met, it.Says = v.Today >= from, now
	if !it.Met {
		it.From = from
		it.Says += " Met on " + ShortDay(from) + "."
	}
	return it
}

func (v *LotView) sinceSign(zone *time.Location) GateItem {
	it := GateItem{Key: "since_sign", Name: fmt.Sprintf("%d days since the last sign or dose", v.Shop.DaysSinceSign)}
	last, what := v.Lot.LastDose, "dose"
	if at := v.Lot.NewestSign(); at > last {
		last, what = at, "sign"
	}
	if last == 0 {
		it.Met, it.Says = true, "No sign found and no dose given."
		return it
	}
	d := holdfast.DayOf(last, zone)
	return v.wait(it, d+holdfast.Day(v.Shop.DaysSinceSign), fmt.Sprintf("Last %s on %s.", what, ShortDay(d)))
}

// cleanLook asks for one random look, recent, large enough and without signs,
// at everything the animals can carry.
func (v *LotView) cleanLook(zone *time.Location) GateItem {
	need := min(v.Shop.LookSize, max(1, v.Lot.Alive.N))
	it := GateItem{Key: "clean_look", Name: fmt.Sprintf("A clean look at %d in the last %d days", need, v.Shop.LookWithinDays)}
	since := v.Today - holdfast.Day(v.Shop.LookWithinDays)
	why := "None yet."
	for i := len(v.Lot.Events) - 1; i >= 0; i-- {
		ev := v.Lot.Events[i]
		p, ok := ev.Payload.(*holdfast.Inspection)
		if !ok || (p.Second != "" && p.Positive() == 0) {
			continue // a second look adds to the first and is none of its own
		}
		on := holdfast.DayOf(ev.OccurredAt, zone)
		if on < since {
			why = "The last one was on " + ShortDay(on) + "."
			break
		}
		if why = v.notClean(p, need); why == "" {
			it.Met, it.Says = true, fmt.Sprintf("%d looked at on %s, none with signs.", p.Looked(), ShortDay(on))
			return it
		}
		break // the newest look decides: an older clean one does not outweigh it
	}
	it.Says = fmt.Sprintf("%s Look at %d drawn at random.", why, need)
	return it
}

// notClean says why a look does not meet the gate, or "".
func (v *LotView) notClean(p *holdfast.Inspection, need int) string {
	if n := p.Positive(); n > 0 {
		return fmt.Sprintf("The newest look found signs on %s.", animals(n))
	}
	switch {
	case p.Chosen == holdfast.ChosenWeak:
		return "The newest look took the weak ones on purpose; it counts for what it is, but not as a random one."
	case p.Chosen == holdfast.ChosenAsCaught:
		return "The newest look took whatever could be caught; those that hide had no chance to be in it."
	case !p.Random:
		return "The newest look chose its animals; they prove nothing of the others."
	}
	for _, id := range v.LookFor() {
		if !slices.Contains(p.LookedFor, id) {
			return fmt.Sprintf("The newest look was not for the %s.", lower(Called(id)))
		}
		if n, _ := p.Tally(id); n < need {
			return fmt.Sprintf("The newest look could be read on %s only.", animals(n))
		}
	}
	return ""
}

func (v *LotView) deaths(zone *time.Location) GateItem {
	weekAgo := (v.Today - 6).Start(zone)
	n := v.Lot.DeathsSince(weekAgo)
	before := v.Lot.Alive.N + n
	limit := max(1, int(math.Floor(v.Shop.WeekDeathShare*float64(before))))
	it := GateItem{Key: "deaths", Name: fmt.Sprintf("At most %d dead in the last 7 days", limit), Met: n <= limit,
		Says: fmt.Sprintf("%d dead.", n)}
	if it.Met {
		return it
	}
	it.Says += " Find out why before anything else; wait until it stops."
	// The day on which enough deaths have left the window, if none follow.
	for d := v.Today + 1; d <= v.Today+7; d++ {
		if v.Lot.DeathsSince((d - 6).Start(zone)) <= limit {
			it.From = d
			it.Says += " Met on " + ShortDay(d) + " if no more die."
			break
		}
	}
	return it
}

// Unmet returns the conditions that do not hold.
func Unmet(gate []GateItem) []GateItem {
	return slices.DeleteFunc(slices.Clone(gate), func(g GateItem) bool { return g.Met })
}

// ReleaseForm is what a person signs.
type ReleaseForm struct {
	// Override is a typed reason to release below the line, or empty.
	Override string
	Note     string
}

// Release marks a lot for sale if the gate is open, or with a signed reason if
// what is unmet may be overridden. The figures it rests on are frozen in the
// entry.
func (d *Desk) Release(ctx context.Context, by Actor, lot string, f ReleaseForm) error {
	v, err := d.View(ctx, lot)
	if err != nil {
		return err
	}
	zone, err := d.Zone(ctx)
	if err != nil {
		return err
	}
	if by.ID != "" {
		if _, err := d.Store.Entry(ctx, by.ID); err == nil {
			return nil // the form was sent twice
		}
	}
	switch v.Lot.Status {
	case holdfast.Released:
		return refused("The lot is released already.", "Nothing is left to do.")
	case holdfast.Closed:
		return refused("The lot is closed.", "Open a new lot for animals that came back.")
	}
	if v.Lot.Alive.N < 1 {
		return refused("No animals are left in this lot.", "Recount it first.")
	}
	if d.Life != nil {
		if err := d.Life.fresh(ctx, v, f.Override != ""); err != nil {
			return err
		}
	}
	gate := v.Gate(zone)
	unmet := Unmet(gate)
	for _, g := range unmet {
		if g.Absolute {
			return refused(g.Says, "Hold the lot. Lift the suspicion on its page once it is answered in writing.")
		}
	}
	r := &holdfast.Release{Line: v.Shop.Line, LineValue: lineValue(v.Shop), BagSize: v.Shop.BagSize, Alive: v.Lot.Alive.N,
		Model: d.model(), Note: f.Note, Figures: []holdfast.Figure{}, Gate: []holdfast.GateLine{}}
	for _, a := range v.Assessed {
		if a.Known() {
			r.Figures = append(r.Figures, a.Figure)
		}
	}
	for _, g := range gate {
		r.Gate = append(r.Gate, holdfast.GateLine{Name: g.Name, Met: g.Met, Says: g.Says})
	}
	if len(unmet) == 0 {
		_, err = d.write(ctx, by, []Standing{v.Standing}, note{lot: lot, payload: r})
		return err
	}
	if f.Override == "" {
		return refused(fmt.Sprintf("%d conditions are not met: %s.", len(unmet), list(names(unmet))), "Meet them, or sign a reason to release all the same.")
	}
	return d.override(ctx, by, v, unmet, f.Override, r)
}

// model names what the figures are of.
func (d *Desk) model() string {
	if d.Life != nil {
		return LifeModel + "+" + d.Evidence.Model()
	}
	return d.Evidence.Model()
}

// override writes the signed reason first and the release resting on it.
func (d *Desk) override(ctx context.Context, by Actor, v *LotView, unmet []GateItem, reason string, r *holdfast.Release) error {
	o := &holdfast.Override{Reason: reason, Unmet: names(unmet)}
	if by.ID == "" {
		id, err := d.NewID()
		if err != nil {
			return err
		}
		by.ID = id
	}
	r.Override = by.ID
	_, err := d.write(ctx, by, []Standing{v.Standing}, note{lot: v.Lot.ID, payload: o}, note{lot: v.Lot.ID, payload: r})
	return err
}

func lineValue(s holdfast.ShopSet) float64 {
	if s.Line == holdfast.LineBag {
		return s.BagLine
	}
	return s.ClearLine
}

func names(items []GateItem) []string {
	out := make([]string, len(items))
	for i, g := range items {
		out[i] = g.Name
	}
	return out
}

func refused(message, hint string) error {
	return &holdfast.Error{Kind: holdfast.Refused, Message: message, Hint: hint}
}
