package phantom

import (
	"math"
	"math/rand/v2"
)

// body is the animal's outline: a line from the head to the tail with the
// half-height of the body along it. Lengths are mm; the scene's origin is the
// middle of the picture, y grows downwards.
type body struct {
	size   float64 // 1 for an adult of some 24 mm
	length float64 // along the line, without the rostrum
	line   []station
	up     float64 // +1 when the back is on the left of the walking direction, else -1
	yaw    float64 // mm nearer to the camera for each mm towards the tail
	dorsal bool    // seen from above: two eyes, gills on both sides
}

// station is a cut through the body.
type station struct {
	x, y   float64 // middle
	nx, ny float64 // unit vector towards the back (dorsal)
	half   float64 // half of the height
}

const stationGap = 0.1

// carapace is the length of the head-and-breast shield at size 1.
const carapace = 7.0

func newBody(rng *rand.Rand) *body {
	b := &body{size: between(rng, 0.75, 1.1), up: 1, dorsal: chance(rng, 0.12)}
	b.length = 19 * b.size
	b.yaw = between(rng, -0.35, 0.35)
	heading := between(rng, 0, 2*math.Pi) // the way the head points
	if chance(rng, 0.7) {                 // most frames hold the animal level
		heading = float64(whole(rng, 0, 1))*math.Pi + between(rng, -0.45, 0.45)
	}
	// Mostly with its back up, which is on the left of a walk to the right.
	if (math.Cos(heading) > 0) == chance(rng, 0.12) {
		b.up = -1
	}
	// What is put in the middle of the frame: the shield more than the tail.
	middle := between(rng, 0.5, 6.5) * b.size
	curl := between(rng, -0.02, 0.13)
	breast := between(rng, -0.02, 0.03)
	var x, y, mx, my float64
	for i := 0; float64(i)*stationGap <= b.length; i++ {
		t := float64(i) * stationGap
		b.line = append(b.line, station{x: x, y: y, half: b.profile(t)})
		if t <= middle {
			mx, my = x, y
		}
		bend := breast
		if t > carapace*b.size {
			bend = curl
		}
		if b.dorsal {
			bend *= 0.3
		}
		heading += b.up * bend * stationGap / b.size
		x -= math.Cos(heading) * stationGap
		y -= math.Sin(heading) * stationGap
		s := &b.line[len(b.line)-1]
		s.nx, s.ny = b.up*math.Sin(heading), -b.up*math.Cos(heading)
	}
	mx += between(rng, -3, 3)
	my += between(rng, -2, 2)
	for i := range b.line {
		b.line[i].x -= mx
		b.line[i].y -= my
	}
	return b
}

// profile is the half-height of the body t mm behind the base of the rostrum.
func (b *body) profile(t float64) float64 {
	u := max(0, t/b.size)
	switch {
	case u < 4:
		return b.size * lerp(0.55, 1.95, math.Sqrt(u/4))
	case u < carapace:
		return b.size * 1.95
	case u < 15:
		return b.size * lerp(1.85, 0.9, (u-carapace)/(15-carapace))
	default: // tail fan
		return b.size * lerp(0.8, 1.3, (u-15)/4)
	}
}

// at returns the place of the point t mm along the body and w (-1 belly to 1
// back) across it, and the unit vector towards the back.
func (b *body) at(t, w float64) (x, y, nx, ny float64) {
	f := max(0, min(t/stationGap, float64(len(b.line)-1)-1e-9))
	i := int(f)
	p, q := b.line[i], b.line[min(i+1, len(b.line)-1)]
	k := f - float64(i)
	nx, ny = lerp(p.nx, q.nx, k), lerp(p.ny, q.ny, k)
	half := lerp(p.half, q.half, k)
	x, y = lerp(p.x, q.x, k)+nx*half*w, lerp(p.y, q.y, k)+ny*half*w
	if t < 0 { // in front of the body: straight on
		x -= t * b.up * -ny
		y -= t * b.up * nx
	}
	return x, y, nx, ny
}

// z is how far a point of the body's surface is towards the camera.
func (b *body) z(t, w float64) float64 {
	return b.profile(max(0, min(t, b.length)))*0.8*math.Sqrt(max(0, 1-w*w)) + b.yaw*(t-3*b.size)
}
