package holdfast

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

var utc = time.UTC

const t0 = Micros(1_780_000_000_000_000) // an instant in 2026
const day = Micros(86_400_000_000)

func testID(n int) ID {
	var r [10]byte
	for i := range 8 {
		r[9-i] = byte(n >> (8 * i))
	}
	return MakeID(int64(t0/1000), r)
}

// event builds an accepted event of lot A with the given running number.
func event(t interface{ Fatal(...any) }, n int, at Micros, tank string, p Payload) Event {
	e := Entry{ID: testID(n), OccurredAt: at, RecordedAt: at, Who: "Jo", Site: "shop", Lot: "A", Tank: tank, Seq: int64(n)}
	if err := e.Encode(p); err != nil {
		t.Fatal(err)
	}
	ev, err := e.Decode()
	if err != nil {
		t.Fatal(err)
	}
	return ev
}

func opened(n int) *LotOpened {
	return &LotOpened{Stock: Stock{Consignment: "C1", Strain: "blue velvet", Species: "neocaridina"}, Declared: n}
}

// payloads draws one of the things that can happen to lot A.
func payloads() *rapid.Generator[Payload] {
	return rapid.Custom(func(t *rapid.T) Payload {
		n := rapid.IntRange(1, 30).Draw(t, "n")
		tank := rapid.SampledFrom([]string{"T1", "T2", "T3"}).Draw(t, "from")
		switch rapid.IntRange(0, 17).Draw(t, "kind") {
		case 0:
			return &LotPlaced{Count: n}
		case 1:
			return &LotMoved{From: tank, Count: n}
		case 2:
			return &Counted{Count: n * 5, PlusMinus: n % 4}
		case 3:
			return &Births{Count: n}
		case 4:
			return &Death{Count: n % 4, Task: fmt.Sprintf("dead/A/%d", n%5)}
		case 5:
			return &DOA{Count: n}
		case 6:
			return &Gone{Count: n}
		case 7:
			return &Removal{Count: n, Reason: "culled"}
		case 8:
			animals := make([]Animal, n)
			for i := range animals {
				animals[i] = Animal{No: i + 1, Seen: []Side{Left, Head}}
			}
			if n%3 == 0 {
				animals[0].Findings = []Finding{{Condition: "rostrum_worm"}}
			}
			return &Inspection{By: ByLens, Random: true, LookedFor: []string{"rostrum_worm"}, Animals: animals}
		case 9:
			return &Treatment{Form: "bath", Active: "praziquantel", TargetMgL: 2.5, StrengthShare: 1, VolumeL: 60, Hours: 48, Held: HeldFull}
		case 10:
			switch n % 3 {
			case 0:
				return &Hold{Reason: "many dead", Suspect: "listed_disease", Also: []string{"B"}}
			case 1:
				return &Hold{Reason: "laboratory: none", Cleared: "listed_disease"}
			}
			return &Hold{Reason: "look again"}
		case 11:
			return &Release{Line: LineClear, LineValue: 0.95, BagSize: 10, Alive: 10, Model: "test"}
		case 12:
			return &Exit{Way: ExitTreatOn, Reason: "another course"}
		case 13:
			return &Sale{Buyer: "b1", Count: n}
		case 14:
			return &LotSplit{NewLot: "B", Count: n, Stock: Stock{Consignment: "C1", Strain: "x", Species: "neocaridina"}}
		case 15:
			return planned(n)
		case 16:
			return &CourseStopped{Course: testID(n), Reason: "not needed"}
		default:
			return &LotMerged{Into: "Z", Count: n}
		}
	})
}

// history draws a lot's entries, in order of acceptance, with some corrections.
func history(t *rapid.T) []Event {
	all := []Event{event(t, 1, t0, "", opened(200))}
	for i, p := range rapid.SliceOfN(payloads(), 0, 25).Draw(t, "payloads") {
		at := t0 + Micros(rapid.IntRange(-2, 40).Draw(t, "day"))*day
		tank := rapid.SampledFrom([]string{"", "T1", "T2"}).Draw(t, "tank")
		if kinds[p.Kind()].subject == ofBoth && tank == "" {
			tank = "T3"
		}
		all = append(all, event(t, i+2, at, tank, p))
	}
	return all
}

func correct(t interface{ Fatal(...any) }, n int, target ID) Event {
	return event(t, n, t0+50*day, "", &Correction{Corrects: target, Reason: "wrong lot", About: []SubjectRef{{SubjectLot, "A"}}})
}

