package clearance

import "math"

// Share is a chance with what is known of its own doubt.
type Share struct {
	// Value is the answer: the mean over all that the beliefs allow.
	Value float64 `json:"value"`
	// SE is the Monte Carlo error of Value: how far another seed may land.
	SE float64 `json:"se"`
	// Low and High bound where the chance would lie, 9 times of 10, if the figures
	// of the parasite, the treatments and the eye were known: the band. Both are 0
	// where no band was worked out.
	Low  float64 `json:"low,omitempty"`
	High float64 `json:"high,omitempty"`
}

// Point is one day of the evidence line.
type Point struct {
	Day float64 `json:"day"`
	// Clear is the chance that no worm, larva or living egg is left anywhere, given
	// every look up to that day; planned looks are taken to find nothing.
	Clear Share `json:"clear"`
	// BagRisk is the chance that a bag holds an animal that carries anything.
	BagRisk Share `json:"bag_risk"`
	// ClearNow and BagRiskNow leave the planned looks out: what the looks made so
	// far say about that day.
	ClearNow   float64 `json:"clear_now"`
	BagRiskNow float64 `json:"bag_risk_now"`
	// Infested is the expected share of animals that carry anything.
	Infested float64 `json:"infested"`
	// Alive is the expected number of animals in the lot's tank.
	Alive float64 `json:"alive"`
	// ESS is the effective number of runs that carry the weight, copies of one run
	// counted as one.
	ESS float64 `json:"ess"`
}

// LookPoint says what a look means.
type LookPoint struct {
	Day     float64 `json:"day"`
	Planned bool    `json:"planned"`
	// Expected is the chance, judged before it, of what it found; of a planned
	// look, that it will find nothing.
	Expected float64 `json:"expected"`
	// ClearIfSigns is the chance of clear on its day if a planned look finds
	// something after all.
	ClearIfSigns float64 `json:"clear_if_signs,omitempty"`
}

// Line is the evidence line under one assumption about hatching.
type Line struct {
	Points []Point     `json:"points"`
	Looks  []LookPoint `json:"looks,omitempty"`
	Runs   int         `json:"runs"`
	// Capped is the share of runs whose worms passed the cap; they count as not
	// free.
	Capped float64 `json:"capped"`
	// Resampled is how often runs were copied because too few carried the weight;
	// Ancestors is how many of the first runs have copies left.
	Resampled int `json:"resampled,omitempty"`
	Ancestors int `json:"ancestors,omitempty"`
}

// stage is a sample from the day of the look at which it was resampled on (the
// first stage: from the beginning).
type stage struct {
	*sample
	from     float64
	first    int     // looks before this one are in logZ and weigh no more
	logZ     float64 // log mean weight before the resampling
	ancestor []int   // of each particle, ascending; nil: each is its own
}

// weights are the posterior weights of one stage on one day, scaled by a common
// factor.
type weights struct {
	pi       float64
	infested []float64 // of each run
	clean    []float64 // of each run, had the lot not been infested
	ancestor []int
	origin   bool // infested and clean belong to the same runs
}

// tally of weights: the denominator of every mean.
func (w *weights) total() float64 {
	return w.pi*mean(w.infested) + (1-w.pi)*mean(w.clean)
}

func mean(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	sum := 0.0
	for _, v := range x {
		sum += v
	}
	return sum / float64(len(x))
}

// ess is the effective number of runs.
func (w *weights) ess() float64 {
	var sum, squares float64
	for _, x := range w.infested {
		sum, squares = sum+x, squares+x*x
	}
	if squares == 0 {
		return 0
	}
	return sum * sum / squares
}

// independent is ess with copies of one run counted as one.
func (w *weights) independent() float64 {
	if w.ancestor == nil {
		return w.ess()
	}
	var sum, squares, group float64
	for i, x := range w.infested {
		if i > 0 && w.ancestor[i] != w.ancestor[i-1] {
			squares, group = squares+group*group, 0
		}
		sum, group = sum+x, group+x
	}
	if squares += group * group; squares == 0 {
		return 0
	}
	return sum * sum / squares
}

// share returns the weighted mean of y over the runs, y being clean in a lot that
// was never infested, and its Monte Carlo error.
func (w *weights) share(y func(i int) float64, clean float64) Share {
	den := w.total()
	if den <= 0 {
		return Share{Value: math.NaN(), SE: math.NaN()}
	}
	num := 0.0
	for i, x := range w.infested {
		num += x * y(i)
	}
	n := float64(len(w.infested))
	p := (w.pi*num/n + (1-w.pi)*mean(w.clean)*clean) / den
	return Share{Value: p, SE: w.error(y, clean, p) / den}
}

// error returns the standard error of the numerator minus p times the
// denominator. Copies of one run err together.
func (w *weights) error(y func(i int) float64, clean, p float64) float64 {
	n := float64(len(w.infested))
	var squares, group, squaresClean, sumClean, sum float64
	for i, x := range w.infested {
		e := w.pi * x * (y(i) - p)
		if w.origin {
			e += (1 - w.pi) * w.clean[i] * (clean - p)
		}
		if w.ancestor != nil && i > 0 && w.ancestor[i] != w.ancestor[i-1] {
			squares, group = squares+group*group, 0
		}
		group += e
		if w.ancestor == nil {
			squares, group = squares+e*e, 0
		}
		sum += e
	}
	squares += group * group
	v := max(0, squares-sum*sum/n) / (n * n)
	if !w.origin {
		for _, c := range w.clean {
			e := (1 - w.pi) * c * (clean - p)
			squaresClean, sumClean = squaresClean+e*e, sumClean+e
		}
		m := float64(len(w.clean))
		v += max(0, squaresClean-sumClean*sumClean/m) / (m * m)
	}
	return math.Sqrt(v)
}

