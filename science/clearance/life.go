package clearance

import "math"

// seed places the worms and eggs of day 0.
func (r *run) seed() {
	start := r.key.child(runStart)
	if r.startHosts > 0 {
		for h := range r.startHosts {
			r.infest(h)
		}
		return
	}
	start.infested(len(r.hosts), r.v[Prev], r.infest)
}

// infest puts the arriving worms on host h.
func (r *run) infest(h int) {
	x := r.host(h)
	n := r.startWorms
	if n == 0 {
		n = x.key.truncatedNegBin(at(hLoad, 0), r.v[LoadMean], r.v[LoadK])
	}
	for i := range n {
		if r.grow(0); r.known <= 0 {
			return
		}
		r.first++
		k := x.key.child(1 << 32).child(uint64(i))
		w := worm{key: k, host: int32(h)}
		switch {
		case r.startJuvenile:
			w.young = r.youth(k, 1)
		case r.startWorms > 0:
		case k.unit(at(wAdult, 0)) < r.v[FAdult]:
			w.laid = true
		default:
			w.young = r.youth(k, k.unit(at(wAge, 0)))
		}
		r.one(w)
	}
}

// worm is one worm as it attached, or arrived on day 0.
type worm struct {
	key   key
	at    float64
	young float64 // what it needs to become adult, in days at 24 °C
	host  int32
	laid  bool // it has laid before day 0
	came  bool // it was not here on day 0
}

// one follows a worm and all that comes of it until it is another worm.
func (r *run) one(w worm) {
	r.lived = 0
	if w.laid {
		r.oldEggs(w.key, int(w.host))
	}
	r.live(w.key, int(w.host), w.at, w.young)
	r.end = max(r.end, r.lived)
	for _, f := range r.forks {
		f.add(w, r.lived)
	}
}

// oldEggs lays what an arriving adult has left since its host last moulted.
func (r *run) oldEggs(k key, h int) {
	age := k.exp(at(wAge, 0)) * r.v[Age]
	window := min(age, r.sinceMoult(r.host(h)))
	rate := r.v[Lay] * r.tanks[0].spans[0].qw
	if rate <= 0 {
		return
	}
	t := 0.0
	for i := uint64(0); ; i++ {
		t -= k.exp(at(wEggs, i)) / rate
		if t < -window {
			return
		}
		r.egg(k.child(1<<32+i), t, h, r.clock(h).first)
	}
}

// juvenile lets a newcomer live.
func (r *run) juvenile(k key, h int, t float64) {
	if r.grow(t); r.known <= t {
		return
	}
	r.one(worm{key: k, host: int32(h), at: t, young: r.youth(k, 1), came: true})
}

// grow counts one more worm, attached at t.
func (r *run) grow(t float64) {
	if r.born++; r.born > r.limit {
		r.capped, r.known = true, math.Floor(t)
	}
}

// youth returns how many days at 24 °C a worm that has just attached takes to
// become adult, share being what is left of the whole time.
func (r *run) youth(k key, share float64) float64 {
	return share * r.matScale * k.draw(at(wMature, 0), &r.mature)
}

// wormEnd spends resistance e of a worm in one tank from t to until, with extra
// hazard while it swims.
func (r *run) wormEnd(k key, w *water, e, t, mature, until, extra float64, onHost bool) (end, left float64) {
	for _, p := range r.epochs {
		if t < p.from && p.from < until {
			if end, left = r.wormEnds(w, e, t, mature, p.from, extra, onHost); left == 0 {
				return end, left
			}
			// Resistance is exponential and has no memory: draw it afresh.
			t, e = p.from, key(mix(uint64(k)^p.salt)).exp(at(wDeath, 1))
		}
	}
	return r.wormEnds(w, e, t, mature, until, extra, onHost)
}

func (r *run) wormEnds(w *water, e, t, mature, until, extra float64, onHost bool) (end, left float64) {
	if t < mature {
		stop := min(mature, until)
		if end, left = w.wear(e, t, stop, r.v[JuvHaz]+extra, r.v[KJ], onHost); left == 0 || stop == until {
			return end, left
		}
		t, e = stop, left
	}
	return w.wear(e, t, until, r.adultHaz+extra, 1, onHost)
}

// attachedEnd is wormEnd for a worm that stays on host h through its moves.
func (r *run) attachedEnd(k key, h int, e, t, mature, until float64) (end, left float64) {
	if !r.moved {
		return r.wormEnd(k, &r.tanks[0], e, t, mature, until, 0, true)
	}
	for {
		tank, change := r.tankOf(h, t)
		stop := min(change, until)
		if end, left = r.wormEnd(k, &r.tanks[tank], e, t, mature, stop, 0, true); left == 0 || stop == until {
			return end, left
		}
		t, e = stop, left
	}
}

