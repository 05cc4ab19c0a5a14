package holdfast

// ConsignmentReceived is one delivery from one supplier.
type ConsignmentReceived struct {
	Consignment string `json:"consignment"`
	Supplier    string `json:"supplier"`
	// Origin is what the seller declared: "farmed_indoor", "farmed_outdoor",
	// "wild", "traded" or "" when nothing was declared.
	Origin string `json:"origin,omitempty"`
	// Declaration is what else the seller declared, in the person's words.
	Declaration string `json:"declaration,omitempty"`
	Boxes       int    `json:"boxes"`
	// HoursInTransit is from packing to opening, if known.
	HoursInTransit *float64 `json:"hours_in_transit,omitempty"`
	Freight        *Money   `json:"freight,omitempty"`
	Fees           *Money   `json:"fees,omitempty"`
	// Bags are the readings taken from bags before opening.
	Bags []BagReading `json:"bags,omitempty"`
	// File is the name of the packing list it was read from.
	File string `json:"file,omitempty"`
	Note string `json:"note,omitempty"`
	// Papers are what came with them; nil when nobody wrote any down.
	Papers *Papers `json:"papers,omitempty"`
}

// BagReading is the water of one bag as it was opened. A reading nobody took
// is absent, never zero.
type BagReading struct {
	Box string `json:"box,omitempty"`
	Water
}

// Water is a set of readings. A nil pointer means nobody measured it.
type Water struct {
	TempC *float64 `json:"temp_c,omitempty"`
	PH    *float64 `json:"ph,omitempty"`
	// ECUS is the conductivity at 25 °C in microsiemens per centimetre.
	ECUS *float64 `json:"ec_us_cm,omitempty"`
	// GH and KH are total and carbonate hardness in German degrees.
	GH *float64 `json:"gh_dh,omitempty"`
	KH *float64 `json:"kh_dh,omitempty"`
	// TAN is total ammonia as nitrogen, NO2 nitrite and NO3 nitrate as ions,
	// O2 dissolved oxygen, all mg/l.
	TAN *float64 `json:"tan_mg_l_n,omitempty"`
	NO2 *float64 `json:"no2_mg_l,omitempty"`
	NO3 *float64 `json:"no3_mg_l,omitempty"`
	O2  *float64 `json:"o2_mg_l,omitempty"`
}

// Empty reports whether nothing was measured.
func (w Water) Empty() bool { return w == Water{} }

func (w Water) check(c *checker, prefix string) {
	c.reading(prefix+"temp_c", w.TempC, -2, 45, "°C")
	c.reading(prefix+"ph", w.PH, 3, 11, "")
	c.reading(prefix+"ec_us_cm", w.ECUS, 0, 60000, "µS/cm")
	c.reading(prefix+"gh_dh", w.GH, 0, 60, "°dH")
	c.reading(prefix+"kh_dh", w.KH, 0, 60, "°dH")
	c.reading(prefix+"tan_mg_l_n", w.TAN, 0, 200, "mg/l")
	c.reading(prefix+"no2_mg_l", w.NO2, 0, 100, "mg/l")
	c.reading(prefix+"no3_mg_l", w.NO3, 0, 1000, "mg/l")
	c.reading(prefix+"o2_mg_l", w.O2, 0, 40, "mg/l")
}

// Kind implements [Payload].
func (*ConsignmentReceived) Kind() Kind { return KindConsignmentReceived }

func (p *ConsignmentReceived) check(c *checker) {
	c.name("consignment", p.Consignment)
	c.text("supplier", p.Supplier, 1, 80)
	c.oneOf("origin", p.Origin, "", "farmed_indoor", "farmed_outdoor", "wild", "traded")
	c.text("declaration", p.Declaration, 0, 2000)
	c.number("boxes", float64(p.Boxes), 0, 10000, "boxes")
	c.reading("hours_in_transit", p.HoursInTransit, 0, 500, "h")
	c.money("freight", p.Freight)
	c.money("fees", p.Fees)
	if len(p.Bags) > 1000 {
		c.add("bags", "Record at most 1,000 bags.", "%d bags are too many", len(p.Bags))
	}
	for _, b := range p.Bags {
		b.check(c, "bag_")
		c.text("bag_box", b.Box, 0, 40)
	}
	c.text("file", p.File, 0, 200)
	c.text("note", p.Note, 0, 2000)
	p.Papers.check(c)
}

