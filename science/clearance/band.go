package clearance

import (
	"cmp"
	"context"
	"math"
	"slices"
)

// Driver is a figure with the part it has in the doubt about the chance of clear.
type Driver struct {
	// Name is a figure's name, or the id of a treatment for its kill.
	Name string `json:"name"`
	// Share is its part of the explained variance of the log-odds, 0 to 1.
	Share float64 `json:"share"`
	// Up says whether a higher value raises the chance of clear.
	Up bool `json:"up"`
}

// The band asks: were the figures known, where would the chance lie? Runs differ
// in their figures and in luck. A logistic regression of the outcome on the
// figures, weighted like the posterior, keeps what the figures explain; the 5 and
// 95 % points of its predictions are the band. A test compares it with following
// many lots under each of many sets of figures.

// lotFigures describe this lot at arrival rather than the parasite; the band
// averages over them.
var lotFigures = []Figure{Prev, LoadMean, LoadK, FAdult, Age}

// maxBandRuns is how many runs a regression looks at: enough for a band.
const maxBandRuns = 4000

// predictor is one figure, or one treatment's kill.
type predictor struct {
	name string
	of   func(s *sample, i int) float64
}

// predictors lists what is uncertain and bears on the case.
func (c *Case) predictors(s *sample) []predictor {
	var out []predictor
	for f := range c.Condition.Figures {
		b := &c.Condition.Figures[f]
		if b.Kind == "fix" || slices.Contains(lotFigures, Figure(f)) || s.mode != mixed && Figure(f) == HOn {
			continue
		}
		log := b.Kind == "ln"
		out = append(out, predictor{Figure(f).String(), func(s *sample, i int) float64 {
			if log {
				return math.Log(s.truth[i][f])
			}
			return s.truth[i][f]
		}})
	}
	for t, id := range s.ids {
		if slices.ContainsFunc(c.Doses, func(d Dose) bool { return d.Treatment == id }) {
			out = append(out, predictor{id, func(s *sample, i int) float64 {
				return math.Log(hazard(s.kills[i*len(s.ids)+t]))
			}})
		}
	}
	return out
}

// bands fills in the bands of the mixed line and the drivers.
func (s *study) bands(ctx context.Context, r *Result) error {
	stages := s.stages[mixed]
	points := r.Mixed.Points
	days := spread(len(points), 16)
	drivers := make([][]Driver, len(days))
	err := each(ctx, len(days), 1, func() func(int) {
		return func(i int) {
			d := days[i]
			k := s.c.looksUntil(points[d].Day)
			sm := speaks(stages, k)
			w := weigh(stages, *s.c.Infested, k, true)
			o := on{sm, d, points[d].Day}
			design := s.c.design(sm, w)
			fit := design.fit(o.free, 1)
			drivers[i] = design.drivers(fit)
			points[d].Clear.Low, points[d].Clear.High = design.band(fit)
			points[d].BagRisk.Low, points[d].BagRisk.High = design.band(design.fit(o.bag, 0))
		}
	})
	if err != nil {
		return err
	}
	between(points, days)
	r.Drivers = drivers[len(drivers)-1]
	return nil
}

// spread returns at most k of the indexes 0 to n-1, ends included.
func spread(n, k int) []int {
	var out []int
	for i := range min(n, k) {
		at := i
		if n > k {
			at = i * (n - 1) / (k - 1)
		}
		out = append(out, at)
	}
	return out
}

// between fills in the days between those whose band was worked out, in
// proportion, as shares of the way from the value to 0 and to 1.
func between(points []Point, days []int) {
	for i := 1; i < len(days); i++ {
		a, b := &points[days[i-1]], &points[days[i]]
		for d := days[i-1] + 1; d < days[i]; d++ {
			p := &points[d]
			x := (p.Day - a.Day) / (b.Day - a.Day)
			p.Clear.widen(&a.Clear, &b.Clear, x)
			p.BagRisk.widen(&a.BagRisk, &b.BagRisk, x)
		}
	}
}

func (s *Share) widen(a, b *Share, x float64) {
	down := func(t *Share) float64 { return (t.Value - t.Low) / max(t.Value, 1e-12) }
	up := func(t *Share) float64 { return (t.High - t.Value) / max(1-t.Value, 1e-12) }
	s.Low = s.Value * (1 - ((1-x)*down(a) + x*down(b)))
	s.High = s.Value + (1-s.Value)*((1-x)*up(a)+x*up(b))
}

// design is the regression's left side: standardised figures of the runs, and
// the weight of each run as infested and as clean.
type design struct {
	pred            []predictor
	x               []float64 // run × (1 + predictors)
	infested, clean []float64
	runs            []int
	p               int
}

func (c *Case) design(s *sample, w *weights) *design {
	d := &design{pred: c.predictors(s)}
	d.p = len(d.pred) + 1
	step := max(1, (s.n+maxBandRuns-1)/maxBandRuns)
	total, squares := 0.0, 0.0
	for i := 0; i < s.n; i += step {
		inf, cl := w.pi*w.infested[i], 0.0
		if w.origin {
			cl = (1 - w.pi) * w.clean[i]
		} else {
			cl = (1 - w.pi) * mean(w.clean)
		}
		d.runs = append(d.runs, i)
		d.infested, d.clean = append(d.infested, inf), append(d.clean, cl)
		total += inf + cl
		squares += (inf + cl) * (inf + cl)
	}
	// The weights sum to the effective number of runs, so that the pull of the
	// ridge towards "the figures do not matter" fades as evidence grows.
	scale := total / max(squares, math.SmallestNonzeroFloat64)
	for i := range d.runs {
		d.infested[i] *= scale
		d.clean[i] *= scale
	}
	d.standardise(s)
	return d
}

