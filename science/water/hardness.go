package water

// Molar masses behind hardness, g/mol.
const (
	massCaCO3 = 100.0869
	massCaO   = 56.0774
	massCa    = 40.078
	massMg    = 24.305
)

// MeqPerDegree is how many milliequivalents a litre one degree of hardness
// holds: 1 dH is 10 mg of CaO a litre.
const MeqPerDegree = 20 / massCaO

// DegreesFromIons returns the total hardness in degrees (dGH) of water with
// the given calcium and magnesium in mg/l. Source: arithmetic of masses.
func DegreesFromIons(caMgL, mgMgL float64) float64 {
	return 2 * (caMgL/massCa + mgMgL/massMg) / MeqPerDegree
}

// CaCO3FromIons returns the total hardness in mg/l as CaCO3.
func CaCO3FromIons(caMgL, mgMgL float64) float64 {
	return massCaCO3 * (caMgL/massCa + mgMgL/massMg)
}
