package clearance

import (
	"context"
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// plan is the setting of testdata/plans.
func plan(doses int, gap float64, pulls int, days ...float64) Case {
	certain := 1.0
	c := Case{Animals: 200, Tanks: []Tank{{VolumeL: 100}}, Infested: &certain, Days: days, Seed: 4,
		Pulls: []Pulls{{From: 0, To: 120, PerDay: pulls}}}
	for i := range doses {
		c.Doses = append(c.Doses, Dose{Treatment: "praziquantel", Day: 1 + gap*float64(i), Days: 4})
	}
	return c
}

// TestPlans compares the evidence line with an independent program, with and
// without looks, for eggs hatching never, mixed and always.
//
// Source: testdata/plans, plan_table.csv.
func TestPlans(t *testing.T) {
	f, err := os.Open("testdata/plans/plan_table.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	col := map[string]int{}
	for i, name := range rows[0] {
		col[name] = i
	}
	want := map[[4]string][]string{}
	for _, r := range rows[1:] {
		want[[4]string(r[:4])] = r
	}
	compared := 0
	var z2 float64
	cells := [][3]int{{3, 14, 1}, {4, 21, 2}, {2, 14, 0}, {4, 14, 1}}
	if testing.Short() {
		cells = cells[:1]
	}
	for _, cell := range cells {
		for _, clean := range []float64{0, 42, 70, 98} {
			c := plan(cell[0], float64(cell[1]), cell[2], 28, 42, 56, 70, 84, 98)
			if clean > 0 {
				c.Days = []float64{clean}
				c.Looks = []Look{{Day: clean - 14, Animals: 30}, {Day: clean, Animals: 30}}
			}
			r, err := Evidence(context.Background(), c)
			if err != nil {
				t.Fatal(err)
			}
			for hOn, line := range map[string]Line{"0": r.Never, "u": r.Mixed, "1": r.Always} {
				row := want[[4]string{strconv.Itoa(cell[0]), strconv.Itoa(cell[1]), strconv.Itoa(cell[2]), hOn}]
				if row == nil {
					t.Fatalf("no row for %v %s", cell, hOn)
				}
				for _, p := range line.Points {
					name, se := "P"+strconv.Itoa(int(p.Day)), .008
					if clean > 0 {
						name += "|2 clean looks"
						se, _ = strconv.ParseFloat(row[col[name]+1], 64)
					}
					w, err := strconv.ParseFloat(row[col[name]], 64)
					if err != nil {
						t.Fatal(err)
					}
					z := (p.Clear.Value - w) / math.Hypot(se, p.Clear.SE)
					z2 += z * z
					compared++
					t.Logf("%v hOn %s %s: %.3f ± %.3f, table %.3f (z %.1f) band %.2f–%.2f bag %.3f ± %.3f (%.3f-%.3f) ess %.0f", cell, hOn, name, p.Clear.Value, p.Clear.SE, w, z, p.Clear.Low, p.Clear.High, p.BagRisk.Value, p.BagRisk.SE, p.BagRisk.Low, p.BagRisk.High, p.ESS)
					if math.Abs(z) > 4 {
						t.Errorf("%v hOn %s %s: %.3f ± %.3f, table %.3f (z %.1f)", cell, hOn, name, p.Clear.Value, p.Clear.SE, w, z)
					}
				}
			}
		}
	}
	if compared == 0 {
		t.Fatal("nothing compared")
	}
	t.Logf("%d values, mean z² %.2f", compared, z2/float64(compared))
}

// Animals that were picked prove that carriers are there, and unlike animals
// drawn at random nothing of how many.
func TestPickedAnimalsProvePresenceOnly(t *testing.T) {
	c := Case{Animals: 100, Tanks: []Tank{{VolumeL: 50}}, Today: 2, Days: []float64{2}, Runs: 2000, Seed: 3}
	answer := func(looks ...Look) Point {
		c.Looks = looks
		r, err := Evidence(t.Context(), c)
		if err != nil {
			t.Fatal(err)
		}
		return r.Mixed.Points[0]
	}
	prior := answer()
	picked := answer(Look{Day: 1, Animals: 1, Worms: 1, Picked: true})
	drawn := answer(Look{Day: 1, Animals: 1, Worms: 1})
	if !(picked.Clear.Value < .1*prior.Clear.Value) {
		t.Errorf("a find left the chance of clear at %v of %v", picked.Clear.Value, prior.Clear.Value)
	}
	if !(prior.Infested < picked.Infested && picked.Infested < .8*drawn.Infested) {
		t.Errorf("carriers %v before, %v after a picked find, %v after a find in one drawn at random", prior.Infested, picked.Infested, drawn.Infested)
	}
}

// A find that was confirmed leaves no room for a lot that never was infested;
// one that was not does.
func TestAConfirmedFindIsNoMistake(t *testing.T) {
	c := Case{Animals: 50, Tanks: []Tank{{VolumeL: 60}}, Today: 1, Days: []float64{1}, Runs: 2000, Seed: 1,
		Looks: []Look{{Day: 1, Animals: 29, Worms: 2}}}
	open, err := Evidence(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	c.Looks[0].Confirmed = true
	sure, err := Evidence(t.Context(), c)
	if err != nil {
		t.Fatal(err)
	}
	if p := sure.Mixed.Points[0].Clear; p.Value != 0 || p.SE != 0 {
		t.Errorf("two carriers stand in the tank, and it is %v likely clear", p)
	}
	if p := open.Mixed.Points[0].Clear.Value; p < 0.02 {
		t.Errorf("nothing was confirmed, and it is %g likely clear", p)
	}
}
