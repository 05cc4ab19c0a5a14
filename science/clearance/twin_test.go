package clearance

import (
	"container/heap"
	"math"
	"math/rand/v2"
	"slices"
)

// twin follows one lot by a plain event queue with one stream of random numbers,
// written from the model's text alone and sharing no code with run: every entity
// schedules its next event from the present rates, and whenever a rate changes all
// of them schedule anew. Slow, and easy to check by eye.
type twin struct {
	c    *Case
	v    Values
	kill map[string]float64
	rng  *rand.Rand

	now   float64
	queue twinQueue
	seq   int
	tanks []twinTank
	hosts []*twinHost
	live  []*twinThing // worms, eggs and larvae that exist
	skins map[*twinSkin]bool
}

type twinTank struct {
	volume, temp float64
	baths        float64 // hazard to adult worms now
}

type twinHost struct {
	tank  int
	alive bool
	left  float64 // of the moult interval, days at 24 °C
	since float64
	event *twinEvent
}

type twinSkin struct{ tank int }

type kind int

const (
	aWorm kind = iota
	anEgg
	aLarva
)

// twinThing sits on a host, lies on a skin, or swims (neither).
type twinThing struct {
	kind  kind
	host  *twinHost
	skin  *twinSkin
	tank  int // while on a skin or swimming
	adult bool
	left  float64 // of maturing, developing or hatching, days at 24 °C
	ripe  bool    // egg: development over
	clock bool    // left runs
	since float64
	event *twinEvent
	gone  bool
}

type twinEvent struct {
	at   float64
	seq  int
	do   func()
	void bool
}

type twinQueue []*twinEvent

func (q twinQueue) Len() int { return len(q) }
func (q twinQueue) Less(i, j int) bool {
	return q[i].at < q[j].at || q[i].at == q[j].at && q[i].seq < q[j].seq
}
func (q twinQueue) Swap(i, j int) { q[i], q[j] = q[j], q[i] }
func (q *twinQueue) Push(x any)   { *q = append(*q, x.(*twinEvent)) }
func (q *twinQueue) Pop() any {
	old := *q
	x := old[len(old)-1]
	*q = old[:len(old)-1]
	return x
}

func (w *twin) plan(at float64, do func()) *twinEvent {
	w.seq++
	e := &twinEvent{at: at, seq: w.seq, do: do}
	heap.Push(&w.queue, e)
	return e
}

func (w *twin) gamma(mean, cv float64) float64 {
	if cv == 0 {
		return mean
	}
	k := 1 / (cv * cv)
	return w.gammaShape(k) * mean / k
}

// gammaShape sums exponentials and, for the rest of the shape, uses Ahrens and
// Dieter's rejection (not the sampler under test).
func (w *twin) gammaShape(k float64) float64 {
	x := 0.0
	for ; k >= 1; k-- {
		x += w.rng.ExpFloat64()
	}
	if k < 1e-9 {
		return x
	}
	for {
		u, e := w.rng.Float64()*(1+k/math.E), w.rng.ExpFloat64()
		if u <= 1 {
			if y := math.Pow(u, 1/k); y <= e {
				return x + y
			}
		} else if y := -math.Log((1 + k/math.E - u) / k); math.Pow(y, k-1) >= w.rng.Float64() {
			return x + y
		}
	}
}

func (w *twin) speed(tank int) float64 { return math.Pow(w.v[WormQ10], (w.tanks[tank].temp-24)/10) }
func (w *twin) moultSpeed(tank int) float64 {
	return math.Pow(w.v[MoultQ10], (w.tanks[tank].temp-24)/10)
}

func (t *twinThing) where() int {
	if t.host != nil {
		return t.host.tank
	}
	return t.tank
}

// settle brings all clocks up to now; change then alters rates; everything
// schedules anew.
func (w *twin) change(alter func()) {
	for _, h := range w.hosts {
		h.left -= (w.now - h.since) * w.moultSpeed(h.tank)
		h.since = w.now
	}
	for _, t := range w.live {
		w.settle(t)
	}
	alter()
	for _, h := range w.hosts {
		w.next(h)
	}
	for _, t := range w.live {
		w.wait(t)
	}
}

func (w *twin) settle(t *twinThing) {
	if t.clock {
		t.left -= (w.now - t.since) * w.speed(t.where())
	}
	t.since = w.now
}

