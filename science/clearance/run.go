package clearance

import "math"

// Numbers of the decisions of each kind of entity. Kinds have keys of their own,
// so numbers may repeat between kinds.
const (
	// worm
	wDeath uint64 = iota
	wMature
	wShed
	wLeave
	wLay
	wContact
	wAge
	wAdult
	wEggs
)
const (
	// egg and larva
	eDeath uint64 = iota
	eDevelop
	eHatchOn
	eStay
	eViable
	eHatch
	eLarva
	eContact
)
const (
	// host
	hMoult uint64 = iota
	hPull
	hLoad
)
const (
	// children of a run's key
	runFigures uint64 = iota
	runHosts
	runStart
	runMissed
	runDeaths
	runStress
	runEvents
	runKills
	runPick
	runSift
)

// host is one animal's place.
type host struct {
	key     key
	gone    float64 // when it died or left, or +Inf
	carcass bool    // it died in the tank
	drawn   bool
	first   int32 // its sheddings are moults[first:last]; the last lies beyond
	last    int32 // the horizon or is its death
	row     int32 // its row in the counts, or -1
	stay    int32 // head of its list of moves, or -1
	round   uint64
}

// stay is a move of one host to another tank.
type stay struct {
	from float64
	tank int32
	next int32
}

// newcomer is a juvenile that has just attached.
type newcomer struct {
	key  key
	at   float64
	host int32
	next int32
}

// load is what one animal carries at a look.
type load struct{ adults, juveniles, eggs int32 }

// epoch starts new chance for everything decided after a day: how copies of a
// resampled run part.
type epoch struct {
	from float64
	salt uint64
}

// parting takes one particular host out (to -1) or to another tank.
type parting struct {
	day  float64
	host int32
	to   int32
}

// run follows one lot. It is an arena: begin resets it, and nothing is allocated
// once its slices have grown.
type run struct {
	*trial
	key    key
	v      Values
	kill   []float64
	epochs []epoch
	tanks  []water

	hosts    []host
	hostKeys key
	round    uint64  // tells hosts of this run from those of the last
	touched  []int32 // hosts whose clock was drawn
	left     []int32 // hosts that died or left
	moults   []float64
	pulled   []float64 // when the skin of each moult is pulled: 0 not yet drawn
	// eggsFrom is, for each moult, the time from which on some egg lies under the
	// skin until it is shed.
	eggsFrom []float64
	stays    []stay
	moved    bool // some host changes tanks
	exits    bool // some host dies or leaves

	moult, mature, develop gammaShape
	moultScale             float64 // days per unit of moult
	matScale, devScale     float64
	resid                  gammaShape // length of the interval that holds day 0
	eggMean                float64    // mean life of an egg on the host; 0: for ever
	adultHaz, larvaHaz     float64    // 1/d

	days []int32 // heads of the newcomers' lists by day
	new  []newcomer

	born   int
	first  int     // worms of day 0 among the born
	capped bool    // more worms than the limit were born, or surely will be
	known  float64 // the run was followed until then: +Inf, or less if it is capped
	end    float64 // latest time at which anything lives, +Inf beyond the horizon
	lived  float64 // the same of the worm that is being followed, and what came of it

	since  float64 // who attached before it is known from another run
	before int     // how many that were, without those of day 0
	forks  []*fork // each notes who lives on some day

	rows  []int32 // host of each row
	diff  []int32 // len(rows) × (asked days + 1): changes in presence
	loads []load  // rows × looks
	tally *tally
}

// follow simulates run i of the trial with the given values.
func (r *run) follow(k key, v *Values, kill []float64, epochs []epoch, partings []parting) {
	r.begin(k, v, kill, epochs, partings)
	r.seed()
	r.through(0)
	r.markEggs()
}

// through follows who attaches from a day on.
func (r *run) through(from int) {
	for day := from; day < len(r.days); day++ {
		for r.days[day] >= 0 && !r.given(float64(day)) {
			n := &r.new[r.days[day]]
			r.days[day] = n.next
			r.juvenile(n.key, int(n.host), n.at)
		}
	}
	if r.capped {
		r.end = math.Inf(1)
	}
}

func (r *run) begin(k key, v *Values, kill []float64, epochs []epoch, partings []parting) {
	r.key, r.v, r.kill, r.epochs = k, *v, kill, epochs
	r.born, r.first, r.capped, r.known, r.end = 0, 0, false, math.Inf(1), 0
	r.since, r.before = 0, 0
	for _, f := range r.forks {
		f.worms, f.arrived, f.ended = f.worms[:0], 0, 0
	}
	r.moults, r.pulled, r.eggsFrom, r.stays = r.moults[:0], r.pulled[:0], r.eggsFrom[:0], r.stays[:0]
	r.new, r.rows, r.diff, r.touched = r.new[:0], r.rows[:0], r.diff[:0], r.touched[:0]
	r.loads = r.loads[:0]
	for i := range r.days {
		r.days[i] = -1
	}
	for i := range r.tanks {
		r.tanks[i].fill(&r.schedules[i], v, kill, len(r.hosts))
	}
	shape, g := shapeOf(v[MoultCV])
	r.moult, r.moultScale = g, v[MoultMean]
	r.resid = g
	if !g.fixed {
		r.moultScale /= shape
		r.resid = newGamma(shape + 1)
	}
	r.mature, r.matScale = scaled(v[MatMean], v[MatCV])
	r.develop, r.devScale = scaled(v[DevMean], v[DevCV])
	r.adultHaz, r.larvaHaz, r.eggMean = 1/v[AdultLife], 1/v[LarvaLife], 0
	if v[EggHaz] > 0 {
		r.eggMean = 1 / v[EggHaz]
	}
	r.population(partings)
}

// scaled returns the sampler of a Gamma and its scale.
func scaled(mean, cv float64) (gammaShape, float64) {
	shape, g := shapeOf(cv)
	if g.fixed {
		return g, mean
	}
	return g, mean / shape
}

func (k key) draw(n uint64, g *gammaShape) float64 {
	if g.fixed {
		return 1
	}
	return k.gamma(n, g)
}

// given says whether the run is given up on a day: it is sure to pass the limit,
// and the looks that were made lie behind. It is not free then, and every animal
// counts as carrying from that day on.
func (r *run) given(day float64) bool {
	if r.capped && (day >= r.settled || r.born > r.limit) {
		r.known = min(r.known, day)
	}
	return r.known <= day
}

// salted returns the key that decides for entity k at time t.
func (r *run) salted(k key, t float64) key {
	for i := len(r.epochs) - 1; i >= 0; i-- {
		if r.epochs[i].from < t {
			return key(mix(uint64(k) ^ r.epochs[i].salt))
		}
	}
	return k
}

// after returns when an exponential of the given mean (days) that starts at t
// ends. At an epoch it starts afresh, which changes nothing but the draw.
func (r *run) after(k key, n uint64, t, mean float64) float64 {
	if len(r.epochs) == 0 {
		return t + mean*k.exp(n)
	}
	for _, e := range r.epochs {
		if e.from <= t {
			continue
		}
		if x := t + mean*r.salted(k, t).exp(n); x <= e.from {
			return x
		}
		t = math.Nextafter(e.from, math.Inf(1))
	}
	return t + mean*r.salted(k, t).exp(n)
}

// last notes that something lived until t.
func (r *run) last(t float64) {
	if t > r.horizon {
		t = math.Inf(1)
	}
	if t > r.lived {
		r.lived = t
	}
}
