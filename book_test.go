package holdfast

import (
	"encoding/json"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func bookEvent(t interface{ Fatal(...any) }, n int, p Payload) Event {
	e := Entry{ID: testID(n), OccurredAt: t0 + Micros(n), RecordedAt: t0, Who: "Jo", Site: "shop", Seq: int64(n)}
	if err := e.Encode(p); err != nil {
		t.Fatal(err)
	}
	if err := e.Check(); err != nil {
		t.Fatal(err)
	}
	ev, err := e.Decode()
	if err != nil {
		t.Fatal(err)
	}
	return ev
}

func TestBookKeepsVersionsAndTakesThemBack(t *testing.T) {
	first := bookEvent(t, 1, &ReferenceSet{Entry: "rostrum_worm", Names: []string{"whiskers"}})
	second := bookEvent(t, 2, &ReferenceSet{Entry: "rostrum_worm", Names: []string{"horns"}})
	own := bookEvent(t, 3, &ReferenceSet{Entry: "own_blue", Own: json.RawMessage(`{"id":"own_blue","name":"Blau <1>"}`)})
	sick := bookEvent(t, 4, &CaseConfirmed{Truth: "rostrum_worm", Proof: ProofLaboratory, Signs: map[string][]string{"site": {"rostrum"}}})
	said := bookEvent(t, 5, &Declared{Supplier: "Reed", Answers: map[string]string{"origin": "pond"}, Backed: BackedSaid})
	back := bookEvent(t, 6, &Correction{Corrects: second.ID, Reason: "wrong", About: []SubjectRef{{SubjectBook, "shop"}}})

	b := FoldBook([]Event{first, second, own, sick, said})
	if b.Version != 3 || len(b.Set) != 2 || b.Set[0].ID != second.ID || len(b.Past) != 3 || len(b.Cases) != 1 || len(b.Declared) != 1 {
		t.Fatalf("%+v", b)
	}
	b = FoldBook([]Event{first, second, own, sick, said, back})
	if b.Version != 4 || b.Set[0].ID != first.ID || b.Undone[second.ID] != back.ID {
		t.Errorf("after taking back: version %d, %s in force", b.Version, b.Set[0].ID)
	}
	if len(FoldBook(nil).Set) != 0 {
		t.Error("an empty book holds something")
	}
}

func TestBookSubjects(t *testing.T) {
	said := bookEvent(t, 1, &Declared{Supplier: "Reed", Consignment: "C1", Words: map[string]string{"food": "flakes"}, Backed: BackedSeen})
	if got, want := said.Subjects(), []Subject{{SubjectBook, "shop"}, {SubjectConsignment, "C1"}}; !cmp.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	received := bookEvent(t, 2, &ConsignmentReceived{Consignment: "C1", Supplier: "Reed"})
	if c := FoldConsignment("C1", []Event{received, said}); len(c.Declared) != 1 {
		t.Errorf("%d declarations with the delivery", len(c.Declared))
	}
}

func TestBookRefuses(t *testing.T) {
	many := map[string][]string{}
	for i := range 101 {
		many["q"+string(rune('a'+i%26))+string(rune('a'+i/26))] = []string{"x"}
	}
	for name, p := range map[string]Payload{
		"no entry":       &ReferenceSet{Names: []string{"x"}},
		"empty name":     &ReferenceSet{Entry: "rostrum_worm", Names: []string{" "}},
		"not an object":  &ReferenceSet{Entry: "own_x", Own: json.RawMessage(`[1]`)},
		"no sign":        &CaseConfirmed{Truth: "rostrum_worm", Proof: ProofMicroscope},
		"bad proof":      &CaseConfirmed{Truth: "rostrum_worm", Proof: "a friend", Signs: map[string][]string{"site": {"rostrum"}}},
		"too many signs": &CaseConfirmed{Truth: "rostrum_worm", Proof: ProofMicroscope, Signs: many},
		"nothing said":   &Declared{Supplier: "Reed", Backed: BackedSaid},
		"no backing":     &Declared{Supplier: "Reed", Answers: map[string]string{"origin": "pond"}},
		"no supplier":    &Declared{Answers: map[string]string{"origin": "pond"}, Backed: BackedSaid},
	} {
		e := Entry{ID: testID(1), OccurredAt: t0, RecordedAt: t0, Who: "Jo", Site: "shop"}
		if err := e.Encode(p); err != nil {
			continue // JSON that is none cannot even be written down
		}
		if e.Check() == nil {
			t.Errorf("%s was accepted", name)
		}
	}
}

// The order of arrival changes nothing: entries fold by time and id.
func TestBookFoldsTheSameInAnyOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var all []Event
		for i := range rapid.IntRange(0, 12).Draw(t, "n") {
			id := rapid.SampledFrom([]string{"rostrum_worm", "own_a", "own_b"}).Draw(t, "entry")
			var p Payload = &ReferenceSet{Entry: id, Names: []string{rapid.StringMatching(`[a-z]{1,5}`).Draw(t, "name")}}
			if len(all) > 0 && rapid.Bool().Draw(t, "correct") {
				p = &Correction{Corrects: all[rapid.IntRange(0, len(all)-1).Draw(t, "which")].ID, Reason: "x", About: []SubjectRef{}}
			}
			all = append(all, bookEvent(t, i+1, p))
		}
		want := FoldBook(all)
		mixed := append([]Event{}, all...)
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		r.Shuffle(len(mixed), func(i, j int) { mixed[i], mixed[j] = mixed[j], mixed[i] })
		got := FoldBook(mixed)
		if got.Version != want.Version || !cmp.Equal(got.Set, want.Set) || !cmp.Equal(got.Past, want.Past) {
			t.Fatalf("%+v\n%+v", got, want)
		}
	})
}
