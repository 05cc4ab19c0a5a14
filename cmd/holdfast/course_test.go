package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/science/clearance"
)

// TestCourseOfAStoredLot plans for a lot that has a look, a pull, a death and an
// accepted course, and refuses what it cannot answer.
func TestCourseOfAStoredLot(t *testing.T) {
	if testing.Short() {
		t.Skip("searches, of which a part is refined on 4 times the runs")
	}
	ctx, data := t.Context(), filepath.Join(t.TempDir(), "shop")
	f, err := openFolder(ctx, data, "shop")
	if err != nil {
		t.Fatal(err)
	}
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	by := func() desk.Actor { return desk.Actor{Who: "Ada"} }
	_, err = f.desk.SetTank(ctx, by(), desk.TankForm{ID: "1", Use: "quarantine", Place: 1, Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}})
	must(err)
	_, lots, err := f.desk.Receive(ctx, by(), desk.Arrival{Supplier: "Invented Farm", Boxes: 1, Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 60, Tank: "1"}}})
	must(err)
	lot := lots[0]
	look := holdfast.Inspection{By: holdfast.ByLens, Random: true, Planned: 10, LookedFor: []string{"rostrum_worm"}}
	for i := range 10 {
		look.Animals = append(look.Animals, holdfast.Animal{No: i + 1, Seen: holdfast.Sides})
	}
	_, err = f.desk.Inspect(ctx, by(), lot, "1", look)
	must(err)
	must(f.desk.Pull(ctx, by(), lot, "1", nil, "", ""))
	must(f.desk.Dead(ctx, by(), lot, "1", 1, "", ""))
	v, err := f.desk.View(ctx, lot)
	must(err)
	b, err := v.Base("rostrum_worm")
	must(err)
	m := desk.Money(v)
	today := b.At(b.From)
	plan := b.Plan(clearance.Course{Treatment: "praziquantel", DoseDays: []float64{today + 1, today + 15}, BathDays: 4, Doses: 2,
		PullsPerDay: 1, PullUntil: today + 50, LookAnimals: 10, LooksBefore: []float64{0}}, today+50)
	view, err := b.Evaluate(ctx, nil, plan, m, 100)
	must(err)
	_, err = f.desk.AcceptCourse(ctx, by(), lot, view, "")
	must(err)
	must(f.store.Close())

	var doc struct {
		Lot      string            `json:"lot"`
		Day0     string            `json:"day_0"`
		Courses  []json.RawMessage `json:"courses"`
		Practice []json.RawMessage `json:"practice"`
		Accepted *struct {
			Days []struct {
				Day   float64 `json:"day"`
				Clear struct {
					Value float64 `json:"value"`
				} `json:"clear"`
			} `json:"days"`
		} `json:"accepted"`
	}
	if err := json.Unmarshal([]byte(good(t, "course", "--lot", lot, "--data", data, "--runs", "100", "--json")), &doc); err != nil {
		t.Fatal(err)
	}
	if doc.Lot != lot || doc.Day0 == "" || len(doc.Courses) < 24 || len(doc.Practice) == 0 {
		t.Errorf("lot %q, day 0 %q, %d courses", doc.Lot, doc.Day0, len(doc.Courses))
	}
	if doc.Accepted == nil || len(doc.Accepted.Days) == 0 || doc.Accepted.Days[0].Clear.Value <= 0 || doc.Accepted.Days[0].Clear.Value >= 1 {
		t.Errorf("the accepted course: %+v", doc.Accepted)
	}
	for name, args := range map[string][]string{
		"There is no lot": {"--lot", "nobody", "--data", data},
		"against":         {"--lot", lot, "--data", data, "--against", "measles"},
		"runs":            {"--lot", lot, "--data", data, "--runs", "1000000000"},
		"--data":          {"--lot", lot},
		"no desk":         {"--lot", lot, "--data", data + "-elsewhere"},
	} {
		status, out, errs := says(t, append(append([]string{"course"}, args...), "--json")...)
		if status != 2 || out != "" || !strings.Contains(errs, name) {
			t.Errorf("%v: status %d, out %q, err %q", args, status, out, errs)
		}
	}
}
