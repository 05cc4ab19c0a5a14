package clearance

import "math"

// seen is what a look found: of n animals, so many with worms, with egg rows
// and, where it was recorded, with both.
type seen struct {
	n, worms, eggs int
	both           int // -1: not recorded
}

// chances are the chances that a look shows a worm, and an egg row, on one animal.
type chances struct{ worm, egg float64 }

// lens is one way of looking, in one run.
type lens struct {
	adult, juvenile, egg float64 // chance to see one, with the share in view
	eggMin               int32
	false                chances // of a clean animal
}

func (l *Look) lens(v *Values, eggMin int) lens {
	q := v[Photo] * l.view()
	s := lens{v[SAdult] * q, v[SJuv] * q, v[SEgg] * q, int32(eggMin), chances{v[FPAdult], v[FPEgg]}}
	if l.Confirmed {
		s.false = chances{}
	}
	return s
}

// of returns the chances for an animal that carries a load.
func (s *lens) of(l load) chances {
	c := s.false
	if l.adults > 0 || l.juveniles > 0 {
		c.worm = 1 - (1-c.worm)*power(1-s.adult, l.adults)*power(1-s.juvenile, l.juveniles)
	}
	if l.eggs >= s.eggMin {
		c.egg = 1 - (1-c.egg)*(1-s.egg)
	}
	return c
}

// power returns x to a small whole power.
func power(x float64, n int32) float64 {
	if n > 64 {
		return math.Pow(x, float64(n))
	}
	p := 1.0
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			p *= x
		}
		x *= x
	}
	return p
}

// table is the recursion over carriers behind the chance of a look: cell (j, x, y, z)
// is the mean, over the j-subsets of the carriers taken so far, of the chance
// that exactly x show worms, y egg rows and z both (z only where it was recorded,
// and x and y then exclude it). An arena: begin resets it.
type table struct {
	found    seen
	x, y, z  int // sizes of the cells of one j
	stride   int
	e        []float64
	carriers int
	history  []float64 // every step's table, only where positives are drawn
	remember bool
	logs     []float64 // logs[i] = ln i!
	cells    []chances
}

func (t *table) begin(s seen) {
	t.found = s
	t.x, t.y, t.z = s.worms+1, s.eggs+1, 1
	if s.both >= 0 {
		t.x, t.y, t.z = s.worms-s.both+1, s.eggs-s.both+1, s.both+1
	}
	t.stride = t.x * t.y * t.z
	need := (s.n + 1) * t.stride
	if cap(t.e) < need {
		t.e = make([]float64, need)
	}
	t.e = t.e[:need]
	clear(t.e)
	t.e[0] = 1
	t.carriers = 0
	t.history = t.history[:0]
	t.cells = t.cells[:0]
}

// add takes one more carrier.
func (t *table) add(c chances) {
	if t.remember {
		t.history = append(t.history, t.e...)
		t.cells = append(t.cells, c)
	}
	t.carriers++
	i := float64(t.carriers)
	none, w, g, b := t.split(c)
	top := min(t.carriers, t.found.n)
	if t.stride == 1 {
		for j := top; j > 0; j-- {
			in := float64(j) / i
			t.e[j] = (1-in)*t.e[j] + in*none*t.e[j-1]
		}
		return
	}
	for j := top; j > 0; j-- {
		in := float64(j) / i
		to, from := t.e[j*t.stride:(j+1)*t.stride], t.e[(j-1)*t.stride:j*t.stride]
		for at := range to {
			to[at] = (1-in)*to[at] + in*t.gather(from, at, none, w, g, b)
		}
	}
}

// split returns the chances that an animal shows nothing, worms only, eggs only,
// both. Where both is not counted apart, an animal with both adds to x and to y.
func (t *table) split(c chances) (none, worm, egg, both float64) {
	return (1 - c.worm) * (1 - c.egg), c.worm * (1 - c.egg), (1 - c.worm) * c.egg, c.worm * c.egg
}

// gather sums over what one sampled animal shows, at cell at.
func (t *table) gather(from []float64, at int, none, w, g, b float64) float64 {
	sum := none * from[at]
	z := at % t.z
	y := at / t.z % t.y
	x := at / t.z / t.y
	if x > 0 {
		sum += w * from[at-t.y*t.z]
	}
	if y > 0 {
		sum += g * from[at-t.z]
	}
	switch {
	case t.found.both >= 0:
		if z > 0 {
			sum += b * from[at-1]
		}
	case x > 0 && y > 0:
		sum += b * from[at-t.y*t.z-t.z]
	}
	return sum
}

// likelihood returns the chance of what was found, when n of alive animals were
// taken by lot and the carriers were added before.
func (t *table) likelihood(alive int, clean chances) float64 {
	sum := 0.0
	t.each(alive, clean, func(_, _ int, p float64) { sum += p })
	return sum
}

// each calls f with every number j of carriers in the sample and cell of what they
// showed, and the joint chance of that and of what was found.
func (t *table) each(alive int, clean chances, f func(j, at int, p float64)) {
	n := min(t.found.n, alive)
	lo, hi := max(0, n-(alive-t.carriers)), min(n, t.carriers)
	for j := lo; j <= hi; j++ {
		h := math.Exp(t.choose(t.carriers, j) + t.choose(alive-t.carriers, n-j) - t.choose(alive, n))
		if h == 0 {
			continue
		}
		for at := range t.stride {
			e := t.e[j*t.stride+at]
			if e == 0 {
				continue
			}
			if p := h * e * t.rest(n-j, at, clean); p > 0 {
				f(j, at, p)
			}
		}
	}
}

// rest is the chance that m clean animals show what the carriers of cell at
// leave to be explained.
func (t *table) rest(m, at int, clean chances) float64 {
	z := t.z - 1 - at%t.z
	y := t.y - 1 - at/t.z%t.y
	x := t.x - 1 - at/t.z/t.y
	if t.found.both >= 0 {
		return t.categories(m, x, y, z, clean)
	}
	return t.binomial(x, m, clean.worm) * t.binomial(y, m, clean.egg)
}

// binomial returns the chance of k of m at chance p each.
func (t *table) binomial(k, m int, p float64) float64 {
	switch {
	case k > m:
		return 0
	case k == 0:
		return power(1-p, int32(m))
	}
	return math.Exp(t.choose(m, k)) * power(p, int32(k)) * power(1-p, int32(m-k))
}

// categories returns the chance that of m clean animals x show worms only, y egg
// rows only, z both.
func (t *table) categories(m, x, y, z int, c chances) float64 {
	if x+y+z > m {
		return 0
	}
	none, w, g, b := t.split(c)
	return math.Exp(t.choose(m, x)+t.choose(m-x, y)+t.choose(m-x-y, z)) *
		power(w, int32(x)) * power(g, int32(y)) * power(b, int32(z)) * power(none, int32(m-x-y-z))
}

// cleanLot returns the chance of what was found in a lot without any carrier.
func (t *table) cleanLot(s seen, clean chances) float64 {
	if s.both >= 0 {
		return t.categories(s.n, s.worms-s.both, s.eggs-s.both, s.both, clean)
	}
	return t.binomial(s.worms, s.n, clean.worm) * t.binomial(s.eggs, s.n, clean.egg)
}

// choose returns the logarithm of n over k.
func (t *table) choose(n, k int) float64 {
	for len(t.logs) <= n {
		i := len(t.logs)
		if i == 0 {
			t.logs = append(t.logs, 0)
			continue
		}
		t.logs = append(t.logs, t.logs[i-1]+math.Log(float64(i)))
	}
	return t.logs[n] - t.logs[k] - t.logs[n-k]
}
