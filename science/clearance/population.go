package clearance

import (
	"cmp"
	"math"
	"slices"
)

// population places the hosts and works out who dies, leaves and moves, none of
// which depends on the worms (a look's positives are handed in as partings).
func (r *run) population(partings []parting) {
	r.round++
	r.hostKeys = r.key.child(runHosts)
	r.exits, r.moved, r.left = false, false, r.left[:0]
	r.mortality()
	picks := r.key.child(runEvents)
	rest := slices.Clone(partings)
	slices.SortFunc(rest, func(a, b parting) int { return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.host, b.host)) })
	for i, e := range r.events {
		for len(rest) > 0 && rest[0].day < e.day {
			r.part(rest[0])
			rest = rest[1:]
		}
		if e.kind == dosed {
			r.stress(e)
		} else {
			r.happen(e, picks.child(uint64(i)))
		}
	}
	for _, x := range rest {
		r.part(x)
	}
}

// host returns host h as this run knows it. Places are many and most are never
// touched, so one is made anew only when it is asked for.
func (r *run) host(h int) *host {
	x := &r.hosts[h]
	if x.round != r.round {
		*x = host{key: r.hostKeys.child(uint64(h)), gone: math.Inf(1), row: -1, stay: -1, round: r.round}
	}
	return x
}

// mortality draws deaths by chance from the day on which the record of deaths
// ends: as one process for all hosts, each event striking one by lot, so that the
// work grows with the deaths and not with the animals.
func (r *run) mortality() {
	if r.v[HostHaz] <= 0 {
		return
	}
	k := r.key.child(runDeaths)
	mean := 1 / (r.v[HostHaz] * float64(len(r.hosts)))
	t := r.deathsKnown
	for i := uint64(0); ; i++ {
		if t += mean * k.exp(at(0, i)); t > r.horizon {
			return
		}
		if h := int(k.unit(at(1, i)) * float64(len(r.hosts))); r.host(h).gone > t {
			r.leave(h, t, true)
		}
	}
}

// stress draws the deaths within two days after a dose.
func (r *run) stress(e event) {
	if r.v[Stress] <= 0 || e.day > r.horizon {
		return
	}
	k := r.key.child(runStress).child(uint64(e.animals))
	k.some(len(r.hosts), r.v[Stress], func(h int) {
		t := e.day + 2*k.unit(at(1, uint64(h)))
		if t > r.deathsKnown && t < r.host(h).gone && r.present(h, e.day, e.from) {
			r.leave(h, t, true)
		}
	})
}

// happen takes e.animals animals, drawn by lot from those present, out of their
// tank or to another.
func (r *run) happen(e event, k key) {
	if e.day > r.horizon {
		return
	}
	present := r.presentCount(e.day, e.from)
	for taken, i := 0, uint64(0); taken < min(e.animals, present); i++ {
		h := int(k.unit(at(0, i)) * float64(len(r.hosts)))
		if !r.present(h, e.day+2*tick, e.from) {
			continue // also one that was taken just now
		}
		taken++
		if e.kind == moved {
			r.move(h, e.day+2*tick, e.to)
		} else {
			r.leave(h, e.day+tick, e.kind == died)
		}
	}
}

func (r *run) part(p parting) {
	if p.to < 0 {
		r.leave(int(p.host), p.day+tick, false)
	} else {
		r.move(int(p.host), p.day+2*tick, int(p.to))
	}
}

func (r *run) leave(h int, t float64, carcass bool) {
	if t > r.horizon {
		return
	}
	x := r.host(h)
	if math.IsInf(x.gone, 1) {
		r.left = append(r.left, int32(h))
	}
	x.gone, x.carcass = t, carcass
	r.exits = true
}

func (r *run) move(h int, t float64, to int) {
	r.moved = true
	r.stays = append(r.stays, stay{from: t, tank: int32(to), next: -1})
	at := &r.host(h).stay
	for *at >= 0 {
		at = &r.stays[*at].next
	}
	*at = int32(len(r.stays) - 1)
}

// tankOf returns where host h is at t, and when that next changes.
func (r *run) tankOf(h int, t float64) (tank int, until float64) {
	for i := r.host(h).stay; i >= 0; i = r.stays[i].next {
		if r.stays[i].from > t {
			return tank, r.stays[i].from
		}
		tank = int(r.stays[i].tank)
	}
	return tank, math.Inf(1)
}

// tankAt returns where host h is at t.
func (r *run) tankAt(h int, t float64) int {
	if !r.moved {
		return 0
	}
	tank, _ := r.tankOf(h, t)
	return tank
}