// live follows one worm from its attachment to host h at t until its end. young
// is what it needs to become adult, in days at 24 °C.
func (r *run) live(k key, h int, t, young float64) {
	e := k.exp(at(wDeath, 0))
	var m wormMarks
	for {
		x := r.clock(h)
		mature := r.clockOn(h, t, young, math.Inf(1))
		death, left := r.attachedEnd(k, h, e, t, mature, r.horizon)
		if left > 0 {
			death = math.Inf(1)
		}
		off, j, displaced := r.stayOn(k, x, t, death, &m)
		r.carry(h, t, off, mature)
		r.layOn(k, h, x, t, off, mature, &m)
		if !displaced {
			r.last(min(off, death))
			return
		}
		if _, e = r.attachedEnd(k, h, e, t, mature, off); e <= 0 {
			r.last(off)
			return
		}
		young = max(0, young-r.agedOn(h, t, off))
		if h, t, e, young = r.drift(k, h, j, e, off, young, &m); h < 0 {
			return
		}
	}
}

// wormMarks counts what one worm has decided so far.
type wormMarks struct{ sheds, eggs, contacts uint64 }

// stayOn returns when a worm that sits on host x since t leaves it: by death, by
// going with a shed skin (j), or with the host.
func (r *run) stayOn(k key, x *host, t, death float64, m *wormMarks) (off float64, j int32, displaced bool) {
	for j = r.shed(x, t); ; j++ {
		s := r.moults[j]
		if s > death || s > r.horizon {
			return death, j, false
		}
		if s == x.gone {
			return s, j, x.carcass
		}
		m.sheds++
		if r.salted(k, s).unit(at(wShed, m.sheds)) < r.v[Shed] {
			return s, j, true
		}
	}
}

// layOn lays the eggs of a worm on host x between t and off.
func (r *run) layOn(k key, h int, x *host, t, off, mature float64, m *wormMarks) {
	if t = max(t, mature); t >= off || r.v[Lay] <= 0 {
		return
	}
	until := min(off, r.horizon)
	if t >= until {
		return
	}
	w := &r.tanks[0]
	mean := 1 / r.v[Lay]
	if w.steady && !r.moved && len(r.epochs) == 0 {
		mean /= w.spans[0].qw
		j := r.shed(x, t)
		for {
			m.eggs++
			if t += mean * k.exp(at(wLay, m.eggs)); t >= until {
				return
			}
			for r.moults[j] <= t {
				j++
			}
			r.egg(k.child(m.eggs), t, h, j)
		}
	}
	for {
		m.eggs++
		if t = r.nextLaid(k, h, t, mean, m.eggs, until); t >= until {
			return
		}
		r.egg(r.salted(k, t).child(m.eggs), t, h, r.shed(x, t))
	}
}

// nextLaid returns when the n-th egg is laid, from t on, through changes of
// temperature, moves and epochs.
func (r *run) nextLaid(k key, h int, t, mean float64, n uint64, until float64) float64 {
	e := r.salted(k, t).exp(at(wLay, n)) * mean
	for t < until {
		tank, change := r.tankOf(h, t)
		for _, p := range r.epochs {
			if p.from > t {
				change = min(change, p.from)
			}
		}
		next := r.tanks[tank].wormTime(t, e)
		if next <= change || change >= until {
			return next
		}
		// The waiting time has no memory: what is left may start afresh.
		t = math.Nextafter(change, math.Inf(1))
		e = r.salted(k, t).exp(at(wLay, n)+1) * mean
		n++
	}
	return until
}

// drift follows a worm from the skin that host h shed at t: off the skin, through
// the water, to the next host. It returns that host (-1: the worm ended), the time,
// the resistance left and what it still needs to become adult.
func (r *run) drift(k key, h int, j int32, e, t, young float64, m *wormMarks) (int, float64, float64, float64) {
	tank := r.tankAt(h, t-tick)
	w := &r.tanks[tank]
	mature := w.wormTime(t, young)
	leave, pulled := r.after(k, at(wLeave, m.sheds), t, r.v[Leave]), r.pull(h, j)
	stop := min(leave, pulled, r.horizon)
	end, left := r.wormEnd(k, w, e, t, mature, stop, 0, false)
	if left == 0 || pulled <= leave || leave > r.horizon {
		if left > 0 && stop == r.horizon {
			end = math.Inf(1)
		}
		if r.tally != nil {
			r.tally.worm(t, end, mature, true)
		}
		r.last(end)
		return -1, 0, 0, 0
	}
	swim := 1 / r.v[FreeLife]
	end, alive := r.wormEnd(k, w, left, leave, mature, r.horizon, swim, false)
	to, found := r.find(k, wContact, &m.contacts, tank, leave, end)
	if r.tally != nil {
		r.tally.worm(t, found, mature, true)
	}
	if to < 0 {
		if alive > 0 {
			end = math.Inf(1)
		}
		r.last(end)
		return -1, 0, 0, 0
	}
	_, left = r.wormEnd(k, w, left, leave, mature, found, swim, false)
	return to, found, left, max(0, young-w.aged(t, found))
}

