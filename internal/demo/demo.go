package demo

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
)

const (
	days      = 365
	seed      = 20261125
	zoneName  = "Europe/Amsterdam"
	quietDays = 74 // the regular deliveries end this long before today
)

// Seed fills an empty store with the invented shop's year up to the day before
// today, and with what was done today before opening time. Each simulated day
// is one transaction.
func Seed(ctx context.Context, store desk.Store, ev desk.Evidence, today time.Time, progress func(day, of int)) error {
	zone, err := time.LoadLocation(zoneName)
	if err != nil {
		return fmt.Errorf("time zone of the demo shop: %w", err)
	}
	o, err := newOverlay(ctx, store)
	if err != nil {
		return err
	}
	c := chance{rand.New(rand.NewPCG(seed, 1))}
	s := &shop{ctx: ctx, over: o, chance: c, zone: zone, truth: map[string]*truth{}}
	s.desk = &desk.Desk{Store: o, Evidence: ev, Site: "demo", Random: c, Now: func() time.Time { return s.clock }}
	s.desk.UseLife().Coarse = true
	y, m, d := today.In(zone).Date()
	first := time.Date(y, m, d-days, 0, 0, 0, 0, zone)
	s.plan(today.In(zone))
	for i := range days + 1 {
		s.clock = first.AddDate(0, 0, i).Add(8 * time.Hour)
		if err := s.day(i); err != nil {
			return fmt.Errorf("demo day %d: %w", i, err)
		}
		if err := o.flush(ctx); err != nil {
			return fmt.Errorf("demo day %d: %w", i, err)
		}
		if progress != nil {
			progress(i+1, days+1)
		}
	}
	return nil
}

// shop is the simulation.
type shop struct {
	ctx    context.Context
	desk   *desk.Desk
	over   *overlay
	chance chance
	zone   *time.Location
	clock  time.Time
	// coming lists deliveries by day.
	coming map[int][]delivery
	truth  map[string]*truth
	open   []string // lots with animals, oldest first
}

type delivery struct {
	from  supplier
	lines []ware
	// fixed is what is true of the one lot it brings: those on hold at the end.
	fixed *truth
}

// truth is what is really in a lot, which the desk can only infer.
type truth struct {
	infested  map[string]int // animals that carry each condition
	deathRate float64        // share of the animals a day
	ware      ware
	from      string
	heldSince int
	released  bool
	gaveUp    bool
	// asked is the newest look when the gate was last asked: without another the
	// answer would be the same.
	asked holdfast.Micros
}

// who returns who is at work, and moves the clock on by a few minutes.
func (s *shop) who() desk.Actor {
	s.clock = s.clock.Add(time.Duration(s.chance.between(1, 4)) * time.Minute)
	return desk.Actor{Who: staff[s.clock.YearDay()%len(staff)], At: s.clock}
}

// plan lays out the year's deliveries: about 137 lots in the regular season and
// three single ones that stand on hold today.
func (s *shop) plan(time.Time) {
	s.coming = map[int][]delivery{}
	lots := 0
	for lots < 137 {
		day := s.chance.between(1, days-quietDays)
		d := delivery{from: suppliers[s.chance.IntN(len(suppliers))]}
		for range min(s.chance.between(2, 5), 137-lots) {
			d.lines = append(d.lines, wares[s.chance.IntN(len(wares))])
			lots++
		}
		s.coming[day] = append(s.coming[day], d)
	}
	worm := func(n int) map[string]int { return map[string]int{"rostrum_worm": n} }
	s.coming[days-31] = append(s.coming[days-31], delivery{suppliers[6], []ware{wares[3]}, &truth{infested: map[string]int{}, deathRate: 0.0006}})
	s.coming[days-17] = append(s.coming[days-17], delivery{suppliers[0], []ware{wares[1]}, &truth{infested: worm(38), deathRate: 0.002}})
	s.coming[days-1] = append(s.coming[days-1], delivery{suppliers[3], []ware{wares[8]}, &truth{infested: worm(6), deathRate: 0.004}})
}

