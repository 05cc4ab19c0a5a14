package holdfast

// TreatmentLook is one look at the animals of a bath or dip: of a trial all of
// them are accounted for, of a whole lot what was seen down or dead.
type TreatmentLook struct {
	// Treatment is the entry of the bath or dip.
	Treatment ID `json:"treatment"`
	// Walking, Down and Dead are counts at this moment; Walking is 0 where
	// nobody counts a whole lot.
	Walking int `json:"walking"`
	Down    int `json:"down"`
	Dead    int `json:"dead"`
	// Died is how many of the dead died since the look before: the lot loses
	// them with this entry.
	Died int    `json:"died"`
	Note string `json:"note,omitempty"`
	Task string `json:"task,omitempty"`
}

// Kind implements [Payload].
func (*TreatmentLook) Kind() Kind { return KindTreatmentLook }

func (p *TreatmentLook) check(c *checker) {
	c.entry("treatment", p.Treatment)
	c.count("walking", p.Walking, 0)
	c.count("down", p.Down, 0)
	c.count("dead", p.Dead, 0)
	c.count("died", p.Died, 0)
	if p.Died > p.Dead {
		c.add("died", "Count the dead again.", "%d died, of %d dead", p.Died, p.Dead)
	}
	c.text("note", p.Note, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

// TreatmentEnded tells how a bath that was written when it began really went.
// The lot's state then shows the treatment as it went.
type TreatmentEnded struct {
	Treatment ID `json:"treatment"`
	// Hours is how long it really ran.
	Hours float64 `json:"hours"`
	// CarbonOut, UVOff and LampOff answer whether they held all the time; nil
	// when nobody can say.
	CarbonOut *bool `json:"carbon_out,omitempty"`
	UVOff     *bool `json:"uv_off,omitempty"`
	LampOff   *bool `json:"lamp_off,omitempty"`
	// CarbonBack says whether fresh carbon went into the filter at the end.
	CarbonBack *bool `json:"carbon_back,omitempty"`
	// LowestC is the coldest it got, nil when nobody measured.
	LowestC *float64 `json:"lowest_c,omitempty"`
	// Held and Failed replace those of the treatment.
	Held    string `json:"held"`
	Failed  string `json:"failed,omitempty"`
	Stopped string `json:"stopped,omitempty"`
	Note    string `json:"note,omitempty"`
	Task    string `json:"task,omitempty"`
}

// Kind implements [Payload].
func (*TreatmentEnded) Kind() Kind { return KindTreatmentEnded }

func (p *TreatmentEnded) check(c *checker) {
	c.entry("treatment", p.Treatment)
	c.number("hours", p.Hours, 0, 24*60, "h")
	c.reading("lowest_c", p.LowestC, -2, 45, "°C")
	c.held(p.Held, p.Failed, p.Stopped)
	c.text("note", p.Note, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

// Redose is a further dose into a bath that runs.
type Redose struct {
	Treatment ID `json:"treatment"`
	// WeighedG is what the scale showed; Taken what was measured of a product
	// that is not weighed, in TakenUnit.
	WeighedG  *float64 `json:"weighed_g,omitempty"`
	Taken     *float64 `json:"taken,omitempty"`
	TakenUnit string   `json:"taken_unit,omitempty"`
	Note      string   `json:"note,omitempty"`
	Task      string   `json:"task,omitempty"`
}

// Kind implements [Payload].
func (*Redose) Kind() Kind { return KindRedose }

func (p *Redose) check(c *checker) {
	c.entry("treatment", p.Treatment)
	c.weighed(p.WeighedG, p.Taken, p.TakenUnit)
	if p.WeighedG == nil && p.Taken == nil {
		c.add("weighed_g", "Write what was really weighed or measured.", "a dose of nothing was not given")
	}
	c.text("note", p.Note, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

// entry checks the id of another entry.
func (c *checker) entry(field string, id ID) {
	if !id.Valid() {
		c.add(field, "Open the page again and enter it anew.", "%q is no entry", string(id))
	}
}
