package clearance

import (
	"context"
	"math"
	"slices"
)

// Sight is what a look at the lot today could show: for a quick answer to how
// much a look of some size would prove, without following lots anew.
type Sight struct {
	// Alive is the number of animals in the lot's tank.
	Alive int `json:"alive"`
	// Carriers holds the chance that so many of them carry anything, from 0 on;
	// it sums to 1.
	Carriers []float64 `json:"carriers"`
	// Clear is the chance of clear, which also asks that nothing lives on shed
	// skins, in the water or in another tank: at most Carriers[0].
	Clear float64 `json:"clear"`
	// Seen are evenly spaced quantiles, over what is believed, of the share of
	// carriers that show signs in a good look: one at (i+1/2)/len each. Carriers
	// of young worms or of a few eggs only are among those that do not. It is
	// empty when no lot has carriers.
	Seen []float64 `json:"seen"`
}

// Sight returns what a look today could show, with so many quantiles.
func (s *Standing) Sight(ctx context.Context, quantiles int) (Sight, error) {
	p, err := s.try(ctx, future{days: []float64{s.c.Today}, looks: []Look{{Day: s.c.Today, Animals: 1}}})
	if err != nil {
		return Sight{}, err
	}
	out := Sight{Carriers: []float64{1 - s.infested}, Clear: p.on(0, nil).clear.Value}
	each := s.infested / float64(p.n)
	var seen []float64
	for i := range p.n {
		d, alive := int(p.infested[i*p.days]), int(p.sample.alive[i*p.days])
		out.Alive = max(out.Alive, alive)
		for len(out.Carriers) <= d {
			out.Carriers = append(out.Carriers, 0)
		}
		out.Carriers[d] += each
		if d == 0 {
			continue
		}
		v := &p.truth[i]
		falsely := 1 - (1-v[FPAdult])*(1-v[FPEgg])
		signs := 1 - math.Exp(p.like[i*p.looks+p.first])
		seen = append(seen, max(0, min(1, (signs*float64(alive)-falsely*float64(alive-d))/float64(d))))
	}
	slices.Sort(seen)
	for i := range quantiles {
		if len(seen) > 0 {
			out.Seen = append(out.Seen, seen[int((float64(i)+.5)/float64(quantiles)*float64(len(seen)))])
		}
	}
	return out, nil
}
