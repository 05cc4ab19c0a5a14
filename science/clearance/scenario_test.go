package clearance

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"strconv"
	"testing"
)

const checks = "testdata/checks/public/"

// runs returns full, or a reduced number under -short.
func runs(full int) int {
	if testing.Short() {
		return full / 10
	}
	return full
}

func readJSON[T any](t *testing.T, file string) T {
	t.Helper()
	var v T
	b, err := os.ReadFile(checks + file)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// reference is one row of a reference file: scenario, quantity, value, se or
// tolerance, how.
type reference struct {
	scenario, quantity string
	value              float64
	tolerance, how     string
}

func readReference(t *testing.T, file string) []reference {
	t.Helper()
	f, err := os.Open(checks + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var out []reference
	for _, r := range rows[1:] {
		v, err := strconv.ParseFloat(r[2], 64)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, reference{r[0], r[1], v, r[3], r[4]})
	}
	if len(out) == 0 {
		t.Fatalf("%s: no rows", file)
	}
	return out
}

// TestScenarios compares the chance of free with two independent programs.
//
// Source: testdata/checks, scenarios_expected.csv.
func TestScenarios(t *testing.T) {
	free := map[[2]string]ScenarioFree{}
	for _, s := range readJSON[[]Scenario](t, "scenarios.json") {
		got, err := s.Free(context.Background(), runs(60000), 1)
		if err != nil {
			t.Fatal(err)
		}
		for _, g := range got {
			free[[2]string{g.Scenario, "P(free d" + strconv.FormatFloat(g.Day, 'g', -1, 64) + ")"}] = g
		}
	}
	var z2 float64
	var n int
	for _, w := range readReference(t, "scenarios_expected.csv") {
		g, ok := free[[2]string{w.scenario, w.quantity}]
		if !ok {
			t.Fatalf("no answer for %s %s", w.scenario, w.quantity)
		}
		se, _ := strconv.ParseFloat(w.tolerance, 64)
		d := g.Free - w.value
		z := d / math.Hypot(se, g.SE)
		z2, n = z2+z*z, n+1
		if math.Abs(z) >= 3.5 {
			t.Errorf("%s %s: %.5f, want %.5f (z %.2f)", w.scenario, w.quantity, g.Free, w.value, z)
		}
	}
	t.Logf("%d rows, mean z² %.2f", n, z2/float64(n))
	if m := z2 / float64(n); m < .4 || m > 1.8 {
		t.Errorf("mean z² %.2f is not between .4 and 1.8", m)
	}
}
