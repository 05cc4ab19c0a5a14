package holdfast

// Whether the conditions of a treatment held.
const (
	HeldFull    = "full"
	HeldPartial = "partial"
	HeldVoid    = "void"
)

// Treatment is one bath or dip as it was really given.
type Treatment struct {
	// Form is "bath" or "dip".
	Form string `json:"form"`
	// Active is the active ingredient in generic words, such as "praziquantel".
	Active string `json:"active"`
	Batch  string `json:"batch,omitempty"`
	// TargetMgL is the strength in the water, in mg/l of active ingredient.
	TargetMgL float64 `json:"target_mg_l"`
	// StrengthShare is the share of active ingredient in the product: by weight
	// of a powder, grams to a millilitre of a liquid; 0 for tablets and doses.
	StrengthShare float64 `json:"strength_share"`
	// Strength is what the label says, as it was written.
	Strength string `json:"strength,omitempty"`
	// WeighedG is what the scale showed; nil when nothing was weighed.
	WeighedG *float64 `json:"weighed_g,omitempty"`
	// Taken is what was measured of a product that is not weighed, in TakenUnit:
	// "ml", "tablet" or "dose".
	Taken     *float64 `json:"taken,omitempty"`
	TakenUnit string   `json:"taken_unit,omitempty"`
	VolumeL   float64  `json:"volume_l"`
	Hours     float64  `json:"hours"`
	TempC     *float64 `json:"temp_c,omitempty"`
	// Count is how many animals were in it; 0 means the whole lot.
	Count int `json:"count"`
	// With says who and what else was in the water, in the words of
	// science/water/dose: "berried", "snail" and so on.
	With []string `json:"with,omitempty"`
	// Trial says that it was the trial on a few animals.
	Trial bool `json:"trial,omitempty"`
	// Held says whether its conditions held: "full", "partial" or "void". A
	// partial one counts less in the evidence, a void one not at all.
	Held string `json:"held"`
	// Failed names what did not hold, such as "carbon left in".
	Failed string `json:"failed,omitempty"`
	// Running says that it was written when it began: how it went is told by a
	// [TreatmentEnded]. Until then it counts in part.
	Running bool `json:"running,omitempty"`
	// Plan is what is to happen while it runs and at its end; nil for none.
	Plan *BathPlan `json:"plan,omitempty"`
	// Stopped is the stop sign that ended it early, if one did.
	Stopped string `json:"stopped,omitempty"`
	// Against names the rules that it was given against, and Reason says why.
	Against []string `json:"against,omitempty"`
	Reason  string   `json:"reason,omitempty"`
	Note    string   `json:"note,omitempty"`
	Task    string   `json:"task,omitempty"`
	// Prescription is its number and who wrote it, Disposal where the treated
	// water and what was left of the medicine went.
	Prescription string `json:"prescription,omitempty"`
	Disposal     string `json:"disposal,omitempty"`
}

// Kind implements [Payload].
func (*Treatment) Kind() Kind { return KindTreatment }

