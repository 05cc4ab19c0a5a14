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

// scenarioWith writes the first public scenario, changed, into a file.
func scenarioWith(t *testing.T, change func(scenario, p, s map[string]any)) string {
	t.Helper()
	b, err := os.ReadFile("../../science/clearance/testdata/checks/public/scenarios.json")
	if err != nil {
		t.Fatal(err)
	}
	var list []map[string]any
	if err := json.Unmarshal(b, &list); err != nil {
		t.Fatal(err)
	}
	change(list[0], list[0]["P"].(map[string]any), list[0]["S"].(map[string]any))
	if b, err = json.Marshal(list[:1]); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "scenarios.json")
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// TestScenariosRefused sends scenarios that cannot be: bad input, nothing on
// standard output, and the field named.
// TestCourseHostile asks what nobody can mean: each is refused with status 2, at
// once, and says at which field.
func TestCourseHostile(t *testing.T) {
	huge := 1e308
	lot := func(more map[string]any) map[string]any {
		l := map[string]any{"animals": 200, "tanks": []any{map[string]any{"volume_l": 100}}, "today": 3, "days": []any{3}}
		for k, v := range more {
			l[k] = v
		}
		return l
	}
	course := func(more map[string]any) map[string]any {
		c := map[string]any{"treatment": "praziquantel", "first": 5, "doses": 2, "gap": 14, "pulls_per_day": 1}
		for k, v := range more {
			c[k] = v
		}
		return map[string]any{"courses": []any{c}}
	}
	search := func(more, in map[string]any) map[string]any {
		m := map[string]any{"search": true, "lot": lot(in)}
		for k, v := range more {
			m[k] = v
		}
		return m
	}
	type doc = map[string]any
	for name, c := range map[string]struct {
		file  doc
		field string
	}{
		"a later dose of nothing known":  {search(nil, doc{"doses": []any{doc{"treatment": "brandy", "day": 9, "days": 4}}}), "doses"},
		"a later dose without a length":  {search(nil, doc{"doses": []any{doc{"treatment": "praziquantel", "day": 9}}}), "doses"},
		"a dose lost twice over":         {search(nil, doc{"doses": []any{doc{"treatment": "praziquantel", "day": 9, "days": 4, "lost": 2}}}), "doses"},
		"a day before arrival":           {search(nil, doc{"days": []any{-4}}), "days"},
		"a day after all days":           {search(nil, doc{"days": []any{huge}}), "days"},
		"today before arrival":           {search(nil, doc{"today": -1}), "today"},
		"no animals":                     {search(nil, doc{"animals": 0}), "animals"},
		"no tank":                        {search(nil, doc{"tanks": []any{}}), "tanks"},
		"a tank without water":           {search(nil, doc{"tanks": []any{doc{"volume_l": 0}}}), "tanks"},
		"temperatures out of order":      {search(nil, doc{"tanks": []any{doc{"volume_l": 9, "temp": []any{doc{"day": 4, "temp_c": 24}, doc{"day": 4, "temp_c": 20}}}}}), "temp"},
		"a look at more than there are":  {search(nil, doc{"looks": []any{doc{"day": 2, "animals": 999}}}), "looks"},
		"a move to no tank":              {search(nil, doc{"moves": []any{doc{"day": 2, "animals": 3, "from": 0, "to": 7}}}), "moves"},
		"hours of work":                  {search(doc{"runs": 64000}, doc{"animals": 50000}), "runs"},
		"too few runs":                   {search(doc{"runs": 3}, nil), "runs"},
		"a search with nothing known":    {search(doc{"treatment": "brandy"}, nil), "treatment"},
		"looks without animals":          {search(doc{"looks_before": []any{7}}, nil), "looks_before"},
		"the same look twice":            {search(doc{"look_animals": 20, "looks_before": []any{7, 7}}, nil), "looks_before"},
		"no line at all":                 {search(doc{"line": doc{"clear": 1}}, nil), "line"},
		"costs below nought":             {search(doc{"costs": doc{"pull": -1}}, nil), "costs"},
		"until before today":             {search(doc{"until": 2}, nil), "until"},
		"a release in a thousand years":  {course(doc{"release": huge}), "release"},
		"a first dose before today":      {course(doc{"first": 0}), "dose_days"},
		"a dose in a thousand years":     {course(doc{"dose_days": []any{huge}}), "dose_days"},
		"the same dose twice":            {course(doc{"dose_days": []any{5, 5}}), "dose_days"},
		"doses out of order":             {course(doc{"dose_days": []any{9, 5}}), "dose_days"},
		"a gap of nothing":               {course(doc{"gap": 0}), "doses"},
		"a million doses":                {course(doc{"doses": 1000000}), "doses"},
		"a bath for ever":                {course(doc{"bath_days": huge}), "bath_days"},
		"pulls for ever":                 {course(doc{"pull_until": huge}), "pull_until"},
		"forty pulls a day":              {course(doc{"pulls_per_day": 40}), "pulls_per_day"},
		"a look at less than no animals": {course(doc{"look_animals": -2, "looks_before": []any{0}}), "look_animals"},
	} {
		t.Run(name, func(t *testing.T) {
			if c.file["lot"] == nil {
				c.file["lot"] = lot(nil)
			}
			b, err := json.Marshal(c.file)
			if err != nil {
				t.Fatal(err)
			}
			path := filepath.Join(t.TempDir(), "lot.json")
			if err := os.WriteFile(path, b, 0o600); err != nil {
				t.Fatal(err)
			}
			status, out, errs := run(t, "course", path, "--json")
			var problem struct{ Field string }
			if status != StatusInput || out != "" || json.Unmarshal([]byte(errs), &problem) != nil || problem.Field != c.field {
				t.Errorf("status %d, field %q, want %q: %s%s", status, problem.Field, c.field, out, errs)
			}
		})
	}
}

