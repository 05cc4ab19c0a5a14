package cli

import (
	"math"
	"strings"
	"testing"

	"holdfast/reference"
	"holdfast/science/water/dose"
)

func numbers(t *testing.T, doc map[string]any, key string) []float64 {
	t.Helper()
	list, ok := doc[key].([]any)
	if !ok {
		t.Fatalf("%s is %v", key, doc[key])
	}
	var out []float64
	for _, v := range list {
		out = append(out, v.(float64))
	}
	return out
}

// Arithmetic: 2.5 mg/l in 120 l are 0.3 g, 0.6 g of a 50 % powder; a change of
// 30 % takes 30 % of it.
func TestMixPrintsTheDocumentOfItsContract(t *testing.T) {
	doc := answer(t, "mix", "--volume", "120 l", "--target", "2.5 mg/l", "--strength", "50 %", "--change", "30 % every 3 d")
	wantNumber(t, doc, "amount_g", 0.6, 1e-12)
	wantNumber(t, doc, "weigh_g", 0.6, 1e-12)
	redoses := numbers(t, doc, "redose_g")
	if len(redoses) != 4 || math.Abs(redoses[0]-0.18) > 1e-12 {
		t.Errorf("re-doses: %v", redoses)
	}
	at := map[float64]float64{}
	for _, p := range doc["concentration"].([]any) {
		point := p.(map[string]any)
		at[point["day"].(float64)] = point["mg_l"].(float64)
	}
	for day := range 15 {
		if math.Abs(at[float64(day)]-2.5) > 1e-12 {
			t.Errorf("day %d ends at %g mg/l", day, at[float64(day)])
		}
	}
	// Without changes half is left after a half-life, and nothing is dosed again.
	doc = answer(t, "mix", "--volume", "120 l", "--target", "2.5 ppm", "--half-life", "4 d", "--for", "8 d")
	wantNumber(t, doc, "amount_g", 0.3, 1e-12)
	points := doc["concentration"].([]any)
	last := points[len(points)-1].(map[string]any)
	wantNumber(t, last, "mg_l", 0.625, 1e-12)
	if n := len(numbers(t, doc, "redose_g")); n != 0 {
		t.Errorf("%d re-doses without a change", n)
	}
}

// Arithmetic: a change of 30 % takes 1.2 of 4 tablets out; in quarters 1.25 are
// put back.
func TestMixFollowsALabelsRateInShares(t *testing.T) {
	doc := answer(t, "mix", "--volume", "160 l", "--target", "1 tablet per 40 l", "--change", "30 % every 3 d", "--for", "5 d")
	if again := numbers(t, doc, "redose"); len(again) != 1 || again[0] != 1.25 {
		t.Errorf("re-doses: %v", again)
	}
	points := doc["shares"].([]any)
	last := points[len(points)-1].(map[string]any)
	wantNumber(t, last, "share", 1, 1e-12)
	wantNumber(t, last, "measured", 0.7+1.25/4, 1e-12)
	if n := len(doc["concentration"].([]any)); n != 0 || doc["amount_g"] != nil {
		t.Errorf("%d concentrations of an unknown strength, %v g", n, doc["amount_g"])
	}
}