func (p *Treatment) check(c *checker) {
	c.oneOf("form", p.Form, "bath", "dip")
	c.text("active", p.Active, 1, 80)
	c.text("batch", p.Batch, 0, 80)
	c.number("target_mg_l", p.TargetMgL, 0, 400000, "mg/l")
	if counted := p.TakenUnit == "tablet" || p.TakenUnit == "dose"; !counted || p.StrengthShare != 0 {
		c.number("strength_share", p.StrengthShare, 0.0001, 1.5, "")
	}
	c.text("strength", p.Strength, 0, 80)
	c.weighed(p.WeighedG, p.Taken, p.TakenUnit)
	c.number("volume_l", p.VolumeL, 0.01, 100000, "l")
	c.number("hours", p.Hours, 0, 24*60, "h")
	c.reading("temp_c", p.TempC, -2, 45, "°C")
	c.count("count", p.Count, 0)
	c.held(p.Held, p.Failed, p.Stopped)
	p.Plan.check(c)
	for _, a := range append(p.With[:len(p.With):len(p.With)], p.Against...) {
		c.text("against", a, 1, 80)
	}
	if len(p.Against) > 50 || len(p.With) > 50 {
		c.add("against", "Name at most 50 rules.", "%d rules are too many", len(p.Against))
	}
	if len(p.Against) > 0 && p.Reason == "" {
		c.add("reason", "Say why it was given all the same.", "a treatment against a rule says why")
	}
	c.text("reason", p.Reason, 0, 2000)
	c.text("prescription", p.Prescription, 0, 200)
	c.text("disposal", p.Disposal, 0, 500)
	c.text("note", p.Note, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

// held checks how the conditions of a treatment held.
func (c *checker) held(held, failed, stopped string) {
	c.oneOf("held", held, HeldFull, HeldPartial, HeldVoid)
	if held != HeldFull && failed == "" {
		c.add("failed", "Say which condition did not hold.", "a treatment that did not hold says why")
	}
	c.text("failed", failed, 0, 500)
	c.text("stopped", stopped, 0, 80)
}

// weighed checks what the scale showed, or what was measured in unit.
func (c *checker) weighed(grams, taken *float64, unit string) {
	c.reading("weighed_g", grams, 0, 100000, "g")
	c.reading("taken", taken, 0, 100000, unit)
	c.oneOf("taken_unit", unit, "", "ml", "tablet", "dose")
}

// MoultPull is cast skins taken out of the tank.
type MoultPull struct {
	// Count is how many skins were taken; nil when nobody counted.
	Count *int   `json:"count,omitempty"`
	Note  string `json:"note,omitempty"`
	Task  string `json:"task,omitempty"`
}

// Kind implements [Payload].
func (*MoultPull) Kind() Kind { return KindMoultPull }

func (p *MoultPull) check(c *checker) {
	if p.Count != nil {
		c.count("count", *p.Count, 0)
	}
	c.text("note", p.Note, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

// WaterChange is water taken out and replaced.
type WaterChange struct {
	Litres float64 `json:"litres"`
	Note   string  `json:"note,omitempty"`
	Task   string  `json:"task,omitempty"`
}

// Kind implements [Payload].
func (*WaterChange) Kind() Kind { return KindWaterChange }

func (p *WaterChange) check(c *checker) {
	c.number("litres", p.Litres, 0.01, 100000, "l")
	c.text("note", p.Note, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

// TopUp replaces what evaporated.
type TopUp struct {
	Litres float64 `json:"litres"`
	Note   string  `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*TopUp) Kind() Kind { return KindTopUp }

func (p *TopUp) check(c *checker) {
	c.number("litres", p.Litres, 0.01, 100000, "l")
	c.text("note", p.Note, 0, 2000)
}

// WaterMeasured is a set of readings of a tank's water.
type WaterMeasured struct {
	Water
	Note string `json:"note,omitempty"`
	Task string `json:"task,omitempty"`
}

// Kind implements [Payload].
func (*WaterMeasured) Kind() Kind { return KindWaterMeasured }

func (p *WaterMeasured) check(c *checker) {
	if p.Empty() {
		c.add("temp_c", "Write at least one reading.", "nothing was measured")
	}
	p.Water.check(c, "")
	c.text("note", p.Note, 0, 2000)
	c.text("task", p.Task, 0, 200)
}

// Alarm is a failure of what keeps a tank alive, or its end.
type Alarm struct {
	// What is "air", "heater", "power" or "other".
	What string `json:"what"`
	Over bool   `json:"over,omitempty"`
	Note string `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*Alarm) Kind() Kind { return KindAlarm }

func (p *Alarm) check(c *checker) {
	c.oneOf("what", p.What, "air", "heater", "power", "other")
	c.text("note", p.Note, 0, 2000)
}

// TaskTicked says that a task of the round that leaves no other entry is done.
type TaskTicked struct {
	Task string `json:"task"`
	Note string `json:"note,omitempty"`
}

// Kind implements [Payload].
func (*TaskTicked) Kind() Kind { return KindTaskTicked }

func (p *TaskTicked) check(c *checker) {
	c.text("task", p.Task, 1, 200)
	c.text("note", p.Note, 0, 2000)
}

// TaskSkipped says that a task was left out on purpose.
type TaskSkipped struct {
	Task   string `json:"task"`
	Reason string `json:"reason"`
}

// Kind implements [Payload].
func (*TaskSkipped) Kind() Kind { return KindTaskSkipped }

func (p *TaskSkipped) check(c *checker) {
	c.text("task", p.Task, 1, 200)
	c.text("reason", p.Reason, 1, 500)
}
