package acclimate

import (
	"fmt"
	"math"

	"holdfast/science/ref"
	"holdfast/science/water"
)

// Arrival is an opened bag and the tank it is for.
type Arrival struct {
	// Bag and Tank are what was measured; what nobody measured is nil.
	Bag  water.Reading `json:"bag"`
	Tank water.Reading `json:"tank"`
	// BagL is the bag water that goes into the vessel with the animals, VesselL
	// what the vessel holds at most.
	BagL    float64       `json:"bag_l"`
	VesselL float64       `json:"vessel_l"`
	Animals water.Animals `json:"animals"`
	Group   string        `json:"group"`
	// StepMinutes is how often the flow is set anew, or a cup poured; 0 takes 20.
	StepMinutes float64 `json:"step_minutes,omitempty"`
	// ShareAnHour overrides the group's limit; 0 takes it.
	ShareAnHour float64 `json:"share_an_hour,omitempty"`
}

// Way is how to bring the animals out.
type Way string

// The ways out of a bag.
const (
	// Straight: float, then net them across.
	Straight Way = "straight"
	// Drip: add the tank's water little by little.
	Drip Way = "drip"
	// Matched: out of the fouled water at once, into clean water made to the
	// bag's temperature and conductivity, and drip from there.
	Matched Way = "matched"
)

// Step is one stretch of the schedule: a steady flow, or a cup at its start.
type Step struct {
	// StartMin is minutes after the drip begins, Minutes how long it lasts.
	StartMin float64 `json:"start_min"`
	Minutes  float64 `json:"minutes"`
	// PourToL says to pour the vessel off to so many litres before this step
	// (through a net, never into a tank); 0 for not.
	PourToL float64 `json:"pour_to_l,omitempty"`
	// AddL runs in over the step: MLPerMin, about DropsPerS; a cup of 100 ml
	// fills in CupSeconds.
	AddL       float64 `json:"add_l"`
	MLPerMin   float64 `json:"ml_per_min"`
	DropsPerS  float64 `json:"drops_per_s"`
	CupSeconds float64 `json:"cup_seconds"`
	// VesselL is in the vessel at the end, TankShare of it the tank's water.
	VesselL   float64 `json:"vessel_l"`
	TankShare float64 `json:"tank_share"`
	// Water is the vessel's at the end, shut off from the air: only what was
	// measured of both waters.
	Water water.Reading `json:"water"`
	// TAN is total ammonia, mg/l as N: what is left of the bag's, what the
	// animals gave off since and, if measured, what the tank brought. nil when
	// nobody measured the bag's.
	TAN *float64 `json:"tan_mg_l_n"`
	// NH3 is un-ionized ammonia at the shut water's pH, NH3Aired when air has
	// driven the carbon dioxide out, NH3TankPH if it stood at the tank's pH; mg/l
	// as N, nil where a reading is missing.
	NH3       *float64 `json:"nh3_mg_l_n"`
	NH3Aired  *float64 `json:"nh3_aired_mg_l_n"`
	NH3TankPH *float64 `json:"nh3_tank_ph_mg_l_n"`
	// O2Still is oxygen without air, nil unless bag and tank were measured;
	// O2Aired is what an air stone keeps at least.
	O2Still *float64 `json:"o2_still_mg_l"`
	O2Aired *float64 `json:"o2_aired_mg_l"`
}

// Plan is the way out and its schedule.
type Plan struct {
	Way Way `json:"way"`
	// Why are the reasons, Missing the readings that would have told more, Care
	// what to watch.
	Why     []string `json:"why"`
	Missing []string `json:"missing,omitempty"`
	Care    []string `json:"care,omitempty"`
	// FloatMinutes in the closed bag first; 0 when a temperature is missing.
	FloatMinutes float64 `json:"float_minutes"`
	// ShareAnHour is the rate that the schedule keeps: that of the slowest of
	// Bounds. Slowest is the property that needs the longest, the float included;
	// empty when nothing needs time.
	ShareAnHour float64  `json:"share_an_hour"`
	Bounds      []Bound  `json:"bounds"`
	Slowest     Property `json:"slowest,omitempty"`
	Steps       []Step   `json:"steps"`
	Minutes     float64  `json:"minutes"`
	// LastShare is the part of the difference that is crossed when they are
	// netted over at the end.
	LastShare float64 `json:"last_share"`
	// Opened is un-ionized ammonia at the bag's pH and when aired; nil without
	// the readings.
	Opened *water.AmmoniaRise `json:"opened"`
	// Match says how to make the matched water, nil when it is not needed or
	// cannot be said.
	Match *Match `json:"match"`
}

// Match is clean water of the bag's conductivity.
type Match struct {
	// TankShare of the tank's water with PureShare of reverse-osmosis water, or
	// tank water with salts that raise its conductivity by RaiseUS.
	TankShare float64 `json:"tank_share"`
	PureShare float64 `json:"pure_share"`
	RaiseUS   float64 `json:"raise_us_cm,omitempty"`
}