func (s *shop) day(i int) error {
	if i == 0 {
		return s.build()
	}
	for _, step := range []func(int) error{s.book, s.walk, s.receive, s.decide, s.sell, s.complaint} {
		if err := step(i); err != nil {
			return err
		}
	}
	return nil
}

// build sets up the shop and its forty tanks.
func (s *shop) build() error {
	set := holdfast.ShopSet{Name: "The Reed Room", Zone: zoneName, Currency: "EUR", Line: holdfast.LineClear, ClearLine: 0.95,
		BagLine: 0.01, BagSize: 10, DaysHere: 28, DaysSinceSign: 14, LookWithinDays: 7, LookSize: 30, WeekDeathShare: 0.03}
	if err := s.desk.SetShop(s.ctx, s.who(), set); err != nil {
		return err
	}
	for n := 1; n <= 40; n++ {
		f := desk.TankForm{ID: fmt.Sprint(n), Name: fmt.Sprintf("Tank %d", n), Place: n, Use: "quarantine"}
		f.Shape = holdfast.Shape{Form: "box", LengthCM: 60, WidthCM: 30, HeightCM: 36, FillCM: 30, GlassMM: 6, Outside: true}
		switch {
		case n <= 12:
			f.Use = "sale"
			f.SubstrateCM = 4
			f.HardscapeL = 2
			if n <= 8 {
				f.System, f.SumpL = "rack-A", 5
			}
		case n >= 37:
			f.Use = "hospital"
			f.LengthCM, f.WidthCM, f.HeightCM, f.FillCM, f.GlassMM = 40, 25, 25, 20, 5
		case n%5 == 0:
			f.LengthCM, f.WidthCM, f.HeightCM, f.FillCM = 80, 35, 40, 33
		}
		if _, err := s.desk.SetTank(s.ctx, s.who(), f); err != nil {
			return err
		}
	}
	return nil
}

// receive opens the day's boxes.
func (s *shop) receive(i int) error {
	for _, d := range s.coming[i] {
		a := desk.Arrival{Supplier: d.from.name, Origin: d.from.origin, Declaration: d.from.declaration, Boxes: 1 + len(d.lines)/3,
			HoursInTransit: ptr(float64(s.chance.between(20, 52))),
			Freight:        &holdfast.Money{Minor: int64(4000 + 1500*len(d.lines)), Currency: "EUR"},
			Bags:           []holdfast.BagReading{{Box: "1", Water: s.bagWater()}}}
		if d.from.origin == "farmed_outdoor" || d.from.origin == "wild" { // those come from abroad
			a.Papers = holdfast.Papers{Certificate: fmt.Sprintf("INV-%d-%03d", s.clock.Year(), s.clock.YearDay()), Transporter: "Invented Air Cargo", PlaceNumber: "INV " + d.from.name[:1] + "17",
				BorderPost: "Invented harbour", PreNotice: fmt.Sprintf("N-%03d", s.clock.YearDay())}
		}
		var truths []*truth
		for _, w := range d.lines {
			t := s.invent(d, w)
			t.heldSince = i
			n := s.chance.between(w.few/10, w.many/10) * 10
			dead := s.chance.binomial(n, d.from.doa)
			line := desk.ArrivalLine{Strain: w.strain, Species: w.species, Box: "1", Declared: n, DOA: dead,
				Price: &holdfast.Money{Minor: w.bought, Currency: "EUR"}, Tank: s.freeTank(n)}
			if d.fixed == nil {
				s.infest(t, d.from, n-dead)
			}
			a.Lines = append(a.Lines, line)
			truths = append(truths, t)
		}
		_, lots, err := s.desk.Receive(s.ctx, s.who(), a)
		if err != nil {
			return err
		}
		for j, id := range lots {
			s.truth[id] = truths[j]
			s.open = append(s.open, id)
		}
	}
	return nil
}

func (s *shop) invent(d delivery, w ware) *truth {
	if d.fixed != nil {
		t := *d.fixed
		t.ware, t.from = w, d.from.name
		return &t
	}
	return &truth{infested: map[string]int{}, deathRate: 0.0005 + 0.0025*s.chance.Float64()*s.chance.Float64(), ware: w, from: d.from.name}
}

