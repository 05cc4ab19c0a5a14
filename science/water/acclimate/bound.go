package acclimate

import (
	"fmt"
	"math"

	"holdfast/science/ref"
	"holdfast/science/water"
)

// Property is what differs between two waters and takes time to cross.
type Property string

// The properties that bound a schedule.
const (
	Temperature  Property = "temperature"
	PH           Property = "pH"
	Conductivity Property = "conductivity"
	GH           Property = "total hardness"
	KH           Property = "carbonate hardness"
)

// Bound is how fast one property lets the animals be brought across.
type Bound struct {
	Property Property `json:"property"`
	// Bag and Tank are the two values, in Unit; of pH the bag's is what it comes to
	// with air where its carbonate hardness was measured (Aired). Known is false
	// where one of them was not measured.
	Known bool    `json:"known"`
	Bag   float64 `json:"bag"`
	Tank  float64 `json:"tank"`
	Unit  string  `json:"unit"`
	Aired bool    `json:"aired,omitempty"`
	// AnHour is the fastest change an hour that it allows, in Unit.
	AnHour float64 `json:"an_hour"`
	// ShareAnHour is that as a share of the difference, 1 for no need of a drip; 0
	// for the temperature, which the float of the closed bag brings across.
	ShareAnHour float64 `json:"share_an_hour"`
	// Minutes is how long it needs by itself.
	Minutes float64 `json:"minutes"`
	// Basis is where the limit comes from.
	Basis ref.Basis `json:"basis"`
}

// bounds returns what each property allows, in a fixed order: temperature first,
// then what the drip brings across. Without both conductivities the group's own
// share an hour stands for it.
func (a Arrival) bounds(l Limits) []Bound {
	share := l.ShareAnHour.Value
	if a.ShareAnHour > 0 {
		share = a.ShareAnHour
	}
	out := []Bound{a.warm()}
	drip := func(b Bound, bag, tank *float64, rate func(difference float64) float64) {
		b.Known = bag != nil && tank != nil
		if !b.Known {
			if b.Property != Conductivity {
				return
			}
			b.ShareAnHour = share
		} else {
			b.Bag, b.Tank = *bag, *tank
			difference := math.Abs(b.Bag - b.Tank)
			b.ShareAnHour = math.Min(1, rate(math.Max(difference, 1e-9)))
			b.AnHour = b.ShareAnHour * difference
		}
		b.Minutes = 60 * (1 - b.ShareAnHour) / b.ShareAnHour
		out = append(out, b)
	}
	ph, aired := a.airedPH()
	drip(Bound{Property: PH, Basis: PHAnHour.Basis, Aired: aired}, ph, a.Tank.PH, func(d float64) float64 { return PHAnHour.Value / d })
	drip(Bound{Property: Conductivity, Unit: "µS/cm", Basis: l.ShareAnHour.Basis}, a.Bag.ECUS, a.Tank.ECUS, func(d float64) float64 { return math.Max(share, l.FreeAnHour.Value/d) })
	hard := func(d float64) float64 {
		if d <= HardnessAnHour.Value {
			return 1
		}
		return math.Min(share, HardnessAnHour.Value/d)
	}
	drip(Bound{Property: GH, Unit: "dH", Basis: HardnessAnHour.Basis}, a.Bag.GH, a.Tank.GH, hard)
	drip(Bound{Property: KH, Unit: "dH", Basis: HardnessAnHour.Basis}, a.Bag.KH, a.Tank.KH, hard)
	return out
}

// warm is how long the closed bag floats.
func (a Arrival) warm() Bound {
	b := Bound{Property: Temperature, Unit: "C", Basis: TempAnHour.Basis}
	if a.Bag.TempC == nil || a.Tank.TempC == nil {
		return b
	}
	b.Known, b.Bag, b.Tank = true, *a.Bag.TempC, *a.Tank.TempC
	difference := math.Abs(b.Bag - b.Tank)
	b.Minutes = FloatMinutes(difference)
	if difference > Equal.Value {
		b.Minutes = math.Max(b.Minutes, 60*difference/TempAnHour.Value)
		b.AnHour = 60 * difference / b.Minutes
	}
	return b
}

// airedPH is the bag's pH as it stands once air has been through it; the measured
// one where its carbonate hardness or temperature is not known.
func (a Arrival) airedPH() (ph *float64, aired bool) {
	if a.Bag.PH == nil {
		return nil, false
	}
	if a.Bag.KH == nil || a.Bag.TempC == nil {
		return a.Bag.PH, false
	}
	open, err := water.AiredPH(*a.Bag.KH*water.MeqPerDegree, *a.Bag.TempC)
	if err != nil {
		return a.Bag.PH, false
	}
	open = math.Max(open, *a.Bag.PH) // air drives carbon dioxide out, not in
	return &open, true
}

// slowest returns the share an hour of the slowest property of a drip, and the
// property that needs the longest, the float included.
func slowest(all []Bound) (share float64, longest Property) {
	share = 1
	minutes := 0.0
	for _, b := range all {
		if b.ShareAnHour > 0 {
			share = math.Min(share, b.ShareAnHour)
		}
		if b.Minutes > minutes {
			minutes, longest = b.Minutes, b.Property
		}
	}
	return share, longest
}

// pace sets what bounds the plan and says which property is the slowest.
func (a Arrival) pace(p *Plan, l Limits) (why []string) {
	p.Bounds = a.bounds(l)
	p.ShareAnHour, p.Slowest = slowest(p.Bounds)
	for _, b := range p.Bounds {
		if b.Property != p.Slowest {
			continue
		}
		switch {
		case !b.Known:
			why = append(why, "conductivity was not measured of both waters, so the group's own share an hour sets the pace")
		case b.Property == Temperature:
			why = append(why, fmt.Sprintf("temperature is the slowest: %.3g C apart, %.0f minutes in the closed bag", math.Abs(b.Bag-b.Tank), math.Ceil(b.Minutes)))
		default:
			why = append(why, fmt.Sprintf("%s is the slowest: %.3g to %.3g%s, %.2g an hour at most", b.Property, b.Bag, b.Tank, after(b.Unit), b.AnHour))
		}
		if b.Property == PH && !b.Aired {
			why = append(why, "part of the difference in pH may be carbon dioxide that air drives out within minutes; the bag's carbonate hardness would tell")
		}
	}
	return why
}

func after(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}