func (d *design) standardise(s *sample) {
	d.x = make([]float64, len(d.runs)*d.p)
	for i := range d.runs {
		d.x[i*d.p] = 1
	}
	for j, p := range d.pred {
		var sum, sq, n float64
		for i, r := range d.runs {
			v := p.of(s, r)
			w := d.infested[i] + d.clean[i]
			d.x[i*d.p+j+1] = v
			sum, sq, n = sum+w*v, sq+w*v*v, n+w
		}
		m := sum / n
		sd := math.Sqrt(max(0, sq/n-m*m))
		for i := range d.runs {
			at := i*d.p + j + 1
			if sd > 0 {
				d.x[at] = (d.x[at] - m) / sd
			} else {
				d.x[at] = 0
			}
		}
	}
}

// fit returns the coefficients of the logistic regression of y, y being clean for
// a lot that was never infested, with a ridge of 1 on each standardised figure
// (Newton's method).
func (d *design) fit(y func(i int) float64, clean float64) []float64 {
	beta := make([]float64, d.p)
	var num, den float64
	ys := make([]float64, len(d.runs))
	for i, r := range d.runs {
		ys[i] = d.infested[i]*y(r) + d.clean[i]*clean
		num, den = num+ys[i], den+d.infested[i]+d.clean[i]
	}
	beta[0] = logit((num + .5) / (den + 1))
	h := make([]float64, d.p*d.p)
	g := make([]float64, d.p)
	for range 25 {
		d.newton(beta, ys, g, h)
		if !solve(h, g, d.p) {
			break
		}
		big := 0.0
		for j := range beta {
			step := max(-2, min(2, g[j]))
			beta[j] += step
			big = max(big, math.Abs(step))
		}
		if big < 1e-4 {
			break
		}
	}
	return beta
}

// newton fills in the gradient and the lower half of the Hessian.
func (d *design) newton(beta, ys, g, h []float64) {
	clear(g)
	clear(h)
	for i := range d.runs {
		x := d.x[i*d.p : (i+1)*d.p]
		w := d.infested[i] + d.clean[i]
		if w == 0 {
			continue
		}
		p := d.predict(beta, i)
		e, c := ys[i]-w*p, w*max(p*(1-p), 1e-9)
		for j, xj := range x {
			g[j] += e * xj
			cx := c * xj
			row := h[j*d.p : j*d.p+j+1]
			for l := range row {
				row[l] += cx * x[l]
			}
		}
	}
	for j := 1; j < d.p; j++ {
		g[j] -= beta[j]
		h[j*d.p+j]++
	}
	h[0] += 1e-9
}

func (d *design) predict(beta []float64, i int) float64 {
	z := 0.0
	for j, x := range d.x[i*d.p : (i+1)*d.p] {
		z += beta[j] * x
	}
	return 1 / (1 + math.Exp(-z))
}

// band returns the weighted 5 and 95 % points of the predictions.
func (d *design) band(beta []float64) (low, high float64) {
	type at struct{ p, w float64 }
	all := make([]at, len(d.runs))
	total := 0.0
	for i := range d.runs {
		all[i] = at{d.predict(beta, i), d.infested[i] + d.clean[i]}
		total += all[i].w
	}
	slices.SortFunc(all, func(a, b at) int { return cmp.Compare(a.p, b.p) })
	acc := 0.0
	low = math.NaN()
	for _, a := range all {
		acc += a.w
		if math.IsNaN(low) && acc >= .05*total {
			low = a.p
		}
		if acc >= .95*total {
			return low, a.p
		}
	}
	return low, all[len(all)-1].p
}

// drivers returns the figures that explain most, at most six.
func (d *design) drivers(beta []float64) []Driver {
	var out []Driver
	total := 0.0
	for j := range d.pred {
		total += beta[j+1] * beta[j+1]
	}
	for j, p := range d.pred {
		if b := beta[j+1]; total > 0 && b*b > .01*total {
			out = append(out, Driver{p.name, b * b / total, b > 0})
		}
	}
	slices.SortStableFunc(out, func(a, b Driver) int { return cmp.Compare(b.Share, a.Share) })
	return out[:min(6, len(out))]
}

func logit(p float64) float64 { return math.Log(p / (1 - p)) }

// solve replaces g by the solution of h·x = g, h symmetric positive definite with
// its lower half given (Cholesky). It reports whether h was.
func solve(h, g []float64, n int) bool {
	for j := range n {
		for i := j; i < n; i++ {
			sum := h[i*n+j]
			for k := range j {
				sum -= h[i*n+k] * h[j*n+k]
			}
			if i == j {
				if sum <= 0 {
					return false
				}
				h[j*n+j] = math.Sqrt(sum)
			} else {
				h[i*n+j] = sum / h[j*n+j]
			}
		}
	}
	for i := range n {
		for k := range i {
			g[i] -= h[i*n+k] * g[k]
		}
		g[i] /= h[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		for k := i + 1; k < n; k++ {
			g[i] -= h[k*n+i] * g[k]
		}
		g[i] /= h[i*n+i]
	}
	return true
}