// Exact factors: NIST Handbook 44.
func TestMixReadsUnits(t *testing.T) {
	for volume, litres := range map[string]float64{"10 gal_us": 37.85411784, "10 gal_imp": 45.4609, "37,5 L": 37.5, "100000 ml": 100} {
		doc := answer(t, "mix", "--volume", volume, "--target", "2 mg/l")
		wantNumber(t, doc, "amount_g", litres*2/1000, 1e-15)
	}
	doc := answer(t, "mix", "--volume", "80 l", "--target", "1 tablet per 40 l")
	if doc["amount_g"] != nil || doc["reason"] == nil {
		t.Errorf("tablets are not grams: %v", doc)
	}
	wantNumber(t, doc["mix"].(map[string]any), "amount", 2, 1e-12)
	doc = answer(t, "mix", "--volume", "80 l", "--target", "1 tablet per 40 l", "--strength", "50 mg per tablet")
	wantNumber(t, doc["mix"].(map[string]any), "mg_l", 1.25, 1e-12)
	doc = answer(t, "mix", "--volume", "80 l", "--target", "2.5 mg/l", "--strength", "5 % w/v")
	wantNumber(t, doc["mix"].(map[string]any), "amount", 4, 1e-12)
	doc = answer(t, "mix", "--volume", "80 l", "--target", "5 ml per 40 l")
	wantNumber(t, doc["mix"].(map[string]any), "in_hand", 10, 1e-12)
	doc = answer(t, "mix", "--volume", "80 l", "--target", "5 ml per 10 gal_us")
	wantNumber(t, doc["mix"].(map[string]any), "amount", 80/37.85411784*5, 1e-12)
	doc = answer(t, "mix", "--volume", "100 l", "--volume-error", "4 %", "--target", "2 mg/l")
	wantNumber(t, doc["mix"].(map[string]any), "mg_l_low", 2/1.04, 1e-12)
}

func TestMixMakesAStock(t *testing.T) {
	doc := answer(t, "mix", "--volume", "5 l", "--target", "2.5 mg/l", "--ingredient", "praziquantel")
	mix := doc["mix"].(map[string]any)
	stock, ok := mix["stock"].(map[string]any)
	if !ok || mix["direct"] != false || stock["mg_per_l"].(float64) > 100 {
		t.Errorf("12.5 mg need a stock that dissolves: %v", mix)
	}
}

func TestMixSaysWhatIsRight(t *testing.T) {
	ok := []string{"mix", "--volume", "120 l", "--target", "2.5 mg/l"}
	with := func(args ...string) []string { return append(append([]string{}, ok...), args...) }
	for _, c := range []struct {
		field, says string
		args        []string
	}{
		{"volume", "120 l", []string{"mix", "--volume=-3 l", "--target", "2.5 mg/l"}},
		{"volume", "120 l", []string{"mix", "--volume", "120 mg", "--target", "2.5 mg/l"}},
		{"volume", "gal_imp", []string{"mix", "--volume", "30 gal", "--target", "2.5 mg/l"}},
		{"volume", "120 l", []string{"mix", "--volume", "120", "--target", "2.5 mg/l"}},
		{"target", "2.5 mg/l", []string{"mix", "--volume", "120 l", "--target", "2.5 mg"}},
		{"target", "w/v", []string{"mix", "--volume", "120 l", "--target", "1 %"}},
		{"target", "mg/l", []string{"mix", "--volume", "120 l", "--target", "2.5 mg/kg"}},
		{"target", "mg/l", []string{"mix", "--volume", "120 l", "--target", "1 oz per 10 kg"}},
		{"volume", "1000", []string{"mix", "--volume", "1,000 l", "--target", "2.5 mg/l"}},
		{"target", "10 times", []string{"mix", "--volume", "120 l", "--target", "25 mg/l", "--ingredient", "praziquantel"}},
		{"ingredient", "praziquantel", with("--ingredient", "snake oil")},
		{"strength", "at most 100 %", with("--strength", "500 %")},
		{"change", "every 3 d", with("--change", "30 %")},
		{"change", "every 3 d", with("--change", "130 % every 3 d")},
		{"half-life", "4 d", with("--half-life", "4 l")},
		{"scale", "0.5 g", with("--scale", "1 cm")},
		{"volume-error", "3 %", with("--volume-error", "300 %")},
		{"stock", "Take at least", with("--stock", "0.5 l", "--ingredient", "praziquantel")},
		{"ingredient", "--ingredient", with("--stock", "0.5 l")},
		{"for", "4 d", with("--for", "0 d")},
		{"for", "365", with("--for", "4000 d")},
		{"half-life", "4 d", with("--half-life", "1 s")},
	} {
		if msg := refused(t, c.field, c.args...); !strings.Contains(msg, c.says) {
			t.Errorf("%v: %q does not say %q", c.args, msg, c.says)
		}
	}
	answer(t, "mix", "--volume", "120 l", "--target", "25 mg/l", "--ingredient", "praziquantel", "--reason", "The vet wrote 25 for this lot.")
}

