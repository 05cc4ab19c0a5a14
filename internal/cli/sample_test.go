package cli

import (
	"context"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"holdfast/science/freedom"
)

// keys returns the sorted names in a JSON object.
func keys(doc map[string]any) []string {
	var out []string
	for k := range doc {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// Look-at numbers from science/freedom/testdata/freedom_n_perfect.csv and
// freedom_n_sensitivity.csv (R 4.2.2, base functions), and the aquatic code's
// table for the cut-point.
func TestSampleCommand(t *testing.T) {
	for _, c := range []struct {
		args string
		want float64
		conf float64
	}{
		{"--population 200 --prevalence 0.05 --confidence 0.95", 51, 0.951379279},
		{"--population 100 --prevalence 0.1 --confidence 0.95 --sensitivity 0.8", 32, 0},
		{"--population 0 --prevalence 0.05 --confidence 0.95", 59, 0},
		{"--population 0 --prevalence 0.01 --confidence 0.99", 459, 0},
		{"--population 1 --prevalence 0.05 --confidence 0.95", 1, 1},
		{"--population 1000000 --prevalence 0.02 --confidence 0.95", 149, 0},
	} {
		doc := answer(t, append([]string{"sample"}, strings.Fields(c.args)...)...)
		wantNumber(t, doc, "look_at", c.want, 0)
		if c.conf > 0 {
			wantNumber(t, doc, "confidence", c.conf, 1e-8)
		}
		if !slices.Equal(keys(doc), []string{"confidence", "look_at", "method"}) {
			t.Errorf("%s prints %v", c.args, doc)
		}
	}
	doc := answer(t, "sample", "--population=0", "--prevalence=0.05", "--sensitivity=0.9", "--specificity=0.99", "--lot-specificity=0.95")
	wantNumber(t, doc, "look_at", 166, 0)
	wantNumber(t, doc, "allow", 4, 0)
	// D = 6: the chance of more than two signs, checked by the package's twin.
	doc = answer(t, "sample", "--population=60", "--prevalence=0.1", "--sensitivity=0.9", "--specificity=0.98", "--allow=2")
	n := int(doc["look_at"].(float64))
	p, err := freedom.Detect(60, 6, n, 2, freedom.Seeing{Sensitivity: 0.9, Specificity: 0.98})
	if err != nil || doc["confidence"] != p {
		t.Error(doc, p, err)
	}
}

// A small lot that cannot be cleared: null, a reason and status 3.
func TestSampleWithoutAnswer(t *testing.T) {
	status, out, errs := run(t, "sample", "--population", "20", "--prevalence", "0.05", "--confidence", "0.95", "--sensitivity", "0.8", "--json")
	var doc map[string]any
	if err := json.Unmarshal([]byte(out), &doc); err != nil {
		t.Fatal(err, out)
	}
	at, there := doc["look_at"]
	if reason, _ := doc["reason"].(string); status != StatusNoAnswer || !there || at != nil || !strings.Contains(reason, "80 %") || errs != "" || len(doc) != 2 {
		t.Error(status, out, errs)
	}
	status, out, errs = run(t, "sample", "--population", "20", "--prevalence", "0.05", "--sensitivity", "0.8")
	if status != StatusNoAnswer || out != "" || !strings.Contains(errs, "With 1 of 20 infested") {
		t.Error(status, out, errs)
	}
}

func TestSampleForPeople(t *testing.T) {
	status, out, errs := run(t, "sample", "--population", "200", "--prevalence", "0.05", "--sensitivity", "0.8")
	for _, want := range []string{
		"Look at 64 of these 200 first: if 10 of them carried it, you would find at least one 19 times in 20, although you miss 1 carrier in 5.",
		"not the chance that this lot is clear", "Cannon and Roe 1982", "62",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	if status != StatusDone || errs != "" {
		t.Error(status, errs)
	}
}

func TestSampleRefuses(t *testing.T) {
	refused(t, "population", "sample", "--population=-1", "--prevalence=0.05")
	refused(t, "population", "sample", "--population=1000001", "--prevalence=0.05")
	refused(t, "prevalence", "sample", "--population=10", "--prevalence=NaN")
	refused(t, "prevalence", "sample", "--population=10", "--prevalence=1.5")
	refused(t, "confidence", "sample", "--population=10", "--prevalence=0.5", "--confidence=1")
	refused(t, "sensitivity", "sample", "--population=10", "--prevalence=0.5", "--sensitivity=0.1", "--specificity=0.1")
	refused(t, "specificity", "sample", "--population=10", "--prevalence=0.5", "--specificity=Inf")
	refused(t, "allow", "sample", "--population=10", "--prevalence=0.5", "--allow=-1")
	refused(t, "lot-specificity", "sample", "--population=10", "--prevalence=0.5", "--lot-specificity=2")
	refused(t, "population", "sample", "--population=ten", "--prevalence=0.5")
}

// Intervals for 3 of 30 from science/freedom/testdata/freedom_intervals.csv
// and freedom_rogan_gladen.csv (R 4.2.2, epiR 2.0.57).
func TestEstimateCommand(t *testing.T) {
	doc := answer(t, "estimate", "--looked", "30", "--positive", "3", "--sensitivity", "0.9", "--specificity", "0.98", "--confidence", "0.95")
	apparent, truth := doc["apparent"].(map[string]any), doc["true"].(map[string]any)
	wantNumber(t, apparent, "estimate", 0.1, 1e-12)
	wantNumber(t, truth, "estimate", 0.09090909, 1e-7)
	wantPair(t, apparent, "clopper_pearson", 0.02111714, 0.26528845)
	wantPair(t, apparent, "wilson", 0.03459984, 0.25621084)
	wantPair(t, truth, "interval", 0.00126947, 0.27873688)
	if !slices.Equal(keys(apparent), []string{"agresti_coull", "blaker", "clopper_pearson", "estimate", "jeffreys", "wilson"}) ||
		!slices.Equal(keys(truth), []string{"estimate", "interval", "method"}) {
		t.Error(doc)
	}
	if _, ok := doc["free"]; ok {
		t.Error("a chance of clear without a population")
	}
	// D uniform on 0..99 and 49 of 99 clean: half (see freedom.TestClosedForms).
	doc = answer(t, "estimate", "--looked", "49", "--positive", "0", "--population", "99", "--prior-infested", "1", "--prior-a", "1", "--prior-b", "1")
	free := doc["free"].(map[string]any)
	wantNumber(t, free, "chance", 0.5, 1e-12)
	wantNumber(t, free, "prior", 0.01, 1e-12)
	doc = answer(t, "estimate", "--looked", "5", "--positive", "0")
	if ac := doc["apparent"].(map[string]any)["agresti_coull"].([]any); ac[0].(float64) >= 0 {
		t.Error("Agresti-Coull is clipped in JSON:", ac)
	}
}

func wantPair(t *testing.T, doc map[string]any, key string, lo, hi float64) {
	t.Helper()
	p, ok := doc[key].([]any)
	if !ok || len(p) != 2 || math.Abs(p[0].(float64)-lo) > 1e-6 || math.Abs(p[1].(float64)-hi) > 1e-6 {
		t.Errorf("%s = %v, want %v to %v", key, doc[key], lo, hi)
	}
}

// The page's figure is the command's figure: both are the same lot.
func TestEstimateIsTheLotsFigure(t *testing.T) {
	doc := answer(t, "estimate", "--looked=30", "--positive=1", "--population=200", "--sensitivity=0.8", "--specificity=0.99")
	how := freedom.Seeing{Sensitivity: 0.8, Specificity: 0.99}
	lot, err := freedom.NewLot(200, freedom.DefaultPrior())
	if err != nil {
		t.Fatal(err)
	}
	before := lot.Clear()
	if lot, err = lot.Look(append(freedom.Repeat(how.Clean(), 29), how.Positive())); err != nil {
		t.Fatal(err)
	}
	free := doc["free"].(map[string]any)
	if free["chance"] != lot.Clear() || free["prior"] != before {
		t.Error(free, lot.Clear(), before)
	}
}

func TestEstimateForPeople(t *testing.T) {
	status, out, errs := run(t, "estimate", "--looked", "10", "--positive", "0", "--population", "200", "--sensitivity", "0.8")
	for _, want := range []string{
		"You looked at 10 of 200 animals and none showed signs. The chance of clear goes from 52 % to 79 %; up to 22 of 200 may still carry it (19 times in 20 no more).",
		"Blaker", "prior: infested 0.5, Beta(0.749, 2.171)", "a bag of 10", "0.0000 to",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
	if status != StatusDone || errs != "" || strings.Contains(out, "-0.") {
		t.Error(status, errs, out)
	}
	if _, out, _ = run(t, "estimate", "--looked", "10", "--positive", "10", "--sensitivity", "0.8"); !strings.Contains(out, "check both") {
		t.Error(out)
	}
}

func TestEstimateRefuses(t *testing.T) {
	refused(t, "positive", "estimate", "--looked=3", "--positive=4")
	refused(t, "looked", "estimate", "--looked=0", "--positive=0")
	refused(t, "looked", "estimate", "--looked=30", "--positive=0", "--population=20")
	refused(t, "population", "estimate", "--looked=30", "--positive=0", "--population=-20")
	refused(t, "prior-infested", "estimate", "--looked=3", "--positive=0", "--population=20", "--prior-infested=2")
	refused(t, "prior-a", "estimate", "--looked=3", "--positive=0", "--population=20", "--prior-a=0")
	refused(t, "prior-b", "estimate", "--looked=3", "--positive=0", "--population=20", "--prior-b=NaN")
	refused(t, "confidence", "estimate", "--looked=3", "--positive=0", "--confidence=95")
	status, out, errs := run(t, "estimate", "--looked=1", "--positive=1", "--population=1", "--prior-infested=0", "--json")
	if status != StatusNoAnswer || out != "" || !strings.Contains(errs, "cannot all be true") {
		t.Error(status, out, errs)
	}
}

// Whatever is typed: a known status, JSON on one side only, never NaN.
func FuzzSampleAndEstimate(f *testing.F) {
	f.Add("sample --population 200 --prevalence 0.05 --sensitivity 0.8")
	f.Add("estimate --looked 30 --positive 1 --population 200 --prior-a 1e6")
	f.Add("sample --population 9 --prevalence 1e-300 --allow 9 --lot-specificity .5")
	f.Add("estimate --looked 1 --positive 1 --population 1 --prior-infested 0 --confidence 1e-320")
	f.Fuzz(func(t *testing.T, line string) {
		args := strings.Fields(line)
		if len(args) == 0 || (args[0] != "sample" && args[0] != "estimate") || len(line) > 300 {
			return
		}
		var out, errs strings.Builder
		status := Run(context.Background(), append(args, "--json"), Streams{In: strings.NewReader(""), Out: &out, Err: &errs})
		switch status {
		case StatusDone:
			if out.Len() > 0 && !json.Valid([]byte(out.String())) && !strings.Contains(line, "-h") {
				t.Fatalf("%q printed %q", line, out.String())
			}
		case StatusInput, StatusNoAnswer:
			doc := out.String() + errs.String() // exactly one of them speaks
			if !json.Valid([]byte(doc)) {
				t.Fatalf("%q printed %q", line, doc)
			}
		default:
			t.Fatalf("%q ended with status %d: %s", line, status, errs.String())
		}
	})
}

// Shares may carry a percent sign and numbers a minus; what is wrong is named
// at its flag with what to write.
func TestShareFlags(t *testing.T) {
	same := func(a, b string) {
		t.Helper()
		x, y := answer(t, strings.Fields(a)...), answer(t, strings.Fields(b)...)
		if x["look_at"] != y["look_at"] || x["confidence"] != y["confidence"] {
			t.Errorf("%s: %v\n%s: %v", a, x, b, y)
		}
	}
	same("sample --population 200 --prevalence 5% --confidence 95% --sensitivity 80%", "sample --population 200 --prevalence 0.05 --confidence 0.95 --sensitivity 0.8")
	same("sample --population 200 --prevalence 7% --confidence 99.5%", "sample --population 200 --prevalence 0.07 --confidence 0.995")
	for args, want := range map[string][2]string{
		"sample --population 100 --prevalence 5":                        {"prevalence", "5%"},
		"sample --population 100 --prevalence 0,05":                     {"prevalence", "0.05"},
		"sample --population 100 --prevalence NaN":                      {"prevalence", "0.05"},
		"sample --population 100 --prevalence -0.1":                     {"prevalence", "from 0"},
		"sample --population 100 --prevalence 101%":                     {"prevalence", "100%"},
		"sample --population 100 --prevalence Inf":                      {"prevalence", "0.05"},
		"sample --population -1 --prevalence 0.1":                       {"population", "Count again"},
		"sample --population 10 --prevalence 0.1 --allow -1":            {"allow", "Count again"},
		"sample --population 100 --prevalence 0.1 --pool 0":             {"pool", "Count again"},
		"estimate --looked -3 --positive 0":                             {"looked", "Count again"},
		"estimate --looked 30 --positive 0 --sensitivity 90":            {"sensitivity", "90%"},
		"estimate --looked 30 --positive 0 --confidence 100%":           {"confidence", "below 1"},
		"sample --population 10 --prevalence 0.1 --pool 2 --allow 1":    {"pool", "--allow"},
		"estimate --looked 3 --positive 0 --prior-a=NaN --population 9": {"prior-a", ""},
	} {
		status, out, errs := run(t, append(strings.Fields(args), "--json")...)
		var p Problem
		if err := json.Unmarshal([]byte(errs), &p); err != nil || status != StatusInput || out != "" || p.Field != want[0] || !strings.Contains(p.Hint, want[1]) {
			t.Errorf("%s: status %d, %q %s", args, status, out, errs)
		}
	}
}

func FuzzShare(f *testing.F) {
	for _, s := range []string{"0.05", "5%", "5 %", "1e-3", "1e-3%", "NaN", "0,05", "%", "100%", "-0", "0x1p-2"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		x, err := parseShare(s)
		if err == nil && !(x >= 0 && x <= 1) {
			t.Errorf("%q is read as %v", s, x)
		}
		if err != nil && err.Error() == "" {
			t.Errorf("%q is refused without a word", s)
		}
	})
}

// Pools by the formula of freedom.md section 9, written out: unlimited lot,
// 1 - ((1-p)^k Sp + (1-(1-p)^k)(1-Se))^r.
func TestSamplePools(t *testing.T) {
	doc := answer(t, strings.Fields("sample --population 0 --prevalence 0.05 --confidence 0.95 --sensitivity 0.9 --pool 5")...)
	clean := math.Pow(0.95, 5)
	one := clean + (1-clean)*0.1
	r := math.Ceil(math.Log(0.05) / math.Log(one))
	wantNumber(t, doc, "pools", r, 0)
	wantNumber(t, doc, "look_at", 5*r, 0)
	wantNumber(t, doc, "confidence", 1-math.Pow(one, r), 1e-12)
	status, out, _ := run(t, strings.Fields("sample --population 8 --prevalence 0.05 --sensitivity 0.5 --pool 4 --json")...)
	if status != StatusNoAnswer || !strings.Contains(out, `"look_at":null`) {
		t.Error(status, out)
	}
	status, out, errs := run(t, strings.Fields("sample --population 60 --prevalence 10% --sensitivity 0.9 --specificity 0.99 --pool 4")...)
	if status != 0 || !strings.Contains(out, "pools of 4") || !strings.Contains(out, "a clear lot shows none") {
		t.Error(status, out, errs)
	}
}
