package phantom

import (
	"math"

	"holdfast/photo"
)

// view maps scene mm to pixels.
type view struct {
	scale    float64 // pixels a mm
	sin, cos float64
	dx, dy   float64 // pixels
}

func (v view) px(x, y float64) (float64, float64) {
	return v.scale*(v.cos*x-v.sin*y) + v.dx, v.scale*(v.sin*x+v.cos*y) + v.dy
}

func (v view) mm(px, py float64) (float64, float64) {
	px, py = (px-v.dx)/v.scale, (py-v.dy)/v.scale
	return v.cos*px + v.sin*py, v.cos*py - v.sin*px
}

// drawing is a scene being drawn in one view.
type drawing struct {
	*layer
	s     *Scene
	v     view
	light []float32       // how much light falls on the body at each pixel
	gloss []float32       // glints, laid on after what sits on the shell
	along []float32       // mm along the body, NaN off it
	wide  []float32       // -1 to 1 across it
	back  [3]*photo.Plane // the ground, to be seen where nothing lies before it
}

// draw paints everything in front of the ground and returns it with the
// finds' truth; the blur is not known here. exposure brings the brighter parts
// of the animal to level. back is the ground, which only the truth looks at.
func (s *Scene) draw(v view, w, h int, level float64, back [3]*photo.Plane) (front *layer, finds []Find, exposure float64) {
	d := &drawing{layer: newLayer(w, h), s: s, v: v, light: make([]float32, w*h), gloss: make([]float32, w*h), back: back}
	d.limbs(true)
	d.raster()
	d.shell()
	for _, c := range s.scatters {
		d.eggs(c)
	}
	for _, c := range s.margins {
		d.eggs(c)
	}
	for _, c := range s.colonies {
		finds = append(finds, d.eggs(c))
	}
	d.track()
	for i, g := range d.gloss {
		d.add(i, g)
	}
	d.head()
	d.limbs(false)
	for _, w := range s.worms {
		finds = append(finds, d.worm(w))
	}
	for _, f := range s.tufts {
		finds = append(finds, d.tuft(f))
	}
	d.float()
	exposure = level / max(0.02, d.bright())
	d.settle(finds, exposure)
	return d.layer, finds, exposure
}

// raster finds for each pixel where on the body it lies, by filling a mesh of
// the body from the tail to the head.
func (d *drawing) raster() {
	nan := float32(math.NaN())
	d.along, d.wide = make([]float32, d.w*d.h), make([]float32, d.w*d.h)
	for i := range d.along {
		d.along[i] = nan
	}
	const pace, strips = 0.2, 10
	b := d.s.body
	for t := b.length - pace; t >= 0; t -= pace {
		for k := range strips {
			w0, w1 := -1+2*float64(k)/strips, -1+2*float64(k+1)/strips
			var q [4][4]float64
			for i, c := range [4][2]float64{{t, w0}, {t + pace, w0}, {t + pace, w1}, {t, w1}} {
				x, y, _, _ := b.at(c[0], c[1])
				q[i][0], q[i][1] = d.v.px(x, y)
				q[i][2], q[i][3] = c[0], c[1]
			}
			d.fill(q[0], q[1], q[2])
			d.fill(q[0], q[2], q[3])
		}
	}
}

// fill interpolates (t, w) over a triangle of corners (x, y, t, w).
func (d *drawing) fill(a, b, c [4]float64) {
	det := (b[0]-a[0])*(c[1]-a[1]) - (c[0]-a[0])*(b[1]-a[1])
	if det == 0 {
		return
	}
	const slack = 1e-3
	for y := max(0, int(math.Ceil(min(a[1], b[1], c[1])))); y <= min(d.h-1, int(max(a[1], b[1], c[1]))); y++ {
		for x := max(0, int(math.Ceil(min(a[0], b[0], c[0])))); x <= min(d.w-1, int(max(a[0], b[0], c[0]))); x++ {
			px, py := float64(x), float64(y)
			u := ((px-a[0])*(c[1]-a[1]) - (c[0]-a[0])*(py-a[1])) / det
			v := ((b[0]-a[0])*(py-a[1]) - (px-a[0])*(b[1]-a[1])) / det
			if u < -slack || v < -slack || u+v > 1+slack {
				continue
			}
			i := y*d.w + x
			d.along[i] = float32(a[2] + u*(b[2]-a[2]) + v*(c[2]-a[2]))
			d.wide[i] = float32(a[3] + u*(b[3]-a[3]) + v*(c[3]-a[3]))
		}
	}
}