// Plan returns the fastest safe way and its schedule.
//
//	share of tank water x grows by rate · time, so the vessel holds V/(1-x)
//	and the flow must grow; the last share, one hour's worth, is crossed when
//	they are netted over
//
// Temperature, pH, conductivity and both hardnesses each bound it, and the
// slowest counts: for conductivity the group's share an hour, or faster when the
// difference is small. The errors are *ref.InputError for a reading (prefix
// bag_ or tank_), bag_l, vessel_l, animals, group, step_minutes or
// share_an_hour.
func (a Arrival) Plan() (Plan, error) {
	limits, err := a.check()
	if err != nil {
		return Plan{}, err
	}
	var p Plan
	why := a.pace(&p, limits)
	a.note(&p, limits)
	if p.Opened, err = a.opened(); err != nil {
		return Plan{}, err
	}
	floated := a // the closed bag has taken the tank's temperature on
	if a.Bag.TempC != nil && a.Tank.TempC != nil {
		p.FloatMinutes = p.Bounds[0].Minutes
		floated.Bag.TempC = a.Tank.TempC
	}
	if err := floated.schedule(&p); err != nil {
		return Plan{}, err
	}
	if err := floated.choose(&p, limits, why); err != nil {
		return Plan{}, err
	}
	p.LastShare = 1
	if n := len(p.Steps); n > 0 {
		p.LastShare = 1 - p.Steps[n-1].TankShare
		p.Minutes = p.Steps[n-1].StartMin + p.Steps[n-1].Minutes
	}
	return p, nil
}

func (a Arrival) check() (Limits, error) {
	for _, side := range []struct {
		prefix string
		water.Reading
	}{{"bag_", a.Bag}, {"tank_", a.Tank}} {
		if errs := side.Check(); len(errs) > 0 {
			return Limits{}, ref.Inputf(side.prefix+errs[0].Field, errs[0].Hint, "%s", errs[0].Message)
		}
	}
	if !(a.BagL >= 0.02 && a.BagL <= 100) {
		return Limits{}, ref.Inputf("bag_l", "Give the litres of bag water that go into the vessel.", "%g l of bag water cannot be", a.BagL)
	}
	if !(a.VesselL <= 1000) || a.VesselL < 1.5*a.BagL {
		return Limits{}, ref.Inputf("vessel_l", fmt.Sprintf("Take one of at least %.1f l.", 2*a.BagL), "a vessel of %g l is too small for %g l of bag water", a.VesselL, a.BagL)
	}
	if a.Animals.Count < 1 || !(a.Animals.MassG >= 0.001 && a.Animals.MassG <= 50) {
		return Limits{}, ref.Inputf("animals", "Give how many, and the grams of one, such as 0.2.", "%d animals of %g g cannot be", a.Animals.Count, a.Animals.MassG)
	}
	if !(a.StepMinutes >= 0 && a.StepMinutes <= 120) || a.StepMinutes > 0 && a.StepMinutes < 1 {
		return Limits{}, ref.Inputf("step_minutes", "Give minutes from 1 to 120.", "steps of %g minutes cannot be", a.StepMinutes)
	}
	if !(a.ShareAnHour >= 0 && a.ShareAnHour <= 1) || a.ShareAnHour > 0 && a.ShareAnHour < 0.02 {
		return Limits{}, ref.Inputf("share_an_hour", "Give a share from 0.02 to 1, such as 0.2.", "%g of the difference an hour cannot be", a.ShareAnHour)
	}
	return LimitsOf(a.Group)
}

// note lists what is missing and what to watch.
func (a Arrival) note(p *Plan, l Limits) {
	for _, r := range []struct {
		v    *float64
		what string
	}{
		{a.Bag.TempC, "temperature of the bag"}, {a.Tank.TempC, "temperature of the tank"},
		{a.Bag.PH, "pH of the bag"}, {a.Tank.PH, "pH of the tank"},
		{a.Bag.ECUS, "conductivity of the bag"}, {a.Tank.ECUS, "conductivity of the tank"},
		{a.Bag.TAN, "ammonia of the bag, read before air is given"},
		{a.Bag.KH, "carbonate hardness of the bag"}, {a.Tank.KH, "carbonate hardness of the tank"},
		{a.Bag.O2, "oxygen of the bag"}, {a.Tank.O2, "oxygen of the tank"},
	} {
		if r.v == nil {
			p.Missing = append(p.Missing, r.what)
		}
	}
	if a.Bag.ECUS != nil && a.Tank.ECUS != nil {
		if hourly := p.ShareAnHour * math.Abs(*a.Bag.ECUS-*a.Tank.ECUS); hourly > l.FreeAnHour.High {
			p.Care = append(p.Care, fmt.Sprintf("%.0f µS/cm an hour is a wide step: watch them, and go slower if they race.", hourly))
		}
	}
	if a.Bag.TempC != nil && a.Tank.TempC != nil && math.Abs(*a.Bag.TempC-*a.Tank.TempC) > 5 {
		p.Care = append(p.Care, "More than 5 C apart: leave the closed bag in its box or wrapped at first, then float it; do not open it warm or cold.")
	}
	p.Care = append(p.Care, "Do not tip bag water into a tank, and never pour it outdoors.")
}

