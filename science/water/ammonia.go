package water

import "holdfast/science/ref"

// Atomic and molecular masses in g/mol (IUPAC, as rounded in testdata).
const (
	massN   = 14.0067
	massNH3 = 17.0305
	massNH4 = 18.0385
	massNO2 = 46.0055
	massNO3 = 62.0049
)

// Limits of un-ionized ammonia for shrimp, mg/l as N.
var (
	AmmoniaKeepBelow = ref.Param{Value: 0.02, Low: 0.01, High: 0.05, Unit: "mg/l", Basis: ref.Practice,
		Note: "Un-ionized ammonia as N that nobody worries about; no lethal level was found for atyid shrimp."}
	AmmoniaAlarm = ref.Param{Value: 0.05, Low: 0.02, High: 0.1, Unit: "mg/l", Basis: ref.Practice,
		Note: "Un-ionized ammonia as N at which to act; half of Ceriodaphnia die in 48 h at 0.09 to 0.92."}
)

// AmmoniaPKa returns the negative logarithm of the ammonium ion's
// dissociation constant.
//
//	pKa = 0.09018 + 2729.92/T + 0.116 I,   I = 19.924 S / (1000 - 1.005 S)
//
// tempC is in degrees Celsius, 0 to 50; salinity in g/kg, 0 for fresh water.
// The salt term is an approximation: other published forms differ by up to 0.1
// at 5 g/kg, a fifth of the fraction. Beware of the misprint 2727.92.
// Source: emerson1975, epa1989, doe1994
func AmmoniaPKa(tempC, salinity float64) float64 {
	ionic := 19.924 * salinity / (1000 - 1.005*salinity)
	return 0.09018 + 2729.92/kelvin(tempC) + 0.116*ionic
}

// UnionizedFraction returns the share of total ammonia that is NH3, the form
// that poisons.
//
//	f = 1 / (1 + 10^(pKa - pH))
//
// Arguments as in AmmoniaPKa; ph 0 to 14. Source: emerson1975
func UnionizedFraction(ph, tempC, salinity float64) float64 {
	return 1 / (1 + pow10(AmmoniaPKa(tempC, salinity)-ph))
}

// Ammonia is what a reading of total ammonia means at one pH.
type Ammonia struct {
	// Fraction is the share of the total that is un-ionized.
	Fraction float64 `json:"fraction"`
	// UnionizedMgLN is un-ionized ammonia, mg/l as N.
	UnionizedMgLN float64 `json:"unionized_mg_l_n"`
	PKa           float64 `json:"pka"`
}

// AmmoniaAt returns the un-ionized part of a total of tan mg/l as N.
// The error is a *ref.InputError for ph, temp, tan or salinity.
func AmmoniaAt(ph, tempC, tan, salinity float64) (Ammonia, error) {
	err := firstError(
		CheckPH("ph", ph),
		within("temp", "temperature", tempC, 0, 50, "C"),
		within("tan", "total ammonia", tan, 0, 1000, "mg/l as N"),
		within("salinity", "salinity", salinity, 0, 45, "g/kg"),
	)
	if err != nil {
		return Ammonia{}, err
	}
	f := UnionizedFraction(ph, tempC, salinity)
	return Ammonia{Fraction: f, UnionizedMgLN: f * tan, PKa: AmmoniaPKa(tempC, salinity)}, nil
}

// Nitrogen is what a test kit's figure counts.
type Nitrogen string

// The ways in which kits report; ask which before a reading is used.
const (
	AsN   Nitrogen = "N"
	AsNH3 Nitrogen = "NH3"
	AsNH4 Nitrogen = "NH4"
	AsNO2 Nitrogen = "NO2"
	AsNO3 Nitrogen = "NO3"
)

// ToN turns mg/l reported as the given form into mg/l of nitrogen. The error
// names an unknown form.
func ToN(mgL float64, as Nitrogen) (float64, error) {
	mass, ok := map[Nitrogen]float64{AsN: massN, AsNH3: massNH3, AsNH4: massNH4, AsNO2: massNO2, AsNO3: massNO3}[as]
	if !ok {
		return 0, ref.Inputf("as", "Choose N, NH3, NH4, NO2 or NO3, as the kit's leaflet says.", "no such form: %q", string(as))
	}
	return mgL * massN / mass, nil
}

// AmmoniaRise is un-ionized ammonia in bag water now and after the carbon
// dioxide has left it.
type AmmoniaRise struct {
	Now Ammonia `json:"now"`
	// AiredPH is the pH in balance with the air, nil when the carbonate
	// hardness of this water is not known.
	AiredPH *float64 `json:"aired_ph"`
	Aired   *Ammonia `json:"aired"`
	// Reason says why Aired is missing.
	Reason string `json:"reason,omitempty"`
}

// AmmoniaWhenAired returns un-ionized ammonia at the bag's own pH and after
// aeration has driven the carbon dioxide out. alkMeqL is the bag's own
// alkalinity (carbonate hardness) in meq/l and nil when nobody measured it:
// then nothing is assumed in its place. Errors as for AmmoniaAt, and for kh.
//
// Source: emerson1975, plummer1982
func AmmoniaWhenAired(ph, tempC, tan float64, alkMeqL *float64) (AmmoniaRise, error) {
	now, err := AmmoniaAt(ph, tempC, tan, 0)
	if err != nil {
		return AmmoniaRise{}, err
	}
	rise := AmmoniaRise{Now: now}
	if alkMeqL == nil {
		rise.Reason = "nobody measured the carbonate hardness of this water"
		return rise, nil
	}
	if err := within("kh", "carbonate hardness", *alkMeqL, 0, 20, "meq/l"); err != nil {
		return AmmoniaRise{}, err
	}
	aired := airedPH(*alkMeqL/1000, tan/1000/massN, tempC, airCO2)
	after, err := AmmoniaAt(aired, tempC, tan, 0)
	if err != nil {
		return AmmoniaRise{}, err
	}
	rise.AiredPH, rise.Aired = &aired, &after
	return rise, nil
}
