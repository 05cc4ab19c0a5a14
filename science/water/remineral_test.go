package water

import (
	"errors"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/ref"
)

// Source: PHREEQC 3.8.9, phreeqc.dat. Three per cent for salts whose ions stay
// apart, a fifth for sulfates, whose pairs are left out, up to 2 mmol/l
// (11 degrees).
func TestIonConductivityAgainstPHREEQC(t *testing.T) {
	read := 0
	for _, r := range rows(t, "phreeqc_conductivity.csv") {
		c := r.f(t, "mmol_l")
		if c > 2 {
			continue
		}
		salts := map[string]map[ion]float64{
			"NaCl": {sodium: c, chloride: c}, "CaCl2": {calcium: c, chloride: 2 * c}, "MgSO4": {magnesium: c, sulfate: c},
			"CaSO4": {calcium: c, sulfate: c}, "NaHCO3": {sodium: c, bicarbonate: c}, "KHCO3": {potassium: c, bicarbonate: c},
		}
		tolerance := 0.03
		if r["salt"] == "MgSO4" || r["salt"] == "CaSO4" {
			tolerance = 0.2
		}
		want := r.f(t, "us_cm_25C")
		closeTo(t, r["salt"]+" "+r["mmol_l"], ionConductivity(salts[r["salt"]]), want, tolerance*want)
		read++
	}
	if read < 20 {
		t.Fatalf("%d rows", read)
	}
}

// By hand: one degree is 0.17833 mmol/l; 0.75 of it calcium as the dihydrate
// (147.014 g/mol) are 19.66 mg/l, 0.25 magnesium as the heptahydrate (246.475)
// 10.99 mg/l; one degree of carbonate hardness is 0.35665 mmol/l or 35.71 mg/l of
// potassium bicarbonate (100.115).
func TestHardeningByHand(t *testing.T) {
	plan, err := Hardening{Litres: 100, GH: 6, KH: 2}.Plan()
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{"calcium_chloride": 6 * 1.966, "magnesium_sulfate": 6 * 1.099, "potassium_bicarbonate": 2 * 3.571}
	for _, w := range plan.Weigh {
		closeTo(t, w.ID, w.Grams, want[w.ID], 0.001*want[w.ID])
	}
	if len(plan.Weigh) != 3 {
		t.Errorf("%+v", plan.Weigh)
	}
}

func TestHardeningGivesTheHardnessBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := Hardening{
			Litres: rapid.Float64Range(1, 500).Draw(t, "litres"),
			FromGH: rapid.Float64Range(0, 3).Draw(t, "from gh"), FromKH: rapid.Float64Range(0, 2).Draw(t, "from kh"),
			CaToMg:      rapid.Float64Range(1, 6).Draw(t, "ratio"),
			Calcium:     rapid.SampledFrom([]string{"", "calcium_chloride", "gypsum"}).Draw(t, "ca"),
			Magnesium:   rapid.SampledFrom([]string{"", "magnesium_sulfate", "magnesium_chloride"}).Draw(t, "mg"),
			Bicarbonate: rapid.SampledFrom([]string{"", "sodium_bicarbonate", "potassium_bicarbonate"}).Draw(t, "kh"),
		}
		h.GH = h.FromGH + rapid.Float64Range(0, 15).Draw(t, "gh")
		h.KH = h.FromKH + rapid.Float64Range(0, 10).Draw(t, "kh")
		plan, err := h.Plan()
		if err != nil {
			t.Fatal(err)
		}
		ions := map[string]float64{}
		for _, i := range plan.Ions {
			ions[i.Ion] = i.MgL
		}
		near := func(what string, got, want float64) {
			if d := got - want; d > 1e-9 || d < -1e-9 {
				t.Fatalf("%s %g, want %g", what, got, want)
			}
		}
		near("total hardness", h.FromGH+DegreesFromIons(ions["Ca"], ions["Mg"]), h.GH)
		near("carbonate hardness", h.FromKH+ions["HCO3"]/bicarbonate.mass/MeqPerDegree, h.KH)
		double := h
		double.Litres *= 2
		twice, err := double.Plan()
		if err != nil {
			t.Fatal(err)
		}
		for n := range plan.Weigh {
			near("grams grow with litres", twice.Weigh[n].Grams/2, plan.Weigh[n].Grams)
		}
		near("conductivity does not", twice.ECRise, plan.ECRise)
	})
}

func TestHardeningRefuses(t *testing.T) {
	good := Hardening{Litres: 100, GH: 6, KH: 2}
	for field, change := range map[string]func(*Hardening){
		"litres":      func(h *Hardening) { h.Litres = -1 },
		"gh_dh":       func(h *Hardening) { h.FromGH = 8 },
		"kh_dh":       func(h *Hardening) { h.KH = -1 },
		"ca_to_mg":    func(h *Hardening) { h.CaToMg = -3 },
		"calcium":     func(h *Hardening) { h.Calcium = "magnesium_sulfate" },
		"magnesium":   func(h *Hardening) { h.Magnesium = "chalk" },
		"bicarbonate": func(h *Hardening) { h.Bicarbonate = "gypsum" },
	} {
		h := good
		change(&h)
		_, err := h.Plan()
		var in *ref.InputError
		if !errors.As(err, &in) || in.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	if plan, err := (Hardening{Litres: 10}).Plan(); err != nil || len(plan.Weigh) != 0 || plan.ECRise != 0 {
		t.Errorf("nothing wanted: %+v, %v", plan, err)
	}
}
