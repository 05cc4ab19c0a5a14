package clearance

import (
	"cmp"
	"context"
	"math"
	"slices"

	"holdfast/science/ref"
)

// Course is a planned series of doses, pulls and looks, up to a release.
type Course struct {
	Name string `json:"name,omitempty"`
	// Treatment is an id of the condition's treatments.
	Treatment string `json:"treatment"`
	// DoseDays are the days on which doses start. Where it is empty, Doses of them
	// follow each other every Gap days from First on.
	DoseDays []float64 `json:"dose_days,omitempty"`
	First    float64   `json:"first,omitempty"`
	Doses    int       `json:"doses,omitempty"`
	Gap      float64   `json:"gap,omitempty"`
	// BathDays is how long each bath lasts; 0 means as long as the condition's data
	// say.
	BathDays    float64 `json:"bath_days,omitempty"`
	PullsPerDay int     `json:"pulls_per_day"`
	// PullUntil is the last day of pulls; 0 means until 95 % of the animals have
	// moulted after the last dose, or until release if that comes first.
	PullUntil float64 `json:"pull_until,omitempty"`
	// SkipPulls are whole days on which nothing is pulled.
	SkipPulls []int `json:"skip_pulls,omitempty"`
	// Looks are made so many days before release, each at LookAnimals animals.
	LookAnimals int       `json:"look_animals,omitempty"`
	LooksBefore []float64 `json:"looks_before,omitempty"`
	// Release is the day of release; 0 asks for the earliest that reaches the line.
	Release float64 `json:"release,omitempty"`
}

// quiet is how many days before a look there must be no bath: what is left of it
// may hide worms for that long. Basis: guess.
const quiet = 7

// ReleaseLine is what must be reached before release, on the chance of clear, on the bag
// risk, or on both.
type ReleaseLine struct {
	// Clear is the least chance of clear; 0 means none is asked.
	Clear float64 `json:"clear,omitempty"`
	// BagRisk is the greatest bag risk; 0 means none is asked.
	BagRisk float64 `json:"bag_risk,omitempty"`
}

func (l ReleaseLine) met(v verdict) bool {
	return (l.Clear > 0 || l.BagRisk > 0) && v.clear.Value >= l.Clear && (l.BagRisk == 0 || v.bag.Value <= l.BagRisk)
}

// Costs are what a course costs, in minor units of one currency.
type Costs struct {
	TankDay float64 `json:"tank_day"`
	Pull    float64 `json:"pull"`
	Dose    float64 `json:"dose"`
	// Look is what looking at one animal costs.
	Look float64 `json:"look"`
	// Animal is what one death costs.
	Animal float64 `json:"animal"`
	// Loss is what releasing a lot that is not clear costs in the end.
	Loss float64 `json:"loss"`
}

func (c Costs) check() error {
	for name, x := range map[string]float64{"tank_day": c.TankDay, "pull": c.Pull, "dose": c.Dose, "look": c.Look, "animal": c.Animal, "loss": c.Loss} {
		if !(x >= 0 && x <= 1e12) {
			return ref.Inputf("costs", "Give amounts in minor units, not below 0.", "%s costs %g", name, x)
		}
	}
	return nil
}

// ReleaseDay is what release on a day would mean under a course, given that its
// looks find nothing.
type ReleaseDay struct {
	Day     float64 `json:"day"`
	Clear   Share   `json:"clear"`
	BagRisk Share   `json:"bag_risk"`
	// Infested is the expected share of animals that carry anything.
	Infested float64 `json:"infested"`
	// LooksClean is the chance that every planned look finds nothing.
	LooksClean float64 `json:"looks_clean"`
	// Cost is the expected cost of following the course to this release, a look
	// that finds something starting it anew: what one attempt costs, over the
	// chance that its looks are clean, plus what releasing a lot costs that is not.
	Cost float64 `json:"cost"`
	// Deaths is how many animals are expected to die from today until then, of the
	// doses and otherwise.
	Deaths float64 `json:"deaths"`
	// Met says whether the line is reached.
	Met bool `json:"met"`
}