func TestScenariosRefused(t *testing.T) {
	for name, change := range map[string]func(scenario, p, s map[string]any){
		"MuA":        func(_, p, _ map[string]any) { delete(p, "MuA") },
		"P":          func(x, _, _ map[string]any) { x["P"] = map[string]any{} },
		"N":          func(_, _, s map[string]any) { s["N"] = -5 },
		"Frobnicate": func(_, p, _ map[string]any) { p["Frobnicate"] = 1 },
		"Extra":      func(x, _, _ map[string]any) { x["Extra"] = 1 },
		"Colour":     func(_, _, s map[string]any) { s["Colour"] = "red" },
		"LoadMean":   func(_, p, _ map[string]any) { p["LoadMean"] = 1e308 },
		"Lay":        func(_, p, _ map[string]any) { p["Lay"] = 1e4 },
		"Cap":        func(_, _, s map[string]any) { s["Cap"] = 1000000000 },
		"Horizon":    func(_, _, s map[string]any) { s["Horizon"] = 99999 },
		"Days":       func(x, _, _ map[string]any) { x["Days"] = []float64{-1} },
		"Baths":      func(_, _, s map[string]any) { s["Baths"] = [][]float64{{1, -4}} },
	} {
		status, out, errs := run(t, "course", "--scenarios", scenarioWith(t, change), "--runs", "100", "--json")
		if status != StatusInput || out != "" || !strings.Contains(errs, name) {
			t.Errorf("%s: status %d, out %q, err %q", name, status, out, errs)
		}
	}
	same := scenarioWith(t, func(_, _, _ map[string]any) {})
	for _, runs := range []string{"-5", "1000000000", "NaN"} {
		if status, out, errs := run(t, "course", "--scenarios", same, "--runs", runs, "--json"); status != StatusInput || out != "" || !strings.Contains(errs, "runs") {
			t.Errorf("%s runs: status %d, out %q, err %q", runs, status, out, errs)
		}
	}
	if status, _, errs := run(t, "course", "--scenarios", same, "--runs", "100", "--json"); status != StatusDone {
		t.Errorf("the scenario itself: status %d, %s", status, errs)
	}
}
