package unit_test

import (
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"math/big"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/ref"
	"holdfast/science/water/unit"
)

func rows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 2 {
		t.Fatalf("%s has no rows", name)
	}
	var out []map[string]string
	for _, row := range all[1:] {
		m := map[string]string{}
		for i, key := range all[0] {
			m[key] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	f, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func in(t *testing.T, text, name string) float64 {
	t.Helper()
	q, err := unit.Parse("x", text)
	if err != nil {
		t.Fatal(err)
	}
	f, err := q.In(name)
	if err != nil {
		t.Fatalf("%s in %s: %v", text, name, err)
	}
	return f
}

// Exact factors: NIST Handbook 44 Appendix C, NIST SP 811, 21 CFR 101.9, see
// testdata/README.md.
func TestExactFactors(t *testing.T) {
	names := map[string]string{
		"US gallon": "gal_us", "imperial gallon": "gal_imp", "US quart": "qt_us", "US pint": "pt_us",
		"US cup": "cup_us", "US label cup": "cup_label", "metric cup": "cup_metric",
		"US tablespoon": "tbsp_us", "US teaspoon": "tsp_us", "US label tablespoon": "tbsp_label", "Australian tablespoon": "tbsp_au",
		"US fluid ounce": "fl_oz_us", "imperial fluid ounce": "fl_oz_imp", "cubic inch": "in3", "cubic foot": "ft3",
		"inch": "in", "ounce avoirdupois": "oz", "pound": "lb", "grain": "grain", "drop (nominal)": "drop",
		"std atmosphere": "atm", "mmHg (conventional)": "mmhg", "inHg (0C conv.)": "inhg",
	}
	for _, row := range rows(t, "water_units.csv") {
		name, ok := names[row["unit"]]
		if !ok {
			t.Errorf("no unit for %q", row["unit"])
			continue
		}
		want := number(t, row["factor"])
		if got := in(t, "1 "+name, row["to"]); got != want {
			t.Errorf("1 %s = %.17g %s, want %.17g", name, got, row["to"], want)
		}
	}
}

func TestHardnessFactors(t *testing.T) {
	read := 0
	for _, row := range rows(t, "water_hardness.csv") {
		from := map[string]string{
			"1 dH (10 mg CaO/L)": "1 dgh", "1 dH": "1 dkh", "1 meq/L": "1 meq/l", "1 fH": "1 fh",
		}[row["frm"]]
		to := map[string]string{"mg/L CaCO3": "mg/l_caco3", "meq/L": "meq/l", "dH": "dgh"}[row["to"]]
		if from == "" || to == "" {
			continue // molar and ion factors are checked in package water
		}
		read++
		want := number(t, row["factor"])
		if got := in(t, from, to); math.Abs(got/want-1) > 1e-5 {
			t.Errorf("%s = %g %s, want %g", from, got, to, want)
		}
	}
	if read < 5 {
		t.Fatalf("only %d factors were checked", read)
	}
}

func TestTemperatures(t *testing.T) {
	for _, row := range rows(t, "water_temperature.csv") {
		if got, want := in(t, row["C"]+" C", "f"), number(t, row["F"]); math.Abs(got-want) > 1e-9 {
			t.Errorf("%s C = %g F, want %g", row["C"], got, want)
		}
		if got, want := in(t, row["F"]+" °F", "c"), number(t, row["C"]); got != want {
			t.Errorf("%s F = %g C, want %g", row["F"], got, want)
		}
	}
}

// Written forms and what they are, in the base unit of their kind.
func TestForms(t *testing.T) {
	for text, want := range map[string]struct {
		kind unit.Kind
		base float64
	}{
		"120 l":                  {unit.Volume, 120},
		"120L":                   {unit.Volume, 120},
		" 1.2e2 litres ":         {unit.Volume, 120},
		"10 GAL_US":              {unit.Volume, 37.85411784},
		"1/2 tsp_us":             {unit.Volume, 0.002464460796875},
		"2 drops":                {unit.Volume, 0.0001},
		"-3 l":                   {unit.Volume, -3},
		"−3 l":                   {unit.Volume, -3},
		"2.5 mg/l":               {unit.Concentration, 2.5},
		"2,5 mg/L":               {unit.Concentration, 2.5},
		"2.5 ppm":                {unit.Concentration, 2.5},
		"3 ug/ml":                {unit.Concentration, 3},
		"3 μg/ml":                {unit.Concentration, 3},
		"30 g/l":                 {unit.Concentration, 30000},
		"5 % w/v":                {unit.Concentration, 50000},
		"1.2 g/ml":               {unit.Concentration, 1.2e6},
		"1 g per 40 l":           {unit.Concentration, 25},
		"50 %":                   {unit.Share, 0.5},
		"50 % w/w":               {unit.Share, 0.5},
		"5 ml per 40 l":          {unit.Share, 0.000125},
		"1 tablet per 40 l":      {unit.TabletsPerVolume, 0.025},
		"1 dose per 10 gal_us":   {unit.DosesPerVolume, 1 / 37.85411784},
		"one dose per 40 l":      {unit.DosesPerVolume, 1.0 / 40},
		"half a tablet per 20 l": {unit.TabletsPerVolume, 0.5 / 20},
		"50 mg per tablet":       {unit.MassPerTablet, 0.05},
		"0.5 g/dose":             {unit.MassPerDose, 0.5},
		"2 tablets":              {unit.Tablets, 2},
		"4 d":                    {unit.Time, 4},
		"36 h":                   {unit.Time, 1.5},
		"2 weeks":                {unit.Time, 14},
		"24 C":                   {unit.Temperature, 24},
		"75.2 °F":                {unit.Temperature, 24},
		"20 ml/min":              {unit.Flow, 20},
		"1.2 l/h":                {unit.Flow, 20},
		"250 µS/cm":              {unit.Conductivity, 250},
		"0.25 mS/cm":             {unit.Conductivity, 250},
		"101.325 kPa":            {unit.Pressure, 101.325},
		"40 cm":                  {unit.Length, 40},
		"16 in":                  {unit.Length, 40.64},
		"0.4":                    {unit.Number, 0.4},
		"0,125 l":                {unit.Volume, 0.125},
	} {
		q, err := unit.Parse("x", text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
			continue
		}
		if q.Kind() != want.kind || math.Abs(q.Base()-want.base) > 1e-15*math.Abs(want.base) {
			t.Errorf("%q is %g, a %s; want %g, a %s", text, q.Base(), q.Kind(), want.base, want.kind)
		}
	}
}

func TestRefused(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{"", "120 l"}, {"l", "120 l"}, {"120", "120 l"}, {"120 mg", "120 l"}, {"50 %", "120 l"},
		{"120 gal", "gal_us"}, {"3 cups", "cup_metric"}, {"1 tbsp", "tbsp_au"}, {"1 spoon", "grams"}, {"1 pint", "pt_imp"},
		{"1,000 l", "1000"}, {"1,000,000 l", "1000"}, {"1.000,5 l", "120 l"}, {"1 000 l", "120 l"}, {"1e400 l", "120 l"}, {"1e19 l", "120 l"},
		{"1/0 l", "120 l"}, {"12 l/0 s", "120 l"}, {"NaN l", "120 l"}, {"Inf l", "120 l"}, {"0x10 l", "120 l"},
		{"5 l 3", "120 l"}, {"5 c/l", "120 l"}, {"5 l/kg/s", "120 l"}, {"--5 l", "120 l"}, {strings.Repeat("1", 200) + " l", "120 l"},
		{"\xff l", "120 l"}, {"1 l per", "120 l"},
	} {
		_, err := unit.Parse("volume", c.text, unit.Volume)
		var bad *ref.InputError
		if !errors.As(err, &bad) || bad.Field != "volume" || !strings.Contains(bad.Message+" "+bad.Hint, c.says) {
			t.Errorf("%q: %#v should name the field and say %q", c.text, err, c.says)
		}
	}
	if _, err := unit.Parse("x", "3 ppt"); err == nil || !strings.Contains(err.(*ref.InputError).Hint, "g/l") {
		t.Errorf("ppt is two things: %v", err)
	}
	for _, text := range []string{"0 l", "-3 l"} {
		_, err := unit.ParsePositive("volume", text, unit.Volume)
		var bad *ref.InputError
		if !errors.As(err, &bad) || !strings.Contains(bad.Message, "above zero") {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestRepeat(t *testing.T) {
	for text, want := range map[string][2]float64{
		"30 % every 3 d": {0.3, 3}, "10% every day": {0.1, 1}, "25 % Every 36 h": {0.25, 1.5}, "50 % every 2 weeks": {0.5, 14},
	} {
		r, err := unit.ParseRepeat("change", text, unit.Share)
		if err != nil {
			t.Fatal(err)
		}
		if r.Amount.Base() != want[0] || r.Every.Base() != want[1] {
			t.Errorf("%q: %g every %g d", text, r.Amount.Base(), r.Every.Base())
		}
	}
	for _, text := range []string{"30 %", "30 l every 3 d", "30 % every 3 l", "30 % every", "0 % every 3 d", "30 % every 0 d", "every 3 d", "30 % every -3 d"} {
		_, err := unit.ParseRepeat("change", text, unit.Share)
		var bad *ref.InputError
		if !errors.As(err, &bad) || bad.Field != "change" || bad.Hint == "" {
			t.Errorf("%q: %v", text, err)
		}
	}
}

// units of each kind between which a value must survive a round trip.
var families = map[unit.Kind][]string{
	unit.Volume:        {"l", "ml", "gal_us", "gal_imp", "cup_us", "tbsp_us", "tsp_us", "fl_oz_imp", "in3", "ft3", "drop"},
	unit.Mass:          {"g", "mg", "kg", "oz", "lb", "grain"},
	unit.Concentration: {"mg/l", "g/l", "ppm", "% w/v", "oz/gal_us", "grain/gal_imp"},
	unit.Temperature:   {"c", "f", "k"},
	unit.Hardness:      {"dgh", "meq/l", "mg/l_caco3", "fh"},
	unit.Time:          {"s", "min", "h", "d", "w"},
	unit.Pressure:      {"kpa", "hpa", "atm", "mmhg", "inhg"},
	unit.Length:        {"cm", "mm", "in", "ft"},
	unit.Flow:          {"ml/min", "l/h", "gal_us/h"},
}

func TestRoundTripsAreExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		kind := rapid.SampledFrom([]unit.Kind{unit.Volume, unit.Mass, unit.Concentration, unit.Temperature, unit.Hardness, unit.Time, unit.Pressure, unit.Length, unit.Flow}).Draw(t, "kind")
		from := rapid.SampledFrom(families[kind]).Draw(t, "from")
		to := rapid.SampledFrom(families[kind]).Draw(t, "to")
		x := fmt.Sprintf("%d.%03d", rapid.IntRange(0, 1e6).Draw(t, "whole"), rapid.IntRange(0, 999).Draw(t, "thousandths"))
		want, _ := new(big.Rat).SetString(x)
		q, err := unit.Parse("x", x+" "+from)
		if err != nil {
			t.Fatal(err)
		}
		there, err := q.Exact(to)
		if err != nil {
			t.Fatal(err)
		}
		text := there.Num().String()
		// Back by the written form where it is short enough to be read.
		if there.IsInt() && len(text) < 20 {
			q, err = unit.Parse("x", text+" "+to)
			if err != nil {
				t.Fatal(err)
			}
		}
		back, err := q.Exact(from)
		if err != nil || back.Cmp(want) != 0 {
			t.Fatalf("%s %s came back as %v (%v)", x, from, back, err)
		}
		f, err := q.In(from)
		w, _ := want.Float64()
		if err != nil || f != w {
			t.Fatalf("%s %s reads as %v", x, from, f)
		}
	})
}

func TestOtherKindsUnitIsRefused(t *testing.T) {
	q, err := unit.Parse("x", "3 l")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"g", "mg/l", "nonsense", "gal", "1"} {
		if _, err := q.In(name); err == nil {
			t.Errorf("3 l in %q should be refused", name)
		}
	}
	if got := (unit.Quantity{}).Base(); got != 0 {
		t.Errorf("the zero quantity is %g", got)
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"120 l", "2.5 mg/l", "50 %", "30 % every 3 d", "1/2 tsp_us", "1 tablet per 40 l", "24 °F", "1e18 ppb", "-0,5 g", "1,000 l", "5 % w/v", "µs/cm", "9e-18 mmhg/ft3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		q, err := unit.Parse("x", text)
		if err != nil {
			var bad *ref.InputError
			if !errors.As(err, &bad) || bad.Field != "x" || bad.Hint == "" {
				t.Fatalf("%q: %#v is no help", text, err)
			}
			return
		}
		if b := q.Base(); math.IsNaN(b) || math.IsInf(b, 0) {
			t.Fatalf("%q is %g", text, b)
		}
	})
}

func FuzzParseRepeat(f *testing.F) {
	f.Add("30 % every 3 d")
	f.Add("10 % every day")
	f.Add(" every ")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := unit.ParseRepeat("x", text, unit.Share)
		if err == nil && (r.Amount.Sign() <= 0 || r.Every.Sign() <= 0) {
			t.Fatalf("%q gave %v every %v", text, r.Amount, r.Every)
		}
	})
}