func (w *twin) next(h *twinHost) {
	if h.event != nil {
		h.event.void = true
	}
	if !h.alive {
		return
	}
	moult := w.now + max(0, h.left)/w.moultSpeed(h.tank)
	death := math.Inf(1)
	if w.v[HostHaz] > 0 && w.now >= w.c.Today {
		death = w.now + w.rng.ExpFloat64()/w.v[HostHaz]
	}
	if death < moult {
		h.event = w.plan(death, func() { w.change(func() { w.die(h) }) })
		return
	}
	h.event = w.plan(moult, func() {
		h.left, h.since = w.gamma(w.v[MoultMean], w.v[MoultCV]), w.now
		w.cast(h, w.v[Shed])
		w.next(h)
	})
}

// cast sheds host h's skin: eggs go with it, each worm with chance shed.
func (w *twin) cast(h *twinHost, shed float64) {
	skin := &twinSkin{h.tank}
	w.skins[skin] = true
	for _, t := range slices.Clone(w.live) {
		if t.host != h {
			continue
		}
		switch {
		case t.kind == anEgg && w.rng.Float64() >= w.v[Via]:
			w.end(t)
		case t.kind == anEgg || w.rng.Float64() < shed:
			w.settle(t)
			t.host, t.skin, t.tank = nil, skin, h.tank
			if t.kind == anEgg && t.ripe {
				w.hatching(t)
			}
			w.wait(t)
		}
	}
}

func (w *twin) hatching(t *twinThing) {
	t.left = w.v[HatchMean] / 2 * (w.rng.ExpFloat64() + w.rng.ExpFloat64())
	t.clock, t.since = true, w.now
}

func (w *twin) die(h *twinHost) {
	if !h.alive {
		return
	}
	h.alive = false
	w.cast(h, 1)
	if h.event != nil {
		h.event.void = true
	}
}

func (w *twin) end(t *twinThing) {
	t.gone = true
	if t.event != nil {
		t.event.void = true
	}
	w.live = slices.DeleteFunc(w.live, func(x *twinThing) bool { return x == t })
}

func (w *twin) add(t *twinThing) {
	t.since = w.now
	w.live = append(w.live, t)
	w.wait(t)
}

// wait schedules what happens to t next: the soonest of its clock and of the
// events that come at a rate.
func (w *twin) wait(t *twinThing) {
	if t.event != nil {
		t.event.void = true
	}
	tank := &w.tanks[t.where()]
	q := w.speed(t.where())
	at, do := math.Inf(1), func() {}
	if t.clock {
		at, do = w.now+max(0, t.left)/q, func() { w.ring(t) }
	}
	rate := func(r float64, f func()) {
		if r > 0 {
			if x := w.now + w.rng.ExpFloat64()/r; x < at {
				at, do = x, f
			}
		}
	}
	find := w.v[Beta] * float64(w.alive(t.where())) / tank.volume
	switch t.kind {
	case aWorm:
		mu, k := w.v[JuvHaz], w.v[KJ]
		if t.adult {
			mu, k = 1/w.v[AdultLife], 1
		}
		if t.host == nil && t.skin == nil {
			mu += 1 / w.v[FreeLife]
			rate(find, func() { w.attach(t) })
		}
		rate(mu*q+k*tank.baths, func() { w.end(t) })
		if t.skin != nil {
			rate(1/w.v[Leave], func() { w.settle(t); t.skin = nil; w.wait(t) })
		}
		if t.host != nil && t.adult {
			rate(w.v[Lay]*q, func() { w.lay(t.host, w.now); w.wait(t) })
		}
	case anEgg:
		if t.host != nil {
			rate(w.v[EggHaz], func() { w.end(t) })
		}
	case aLarva:
		rate(q/w.v[LarvaLife]+w.v[KL]*tank.baths, func() { w.end(t) })
		rate(find, func() { w.attach(t) })
	}
	t.event = w.plan(at, do)
}

// ring is the end of t's clock.
func (w *twin) ring(t *twinThing) {
	t.clock = false
	switch {
	case t.kind == aWorm:
		t.adult = true
		w.wait(t)
	case !t.ripe:
		t.ripe = true
		if t.host == nil {
			w.hatching(t)
			w.wait(t)
		} else if w.rng.Float64() < w.v[HOn] {
			h := t.host
			w.end(t)
			if w.rng.Float64() < w.v[Stay] {
				w.juvenile(h)
			} else {
				w.add(&twinThing{kind: aLarva, tank: h.tank})
			}
		} else {
			w.wait(t)
		}
	default:
		w.end(t)
		w.add(&twinThing{kind: aLarva, tank: t.tank})
	}
}

