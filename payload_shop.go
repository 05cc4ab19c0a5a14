package holdfast

// ShopSet states the shop's own settings from this moment on; the newest one
// holds. Fields left out keep their defaults, see [DefaultSettings].
type ShopSet struct {
	Name     string `json:"name"`
	Zone     string `json:"zone"`
	Currency string `json:"currency"`
	// Line is what the release line is drawn on: "clear", the chance that the
	// lot is clear, or "bag", the bag risk.
	Line string `json:"line"`
	// ClearLine is the least chance of clear (share), BagLine the greatest bag
	// risk (share) of a bag of BagSize animals.
	ClearLine float64 `json:"clear_line"`
	BagLine   float64 `json:"bag_line"`
	BagSize   int     `json:"bag_size"`
	// DaysHere, DaysSinceSign and LookWithinDays are the shop's waiting times;
	// LookSize is the fewest animals of the last clean look.
	DaysHere       int `json:"days_here"`
	DaysSinceSign  int `json:"days_since_sign"`
	LookWithinDays int `json:"look_within_days"`
	LookSize       int `json:"look_size"`
	// WeekDeathShare is the share of the lot that may die in seven days.
	WeekDeathShare float64 `json:"week_death_share"`
	// ScaleG is the smallest step that the shop's scale shows, in grams; 0 until
	// somebody says.
	ScaleG float64 `json:"scale_g,omitempty"`

	// Beliefs are what the shop believes of conditions, folded from entries of
	// their own ([BeliefsSet]); they are no part of this entry.
	Beliefs map[string]BeliefsSet `json:"-"`
	// Costs are what things cost the shop and bring, the newest entry of its own
	// ([CostsSet]); nil until somebody wrote them. They are no part of this entry.
	Costs *CostsSet `json:"-"`
	// Sight is what the shop learned of how well it sees, folded from entries of
	// their own ([SightSet]); it is no part of this entry.
	Sight map[SightKey]SightSet `json:"-"`
}

// Kind implements [Payload].
func (*ShopSet) Kind() Kind { return KindShopSet }

func (p *ShopSet) check(c *checker) {
	c.text("name", p.Name, 1, 80)
	c.text("zone", p.Zone, 1, 60)
	c.money("currency", &Money{Currency: p.Currency})
	c.oneOf("line", p.Line, LineClear, LineBag)
	c.number("clear_line", p.ClearLine, 0.5, 0.9999, "")
	c.number("bag_line", p.BagLine, 0.0001, 0.5, "")
	c.count("bag_size", p.BagSize, 1)
	c.number("days_here", float64(p.DaysHere), 0, 365, "days")
	c.number("days_since_sign", float64(p.DaysSinceSign), 0, 365, "days")
	c.number("look_within_days", float64(p.LookWithinDays), 1, 90, "days")
	c.count("look_size", p.LookSize, 1)
	c.number("week_death_share", p.WeekDeathShare, 0.001, 1, "")
	c.number("scale_g", p.ScaleG, 0, 100, "g")
}

// What the release line may be drawn on.
const (
	LineClear = "clear"
	LineBag   = "bag"
)

// TankSet describes a tank from this moment on: a new one, or a tank whose
// glass, filling or system changed.
type TankSet struct {
	Name string `json:"name"`
	// System names the tanks that share water with this one; a tank on its own
	// water is its own system and leaves this empty.
	System string `json:"system,omitempty"`
	// Place orders the walk through the room, low first.
	Place int `json:"place"`
	// Use is "quarantine", "hospital", "sale" or "other".
	Use string `json:"use"`
	Shape
	// Litres is the water really in the tank, Low and High bound it; the desk
	// computes the three from the shape and freezes them here, because doses
	// given later refer to them.
	Litres float64 `json:"litres"`
	Low    float64 `json:"litres_low"`
	High   float64 `json:"litres_high"`
	// Closed is set when the tank is taken out of use.
	Closed bool `json:"closed,omitempty"`
	// Salt and Timed are how counted litres were found, where it was by salt or
	// by the clock; as the person wrote them down.
	Salt  *SaltFill  `json:"salt_fill,omitempty"`
	Timed *TimedFill `json:"timed_fill,omitempty"`
}

// SaltFill is common salt stirred into a tank and what its conductivity did;
// science/water turns it into litres. Conductivities are µS/cm at 25 °C.
type SaltFill struct {
	SaltG       float64 `json:"salt_g"`
	ECBefore    float64 `json:"ec_before_us_cm"`
	ECAfter     float64 `json:"ec_after_us_cm"`
	JarSaltG    float64 `json:"jar_salt_g,omitempty"`
	JarL        float64 `json:"jar_l,omitempty"`
	JarECAfter  float64 `json:"jar_ec_after_us_cm,omitempty"`
	WeighErrorG float64 `json:"weigh_error_g,omitempty"`
}

