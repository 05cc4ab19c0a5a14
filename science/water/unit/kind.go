package unit

// Kind is what sort of thing a quantity is.
type Kind string

// The kinds that a quantity can be.
const (
	Volume        Kind = "volume"
	Mass          Kind = "mass"
	Concentration Kind = "concentration"
	Share         Kind = "share"
	Time          Kind = "time"
	Temperature   Kind = "temperature"
	Length        Kind = "length"
	Flow          Kind = "flow"
	Conductivity  Kind = "conductivity"
	Hardness      Kind = "hardness"
	Pressure      Kind = "pressure"
	// Tablets and Doses are counts of what a label calls so.
	Tablets Kind = "number of tablets"
	Doses   Kind = "number of doses"
	// TabletsPerVolume and DosesPerVolume are rates on a label.
	TabletsPerVolume Kind = "tablets per volume"
	DosesPerVolume   Kind = "doses per volume"
	// MassPerTablet and MassPerDose are strengths on a label.
	MassPerTablet Kind = "mass per tablet"
	MassPerDose   Kind = "mass per dose"
	// Number is a bare count without a unit.
	Number Kind = "bare number"
)

// dims counts how often each base enters a unit: litre^(1/3) is the length, so
// that a volume is a length three times.
type dims struct {
	length, mass, time, kelvin, siemens, equivalent, tablet, dose int8
}

func (d dims) over(e dims) dims {
	return dims{d.length - e.length, d.mass - e.mass, d.time - e.time, d.kelvin - e.kelvin,
		d.siemens - e.siemens, d.equivalent - e.equivalent, d.tablet - e.tablet, d.dose - e.dose}
}

// kinds gives each kind its dimensions, the unit that Base answers in, and
// examples for the person who wrote something else.
var kinds = []struct {
	kind     Kind
	dims     dims
	base     string
	examples string
}{
	{Volume, dims{length: 3}, "l", "120 l, 500 ml, 30 gal_us or 25 gal_imp"},
	{Mass, dims{mass: 1}, "g", "0.5 g, 250 mg or 1 oz"},
	{Concentration, dims{mass: 1, length: -3}, "mg/l", "2.5 mg/l, 2.5 ppm or 30 g/l"},
	{Share, dims{}, "1", "50 %"},
	{Time, dims{time: 1}, "d", "4 d, 36 h or 30 min"},
	{Temperature, dims{kelvin: 1}, "c", "24 C or 75 F"},
	{Length, dims{length: 1}, "cm", "40 cm or 16 in"},
	{Flow, dims{length: 3, time: -1}, "ml/min", "20 ml/min or 2 l/h"},
	{Conductivity, dims{siemens: 1, length: -1}, "us/cm", "250 us/cm or 0.25 ms/cm"},
	{Hardness, dims{equivalent: 1, length: -3}, "meq/l", "6 dgh, 4 dkh, 1.4 meq/l or 70 mg/l_caco3"},
	{Pressure, dims{mass: 1, length: -1, time: -2}, "kpa", "101.3 kpa, 1013 hpa or 760 mmhg"},
	{Tablets, dims{tablet: 1}, "tablet", "2 tablets"},
	{Doses, dims{dose: 1}, "dose", "1 dose"},
	{TabletsPerVolume, dims{tablet: 1, length: -3}, "tablet/l", "1 tablet per 40 l"},
	{DosesPerVolume, dims{dose: 1, length: -3}, "dose/l", "1 dose per 40 l"},
	{MassPerTablet, dims{mass: 1, tablet: -1}, "g/tablet", "50 mg per tablet"},
	{MassPerDose, dims{mass: 1, dose: -1}, "g/dose", "0.5 g per dose"},
}

func kindOf(d dims) (Kind, bool) {
	for _, k := range kinds {
		if k.dims == d {
			return k.kind, true
		}
	}
	return "", false
}

// Examples returns a few ways to write a quantity of kind k.
func (k Kind) Examples() string {
	for _, row := range kinds {
		if row.kind == k {
			return row.examples
		}
	}
	return "12"
}

// Base returns the unit that Quantity.Base answers in, "1" for a share.
func (k Kind) Base() string {
	for _, row := range kinds {
		if row.kind == k {
			return row.base
		}
	}
	return "1"
}
