package dose

import (
	"cmp"
	"fmt"
	"slices"

	"holdfast/science/ref"
)

// Proposal is a treatment that somebody is about to give. A question that
// nobody answered stays nil and is asked, never guessed.
type Proposal struct {
	Ingredient string  `json:"ingredient"`
	Form       string  `json:"form"`
	MgL        float64 `json:"mg_l"`
	Hours      float64 `json:"hours"`
	// With is who and what is in the water.
	With     []Company `json:"with"`
	CopperMg *float64  `json:"copper_mg_l"`
	TempC    *float64  `json:"temp_c"`
	O2       *float64  `json:"o2_mg_l"`
	// CarbonOut, LampOff and AirOn are what the tank must be.
	CarbonOut *bool   `json:"carbon_out"`
	LampOff   *bool   `json:"lamp_off"`
	AirOn     *bool   `json:"air_on"`
	Others    []Other `json:"others"`
}

// Other is another medicine that is or was in the same water.
type Other struct {
	Ingredient string `json:"ingredient"`
	// DaysSince the bath ended; 0 while it lasts.
	DaysSince float64 `json:"days_since"`
	// Changed is the share of the water replaced since, Carbon that carbon ran.
	Changed float64 `json:"changed"`
	Carbon  bool    `json:"carbon"`
}

// Finding is one thing that a rule has to say.
type Finding struct {
	// Code is stable: an override names it.
	Code  string `json:"code"`
	Level Level  `json:"level"`
	Say   string `json:"say"`
	From  string `json:"from"`
}

// slip is how far beyond a range a dose may lie and still be meant: below or
// above it by more is refused as a lost decimal point or a wrong unit.
const slip = 1.5

// Check returns what the rules say about a proposal, refusals first; none means
// that nothing speaks against it, not that it is safe. The error is a
// *ref.InputError for ingredient, form, mg_l or others.
func Check(p Proposal) ([]Finding, error) {
	i, err := Find(p.Ingredient)
	if err != nil {
		return nil, err
	}
	if p.Form != "bath" && p.Form != "dip" && p.Form != "tools" {
		return nil, ref.Inputf("form", "Choose bath, dip or tools.", "no such form of use: %q", p.Form)
	}
	if !(p.MgL > 0) {
		return nil, ref.Inputf("mg_l", "Give the strength in the water, such as 2.5 mg/l.", "a strength of %g mg/l cannot be", p.MgL)
	}
	var found []Finding
	add := func(code string, level Level, from, format string, args ...any) {
		found = append(found, Finding{Code: code, Level: level, Say: fmt.Sprintf(format, args...), From: from})
	}
	switch i.Standing {
	case Never:
		add("never", Refuse, "common practice", "%s: never where shrimp or snails live or will live.", i.Name)
	case Avoid:
		add("avoid", Warn, "common practice", "%s is best avoided: more risk than gain for most.", i.Name)
	}
	found = append(found, i.strength(p)...)
	for _, h := range i.Harms {
		if slices.Contains(p.With, h.Whom) {
			add("harms_"+string(h.Whom), h.Level, h.From, "%s", h.Say)
		}
	}
	if p.Form != "tools" {
		found = append(found, i.tank(p)...)
	}
	others, err := i.others(p)
	if err != nil {
		return nil, err
	}
	found = append(found, others...)
	order := map[Level]int{Refuse: 0, Warn: 1, Ask: 2}
	slices.SortStableFunc(found, func(a, b Finding) int { return cmp.Compare(order[a.Level], order[b.Level]) })
	return found, nil
}

// strength judges the dose and its time against the range met in practice.
func (i Ingredient) strength(p Proposal) []Finding {
	u := i.Use(p.Form)
	if u == nil {
		return []Finding{{"no_range", Refuse, fmt.Sprintf("No range for %s as a %s is known here: nothing can catch a slip of the decimal point. Go by the label, and say so.", i.Name, p.Form), "judgement"}}
	}
	var out []Finding
	span := fmt.Sprintf("%s to %s", MgLText(u.LowMgL), MgLText(u.HighMgL))
	switch {
	case p.MgL > u.HighMgL*slip || p.MgL < u.LowMgL/slip:
		out = append(out, Finding{"dose", Refuse, fmt.Sprintf("%s is %s the usual %s; %s is met in practice. Is a decimal point or a unit wrong?",
			MgLText(p.MgL), times(p.MgL/u.UsualMgL), MgLText(u.UsualMgL), span), u.From})
	case p.MgL > u.HighMgL*(1+1e-9) || p.MgL < u.LowMgL*(1-1e-9):
		out = append(out, Finding{"dose", Warn, fmt.Sprintf("%s lies outside what is met in practice, %s.", MgLText(p.MgL), span), u.From})
	}
	if p.Hours > 0 && p.Hours > u.HoursHigh*slip {
		out = append(out, Finding{"time", Refuse, fmt.Sprintf("%s is longer than the %s to %s met in practice.", hoursText(p.Hours), hoursText(u.HoursLow), hoursText(u.HoursHigh)), u.From})
	}
	return out
}

