package clearance

import (
	"context"

	"holdfast/science/ref"
)

// Prices are what the ways out of a bad lot bring or cost, in the same minor units
// as Costs.
type Prices struct {
	// Sale and Disclosed are what one animal brings as a clear one, and with the
	// finding disclosed.
	Sale      float64 `json:"sale"`
	Disclosed float64 `json:"disclosed"`
	// Claim is what a claim on, or a return to, the supplier brings in all.
	Claim float64 `json:"claim"`
	// KeepDay is what a day of the lot as a colony costs, over KeepDays days.
	KeepDay  float64 `json:"keep_day"`
	KeepDays float64 `json:"keep_days"`
	// PutDown is what putting down one animal costs.
	PutDown float64 `json:"put_down"`
}

func (p *Prices) check() error {
	if p == nil {
		return nil
	}
	for name, x := range map[string]float64{"sale": p.Sale, "disclosed": p.Disclosed, "claim": p.Claim, "keep_day": p.KeepDay, "keep_days": p.KeepDays, "put_down": p.PutDown} {
		if !(x >= 0 && x <= 1e12) {
			return ref.Inputf("prices", "Give amounts in minor units, not below 0.", "%s is %g", name, x)
		}
	}
	return nil
}

// WayOut is one thing that can be done with the lot.
type WayOut struct {
	// Way is "release now", "treat on", "claim", "disclosed", "colony" or "put down".
	Way string  `json:"way"`
	Day float64 `json:"day"`
	// Money is what it brings, less what it costs from today on.
	Money float64 `json:"money"`
	// Clear is the chance of clear of what is sold; 0 where nothing is sold as clear.
	Clear float64 `json:"clear"`
	// Bags is how many bags are sold, Harmed how many of them are expected to carry
	// the parasite to a buyer who does not know, Knowing to one who does.
	Bags    float64 `json:"bags"`
	Harmed  float64 `json:"harmed"`
	Knowing float64 `json:"knowing"`
}

// addWaysOut puts the ways out beside the best course.
func (ans *Answer) addWaysOut(ctx context.Context, s *Standing, q *Question) error {
	if q.Prices == nil {
		return nil
	}
	p, c := q.Prices, s.c
	now, err := s.try(ctx, future{days: []float64{c.Today}})
	if err != nil {
		return err
	}
	v, alive := now.on(0, nil), now.alive(0)
	bags := alive / float64(c.Bag)
	ans.WaysOut = []WayOut{{Way: "release now", Day: c.Today, Clear: v.clear.Value, Bags: bags, Harmed: bags * v.bag.Value,
		Money: alive*p.Sale - (1-v.clear.Value)*q.Costs.Loss}}
	if d := ans.Cheapest.Cheapest; d != nil {
		ans.WaysOut = append(ans.WaysOut, WayOut{Way: "treat on", Day: d.Day, Clear: d.Clear.Value, Bags: bags,
			Harmed: bags * d.BagRisk.Value, Money: alive*p.Sale - d.Cost})
	}
	ans.WaysOut = append(ans.WaysOut,
		WayOut{Way: "claim", Day: c.Today, Money: p.Claim},
		WayOut{Way: "disclosed", Day: c.Today, Money: alive * p.Disclosed, Bags: bags, Knowing: bags * v.bag.Value},
		WayOut{Way: "colony", Day: c.Today, Money: -p.KeepDay * p.KeepDays},
		WayOut{Way: "put down", Day: c.Today, Money: -p.PutDown * alive})
	return nil
}
