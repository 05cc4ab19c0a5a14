package acclimate

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/ref"
	"holdfast/science/water"
)

func ptr[T any](v T) *T { return &v }

// arrival is the box of the demonstration: 193 animals in 0.8 l, cool, sour,
// with some ammonia.
func arrival() Arrival {
	return Arrival{
		Bag:  water.Reading{TempC: ptr(18.5), PH: ptr(6.4), ECUS: ptr(420.0), GH: ptr(9.0), KH: ptr(3.0), TAN: ptr(0.3), O2: ptr(12.0)},
		Tank: water.Reading{TempC: ptr(24.0), PH: ptr(7.2), ECUS: ptr(280.0), GH: ptr(6.0), KH: ptr(2.0), TAN: ptr(0.0), O2: ptr(8.2)},
		BagL: 0.8, VesselL: 5, Animals: water.Animals{Count: 60, MassG: 0.12}, Group: "neocaridina",
	}
}

func plan(t *testing.T, a Arrival) Plan {
	t.Helper()
	p, err := a.Plan()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func says(list []string, word string) bool { return strings.Contains(strings.Join(list, " "), word) }

// By hand: 140 µS/cm apart, 50 free an hour is more than 20 %, so 35.7 % an
// hour; at the end 35.7 % is left, and the vessel holds 0.8/0.357 = 2.24 l after
// 64.3/35.7 = 1.8 hours.
func TestPlanByHand(t *testing.T) {
	p := plan(t, arrival())
	if p.Way != Drip {
		t.Fatalf("way %s: %v", p.Way, p.Why)
	}
	rate := 50.0 / 140
	for what, c := range map[string][2]float64{
		"rate": {p.ShareAnHour, rate}, "last share": {p.LastShare, rate}, "minutes": {p.Minutes, 60 * (1 - rate) / rate},
		"float": {p.FloatMinutes, 60 * 5.5 / 6},
	} {
		if math.Abs(c[0]-c[1]) > 1e-9*c[1] {
			t.Errorf("%s = %g, want %g", what, c[0], c[1])
		}
	}
	last := p.Steps[len(p.Steps)-1]
	if math.Abs(last.VesselL-0.8/rate) > 1e-9 {
		t.Errorf("the vessel holds %g l, want %g", last.VesselL, 0.8/rate)
	}
	if want := rate*420 + (1-rate)*280; math.Abs(*last.Water.ECUS-want) > 1e-9 {
		t.Errorf("conductivity at the end %g, want %g", *last.Water.ECUS, want)
	}
	first := p.Steps[0]
	if math.Abs(first.CupSeconds*first.MLPerMin-6000) > 1e-9 || math.Abs(first.DropsPerS-first.MLPerMin/3) > 1e-9 {
		t.Errorf("flow said three ways: %+v", first)
	}
	if last.NH3 == nil || last.NH3Aired == nil || *last.NH3 > *last.NH3Aired || last.O2Still == nil || last.O2Aired == nil {
		t.Errorf("everything was measured: %+v", last)
	}
	if len(p.Missing) != 0 || !says(p.Care, "outdoors") {
		t.Errorf("missing %v, care %v", p.Missing, p.Care)
	}
}

func TestUnmeasuredIsNotUsed(t *testing.T) {
	a := arrival()
	a.Bag.TAN, a.Bag.KH, a.Tank.O2 = nil, nil, nil
	p := plan(t, a)
	for _, s := range p.Steps {
		if s.TAN != nil || s.NH3 != nil || s.NH3Aired != nil || s.O2Still != nil || s.Water.PH != nil || s.Water.KH != nil {
			t.Fatalf("something was filled in: %+v", s)
		}
		if s.Water.ECUS == nil || s.Water.GH == nil {
			t.Fatalf("something measured was dropped: %+v", s)
		}
	}
	if p.Opened != nil || !says(p.Missing, "ammonia") || !says(p.Missing, "oxygen of the tank") || !says(p.Why, "could not be judged") || !says(p.Care, "air stone") {
		t.Errorf("missing %v, why %v, care %v", p.Missing, p.Why, p.Care)
	}
	bare := Arrival{BagL: 0.5, VesselL: 4, Animals: water.Animals{Count: 10, MassG: 0.2}, Group: "caridina"}
	p = plan(t, bare)
	if p.ShareAnHour != 0.10 || p.FloatMinutes != 0 || len(p.Missing) != 11 {
		t.Errorf("with nothing measured: %+v", p)
	}
}

func TestFouledBagGoesToMatchedWater(t *testing.T) {
	a := arrival()
	a.Bag.TAN, a.Tank.PH = ptr(6.0), ptr(7.8)
	p := plan(t, a)
	if p.Way != Matched || p.Match == nil || !says(p.Care, "no air") {
		t.Fatalf("6 mg/l of ammonia: %s, %v, %v", p.Way, p.Why, p.Care)
	}
	if p.Match.TankShare != 1 || p.Match.RaiseUS != 140 {
		t.Errorf("the tank is softer, salts raise it: %+v", p.Match)
	}
	for _, s := range p.Steps {
		if s.TAN == nil || *s.TAN > 1.5 {
			t.Errorf("the schedule still carries the bag's ammonia: %+v", s)
		}
	}
	a.Animals.Count = 400
	if p = plan(t, a); !says(p.Care, "themselves") {
		t.Errorf("400 animals foul 0.8 l by themselves: %v", p.Care)
	}
	a.Animals.Count = 60
	a.Bag.ECUS, a.Tank.ECUS = ptr(200.0), ptr(500.0)
	p = plan(t, a)
	if p.Way != Matched || math.Abs(p.Match.TankShare-0.4) > 1e-12 || math.Abs(p.Match.PureShare-0.6) > 1e-12 {
		t.Errorf("the tank is harder, pure water thins it: %+v", p.Match)
	}
	a.Bag.ECUS = nil
	if p = plan(t, a); p.Way != Matched || p.Match != nil {
		t.Errorf("a conductivity that nobody measured cannot be matched: %+v", p)
	}
}

func TestLikeWaterNeedsNoDrip(t *testing.T) {
	a := arrival()
	a.Bag.ECUS, a.Bag.PH, a.Bag.KH = ptr(300.0), ptr(7.4), nil
	p := plan(t, a)
	if p.Way != Straight || len(p.Steps) != 0 || p.LastShare != 1 || p.Minutes != 0 {
		t.Errorf("20 µS/cm apart: %+v", p)
	}
}

// Each property bounds the schedule where it alone differs. By hand: 2.4 of pH at
// 0.5 an hour are 20.8 % an hour; 30 dH at 3 an hour 10 %, 8 dH no more than the
// group's 20 %; 400 µS/cm the group's 20 %; 12 C at 6 an hour two hours of float.
func TestTheSlowestPropertyCounts(t *testing.T) {
	alike := Arrival{Bag: water.Reading{TempC: ptr(23.0), PH: ptr(7.2), ECUS: ptr(300.0), GH: ptr(8.0), TAN: ptr(0.0)},
		Tank: water.Reading{TempC: ptr(23.0), PH: ptr(7.2), ECUS: ptr(300.0), GH: ptr(8.0), TAN: ptr(0.0)},
		BagL: 0.5, VesselL: 50, Animals: water.Animals{Count: 5, MassG: 0.1}, Group: "neocaridina"}
	if p := plan(t, alike); p.Way != Straight || p.Slowest != "" || p.ShareAnHour != 1 {
		t.Errorf("two waters alike: %+v", p)
	}
	for _, c := range []struct {
		is     Property
		share  float64
		change func(*Arrival)
	}{
		{PH, 0.5 / 2.4, func(a *Arrival) { a.Bag.PH, a.Tank.PH = ptr(5.0), ptr(7.4) }},
		{Conductivity, 0.2, func(a *Arrival) { a.Tank.ECUS = ptr(700.0) }},
		{GH, 0.1, func(a *Arrival) { a.Tank.GH = ptr(38.0) }},
		{GH, 0.2, func(a *Arrival) { a.Tank.GH = ptr(16.0) }},
		{KH, 0.1, func(a *Arrival) { a.Bag.KH, a.Tank.KH, a.Bag.PH = ptr(1.0), ptr(31.0), nil }},
		{Temperature, 1, func(a *Arrival) { a.Bag.TempC = ptr(11.0) }},
	} {
		a := alike
		c.change(&a)
		p := plan(t, a)
		if p.Slowest != c.is || math.Abs(p.ShareAnHour-c.share) > 1e-9 || !says(p.Why, string(c.is)+" is the slowest") {
			t.Errorf("%s alone differs: %s sets the pace of %g an hour, want %g: %v", c.is, p.Slowest, p.ShareAnHour, c.share, p.Why)
		}
		if c.is == Temperature && math.Abs(p.FloatMinutes-120) > 1e-9 {
			t.Errorf("12 C apart float for %g minutes", p.FloatMinutes)
		}
	}
	// Carbon dioxide alone makes no drip where the carbonate hardness tells.
	sour := alike
	sour.Bag.PH, sour.Bag.KH = ptr(6.2), ptr(1.0)
	open, err := water.AiredPH(1*water.MeqPerDegree, 23)
	if err != nil {
		t.Fatal(err)
	}
	sour.Tank.PH = &open
	if p := plan(t, sour); p.Way != Straight || p.ShareAnHour != 1 {
		t.Errorf("a bag sour from carbon dioxide alone: %+v", p.Bounds)
	}
	sour.Bag.KH = nil
	if p := plan(t, sour); p.Slowest != PH || !says(p.Why, "carbon dioxide") {
		t.Errorf("without its hardness nobody knows: %v", p.Why)
	}
}

func drawArrival(t *rapid.T) Arrival {
	f := func(name string, lo, hi float64) *float64 { return ptr(rapid.Float64Range(lo, hi).Draw(t, name)) }
	reading := func(name string) water.Reading {
		r := water.Reading{TempC: f(name+" temp", 12, 28), PH: f(name+" ph", 5.8, 8.3), ECUS: f(name+" ec", 50, 900), GH: f(name+" gh", 1, 20), KH: f(name+" kh", 0.2, 12), TAN: f(name+" tan", 0, 8), O2: f(name+" o2", 3, 20)}
		for _, field := range []**float64{&r.TempC, &r.PH, &r.ECUS, &r.KH, &r.TAN, &r.O2} {
			if rapid.IntRange(0, 4).Draw(t, name+" skipped") == 0 {
				*field = nil
			}
		}
		return r
	}
	bag := rapid.Float64Range(0.1, 3).Draw(t, "bag l")
	return Arrival{
		Bag: reading("bag"), Tank: reading("tank"), BagL: bag, VesselL: bag * rapid.Float64Range(1.8, 12).Draw(t, "vessel"),
		Animals:     water.Animals{Count: rapid.IntRange(1, 150).Draw(t, "n"), MassG: rapid.Float64Range(0.03, 0.4).Draw(t, "mass")},
		Group:       rapid.SampledFrom([]string{"neocaridina", "caridina", "fish"}).Draw(t, "group"),
		StepMinutes: float64(rapid.IntRange(5, 30).Draw(t, "step")),
	}
}

// shareAt returns the share of tank water at a minute, inside steps too, as a
// vessel that fills at a steady flow has it.
func shareAt(p Plan, bagL, minute float64) float64 {
	share, litres := 0.0, bagL
	for _, s := range p.Steps {
		if s.PourToL > 0 {
			litres = s.PourToL
		}
		run := math.Min(1, math.Max(0, (minute-s.StartMin)/s.Minutes))
		added := run * s.AddL
		share = (share*litres + added) / (litres + added)
		litres += added
		if run < 1 {
			break
		}
	}
	return share
}

func TestScheduleKeepsItsLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := drawArrival(t)
		p, err := a.Plan()
		for _, b := range p.Bounds {
			if b.Property != Temperature && p.ShareAnHour > b.ShareAnHour+1e-12 {
				t.Fatalf("%g an hour is faster than %+v allows", p.ShareAnHour, b)
			}
		}
		var in *ref.InputError
		if errors.As(err, &in) && in.Field == "vessel_l" {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		end := 0.0
		for _, s := range p.Steps {
			if math.Abs(s.StartMin-end) > 1e-6 || s.AddL <= 0 || s.VesselL > a.VesselL+1e-9 || s.VesselL < a.BagL {
				t.Fatalf("step %+v of a vessel of %g l", s, a.VesselL)
			}
			end = s.StartMin + s.Minutes
			if got := shareAt(p, a.BagL, end); math.Abs(got-s.TankShare) > 1e-9 {
				t.Fatalf("after %g minutes the vessel holds %g tank water, the step says %g", end, got, s.TankShare)
			}
			for _, v := range []*float64{s.TAN, s.NH3, s.NH3Aired, s.NH3TankPH, s.O2Still, s.O2Aired} {
				if v != nil && (*v < 0 || math.IsNaN(*v) || math.IsInf(*v, 0)) {
					t.Fatalf("impossible figure in %+v", s)
				}
			}
		}
		// No hour, wherever it begins, crosses more than its share; a flow that is
		// steady within a step runs a little ahead at its beginning.
		if len(p.Steps) > 0 {
			ahead := p.ShareAnHour * a.StepMinutes / 60
			for m := 0.0; m < end; m += 3 {
				if grew := shareAt(p, a.BagL, m+60) - shareAt(p, a.BagL, m); grew > p.ShareAnHour+0.5*ahead {
					t.Fatalf("from minute %g the hour crosses %g of the difference, limit %g", m, grew, p.ShareAnHour)
				}
			}
			if p.LastShare > p.ShareAnHour+1e-9 {
				t.Fatalf("the last step crosses %g, limit %g", p.LastShare, p.ShareAnHour)
			}
		}
	})
}