// Outlook is a course with what it would do.
type Outlook struct {
	Course Course `json:"course"`
	// Starts are the days of its doses.
	Starts []float64 `json:"starts"`
	// Ends is the day on which its last dose ends.
	Ends float64 `json:"ends"`
	// Days are the possible days of release, ascending. Empty if none fits before
	// the last day considered.
	Days []ReleaseDay `json:"days"`
	// Earliest is the first day that reaches the line, nil if none does.
	Earliest *ReleaseDay `json:"earliest,omitempty"`
	// Best is the day with the greatest chance of clear.
	Best *ReleaseDay `json:"best,omitempty"`
	// Cheapest is the day of least cost among those that reach the line, or among
	// all if none does.
	Cheapest *ReleaseDay `json:"cheapest,omitempty"`
	Runs     int         `json:"runs"`
	// Forecast is the course week by week whatever its looks show: they weigh
	// nothing in it.
	Forecast []ForecastDay `json:"forecast"`
}

// ForecastDay is one day of a course as it looks from today.
type ForecastDay struct {
	Day      float64 `json:"day"`
	Clear    float64 `json:"clear"`
	BagRisk  float64 `json:"bag_risk"`
	Infested float64 `json:"infested"`
	// IfClean is the chance of clear given that every look planned until then found
	// nothing; only for a course whose day of release is given.
	IfClean float64 `json:"if_clean,omitempty"`
}

// ask is a question about courses.
type ask struct {
	line   ReleaseLine
	costs  Costs
	from   float64 // first day of release considered
	until  float64 // last day of release considered
	step   float64 // between possible days of release
	pulled float64 // days of pulling after the last dose, by the 95 % rule
}

// complete fills in what a course leaves open and checks it.
func (c Course) complete(cond *Condition, a ask) (Course, error) {
	t, ok := cond.Treatments[c.Treatment]
	if c.Treatment == "" && (c.Doses == 0 && len(c.DoseDays) == 0) {
		t, ok = Treatment{Kind: "dip"}, true
	}
	if !ok {
		return c, ref.Inputf("treatment", "Use an id of the condition's treatments.", "%q is no treatment of the %s that the model knows", c.Treatment, cond.Name)
	}
	if len(c.DoseDays) == 0 {
		if c.Doses < 0 || c.Doses > 20 || c.Doses > 1 && !(c.Gap > 0) {
			return c, ref.Inputf("doses", "Give 0 to 20 doses and the gap between them.", "%d doses every %g days", c.Doses, c.Gap)
		}
		for i := range c.Doses {
			c.DoseDays = append(c.DoseDays, c.First+float64(i)*c.Gap)
		}
	}
	for i, day := range c.DoseDays {
		if i >= 20 || !(day >= 0 && day <= maxDays) || i > 0 && day <= c.DoseDays[i-1] {
			return c, ref.Inputf("dose_days", "Give at most 20 days in order, each once, at most 400 after arrival.", "%v", c.DoseDays[:min(len(c.DoseDays), 21)])
		}
	}
	for name, x := range map[string]float64{"bath_days": c.BathDays, "pull_until": c.PullUntil, "release": c.Release} {
		if !(x >= 0 && x <= maxDays) {
			return c, ref.Inputf(name, "Give days, at most 400.", "%g", x)
		}
	}
	c.Doses = len(c.DoseDays)
	if t.Kind == "bath" && c.BathDays == 0 {
		c.BathDays = t.Days
	}
	if c.PullsPerDay < 0 || c.PullsPerDay > 4 {
		return c, ref.Inputf("pulls_per_day", "Give 0 to 4.", "%d pulls a day", c.PullsPerDay)
	}
	if c.LookAnimals < 0 || c.LookAnimals > maxAnimals {
		return c, ref.Inputf("look_animals", "Give how many animals each look takes.", "%d animals", c.LookAnimals)
	}
	if c.PullUntil == 0 && c.PullsPerDay > 0 {
		c.PullUntil = c.lastDose() + a.pulled
	}
	if (c.LookAnimals == 0) != (len(c.LooksBefore) == 0) {
		return c, ref.Inputf("looks_before", "Give both the days before release and how many animals, or neither.", "%d looks at %d animals", len(c.LooksBefore), c.LookAnimals)
	}
	if len(c.SkipPulls) > maxDays {
		return c, ref.Inputf("skip_pulls", "Leave out at most 400 days.", "%d days", len(c.SkipPulls))
	}
	c.SkipPulls = slices.Compact(slices.Sorted(slices.Values(c.SkipPulls)))
	if n := len(slices.Compact(slices.Sorted(slices.Values(c.LooksBefore)))); n != len(c.LooksBefore) {
		return c, ref.Inputf("looks_before", "Name each look once.", "%v", c.LooksBefore)
	}
	if len(c.LooksBefore) > 6 || slices.ContainsFunc(c.LooksBefore, func(x float64) bool { return !(x >= 0 && x <= maxDays) }) {
		return c, ref.Inputf("looks_before", "Give at most six looks, each 0 or more days before release.", "%v", c.LooksBefore)
	}
	return c, nil
}

