package desk

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/clearance"
	"holdfast/science/ref"
)

// story is a lot told by day and hour, in tank "1" unless it says otherwise.
type story struct {
	id     string
	events []holdfast.Event
}

// firstMorning is 8 o'clock on the day of arrival.
var firstMorning = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

func newStory(declared int) *story {
	s := &story{id: "A"}
	return s.on(0, "", &holdfast.LotOpened{Declared: declared, Stock: holdfast.Stock{Consignment: "C", Strain: "x", Species: "neocaridina_davidi"}}).
		on(0.01, "1", &holdfast.LotPlaced{})
}

// on adds what happened so many days after the first morning.
func (s *story) on(day float64, tank string, p holdfast.Payload) *story {
	at := firstMorning.Add(time.Duration(day * 24 * float64(time.Hour)))
	e := holdfast.Entry{ID: holdfast.ID(fmt.Sprintf("%s-%03d", s.id, len(s.events))), OccurredAt: holdfast.MicrosOf(at), Lot: s.id, Tank: tank,
		Site: "s", Who: "Jo", Seq: int64(len(s.events) + 1)}
	if err := e.Encode(p); err != nil {
		panic(err)
	}
	ev, err := e.Decode()
	if err != nil {
		panic(err)
	}
	s.events = append(s.events, ev)
	return s
}

func (s *story) lot() *holdfast.Lot { return holdfast.FoldLot(s.id, s.events) }