func (w *twin) juvenile(h *twinHost) {
	w.add(&twinThing{kind: aWorm, host: h, clock: true, left: w.gamma(w.v[MatMean], w.v[MatCV])})
}

func (w *twin) attach(t *twinThing) {
	var here []*twinHost
	for _, h := range w.hosts {
		if h.alive && h.tank == t.tank {
			here = append(here, h)
		}
	}
	h := here[w.rng.IntN(len(here))]
	if t.kind == aLarva {
		w.end(t)
		w.juvenile(h)
		return
	}
	w.settle(t)
	t.host, t.skin = h, nil
	w.wait(t)
}

func (w *twin) lay(h *twinHost, at float64) {
	e := &twinThing{kind: anEgg, host: h, clock: true, left: w.gamma(w.v[DevMean], w.v[DevCV])}
	e.left -= (w.now - at) * w.speed(h.tank)
	w.add(e)
}

func (w *twin) alive(tank int) int {
	n := 0
	for _, h := range w.hosts {
		if h.alive && h.tank == tank {
			n++
		}
	}
	return n
}

// start places hosts, worms and eggs.
func (w *twin) start() {
	for i := range w.c.Tanks {
		w.tanks = append(w.tanks, twinTank{volume: w.c.Tanks[i].VolumeL, temp: w.tempAt(i, 0)})
	}
	w.skins = map[*twinSkin]bool{}
	k := 1 / (w.v[MoultCV] * w.v[MoultCV])
	ago := map[*twinHost]float64{}
	for range w.c.Animals {
		whole, u := w.gammaShape(k+1)*w.v[MoultMean]/k, w.rng.Float64()
		h := &twinHost{alive: true, left: whole * (1 - u)}
		ago[h] = whole * u / w.moultSpeed(0)
		w.hosts = append(w.hosts, h)
	}
	for _, h := range w.hosts {
		w.next(h)
	}
	var infested []*twinHost
	for len(infested) == 0 {
		for _, h := range w.hosts {
			if w.rng.Float64() < w.v[Prev] {
				infested = append(infested, h)
			}
		}
	}
	for _, h := range infested {
		n := 0
		for n == 0 {
			n = w.poisson(w.gammaShape(w.v[LoadK]) * w.v[LoadMean] / w.v[LoadK])
		}
		for range n {
			if w.rng.Float64() >= w.v[FAdult] {
				w.add(&twinThing{kind: aWorm, host: h, clock: true, left: w.rng.Float64() * w.gamma(w.v[MatMean], w.v[MatCV])})
				continue
			}
			w.add(&twinThing{kind: aWorm, host: h, adult: true})
			window := min(w.rng.ExpFloat64()*w.v[Age], ago[h])
			for range w.poisson(w.v[Lay] * w.speed(0) * window) {
				w.lay(h, -w.rng.Float64()*window)
			}
		}
	}
}

func (w *twin) poisson(mean float64) int {
	n := 0
	for x := w.rng.ExpFloat64(); x < mean; x += w.rng.ExpFloat64() {
		n++
	}
	return n
}

func (w *twin) tempAt(tank int, day float64) float64 {
	temps := w.c.Tanks[tank].Temp
	if len(temps) == 0 {
		return 24
	}
	x := temps[0].TempC
	for _, t := range temps {
		if t.Day <= day {
			x = t.TempC
		}
	}
	return x
}

// schedule plans everything that people do.
func (w *twin) schedule() {
	for i := range w.c.Tanks {
		for _, t := range w.c.Tanks[i].Temp {
			if t.Day > 0 {
				w.plan(t.Day, func() { w.change(func() { w.tanks[i].temp = t.TempC }) })
			}
		}
	}
	for _, d := range w.c.Doses {
		hazard := -math.Log(1-w.kill[d.Treatment]) * (1 - d.Lost)
		w.plan(d.Day, func() { w.dose(d, hazard) })
		if d.Days > 0 {
			w.plan(d.Day+d.Days, func() { w.change(func() { w.tanks[d.Tank].baths -= hazard / d.Days }) })
		}
	}
	for _, x := range w.c.Exits {
		w.plan(x.Day+1e-9, func() { w.change(func() { w.exit(x) }) })
	}
	for _, m := range w.c.Moves {
		w.plan(m.Day+2e-9, func() {
			w.change(func() {
				for _, h := range w.some(m.From, m.Animals) {
					h.tank = m.To
				}
			})
		})
	}
	for _, p := range w.c.Pulls {
		w.pulling(p)
	}
}

