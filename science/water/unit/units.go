package unit

import "math/big"

// scale is one unit: how many of the base units it holds, exactly, and for a
// temperature where its zero lies in kelvin.
type scale struct {
	name string
	// factor in decimetres, grams, seconds, kelvin, siemens, milliequivalents.
	factor *big.Rat
	zero   *big.Rat
	dims   dims
}

// table is every unit by its written name in lower case.
var table = makeTable()

func makeTable() map[string]scale {
	t := map[string]scale{}
	add := func(d dims, factor string, names ...string) {
		f, ok := new(big.Rat).SetString(factor)
		if !ok {
			panic("unit: factor " + factor)
		}
		for _, n := range names {
			t[n] = scale{name: names[0], factor: f, dims: d}
		}
	}
	volume := dims{length: 3}
	add(volume, "1", "l", "litre", "litres", "liter", "liters")
	add(volume, "0.001", "ml", "millilitre", "millilitres", "milliliter", "milliliters", "cm3", "cc")
	add(volume, "0.000001", "ul", "µl")
	add(volume, "0.01", "cl")
	add(volume, "0.1", "dl")
	add(volume, "1000", "m3")
	add(volume, "3.785411784", "gal_us")
	add(volume, "4.54609", "gal_imp", "gal_uk")
	add(volume, "0.946352946", "qt_us")
	add(volume, "1.1365225", "qt_imp")
	add(volume, "0.473176473", "pt_us")
	add(volume, "0.56826125", "pt_imp")
	add(volume, "0.2365882365", "cup_us")
	add(volume, "0.24", "cup_label")
	add(volume, "0.25", "cup_metric")
	add(volume, "0.01478676478125", "tbsp_us")
	add(volume, "0.015", "tbsp_metric", "tbsp_label")
	add(volume, "0.02", "tbsp_au")
	add(volume, "0.00492892159375", "tsp_us")
	add(volume, "0.005", "tsp_metric", "tsp_label")
	add(volume, "0.0295735295625", "fl_oz_us")
	add(volume, "0.0284130625", "fl_oz_imp")
	add(volume, "0.016387064", "in3")
	add(volume, "28.316846592", "ft3")
	add(volume, "0.00005", "drop", "drops")

	mass := dims{mass: 1}
	add(mass, "1", "g", "gram", "grams", "gramme", "grammes")
	add(mass, "0.001", "mg")
	add(mass, "0.000001", "ug", "µg", "mcg")
	add(mass, "1000", "kg")
	add(mass, "28.349523125", "oz", "ounce", "ounces")
	add(mass, "453.59237", "lb", "lbs", "pound", "pounds")
	add(mass, "0.06479891", "grain", "grains")

	concentration := dims{mass: 1, length: -3}
	add(concentration, "0.001", "ppm")
	add(concentration, "0.000001", "ppb")
	add(concentration, "10", "%w/v")

	add(dims{}, "0.01", "%", "percent", "%w/w", "%v/v")

	time := dims{time: 1}
	add(time, "1", "s", "sec", "second", "seconds")
	add(time, "60", "min", "minute", "minutes")
	add(time, "3600", "h", "hr", "hour", "hours")
	add(time, "86400", "d", "day", "days")
	add(time, "604800", "w", "week", "weeks")

	length := dims{length: 1}
	add(length, "0.1", "cm")
	add(length, "0.01", "mm")
	add(length, "10", "m")
	add(length, "1", "dm")
	add(length, "0.254", "in", "inch", "inches")
	add(length, "3.048", "ft")

	siemens := dims{siemens: 1}
	add(siemens, "0.000001", "us", "µs")
	add(siemens, "0.001", "ms")
	add(siemens, "1", "siemens")

	// 1 degree is 10 mg of CaO a litre; two equivalents to a mole of CaO.
	hardness := dims{equivalent: 1, length: -3}
	add(hardness, "200000/560774", "dgh", "dkh", "dh", "°dh")
	add(dims{equivalent: 1}, "1", "meq")
	add(hardness, "20000/1000869", "mg/l_caco3", "ppm_caco3")
	add(hardness, "200000/1000869", "fh")

	pressure := dims{mass: 1, length: -1, time: -2}
	// 1 Pa = 1 kg/(m s²) = 1000 g/(10 dm s²)
	add(pressure, "100", "pa")
	add(pressure, "100000", "kpa")
	add(pressure, "10000", "hpa", "mbar")
	add(pressure, "10132500", "atm")
	add(pressure, "13332.2387415", "mmhg")
	add(pressure, "338638.9", "inhg")

	add(dims{tablet: 1}, "1", "tablet", "tablets")
	add(dims{dose: 1}, "1", "dose", "doses")

	kelvin := dims{kelvin: 1}
	degree := func(factor, zero string, names ...string) {
		add(kelvin, factor, names...)
		z, _ := new(big.Rat).SetString(zero)
		for _, n := range names {
			s := t[n]
			s.zero = z
			t[n] = s
		}
	}
	degree("1", "273.15", "c", "°c", "℃", "celsius")
	degree("5/9", "45967/180", "f", "°f", "℉", "fahrenheit")
	degree("1", "0", "k", "kelvin")
	return t
}

// ambiguous are words that name several sizes, with what to write instead.
var ambiguous = map[string]string{
	"gal": "gal_us (3.785 l) or gal_imp (4.546 l)", "gallon": "gal_us (3.785 l) or gal_imp (4.546 l)", "gallons": "gal_us (3.785 l) or gal_imp (4.546 l)",
	"cup": "cup_us (237 ml), cup_label (240 ml) or cup_metric (250 ml)", "cups": "cup_us (237 ml), cup_label (240 ml) or cup_metric (250 ml)",
	"tbsp": "tbsp_us (14.8 ml), tbsp_metric (15 ml) or tbsp_au (20 ml)", "tablespoon": "tbsp_us (14.8 ml), tbsp_metric (15 ml) or tbsp_au (20 ml)", "tablespoons": "tbsp_us (14.8 ml), tbsp_metric (15 ml) or tbsp_au (20 ml)",
	"tsp": "tsp_us (4.93 ml) or tsp_metric (5 ml)", "teaspoon": "tsp_us (4.93 ml) or tsp_metric (5 ml)", "teaspoons": "tsp_us (4.93 ml) or tsp_metric (5 ml)",
	"spoon": "tsp_metric, tbsp_us or another named spoon, or better grams", "spoons": "tsp_metric, tbsp_us or another named spoon, or better grams",
	"scoop": "grams, or the scoop's size in ml", "scoops": "grams, or the scoop's size in ml",
	"pint": "pt_us (473 ml) or pt_imp (568 ml)", "pt": "pt_us (473 ml) or pt_imp (568 ml)",
	"quart": "qt_us (946 ml) or qt_imp (1137 ml)", "qt": "qt_us (946 ml) or qt_imp (1137 ml)",
	"fl_oz": "fl_oz_us (29.6 ml) or fl_oz_imp (28.4 ml)",
	"ppt":   "g/l (parts per thousand) or ng/l written as mg/l (parts per trillion)",
	"eh":    "mg/l_caco3", "tds": "us/cm: two meters differ by 40 % in what they call TDS",
}