// infest draws what a lot of this supplier really carries.
func (s *shop) infest(t *truth, from supplier, alive int) {
	share := func() int { return max(1, int(float64(alive)*(0.02+0.4*s.chance.Float64()*s.chance.Float64()))) }
	if len(desk.Tracked(t.ware.species)) == 0 {
		return
	}
	if s.chance.hit(from.worm) {
		t.infested["rostrum_worm"] = share()
	}
	if s.chance.hit(from.rings) {
		t.infested["segmented_worm"] = share()
	}
	if s.chance.hit(from.green) {
		t.infested["green_growth"] = max(1, share()/6)
	}
}

func (s *shop) bagWater() holdfast.Water {
	w := holdfast.Water{TempC: ptr(round(18+6*s.chance.Float64(), 1)), PH: ptr(round(6.2+0.8*s.chance.Float64(), 1)),
		ECUS: ptr(float64(s.chance.between(18, 45) * 10))}
	if s.chance.hit(0.7) {
		w.TAN = ptr(round(0.5+4*s.chance.Float64(), 1))
	}
	return w
}

// freeTank returns the quarantine tank with the fewest animals; the largest
// deliveries double up in a tank when the room is full, as in any shop.
func (s *shop) freeTank(int) string {
	load := s.loads()
	best, least := "13", 1<<30
	for n := 13; n <= 36; n++ {
		id := fmt.Sprint(n)
		if load[id] < least {
			best, least = id, load[id]
		}
	}
	return best
}

// loads counts the lots in each tank, those of today included.
func (s *shop) loads() map[string]int {
	load := map[string]int{}
	for _, id := range s.open {
		if l, err := s.desk.Lot(s.ctx, id); err == nil {
			for _, p := range l.Places {
				load[p.Tank]++
			}
		}
	}
	return load
}

