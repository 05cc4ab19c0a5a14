package clearance

import (
	"cmp"
	"math"
	"slices"
)

// TempFrom is a temperature that holds from a day on.
type TempFrom struct {
	Day   float64 `json:"day"`
	TempC float64 `json:"temp_c"`
}

// Tank is a body of water with animals in it. Tank 0 of a case is the lot's;
// any other is a hospital.
type Tank struct {
	// VolumeL is the water the animals share, in litres, above 0.
	VolumeL float64 `json:"volume_l"`
	// Temp is in order of day; the first entry also holds before its day. Empty
	// means 24 °C.
	Temp []TempFrom `json:"temp,omitempty"`
}

// Dose is one bath or dip of a treatment.
type Dose struct {
	// Treatment is an id of the condition's treatments.
	Treatment string `json:"treatment"`
	// Day is when it starts.
	Day float64 `json:"day"`
	// Days is how long a bath lasts; 0 makes it a dip.
	Days float64 `json:"days,omitempty"`
	// Lost is the share of the dose's strength that did not count because its
	// conditions failed: 0 held in full, 1 void. It scales the hazard.
	Lost float64 `json:"lost,omitempty"`
	// Tank is where it was done.
	Tank int `json:"tank,omitempty"`
}

// Pulls is a stretch of days on which shed skins are pulled.
type Pulls struct {
	// From and To bound the times of pulls, in days.
	From float64 `json:"from"`
	To   float64 `json:"to"`
	// PerDay is 0 to 4 pulls on each day.
	PerDay int `json:"per_day"`
	// Missed lists days without any pull.
	Missed []int `json:"missed,omitempty"`
	// Done says that these days are past and recorded: no further day is missed
	// by chance.
	Done bool `json:"done,omitempty"`
	Tank int  `json:"tank,omitempty"`
}

// Exit takes animals out of a tank, chosen without regard to what they carry:
// dead (the body lies there like a shed skin until it is pulled), or sold or
// removed with everything on them.
type Exit struct {
	Day     float64 `json:"day"`
	Animals int     `json:"animals"`
	// Dead: the body stayed in the tank.
	Dead bool `json:"dead,omitempty"`
	Tank int  `json:"tank,omitempty"`
}

// Move carries animals with all that is on them to another tank. What is on
// skins and in the water stays behind.
type Move struct {
	Day     float64 `json:"day"`
	Animals int     `json:"animals"`
	From    int     `json:"from"`
	To      int     `json:"to"`
}

// pullAt are the times of day of the first, second, third and fourth pull.
var pullAt = [4]float64{.375, .75, .5625, .9375}

// inDay lists, for F pulls a day, their slots in order of time.
var inDay = [5][]int{nil, {0}, {0, 1}, {0, 2, 1}, {0, 2, 1, 3}}

// tick parts events that are recorded for the same moment: a look comes before
// the removal of what it found, a removal before a move, and the day's figures
// after all of them.
const (
	tick    = 1e-9
	evening = 3 * tick
)

// pullDay is what is done about skins on one day of one tank.
type pullDay struct {
	slots []int
	sure  bool // no chance of a missed day
}

// part is a share of a treatment's hazard in one stretch.
type part struct {
	treatment int
	weight    float64
}

// stretch is a length of time in one tank in which everything is constant.
type stretch struct {
	from  float64
	tempC float64
	baths []part // weight is per day
	dips  []part // at the start of the stretch
}

// schedule is one tank's time table, the same for all runs.
type schedule struct {
	volumeL   float64
	stretches []stretch
	starts    []int32 // the stretch in which each whole day begins
	temps     []float64
	tempOf    []int
	steady    bool // one temperature throughout
	pulls     []pullDay
	lastPull  int // the last day with a pull, or -1
	anyDip    bool
}

