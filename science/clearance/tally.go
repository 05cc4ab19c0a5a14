package clearance

// tally counts everything alive at given times, wherever it is; only the checks
// of expected counts use it. A nil tally counts nothing.
type tally struct {
	times                                      []float64
	juveniles, adults, eggs, larvae, displaced []int
}

func (c *tally) worm(a, b, mature float64, off bool) {
	if c == nil {
		return
	}
	for i, t := range c.times {
		switch {
		case t < a || t >= b:
		case off:
			c.displaced[i]++
		case t < mature:
			c.juveniles[i]++
		default:
			c.adults[i]++
		}
	}
}

func (c *tally) egg(a, b float64) {
	if c == nil {
		return
	}
	for i, t := range c.times {
		if a <= t && t < b {
			c.eggs[i]++
		}
	}
}

func (c *tally) larva(a, b float64) {
	if c == nil {
		return
	}
	for i, t := range c.times {
		if a <= t && t < b {
			c.larvae[i]++
		}
	}
}
