package clearance

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"

	"holdfast/science/ref"
)

// Scenario is one case of the check files (see testdata/checks): fixed
// figures, one tank at one temperature, one plan, an infested start, no looks.
type Scenario struct {
	Name string
	P    ScenarioFigures
	S    ScenarioPlan
	// Days are the days asked for, each within the horizon.
	Days []float64
}

// ScenarioFigures are the model's figures at the tank's temperature. Rates are
// per day; Mu stands for the death rate of adults (A), juveniles (J), larvae (L),
// swimming displaced worms (F) and eggs on the host (E).
type ScenarioFigures struct {
	MoultMean, MoultCV, MatMean, MatCV float64
	MuA, MuJ, MuL, MuF, MuE            float64
	Lay, DevMean, DevCV, HatchMean     float64
	Beta, Shed, Leave                  float64
	PullEff, PMiss, BathEff, KJ, KL    float64
	HostHaz, Stress, HOn, Stay, Via    float64
	// NI is the number of infested hosts at the start; -1 draws it from a
	// binomial with Prev, given at least one.
	NI              int
	Prev            float64
	LoadMean, LoadK float64
	FAdult, Age     float64
	// Worms above 0 puts exactly that many on each infested host, without eggs:
	// adults, or new juveniles if NewJuv.
	Worms  int
	NewJuv bool
}

// ScenarioPlan is the tank and what is done.
type ScenarioPlan struct {
	N int
	V float64
	// Baths are pairs of first day and duration.
	Baths        [][2]float64
	PullF        int
	PullA, PullB float64
	Horizon      float64
	// Cap is how many worms may ever be born in a run before it counts as not free.
	Cap int
}

// ScenarioFree is the answer for one day: the share of runs that are free, its
// standard error, and the share of runs that passed the cap.
type ScenarioFree struct {
	Scenario string  `json:"scenario"`
	Day      float64 `json:"day"`
	Free     float64 `json:"free"`
	SE       float64 `json:"se"`
	Capped   float64 `json:"capped"`
}

// maxScenarioRuns bounds the memory of one scenario.
const maxScenarioRuns = 1000000

// mayLack are the figures that a scenario may leave out: they are 0, or not asked
// for when others are given. Any other that is missing would silently be 0, and a
// rate of death of 0 is no small thing.
var mayLack = []string{"Prev", "LoadMean", "LoadK", "FAdult", "Age", "Worms", "NewJuv"}

// UnmarshalJSON reads the figures, each by its name; an unknown name and a missing
// one are errors.
func (p *ScenarioFigures) UnmarshalJSON(data []byte) error {
	var named map[string]json.RawMessage
	if err := json.Unmarshal(data, &named); err != nil {
		return err
	}
	t := reflect.TypeFor[ScenarioFigures]()
	for i := range t.NumField() {
		name := t.Field(i).Name
		if _, ok := named[name]; !ok && !slices.Contains(mayLack, name) {
			return fmt.Errorf("P lacks %s", name)
		}
	}
	type plain ScenarioFigures
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	return d.Decode((*plain)(p))
}

func (s *Scenario) check() error {
	p, q := &s.P, &s.S
	for _, x := range []struct {
		name      string
		v, lo, hi float64
	}{
		{"N", float64(q.N), 1, maxAnimals}, {"V", q.V, 1e-9, 1e12}, {"Horizon", q.Horizon, 1e-9, 4000},
		{"Cap", float64(q.Cap), 1, 1e7}, {"PullF", float64(q.PullF), 0, 4},
		{"MoultMean", p.MoultMean, 1e-3, 1e9}, {"MoultCV", p.MoultCV, 0, 10},
		{"MatMean", p.MatMean, 0, 1e9}, {"MatCV", p.MatCV, 0, 10}, {"DevMean", p.DevMean, 0, 1e9}, {"DevCV", p.DevCV, 0, 10},
		{"HatchMean", p.HatchMean, 0, 1e12}, {"Leave", p.Leave, 0, 1e9}, {"Lay", p.Lay, 0, 100},
		{"MuA", p.MuA, 0, 1e6}, {"MuJ", p.MuJ, 0, 1e6}, {"MuL", p.MuL, 0, 1e6}, {"MuF", p.MuF, 0, 1e6}, {"MuE", p.MuE, 0, 1e6},
		{"Beta", p.Beta, 0, 1e6}, {"KJ", p.KJ, 0, 1e3}, {"KL", p.KL, 0, 1e3}, {"HostHaz", p.HostHaz, 0, 1e3},
		{"Shed", p.Shed, 0, 1}, {"PullEff", p.PullEff, 0, 1}, {"PMiss", p.PMiss, 0, 1}, {"BathEff", p.BathEff, 0, 1},
		{"Stress", p.Stress, 0, 1}, {"HOn", p.HOn, 0, 1}, {"Stay", p.Stay, 0, 1}, {"Via", p.Via, 0, 1}, {"FAdult", p.FAdult, 0, 1},
		{"Age", p.Age, 0, 4000}, {"NI", float64(p.NI), -1, float64(q.N)}, {"Worms", float64(p.Worms), 0, 1e6},
		{"LoadMean", p.LoadMean, 0, 1e4}, {"LoadK", p.LoadK, 0, 1e6}, {"Prev", p.Prev, 0, 1},
	} {
		if !(x.v >= x.lo && x.v <= x.hi) {
			return ref.Inputf(s.Name+" "+x.name, "See the list of fields beside the check files.", "%g is not between %g and %g", x.v, x.lo, x.hi)
		}
	}
	if p.NI == 0 || p.NI < 0 && p.Prev <= 0 {
		return ref.Inputf(s.Name+" NI", "Give at least one infested host, or -1 and Prev above 0.", "the lot starts without any infested host")
	}
	if p.Worms == 0 && (p.LoadMean <= 0 || p.LoadK <= 0) {
		return ref.Inputf(s.Name+" LoadMean", "Give LoadMean and LoadK above 0, or Worms.", "no load is given")
	}
	if len(s.Days) == 0 || slices.Min(s.Days) < 0 || slices.Max(s.Days) > q.Horizon {
		return ref.Inputf(s.Name+" Days", "Ask for days from 0 to the horizon.", "the days must lie between 0 and %g", q.Horizon)
	}
	if len(q.Baths) > 200 {
		return ref.Inputf(s.Name+" Baths", "Give at most 200 baths.", "%d baths", len(q.Baths))
	}
	for _, b := range q.Baths {
		if !(b[0] >= 0 && b[1] > 0) {
			return ref.Inputf(s.Name+" Baths", "Each bath is [first day, days].", "a bath of %g days from day %g", b[1], b[0])
		}
	}
	return nil
}