// shell paints the body.
func (d *drawing) shell() {
	b := d.s.body
	for i, tf := range d.along {
		if tf != tf {
			continue
		}
		t, w := float64(tf), float64(d.wide[i])
		half := b.profile(t)
		_, _, nx, ny := b.at(t, 0)
		nx, ny = d.v.cos*nx-d.v.sin*ny, d.v.sin*nx+d.v.cos*ny
		light, glint := d.s.lightAt(t, w*half, w, nx, ny)
		c := d.s.albedo(t, w*half, w).lit(light)
		// The outermost pixel of the outline is covered in part.
		c.a *= step(0, 1.2, (1-math.Abs(w))*half*d.v.scale)
		d.light[i], d.gloss[i] = float32(light), float32(glint*c.a)
		d.over(i, c, b.z(t, w))
	}
}

// lightAt returns the light that falls on a place of the shell and the glint
// that it throws back.
func (s *Scene) lightAt(t, y, w, nx, ny float64) (light, glint float64) {
	const e = 0.02
	f := func(t, y float64) float64 { return fractal(t/s.crumpleMM, y/s.crumpleMM, 3, s.salt+31) }
	at := f(t, y)
	bt, by := (f(t+e, y)-at)/e*s.crumple*0.15, (f(t, y+e)-at)/e*s.crumple*0.15
	up := math.Sqrt(max(0.02, 1-w*w))
	across := w - by
	// The body's own axes: (nx, ny) across it, (-ny, nx) along it.
	x, yy, z := across*nx-bt*-ny, across*ny-bt*nx, up
	n := math.Sqrt(x*x + yy*yy + z*z)
	x, yy, z = x/n, yy/n, z/n
	l := s.light
	light = s.ambient + (1-s.ambient)*max(0, x*l[0]+yy*l[1]+z*l[2])
	hx, hy, hz := l[0], l[1], l[2]+1
	hn := math.Sqrt(hx*hx + hy*hy + hz*hz)
	return light, s.gloss * math.Pow(max(0, (x*hx+yy*hy+z*hz)/hn), s.shine)
}

var (
	paleInside  = rgba{0.48, 0.45, 0.38, 1}
	palePigment = rgba{0.78, 0.74, 0.6, 1}
	organ       = rgba{0.10, 0.06, 0.03, 1}
	whiteBand   = rgba{0.82, 0.82, 0.79, 1}
)

// albedo is the colour of a place of the shell, t mm along and y mm across.
func (s *Scene) albedo(t, y, w float64) rgba {
	b := s.body
	c := opaque(s.strain.shell).lit(max(0.2, 1+s.texture*fractal(t/0.5, y/0.5, 4, s.salt+41)))
	c = mix(c, paleInside, s.patch*step(-0.1, 0.7, fractal(t/1.7, y/1.7, 2, s.salt+43)))
	u := t / b.size
	// Organs show through a clear shell: liver behind the eye, gut along the back.
	liver := step(1, 0.2, math.Hypot((u-1.6)/1.3, (w-0.1)/0.6))
	gut := step(0.16, 0.06, math.Abs(w-0.55)) * step(2, 3, u)
	c = mix(c, organ, s.strain.clear*max(0.8*liver, 0.6*gut))
	c = mix(c, rgba{0.6, 0.45, 0.1, 1}, s.saddle*step(1, 0.4, math.Hypot((u-4)/2, (w-0.75)/0.3)))
	if s.gills(u, w) {
		c = c.lit(1 + s.lamellaA*math.Cos(2*math.Pi*(t+y*s.lamellaTilt)/s.lamella)*step(0.5, 0.3, math.Abs(u-3.8)/4))
	}
	c = mix(c, opaque(s.strain.pigment), 0.8*s.dark.at(t, y, 0.008))
	c = mix(c, palePigment, s.paleStrength*s.pale.at(t, y, 0.012))
	for _, band := range s.bands {
		edge := 0.15 * fractal(y/0.4, t/0.4, 2, s.salt+47)
		c = mix(c, whiteBand, 0.93*step(band.lo+edge-0.1, band.lo+edge+0.1, t)*step(band.hi+edge+0.1, band.hi+edge-0.1, t))
	}
	// Grooves where the shield ends and between the segments.
	groove := math.Abs(u - carapace - 0.25*w*w)
	for k := 1; k < 6; k++ {
		groove = min(groove, math.Abs(u-carapace-1.5*float64(k)-0.2*w*w))
	}
	c = c.lit(0.6 + 0.4*step(0, 0.09, groove))
	c = c.lit(lerp(1, 0.65, w*w*w*w))
	return c.with(lerp(1, 0.8, s.strain.clear))
}