// The drip itself is the table of package water: V0, a flow and a time.
func TestStepIsAFillingVessel(t *testing.T) {
	p := plan(t, arrival())
	s := p.Steps[0]
	if got := water.FillingShare(0.8, s.MLPerMin/1000, s.Minutes); math.Abs(got-s.TankShare) > 1e-12 {
		t.Errorf("first step: %g by the formula, %g in the plan", got, s.TankShare)
	}
}

func TestPlanSaysWhatIsWrong(t *testing.T) {
	for field, change := range map[string]func(*Arrival){
		"bag_ph":        func(a *Arrival) { a.Bag.PH = ptr(64.0) },
		"tank_temp_c":   func(a *Arrival) { a.Tank.TempC = ptr(-4.0) },
		"bag_l":         func(a *Arrival) { a.BagL = 0 },
		"vessel_l":      func(a *Arrival) { a.VesselL = 1 },
		"animals":       func(a *Arrival) { a.Animals.Count = 0 },
		"group":         func(a *Arrival) { a.Group = "unicorn" },
		"step_minutes":  func(a *Arrival) { a.StepMinutes = -5 },
		"share_an_hour": func(a *Arrival) { a.ShareAnHour = 20 },
	} {
		a := arrival()
		change(&a)
		_, err := a.Plan()
		var in *ref.InputError
		if !errors.As(err, &in) || in.Field != field || in.Hint == "" {
			t.Errorf("%s: %#v", field, err)
		}
	}
	tight := arrival()
	tight.VesselL, tight.StepMinutes = 1.2, 120
	_, err := tight.Plan()
	var in *ref.InputError
	if !errors.As(err, &in) || in.Field != "vessel_l" {
		t.Errorf("a vessel too small for one step: %v", err)
	}
}