// lastDose is the day on which the last dose ends; 0 without doses.
func (c *Course) lastDose() float64 {
	if len(c.DoseDays) == 0 {
		return 0
	}
	return c.DoseDays[len(c.DoseDays)-1] + c.BathDays
}

// doses lists the course's doses.
func (c *Course) doses() []Dose {
	var out []Dose
	for _, day := range c.DoseDays {
		out = append(out, Dose{Treatment: c.Treatment, Day: day, Days: c.BathDays})
	}
	return out
}

// pulls lists the course's pulls, after those made by today.
func (c *Course) pulls(today, until float64) []Pulls {
	to := min(c.PullUntil, until)
	if c.PullsPerDay == 0 || to <= today {
		return nil
	}
	return []Pulls{{From: math.Floor(today) + 1, To: to, PerDay: c.PullsPerDay, Missed: c.SkipPulls}}
}

// readable says whether a look on a day comes long enough after every dose.
func (c *Course) readable(day float64, doses []Dose) bool {
	for _, d := range doses {
		if d.Day <= day && day < d.Day+d.Days+quiet {
			return false
		}
	}
	return true
}

// days lists the possible days of release and the days of their looks.
func (c *Course) days(s *Standing, a ask) (release, looks []float64) {
	var days []float64
	if c.Release > 0 {
		days = []float64{c.Release}
	} else {
		// The grid is anchored at the end of the doses, so that the first possible
		// day is among them.
		anchor := math.Ceil(max(c.lastDose(), s.c.Today))
		for day := anchor; day <= a.until; day += a.step {
			if day >= a.from {
				days = append(days, day)
			}
		}
	}
	all := append(slices.Clone(s.c.Doses), c.doses()...)
	for _, day := range days {
		fits := day >= max(c.lastDose(), s.c.Today)
		for _, before := range c.LooksBefore {
			fits = fits && day-before >= s.c.Today && c.readable(day-before, all)
		}
		if fits {
			release = append(release, day)
			for _, before := range c.LooksBefore {
				looks = append(looks, day-before)
			}
		}
	}
	slices.Sort(looks)
	return release, slices.Compact(looks)
}

// layout is a course with the days on which it is asked about.
type layout struct {
	Course
	plan                   future
	release, onLook, weeks []float64
}

// lay completes a course and lays it out.
func (s *Standing) lay(c Course, a ask) (*layout, error) {
	c, err := c.complete(s.c.Condition, a)
	if err != nil {
		return nil, err
	}
	for _, day := range c.DoseDays {
		if day < s.c.Today {
			return nil, ref.Inputf("dose_days", "Plan doses from today on; those already given belong to the lot's history.", "a dose on day %g, today is day %g", day, s.c.Today)
		}
	}
	l := &layout{Course: c}
	l.release, l.onLook = c.days(s, a)
	l.weeks = a.weeks(s.c.Today, l.release)
	l.plan.days = append(slices.Clone(l.release), l.weeks...)
	slices.Sort(l.plan.days)
	l.plan.days = slices.Compact(l.plan.days)
	l.plan.doses, l.plan.pulls = c.doses(), c.pulls(s.c.Today, l.plan.days[len(l.plan.days)-1])
	for _, day := range l.onLook {
		l.plan.looks = append(l.plan.looks, Look{Day: day, Animals: min(c.LookAnimals, s.c.Animals)})
	}
	return l, nil
}

// outlook tries a course on the lots of s.
func (s *Standing) outlook(ctx context.Context, c Course, a ask) (Outlook, error) {
	l, err := s.lay(c, a)
	if err != nil {
		return Outlook{}, err
	}
	p, err := s.try(ctx, l.plan)
	if err != nil {
		return Outlook{}, err
	}
	return s.read(l, p, a), nil
}