// gills tells whether a place lies over the gills; u is mm along at size 1.
func (s *Scene) gills(u, w float64) bool {
	if s.body.dorsal {
		return u > 1.8 && u < 6.2 && math.Abs(w) > 0.45
	}
	return u > 1.8 && u < 6.2 && w < 0.35
}

// eggs paints spots on the shell and returns their truth.
func (d *drawing) eggs(c colony) Find {
	f := Find{Kind: Eggs, Rows: c.rows, DiameterMM: c.diameter, GapMM: c.gap}
	colour := opaque(c.colour)
	for _, e := range c.eggs {
		half := d.s.body.profile(e.t)
		x, y, nx, ny := d.s.body.at(e.t, e.y/half)
		px, py := d.v.px(x, y)
		ix, iy := int(math.Round(px)), int(math.Round(py))
		if ix < 0 || iy < 0 || ix >= d.w || iy >= d.h || d.light[iy*d.w+ix] == 0 {
			continue
		}
		i := iy*d.w + ix
		light := float64(d.light[i])
		before := d.whiteness(i)
		angle := math.Atan2(d.v.sin*nx+d.v.cos*ny, d.v.cos*nx-d.v.sin*ny) + math.Pi/2 + e.angle
		z := d.s.body.z(e.t, e.y/half)
		t0, y0 := e.t, e.y
		d.ellipse(px, py, e.ra*d.v.scale, e.rb*d.v.scale, angle, 0.35*e.rb*d.v.scale, z, func(u, v float64) rgba {
			// Dark pigment lies above the eggs.
			veil := 1 - 0.7*d.s.dark.at(t0+u*e.ra, y0+v*e.rb, 0.008)
			return colour.lit(light * (1.05 - 0.3*(u*u+v*v))).with(e.opacity * veil)
		})
		f.Dots = append(f.Dots, Dot{X: px, Y: py, contrast: d.whiteness(i) - before, at: i})
		f.grow(px, py, math.Max(e.ra, e.rb)*d.v.scale)
		f.z = append(f.z, z)
	}
	return f
}

// whiteness is the least of the three colours at a pixel, with the ground behind.
func (d *drawing) whiteness(i int) float64 {
	open := 1 - d.a[i]
	return float64(min(d.r[i]+open*d.back[0].Pix[i], d.g[i]+open*d.back[1].Pix[i], d.b[i]+open*d.back[2].Pix[i]))
}

// head paints the eyes and the rostrum with its teeth.
func (d *drawing) head() {
	b := d.s.body
	shell := opaque(d.s.strain.shell).lit(0.8)
	var blade []bead
	const tip = -2.6
	for t := 0.6; t > tip; t -= 0.1 {
		w := 0.75 + 0.1*t
		if b.dorsal {
			w = 0
		}
		x, y, _, _ := b.at(t*b.size, w)
		px, py := d.v.px(x, y)
		blade = append(blade, bead{px, py, 0.24 * b.size * d.v.scale * step(tip-0.2, 0.4, t), b.z(max(0, t), 0.5)})
	}
	d.stroke(blade, func(u, v float64) rgba {
		return shell.lit(0.7 + 0.5*(1-v*v)).with(0.85)
	})
	for k, p := range blade { // teeth
		if k%3 != 0 || k < 4 {
			continue
		}
		q := blade[max(0, k-3)]
		nx, ny := -(q.y-p.y)*b.up, (q.x-p.x)*b.up
		n := math.Hypot(nx, ny)
		if n == 0 {
			continue
		}
		d.stroke([]bead{{p.x, p.y, 0.07 * d.v.scale, p.z}, {p.x + (nx/n*0.24+(p.x-q.x)/n*0.2)*d.v.scale, p.y + (ny/n*0.24+(p.y-q.y)/n*0.2)*d.v.scale, 0.01 * d.v.scale, p.z}},
			func(u, v float64) rgba { return shell.with(0.8) })
	}
	for _, e := range d.s.eyes {
		x, y, _, _ := b.at(e.t, e.w)
		px, py := d.v.px(x, y)
		r := e.r * d.v.scale
		gx, gy := d.s.light[0]*0.4, d.s.light[1]*0.4
		d.ellipse(px, py, r, r, 0, 0.1*r, b.z(max(0, e.t), min(1, math.Abs(e.w)))+0.4, func(u, v float64) rgba {
			glint := d.s.gloss * step(0.3, 0.1, math.Hypot(u-gx, v-gy))
			return mix(rgba{0.012, 0.010, 0.012, 1}, rgba{0.9, 0.9, 0.9, 1}, min(1, glint)).lit(1 + 2*(u*u+v*v)*0.5)
		})
	}
}

