package e2e

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/demo"
	"holdfast/internal/media"
	"holdfast/internal/store/sqlite"
	"holdfast/reference"
	"holdfast/science/signs"
)

// today is the day on which the invented shop's year ends.
var today = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// year lives the invented shop's year into a data folder.
func year(t testing.TB, dir string) {
	t.Helper()
	evidence := desk.NewMemo(desk.Static{})
	store, err := sqlite.Open(t.Context(), dir, desk.Summary{Evidence: evidence, Life: true}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	err = demo.Seed(t.Context(), store, evidence, today, nil)
	if err := errors.Join(err, store.Close()); err != nil {
		t.Fatal(err)
	}
}

// world is the invented shop with something for every page to show. Each lot
// is named by what it stands for.
type world struct {
	*shop
	held, found, released, suspected, unplaced, recalled, closed string
	tank, delivery, photo, own                                   string
	bench, shot                                                  string // a lot with photographs, and one of them
}

// made is the world as it was made for the first test: its data folder, what is
// in it, and its time. Each test gets a copy.
var made struct {
	sync.Mutex
	folder fstest.MapFS
	world  world
	at     time.Time
}

func newWorld(t testing.TB) *world {
	t.Helper()
	made.Lock()
	defer made.Unlock()
	if made.folder == nil {
		dir := t.TempDir()
		w := makeWorld(t, dir)
		made.world, made.at = *w, w.clock.now()
		// Nothing is in the database's log any more when it is closed.
		if err := w.store.Close(); err != nil {
			t.Fatal(err)
		}
		made.folder = readFolder(t, dir)
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, made.folder); err != nil {
		t.Fatal(err)
	}
	w := made.world
	w.shop = openDir(t, dir)
	w.Site = "demo"
	w.clock.set(made.at)
	return &w
}

// readFolder is a folder in memory.
func readFolder(t testing.TB, dir string) fstest.MapFS {
	t.Helper()
	kept := fstest.MapFS{}
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		raw, err := os.ReadFile(path)
		kept[filepath.ToSlash(name)] = &fstest.MapFile{Data: raw, Mode: 0o600}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return kept
}

// makeWorld makes it in an empty folder.
func makeWorld(t testing.TB, dir string) *world {
	t.Helper()
	year(t, dir)
	w := &world{shop: openDir(t, dir), tank: "21"}
	w.Site = "demo"
	w.clock.set(today)
	ctx, jo := t.Context(), desk.Actor{Who: "Jo"}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	pick := func(q desk.LotQuery, fits func(holdfast.LotRow) bool) string {
		t.Helper()
		rows, _, err := w.Store.Lots(ctx, q)
		must(err)
		for _, r := range rows {
			if fits == nil || fits(r) {
				return r.ID
			}
		}
		t.Fatalf("the invented shop has no lot for %+v", q)
		return ""
	}
	in := func(s holdfast.Status) desk.LotQuery {
		return desk.LotQuery{Statuses: []holdfast.Status{s}, Sort: desk.ByNewest}
	}
	w.held = pick(in(holdfast.Held), func(r holdfast.LotRow) bool { return r.LastLook > 0 && len(r.SignOf) == 0 })
	w.found = pick(in(holdfast.Held), func(r holdfast.LotRow) bool { return len(r.SignOf) > 0 })
	w.released = pick(in(holdfast.Released), func(r holdfast.LotRow) bool { return r.Alive > 20 })
	w.closed = pick(in(holdfast.Closed), nil)

	// A bath that runs, so that its page has all its forms.
	must(w.Treat(ctx, jo, w.found, "", holdfast.Treatment{Form: "bath", Active: "praziquantel", TargetMgL: 2.5, StrengthShare: 1, WeighedG: ptr(0.12), VolumeL: 49.8,
		Hours: 48, Held: holdfast.HeldFull, Running: true, Reason: "a test needs a bath that runs"}))

	// A delivery of which nothing is in a tank yet.
	id, lots, err := w.Receive(ctx, jo, desk.Arrival{Supplier: "Invented Farm", Boxes: 1,
		Bags:  []holdfast.BagReading{{Water: holdfast.Water{TempC: ptr(21.5), PH: ptr(6.6), TAN: ptr(3.0), KH: ptr(2.0)}}},
		Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 120, DOA: 2}, {Strain: "Crystal red", Declared: 60}, {Strain: "Blue velvet", Declared: 80}}})
	must(err)
	w.delivery, w.unplaced, w.suspected, w.recalled = id, lots[0], lots[1], lots[2]
	must(w.Place(ctx, jo, w.suspected, "38", 0))
	must(w.Place(ctx, jo, w.recalled, "39", 0))
	must(w.Hold(ctx, jo, w.suspected, "White tails.", stopsEverything(t)))
	raw, err := os.ReadFile("../demo/photographs/drawn-205.jpg")
	must(err)
	kept, err := media.Open(dir).Save(bytes.NewReader(raw))
	must(err)
	w.photo = kept.SHA256
	must(w.AddPhoto(ctx, jo, w.held, holdfast.PhotoAdded{SHA256: kept.SHA256, Size: kept.Size, Media: kept.Media, Name: "left gill.jpg"}))
	must(w.Release(ctx, jo, w.recalled, desk.ReleaseForm{Override: "Sold by a test, to be found again."}))
	must(w.Sell(ctx, jo, w.recalled, desk.SaleForm{Name: "Ada", Count: 10}))
	w.clock.pass(1)
	p := holdfast.Inspection{By: holdfast.ByMicroscope, Random: true, Planned: 2, LookedFor: []string{"rostrum_worm"}}
	for i := range 2 {
		p.Animals = append(p.Animals, holdfast.Animal{No: i + 1, Seen: holdfast.Sides})
	}
	p.Animals[0].Findings = []holdfast.Finding{{Condition: "rostrum_worm", Site: "rostrum"}}
	_, err = w.Inspect(ctx, jo, w.recalled, "39", p)
	must(err)
	w.ownBook(t)
	w.photographs(t, dir)
	return w
}