// told is the case of the story on the evening of a day.
func (s *story) told(t *testing.T, day int, tanks map[string]*holdfast.Tank) *History {
	t.Helper()
	h, err := s.tell(day, tanks, nil)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func (s *story) tell(day int, tanks map[string]*holdfast.Tank, other map[string]*holdfast.Lot) (*History, error) {
	c := Case{Lot: s.lot(), BagSize: 10, Zone: time.UTC,
		Tank: func(id string) (*holdfast.Tank, error) {
			if k := tanks[id]; k != nil {
				return k, nil
			}
			return &holdfast.Tank{ID: id}, nil
		},
		Other: func(id string) (*holdfast.Lot, error) { return other[id], nil }}
	cond, err := LifeCondition(nil, reference.RostrumWorm)
	if err != nil {
		return nil, err
	}
	return LifeCycle(c, cond, holdfast.DayOf(holdfast.MicrosOf(firstMorning), time.UTC)+holdfast.Day(day))
}

func looked(n, worms, eggs, both int, by string) *holdfast.Inspection {
	p := &holdfast.Inspection{By: by, Random: true, Planned: n, LookedFor: []string{reference.RostrumWorm}}
	for i := range n {
		a := holdfast.Animal{No: i + 1, Seen: slices.Clone(holdfast.Sides)}
		if i < worms {
			a.Findings = append(a.Findings, holdfast.Finding{Condition: reference.RostrumWorm})
		}
		if i < both || i >= worms && i < worms+eggs-both {
			a.Findings = append(a.Findings, holdfast.Finding{Condition: reference.EggRow})
		}
		p.Animals = append(p.Animals, a)
	}
	return p
}

func bath(hours float64, held string) *holdfast.Treatment {
	return &holdfast.Treatment{Form: "bath", Active: "Praziquantel", TargetMgL: 2.5, StrengthShare: 1, VolumeL: 50, Hours: hours, Held: held, Failed: "x"}
}

func TestLifeCycleTellsTheStory(t *testing.T) {
	s := newStory(100).
		on(0.05, "", &holdfast.DOA{Count: 3}).
		on(0.1, "", &holdfast.Counted{Count: 95}).
		on(2, "1", looked(20, 3, 2, 1, holdfast.ByLens)).
		on(3, "1", &holdfast.Treatment{Form: "bath", Active: "praziquantel", TargetMgL: 2.5, StrengthShare: 1, VolumeL: 2, Hours: 24, Count: 4, Trial: true, Held: holdfast.HeldFull}).
		on(4, "1", bath(96, holdfast.HeldFull)).
		on(5, "1", &holdfast.MoultPull{}).on(6, "1", &holdfast.MoultPull{}).on(6.3, "1", &holdfast.MoultPull{}).on(8, "1", &holdfast.MoultPull{}).on(9, "1", &holdfast.MoultPull{}).
		on(10, "1", &holdfast.Death{Count: 2}).
		on(11, "1", looked(30, 0, 0, 0, holdfast.ByLens)). // within 7 d of the end of the bath
		on(18, "1", bath(48, holdfast.HeldPartial)).
		on(24, "1", bath(96, holdfast.HeldVoid)).
		on(30, "1", looked(25, 0, 0, 0, holdfast.ByEye)).
		on(31, "1", &holdfast.Sale{Buyer: "b", Count: 20})
	warm := func(day float64, c float64) holdfast.Event {
		return holdfast.Event{Payload: &holdfast.WaterMeasured{Water: holdfast.Water{TempC: &c}},
			Entry: holdfast.Entry{OccurredAt: holdfast.MicrosOf(firstMorning.Add(time.Duration(day*24) * time.Hour))}}
	}
	tank := &holdfast.Tank{ID: "1", TankSet: holdfast.TankSet{Litres: 54}, Known: true, Measured: []holdfast.Event{warm(-3, 20), warm(5, 22.1), warm(5.2, 22.7), warm(9, 22.6), warm(12, 25)}}
	h := s.told(t, 31, map[string]*holdfast.Tank{"1": tank})
	if h.Animals != 95 || h.Today != 31.99 || !slices.Equal(h.TankIDs, []string{"1"}) || *h.Infested != .5 {
		t.Errorf("%d animals, today %v, tanks %v, infested %v", h.Animals, h.Today, h.TankIDs, *h.Infested)
	}
	if want := []clearance.Tank{{VolumeL: 54, Temp: []clearance.TempFrom{{Day: 0, TempC: 20}, {Day: 5, TempC: 22.5}, {Day: 12, TempC: 25}}}}; !reflect.DeepEqual(h.Tanks, want) {
		t.Errorf("tanks %+v", h.Tanks)
	}
	third := 1 / 3.0
	wantDoses := []clearance.Dose{{Treatment: "praziquantel", Day: 4 + third, Days: 4}, {Treatment: "praziquantel", Day: 18 + third, Days: 2, Lost: .75}}
	if len(h.Doses) != 2 || !closeDose(h.Doses[0], wantDoses[0]) || !closeDose(h.Doses[1], wantDoses[1]) {
		t.Errorf("doses %+v", h.Doses)
	}
	wantPulls := []clearance.Pulls{{From: 5, To: 5.99, PerDay: 1, Done: true}, {From: 6, To: 6.99, PerDay: 2, Done: true}, {From: 8, To: 9.99, PerDay: 1, Done: true}}
	if !reflect.DeepEqual(h.Pulls, wantPulls) {
		t.Errorf("pulls %+v", h.Pulls)
	}
	if len(h.Looks) != 2 || h.Looks[0].Worms != 3 || h.Looks[0].Eggs != 2 || *h.Looks[0].Both != 1 || h.Looks[0].View != 1 || h.Looks[1].Animals != 25 || h.Looks[1].View != 0.5 {
		t.Errorf("looks %+v", h.Looks)
	}
	if len(h.Exits) != 2 || !h.Exits[0].Dead || h.Exits[0].Animals != 2 || h.Exits[1].Dead || h.Exits[1].Animals != 20 {
		t.Errorf("exits %+v", h.Exits)
	}
	if got := s.lot().Alive.N; h.Animals-22 != got {
		t.Errorf("%d of %d left in the case, %d in the fold", h.Animals-22, h.Animals, got)
	}
}

func closeDose(a, b clearance.Dose) bool {
	d := a.Day - b.Day
	a.Day = b.Day
	return d < 1e-9 && d > -1e-9 && a == b
}

func TestLifeCycleOfAnimalsWithSigns(t *testing.T) {
	found := func() *story { return newStory(60).on(2, "1", looked(20, 3, 0, 0, holdfast.ByLens)) }
	for name, c := range map[string]struct {
		s     *story
		to    *int
		exits int
	}{
		"stayed":              {found(), nil, 0},
		"all taken out":       {found().on(2.2, "1", &holdfast.Removal{Count: 3, Positive: true, Reason: "worm"}), ptrTo(-1), 0},
		"in two goes":         {found().on(2.2, "1", &holdfast.Removal{Count: 1, Positive: true, Reason: "worm"}).on(3, "1", &holdfast.Removal{Count: 2, Positive: true, Reason: "worm"}), ptrTo(-1), 0},
		"with two companions": {found().on(2.2, "1", &holdfast.Removal{Count: 5, Positive: true, Reason: "worm"}), ptrTo(-1), 2},
		"some of them":        {found().on(2.2, "1", &holdfast.Removal{Count: 2, Positive: true, Reason: "worm"}), nil, 2},
		"long after":          {found().on(9, "1", &holdfast.Removal{Count: 3, Positive: true, Reason: "worm"}), nil, 3},
		"to a hospital":       {found().on(2.2, "2", &holdfast.LotMoved{From: "1", Count: 3, Hospital: true}), ptrTo(1), 0},
	} {
		h := c.s.told(t, 12, nil)
		n := 0
		for _, x := range h.Exits {
			n += x.Animals
		}
		if got := h.Looks[0].PositivesTo; !reflect.DeepEqual(got, c.to) || n != c.exits {
			t.Errorf("%s: positives to %v, %d taken at random", name, got, n)
		}
	}
	sign := map[string][]string{"site": {"rostrum"}}
	proven := func(truth, proof string) *holdfast.CaseConfirmed {
		return &holdfast.CaseConfirmed{Truth: truth, Proof: proof, Signs: sign}
	}
	for name, c := range map[string]struct {
		p    *holdfast.CaseConfirmed
		open int
	}{
		"microscope":         {proven(reference.RostrumWorm, holdfast.ProofMicroscope), 0},
		"laboratory":         {proven(reference.RostrumWorm, holdfast.ProofLaboratory), 0},
		"response":           {proven(reference.RostrumWorm, holdfast.ProofResponse), 3},
		"something else":     {proven("ciliates", holdfast.ProofMicroscope), 3},
		"before it was seen": {nil, 3},
	} {
		s := newStory(60)
		if c.p == nil {
			s.on(1, "1", proven(reference.RostrumWorm, holdfast.ProofMicroscope))
		}
		if s.on(2, "1", looked(20, 3, 0, 0, holdfast.ByLens)).on(9, "1", looked(20, 0, 0, 0, holdfast.ByLens)); c.p != nil {
			s.on(10, "1", c.p)
		}
		h := s.told(t, 12, nil)
		if got := h.Unproven(); got != c.open || h.Looks[0].Confirmed != (c.open == 0) || h.Looks[1].Confirmed {
			t.Errorf("%s: %d open, looks %+v", name, got, h.Looks)
		}
	}
	picked := looked(10, 1, 0, 0, holdfast.ByLens)
	picked.Random = false
	h := newStory(60).on(2, "1", picked).told(t, 3, nil)
	if l := h.Looks[0]; !l.Picked || l.Animals != 1 || l.Worms != 1 {
		t.Errorf("a picked look became %+v", l)
	}
}

func ptrTo[T any](x T) *T { return &x }

// A lot that was moved to the sale tank is told from there; so is one that was
// split off, with what happened before.
func TestLifeCycleFollowsTanksAndParents(t *testing.T) {
	s := newStory(80).on(3, "1", looked(10, 0, 0, 0, holdfast.ByLens)).on(20, "9", &holdfast.LotMoved{From: "1"})
	h := s.told(t, 25, map[string]*holdfast.Tank{"1": {TankSet: holdfast.TankSet{Litres: 50}}, "9": {TankSet: holdfast.TankSet{Litres: 30}}})
	if !slices.Equal(h.TankIDs, []string{"9"}) || h.Tanks[0].VolumeL != 30 || len(h.Moves) != 0 {
		t.Errorf("moved whole: tanks %v, %+v, moves %+v", h.TankIDs, h.Tanks, h.Moves)
	}
	s = newStory(80).on(3, "1", looked(10, 0, 0, 0, holdfast.ByLens)).on(20, "9", &holdfast.LotMoved{From: "1", Count: 50})
	h = s.told(t, 25, map[string]*holdfast.Tank{"1": {TankSet: holdfast.TankSet{Litres: 50}}, "9": {TankSet: holdfast.TankSet{Litres: 30}}})
	if !slices.Equal(h.TankIDs, []string{"9", "1"}) || h.Tanks[0].VolumeL != 30 || h.Looks[0].Tank != 1 ||
		!reflect.DeepEqual(h.Moves[0], clearance.Move{Animals: 80, To: 1}) || h.Moves[1].From != 1 || h.Moves[1].To != 0 || h.Moves[1].Animals != 50 {
		t.Errorf("tanks %v, looks %+v, moves %+v", h.TankIDs, h.Looks, h.Moves)
	}
	split := &holdfast.LotSplit{NewLot: "A.1", Count: 30, Stock: holdfast.Stock{Consignment: "C", Strain: "x", Species: "neocaridina_davidi"}}
	parent := newStory(80).on(3, "1", looked(10, 1, 0, 0, holdfast.ByLens)).on(20, "7", split).on(22, "1", &holdfast.Death{Count: 5})
	child := &story{id: "A.1"}
	child.events = append(child.events, parent.events[3])
	child.on(24, "7", &holdfast.Death{Count: 1})
	h, err := child.tell(25, nil, map[string]*holdfast.Lot{"A": parent.lot()})
	if err != nil {
		t.Fatal(err)
	}
	left := h.Animals
	for _, x := range h.Exits {
		left -= x.Animals
	}
	if left != 29 || h.TankIDs[0] != "7" || len(h.Looks) != 1 || h.Looks[0].Worms != 1 || h.Today != 25.99 {
		t.Errorf("%d left, tanks %v, looks %+v", left, h.TankIDs, h.Looks)
	}
	r, err := clearance.Evidence(t.Context(), cheap(h.Case))
	if err != nil || r.Mixed.Points[0].Alive != 29 {
		t.Errorf("the model has %v alive (%v)", r.Mixed.Points, err)
	}
}

// A recount on the day of arrival says that the missing never came, but not those
// that were looked at that day, nor those that stood in another tank by then.
func TestLifeCycleRecountOnTheFirstDay(t *testing.T) {
	for name, c := range map[string]struct {
		s            *story
		animals, out int
	}{
		"before anything":   {newStory(60).on(.1, "", &holdfast.Counted{Count: 40}), 40, 0},
		"after a look":      {newStory(60).on(.1, "", looked(11, 0, 0, 0, holdfast.ByLens)).on(.2, "", &holdfast.Counted{Count: 4}), 11, 7},
		"in another tank":   {newStory(5).on(.1, "2", &holdfast.Births{Count: 6}).on(.2, "", &holdfast.Counted{Count: 4}), 6, 2},
		"dead after a look": {newStory(12).on(.1, "", looked(11, 0, 0, 0, holdfast.ByLens)).on(.2, "", &holdfast.DOA{Count: 3}), 11, 2},
	} {
		h := c.s.told(t, 2, nil)
		out := 0
		for _, x := range h.Exits {
			out += x.Animals
		}
		if h.Animals != c.animals || out != c.out || h.Animals-out != c.s.lot().Alive.N {
			t.Errorf("%s: %d on day 0, %d left; want %d and %d", name, h.Animals, out, c.animals, c.out)
		}
		if _, err := clearance.Play(h.Case, 0); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func cheap(c clearance.Case) clearance.Case {
	c.Runs = 100
	return c
}

func TestLifeCycleSaysWhatItCannotFollow(t *testing.T) {
	merged := newStory(50)
	in := newStory(20)
	in.id = "B"
	merged.events = append(merged.events, in.on(5, "", &holdfast.LotMerged{Into: "A", Count: 10}).events[2])
	for name, s := range map[string]*story{"merged": merged, "nobody left": newStory(5).on(2, "1", &holdfast.Sale{Buyer: "b", Count: 5})} {
		_, err := s.tell(10, nil, nil)
		var none *ref.NoAnswer
		if !errors.As(err, &none) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := newStory(5).tell(500, nil, nil); err == nil {
		t.Error("a lot of 500 days was followed")
	}
}

// Whatever was recorded, the model takes the case, counts the animals as the
// fold does, and knows nothing of what came after the day asked for.
func TestLifeCycleProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := newStory(rapid.IntRange(5, 120).Draw(t, "declared"))
		day := 0.2
		for range rapid.IntRange(0, 14).Draw(t, "events") {
			day += rapid.Float64Range(0.01, 6).Draw(t, "gap")
			n := max(1, s.lot().Alive.N)
			count := rapid.IntRange(1, min(n, 12)).Draw(t, "count")
			tank := rapid.SampledFrom([]string{"", "1", "2"}).Draw(t, "tank")
			var p holdfast.Payload
			switch rapid.IntRange(0, 10).Draw(t, "kind") {
			case 0:
				p = &holdfast.Death{Count: count}
			case 1:
				p = &holdfast.Removal{Count: count, Positive: rapid.Bool().Draw(t, "positive"), Reason: "x"}
			case 2:
				p = &holdfast.Counted{Count: rapid.IntRange(1, 130).Draw(t, "counted")}
			case 3, 4:
				k := rapid.IntRange(0, count).Draw(t, "worms")
				l := looked(count, k, rapid.IntRange(0, count-k).Draw(t, "eggs"), 0, holdfast.ByLens)
				l.Random = rapid.IntRange(0, 4).Draw(t, "random") > 0
				p = l
			case 5:
				p, tank = bath(rapid.Float64Range(0, 200).Draw(t, "hours"), rapid.SampledFrom([]string{holdfast.HeldFull, holdfast.HeldPartial, holdfast.HeldVoid}).Draw(t, "held")), "1"
			case 6:
				p = &holdfast.Treatment{Form: "dip", Active: "sodium chloride", StrengthShare: 1, VolumeL: 1, Hours: .01, Count: count, Held: holdfast.HeldFull}
			case 7:
				p = &holdfast.MoultPull{}
			case 8:
				p, tank = &holdfast.LotMoved{From: rapid.SampledFrom([]string{"1", "2"}).Draw(t, "from"), Count: rapid.IntRange(0, count).Draw(t, "moved"), Hospital: rapid.Bool().Draw(t, "hospital")}, "2"
			case 9:
				p = &holdfast.Births{Count: count}
			case 10:
				p = &holdfast.DOA{Count: count}
			}
			if s.lot().Alive.N == 0 {
				break
			}
			s.on(day, tank, p)
		}
		asOf := int(day) + 2
		h, err := s.tell(asOf, nil, nil)
		if n := s.lot().Alive.N; n == 0 {
			if err == nil {
				t.Fatal("a lot without animals was followed")
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		left := h.Animals
		for _, x := range h.Exits {
			left -= x.Animals
		}
		for _, l := range h.Looks {
			if l.PositivesTo != nil && *l.PositivesTo == -1 {
				left -= l.Worms + l.Eggs - *l.Both
			}
		}
		if left != s.lot().Alive.N {
			t.Fatalf("%d left, the fold has %d", left, s.lot().Alive.N)
		}
		played, err := clearance.Play(h.Case, 0)
		if err != nil {
			t.Fatalf("the model does not take the case: %v\n%+v", err, h.Case)
		}
		stayed := !slices.ContainsFunc(h.Looks, func(l clearance.Look) bool { return l.PositivesTo != nil })
		if n := played.Alive[0]; stayed && len(h.Tanks) == 1 && n != left {
			t.Fatalf("the model has %d alive, the fold %d", n, left)
		}
		half := int(day / 2)
		before := &story{id: s.id}
		for _, ev := range s.events {
			if holdfast.DayOf(ev.OccurredAt, time.UTC) <= holdfast.DayOf(holdfast.MicrosOf(firstMorning), time.UTC)+holdfast.Day(half) {
				before.events = append(before.events, ev)
			}
		}
		a, errA := s.tell(half, nil, nil)
		b, errB := before.tell(half, nil, nil)
		if !reflect.DeepEqual(a, b) || (errA == nil) != (errB == nil) {
			t.Fatalf("what came later shows on day %d:\n%+v (%v)\n%+v (%v)", half, a, errA, b, errB)
		}
	})
}