// TimedFill is a tank filled at a tap whose flow was timed with a jug.
type TimedFill struct {
	JugL        float64   `json:"jug_l"`
	JugSeconds  []float64 `json:"jug_seconds"`
	FillSeconds float64   `json:"fill_seconds"`
	JugError    float64   `json:"jug_error,omitempty"`
}

// Shape is how a tank was measured, as the person wrote it down; science/water
// says what each field means and turns them into litres. Zero is a field that
// nobody filled in.
type Shape struct {
	Form              string  `json:"shape"`
	LengthCM          float64 `json:"length_cm,omitempty"`
	WidthCM           float64 `json:"width_cm,omitempty"`
	BowCM             float64 `json:"bow_cm,omitempty"`
	ReturnCM          float64 `json:"return_cm,omitempty"`
	DiameterCM        float64 `json:"diameter_cm,omitempty"`
	SideCM            float64 `json:"side_cm,omitempty"`
	HeightCM          float64 `json:"height_cm,omitempty"`
	FillCM            float64 `json:"fill_cm,omitempty"`
	Outside           bool    `json:"outside,omitempty"`
	GlassMM           float64 `json:"glass_mm,omitempty"`
	BaseGlassMM       float64 `json:"base_glass_mm,omitempty"`
	TapeErrorCM       float64 `json:"tape_error_cm,omitempty"`
	KnownFillL        float64 `json:"known_fill_l,omitempty"`
	KnownFillError    float64 `json:"known_fill_error,omitempty"`
	KnownFillBare     bool    `json:"known_fill_bare,omitempty"`
	SubstrateCM       float64 `json:"substrate_cm,omitempty"`
	SubstrateL        float64 `json:"substrate_l,omitempty"`
	SubstratePorosity float64 `json:"substrate_porosity,omitempty"`
	HardscapeL        float64 `json:"hardscape_l,omitempty"`
	HardscapeMeasured bool    `json:"hardscape_measured,omitempty"`
	SumpL             float64 `json:"sump_l,omitempty"`
}

// Kind implements [Payload].
func (*TankSet) Kind() Kind { return KindTankSet }

func (p *TankSet) check(c *checker) {
	c.text("name", p.Name, 1, 40)
	if p.System != "" {
		c.name("system", p.System)
	}
	c.number("place", float64(p.Place), 0, 100000, "")
	c.oneOf("use", p.Use, "quarantine", "hospital", "sale", "other")
	p.Shape.check(c)
	c.number("litres", p.Litres, 0.1, 100000, "l")
	c.number("litres_low", p.Low, 0, p.Litres, "l")
	c.number("litres_high", p.High, p.Litres, 200000, "l")
	if s := p.Salt; s != nil {
		for field, x := range map[string]float64{"salt_g": s.SaltG, "ec_before_us_cm": s.ECBefore, "ec_after_us_cm": s.ECAfter,
			"jar_salt_g": s.JarSaltG, "jar_l": s.JarL, "jar_ec_after_us_cm": s.JarECAfter, "weigh_error_g": s.WeighErrorG} {
			c.number(field, x, 0, 1e6, "")
		}
	}
	if t := p.Timed; t != nil {
		if len(t.JugSeconds) > 50 {
			c.add("jug_seconds", "Give at most 50 times.", "%d times are too many", len(t.JugSeconds))
		}
		for _, x := range append([]float64{t.JugL, t.FillSeconds, t.JugError}, t.JugSeconds...) {
			c.number("timed_fill", x, 0, 1e6, "")
		}
	}
}

func (s Shape) check(c *checker) {
	c.text("shape", s.Form, 1, 20)
	for _, d := range []struct {
		field string
		x     float64
		high  float64
		unit  string
	}{
		{"length_cm", s.LengthCM, 2000, "cm"}, {"width_cm", s.WidthCM, 2000, "cm"},
		{"bow_cm", s.BowCM, 2000, "cm"}, {"return_cm", s.ReturnCM, 2000, "cm"},
		{"diameter_cm", s.DiameterCM, 2000, "cm"}, {"side_cm", s.SideCM, 2000, "cm"},
		{"height_cm", s.HeightCM, 1000, "cm"}, {"fill_cm", s.FillCM, 1000, "cm"},
		{"glass_mm", s.GlassMM, 100, "mm"}, {"base_glass_mm", s.BaseGlassMM, 100, "mm"},
		{"tape_error_cm", s.TapeErrorCM, 50, "cm"}, {"known_fill_l", s.KnownFillL, 100000, "l"},
		{"known_fill_error", s.KnownFillError, 1, ""}, {"substrate_cm", s.SubstrateCM, 1000, "cm"},
		{"substrate_l", s.SubstrateL, 100000, "l"}, {"substrate_porosity", s.SubstratePorosity, 1, ""},
		{"hardscape_l", s.HardscapeL, 100000, "l"}, {"sump_l", s.SumpL, 100000, "l"},
	} {
		c.number(d.field, d.x, 0, d.high, d.unit)
	}
}
