package holdfast

// Hold keeps a lot from sale, or takes a released one back.
type Hold struct {
	Reason string `json:"reason"`
	// Suspect names a notifiable disease or a condition without a cure that is
	// suspected; while one is, no release and no override exists.
	Suspect string `json:"suspect,omitempty"`
	// Cleared ends an earlier suspicion of that name, with the reason (what the
	// authority, the laboratory or the veterinarian said).
	Cleared string `json:"cleared,omitempty"`
	// Also are other lots that share animals or water with the lot the entry
	// names: the suspicion, or its end, holds for them too.
	Also []string `json:"also,omitempty"`
}

// MostHeld bounds how many lots one suspicion holds beside its own.
const MostHeld = 900

// Kind implements [Payload].
func (*Hold) Kind() Kind { return KindHold }

func (p *Hold) check(c *checker) {
	c.text("reason", p.Reason, 1, 2000)
	if p.Suspect != "" {
		c.name("suspect", p.Suspect)
	}
	if p.Cleared != "" {
		c.name("cleared", p.Cleared)
	}
	if len(p.Also) > MostHeld {
		c.add("also", "Record the suspicion in two lots.", "%d lots are too many", len(p.Also))
		return
	}
	c.names("also", p.Also)
	if len(p.Also) > 0 && p.Suspect == "" && p.Cleared == "" {
		c.add("also", "Hold each lot by itself.", "only a suspicion, or its end, is about several lots")
	}
}

// Figure is a chance with its band, of one named condition.
type Figure struct {
	Condition string `json:"condition"`
	// Chance of clear, and Low to High its band (shares).
	Chance float64 `json:"chance"`
	Low    float64 `json:"low"`
	High   float64 `json:"high"`
	// BagRisk is the chance that a bag of the shop's bag size carries it.
	BagRisk float64 `json:"bag_risk"`
	// BuyersRisk is the chance that at least one buyer gets it if the whole
	// lot is sold.
	BuyersRisk float64 `json:"buyers_risk"`
	Looked     int     `json:"looked"`
	Positive   int     `json:"positive"`
	// Worked says how the life-cycle model came to it; nil where another model
	// answered, and in older entries.
	Worked *Worked `json:"worked,omitempty"`
}

// Worked says how a figure was simulated, so that it can be computed again.
type Worked struct {
	// Model names the model, the condition's data and their versions.
	Model string `json:"model"`
	// AsOf is the day on whose evening the figure holds.
	AsOf Day `json:"as_of"`
	// Runs is how many lots were simulated and ESS how many of them in effect
	// carry the weight; SE is the Monte Carlo error of the chance.
	Runs int     `json:"runs"`
	Seed int64   `json:"seed"`
	SE   float64 `json:"se"`
	ESS  float64 `json:"ess"`
	// BagLow to BagHigh is the band of the bag risk; both 0 where none was worked
	// out.
	BagLow  float64 `json:"bag_low,omitempty"`
	BagHigh float64 `json:"bag_high,omitempty"`
	// Never and Always are the same lot if no egg, or every ripe egg, hatches on
	// the animal; nil where these were not simulated.
	Never  *WorkedIf `json:"never,omitempty"`
	Always *WorkedIf `json:"always,omitempty"`
	// Doubt says why the figure should not be trusted, or nothing.
	Doubt string `json:"doubt,omitempty"`
}

// WorkedIf is a figure under one assumption.
type WorkedIf struct {
	Chance  float64 `json:"chance"`
	BagRisk float64 `json:"bag_risk"`
}

func (w *Worked) check(c *checker) {
	if w == nil {
		return
	}
	c.text("model", w.Model, 1, 200)
	c.number("runs", float64(w.Runs), 1, 1e6, "")
	shares := []float64{w.SE, w.BagLow, w.BagHigh}
	for _, x := range []*WorkedIf{w.Never, w.Always} {
		if x != nil {
			shares = append(shares, x.Chance, x.BagRisk)
		}
	}
	for _, x := range shares {
		c.number("figures", x, 0, 1, "")
	}
	c.number("ess", w.ESS, 0, 1e6, "")
	c.text("doubt", w.Doubt, 0, 500)
}

func (f Figure) check(c *checker) {
	f.Worked.check(c)
	c.name("condition", f.Condition)
	for _, x := range []float64{f.Chance, f.Low, f.High, f.BagRisk, f.BuyersRisk} {
		c.number("figures", x, 0, 1, "")
	}
	c.count("looked", f.Looked, 0)
	c.count("positive", f.Positive, 0)
}

// GateLine is one condition of the release gate as it stood.
type GateLine struct {
	Name string `json:"name"`
	Met  bool   `json:"met"`
	Says string `json:"says"`
}