// trial lays the scenario out for the runs.
func (s *Scenario) trial() (*trial, Values) {
	p := s.P
	v := Values{
		MoultMean: p.MoultMean, MoultCV: p.MoultCV, MatMean: p.MatMean, MatCV: p.MatCV,
		AdultLife: 1 / p.MuA, JuvHaz: p.MuJ, Lay: p.Lay, DevMean: p.DevMean, DevCV: p.DevCV, EggHaz: p.MuE,
		HOn: p.HOn, Stay: p.Stay, Via: p.Via, HatchMean: p.HatchMean, Beta: p.Beta, LarvaLife: 1 / p.MuL,
		Shed: p.Shed, Leave: p.Leave, FreeLife: 1 / p.MuF, PullEff: p.PullEff, PMiss: p.PMiss,
		KJ: p.KJ, KL: p.KL, MoultQ10: 1, WormQ10: 1, HostHaz: p.HostHaz, Stress: p.Stress,
		Prev: p.Prev, LoadMean: p.LoadMean, LoadK: p.LoadK, FAdult: p.FAdult, Age: p.Age,
	}
	t := &trial{
		places: s.S.N, horizon: s.S.Horizon, limit: s.S.Cap,
		startHosts: max(p.NI, 0), startWorms: p.Worms, startJuvenile: p.NewJuv,
	}
	var doses []Dose
	for _, b := range s.S.Baths {
		doses = append(doses, Dose{Treatment: "bath", Day: b[0], Days: b[1]})
	}
	pulls := []Pulls{{From: s.S.PullA, To: s.S.PullB, PerDay: s.S.PullF}}
	t.schedules = []schedule{newSchedule(Tank{VolumeL: s.S.V}, 0, doses, pulls, map[string]int{"bath": 0}, s.S.Horizon)}
	t.events = events(doses, nil, nil)
	t.asked, t.looks = newCalendar(nil, t.horizon), newCalendar(nil, t.horizon)
	return t, v
}

// Free returns the chance of free, given the infested start, on each day asked
// for. A mean of exactly 0 is a certain 0. It returns an *ref.InputError for
// figures out of range, and ctx's error when that ends first.
func (s *Scenario) Free(ctx context.Context, runs int, seed uint64) ([]ScenarioFree, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	if runs < 1 || runs > maxScenarioRuns {
		return nil, ref.Inputf("runs", "Ask for 1 to 1000000 runs.", "%d runs", runs)
	}
	ends, capped, err := s.ends(ctx, runs, seed)
	if err != nil {
		return nil, err
	}
	var out []ScenarioFree
	for _, day := range s.Days {
		free := 0
		for _, e := range ends {
			if e <= day {
				free++
			}
		}
		n := float64(runs)
		out = append(out, ScenarioFree{s.Name, day, float64(free) / n, shareError(free, runs), float64(capped) / n})
	}
	return out, nil
}

// shareError returns the standard error of a share of x in n. Half a run is added
// to either side, so that none of n does not pass for certainty.
func shareError(x, n int) float64 {
	p := (float64(x) + .5) / (float64(n) + 1)
	return math.Sqrt(p * (1 - p) / float64(n))
}

// ends returns, for each run, the latest time at which anything lives, and how
// many runs passed the cap.
func (s *Scenario) ends(ctx context.Context, runs int, seed uint64) (ends []float64, capped int, err error) {
	t, v := s.trial()
	kill := []float64{s.P.BathEff}
	ends = make([]float64, runs)
	over := make([]bool, runs)
	err = each(ctx, runs, batch, func() func(int) {
		r := t.newRun()
		return func(i int) {
			r.follow(runKey(seed, i), &v, kill, nil, nil)
			ends[i], over[i] = r.end, r.capped
		}
	})
	for _, o := range over {
		if o {
			capped++
		}
	}
	return ends, capped, err
}
