// Command calibrate tries the stated chances of science/clearance on simulated
// lots whose truth is known, and draws the outcome.
//
// Simulation-based calibration (Talts and others 2018): a truth is drawn from the
// beliefs, a lot is played from it, looks included, and the evidence is asked. If
// the code is right, the truth's rank among the weighted runs is uniform for every
// figure, and of lots called clear with chance p a share p is. That tests the code,
// not the beliefs. Therefore truths from outside the beliefs follow: the table says
// how far the stated chances then miss.
package main

import (
	"context"
	"flag"
	"fmt"
	"math"
	"os"

	"holdfast/science/clearance"
)

func main() {
	lots := flag.Int("lots", 400, "lots drawn from the beliefs")
	outside := flag.Int("outside", 150, "lots for each truth outside the beliefs; 0 leaves them out")
	runs := flag.Int("runs", 4000, "simulated lots behind each statement")
	seed := flag.Uint64("seed", 1, "seed of the truths")
	plot := flag.String("plot", "calibration.svg", "picture to write")
	flag.Parse()
	if err := run(*lots, *outside, *runs, *seed, *plot); err != nil {
		fmt.Fprintln(os.Stderr, "calibrate:", err)
		os.Exit(1)
	}
}

func run(lots, outside, runs int, seed uint64, plot string) error {
	cond, err := clearance.LoadCondition("rostrum_worm")
	if err != nil {
		return err
	}
	in, err := try(cond, cond, lots, runs, seed, true)
	if err != nil {
		return err
	}
	fmt.Printf("Truths from the beliefs: %d lots, %d runs each\n\n", lots, runs)
	in.printRanks()
	in.printChances()
	var all []named
	for _, t := range truths {
		if outside == 0 {
			break
		}
		c := cond.Clone()
		t.change(c)
		o, err := try(cond, c, outside, runs, seed+1000, false)
		if err != nil {
			return err
		}
		all = append(all, named{t.name, o})
	}
	fmt.Printf("\nTruths from outside the beliefs: %d lots each, day %g\n\n", outside, askedDays[len(askedDays)-1])
	fmt.Println("truth                                  stated  clear  called .80+  of them clear  Brier (own rate)")
	for _, n := range append([]named{{"from the beliefs", in}}, all...) {
		n.o.printMiss(n.name)
	}
	return os.WriteFile(plot, []byte(draw(in, all)), 0o644)
}

type named struct {
	name string
	o    *outcome
}

// truth is a world that the beliefs do not hold.
type truth struct {
	name   string
	change func(*clearance.Condition)
}

func fix(c *clearance.Condition, f clearance.Figure, v float64) {
	c.Figures[f] = clearance.Belief{Kind: "fix", A: v, Low: v, High: v}
}

var truths = []truth{
	{"moults in 12 d on average", func(c *clearance.Condition) { fix(c, clearance.MoultMean, 12) }},
	{"moults in 50 d on average", func(c *clearance.Condition) { fix(c, clearance.MoultMean, 50) }},
	{"a bath kills half", func(c *clearance.Condition) {
		t := c.Treatments["praziquantel"]
		t.Kill = clearance.Belief{Kind: "fix", A: .5, Low: .5, High: .5}
		c.Treatments["praziquantel"] = t
	}},
	{"eggs always hatch on the animal", func(c *clearance.Condition) { fix(c, clearance.HOn, 1) }},
	{"eggs never hatch on the animal", func(c *clearance.Condition) { fix(c, clearance.HOn, 0) }},
	{"one worm in twenty is seen", func(c *clearance.Condition) {
		fix(c, clearance.SAdult, .05)
		fix(c, clearance.SEgg, .01)
	}},
	{"quick moults, weak bath, always", func(c *clearance.Condition) {
		fix(c, clearance.MoultMean, 12)
		fix(c, clearance.HOn, 1)
		t := c.Treatments["praziquantel"]
		t.Kill = clearance.Belief{Kind: "fix", A: .5, Low: .5, High: .5}
		c.Treatments["praziquantel"] = t
	}},
}