// Release says that the lot may be sold, with everything it was decided on
// frozen as it stood: later finds never rewrite it.
type Release struct {
	Line      string     `json:"line"`
	LineValue float64    `json:"line_value"`
	BagSize   int        `json:"bag_size"`
	Alive     int        `json:"alive"`
	Figures   []Figure   `json:"figures"`
	Gate      []GateLine `json:"gate"`
	// Override is the override this release rests on, if any.
	Override ID     `json:"override,omitempty"`
	Model    string `json:"model"`
	Note     string `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*Release) Kind() Kind { return KindRelease }

func (p *Release) check(c *checker) {
	c.oneOf("line", p.Line, LineClear, LineBag)
	c.number("line_value", p.LineValue, 0, 1, "")
	c.count("bag_size", p.BagSize, 1)
	c.count("alive", p.Alive, 1)
	if len(p.Figures) > 100 || len(p.Gate) > 100 {
		c.add("figures", "Record at most 100 lines.", "too many figures")
		return
	}
	for _, f := range p.Figures {
		f.check(c)
	}
	for _, g := range p.Gate {
		c.text("gate", g.Name, 1, 200)
		c.text("gate", g.Says, 0, 1000)
	}
	if p.Override != "" && !p.Override.Valid() {
		c.add("override", "Sign the override again.", "%q is not an entry", p.Override)
	}
	c.text("model", p.Model, 1, 80)
	c.text("note", p.Note, 0, 2000)
}

// Override is a signed reason to release below the line. It stays on the lot
// and its record for ever.
type Override struct {
	Reason string `json:"reason"`
	// Unmet lists the conditions of the gate that did not hold.
	Unmet []string `json:"unmet"`
}

// Kind implements [Payload].
func (*Override) Kind() Kind { return KindOverride }

func (p *Override) check(c *checker) {
	c.text("reason", p.Reason, 10, 2000)
	if len(p.Unmet) == 0 || len(p.Unmet) > 100 {
		c.add("unmet", "Release without an override.", "every condition is met")
	}
	for _, u := range p.Unmet {
		c.text("unmet", u, 1, 200)
	}
}

// The ways a lot can go other than through the release gate.
const (
	ExitTreatOn   = "treat_on"
	ExitClaim     = "claim_return"
	ExitDisclosed = "sell_disclosed"
	ExitColony    = "keep_colony"
	ExitPutDown   = "put_down"
)

// Exit is a decision not to wait for the release line.
type Exit struct {
	Way    string `json:"way"`
	Reason string `json:"reason"`
	// Count is how many animals it concerns; 0 means the whole lot.
	Count int `json:"count"`
	// Disclosed is what the buyer was told, for a disclosed sale.
	Disclosed string `json:"disclosed,omitempty"`
}

// Kind implements [Payload].
func (*Exit) Kind() Kind { return KindExit }

func (p *Exit) check(c *checker) {
	c.oneOf("way", p.Way, ExitTreatOn, ExitClaim, ExitDisclosed, ExitColony, ExitPutDown)
	c.text("reason", p.Reason, 1, 2000)
	c.count("count", p.Count, 0)
	c.text("disclosed", p.Disclosed, 0, 2000)
	if p.Way == ExitDisclosed && p.Disclosed == "" {
		c.add("disclosed", "Write what the buyer is told.", "a disclosed sale says what was disclosed")
	}
}

// Sale is animals that went to a buyer. The buyer stands here under a
// pseudonym only; who it is stands in a table that can be erased.
type Sale struct {
	Buyer string `json:"buyer"`
	Count int    `json:"count"`
	Price *Money `json:"price,omitempty"`
	Note  string `json:"note,omitempty"`
	// Papers are what went with them, for a buyer who is in the trade.
	Papers *Papers `json:"papers,omitempty"`
}

// Kind implements [Payload].
func (*Sale) Kind() Kind { return KindSale }

func (p *Sale) check(c *checker) {
	c.name("buyer", p.Buyer)
	c.count("count", p.Count, 1)
	c.money("price", p.Price)
	c.text("note", p.Note, 0, 2000)
	p.Papers.check(c)
}

// Note is anything worth writing down.
type Note struct {
	Text string `json:"text"`
}

// Kind implements [Payload].
func (*Note) Kind() Kind { return KindNote }

func (p *Note) check(c *checker) { c.text("text", p.Text, 1, 4000) }

// Correction undoes one entry. Correcting a correction restores what it undid.
type Correction struct {
	Corrects ID     `json:"corrects"`
	Reason   string `json:"reason"`
	// Replaced is the entry that stands in its place, if it was put right and
	// not only undone.
	Replaced ID `json:"replaced,omitempty"`
	// About repeats the subjects of the corrected entry, so that their folds
	// find this correction whichever of the two arrives first.
	About []SubjectRef `json:"about"`
}

// mostAbout bounds the subjects of a correction: a suspicion with all the lots
// it holds can be taken back.
const mostAbout = MostHeld + 100

// SubjectRef names a subject in a payload.
type SubjectRef struct {
	Type SubjectType `json:"type"`
	ID   string      `json:"id"`
}

// Kind implements [Payload].
func (*Correction) Kind() Kind { return KindCorrection }

func (p *Correction) check(c *checker) {
	if !p.Corrects.Valid() {
		c.add("corrects", "Choose the entry to undo.", "%q is not an entry", p.Corrects)
	}
	c.text("reason", p.Reason, 1, 500)
	if p.Replaced != "" && !p.Replaced.Valid() {
		c.add("replaced", "Choose the entry that replaces it.", "%q is not an entry", p.Replaced)
	}
	if len(p.About) > mostAbout {
		c.add("about", "Undo it from its own page.", "too many subjects")
	}
	for _, s := range p.About {
		c.oneOf("about", string(s.Type), string(SubjectLot), string(SubjectTank), string(SubjectConsignment), string(SubjectShop), string(SubjectBook))
		c.name("about", s.ID)
	}
}