func TestVesselIsEmptied(t *testing.T) {
	a := arrival()
	a.VesselL, a.ShareAnHour, a.Bag.ECUS = 2, 0.2, nil
	poured := 0
	for _, s := range plan(t, a).Steps {
		if s.PourToL > 0 {
			poured++
		}
	}
	if poured == 0 {
		t.Error("0.8 l thinned five times do not fit 2 l without pouring off")
	}
}

func bag() Bag {
	return Bag{WaterL: 0.4, GasL: 0.8, OxygenShare: 0.9, Animals: water.Animals{Count: 40, MassG: 0.15}, TempC: 20, Hours: 30}
}

// By hand at 20 C: pure oxygen gas weighs 31.998/(0.082057·293.15) = 1.3302 g/l
// dry, 1.2993 with its water vapour (0.0231 atm, steam tables); saturation 9.092
// mg/l (Standard Methods); use 40 · 0.15^0.7586 · 0.3114 · exp(-0.0749) = 2.740
// mg/h. At 2 mg/l the gas holds 4.61 % of oxygen, in 0.0839 l.
func TestBagByHand(t *testing.T) {
	left, err := bag().Oxygen()
	if err != nil {
		t.Fatal(err)
	}
	spare := (0.8*0.9-0.0839*0.0461)*1299.3 + (0.9/0.2095*9.092-2)*0.4
	if want := spare / 2.740; math.Abs(left.Hours.Value/want-1) > 0.002 {
		t.Errorf("%g hours, by hand %g", left.Hours.Value, want)
	}
	if math.Abs(left.LateHours.Value-(left.Hours.Value-30)) > 1e-9 || left.Hours.Low >= left.Hours.High {
		t.Errorf("%+v", left)
	}
}