// read says what a course would do from what came of it.
func (s *Standing) read(l *layout, p *prospect, a ask) Outlook {
	c := &l.Course
	out := Outlook{Course: l.Course, Starts: c.DoseDays, Ends: c.lastDose(), Runs: len(s.copies)}
	for d, day := range l.plan.days {
		if slices.Contains(l.weeks, day) {
			v := p.on(d, nil)
			f := ForecastDay{Day: day, Clear: v.clear.Value, BagRisk: v.bag.Value, Infested: v.infested}
			if c.Release > 0 {
				var made []int
				for i, look := range l.onLook {
					if look <= day {
						made = append(made, p.first+i)
					}
				}
				f.IfClean = p.on(d, made).clear.Value
			}
			out.Forecast = append(out.Forecast, f)
		}
		if !slices.Contains(l.release, day) {
			continue
		}
		var at []int
		for _, before := range c.LooksBefore {
			at = append(at, p.first+slices.Index(l.onLook, day-before))
		}
		v := p.on(d, at)
		alive := p.alive(d)
		out.Days = append(out.Days, ReleaseDay{Day: day, Clear: v.clear, BagRisk: v.bag, Infested: v.infested, LooksClean: v.clean,
			Cost: c.cost(s, a, v, day, alive), Deaths: s.deaths(alive), Met: a.line.met(v)})
	}
	out.choose()
	return out
}

// weeks are the days of a forecast: every seventh from today to the last release
// considered.
func (a ask) weeks(today float64, release []float64) []float64 {
	last := a.until
	if n := len(release); n > 0 {
		last = max(release[n-1], today+7)
	}
	var out []float64
	for day := today; day <= last; day += 7 {
		out = append(out, day)
	}
	return out
}

// cost is the expected cost of following the course to a release.
func (c *Course) cost(s *Standing, a ask, v verdict, day, alive float64) float64 {
	k := a.costs
	pulls := 0.0
	for _, p := range c.pulls(s.c.Today, day) {
		days := max(0, math.Floor(p.To)-p.From+1)
		for _, day := range p.Missed {
			if d := float64(day); p.From <= d && d <= p.To {
				days = max(0, days-1)
			}
		}
		pulls += days * float64(p.PerDay)
	}
	attempt := k.TankDay*(day-s.c.Today) + k.Pull*pulls + k.Dose*float64(len(c.DoseDays)) +
		k.Look*float64(len(c.LooksBefore)*c.LookAnimals) + k.Animal*s.deaths(alive)
	return attempt/max(v.clean, 1e-9) + (1-v.clear.Value)*k.Loss
}

// deaths is how many animals are expected to have died after today when so many
// are alive.
func (s *Standing) deaths(alive float64) float64 {
	deaths := max(0, float64(s.c.Animals)-alive)
	for _, x := range s.c.Exits {
		deaths -= float64(x.Animals)
	}
	return max(0, deaths)
}

// choose picks the days that people ask for.
func (o *Outlook) choose() {
	o.Earliest, o.Best, o.Cheapest = nil, nil, nil
	for i := range o.Days {
		d := &o.Days[i]
		if d.Met && o.Earliest == nil {
			o.Earliest = d
		}
		if o.Best == nil || d.Clear.Value > o.Best.Clear.Value {
			o.Best = d
		}
		if o.Cheapest == nil || d.Met && !o.Cheapest.Met || d.Met == o.Cheapest.Met && d.Cost < o.Cheapest.Cost {
			o.Cheapest = d
		}
	}
}

// byEarliest orders outlooks: first those that reach the line, the earliest
// first; then the others, the greatest chance of clear first.
func byEarliest(a, b *Outlook) int {
	switch {
	case a.Earliest != nil && b.Earliest != nil:
		return cmp.Or(cmp.Compare(a.Earliest.Day, b.Earliest.Day), cmp.Compare(b.Earliest.Clear.Value, a.Earliest.Clear.Value))
	case a.Earliest != nil:
		return -1
	case b.Earliest != nil:
		return 1
	case a.Best != nil && b.Best != nil:
		return cmp.Compare(b.Best.Clear.Value, a.Best.Clear.Value)
	case a.Best != nil:
		return -1
	case b.Best != nil:
		return 1
	}
	return 0
}

// byCost orders outlooks: first those that reach the line, the cheapest first;
// then the others by cost.
func byCost(a, b *Outlook) int {
	switch {
	case a.Cheapest == nil || b.Cheapest == nil:
		return byEarliest(a, b)
	case a.Cheapest.Met != b.Cheapest.Met:
		if a.Cheapest.Met {
			return -1
		}
		return 1
	}
	return cmp.Compare(a.Cheapest.Cost, b.Cheapest.Cost)
}