// photographs puts drawn ones on the bench of a lot, and judges one animal.
func (w *world) photographs(t testing.TB, dir string) {
	t.Helper()
	ctx := t.Context()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	var err error
	w.bench, err = demo.Photograph(ctx, w.Desk, w.clock.now(), func(r io.Reader) (holdfast.PhotoAdded, error) {
		k, err := media.Open(dir).Save(r)
		return holdfast.PhotoAdded{SHA256: k.SHA256, Size: k.Size, Media: k.Media}, err
	})
	must(err)
	b, err := w.Bench(ctx, w.bench, 0)
	must(err)
	w.read(t)
	w.shot = b.Animals[0].Sides[holdfast.Left][0].SHA256
	must(w.Say(ctx, w.bench, b.Day, 1, "not said", desk.Said{Done: true, Findings: []holdfast.Finding{{Condition: reference.EggRow}}}))
}

// ownBook adds an entry, a name, a case and a declaration of the shop's own.
func (w *world) ownBook(t testing.TB) {
	t.Helper()
	ctx, jo := t.Context(), desk.Actor{Who: "Jo"}
	var err error
	if w.own, _, err = w.WriteEntry(ctx, jo, desk.OwnEntry{Start: "usual", Names: []string{"measles"}, Looks: signs.Answers{"site": {"shell"}, "form": {"patch"}},
		Entry: reference.Condition{Name: "Blue spots", Kind: reference.Disease, Isolation: reference.OwnTank,
			Look: []reference.Claim{{Say: "Blue spots that spread over days.", From: reference.Judgement}}, Do: []reference.Claim{{Say: "Keep apart.", From: reference.CommonPractice}},
			CarriedBy: []string{"neocaridina"}, Alike: []reference.Alike{{ID: "pigment", Claim: reference.Claim{Say: "Pigment does not spread.", From: reference.Judgement}}}}}); err != nil {
		t.Fatal(err)
	}
	if _, err := w.NameEntry(ctx, jo, reference.RostrumWorm, []string{"whiskers"}); err != nil {
		t.Fatal(err)
	}
	if _, err := w.Confirm(ctx, jo, w.held, holdfast.CaseConfirmed{Truth: "planaria", Proof: holdfast.ProofMicroscope, By: "A friend of the shop", Signs: signs.Answers{"site": {"glass_plants"}, "form": {"arrow_head"}}}); err != nil {
		t.Fatal(err)
	}
	if _, err := w.Declare(ctx, jo, holdfast.Declared{Consignment: w.delivery, Answers: map[string]string{"origin": "indoor", "seen": "nothing"}, Words: map[string]string{"food": "spinach, the day before"}, Backed: holdfast.BackedSaid}); err != nil {
		t.Fatal(err)
	}
}

// stopsEverything is a condition that must be reported or has no cure.
func stopsEverything(t testing.TB) string {
	t.Helper()
	for _, c := range reference.Conditions() {
		if c.NotifiableSuspect {
			return c.ID
		}
	}
	t.Fatal("the reference knows nothing that must be reported")
	return ""
}

func ptr[T any](v T) *T { return &v }
