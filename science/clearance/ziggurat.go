package clearance

import "math"

// The ziggurat cuts the area under a falling density into 256 layers of equal
// area. A layer and a place in it cost one 64-bit number; 98 to 99 times of 100
// the place lies under the density for certain and the work is done.
//
// Source: marsaglia2000ziggurat (method, and the two constants of each table:
// where the tail starts, and the area of a layer).
const (
	normalTail = 3.6541528853610088
	normalArea = 0.00492867323399
	expTail    = 7.69711747013104972
	expArea    = 0.0039496598225815571993
)

// layers holds the right edges of the layers, widest (the base with the tail
// folded in) first, and the density at each edge.
type layers struct {
	x, f [257]float64
}

var (
	normalLayers = stack(normalTail, normalArea,
		func(x float64) float64 { return math.Exp(-x * x / 2) },
		func(y float64) float64 { return math.Sqrt(-2 * math.Log(y)) })
	expLayers = stack(expTail, expArea,
		func(x float64) float64 { return math.Exp(-x) },
		func(y float64) float64 { return -math.Log(y) })
)

func stack(tail, area float64, density, inverse func(float64) float64) (l layers) {
	l.x[0] = area / density(tail)
	l.x[1] = tail
	for i := 2; i < 256; i++ {
		l.x[i] = inverse(area/l.x[i-1] + density(l.x[i-1]))
	}
	l.x[256] = 0
	for i := range l.x {
		l.f[i] = density(l.x[i])
	}
	return l
}

// exp returns an exponential number with mean 1 from the entity's n-th number
// (and, seldom, the next few).
func (k key) exp(n uint64) float64 {
	b := k.bits(n)
	i := b & 255
	v := (float64(b>>11) + .5) * toUnit * expLayers.x[i]
	if v < expLayers.x[i+1] {
		return v
	}
	return k.expEdge(n, i, v)
}

func (k key) expEdge(n, i uint64, v float64) float64 {
	past := 0.0 // how far out the tail began: the tail of an exponential is one again
	for {
		n++
		if i == 0 {
			past += expTail
		} else if f := expLayers.f[i] + k.unit(n)*(expLayers.f[i+1]-expLayers.f[i]); f < math.Exp(-v) {
			return past + v
		}
		n++
		b := k.bits(n)
		i = b & 255
		v = (float64(b>>11) + .5) * toUnit * expLayers.x[i]
		if v < expLayers.x[i+1] {
			return past + v
		}
	}
}

// normal returns a standard normal number from the entity's n-th number (and,
// seldom, the next few).
func (k key) normal(n uint64) float64 {
	b := k.bits(n)
	i := b & 255
	v := float64(int64(b)>>10) * toUnit * normalLayers.x[i]
	if math.Abs(v) < normalLayers.x[i+1] {
		return v
	}
	return k.normalEdge(n, i, v)
}

func (k key) normalEdge(n, i uint64, v float64) float64 {
	for {
		if i == 0 {
			return math.Copysign(k.normalTail(n), v)
		}
		n++
		if f := normalLayers.f[i] + k.unit(n)*(normalLayers.f[i+1]-normalLayers.f[i]); f < math.Exp(-v*v/2) {
			return v
		}
		n++
		b := k.bits(n)
		i = b & 255
		v = float64(int64(b)>>10) * toUnit * normalLayers.x[i]
		if math.Abs(v) < normalLayers.x[i+1] {
			return v
		}
	}
}

// normalTail draws from the normal tail beyond normalTail by Marsaglia's
// exact method: an exponential overshoot, accepted against another.
func (k key) normalTail(n uint64) float64 {
	for {
		x := -math.Log(k.unit(n+1)) / normalTail
		y := -math.Log(k.unit(n + 2))
		if 2*y >= x*x {
			return normalTail + x
		}
		n += 2
	}
}