// clockOn returns when d days of the worm's clock have passed after t for what
// sits on host h through its moves, until it is shed at s and lies in that tank.
func (r *run) clockOn(h int, t, d, s float64) float64 {
	if !r.moved {
		return r.tanks[0].wormTime(t, d)
	}
	for {
		tank, change := r.tankOf(h, t)
		w := &r.tanks[tank]
		if change >= s || change > r.horizon {
			return w.wormTime(t, d)
		}
		if when := w.wormTime(t, d); when <= change {
			return when
		}
		d -= w.aged(t, change)
		t = change
	}
}

// agedOn returns how many days of the worm's clock pass from a to b on host h.
func (r *run) agedOn(h int, a, b float64) float64 {
	if !r.moved {
		return r.tanks[0].aged(a, b)
	}
	d := 0.0
	for a < b {
		tank, change := r.tankOf(h, a)
		stop := min(b, change)
		d += r.tanks[tank].aged(a, stop)
		a = stop
	}
	return d
}

// present says whether host h is alive and in the tank at t.
func (r *run) present(h int, t float64, tank int) bool {
	if r.exits && r.host(h).gone <= t {
		return false
	}
	if !r.moved {
		return tank == 0
	}
	return r.tankAt(h, t) == tank
}

// clock draws the times at which host h sheds, up to the first one beyond the
// horizon, or its death, whichever comes first.
func (r *run) clock(h int) *host {
	x := r.host(h)
	if x.drawn {
		return x
	}
	x.drawn = true
	r.touched = append(r.touched, int32(h))
	x.first = int32(len(r.moults))
	stop := min(x.gone, math.Nextafter(r.horizon, math.Inf(1)))
	t, n := 0.0, uint64(1)
	d := r.firstMoult(x) * r.moultScale
	for {
		if t = r.hostTime(h, t, d, stop); t >= stop {
			break
		}
		r.moults = append(r.moults, t)
		d = r.salted(x.key, t).draw(at(hMoult, n), &r.moult) * r.moultScale
		n++
	}
	if x.gone > r.horizon {
		stop = math.Inf(1)
	}
	r.moults = append(r.moults, stop)
	for len(r.pulled) < len(r.moults) {
		r.pulled = append(r.pulled, 0)
		r.eggsFrom = append(r.eggsFrom, math.Inf(1))
	}
	x.last = int32(len(r.moults))
	return x
}

// firstMoult returns the wait to the first moult after day 0, a random moment,
// in units of moultScale: the interval that holds it is drawn by length.
func (r *run) firstMoult(x *host) float64 {
	return x.key.draw(at(hMoult, 0), &r.resid) * (1 - x.key.unit(at(hMoult, 0)+200))
}

// sinceMoult returns how long before day 0, in days, host h last moulted.
func (r *run) sinceMoult(x *host) float64 {
	whole := x.key.draw(at(hMoult, 0), &r.resid) * r.moultScale
	return whole * x.key.unit(at(hMoult, 0)+200) / r.tanks[0].spans[0].qm
}

// hostTime returns when d days of the moult clock have passed for host h after
// t, or stop if that comes first.
func (r *run) hostTime(h int, t, d, stop float64) float64 {
	if !r.moved {
		w := &r.tanks[0]
		if w.steady {
			return min(stop, t+d/w.spans[0].qm)
		}
		t, _ = w.moultTime(t, d, stop)
		return t
	}
	for t < stop {
		tank, until := r.tankOf(h, t)
		until = min(until, stop)
		if t, d = r.tanks[tank].moultTime(t, d, until); t < until {
			return t
		}
	}
	return stop
}

// shed returns the index of the first shedding of host x after t.
func (r *run) shed(x *host, t float64) int32 {
	j := x.first
	for r.moults[j] <= t {
		j++
	}
	return j
}

// pull returns when the skin (or body) that host h left at shedding j is pulled,
// or +Inf. All that lies on one skin shares its fate.
func (r *run) pull(h int, j int32) float64 {
	if r.pulled[j] != 0 {
		return r.pulled[j]
	}
	x := r.host(h)
	s := r.moults[j]
	r.pulled[j] = r.firstPull(r.tankAt(h, s-tick), s, x.key, uint64(j-x.first))
	return r.pulled[j]
}

func (r *run) firstPull(tank int, s float64, k key, skin uint64) float64 {
	w := &r.tanks[tank]
	k = k.child(skin)
	for day := int(s); day <= w.lastPull; day++ {
		p := &w.pulls[day]
		if len(p.slots) == 0 || !p.sure && r.missed(tank, day) {
			continue
		}
		for _, slot := range p.slots {
			t := float64(day) + pullAt[slot]
			if t >= s && r.salted(k, t).unit(at(hPull, uint64(day*4+slot))) < r.v[PullEff] {
				return t
			}
		}
	}
	return math.Inf(1)
}

// missed says whether nobody pulled on a day that was planned.
func (r *run) missed(tank, day int) bool {
	k := r.key.child(runMissed).child(uint64(tank))
	return r.salted(k, float64(day)).unit(at(0, uint64(day))) < r.v[PMiss]
}
