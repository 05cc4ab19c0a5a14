package clearance

// calendar finds the first of some ascending times that is not before a moment.
type calendar struct {
	times []float64
	first []int32 // for each whole day, the first time not before it
}

func newCalendar(times []float64, horizon float64) calendar {
	c := calendar{times: times}
	i := 0
	for day := range int(horizon) + 2 {
		for i < len(times) && times[i] < float64(day) {
			i++
		}
		c.first = append(c.first, int32(i))
	}
	return c
}

// from returns the index of the first time at or after t, 0 ≤ t; the number of
// times if there is none.
func (c *calendar) from(t float64) int {
	if t >= float64(len(c.first)) {
		return len(c.times)
	}
	i := int(c.first[int(t)])
	for i < len(c.times) && c.times[i] < t {
		i++
	}
	return i
}
