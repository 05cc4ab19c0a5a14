package cli

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"holdfast/science/clearance"
)

// lotWith writes the lot of testdata with more fields into a file.
func lotWith(t *testing.T, more map[string]any) string {
	t.Helper()
	b, err := os.ReadFile("testdata/course_lot.json")
	if err != nil {
		t.Fatal(err)
	}
	var doc map[string]any
	if err := json.Unmarshal(b, &doc); err != nil {
		t.Fatal(err)
	}
	for k, v := range more {
		doc[k] = v
	}
	if b, err = json.Marshal(doc); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "lot.json")
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestCourseScenarios(t *testing.T) {
	const file = "../../science/clearance/testdata/checks/public/scenarios.json"
	status, out, errs := run(t, "course", "--scenarios", file, "--runs", "300", "--seed", "3", "--json")
	if status != StatusDone || errs != "" {
		t.Fatalf("status %d, %s", status, errs)
	}
	var rows []clearance.ScenarioFree
	if err := json.Unmarshal([]byte(out), &rows); err != nil {
		t.Fatal(err)
	}
	if len(rows) != 40 || rows[0].Scenario != "R1_base" || rows[0].Day != 14 {
		t.Errorf("%d rows, first %+v", len(rows), rows[0])
	}
	_, text, _ := run(t, "course", "--scenarios", file, "--runs", "100")
	if !strings.Contains(text, "R8_gap21_strong_displacement") {
		t.Error(text)
	}
}

func TestCourseEvidence(t *testing.T) {
	doc := answer(t, "course", "testdata/course_lot.json")
	if doc["condition"] != "rostrum_worm" {
		t.Errorf("condition %v", doc["condition"])
	}
	for _, line := range []string{"mixed", "never", "always"} {
		points := doc[line].(map[string]any)["points"].([]any)
		if len(points) != 4 {
			t.Fatalf("%s has %d points", line, len(points))
		}
		for _, p := range points {
			clear := p.(map[string]any)["clear"].(map[string]any)["value"].(float64)
			if clear < 0 || clear > 1 {
				t.Errorf("%s: %v", line, p)
			}
		}
	}
	_, text, _ := run(t, "course", "testdata/course_lot.json")
	if !strings.Contains(text, "clear of the rostrum worm with a chance of") {
		t.Error(text)
	}
}

func TestCourseCompare(t *testing.T) {
	file := lotWith(t, map[string]any{
		"courses": []map[string]any{
			{"name": "two more", "treatment": "praziquantel", "first": 16, "doses": 2, "gap": 14, "pulls_per_day": 1, "look_animals": 20, "looks_before": []int{14, 0}},
			{"name": "leave it", "pulls_per_day": 0},
		},
		"prices": map[string]any{"sale": 300, "disclosed": 100},
	})
	doc := answer(t, "course", file)
	courses := doc["courses"].([]any)
	if len(courses) != 2 || len(doc["practice"].([]any)) == 0 || len(doc["ways_out"].([]any)) != 6 {
		t.Fatalf("%d courses; %v", len(courses), doc["ways_out"])
	}
	days := courses[0].(map[string]any)["days"].([]any)
	for _, key := range []string{"day", "clear", "bag_risk", "infested", "looks_clean", "cost", "met"} {
		if _, ok := days[0].(map[string]any)[key]; !ok {
			t.Errorf("a day lacks %s", key)
		}
	}
	_, text, _ := run(t, "course", file)
	if !strings.Contains(text, "two more") || !strings.Contains(text, "cost") {
		t.Error(text)
	}
}

func TestCourseCondition(t *testing.T) {
	status, out, _ := run(t, "course", "--print-condition", "segmented_worm")
	if status != StatusDone || !strings.Contains(out, `"segmented_worm"`) {
		t.Fatalf("status %d: %s", status, out)
	}
	path := filepath.Join(t.TempDir(), "own.json")
	own := strings.Replace(out, `"segmented shrimp worm"`, `"my worm"`, 1)
	if err := os.WriteFile(path, []byte(own), 0o600); err != nil {
		t.Fatal(err)
	}
	file := lotWith(t, map[string]any{"figures": map[string]any{}})
	_, text, _ := run(t, "course", file, "--condition", path)
	if !strings.Contains(text, "clear of the my worm") {
		t.Error(text)
	}
}

func TestCourseRefuses(t *testing.T) {
	for name, args := range map[string][]string{
		"nothing":   {"course"},
		"no file":   {"course", "no/such/file.json"},
		"search":    {"course", lotWith(t, map[string]any{"search": true, "courses": []map[string]any{{"pulls_per_day": 1}}})},
		"unknown":   {"course", lotWith(t, map[string]any{"colour": "red"})},
		"figure":    {"course", lotWith(t, map[string]any{"figures": map[string]any{"Moult": map[string]any{"value": 1}}})},
		"condition": {"course", "--print-condition", "measles"},
		"scenarios": {"course", "--scenarios", "testdata/course_lot.json"},
	} {
		status, out, errs := run(t, append(args, "--json")...)
		var p Problem
		if status != StatusInput || out != "" || json.Unmarshal([]byte(errs), &p) != nil || p.Hint == "" {
			t.Errorf("%s: status %d, out %q, err %q", name, status, out, errs)
		}
	}
}