func newSchedule(t Tank, index int, doses []Dose, pulls []Pulls, treatment map[string]int, horizon float64) schedule {
	s := schedule{volumeL: t.VolumeL}
	edges := []float64{0}
	temps := t.Temp
	if len(temps) == 0 {
		temps = []TempFrom{{0, 24}}
	}
	for _, x := range temps {
		edges = append(edges, x.Day)
	}
	for _, d := range doses {
		if d.Tank != index {
			continue
		}
		if d.Days > 0 {
			edges = append(edges, d.Day, d.Day+d.Days)
		} else {
			edges = append(edges, max(d.Day, tick))
			s.anyDip = true
		}
	}
	edges = slices.DeleteFunc(edges, func(x float64) bool { return x < 0 || x >= horizon })
	slices.Sort(edges)
	edges = slices.Compact(edges)
	for _, from := range edges {
		st := stretch{from: from, tempC: temps[0].TempC}
		for _, x := range temps {
			if x.Day <= from {
				st.tempC = x.TempC
			}
		}
		for _, d := range doses {
			if d.Tank != index {
				continue
			}
			switch {
			case d.Days > 0 && d.Day <= from && from < d.Day+d.Days:
				st.baths = append(st.baths, part{treatment[d.Treatment], (1 - d.Lost) / d.Days})
			case d.Days <= 0 && max(d.Day, tick) == from:
				st.dips = append(st.dips, part{treatment[d.Treatment], 1 - d.Lost})
			}
		}
		s.stretches = append(s.stretches, st)
	}
	s.indexTemps()
	for day := range int(horizon) + 2 {
		i := len(s.stretches) - 1
		for i > 0 && s.stretches[i].from > float64(day) {
			i--
		}
		s.starts = append(s.starts, int32(i))
	}
	s.layPulls(index, pulls, int(math.Ceil(horizon)))
	return s
}

func (s *schedule) indexTemps() {
	for _, st := range s.stretches {
		i := slices.Index(s.temps, st.tempC)
		if i < 0 {
			i = len(s.temps)
			s.temps = append(s.temps, st.tempC)
		}
		s.tempOf = append(s.tempOf, i)
	}
	s.steady = len(s.temps) == 1
}

// layPulls writes each day's pulls. Where two records speak of one day, the
// later in the list stands.
func (s *schedule) layPulls(index int, pulls []Pulls, days int) {
	s.pulls = make([]pullDay, days+1)
	s.lastPull = -1
	for _, p := range pulls {
		if p.Tank != index {
			continue
		}
		for day := max(0, int(math.Floor(p.From))); day <= days && float64(day) <= p.To; day++ {
			slots := slices.DeleteFunc(slices.Clone(inDay[p.PerDay]), func(slot int) bool {
				t := float64(day) + pullAt[slot]
				return t < p.From || t > p.To
			})
			if slices.Contains(p.Missed, day) {
				slots = nil
			}
			s.pulls[day] = pullDay{slots, p.Done}
			if len(slots) > 0 {
				s.lastPull = max(s.lastPull, day)
			}
		}
	}
}

// The kinds of event, in the order of ties.
const (
	dosed = iota // some animals may die of it within two days
	died
	taken // out of the lot with all they carry
	moved
)

// event is a change in which animals are where.
type event struct {
	day     float64
	kind    int
	animals int // of a dose: its number
	from    int
	to      int
}

// events lists them in order of time.
func events(doses []Dose, exits []Exit, moves []Move) []event {
	var all []event
	for i, d := range doses {
		all = append(all, event{d.Day, dosed, i, d.Tank, -1})
	}
	for _, x := range exits {
		kind := taken
		if x.Dead {
			kind = died
		}
		all = append(all, event{x.Day, kind, x.Animals, x.Tank, -1})
	}
	for _, m := range moves {
		all = append(all, event{m.Day, moved, m.Animals, m.From, m.To})
	}
	slices.SortStableFunc(all, func(a, b event) int {
		return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.kind, b.kind))
	})
	return all
}
