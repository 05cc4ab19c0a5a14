package water

import (
	"math"

	"holdfast/science/ref"
)

// ion is what one dissolved ion carries.
type ion struct {
	name   string
	charge float64
	mass   float64 // g/mol
	// lambda is the equivalent conductivity at infinite dilution, 25 C, S cm²/eq.
	lambda float64
}

// Source of the conductivities: crcconductivity.
var (
	calcium     = ion{"Ca", 2, massCa, 59.47}
	magnesium   = ion{"Mg", 2, massMg, 53.0}
	sodium      = ion{"Na", 1, 22.990, 50.08}
	potassium   = ion{"K", 1, 39.098, 73.48}
	chloride    = ion{"Cl", 1, 35.453, 76.31}
	sulfate     = ion{"SO4", 2, 96.06, 80.0}
	bicarbonate = ion{"HCO3", 1, 61.0168, 44.5}
)

// Salt is a salt that soft water is hardened with.
type Salt struct {
	ID   string
	Name string
	// MolarMass counts the crystal water in, g/mol.
	MolarMass float64
	// SolubilityGL is how much dissolves in a litre at 20 C, g.
	SolubilityGL float64
	ions         []amount
}

type amount struct {
	ion
	n float64
}

// Salts lists the salts in use, by what they bring. Masses and solubilities:
// handbook values, from memory.
func Salts() []Salt {
	return []Salt{
		{"calcium_chloride", "Calcium chloride dihydrate", 147.014, 980, []amount{{calcium, 1}, {chloride, 2}}},
		{"gypsum", "Calcium sulfate dihydrate (gypsum)", 172.171, 2.4, []amount{{calcium, 1}, {sulfate, 1}}},
		{"magnesium_sulfate", "Magnesium sulfate heptahydrate", 246.475, 710, []amount{{magnesium, 1}, {sulfate, 1}}},
		{"magnesium_chloride", "Magnesium chloride hexahydrate", 203.303, 1670, []amount{{magnesium, 1}, {chloride, 2}}},
		{"sodium_bicarbonate", "Sodium bicarbonate", 84.007, 96, []amount{{sodium, 1}, {bicarbonate, 1}}},
		{"potassium_bicarbonate", "Potassium bicarbonate", 100.115, 333, []amount{{potassium, 1}, {bicarbonate, 1}}},
	}
}

func findSalt(field, id string, needs ion) (Salt, error) {
	for _, s := range Salts() {
		if s.ID == id && s.ions[0].name == needs.name || s.ID == id && s.ions[1].name == needs.name {
			return s, nil
		}
	}
	return Salt{}, ref.Inputf(field, "Choose one of the salts that bring "+needs.name+".", "%q brings no %s", id, needs.name)
}

// CalciumToMagnesium is the ratio by count of ions when nobody states one.
var CalciumToMagnesium = ref.Param{Value: 3, Low: 2, High: 4, Unit: "ratio", Basis: ref.Practice,
	Note: "Calcium to magnesium by moles, as in most drinking waters and hardening salts."}

// Hardening is soft water that is to get a wanted hardness.
type Hardening struct {
	Litres float64 `json:"litres"`
	// FromGH and FromKH are the degrees it has: 0 for reverse-osmosis water that
	// was measured to be so.
	FromGH float64 `json:"from_gh_dh"`
	FromKH float64 `json:"from_kh_dh"`
	GH     float64 `json:"gh_dh"`
	KH     float64 `json:"kh_dh"`
	// CaToMg is the ratio by moles of what is added; 0 takes CalciumToMagnesium.
	CaToMg float64 `json:"ca_to_mg,omitempty"`
	// Salts by id; empty takes calcium chloride, magnesium sulfate and potassium
	// bicarbonate.
	Calcium     string `json:"calcium,omitempty"`
	Magnesium   string `json:"magnesium,omitempty"`
	Bicarbonate string `json:"bicarbonate,omitempty"`
}

// Hardened is what to weigh and what it makes.
type Hardened struct {
	Weigh []SaltWeight `json:"weigh"`
	// Ions are the milligrams a litre that the salts add.
	Ions []IonAdded `json:"ions"`
	// ECRise is what they add to the conductivity at 25 C, µS/cm: an estimate,
	// too high by up to a fifth where sulfate makes up much of it.
	ECRise float64 `json:"ec_rise_us_cm"`
}

