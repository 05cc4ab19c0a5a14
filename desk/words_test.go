package desk

import (
	"encoding/json"
	"reflect"
	"testing"

	"holdfast"
	"holdfast/science/water"
)

func TestPercentNeverRoundsToSure(t *testing.T) {
	for share, want := range map[float64]string{
		0: "0 %", 1: "100 %", 0.5: "50 %", 0.27: "27 %", 0.951: "95.1 %", 0.9996: "99.96 %", 0.99999: "99.999 %",
		0.9999999: "over 99.999 %", 0.012: "1.2 %", 0.0004: "0.04 %", 0.0000001: "under 0.001 %", 0.9: "90 %",
		0.95: "95 %", 0.9497: "94.9 %", 0.0104: "1.1 %", 0.01: "1 %",
	} {
		if got := Percent(share); got != want {
			t.Errorf("Percent(%v) = %q, want %q", share, got, want)
		}
	}
}

func TestLettersCountOn(t *testing.T) {
	for i, want := range map[int]string{0: "a", 25: "z", 26: "aa", 27: "ab", 51: "az", 52: "ba", 701: "zz", 702: "aaa"} {
		if got := letters(i); got != want {
			t.Errorf("letters(%d) = %q, want %q", i, got, want)
		}
	}
}

func TestGuessSpeciesFromWhatSellersWrite(t *testing.T) {
	for name, want := range map[string]string{
		"Blue Dream A+":              "neocaridina_davidi",
		"Fire red cherry":            "neocaridina_davidi",
		"Crystal Red S":              "caridina_bee",
		"Tangerine tiger":            "caridina_tiger",
		"Taiwan bee mix":             "caridina_bee",
		"Amano shrimp 3-4 cm":        "caridina_multidentata",
		"Caridina multidentata":      "caridina_multidentata",
		"Neocaridina davidi var red": "neocaridina_davidi",
		"zebra nerite":               "nerite",
		"Boraras brigittae":          "nano_fish",
		"gift box":                   "",
	} {
		if got := GuessSpecies(name); got != want {
			t.Errorf("GuessSpecies(%q) = %q, want %q", name, got, want)
		}
	}
}

// The journal's shape of a tank and the one that science/water measures must
// stay the same: an entry written today is reckoned again in years.
func TestShapeIsWaterTank(t *testing.T) {
	a, b := reflect.TypeFor[holdfast.Shape](), reflect.TypeFor[water.Tank]()
	if a.NumField() != b.NumField() {
		t.Fatalf("%d fields in the journal, %d in science/water", a.NumField(), b.NumField())
	}
	for i := range a.NumField() {
		x, y := a.Field(i), b.Field(i)
		if x.Tag.Get("json") != y.Tag.Get("json") {
			t.Errorf("field %d is %q in the journal and %q in science/water", i, x.Tag.Get("json"), y.Tag.Get("json"))
		}
	}
	full := reflect.New(a)
	for i := range a.NumField() {
		switch f := full.Elem().Field(i); f.Kind() {
		case reflect.String:
			f.SetString("box")
		case reflect.Bool:
			f.SetBool(true)
		case reflect.Float64:
			f.SetFloat(float64(i + 1))
		}
	}
	s := full.Elem().Interface().(holdfast.Shape)
	left, _ := json.Marshal(s)
	right, _ := json.Marshal(tankOf(s))
	if string(left) != string(right) {
		t.Errorf("tankOf loses a field:\n%s\n%s", left, right)
	}
}

func TestPoissonTail(t *testing.T) {
	// R 4.2.2: ppois(2, 1, lower.tail = FALSE), ppois(4, 0.5, lower.tail = FALSE)
	for _, c := range []struct {
		n    int
		mean float64
		want float64
	}{{3, 1, 0.08030139707139416}, {5, 0.5, 0.00017211562995584075}} {
		if got := poissonTail(c.n, c.mean); got < c.want*(1-1e-9) || got > c.want*(1+1e-9) {
			t.Errorf("P(X >= %d | %v) = %v, want %v", c.n, c.mean, got, c.want)
		}
	}
}

func TestPercentClear(t *testing.T) {
	for share, want := range map[float64]string{0: "0 %", 0.0004: "under 0.1 %", 0.0014: "0.1 %", 0.04: "4 %", 0.344: "34 %", 0.9497: "94.9 %", 1: "100 %"} {
		if got := PercentClear(share); got != want {
			t.Errorf("%v: %q, want %q", share, got, want)
		}
	}
}