// Stock is what a lot is: its strain and where it came from.
type Stock struct {
	Consignment string `json:"consignment"`
	Strain      string `json:"strain"`
	// Species is a group of the reference, such as "neocaridina".
	Species string `json:"species"`
	Box     string `json:"box,omitempty"`
	// Price is what one animal cost.
	Price *Money `json:"price,omitempty"`
}

func (s Stock) check(c *checker) {
	c.name("consignment", s.Consignment)
	c.text("strain", s.Strain, 1, 80)
	c.name("species", s.Species)
	c.text("box", s.Box, 0, 40)
	c.money("price", s.Price)
}

// LotOpened begins a lot: animals of one strain from one consignment that are
// kept together.
type LotOpened struct {
	Stock
	// Declared is the number on the packing list, dead ones included.
	Declared int `json:"declared"`
}

// Kind implements [Payload].
func (*LotOpened) Kind() Kind { return KindLotOpened }

func (p *LotOpened) check(c *checker) {
	p.Stock.check(c)
	c.count("declared", p.Declared, 1)
}

// LotPlaced puts animals of a lot that were in no tank into one.
type LotPlaced struct {
	// Count is how many; 0 means all of them.
	Count int `json:"count"`
}

// Kind implements [Payload].
func (*LotPlaced) Kind() Kind { return KindLotPlaced }

func (p *LotPlaced) check(c *checker) { c.count("count", p.Count, 0) }

// LotMoved moves animals of a lot from one tank to the tank the entry names.
type LotMoved struct {
	From string `json:"from"`
	// Count is how many; 0 means all of those in From.
	Count int `json:"count"`
	// Hospital says that they moved to be treated and remain of the lot.
	Hospital bool   `json:"hospital,omitempty"`
	Reason   string `json:"reason,omitempty"`
}

// Kind implements [Payload].
func (*LotMoved) Kind() Kind { return KindLotMoved }

func (p *LotMoved) check(c *checker) {
	c.name("from", p.From)
	c.count("count", p.Count, 0)
	c.text("reason", p.Reason, 0, 2000)
}

// LotSplit makes a new lot out of some animals, taken at random, of the lot the
// entry names. The new lot inherits everything that was known of the old one.
type LotSplit struct {
	NewLot string `json:"new_lot"`
	Count  int    `json:"count"`
	// Stock repeats what the animals are, so that the new lot's own entries
	// tell the whole of it; Suspects what they are suspected of, which stays with
	// every part of a lot until it is lifted there.
	Stock
	Suspects []string `json:"suspects,omitempty"`
	Reason   string   `json:"reason,omitempty"`
}

// Kind implements [Payload].
func (*LotSplit) Kind() Kind { return KindLotSplit }

func (p *LotSplit) check(c *checker) {
	c.name("new_lot", p.NewLot)
	c.count("count", p.Count, 1)
	p.Stock.check(c)
	c.names("suspects", p.Suspects)
	c.text("reason", p.Reason, 0, 2000)
}

// LotMerged puts animals of the lot the entry names among those of another lot.
type LotMerged struct {
	Into string `json:"into"`
	// Count is how many animals: always said, so that both lots' own entries
	// tell it; Suspects is what they are suspected of, and what the other lot is
	// suspected of from then on.
	Count    int      `json:"count"`
	Suspects []string `json:"suspects,omitempty"`
	Reason   string   `json:"reason,omitempty"`
}

// Kind implements [Payload].
func (*LotMerged) Kind() Kind { return KindLotMerged }

func (p *LotMerged) check(c *checker) {
	c.name("into", p.Into)
	c.count("count", p.Count, 1)
	c.names("suspects", p.Suspects)
	c.text("reason", p.Reason, 0, 2000)
}
