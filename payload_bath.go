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
	// Disposal is where the treated water went; it replaces that of the treatment.
	Disposal string `json:"disposal,omitempty"`
}

// Kind implements [Payload].
func (*TreatmentEnded) Kind() Kind { return KindTreatmentEnded }

func (p *TreatmentEnded) check(c *checker) {
	c.entry("treatment", p.Treatment)
	c.number("hours", p.Hours, 0, 24*60, "h")
	c.reading("lowest_c", p.LowestC, -2, 45, "°C")
	c.held(p.Held, p.Failed, p.Stopped)
	c.text("disposal", p.Disposal, 0, 500)
	c.text("note", p.Note, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

// BathPlan is what was planned for a bath over days when it began: the desk asks
// for each part on its day.
type BathPlan struct {
	// Steps are the water changes and further doses until the bath is full, in
	// order.
	Steps []BathStep `json:"steps,omitempty"`
	// HalfLifeD is the time in days in which half of what is in the water was
	// taken to be lost, by decay and uptake together; 0 for no loss.
	HalfLifeD float64 `json:"half_life_d,omitempty"`
	// MeasureStep is the smallest step of scale or syringe, in the unit of the
	// first dose.
	MeasureStep float64 `json:"measure_step,omitempty"`
	// ResidueMgL is what may stay in the water when the bath is over, brought
	// about by changing EndShare of the water at a time; both 0 for no change.
	ResidueMgL float64 `json:"residue_mg_l,omitempty"`
	EndShare   float64 `json:"end_share,omitempty"`
}

// BathStep is one part of a [BathPlan].
type BathStep struct {
	// Hours is when, after the bath began.
	Hours float64 `json:"hours"`
	// ChangeShare of the water is replaced, 0 for none.
	ChangeShare float64 `json:"change_share,omitempty"`
	// Dose says that it is dosed up to the target then, after the change if there
	// is one; Amount is how much was planned, in the unit of the first dose.
	Dose   bool    `json:"dose,omitempty"`
	Amount float64 `json:"amount,omitempty"`
}

// mostSteps bounds a plan: a bath of sixty days, four times a day.
const mostSteps = 240

func (p *BathPlan) check(c *checker) {
	if p == nil {
		return
	}
	if len(p.Steps) > mostSteps {
		c.add("plan", "Plan fewer doses.", "%d steps are too many", len(p.Steps))
		return
	}
	for _, s := range p.Steps {
		c.number("plan", s.Hours, 0, 24*60, "h")
		c.number("plan", s.ChangeShare, 0, 1, "")
		c.number("plan", s.Amount, 0, 100000, "")
	}
	c.number("plan", p.HalfLifeD, 0, 36500, "d")
	c.number("plan", p.MeasureStep, 0, 1000, "")
	c.number("plan", p.ResidueMgL, 0, 400000, "mg/l")
	c.number("plan", p.EndShare, 0, 1, "")
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