func (w *twin) dose(d Dose, hazard float64) {
	if d.Days > 0 {
		w.change(func() { w.tanks[d.Tank].baths += hazard / d.Days })
	} else {
		for _, t := range slices.Clone(w.live) {
			if t.kind == aWorm && t.host != nil && t.host.tank == d.Tank {
				k := w.v[KJ]
				if t.adult {
					k = 1
				}
				if w.rng.Float64() < 1-math.Exp(-k*hazard) {
					w.end(t)
				}
			}
		}
	}
	for _, h := range w.hosts {
		if h.alive && h.tank == d.Tank && w.rng.Float64() < w.v[Stress] {
			if at := w.now + 2*w.rng.Float64(); at > w.c.Today {
				w.plan(at, func() { w.change(func() { w.die(h) }) })
			}
		}
	}
}

// some returns n living hosts of a tank, drawn by lot.
func (w *twin) some(tank, n int) []*twinHost {
	var here []*twinHost
	for _, h := range w.hosts {
		if h.alive && h.tank == tank {
			here = append(here, h)
		}
	}
	w.rng.Shuffle(len(here), func(i, j int) { here[i], here[j] = here[j], here[i] })
	return here[:min(n, len(here))]
}

func (w *twin) exit(x Exit) {
	for _, h := range w.some(x.Tank, x.Animals) {
		if x.Dead {
			w.die(h)
		} else {
			w.out(h)
		}
	}
}

func (w *twin) out(h *twinHost) {
	h.alive = false
	for _, t := range slices.Clone(w.live) {
		if t.host == h {
			w.end(t)
		}
	}
}

func (w *twin) pulling(p Pulls) {
	for day := int(p.From); float64(day) <= p.To; day++ {
		missed := !p.Done && w.rng.Float64() < w.v[PMiss] || slices.Contains(p.Missed, day)
		for _, x := range [][]float64{nil, {.375}, {.375, .75}, {.375, .5625, .75}, {.375, .5625, .75, .9375}}[p.PerDay] {
			at := float64(day) + x
			if missed || at < p.From || at > p.To {
				continue
			}
			w.plan(at, func() {
				for skin := range w.skins {
					if skin.tank == p.Tank && w.rng.Float64() < w.v[PullEff] {
						w.pull(skin)
					}
				}
			})
		}
	}
}

func (w *twin) pull(skin *twinSkin) {
	delete(w.skins, skin)
	for _, t := range slices.Clone(w.live) {
		if t.skin == skin {
			w.end(t)
		}
	}
}

// until runs the queue up to a day.
func (w *twin) until(day float64) {
	for len(w.queue) > 0 && w.queue[0].at <= day {
		e := heap.Pop(&w.queue).(*twinEvent)
		if !e.void {
			w.now = e.at
			e.do()
		}
	}
	w.now = day
}

// infested counts the living hosts of the lot's tank that carry anything.
func (w *twin) infested() int {
	on := map[*twinHost]bool{}
	for _, t := range w.live {
		if t.host != nil && t.host.tank == 0 {
			on[t.host] = true
		}
	}
	return len(on)
}

// look takes animals by lot and looks at them.
func (w *twin) look(l Look) (worms, eggs int, positive []*twinHost) {
	view := l.View
	if view == 0 {
		view = 1
	}
	for _, h := range w.some(l.Tank, l.Animals) {
		miss, rows := 1-w.v[FPAdult], 0
		for _, t := range w.live {
			switch {
			case t.host != h:
			case t.kind == anEgg:
				rows++
			case t.adult:
				miss *= 1 - w.v[SAdult]*w.v[Photo]*view
			default:
				miss *= 1 - w.v[SJuv]*w.v[Photo]*view
			}
		}
		missEgg := 1 - w.v[FPEgg]
		if rows >= w.c.Condition.EggMin {
			missEgg *= 1 - w.v[SEgg]*w.v[Photo]*view
		}
		worm, egg := w.rng.Float64() >= miss, w.rng.Float64() >= missEgg
		if worm {
			worms++
		}
		if egg {
			eggs++
		}
		if worm || egg {
			positive = append(positive, h)
		}
	}
	return worms, eggs, positive
}
