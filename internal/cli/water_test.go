package cli

import (
	"encoding/json"
	"math"
	"strings"
	"testing"
)

// answer runs a command with --json and decodes its one document.
func answer(t *testing.T, args ...string) map[string]any {
	t.Helper()
	status, stdout, stderr := run(t, append(args, "--json")...)
	if status != StatusDone || stderr != "" {
		t.Fatalf("%v: status %d, stderr %q", args, status, stderr)
	}
	var doc map[string]any
	if err := json.Unmarshal([]byte(stdout), &doc); err != nil {
		t.Fatalf("%v: %v in %q", args, err, stdout)
	}
	return doc
}

func wantNumber(t *testing.T, doc map[string]any, key string, want, relative float64) {
	t.Helper()
	got, ok := doc[key].(float64)
	if !ok || math.Abs(got-want) > relative*math.Abs(want) {
		t.Errorf("%s = %v, want %g", key, doc[key], want)
	}
}

// Sources: Emerson et al. 1975, Standard Methods 4500-O, UNESCO 44.
func TestWaterCommands(t *testing.T) {
	doc := answer(t, "water", "ammonia", "--ph", "7.8", "--temp", "24", "--tan", "5")
	wantNumber(t, doc, "fraction", 0.032253129, 1e-7)
	wantNumber(t, doc, "unionized_mg_l_n", 0.161, 0.005)
	wantNumber(t, doc, "pka", 9.2773, 1e-4)
	doc = answer(t, "water", "oxygen", "--temp", "20")
	wantNumber(t, doc, "saturation_mg_l", 9.092, 2e-4)
	doc = answer(t, "water", "oxygen", "--temp", "20", "--pressure", "91.1925")
	wantNumber(t, doc, "saturation_mg_l", 9.092*0.8977, 3e-4)
	doc = answer(t, "water", "density", "--temp", "25", "--salinity", "35")
	wantNumber(t, doc, "kg_m3", 1023.34306, 1e-8)
	if len(doc) != 1 {
		t.Errorf("density prints %v", doc)
	}
}

// refused runs a command that must fail on its input and returns the message.
func refused(t *testing.T, field string, args ...string) string {
	t.Helper()
	status, stdout, stderr := run(t, append(args, "--json")...)
	var p Problem
	if err := json.Unmarshal([]byte(stderr), &p); err != nil {
		t.Fatalf("%v: stderr %q is no problem document: %v", args, stderr, err)
	}
	if status != StatusInput || p.Status != StatusInput || stdout != "" || p.Field != field || p.Hint == "" {
		t.Errorf("%v: status %d, stdout %q, %+v; want field %q", args, status, stdout, p, field)
	}
	plainStatus, plainOut, plainErr := run(t, args...)
	if plainStatus != StatusInput || plainOut != "" || !strings.Contains(plainErr, p.Hint) {
		t.Errorf("%v without --json: status %d, stdout %q, stderr %q", args, plainStatus, plainOut, plainErr)
	}
	return p.Detail + " " + p.Hint
}

func TestWaterCommandsSayWhatIsRight(t *testing.T) {
	if msg := refused(t, "ph", "water", "ammonia", "--ph", "17", "--temp", "24", "--tan", "5"); !strings.Contains(msg, "0 and 14") {
		t.Errorf("pH 17: %q", msg)
	}
	if msg := refused(t, "ph", "water", "ammonia", "--ph", "74", "--temp", "24", "--tan", "5"); !strings.Contains(msg, "7.4") {
		t.Errorf("pH 74: %q", msg)
	}
	refused(t, "tan", "water", "ammonia", "--ph", "7", "--temp", "24", "--tan=-1")
	refused(t, "temp", "water", "oxygen", "--temp", "NaN")
	refused(t, "pressure", "water", "oxygen", "--temp", "20", "--pressure", "1013")
	refused(t, "salinity", "water", "density", "--temp", "20", "--salinity", "350")
	refused(t, "temp", "water", "density", "--temp", "warm", "--salinity", "35")
	refused(t, "ph", "water", "ammonia", "--temp", "24", "--tan", "5")
	refused(t, "volume", "mix", "--volume", "-3 l", "--target", "2.5 mg/l")
	refused(t, "volume", "mix", "--volume=-3 l", "--target", "2.5 mg/l")
}

func TestWaterCommandsForPeople(t *testing.T) {
	for _, args := range [][]string{
		{"water", "ammonia", "--ph", "7.8", "--temp", "24", "--tan", "5", "--salinity", "5"},
		{"water", "oxygen", "--temp", "20"},
		{"water", "density", "--temp", "20", "--salinity", "35"},
	} {
		status, stdout, stderr := run(t, args...)
		if status != StatusDone || stderr != "" || strings.Count(stdout, "\n") < 5 {
			t.Errorf("%v: %d %q %q", args, status, stdout, stderr)
		}
	}
}