// walk does the day's round.
func (s *shop) walk(i int) error {
	day, err := s.desk.Today(s.ctx)
	if err != nil {
		return err
	}
	r, err := s.desk.Round(s.ctx, day)
	if err != nil {
		return err
	}
	for _, section := range r.Sections {
		if h := section.Hygiene; h != nil && h.Open() && i < days {
			if err := s.desk.Tick(s.ctx, s.who(), "", h.Tank, h.Key, ""); err != nil {
				return err
			}
		}
		for _, stop := range section.Stops {
			for _, t := range stop.Tasks {
				if i == days && section.Zone > desk.Clean {
					continue // today the held tanks still wait
				}
				if err := s.do(i, stop, t); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (s *shop) do(i int, stop desk.Stop, t desk.Task) error {
	if !t.Open() {
		return nil
	}
	tr := s.truth[t.Lot]
	switch t.Kind {
	case desk.TaskAfter:
		return s.after(t)
	case desk.TaskPull:
		if s.chance.hit(0.03) || (i == days-1 && tr.infested["rostrum_worm"] > 0) {
			return nil // forgotten
		}
		n := s.chance.poisson(float64(alive(stop, t.Lot)) / 28)
		return s.desk.Pull(s.ctx, s.who(), t.Lot, t.Tank, &n, t.Key, "")
	case desk.TaskDead:
		n := min(alive(stop, t.Lot), s.chance.poisson(float64(alive(stop, t.Lot))*tr.deathRate))
		for range n {
			s.strike(tr, alive(stop, t.Lot))
		}
		return s.desk.Dead(s.ctx, s.who(), t.Lot, t.Tank, n, "", t.Key)
	case desk.TaskWater:
		if s.chance.hit(0.4) {
			return nil
		}
		return s.desk.Measure(s.ctx, s.who(), t.Tank, s.tankWater(), "", t.Key)
	case desk.TaskLook:
		if s.chance.hit(0.3) {
			return nil // tomorrow
		}
		return s.look(t)
	case desk.TaskDose:
		if s.chance.hit(0.2) {
			return nil
		}
		return s.treat(stop, t)
	}
	return nil
}

func alive(stop desk.Stop, lot string) int {
	for _, l := range stop.Lots {
		if l.ID == lot {
			for _, p := range l.Places {
				if p.Tank == stop.ID {
					return p.Count
				}
			}
		}
	}
	return 0
}

// strike lets a death hit a carrier as often as any other.
func (s *shop) strike(t *truth, alive int) {
	for c, n := range sorted(t.infested) {
		if alive > 0 && s.chance.hit(float64(n)/float64(alive)) {
			t.infested[c] = n - 1
		}
	}
}

func (s *shop) tankWater() holdfast.Water {
	return holdfast.Water{TempC: ptr(round(22.5+2*s.chance.Float64(), 1)), PH: ptr(round(6.8+0.8*s.chance.Float64(), 1)),
		ECUS: ptr(float64(s.chance.between(24, 34) * 10)), TAN: ptr(round(0.05*s.chance.Float64(), 2)), NO2: ptr(round(0.04*s.chance.Float64(), 2))}
}

// look draws the animals and sees on them what eyes like ours would see.
func (s *shop) look(t desk.Task) error {
	l, err := s.desk.Lot(s.ctx, t.Lot)
	if err != nil {
		return err
	}
	tr := s.truth[t.Lot]
	n := min(t.Planned, l.Alive.N)
	if n < 1 {
		return nil
	}
	by := holdfast.ByLens
	if s.chance.hit(0.4) {
		by = holdfast.ByPhoto
	}
	p := holdfast.Inspection{By: by, Random: true, Planned: t.Planned, Task: t.Key, Blind: s.chance.hit(0.3)}
	for _, c := range desk.Tracked(l.Species) {
		p.LookedFor = append(p.LookedFor, c.ID)
	}
	for k := range n {
		a := holdfast.Animal{No: k + 1, Seen: slices.Clone(holdfast.Sides)}
		if s.chance.hit(0.15) {
			a.Seen = a.Seen[:2]
		}
		for c, infested := range sorted(tr.infested) {
			if s.chance.hit(float64(infested) / float64(l.Alive.N) * 0.75) {
				a.Findings = append(a.Findings, s.finding(c))
			}
		}
		if len(a.Findings) == 0 && s.chance.hit(0.03) {
			a.Findings = []holdfast.Finding{{Condition: holdfast.Pigment}}
		}
		p.Animals = append(p.Animals, a)
	}
	first := s.who()
	id, err := s.desk.Inspect(s.ctx, first, t.Lot, t.Tank, p)
	if err != nil {
		return err
	}
	return s.again(first, t, l, id, p)
}

// again lets other eyes judge the animals of some looks once more, so that the
// shop learns how well it sees. It has chance of its own: the year goes the same
// way with and without it.
func (s *shop) again(first desk.Actor, t desk.Task, l *holdfast.Lot, id holdfast.ID, p holdfast.Inspection) error {
	h := fnv.New64a()
	h.Write([]byte(t.Key))
	own := chance{rand.New(rand.NewPCG(h.Sum64(), 2))}
	if p.Positive() == 0 && !own.hit(0.05) {
		return nil
	}
	tr := s.truth[t.Lot]
	q := p
	q.By, q.Random, q.Chosen, q.Second, q.Task, q.Blind, q.Animals = holdfast.ByEye, false, holdfast.ChosenAgain, id, "", true, nil
	for _, a := range p.Animals {
		b := holdfast.Animal{No: a.No, Place: a.Place, Seen: slices.Clone(holdfast.Sides)}
		for _, c := range p.LookedFor {
			share := float64(tr.infested[c]) / float64(max(1, l.Alive.N))
			carries := own.hit(share * 0.25 / max(1e-9, 1-share*0.75)) // missed by the first
			for _, f := range a.Findings {
				carries = carries || desk.ConditionOf(f.Condition) == c
			}
			if carries && own.hit(0.45) {
				b.Findings = append(b.Findings, holdfast.Finding{Condition: c})
			}
		}
		q.Animals = append(q.Animals, b)
	}
	other := staff[(slices.Index(staff, first.Who)+1)%len(staff)]
	var random [10]byte
	_, _ = own.Read(random[:]) // never fails
	by := desk.Actor{Who: other, At: first.At.Add(time.Millisecond), ID: holdfast.MakeID(first.At.UnixMilli(), random)}
	_, err := s.desk.Inspect(s.ctx, by, t.Lot, t.Tank, q)
	return err
}

func (s *shop) finding(condition string) holdfast.Finding {
	switch condition {
	case "rostrum_worm":
		if s.chance.hit(0.35) {
			return holdfast.Finding{Condition: "egg_row", Site: "gill_chamber"}
		}
		return holdfast.Finding{Condition: condition, Site: "between_eyes", Motion: "bends"}
	case "segmented_worm":
		return holdfast.Finding{Condition: condition, Site: "belly", Motion: "crawls"}
	}
	return holdfast.Finding{Condition: condition, Site: "belly"}
}

// after looks at the animals of a dip; those of a trial are looked at when the
// lot's turn comes.
func (s *shop) after(t desk.Task) error {
	l, err := s.desk.Lot(s.ctx, t.Lot)
	if err != nil {
		return err
	}
	g, err := desk.GivenOf(l, t.Of, s.clock)
	if err != nil || g.Treatment.Trial {
		return err
	}
	return s.desk.LookAfter(s.ctx, s.who(), t.Lot, t.Of, desk.AfterLook{Dead: g.Dead, Task: t.Key})
}

// treat gives the trial on the first day and the bath on the next.
func (s *shop) treat(stop desk.Stop, t desk.Task) error {
	l, err := s.desk.Lot(s.ctx, t.Lot)
	if err != nil {
		return err
	}
	tr := s.truth[t.Lot]
	if tr.infested["segmented_worm"] > 0 && tr.infested["rostrum_worm"] == 0 {
		return s.dip(l, tr, t)
	}
	litres := round(stop.Litres, 1)
	grams := round(litres*2.5/1000, 2)
	dose := holdfast.Treatment{Form: "bath", Active: "praziquantel", TargetMgL: 2.5, StrengthShare: 1, WeighedG: &grams, VolumeL: litres,
		Hours: 96, TempC: ptr(23.5), Held: holdfast.HeldFull, Batch: fmt.Sprintf("P%02d", 1+s.clock.Month())}
	if ready, err := s.try(l, t.Tank, dose, 2); !ready || err != nil {
		return err
	}
	dose.Task = t.Key
	kill := 0.8
	if s.chance.hit(0.12) {
		dose.Held, dose.Failed, kill = holdfast.HeldPartial, "carbon left in the filter for the first night", 0.5
	}
	n := tr.infested["rostrum_worm"]
	tr.infested["rostrum_worm"] = n - s.chance.binomial(n, kill)
	return s.desk.Treat(s.ctx, s.who(), t.Lot, t.Tank, dose)
}

func (s *shop) dip(l *holdfast.Lot, tr *truth, t desk.Task) error {
	dose := holdfast.Treatment{Form: "dip", Active: "sodium chloride", TargetMgL: 30000,
		StrengthShare: 1, WeighedG: ptr(60.0), VolumeL: 2, Hours: 0.01, TempC: ptr(23.0), Held: holdfast.HeldFull}
	if ready, err := s.try(l, t.Tank, dose, 2); !ready || err != nil {
		return err
	}
	dose.Count, dose.Task = l.Alive.N, t.Key
	n := tr.infested["segmented_worm"]
	tr.infested["segmented_worm"] = n - s.chance.binomial(n, 0.6)
	return s.desk.Treat(s.ctx, s.who(), t.Lot, t.Tank, dose)
}

// try gives a dose to four animals if none were tried on it yet, and looks at
// them a day later. It reports whether the lot may get it now.
func (s *shop) try(l *holdfast.Lot, tank string, dose holdfast.Treatment, litres float64) (bool, error) {
	open := desk.OpeningFor(l, dose, s.clock)
	if open.Open {
		return true, nil
	}
	if open.Trial == nil {
		dose.Trial, dose.Count, dose.VolumeL = true, 4, litres
		if dose.Form == "bath" {
			dose.Hours, dose.WeighedG, dose.Note = 24, nil, "From a stock solution."
		}
		return false, s.desk.Treat(s.ctx, s.who(), l.ID, tank, dose)
	}
	if day := open.Trial.At.Add(24*time.Hour + time.Minute); s.clock.Before(day) {
		s.clock = day
	}
	return true, s.desk.LookAfter(s.ctx, s.who(), l.ID, open.Trial.Entry, desk.AfterLook{Walking: open.Trial.Given.Count})
}

// decide releases what may go and finds another way for what never will.
func (s *shop) decide(i int) error {
	for _, id := range slices.Clone(s.open) {
		tr := s.truth[id]
		if tr.released || tr.gaveUp || i-tr.heldSince < 28 || (i+len(id))%3 != 0 {
			continue
		}
		l, err := s.desk.Lot(s.ctx, id)
		if err != nil {
			return err
		}
		switch {
		case l.Status == holdfast.Closed:
			s.close(id)
		case i >= days-3:
			continue
		case tr.asked != l.LastLook:
			err = s.ask(l)
		}
		if err == nil && !tr.released && i-tr.heldSince > 56 && l.Status != holdfast.Closed {
			err = s.otherWay(l, i)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// cleanLooks is how many looks in a row must have shown nothing before the shop
// asks for a lot that has had signs: with fewer the figure on its page is well
// below the line, and nobody signs a form to be told so.
const cleanLooks = 5

// ask puts a lot to the gate if only the evidence is left to decide.
func (s *shop) ask(l *holdfast.Lot) error {
	v, err := s.desk.View(s.ctx, l.ID)
	if err != nil || !s.ripe(v) {
		return err
	}
	s.truth[l.ID].asked = l.LastLook
	if len(l.LastSign) > 0 && looksSince(l, l.NewestSign()) < cleanLooks {
		s.who() // reading the page takes its minutes too
		return nil
	}
	return s.release(l, desk.ReleaseForm{})
}

// looksSince counts the looks after an instant, second looks at the same animals
// left out.
func looksSince(l *holdfast.Lot, from holdfast.Micros) (n int) {
	for _, ev := range l.Events {
		if p, ok := ev.Payload.(*holdfast.Inspection); ok && ev.OccurredAt > from && p.Second == "" {
			n++
		}
	}
	return n
}

// ripe reports whether only the evidence is left to decide on a release.
func (s *shop) ripe(v *desk.LotView) bool {
	return !slices.ContainsFunc(desk.Unmet(v.Gate(s.zone)), func(g desk.GateItem) bool { return !strings.HasPrefix(g.Key, "line_") })
}

func (s *shop) release(l *holdfast.Lot, f desk.ReleaseForm) error {
	id := l.ID
	if err := s.desk.Release(s.ctx, s.who(), id, f); err != nil {
		var e *holdfast.Error
		if errors.As(err, &e) {
			return nil // refused: it stays on hold
		}
		return err
	}
	s.truth[id].released = true
	load := s.loads()
	best, least := "1", 1<<30
	for n := 1; n <= 12; n++ {
		if t := fmt.Sprint(n); load[t] < least {
			best, least = t, load[t]
		}
	}
	for _, from := range l.TankIDs() {
		if err := s.desk.Move(s.ctx, s.who(), id, from, best, 0, false, "released"); err != nil {
			return err
		}
	}
	return nil
}

// otherWay picks a way out for a lot that has waited eight weeks.
func (s *shop) otherWay(l *holdfast.Lot, i int) error {
	id, tr := l.ID, s.truth[l.ID]
	signs := len(l.LastSign) > 0
	pick := s.chance.IntN(10)
	switch {
	case !signs && pick < 7:
		return s.release(l, desk.ReleaseForm{Override: "Eight weeks without a sign, looked at several times; small bags to known keepers only."})
	case !signs, i-tr.heldSince < 64:
		return nil
	}
	e := holdfast.Exit{Reason: "Signs again after the second course; the weeks cost more than the animals."}
	switch {
	case l.LastSign["green_growth"] > 0 || pick < 2:
		e.Way, e.Reason = holdfast.ExitPutDown, "No proven cure, and it spreads. Done after a call to the veterinarian."
	case pick < 5:
		e.Way, e.Disclosed = holdfast.ExitDisclosed, "Rostrum worm found on some animals; two baths given; last look told in numbers."
	case pick < 9:
		e.Way = holdfast.ExitClaim
	default:
		e.Way = holdfast.ExitColony
	}
	if err := s.desk.Exit(s.ctx, s.who(), id, e); err != nil {
		var refusal *holdfast.Error
		if !errors.As(err, &refusal) {
			return err
		}
		e = holdfast.Exit{Way: holdfast.ExitPutDown, Reason: "No animal of it may leave. Done after a call to the veterinarian."}
		if err := s.desk.Exit(s.ctx, s.who(), id, e); err != nil {
			return err
		}
	}
	tr.gaveUp = true
	if e.Way == holdfast.ExitClaim || e.Way == holdfast.ExitPutDown {
		s.close(id)
	}
	if e.Way == holdfast.ExitDisclosed {
		tr.released = true
	}
	return nil
}

func (s *shop) close(id string) {
	s.open = slices.DeleteFunc(s.open, func(x string) bool { return x == id })
}

var buyerNames = []string{"Keeper 1", "Keeper 2", "Keeper 3", "Corner aquarium shop", "Keeper 4", "School aquarium", "Keeper 5", "Pond and tank shop", "Keeper 6", "Keeper 7"}

// sell lets released lots go in bags of ten, and finds a lot or two closed.
func (s *shop) sell(i int) error {
	for _, id := range slices.Clone(s.open) {
		tr := s.truth[id]
		if !tr.released || !s.chance.hit(0.09) {
			continue
		}
		l, err := s.desk.Lot(s.ctx, id)
		if err != nil {
			return err
		}
		if l.Alive.N == 0 {
			s.close(id)
			continue
		}
		if l.Status != holdfast.Released && l.Status != holdfast.Disclosed {
			continue
		}
		n := min(l.Alive.N, 10*s.chance.between(1, 4))
		f := desk.SaleForm{Count: n, Price: &holdfast.Money{Minor: tr.ware.sold * int64(n), Currency: "EUR"}}
		k := s.chance.IntN(len(buyerNames))
		f.Name = buyerNames[k]
		if strings.Contains(f.Name, "shop") {
			f.Papers = holdfast.Papers{Place: "Invented Street 5", PlaceNumber: fmt.Sprintf("INV-S%d", k), Transporter: "own van"}
		}
		if err := s.buyer(&f, k); err != nil {
			return err
		}
		if err := s.desk.Sell(s.ctx, s.who(), id, f); err != nil {
			return err
		}
		if n == l.Alive.N {
			s.close(id)
		}
	}
	return nil
}

// complaint: twelve days ago a buyer wrote that one animal of a released lot
// had something white between the eyes, and the shop looked.
func (s *shop) complaint(i int) error {
	if i != days-12 {
		return nil
	}
	for _, id := range s.open {
		l, err := s.desk.Lot(s.ctx, id)
		if err != nil {
			return err
		}
		if l.Status != holdfast.Released || l.Sold == 0 || l.Alive.N < 20 || l.Species != "neocaridina_davidi" {
			continue
		}
		p := holdfast.Inspection{By: holdfast.ByLens, LookedFor: []string{"rostrum_worm"}, Planned: 10, Note: "A buyer sent a picture; these ten were picked because they looked pale."}
		for k := range 10 {
			a := holdfast.Animal{No: k + 1, Seen: slices.Clone(holdfast.Sides)}
			if k == 3 {
				a.Findings = []holdfast.Finding{{Condition: "rostrum_worm", Site: "between_eyes", Motion: "bends"}}
			}
			p.Animals = append(p.Animals, a)
		}
		_, err = s.desk.Inspect(s.ctx, s.who(), id, firstOf(l.TankIDs()), p)
		return err
	}
	return nil
}

func firstOf(ids []string) string {
	if len(ids) == 0 {
		return ""
	}
	return ids[0]
}

// buyer uses the pseudonym of a buyer who came before.
func (s *shop) buyer(f *desk.SaleForm, k int) error {
	all, err := s.over.Buyers(s.ctx)
	if err != nil {
		return err
	}
	for _, b := range all {
		if b.Name == buyerNames[k] {
			f.Buyer = b.Pseudonym
		}
	}
	return nil
}

func ptr[T any](x T) *T { return &x }

func round(x float64, decimals int) float64 {
	p := 1.0
	for range decimals {
		p *= 10
	}
	return float64(int(x*p+0.5)) / p
}
