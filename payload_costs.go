package holdfast

// CostsSet states what things cost the shop and bring from this moment on, all
// amounts in minor units of Currency. Planning a course reckons with the newest one
// whole.
type CostsSet struct {
	Currency string `json:"currency"`
	// TankDay is a day of a tank with its feed and room, Pull one pull of skins, Dose
	// one dose with its water and work, Look looking at one animal, Animal one that
	// dies, and Loss releasing a lot that is not clear.
	TankDay int64 `json:"tank_day"`
	Pull    int64 `json:"pull"`
	Dose    int64 `json:"dose"`
	Look    int64 `json:"look"`
	Animal  int64 `json:"animal"`
	Loss    int64 `json:"loss"`
	// Sale is what one animal brings, Disclosed one that is sold with what was found,
	// Claim what a claim or return brings in all.
	Sale      int64 `json:"sale"`
	Disclosed int64 `json:"disclosed"`
	Claim     int64 `json:"claim"`
	// KeepDay is a day of a lot kept as a colony for KeepDays days, PutDown putting
	// down one animal.
	KeepDay  int64   `json:"keep_day"`
	KeepDays float64 `json:"keep_days"`
	PutDown  int64   `json:"put_down"`
	// Horizon is how many days ahead a release is considered, LookAnimals how many
	// animals each planned look takes.
	Horizon     float64 `json:"horizon"`
	LookAnimals int     `json:"look_animals"`
}

// Kind implements [Payload].
func (*CostsSet) Kind() Kind { return KindCostsSet }

func (p *CostsSet) check(c *checker) {
	for field, minor := range map[string]int64{"tank_day": p.TankDay, "pull": p.Pull, "dose": p.Dose, "look": p.Look, "animal": p.Animal, "loss": p.Loss,
		"sale": p.Sale, "disclosed": p.Disclosed, "claim": p.Claim, "keep_day": p.KeepDay, "put_down": p.PutDown} {
		c.number(field, float64(minor), 0, 1e12, "")
	}
	c.money("currency", &Money{Currency: p.Currency})
	c.number("keep_days", p.KeepDays, 0, 3650, "days")
	c.number("horizon", p.Horizon, 28, 365, "days")
	c.count("look_animals", p.LookAnimals, 1)
}
