package clearance

import "math"

// span is a stretch with the values of one run filled in.
type span struct {
	end  float64 // infinite for the last
	qw   float64 // speed of the worm's clocks
	qm   float64 // speed of moulting
	h    float64 // hazard of baths to adult worms, 1/d
	jolt float64 // hazard of a dip at the start, for worms on animals
}

// water is one tank in one run.
type water struct {
	*schedule
	spans []span
	slow  float64 // 1/qw of the first span
	rate  float64 // contacts with any one place for an animal, 1/d, times places
}

// fill works out a tank's spans for one run's values. kill holds, for each
// treatment, the share of adult worms that one dose kills.
func (w *water) fill(s *schedule, v *Values, kill []float64, slots int) {
	w.schedule = s
	w.spans = w.spans[:0]
	for i, st := range s.stretches {
		sp := span{end: math.Inf(1)}
		if i+1 < len(s.stretches) {
			sp.end = s.stretches[i+1].from
		}
		if i > 0 && s.tempOf[i] == s.tempOf[i-1] {
			sp.qw, sp.qm = w.spans[i-1].qw, w.spans[i-1].qm
		} else {
			x := (st.tempC - 24) / 10
			sp.qw, sp.qm = math.Pow(v[WormQ10], x), math.Pow(v[MoultQ10], x)
		}
		for _, b := range st.baths {
			sp.h += hazard(kill[b.treatment]) * b.weight
		}
		for _, d := range st.dips {
			sp.jolt += hazard(kill[d.treatment]) * d.weight
		}
		w.spans = append(w.spans, sp)
	}
	w.slow = 1 / w.spans[0].qw
	w.rate = v[Beta] * float64(slots) / s.volumeL
}

// hazard returns the total hazard that kills the given share of adult worms. A
// share of 1 would be an infinite hazard; a million millionth is left.
func hazard(kill float64) float64 { return -math.Log1p(-min(kill, 1-1e-12)) }

// in returns the index of the span that holds t.
func (w *water) in(t float64) int {
	i := int(w.starts[int(t)])
	for t >= w.spans[i].end {
		i++
	}
	return i
}

// wormTime returns when d days of the worm's clock at 24 °C have passed after t.
func (w *water) wormTime(t, d float64) float64 {
	if w.steady {
		return t + d*w.slow
	}
	if t >= float64(len(w.starts)-1) {
		return t + d/w.spans[len(w.spans)-1].qw
	}
	for i := w.in(t); ; i++ {
		s := &w.spans[i]
		if need := d / s.qw; t+need <= s.end {
			return t + need
		}
		d -= (s.end - t) * s.qw
		t = s.end
	}
}

// aged returns how many days of the worm's clock at 24 °C pass from a to b.
func (w *water) aged(a, b float64) float64 {
	if w.steady {
		return (b - a) * w.spans[0].qw
	}
	d := 0.0
	for i := w.in(a); a < b; i++ {
		stop := min(b, w.spans[i].end)
		d += (stop - a) * w.spans[i].qw
		a = stop
	}
	return d
}

// moultTime is wormTime for the host's clock, from t to at most until; it
// returns what is left of d when until comes first.
func (w *water) moultTime(t, d, until float64) (when, left float64) {
	for i := w.in(t); ; i++ {
		s := &w.spans[i]
		stop := min(s.end, until)
		if need := d / s.qm; t+need <= stop {
			return t + need, 0
		}
		d -= (stop - t) * s.qm
		if t = stop; t >= until {
			return until, d
		}
	}
}

// wear spends resistance e from t to until at a hazard of mu (on the worm's
// clock) plus kill times the hazard of the treatments. It returns the moment of
// death, or until and what is left of e. onHost says whether dips reach it.
func (w *water) wear(e, t, until, mu, kill float64, onHost bool) (end, left float64) {
	for i := w.in(t); ; {
		s := &w.spans[i]
		stop := min(s.end, until)
		rate := mu*s.qw + kill*s.h
		used := rate * (stop - t)
		if used >= e {
			return t + e/rate, 0
		}
		e -= used
		if t = stop; t >= until {
			return until, e
		}
		i++
		if onHost && w.anyDip {
			if e -= kill * w.spans[i].jolt; e <= 0 {
				return t, 0
			}
		}
	}
}