func TestMixForPeople(t *testing.T) {
	for want, args := range map[string][]string{
		"Take 0.6 g":         {"mix", "--volume", "120 l", "--target", "2.5 mg/l", "--strength", "50 %", "--change", "30 % every 3 d"},
		"re-dosed with 0.18": {"mix", "--volume", "120 l", "--target", "2.5 mg/l", "--strength", "50 %", "--change", "30 % every 3 d"},
		"too little":         {"mix", "--volume", "2 l", "--target", "2.5 mg/l"},
		"Take 2 tablets":     {"mix", "--volume", "80 l", "--target", "1 tablet per 40 l"},
		"with 1.25 tablets":  {"mix", "--volume", "160 l", "--target", "1 tablet per 40 l", "--change", "30 % every 3 d"},
		"copper":             {"mix", "--volume", "80 l", "--target", "2.5 mg/l", "--ingredient", "praziquantel"},
		"thin the product":   {"mix", "--volume", "80 ml", "--target", "2.5 mg/l", "--strength", "5 % w/v"},
	} {
		status, stdout, stderr := run(t, args...)
		if status != StatusDone || stderr != "" || !strings.Contains(stdout, want) {
			t.Errorf("%v: %d, %q, %q does not say %q", args, status, stderr, stdout, want)
		}
	}
}

// The table of ingredients and the reference book speak of the same things.
func TestIngredientsAgreeWithTheBook(t *testing.T) {
	book := map[string]reference.Medicine{}
	for _, m := range reference.Builtin().Medicines() {
		book[m.ID] = m
	}
	compared := 0
	for _, i := range dose.Ingredients() {
		if i.Book == "" {
			continue
		}
		m, ok := book[i.Book]
		if !ok {
			t.Errorf("%s: no %q in the book", i.ID, i.Book)
			continue
		}
		if string(m.Use) != string(i.Standing) {
			t.Errorf("%s is %s here and %s in the book", i.ID, i.Standing, m.Use)
		}
		for _, d := range m.Doses {
			factor := map[string]float64{"mg/L": 1, "g/L": 1000}[d.Unit]
			for _, u := range i.Uses {
				compared++
				if u.LowMgL != factor*d.Low || u.HighMgL != factor*d.High {
					t.Errorf("%s: %g to %g mg/l here, %g to %g %s in the book", i.ID, u.LowMgL, u.HighMgL, d.Low, d.High, d.Unit)
				}
			}
		}
	}
	if compared < 4 {
		t.Fatalf("only %d ranges were compared", compared)
	}
}

func FuzzMixFlags(f *testing.F) {
	f.Add("120 l", "2.5 mg/l", "50 %", "30 % every 3 d", "4 d")
	f.Add("10 gal_us", "1 tablet per 40 l", "50 mg per tablet", "", "")
	f.Add("-3 l", "1e18 ppm", "0 %", "100 % every 1 s", "1e-9 s")
	f.Fuzz(func(t *testing.T, volume, target, strength, change, halfLife string) {
		args := []string{"mix", "--json", "--volume=" + volume, "--target=" + target, "--strength=" + strength, "--change=" + change, "--half-life=" + halfLife}
		status, stdout, stderr := run(t, args...)
		switch status {
		case StatusDone:
			if stderr != "" || strings.Contains(stdout, "NaN") || strings.Contains(stdout, "Inf") {
				t.Fatalf("%q: %q %q", args, stdout, stderr)
			}
		case StatusInput:
			if stdout != "" || stderr == "" {
				t.Fatalf("%q: %q %q", args, stdout, stderr)
			}
		default:
			t.Fatalf("%q: status %d: %s", args, status, stderr)
		}
	})
}
