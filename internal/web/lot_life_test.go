package web_test

import (
	"crypto/rand"
	"net/http"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/web"
)

// lifeDesk is a desk on which the life-cycle model answers, with one lot that
// was looked at.
func lifeDesk(t *testing.T) (*desk.Desk, string) {
	t.Helper()
	ev := desk.NewMemo(desk.Static{})
	store, err := sqlite.Open(t.Context(), t.TempDir(), desk.Summary{Evidence: ev, Life: true}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	now := noon
	d := &desk.Desk{Store: store, Evidence: ev, Site: "shop", Now: func() time.Time { now = now.Add(time.Second); return now }, Random: rand.Reader}
	life := d.UseLife()
	life.FirstWait, life.FreshWait, life.MostRuns = time.Minute, time.Minute, 1000
	me := desk.Actor{Who: "Jo"}
	if _, err := d.SetTank(t.Context(), me, desk.TankForm{ID: "7", Use: "quarantine", Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}}); err != nil {
		t.Fatal(err)
	}
	_, lots, err := d.Receive(t.Context(), me, desk.Arrival{Supplier: "Invented Farm", Boxes: 1, Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 24, Tank: "7"}}})
	if err != nil {
		t.Fatal(err)
	}
	return d, lots[0]
}

func TestLotPageOfTheLifeCycleModel(t *testing.T) {
	d, lot := lifeDesk(t)
	who := serve(t, web.Config{Desk: d})
	page := func(path string) string {
		t.Helper()
		return strings.NewReplacer("\u00a0", " ", "\u202f", " ").Replace(want(t, who.get(path), http.StatusOK).body)
	}
	says := func(path string, parts ...string) {
		t.Helper()
		text := page(path)
		for _, p := range parts {
			if !strings.Contains(text, p) {
				t.Errorf("%s does not say %q", path, p)
			}
		}
	}
	says("/lots/"+lot, "no chance can be stated", "How it was worked out")
	says("/lots/"+lot+"/how", "Nobody has looked for it")
	p := holdfast.Inspection{By: holdfast.ByLens, Random: true, Planned: 12}
	for _, c := range desk.Tracked("neocaridina_davidi") {
		p.LookedFor = append(p.LookedFor, c.ID)
	}
	for i := range 12 {
		p.Animals = append(p.Animals, holdfast.Animal{No: i + 1, Seen: holdfast.Sides})
	}
	if _, err := d.Inspect(t.Context(), desk.Actor{Who: "Jo"}, lot, "7", p); err != nil {
		t.Fatal(err)
	}
	says("/lots/"+lot, "A first answer without a range", "likely clear", "no range worked out yet", "It is being worked out anew")
	if err := d.Life.Settle(t.Context()); err != nil {
		t.Fatal(err)
	}
	says("/lots/"+lot, "simulated lots", "another draw would move the chance", "What lifts it most now", "Eggs hatch on the animal", "never", "always, once ripe", `class="never"`, `class="always"`, "if nothing more is done")
	says("/lots/"+lot+"/how", "Every figure that went in", "MoultMean", "Where the doubt comes from", "seed 1", "guess")
	says("/lots", "rostrum worm")
	if text := page("/lots/" + lot); strings.Contains(text, "being worked out") || strings.Contains(text, "NaN") {
		t.Error("current figures are called unfinished")
	}
	if _, err := d.Inspect(t.Context(), desk.Actor{Who: "Jo"}, lot, "7", p); err != nil {
		t.Fatal(err)
	}
	d.Life.FirstWait = 0 // no time for a first answer: what is known stands as old
	says("/lots/"+lot, "As of ", "What was recorded since")
	says("/lots", "before the last entries")
}