// find returns the first host that something swimming in a tank since t meets
// before end. Every place for an animal is met at the same rate; meeting an empty
// one is no meeting.
func (r *run) find(k key, stream uint64, contacts *uint64, tank int, t, end float64) (int, float64) {
	w := &r.tanks[tank]
	if w.rate <= 0 {
		return -1, end
	}
	mean := 1 / w.rate
	for {
		*contacts++
		n := at(stream, *contacts)
		if t = r.after(k, n, t, mean); t >= end {
			return -1, end
		}
		h := int(r.salted(k, t).unit(n+64) * float64(len(r.hosts)))
		if !r.exits && !r.moved || r.present(h, t, tank) {
			return h, t
		}
	}
}

// egg follows one egg laid at t on host h, whose next shedding is j. Its draws
// are made only as far as its fate needs them: most eggs die or are lost with a
// skin before it matters when they would have been ripe.
func (r *run) egg(k key, t float64, h int, j int32) {
	onHost := max(t, 0) // eggs of before day 0 count from then
	s := r.moults[j]
	death := math.Inf(1)
	if r.eggMean > 0 {
		death = r.after(k, at(eDeath, 0), onHost, r.eggMean)
	}
	var d float64 // development, days at 24 °C
	if r.hatches(k, 0) {
		d = r.devScale * k.draw(at(eDevelop, 0), &r.develop)
		if hatch := max(r.ripe(h, t, d, s), 0); hatch < s && hatch < death && hatch <= r.horizon && r.hatches(k, hatch) {
			r.carryEgg(h, j, onHost, hatch, false)
			r.hatchOn(k, h, hatch)
			return
		}
	}
	if death <= s || s > r.horizon {
		r.carryEgg(h, j, onHost, min(s, death), death > s)
		r.last(min(s, death))
		return
	}
	r.carryEgg(h, j, onHost, s, true)
	if x := r.host(h); s == x.gone && !x.carcass || r.salted(k, s).unit(at(eViable, 0)) >= r.v[Via] {
		r.last(s)
		return
	}
	if d == 0 {
		d = r.devScale * k.draw(at(eDevelop, 0), &r.develop)
	}
	r.hatchOff(k, h, j, r.ripe(h, t, d, s))
}

// hatches says whether the egg, ripe at t, hatches on the animal; without epochs
// the moment does not matter.
func (r *run) hatches(k key, t float64) bool {
	if len(r.epochs) > 0 {
		if t == 0 {
			return r.v[HOn] > 0
		}
		k = r.salted(k, t)
	}
	return k.unit(at(eHatchOn, 0)) < r.v[HOn]
}

// hatchOn lets an egg hatch on host h at t.
func (r *run) hatchOn(k key, h int, t float64) {
	if r.salted(k, t).unit(at(eStay, 0)) < r.v[Stay] {
		r.arrive(k, h, t)
		return
	}
	r.larva(k, r.tankAt(h, t), t)
}

// hatchOff lets a living egg on the skin of host h's shedding j hatch, unless the
// skin is pulled first.
func (r *run) hatchOff(k key, h int, j int32, ripe float64) {
	s := r.moults[j]
	tank := r.tankAt(h, s-tick)
	hatch, pulled := max(s, ripe), r.pull(h, j)
	if hatch < pulled {
		hk, n := r.salted(k, s), at(eHatch, 0)
		wait := r.v[HatchMean] / 2 * (hk.exp(n) + hk.exp(n+32))
		hatch = r.tanks[tank].wormTime(hatch, wait)
	}
	if r.tally != nil {
		r.tally.egg(s, min(hatch, pulled))
	}
	if pulled <= hatch || hatch > r.horizon {
		r.last(min(pulled, hatch))
		return
	}
	r.larva(k, tank, hatch)
}

// ripe returns when d days of development are over for an egg laid at t on host
// h; from the shedding s on it lies in the tank where that took place.
func (r *run) ripe(h int, t, d, s float64) float64 {
	if t < 0 { // laid before arrival: at the speed of day 0
		q := r.tanks[0].spans[0].qw
		if d <= -t*q {
			return t + d/q
		}
		d += t * q
		t = 0
	}
	return r.clockOn(h, t, d, s)
}

// larva lets a larva swim from t until it finds a host or dies.
func (r *run) larva(k key, tank int, t float64) {
	w := &r.tanks[tank]
	e := r.salted(k, t).exp(at(eLarva, 0))
	end, left := w.wear(e, t, r.horizon, r.larvaHaz, r.v[KL], false)
	var contacts uint64
	h, found := r.find(k, eContact, &contacts, tank, t, end)
	if r.tally != nil {
		r.tally.larva(t, found)
	}
	if h >= 0 {
		r.arrive(k, h, found)
		return
	}
	if left > 0 {
		end = math.Inf(1)
	}
	r.last(end)
}

// arrive hands a new juvenile on host h to the day of its arrival.
func (r *run) arrive(k key, h int, t float64) {
	r.lived = max(r.lived, t)
	if t < r.since {
		return
	}
	day := int(t)
	r.new = append(r.new, newcomer{key: r.salted(k, t).child(1), at: t, host: int32(h), next: r.days[day]})
	r.days[day] = int32(len(r.new) - 1)
	if r.first+r.before+len(r.new) > r.limit {
		r.capped = true // whoever arrives before the horizon will be born
	}
}
