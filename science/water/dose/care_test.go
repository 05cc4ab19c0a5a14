package dose_test

import (
	"strings"
	"testing"

	"holdfast/science/ref"
	"holdfast/science/water/dose"
)

func TestSayingsNameTheirSource(t *testing.T) {
	for name, list := range map[string][]dose.Saying{
		"disinfection": dose.Disinfection(), "air": dose.WhenAirFails(), "heater": dose.WhenHeaterFails(), "end": dose.AtTheEnd(),
	} {
		if len(list) < 3 {
			t.Errorf("%s says too little", name)
		}
		for _, s := range list {
			if _, ok := ref.Lookup(s.From); !ok && s.From != "common practice" && s.From != "judgement" {
				t.Errorf("%s: no such source %q", name, s.From)
			}
		}
	}
	last := dose.Disinfection()[len(dose.Disinfection())-1]
	if !strings.HasPrefix(last.Say, "Never salt alone") {
		t.Errorf("salt kills no eggs: %q", last.Say)
	}
}

// Molar masses: 2 · 248.18 g/mol of the pentahydrate to 70.906 g/mol of chlorine.
func TestThiosulfate(t *testing.T) {
	g, err := dose.Thiosulfate(10, 100)
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "grams for 1 g of chlorine", g, 2*248.18/70.906, 0.001)
	_, err = dose.Thiosulfate(-1, 100)
	wantField(t, "no tub", err, "volume")
	_, err = dose.Thiosulfate(10, 0)
	wantField(t, "no chlorine", err, "chlorine")
}
