package desk

import (
	"math"
	"slices"
	"strings"

	"holdfast"
	"holdfast/science/clearance"
)

// treat adds a bath or dip that acts on the condition.
func (b *lifeBuilder) treat(ev holdfast.Event, p *holdfast.Treatment) {
	at := b.day(ev.OccurredAt)
	tank := b.tank(ev.Tank)
	if p.TempC != nil && !p.Trial && p.Form == "bath" {
		b.warm(tank, at, *p.TempC)
	}
	if p.Trial || p.Held == holdfast.HeldVoid {
		return
	}
	id, known := lifeTreatment(b.cond, p)
	if !known {
		b.note("A %s with %s counts for nothing: the model has no figure for it against the %s.", p.Form, p.Active, lower(b.cond.Name))
		return
	}
	d := clearance.Dose{Treatment: id, Day: at, Tank: tank}
	held := 1.0
	if p.Held == holdfast.HeldPartial {
		held = partialShare
		b.note("A treatment that held its conditions in part counts half.")
	}
	if kind := b.cond.Treatments[id]; kind.Kind == "bath" {
		d.Days = min(max(p.Hours/24, 0.01), 60)
		if short := d.Days / kind.Days; short < 0.95 {
			held *= short
			b.note("A bath shorter than %g days counts in proportion to its length.", kind.Days)
		}
	}
	d.Lost = 1 - held
	b.quiet = max(b.quiet, at+d.Days+SettleDays.Value)
	if d.Days == 0 && p.Count > 0 && p.Count < b.alive[tank] {
		// Some were dipped: they go to a vessel of their own and come back.
		vessel, ok := b.index[vesselName]
		if !ok {
			vessel = b.helper()
			b.index[vesselName] = vessel
		}
		b.carry(at, tank, vessel, p.Count)
		d.Day, d.Tank = at+1e-5, vessel
		b.carry(at+2e-5, vessel, tank, p.Count)
	}
	b.out.Doses = append(b.out.Doses, d)
}

// lifeTreatment returns the model's id for a treatment as it was recorded.
func lifeTreatment(cond *clearance.Condition, p *holdfast.Treatment) (string, bool) {
	active := strings.ToLower(p.Active)
	id := ""
	switch {
	case strings.Contains(active, "praziquantel"):
		id = "praziquantel"
	case isSalt(active):
		id = "sodium_chloride_" + p.Form
	}
	t, ok := cond.Treatments[id]
	return id, ok && t.Kind == p.Form
}

func (b *lifeBuilder) warm(tank int, at, tempC float64) {
	if tempC < 1 || tempC > 40 {
		return
	}
	if b.heat[tank] == nil {
		b.heat[tank] = map[int][]float64{}
	}
	b.heat[tank][int(at)] = append(b.heat[tank][int(at)], tempC)
}

// water gives every tank its litres and its temperatures.
func (b *lifeBuilder) water() error {
	for i := range b.out.TankIDs {
		t := clearance.Tank{}
		stays := b.stays[i]
		if len(stays) == 0 {
			stays = []stay{{}}
		}
		for k, st := range stays {
			until := math.Inf(1)
			if k+1 < len(stays) {
				until = stays[k+1].from
			}
			litres, err := b.glass(i, st, until)
			if err != nil {
				return err
			}
			if t.VolumeL == 0 || litres < t.VolumeL {
				t.VolumeL = litres
			}
		}
		if len(stays) > 1 {
			b.note("The lot was moved whole; the smallest of its tanks speaks for all, where larvae find a host soonest.")
		}
		t.Temp = b.temps(i)
		if len(t.Temp) == 0 && stays[0].id != "" {
			b.note("No temperature was measured in tank %s; 24 °C are assumed.", b.out.TankIDs[i])
		}
		b.out.Tanks = append(b.out.Tanks, t)
	}
	return nil
}

// glass returns the litres of a tank and notes its temperatures. What was
// measured today counts from tomorrow on, so that a figure for a day does not
// change with every reading of that day.
func (b *lifeBuilder) glass(tank int, st stay, until float64) (float64, error) {
	var known *holdfast.Tank
	if st.id != "" && b.c.Tank != nil {
		var err error
		if known, err = b.c.Tank(st.id); err != nil {
			return 0, err
		}
	}
	if known != nil {
		for _, ev := range known.Measured {
			w := ev.Payload.(*holdfast.WaterMeasured)
			day := holdfast.DayOf(ev.OccurredAt, b.zone)
			if at := float64(day - b.start); w.TempC != nil && day < b.asOf && at < until && (at >= math.Floor(st.from) || st.from == 0) {
				b.warm(tank, at, *w.TempC)
			}
		}
		if known.Litres > 0 {
			if known.System != "" {
				b.note("Tank %s shares its water with others; the model knows this lot alone and reckons with the litres of the tank.", st.id)
			}
			return known.Litres, nil
		}
	}
	if st.id != "" || tank == 0 {
		b.note("Nobody wrote down the litres of the tank; %g are assumed.", unknownLitres)
	}
	return unknownLitres, nil
}

// temps is a tank's temperature from day to day: the mean of a day's readings to
// half a degree, held until the next.
func (b *lifeBuilder) temps(tank int) []clearance.TempFrom {
	var days []int
	for d := range b.heat[tank] {
		days = append(days, d)
	}
	slices.Sort(days)
	var out []clearance.TempFrom
	for _, d := range days {
		sum := 0.0
		for _, x := range b.heat[tank][d] {
			sum += x
		}
		t := clearance.TempFrom{Day: float64(d), TempC: math.Round(sum/float64(len(b.heat[tank][d]))*2) / 2}
		switch n := len(out); {
		case d <= 0: // what was measured before the lot came holds on its first day
			t.Day = 0
			out = []clearance.TempFrom{t}
		case n == 0 || out[n-1].TempC != t.TempC:
			out = append(out, t)
		}
	}
	return out
}