func (d *drawing) beads(path [][2]float64, r0, r1, z float64) []bead {
	out := make([]bead, len(path))
	for i, p := range path {
		px, py := d.v.px(p[0], p[1])
		out[i] = bead{px, py, lerp(r0, r1, float64(i)/float64(max(1, len(path)-1))) * d.v.scale, z}
	}
	return out
}

func (d *drawing) limbs(behind bool) {
	for _, l := range d.s.limbs {
		if l.behind != behind || len(l.path) < 2 {
			continue
		}
		long := float64(len(l.path)) * 0.1
		d.stroke(d.beads(l.path, l.r0, l.r1, l.z), func(u, v float64) rgba {
			c := l.colour.lit(0.5 + 0.6*(1-v*v))
			if l.segments > 0 {
				c = c.lit(0.8 + 0.3*math.Cos(2*math.Pi*u*long/l.segments))
			}
			return c
		})
	}
}

func (d *drawing) worm(w worm) Find {
	f := Find{Kind: Worm, DiameterMM: 2 * w.radius}
	c := opaque(w.colour)
	paint := func(path [][2]float64, r0, r1 float64) {
		beads := d.beads(path, r0, r1, w.z)
		if len(beads) < 2 {
			return
		}
		for k, p := range beads {
			ix, iy := int(math.Round(p.x)), int(math.Round(p.y))
			if ix < 0 || iy < 0 || ix >= d.w || iy >= d.h {
				continue
			}
			f.grow(p.x, p.y, p.r)
			i := iy*d.w + ix
			if k%2 == 0 {
				f.Dots = append(f.Dots, Dot{X: p.x, Y: p.y, contrast: w.opacity * (0.85*min(w.colour[0], w.colour[1], w.colour[2]) - d.whiteness(i)), at: i})
				f.z = append(f.z, w.z)
			}
		}
		d.stroke(beads, func(u, v float64) rgba {
			return c.lit(0.75 + 0.3*(1-v*v)).with(w.opacity * (0.6 + 0.4*math.Sqrt(max(0, 1-v*v))))
		})
	}
	paint(w.path, w.radius*0.8, w.radius*(1-w.taper))
	for _, p := range w.feelers {
		paint(p, w.radius*0.6, w.radius*0.25)
	}
	return f
}

func (d *drawing) tuft(t tuft) Find {
	f := Find{Kind: Tuft, DiameterMM: 0.02}
	for _, h := range t.hairs {
		beads := d.beads(h[:], 0.012, 0.006, t.z)
		p := beads[0]
		ix, iy := int(math.Round(p.x)), int(math.Round(p.y))
		if ix >= 0 && iy >= 0 && ix < d.w && iy < d.h {
			i := iy*d.w + ix
			f.Dots = append(f.Dots, Dot{X: p.x, Y: p.y, contrast: t.opacity * (0.7 - d.whiteness(i)), at: i})
			f.z = append(f.z, t.z)
			for _, q := range beads {
				f.grow(q.x, q.y, 0)
			}
		}
		d.stroke(beads, func(u, v float64) rgba { return rgba{0.7, 0.7, 0.68, t.opacity} })
	}
	return f
}

// float paints bubbles and grains in the water.
func (d *drawing) float() {
	for _, b := range d.s.bubbles {
		px, py := d.v.px(b.x, b.y)
		r := b.r * d.v.scale
		d.ellipse(px, py, r, r, 0, 0.1*r, b.z, func(u, v float64) rgba {
			rim := step(0.6, 0.95, math.Hypot(u, v))
			glint := step(0.3, 0.15, math.Hypot(u+0.4*d.s.light[0], v+0.4*d.s.light[1]))
			return rgba{0.85, 0.88, 0.9, b.opacity * max(0.06, 0.7*rim, glint)}
		})
	}
	for _, b := range d.s.specks {
		px, py := d.v.px(b.x, b.y)
		r := b.r * d.v.scale
		d.ellipse(px, py, r, r*0.8, 0, 0.5, b.z, func(u, v float64) rgba { return rgba{0.7, 0.68, 0.6, b.opacity} })
	}
}