// weigh returns the weights once the first k looks are weighed in; planned says
// whether planned looks count as having found nothing.
func weigh(stages []stage, pi float64, k int, planned bool) *weights {
	s := &stages[0]
	for i := range stages {
		if stages[i].first <= k {
			s = &stages[i]
		}
	}
	looks := s.c.Looks
	counts := func(l int) bool { return planned || !looks[l].Planned }
	w := &weights{pi: pi, ancestor: s.ancestor, origin: s == &stages[0]}
	w.infested = make([]float64, s.n)
	top := math.Inf(-1)
	for i := range w.infested {
		x := s.logZ
		for l := s.first; l < k; l++ {
			if counts(l) {
				x += s.like[i*s.looks+l]
			}
		}
		w.infested[i] = x
		top = max(top, x)
	}
	first := &stages[0]
	w.clean = make([]float64, first.n)
	for i := range w.clean {
		x := 0.0
		for l := range k {
			if counts(l) {
				x += first.clean[i*first.looks+l]
			}
		}
		w.clean[i] = x
		top = max(top, x)
	}
	for _, logs := range [][]float64{w.infested, w.clean} {
		for i, x := range logs {
			if logs[i] = 0; !math.IsInf(x, -1) {
				logs[i] = math.Exp(x - top)
			}
		}
	}
	return w
}

// speaks returns the sample that speaks for the time after the first k looks.
func speaks(stages []stage, k int) *sample {
	s := stages[0].sample
	for i := range stages {
		if stages[i].first <= k {
			s = stages[i].sample
		}
	}
	return s
}

// looksUntil returns how many looks were made, or are planned, until a day.
func (c *Case) looksUntil(day float64) int {
	n := 0
	for n < len(c.Looks) && c.Looks[n].Day <= day {
		n++
	}
	return n
}

// on holds one day's question to a sample.
type on struct {
	*sample
	d   int
	day float64
}

func (o on) free(i int) float64 {
	if o.end[i] <= o.day+evening {
		return 1
	}
	return 0
}

func (o on) bag(i int) float64 {
	at := i*o.days + o.d
	return BagRisk(int(o.alive[at]), int(o.infested[at]), o.c.Bag)
}

func (o on) share(i int) float64 {
	at := i*o.days + o.d
	if o.alive[at] == 0 {
		return 0
	}
	return float64(o.infested[at]) / float64(o.alive[at])
}

func (o on) meanAlive() float64 {
	sum := 0.0
	for i := range o.n {
		sum += float64(o.alive[i*o.days+o.d])
	}
	return sum / float64(o.n-o.dropped)
}

// line works out the evidence line.
func line(c *Case, stages []stage) Line {
	pi := *c.Infested
	out := Line{Runs: stages[0].n, Resampled: len(stages) - 1}
	for _, x := range stages[0].capped {
		if x {
			out.Capped += 1 / float64(stages[0].n)
		}
	}
	if last := stages[len(stages)-1]; last.ancestor != nil {
		out.Ancestors = distinct(last.ancestor)
	}
	k := -1
	var then, now *weights
	for d, day := range c.Days {
		if n := c.looksUntil(day); n != k {
			k = n
			then, now = weigh(stages, pi, k, true), weigh(stages, pi, k, false)
		}
		o := on{speaks(stages, k), d, day}
		out.Points = append(out.Points, Point{
			Day: day, Clear: then.share(o.free, 1), BagRisk: then.share(o.bag, 0),
			ClearNow: now.share(o.free, 1).Value, BagRiskNow: now.share(o.bag, 0).Value,
			Infested: then.share(o.share, 0).Value, Alive: o.meanAlive(), ESS: then.independent(),
		})
	}
	for i := range c.Looks {
		out.Looks = append(out.Looks, lookPoint(c, stages, i))
	}
	return out
}

// lookPoint works out what look i meant, or would mean.
func lookPoint(c *Case, stages []stage, i int) LookPoint {
	l := &c.Looks[i]
	w := weigh(stages, *c.Infested, i, true)
	s := speaks(stages, i)
	first := stages[0]
	p := LookPoint{Day: l.Day, Planned: l.Planned}
	found := func(r int) float64 { return math.Exp(s.like[r*s.looks+i]) }
	num := 0.0
	for r, x := range w.infested {
		num += x * found(r)
	}
	clean := 0.0
	for r, x := range w.clean {
		clean += x * math.Exp(first.clean[r*first.looks+i])
	}
	p.Expected = (w.pi*num/float64(s.n) + (1-w.pi)*clean/float64(first.n)) / w.total()
	if l.Planned {
		p.ClearIfSigns = clearIfSigns(w, s, first.sample, i)
	}
	return p
}

// clearIfSigns returns the chance of clear on the day of look i, had it found
// something.
func clearIfSigns(w *weights, s, first *sample, i int) float64 {
	day := s.c.Looks[i].Day
	var free, all float64
	for r, x := range w.infested {
		x *= math.Exp(s.signs[r*s.looks+i])
		all += x
		if s.end[r] <= day {
			free += x
		}
	}
	clean := 0.0
	for r, x := range w.clean {
		clean += x * math.Exp(first.falsely[r*first.looks+i])
	}
	n, m := float64(s.n), float64(first.n)
	den := w.pi*all/n + (1-w.pi)*clean/m
	if den <= 0 {
		return 0
	}
	return (w.pi*free/n + (1-w.pi)*clean/m) / den
}

func distinct(sorted []int) int {
	n := 0
	for i, x := range sorted {
		if i == 0 || x != sorted[i-1] {
			n++
		}
	}
	return n
}