// askedDays are when a statement is made: at the last look, and a month later.
var askedDays = []float64{60, 88}

// plan is the i-th lot: sizes, doses and looks differ from lot to lot.
func plan(c *clearance.Condition, i, runs int, seed uint64) clearance.Case {
	animals := []int{60, 120, 200}[i%3]
	x := clearance.Case{Condition: c, Animals: animals, Tanks: []clearance.Tank{{VolumeL: float64(animals) / 2}},
		Days: askedDays, Runs: runs, Seed: seed}
	gap := []float64{14, 21}[i/3%2]
	for d := range 1 + i/6%4 {
		x.Doses = append(x.Doses, clearance.Dose{Treatment: "praziquantel", Day: 2 + gap*float64(d), Days: 4})
	}
	x.Pulls = []clearance.Pulls{{From: 0, To: 88, PerDay: i / 24 % 3}}
	n := []int{20, 30, 40}[i/2%3]
	x.Looks = []clearance.Look{{Day: 1, Animals: n}, {Day: 46, Animals: n}, {Day: 60, Animals: n}}
	return x
}

// ranked are the figures whose rank is kept.
var ranked = []clearance.Figure{clearance.MoultMean, clearance.HOn, clearance.Shed, clearance.HatchMean, clearance.Lay,
	clearance.PullEff, clearance.Prev, clearance.LoadMean, clearance.SAdult, clearance.SEgg, clearance.FPAdult}

// outcome is what became of the statements.
type outcome struct {
	names  []string
	ranks  [][]float64 // by quantity, then lot
	stated [][]float64 // by asked day, then lot
	clear  [][]bool
}

func try(believed, true_ *clearance.Condition, lots, runs int, seed uint64, rank bool) (*outcome, error) {
	o := &outcome{stated: make([][]float64, len(askedDays)), clear: make([][]bool, len(askedDays))}
	if rank {
		for _, f := range ranked {
			o.names = append(o.names, f.String())
		}
		o.names = append(o.names, "kill of the bath", "carrying on the last day")
		o.ranks = make([][]float64, len(o.names))
	}
	for i := range lots {
		p, err := clearance.Play(plan(true_, i, 100, seed), i)
		if err != nil {
			return nil, err
		}
		c := plan(believed, i, runs, seed+uint64(i)*7919+1)
		c.Looks = p.Looks
		w, err := clearance.Weigh(context.Background(), c)
		if err != nil {
			fmt.Fprintf(os.Stderr, "lot %d: %v\n", i, err)
			continue
		}
		for d := range askedDays {
			stated := 1 - w.Infested
			for r, x := range w.Weights {
				if w.Clear[r][d] {
					stated += w.Infested * x
				}
			}
			o.stated[d] = append(o.stated[d], stated)
			o.clear[d] = append(o.clear[d], p.Clear[d])
		}
		if rank {
			o.rank(&w, &p, i)
		}
	}
	return o, nil
}

// rank notes where the truth lies among the weighted runs.
func (o *outcome) rank(w *clearance.Weighed, p *clearance.Played, lot int) {
	below := func(of func(r int) float64, truth float64) float64 {
		u := 0.0
		for r := range w.Weights {
			if of(r) < truth {
				u += w.Infested*w.Weights[r] + (1-w.Infested)*w.CleanWeights[r]
			}
		}
		return u
	}
	for q, f := range ranked {
		o.ranks[q] = append(o.ranks[q], below(func(r int) float64 { return w.Figures[r][f] }, p.Figures[f]))
	}
	kill := 0
	for i, t := range w.Treatments {
		if t == "praziquantel" {
			kill = i
		}
	}
	q := len(ranked)
	o.ranks[q] = append(o.ranks[q], below(func(r int) float64 { return w.Kills[r][kill] }, p.Kills["praziquantel"]))
	// A count has ties: the rank is drawn within them.
	d := len(askedDays) - 1
	var less, equal float64
	if p.Carrying[d] == 0 {
		equal = 1 - w.Infested
	} else {
		less = 1 - w.Infested
	}
	for r, x := range w.Weights {
		switch c := w.Carrying[r][d]; {
		case c < p.Carrying[d]:
			less += w.Infested * x
		case c == p.Carrying[d]:
			equal += w.Infested * x
		}
	}
	within := math.Mod(float64(lot)*0.6180339887498949, 1)
	o.ranks[q+1] = append(o.ranks[q+1], less+within*equal)
}