// sameState compares two lots but for the lists of what was read.
var sameState = cmp.Options{
	cmpopts.IgnoreFields(Lot{}, "All", "Undone", "HeadSeq"),
	cmpopts.EquateEmpty(),
}

func TestFoldLotIgnoresOrderOfArrival(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := history(t)
		if len(all) > 3 {
			all = append(all, correct(t, 100, all[2].ID), correct(t, 101, all[3].ID))
			all = append(all, correct(t, 102, all[len(all)-1].ID))
		}
		want := FoldLot("A", all)
		all = slices.Clone(all) // the fold shares what it was given
		seed := rapid.Uint64().Draw(t, "seed")
		rand.New(rand.NewPCG(seed, 1)).Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
		if diff := cmp.Diff(want, FoldLot("A", all), cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("another order, another state:\n%s", diff)
		}
	})
}

func TestCorrectionUndoesExactlyWhatItNames(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		all := history(t)
		i := rapid.IntRange(0, len(all)-1).Draw(t, "which")
		without := append(append([]Event{}, all[:i]...), all[i+1:]...)
		undo := correct(t, 100, all[i].ID)
		undone := FoldLot("A", append(append([]Event{}, all...), undo))
		if diff := cmp.Diff(FoldLot("A", without), undone, sameState); diff != "" {
			t.Fatalf("undoing %s is not the same as never writing it:\n%s", all[i].Kind, diff)
		}
		if undone.Undone[all[i].ID] != undo.ID {
			t.Fatalf("the lot does not say what undid the entry")
		}
		restored := FoldLot("A", append(append([]Event{}, all...), undo, correct(t, 101, undo.ID)))
		if diff := cmp.Diff(FoldLot("A", all), restored, sameState); diff != "" {
			t.Fatalf("correcting the correction does not restore:\n%s", diff)
		}
	})
}

func TestFirstAcceptedCorrectionWins(t *testing.T) {
	death := event(t, 2, t0+day, "", &Death{Count: 3})
	first, second := correct(t, 10, death.ID), correct(t, 9, death.ID)
	first.Seq, second.Seq = 3, 4 // the smaller id was accepted later
	l := FoldLot("A", []Event{event(t, 1, t0, "", opened(100)), death, second, first})
	if l.Undone[death.ID] != first.ID {
		t.Errorf("undone by %s, want the correction accepted first", l.Undone[death.ID])
	}
	if len(l.Contradictions) != 1 || l.Contradictions[0].Code != CodeCorrectedTwice || l.Contradictions[0].Entry != second.ID {
		t.Errorf("contradictions %+v, want the second correction reported", l.Contradictions)
	}
	// When the first is itself undone, the second one counts.
	l = FoldLot("A", append(l.All, correct(t, 11, first.ID)))
	if l.Undone[death.ID] != second.ID || l.Deaths != 0 {
		t.Errorf("undone by %s with %d deaths, want the second correction to count", l.Undone[death.ID], l.Deaths)
	}
}

func TestCorrectionsInARingUndoNothingForEver(t *testing.T) {
	a, b := testID(20), testID(21)
	ca, cb := correct(t, 20, b), correct(t, 21, a)
	l := FoldLot("A", []Event{event(t, 1, t0, "", opened(100)), ca, cb})
	again := FoldLot("A", []Event{cb, ca, event(t, 1, t0, "", opened(100))})
	if diff := cmp.Diff(l, again, cmpopts.EquateEmpty()); diff != "" {
		t.Fatalf("a ring folds differently by order:\n%s", diff)
	}
	if l.Alive.N != 100 {
		t.Errorf("%d alive, want 100", l.Alive.N)
	}
}

