package demo

// supplier is an invented seller with what is true of its animals, which the
// desk never sees.
type supplier struct {
	name, origin string
	declaration  string
	// worm, rings and green are the chances that a lot carries the rostrum worm,
	// the segmented worm and the green growth.
	worm, rings, green float64
	doa                float64
}

var suppliers = []supplier{
	{"Ninefold Pond Farm", "farmed_outdoor", "Ponds, dipped before packing, date not given", 0.75, 0.2, 0.02, 0.03},
	{"Lantern Weir Nursery", "farmed_indoor", "Indoor tanks, closed breeding", 0.12, 0.02, 0, 0.015},
	{"Tarn and Thistle Stock", "farmed_indoor", "Own breeding, no new animals this year", 0.08, 0.01, 0, 0.02},
	{"Osier Gate Traders", "traded", "", 0.55, 0.15, 0.02, 0.05},
	{"Quietwater Raisers", "farmed_indoor", "Indoor, treated once before shipping", 0.2, 0.03, 0, 0.02},
	{"Saltless Bay Export", "farmed_outdoor", "", 0.65, 0.25, 0.03, 0.06},
	{"Pebblecourt Hatchery", "farmed_indoor", "Hatched on site", 0.1, 0.01, 0, 0.01},
	{"Long Sluice Farm", "farmed_outdoor", "Greenhouse ponds", 0.5, 0.1, 0.01, 0.03},
	{"Mirefold Collectors", "wild", "Caught by hand net", 0.8, 0.45, 0.05, 0.08},
	{"Amberleat Breeders", "farmed_indoor", "Line bred, small batches", 0.06, 0, 0, 0.01},
	{"Stillmarsh Consolidators", "traded", "Mixed origin", 0.6, 0.2, 0.03, 0.05},
	{"Hollow Reed Stock", "traded", "", 0.4, 0.1, 0.01, 0.04},
}

// ware is what suppliers sell: strain, species, a usual number and the price
// of one animal in cents, bought and sold.
type ware struct {
	strain, species string
	few, many       int
	bought, sold    int64
}

var wares = []ware{
	{"Red cherry", "neocaridina_davidi", 150, 400, 45, 300},
	{"Blue velvet", "neocaridina_davidi", 100, 300, 70, 350},
	{"Yellow back", "neocaridina_davidi", 100, 300, 60, 320},
	{"Bloody red", "neocaridina_davidi", 80, 200, 90, 400},
	{"Orange", "neocaridina_davidi", 100, 250, 60, 320},
	{"Green", "neocaridina_davidi", 60, 150, 110, 450},
	{"Black rili", "neocaridina_davidi", 60, 150, 85, 400},
	{"Snowball", "neocaridina_davidi", 80, 200, 65, 330},
	{"Crystal red", "caridina_bee", 50, 150, 220, 700},
	{"Crystal black", "caridina_bee", 50, 150, 210, 700},
	{"Taiwan bee mix", "caridina_bee", 30, 80, 450, 1400},
	{"Tangerine tiger", "caridina_tiger", 40, 120, 240, 750},
	{"Amano", "caridina_multidentata", 100, 300, 70, 350},
	{"Zebra nerite", "nerite", 60, 200, 60, 280},
}

var staff = []string{"Jo", "Sam"}