// kolmogorov returns the greatest distance of the ranks from uniform and its
// approximate chance if they are (Stephens' form of the limit law).
func kolmogorov(ranks []float64) (d, p float64) {
	x := sorted(ranks)
	n := float64(len(x))
	for i, u := range x {
		d = max(d, float64(i+1)/n-u, u-float64(i)/n)
	}
	z := (math.Sqrt(n) + .12 + .11/math.Sqrt(n)) * d
	for k := 1.0; k <= 100; k++ {
		p += 2 * math.Pow(-1, k-1) * math.Exp(-2*k*k*z*z)
	}
	return d, max(0, min(1, p))
}

func (o *outcome) printRanks() {
	fmt.Println("rank of the truth             greatest distance   chance if uniform")
	for q, name := range o.names {
		d, p := kolmogorov(o.ranks[q])
		fmt.Printf("%-29s %.3f               %.3f\n", name, d, p)
	}
	fmt.Println()
}

// bins of stated chance.
var bins = []float64{0, .05, .2, .4, .6, .8, .9, .95, 1.0000001}

type bin struct {
	from, to  float64
	n, clear  int
	stated    float64
	low, high float64
}

// binned puts the statements of an asked day into bins, with Wilson's 95 %
// interval of the share that is clear.
func (o *outcome) binned(d int) []bin {
	var out []bin
	for i := 1; i < len(bins); i++ {
		b := bin{from: bins[i-1], to: bins[i]}
		for l, p := range o.stated[d] {
			if p >= b.from && p < b.to {
				b.n++
				b.stated += p
				if o.clear[d][l] {
					b.clear++
				}
			}
		}
		if b.n == 0 {
			continue
		}
		n, k := float64(b.n), float64(b.clear)
		b.stated /= n
		const z = 1.96
		centre, half := (k+z*z/2)/(n+z*z), z*math.Sqrt(k*(n-k)/n+z*z/4)/(n+z*z)
		b.low, b.high = centre-half, centre+half
		out = append(out, b)
	}
	return out
}

func (o *outcome) printChances() {
	for d, day := range askedDays {
		fmt.Printf("day %g: called clear   lots  mean stated  were clear  95 %% interval\n", day)
		for _, b := range o.binned(d) {
			fmt.Printf("        %.2f to %.2f    %5d      %.3f        %.3f     %.3f to %.3f\n", b.from, min(b.to, 1), b.n, b.stated, float64(b.clear)/float64(b.n), b.low, b.high)
		}
		// The sum of (clear - stated) over its standard deviation if the chances hold.
		sum, v := 0.0, 0.0
		for l, p := range o.stated[d] {
			x := 0.0
			if o.clear[d][l] {
				x = 1
			}
			sum += x - p
			v += p * (1 - p)
		}
		fmt.Printf("        all together off by %.2f standard deviations\n\n", sum/math.Sqrt(v))
	}
}

func (o *outcome) printMiss(name string) {
	d := len(askedDays) - 1
	var stated, clear, high, highClear, brier float64
	for l, p := range o.stated[d] {
		x := 0.0
		if o.clear[d][l] {
			x = 1
		}
		stated, clear, brier = stated+p, clear+x, brier+(p-x)*(p-x)
		if p >= .8 {
			high++
			highClear += x
		}
	}
	n := float64(len(o.stated[d]))
	share := "-"
	if high > 0 {
		share = fmt.Sprintf("%.3f", highClear/high)
	}
	fmt.Printf("%-38s %.3f   %.3f  %5.0f        %-13s  %.3f (%.3f)\n", name, stated/n, clear/n, high, share, brier/n, clear/n*(1-clear/n))
}
