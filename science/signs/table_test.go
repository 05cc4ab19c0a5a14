package signs

import (
	"math"
	"strings"
	"testing"
)

// TestTableIsProper: every row is a distribution, and no two suspects differ
// by more than the cap on any option that both can show.
func TestTableIsProper(t *testing.T) {
	m := Default()
	if len(m.ids) < 35 || len(m.questions) < 15 {
		t.Fatalf("%d suspects, %d questions", len(m.ids), len(m.questions))
	}
	for q, question := range m.questions {
		if question.Kind == Setting {
			continue
		}
		for o := range question.Options {
			least, most := math.Inf(1), 0.
			for s := range m.ids {
				if v := m.look[s][q][o]; v > 0 {
					least, most = min(least, v), max(most, v)
				}
			}
			if most > least*Cap*(1+1e-9) {
				t.Errorf("%s %s: %g and %g", question.ID, question.Options[o].ID, least, most)
			}
		}
		for s, id := range m.ids {
			sum := 0.
			for _, v := range m.look[s][q] {
				sum += v
			}
			if math.Abs(sum-1) > 1e-12 {
				t.Errorf("%s %s sums to %g", id, question.ID, sum)
			}
		}
	}
	for s, id := range m.ids {
		if id == Other {
			for q := range m.questions {
				for o, v := range m.look[s][q] {
					if v == 0 {
						t.Errorf("something else cannot show %s", m.questions[q].Options[o].ID)
					}
				}
			}
		}
	}
}

func TestReadTableRefuses(t *testing.T) {
	q := "- {id: site, ask: Where?, kind: look, effort: 1, options: [{id: a, say: a}, {id: b, say: b}]}\n"
	for name, c := range map[string]struct{ table, want string }{
		"unknown start":    {"x: {start: daily, who: self}", "start"},
		"unknown who":      {"x: {start: usual, who: uncle}", "who"},
		"unknown word":     {"x: {start: usual, who: self, look: {site: {mostly: [a]}}}", "unknown word"},
		"unknown option":   {"x: {start: usual, who: self, look: {site: {often: [c]}}}", "option"},
		"option twice":     {"x: {start: usual, who: self, look: {site: {often: [a], rare: [a]}}}", "twice"},
		"unknown question": {"x: {start: usual, who: self, look: {sight: {often: [a]}}}", "question"},
		"unknown field":    {"x: {start: usual, who: self, looks: {}}", "looks"},
	} {
		if _, err := readTable([]byte(q), []byte(c.table)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := readTable([]byte(q), []byte("x: {start: usual, who: self, look: {site: {often: [a]}}}")); err != nil {
		t.Errorf("a good table: %v", err)
	}
}

func FuzzReadTable(f *testing.F) {
	f.Add(string(questionsYAML), "x: {start: usual, who: self, look: {site: {often: [rostrum]}}}")
	f.Add("- {id: a, kind: look}", "x: {start: usual, who: self}")
	f.Fuzz(func(t *testing.T, questions, text string) {
		table, err := readTable([]byte(questions), []byte(text))
		if err != nil {
			return
		}
		for _, p := range build(table).posterior(make([][]int, len(table.questions))) {
			if math.IsNaN(p) {
				t.Fatal("a table that was accepted ranks to NaN")
			}
		}
	})
}
