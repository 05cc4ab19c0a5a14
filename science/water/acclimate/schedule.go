package acclimate

import (
	"math"

	"holdfast/science/ref"
	"holdfast/science/water"
)

const mlPerL = 1000

// vessel is what is being filled.
type vessel struct {
	litres float64
	share  float64 // of the tank's water
	tanMg  float64
	o2     float64
}

// schedule fills p.Steps until what is left is one hour's share.
func (a Arrival) schedule(p *Plan) error {
	minutes := a.StepMinutes
	if minutes == 0 {
		minutes = 20
	}
	p.Steps = nil
	v := vessel{litres: a.BagL}
	if a.Bag.TAN != nil {
		v.tanMg = *a.Bag.TAN * a.BagL
	}
	if a.Bag.O2 != nil {
		v.o2 = *a.Bag.O2
	}
	grow := p.ShareAnHour * minutes / 60
	const almost = 1e-9
	for at := 0.0; v.share < 1-p.ShareAnHour-almost; at += minutes {
		next := math.Min(v.share+grow, 1-p.ShareAnHour)
		step := Step{StartMin: at, Minutes: minutes * (next - v.share) / grow, TankShare: next}
		need := func(litres float64) float64 { return litres * (next - v.share) / (1 - next) }
		if v.litres+need(v.litres) > a.VesselL {
			v.pour(a.BagL)
			step.PourToL = a.BagL
			if v.litres+need(v.litres) > a.VesselL {
				return ref.Inputf("vessel_l", "Take a larger vessel or shorter steps.", "even poured off, one step needs %.1f l", v.litres+need(v.litres))
			}
		}
		step.AddL = need(v.litres)
		step.MLPerMin = mlPerL * step.AddL / step.Minutes
		step.DropsPerS = step.MLPerMin / 60 / DropML.Value
		step.CupSeconds = 60 * 100 / step.MLPerMin
		if err := a.fill(&v, &step); err != nil {
			return err
		}
		p.Steps = append(p.Steps, step)
	}
	return nil
}

func (v *vessel) pour(to float64) {
	v.tanMg *= to / v.litres
	v.litres = to
}

// fill lets one step run and writes down what the vessel holds after it.
func (a Arrival) fill(v *vessel, s *Step) error {
	before := *v
	v.litres += s.AddL
	v.share = s.TankShare
	s.VesselL = v.litres
	mixed, err := water.Mix(
		water.Portion{Litres: 1 - s.TankShare, Reading: a.Bag},
		water.Portion{Litres: s.TankShare, Reading: a.Tank},
	)
	if err != nil {
		return err
	}
	s.Water = mixed
	temp := mixed.TempC
	if err := a.ammonia(v, s, temp); err != nil {
		return err
	}
	return a.oxygen(before, v, s, temp)
}

// ammonia keeps the total: left of the bag's, given off, brought by the tank.
func (a Arrival) ammonia(v *vessel, s *Step, temp *float64) error {
	if a.Bag.TAN == nil {
		return nil
	}
	if a.Tank.TAN != nil {
		v.tanMg += *a.Tank.TAN * s.AddL
	}
	if temp != nil {
		out, err := water.AmmoniaOutput(a.Animals, *temp)
		if err != nil {
			return err
		}
		v.tanMg += out.Value * s.Minutes / 60
	}
	tan := v.tanMg / v.litres
	s.TAN = &tan
	if temp == nil {
		return nil
	}
	at := func(ph *float64) (*float64, error) {
		if ph == nil {
			return nil, nil
		}
		n, err := water.AmmoniaAt(*ph, *temp, tan, 0)
		return &n.UnionizedMgLN, err
	}
	var err error
	if s.NH3, err = at(s.Water.PH); err != nil {
		return err
	}
	if s.NH3TankPH, err = at(a.Tank.PH); err != nil {
		return err
	}
	if s.Water.KH != nil {
		aired, err := water.AiredPH(*s.Water.KH*water.MeqPerDegree, *temp)
		if err != nil {
			return err
		}
		s.NH3Aired, err = at(&aired)
		return err
	}
	return nil
}

// oxygen follows the vessel over one step in small pieces: what the animals
// take, what the tank's water brings, nothing through the surface.
func (a Arrival) oxygen(before vessel, v *vessel, s *Step, temp *float64) error {
	if temp == nil {
		return nil
	}
	use, err := water.OxygenUse(a.Animals, *temp)
	if err != nil {
		return err
	}
	full, err := water.OxygenSaturation(*temp, 101.325, 0)
	if err != nil {
		return err
	}
	// An air stone at its weakest, in the least water of the step, with the
	// animals at their hungriest.
	aired := math.Max(0, full-use.High/(AirRate.Low*before.litres))
	s.O2Aired = &aired
	if a.Bag.O2 == nil || a.Tank.O2 == nil {
		return nil
	}
	const pieces = 200
	dt, flow := s.Minutes/60/pieces, s.AddL/pieces
	litres, o2 := before.litres, before.o2
	for range pieces {
		o2 = (o2*litres + *a.Tank.O2*flow - use.Value*dt) / (litres + flow)
		o2 = math.Max(o2, 0)
		litres += flow
	}
	v.o2 = o2
	s.O2Still = &o2
	return nil
}