func TestContradictionsAreShownAndStopNothing(t *testing.T) {
	open := event(t, 1, t0, "", opened(10))
	cases := []struct {
		name  string
		code  string
		extra []Event
		check func(*Lot) bool
	}{
		{"more dead than alive", CodeMoreThanAlive, []Event{event(t, 2, t0+day, "", &Death{Count: 12})},
			func(l *Lot) bool { return l.Deaths == 12 && l.Alive.N == 0 }},
		{"before the lot was opened", CodeBeforeOpening, []Event{event(t, 2, t0-day, "", &Births{Count: 5})},
			func(l *Lot) bool { return l.Alive.N == 15 }},
		{"opened twice", CodeOpenedTwice, []Event{event(t, 2, t0+day, "", opened(50))},
			func(l *Lot) bool { return l.Declared == 10 }},
		{"moved from where it never was", CodeNotThere, []Event{event(t, 2, t0+day, "T2", &LotMoved{From: "T9", Count: 4})},
			func(l *Lot) bool { return len(l.Places) == 1 && l.Places[0].Tank == "T2" }},
		{"ticked in two tabs", CodeTickedTwice, []Event{
			event(t, 2, t0+day, "", &MoultPull{Task: "pull/A/1"}), event(t, 3, t0+day, "", &MoultPull{Task: "pull/A/1"})},
			func(l *Lot) bool { return l.Ticks["pull/A/1"] == Ticks{1, 2} }},
		{"sold while held", CodeSoldUnreleased, []Event{event(t, 2, t0+day, "", &Sale{Buyer: "b1", Count: 2})},
			func(l *Lot) bool { return l.Sold == 2 && l.Alive.N == 8 }},
		{"release without its override", CodeOverrideMissing, []Event{event(t, 2, t0+day, "", &Release{Line: LineClear, BagSize: 10, Alive: 10, Model: "m", Override: testID(99)})},
			func(l *Lot) bool { return l.Status == Released }},
		{"undoes what never came", CodeCorrectsNothing, []Event{correct(t, 2, testID(77))},
			func(l *Lot) bool { return l.Alive.N == 10 }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			l := FoldLot("A", append([]Event{open}, c.extra...))
			found := false
			for _, k := range l.Contradictions {
				found = found || k.Code == c.code
			}
			if !found {
				t.Errorf("contradictions %+v, want one of code %s", l.Contradictions, c.code)
			}
			if !c.check(l) {
				t.Errorf("the fold did not go on: %+v", l)
			}
		})
	}
}

func TestOpeningUndoneIsSaid(t *testing.T) {
	open := event(t, 1, t0, "", opened(10))
	l := FoldLot("A", []Event{open, event(t, 2, t0+day, "", &Death{Count: 1}), correct(t, 3, open.ID)})
	if len(l.Contradictions) == 0 || l.Opened != "" {
		t.Errorf("a lot whose opening was undone must say so: %+v", l.Contradictions)
	}
}

func look(n, positive int) *Inspection {
	p := &Inspection{By: ByLens, Random: true, LookedFor: []string{"rostrum_worm"}, Planned: n}
	for i := range n {
		a := Animal{No: i + 1, Seen: Sides}
		if i < positive {
			a.Findings = []Finding{{Condition: "rostrum_worm", Sign: "worm"}}
		}
		p.Animals = append(p.Animals, a)
	}
	return p
}

func TestFindDatedBeforeTheReleaseRecalls(t *testing.T) {
	events := []Event{
		event(t, 1, t0, "", opened(100)),
		event(t, 2, t0+30*day, "", &Release{Line: LineClear, LineValue: 0.95, BagSize: 10, Alive: 100, Model: "m"}),
		event(t, 3, t0+20*day, "", look(30, 1)), // recorded on a phone, sent later
	}
	l := FoldLot("A", events)
	if l.Status != Recalled || l.FoundAfterRelease == nil || l.FoundAfterRelease.ID != events[2].ID {
		t.Errorf("status %s, want the late find to recall the lot", l.Status)
	}
	if l.Released == nil || l.Released.ID != events[1].ID {
		t.Errorf("the release must stay as it was written")
	}
	// The same look accepted before the release does not.
	events[1].Seq, events[2].Seq = 3, 2
	if l := FoldLot("A", events); l.Status != Released {
		t.Errorf("status %s, want released: the find was known", l.Status)
	}
}

func TestCountsFollowTheAnimals(t *testing.T) {
	l := FoldLot("A", []Event{
		event(t, 1, t0, "", opened(200)),
		event(t, 2, t0+1, "", &DOA{Count: 6}),
		event(t, 3, t0+2, "T1", &LotPlaced{}),
		event(t, 4, t0+day, "T1", &Death{Count: 4}),
		event(t, 5, t0+2*day, "T1", &Gone{Count: 1}),
		event(t, 6, t0+3*day, "", &Counted{Count: 185, PlusMinus: 3}),
		event(t, 7, t0+4*day, "T2", &LotMoved{From: "T1", Count: 20, Hospital: true}),
		event(t, 8, t0+5*day, "T1", &Births{Count: 10}),
	})
	if want := (Estimate{195, 192, 198}); l.Alive != want {
		t.Errorf("alive %+v, want %+v", l.Alive, want)
	}
	if len(l.Recounts) != 1 || l.Recounts[0].Expected != 189 || l.Recounts[0].Counted != 185 {
		t.Errorf("recounts %+v, want 189 expected and 185 counted", l.Recounts)
	}
	if len(l.Places) != 2 || l.Places[0].Count != 175 || l.Places[1].Count != 20 || !l.Places[1].Hospital {
		t.Errorf("places %+v", l.Places)
	}
	if len(l.Contradictions) != 0 {
		t.Errorf("contradictions %+v, want none", l.Contradictions)
	}
}