// tank judges the water and the equipment.
func (i Ingredient) tank(p Proposal) []Finding {
	var out []Finding
	add := func(code string, level Level, say, from string) { out = append(out, Finding{code, level, say, from}) }
	switch {
	case p.CopperMg == nil:
		add("copper", Ask, "Nobody has measured copper in this water.", "yang2014")
	case *p.CopperMg > 0:
		add("copper", Refuse, fmt.Sprintf("Copper shows in this water (%g mg/l): find its source and change the water before anything else.", *p.CopperMg), "yang2014")
	}
	condition := func(code string, ok *bool, matters bool, bad, ask string) {
		switch {
		case !matters:
		case ok == nil:
			add(code, Ask, ask, "common practice")
		case !*ok:
			add(code, Refuse, bad, "common practice")
		}
	}
	bath := p.Form == "bath"
	condition("carbon", p.CarbonOut, bath && i.CarbonTakes, "Carbon or resin is in the filter: it would take the dose out within hours.", "Is carbon out of the filter?")
	condition("lamp", p.LampOff, bath && i.LightBreaks, "The lamp is on: light breaks it down.", "Is the lamp off and the germ lamp off?")
	condition("air", p.AirOn, bath, "The air is off: a bath needs it on full.", "Is the air on, seen bubbling?")
	if bath && i.ColdestC > 0 {
		if p.TempC == nil {
			add("cold", Ask, "Nobody has measured the temperature.", "judgement")
		} else if *p.TempC < i.ColdestC {
			add("cold", Warn, fmt.Sprintf("At %g C it works less; the bath will count in part below %g C.", *p.TempC, i.ColdestC), "judgement")
		}
	}
	if bath && p.O2 != nil && *p.O2 < 5 {
		add("oxygen", Refuse, fmt.Sprintf("Only %g mg/l of oxygen: bring it above 5 first.", *p.O2), "common practice")
	}
	return out
}

// others judges what else is or was in the water. A medicine counts as washed
// out when four fifths of the water were changed and carbon ran, or after three
// half-lives.
func (i Ingredient) others(p Proposal) ([]Finding, error) {
	var out []Finding
	for n, o := range p.Others {
		other, err := Find(o.Ingredient)
		if err != nil {
			return nil, err
		}
		if !(o.DaysSince >= 0) || !(o.Changed >= 0 && o.Changed <= 1) {
			return nil, ref.Inputf("others", "Give days since its end, and the share of water changed from 0 to 1.", "number %d cannot be", n+1)
		}
		washed := o.Changed >= 0.8 && o.Carbon ||
			other.HalfLife != nil && o.DaysSince >= 3*other.HalfLife.HighD
		if washed || !(slices.Contains(i.NotWith, "*") || slices.Contains(i.NotWith, other.ID)) {
			continue
		}
		when := "is still in this water"
		if o.DaysSince > 0 {
			when = fmt.Sprintf("ended %.3g days ago and was not washed out", o.DaysSince)
		}
		out = append(out, Finding{"with_" + other.ID, Refuse,
			fmt.Sprintf("%s %s. Never mix medicines: change four fifths of the water and run carbon first.", other.Name, when), "common practice"})
	}
	return out, nil
}

// MgLText writes a concentration for people: grams from one gram up.
func MgLText(mgL float64) string {
	if mgL >= 1000 {
		return fmt.Sprintf("%.3g g/l", mgL/1000)
	}
	return fmt.Sprintf("%.3g mg/l", mgL)
}

func hoursText(h float64) string {
	switch {
	case h < 1.0/60:
		return fmt.Sprintf("%.0f s", 3600*h)
	case h < 1:
		return fmt.Sprintf("%.0f min", 60*h)
	}
	return fmt.Sprintf("%.3g h", h)
}

func times(x float64) string { return fmt.Sprintf("%.3g times", x) }
