package clearance

import "slices"

// MoultedBy returns the number of days after which the given share of the animals
// will have moulted at least once, counted from any day, at tempC: the quantile of
// the wait to the next moult over animals and over what the condition believes of
// moulting. share is between 0 and 1; the days are right to about 1 in 100.
func MoultedBy(c *Condition, tempC, share float64) float64 {
	const animals = 20000
	waits := make([]float64, animals)
	t := trial{places: 1, horizon: 1, asked: newCalendar(nil, 1), looks: newCalendar(nil, 1), schedules: []schedule{newSchedule(Tank{VolumeL: 1, Temp: []TempFrom{{0, tempC}}}, 0, nil, nil, nil, 1)}}
	r := t.newRun()
	var v Values
	for i := range waits {
		k := runKey(1, i)
		c.draw(k, &v, nil, nil)
		r.begin(k, &v, nil, nil, nil)
		waits[i] = r.firstMoult(r.host(0)) * r.moultScale / r.tanks[0].spans[0].qm
	}
	slices.Sort(waits)
	return waits[min(int(share*animals), animals-1)]
}