// Smith and Wannamaker 1983, as noted: prawns of 17 g at 12 to 15 g/l lived
// through 42 hours at 19 to 20 C in bags with oxygen; the law must allow that.
func TestBagAllowsWhatWasBorne(t *testing.T) {
	left, err := Bag{WaterL: 5, GasL: 10, OxygenShare: 0.9, Animals: water.Animals{Count: 4, MassG: 17}, TempC: 19.5, Hours: 42}.Oxygen()
	if err != nil || left.LateHours.Low < 0 {
		t.Errorf("%+v, %v", left, err)
	}
}

func TestBagProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Bag{
			WaterL: rapid.Float64Range(0.1, 2).Draw(t, "water"), GasL: rapid.Float64Range(0, 4).Draw(t, "gas"),
			OxygenShare: rapid.Float64Range(0.06, 1).Draw(t, "share"), TempC: rapid.Float64Range(10, 30).Draw(t, "temp"),
			Animals: water.Animals{Count: rapid.IntRange(1, 300).Draw(t, "n"), MassG: rapid.Float64Range(0.02, 1).Draw(t, "mass")},
			Hours:   rapid.Float64Range(0, 60).Draw(t, "hours"),
		}
		left, err := b.Oxygen()
		if err != nil {
			t.Fatal(err)
		}
		if !(left.Hours.Low >= 0 && left.Hours.Low <= left.Hours.Value && left.Hours.Value <= left.Hours.High) {
			t.Fatalf("%+v", left)
		}
		better := b
		better.GasL += 0.5
		more, err := better.Oxygen()
		if err != nil {
			t.Fatal(err)
		}
		if more.Hours.Value < left.Hours.Value-1e-9 {
			t.Fatalf("more gas, less time: %g, %g", left.Hours.Value, more.Hours.Value)
		}
		crowded := b
		crowded.Animals.Count *= 2
		less, err := crowded.Oxygen()
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(2*less.Hours.Value-left.Hours.Value) > 1e-9*left.Hours.Value {
			t.Fatalf("twice the animals, half the time: %g, %g", left.Hours.Value, less.Hours.Value)
		}
	})
}

func TestBagSaysWhatIsWrong(t *testing.T) {
	for field, change := range map[string]func(*Bag){
		"water_l":      func(b *Bag) { b.WaterL = 0 },
		"gas_l":        func(b *Bag) { b.GasL = -1 },
		"oxygen_share": func(b *Bag) { b.OxygenShare = 21 },
		"hours":        func(b *Bag) { b.Hours = math.NaN() },
		"count":        func(b *Bag) { b.Animals.Count = 0 },
		"mass":         func(b *Bag) { b.Animals.MassG = 0 },
		"temp":         func(b *Bag) { b.TempC = 60 },
	} {
		b := bag()
		change(&b)
		_, err := b.Oxygen()
		var in *ref.InputError
		if !errors.As(err, &in) || in.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
}

func TestFloat(t *testing.T) {
	if m := FloatMinutes(0.4); m != 0 {
		t.Errorf("0.4 C apart: %g minutes", m)
	}
	if a, b := FloatMinutes(5), FloatMinutes(-5); a != b || a < 40 || a > 50 {
		t.Errorf("5 C apart: %g and %g minutes", a, b)
	}
}