// opened returns what the bag's ammonia does when it is opened, nil when a
// reading is missing.
func (a Arrival) opened() (*water.AmmoniaRise, error) {
	if a.Bag.PH == nil || a.Bag.TempC == nil || a.Bag.TAN == nil {
		return nil, nil
	}
	var alk *float64
	if a.Bag.KH != nil {
		meq := *a.Bag.KH * water.MeqPerDegree
		alk = &meq
	}
	rise, err := water.AmmoniaWhenAired(*a.Bag.PH, *a.Bag.TempC, *a.Bag.TAN, alk)
	return &rise, err
}

// choose picks the way from the plan's own figures.
func (a Arrival) choose(p *Plan, l Limits, why []string) error {
	worst := 0.0
	if p.Opened != nil {
		worst = p.Opened.Now.UnionizedMgLN
	} else {
		p.Why = append(p.Why, "ammonia could not be judged: a reading is missing")
	}
	for _, s := range p.Steps {
		worst = math.Max(worst, s.worstNH3())
	}
	switch {
	case len(p.Steps) == 0:
		p.Way = Straight
		p.Why = append(p.Why, "what was measured differs so little that it is crossed at once")
		p.Why = append(p.Why, why...)
		return nil
	case worst > water.AmmoniaAlarm.Value:
		p.Way = Matched
		p.Why = append(p.Why, fmt.Sprintf("un-ionized ammonia would reach %.3f mg/l in the drip, above %g: out of this water first", worst, water.AmmoniaAlarm.Value))
		p.Match = a.match()
		p.Care = append(p.Care, "Give the bag no air before they are out: its pH rises and the ammonia with it.")
		float := p.Bounds[0]
		why = a.fresh().pace(p, l)
		p.Bounds[0] = float // the closed bag has floated before
		if err := a.fresh().schedule(p); err != nil {
			return err
		}
		for _, s := range p.Steps {
			if s.worstNH3() > water.AmmoniaAlarm.Value {
				p.Care = append(p.Care, fmt.Sprintf("By minute %.0f what they give off themselves passes the alarm: take more matched water, or fewer animals to a vessel.", s.StartMin+s.Minutes))
				break
			}
		}
	default:
		p.Way = Drip
		p.Why = append(p.Why, fmt.Sprintf("%.0f %% of the difference an hour, netted over at the end", 100*p.ShareAnHour))
	}
	p.Why = append(p.Why, why...)
	a.air(p)
	return nil
}

// worstNH3 returns the highest un-ionized ammonia that the readings allow for.
func (s Step) worstNH3() float64 {
	worst := 0.0
	for _, v := range []*float64{s.NH3, s.NH3Aired, s.NH3TankPH} {
		if v != nil {
			worst = math.Max(worst, *v)
		}
	}
	return worst
}

// fresh is the arrival after the move into matched water: the bag's
// temperature and conductivity, no ammonia, and nothing else known.
func (a Arrival) fresh() Arrival {
	none := 0.0
	a.Bag = water.Reading{TempC: a.Bag.TempC, ECUS: a.Bag.ECUS, TAN: &none}
	return a
}

// air says whether an air stone is needed, and whether one is enough.
func (a Arrival) air(p *Plan) {
	for _, s := range p.Steps {
		if s.O2Aired != nil && *s.O2Aired < water.OxygenEnough.Value {
			p.Care = append(p.Care, fmt.Sprintf("So many in so little water may breathe faster than one weak air stone brings (down to %.1f mg/l): fewer to a vessel, more water to begin with, or two stones.", *s.O2Aired))
			break
		}
	}
	for _, s := range p.Steps {
		if s.O2Still == nil {
			p.Care = append(p.Care, "Oxygen without air is not known: put an air stone in, gently.")
			return
		}
		if *s.O2Still < water.OxygenEnough.Value {
			p.Care = append(p.Care, fmt.Sprintf("Without air oxygen falls to %.1f mg/l at minute %.0f: air stone in before.", *s.O2Still, s.StartMin+s.Minutes))
			return
		}
	}
}

// match returns how to make water of the bag's conductivity.
func (a Arrival) match() *Match {
	if a.Bag.ECUS == nil || a.Tank.ECUS == nil || *a.Tank.ECUS == 0 {
		return nil
	}
	bag, tank := *a.Bag.ECUS, *a.Tank.ECUS
	if bag > tank {
		return &Match{TankShare: 1, RaiseUS: bag - tank}
	}
	return &Match{TankShare: bag / tank, PureShare: 1 - bag/tank}
}