// SaltWeight is one salt to weigh.
type SaltWeight struct {
	ID    string  `json:"id"`
	Name  string  `json:"name"`
	Grams float64 `json:"grams"`
}

// IonAdded is one ion that the salts bring.
type IonAdded struct {
	Ion string  `json:"ion"`
	MgL float64 `json:"mg_l"`
}

// Plan returns the grams of each salt.
//
//	Ca + Mg = ΔGH / 2 meq,  Ca : Mg as wanted;  HCO3 = ΔKH
//
// The errors are *ref.InputError for litres, gh_dh, kh_dh, ca_to_mg or a salt:
// hardness cannot be taken out by salt, and gypsum that would not dissolve is
// refused. Add bicarbonate last, dissolved by itself. Source: arithmetic of
// masses; conductivity by onsager1927
func (h Hardening) Plan() (Hardened, error) {
	if h.CaToMg == 0 {
		h.CaToMg = CalciumToMagnesium.Value
	}
	setDefault(&h.Calcium, "calcium_chloride")
	setDefault(&h.Magnesium, "magnesium_sulfate")
	setDefault(&h.Bicarbonate, "potassium_bicarbonate")
	err := firstError(
		within("litres", "volume", h.Litres, 0.1, 1e6, "l"),
		within("from_gh_dh", "total hardness now", h.FromGH, 0, 40, "degrees"),
		within("from_kh_dh", "carbonate hardness now", h.FromKH, 0, 40, "degrees"),
		within("gh_dh", "total hardness", h.GH, h.FromGH, 40, "degrees (salt only adds)"),
		within("kh_dh", "carbonate hardness", h.KH, h.FromKH, 40, "degrees (salt only adds)"),
		within("ca_to_mg", "ratio of calcium to magnesium", h.CaToMg, 0.1, 100, ""),
	)
	if err != nil {
		return Hardened{}, err
	}
	hard := (h.GH - h.FromGH) * MeqPerDegree / 2 // mmol/l of Ca and Mg
	mg := hard / (1 + h.CaToMg)
	var out Hardened
	added := map[ion]float64{}
	for _, part := range []struct {
		field, id string
		needs     ion
		mmolL     float64
	}{
		{"calcium", h.Calcium, calcium, hard - mg}, {"magnesium", h.Magnesium, magnesium, mg},
		{"bicarbonate", h.Bicarbonate, bicarbonate, (h.KH - h.FromKH) * MeqPerDegree},
	} {
		s, err := findSalt(part.field, part.id, part.needs)
		if err != nil {
			return Hardened{}, err
		}
		if part.mmolL == 0 {
			continue
		}
		gramsL := part.mmolL * s.MolarMass / 1000
		if gramsL > s.SolubilityGL {
			return Hardened{}, ref.Inputf(part.field, "Choose another salt or less hardness.", "%.3g g of %s do not dissolve in a litre", gramsL, s.Name)
		}
		out.Weigh = append(out.Weigh, SaltWeight{s.ID, s.Name, gramsL * h.Litres})
		for _, a := range s.ions {
			added[a.ion] += a.n * part.mmolL
		}
	}
	for _, i := range []ion{calcium, magnesium, sodium, potassium, chloride, sulfate, bicarbonate} {
		if c := added[i]; c > 0 {
			out.Ions = append(out.Ions, IonAdded{i.name, c * i.mass})
		}
	}
	out.ECRise = ionConductivity(added)
	return out, nil
}

func setDefault(s *string, v string) {
	if *s == "" {
		*s = v
	}
}

// ionConductivity returns µS/cm at 25 C of ions in mmol/l by the limiting law
// taken ion by ion, ion pairs left out.
//
//	λ = λ0 - (0.229 |z| λ0 + 30.1 |z|) √I
func ionConductivity(mmolL map[ion]float64) float64 {
	strength := 0.0
	for i, c := range mmolL {
		strength += c * i.charge * i.charge / 2000
	}
	total := 0.0
	for i, c := range mmolL {
		lambda := i.lambda - (0.229*i.charge*i.lambda+30.1*i.charge)*math.Sqrt(strength)
		total += c * i.charge * positive(lambda)
	}
	return total
}

// Brings reports whether the salt holds an ion: "Ca", "Mg", "HCO3" and so on.
func (s Salt) Brings(ion string) bool {
	for _, a := range s.ions {
		if a.name == ion {
			return true
		}
	}
	return false
}
