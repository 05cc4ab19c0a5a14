package web

import (
	"slices"

	"holdfast"
	"holdfast/internal/web/form"
)

// reading is one kind of measurement of water, within what an entry keeps. Its
// name is the entry's own, so that a fault found there lands at the field.
type reading struct {
	name, label, unit string
	low, high         float64
	decimals          int
	at                func(*holdfast.Water) **float64
}

// waterReadings are all kinds, in the order in which forms ask for them.
var waterReadings = []reading{
	{"temp_c", "Temperature", "°C", -2, 45, 1, func(w *holdfast.Water) **float64 { return &w.TempC }},
	{"ph", "pH", "", 3, 11, 2, func(w *holdfast.Water) **float64 { return &w.PH }},
	{"ec_us_cm", "Conductivity", "µS/cm", 0, 60000, 0, func(w *holdfast.Water) **float64 { return &w.ECUS }},
	{"gh_dh", "Total hardness", "°dH", 0, 60, 1, func(w *holdfast.Water) **float64 { return &w.GH }},
	{"kh_dh", "Carbonate hardness", "°dH", 0, 60, 1, func(w *holdfast.Water) **float64 { return &w.KH }},
	{"tan_mg_l_n", "Total ammonia, as nitrogen", "mg/l", 0, 200, 2, func(w *holdfast.Water) **float64 { return &w.TAN }},
	{"no2_mg_l", "Nitrite", "mg/l", 0, 100, 2, func(w *holdfast.Water) **float64 { return &w.NO2 }},
	{"no3_mg_l", "Nitrate", "mg/l", 0, 1000, 0, func(w *holdfast.Water) **float64 { return &w.NO3 }},
	{"o2_mg_l", "Oxygen", "mg/l", 0, 40, 1, func(w *holdfast.Water) **float64 { return &w.O2 }},
}

// The shorter lists of forms that ask for less.
var (
	roundReadings = someReadings("temp_c", "ph", "ec_us_cm", "tan_mg_l_n", "no2_mg_l")
	bagReadings   = someReadings("temp_c", "ph", "ec_us_cm", "gh_dh", "kh_dh", "tan_mg_l_n")
	// tankReadings stand beside those of the bag in one form.
	tankReadings = called("into_", someReadings("temp_c", "ph", "ec_us_cm", "gh_dh", "kh_dh"))
)

func someReadings(names ...string) []reading {
	var out []reading
	for _, name := range names {
		for _, r := range waterReadings {
			if r.name == name {
				out = append(out, r)
			}
		}
	}
	return out
}

// readWater reads what was typed of these kinds. A field left empty is a
// reading nobody took.
// called are the same readings under longer names.
func called(prefix string, all []reading) []reading {
	out := slices.Clone(all)
	for i := range out {
		out[i].name = prefix + out[i].name
	}
	return out
}

func readWater(f *form.Form, kinds []reading) holdfast.Water {
	var w holdfast.Water
	for _, k := range kinds {
		*k.at(&w) = f.Number(k.name, form.Range{Low: k.low, High: k.high, Unit: k.unit})
	}
	return w
}