func TestSplitAndMergeTellBothLots(t *testing.T) {
	split := event(t, 2, t0+day, "T2", &LotSplit{NewLot: "B", Count: 40, Stock: opened(1).Stock})
	merge := event(t, 3, t0+2*day, "", &LotMerged{Into: "B", Count: 10})
	a := FoldLot("A", []Event{event(t, 1, t0, "", opened(100)), split, merge})
	b := FoldLot("B", []Event{split, merge})
	if a.Alive.N != 50 || b.Alive.N != 50 || b.Parent != "A" || b.Strain != "blue velvet" {
		t.Errorf("A has %d, B has %d of %q from %q", a.Alive.N, b.Alive.N, b.Strain, b.Parent)
	}
	if len(b.Places) != 1 || b.Places[0].Tank != "T2" {
		t.Errorf("B stands in %+v, want T2", b.Places)
	}
}

// A suspicion folds the same onto every lot it names, and each remembers in which
// lot it was.
func TestASuspicionHoldsEveryLotItNames(t *testing.T) {
	in := event(t, 2, t0+day, "", &Hold{Reason: "many dead", Suspect: "listed_disease", Also: []string{"B", "C"}})
	if got := in.Subjects(); !slices.Contains(got, Subject{SubjectLot, "B"}) || !slices.Contains(got, Subject{SubjectLot, "C"}) {
		t.Errorf("it bears on %v", got)
	}
	open := event(t, 1, t0, "", opened(20))
	a, b := FoldLot("A", []Event{open, in}), FoldLot("B", []Event{{Entry: Entry{ID: testID(9), OccurredAt: t0, Lot: "B", Kind: KindLotOpened}, Payload: opened(5)}, in})
	if a.Status != Held || len(a.Suspects) != 1 || len(a.SuspectedIn) != 0 {
		t.Errorf("A: %s, %v in %v", a.Status, a.Suspects, a.SuspectedIn)
	}
	if b.Status != Held || len(b.Suspects) != 1 || b.SuspectedIn["listed_disease"] != "A" {
		t.Errorf("B: %s, %v in %v", b.Status, b.Suspects, b.SuspectedIn)
	}
}

// Whatever bears on many lots can be taken back in one correction.
func TestCorrectionOfManyLots(t *testing.T) {
	c := Correction{Corrects: testID(1), Reason: "wrong"}
	for i := range MostHeld + 1 {
		c.About = append(c.About, SubjectRef{SubjectLot, fmt.Sprintf("L%d", i)})
	}
	e := event(t, 2, t0, "", &c)
	if err := e.Entry.Check(); err != nil {
		t.Error(err)
	}
}

// Papers that come later replace what they name, in whatever order they arrive.
func TestLaterPapers(t *testing.T) {
	shop := func(n int, at Micros, p Payload) Event {
		ev := event(t, n, at, "", p)
		ev.Lot = ""
		return ev
	}
	all := []Event{
		shop(1, t0+day, &ConsignmentReceived{Consignment: "C1", Supplier: "Invented Farm", Papers: &Papers{Certificate: "old", Place: "a pond"}}),
		shop(2, t0+2*day, &PapersAdded{Consignment: "C1", Papers: Papers{Certificate: "new", Invoice: "5"}}),
		shop(3, t0, &PapersAdded{Consignment: "C1", Papers: Papers{Transporter: "a carrier"}}), // dated before the delivery
	}
	want := Papers{Certificate: "new", Invoice: "5", Place: "a pond", Transporter: "a carrier"}
	if c := FoldConsignment("C1", all); *c.Papers != want {
		t.Errorf("papers are %+v", *c.Papers)
	}
	if p := all[0].Payload.(*ConsignmentReceived).Papers; p.Certificate != "old" {
		t.Error("folding changed what was entered")
	}
	for _, bad := range []PapersAdded{{}, {Consignment: "C1"}, {Consignment: "C1", Sale: testID(1), Papers: want}, {Sale: "x", Papers: want}, {Papers: want}} {
		e := Entry{ID: testID(4), OccurredAt: t0, RecordedAt: t0, Who: "Jo", Site: "shop"}
		if err := e.Encode(&bad); err != nil {
			t.Fatal(err)
		}
		if e.Check() == nil {
			t.Errorf("%+v was taken", bad)
		}
	}
}
