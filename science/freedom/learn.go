package freedom

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"
)

// Twofold counts the animals of one lot that were looked at in two ways: by
// two people, by eye and by lens, or by one person twice. The looks must not
// know of each other.
type Twofold struct {
	Both       int // positive both ways
	OnlyFirst  int
	OnlySecond int
	Neither    int
}

// Learned is a share learned from animals looked at, with the limits that hold
// it with the confidence asked for.
type Learned struct {
	Share float64
	Interval
	// Belief is the beta distribution with the same mean and variance, to be
	// used as the next prior or in a Belief.
	Belief Unsure
}

// TwoWays is what two ways of looking at the same animals teach of each.
type TwoWays struct {
	Sensitivity, Specificity [2]Learned
	// Share is the share of animals infested in each lot, in the order given;
	// nil from LearnConfirmed.
	Share []Learned
	// Warnings, in plain words; empty when the figures may be used as they are.
	Warnings []string
}

// sameEyes is the caution that holds for every estimate of this kind.
const sameEyes = "A worm that hides from one look tends to hide from the other: then both ways see less well than this says."

func checkTwofold(lots []Twofold) error {
	if err := checkCount("lots", len(lots), 1, 1000); err != nil {
		return err
	}
	for _, c := range lots {
		for _, n := range []int{c.Both, c.OnlyFirst, c.OnlySecond, c.Neither} {
			if err := checkCount("animals", n, 0, MaxAnimals); err != nil {
				return err
			}
		}
	}
	return nil
}

// LearnConfirmed returns how often each way sees the signs when every positive
// was confirmed, so that specificity is 1 and one lot is enough. Of the animals
// that the second way found, which are infested for sure, the first way found
// some: exact Bayes gives
//
//	Se1 | data ~ Beta(a1 + both, b1 + only second)
//	Se2 | data ~ Beta(a2 + both, b2 + only first)
//
// with the priors (Beta(1, 1) says nothing). Animals clean both ways are not
// used: they would tell a little more, but only together with a share infested
// that is itself unknown. confidence lies in (0, 1), limits are equal-tailed.
//
// The looks are taken as independent given the animal; see the warning.
// Source: the closed form is textbook conjugacy; compare huiwalter1980
func LearnConfirmed(lots []Twofold, first, second Unsure, confidence float64) (TwoWays, error) {
	if err := checkTwofold(lots); err != nil {
		return TwoWays{}, err
	}
	if err := checkOpenShare("confidence", confidence); err != nil {
		return TwoWays{}, err
	}
	sum := Twofold{}
	for _, c := range lots {
		sum.Both += c.Both
		sum.OnlyFirst += c.OnlyFirst
		sum.OnlySecond += c.OnlySecond
	}
	out := TwoWays{Warnings: []string{sameEyes}}
	for i, way := range []struct {
		prior       Unsure
		seen, other int
	}{{first, sum.Both, sum.OnlySecond}, {second, sum.Both, sum.OnlyFirst}} {
		learned, err := way.prior.after(way.seen, way.other, confidence)
		if err != nil {
			return TwoWays{}, err
		}
		out.Sensitivity[i] = learned
		out.Specificity[i] = Learned{Share: 1, Interval: Interval{1, 1}, Belief: Unsure{1, 0}}
		if way.seen+way.other < 10 {
			out.Warnings = append(out.Warnings, fmt.Sprintf("The %s way was tried on only %d animals known to be infested: its limits are mostly what was believed before.",
				[]string{"first", "second"}[i], way.seen+way.other))
		}
	}
	return out, nil
}

// after returns the belief after seen of seen+missed.
func (u Unsure) after(seen, missed int, confidence float64) (Learned, error) {
	post := Unsure{u.A + float64(seen), u.B + float64(missed)}
	if _, err := u.At(0.5); err != nil {
		return Learned{}, err
	}
	half := (1 - confidence) / 2
	return Learned{
		Share:    post.Mean(),
		Interval: Interval{betaQuantile(half, post.A, post.B), betaQuantile(1-half, post.A, post.B)},
		Belief:   post,
	}, nil
}

// LearnPriors is what is believed of two ways of looking before the data.
type LearnPriors struct {
	Sensitivity, Specificity [2]Unsure
	// Share infested of each lot.
	Share Unsure
	// SameWay says that both looks are one way (one person twice), so that they
	// share sensitivity and specificity; the first priors count.
	SameWay bool
}

// LotShares is what to believe of the share infested of a lot of a shop, to be
// put into LearnPriors.Share when there are many lots: most carry nothing, the
// others any share. Under a flat share each clear lot counts as one in which many
// were missed, and the sensitivities come out far too low. A guess in shape;
// TestLotSharesHoldTheTruth says what it does.
var LotShares = Unsure{0.1, 1}

// FlatLearnPriors says nothing of sensitivities and shares, and of
// specificities that mistakes are few (Beta(20, 1), mean 0.95: a guess).
func FlatLearnPriors() LearnPriors {
	flat := Unsure{1, 1}
	return LearnPriors{Sensitivity: [2]Unsure{flat, flat}, Specificity: [2]Unsure{{20, 1}, {20, 1}}, Share: flat}
}

// LearnTwoWays returns how well two ways of looking see when neither is sure
// to be right, from several lots with different shares infested. Nobody knows
// which animals were infested; the pattern over the lots tells (two tests in
// several populations, Hui and Walter 1980).
//
// It draws from the exact posterior by data augmentation (Gibbs sampling, 4
// chains of 5,000 after 1,000 discarded, from rng alone, so equal rng states
// give equal answers): given the unknowns, the number truly infested in each
// cell is binomial; given those, every unknown is beta distributed. Means and
// equal-tailed limits are over the draws; their Monte Carlo error is a few
// thousandths. Sensitivity + specificity > 1 is required of each way, which
// keeps "infested" from changing places with "not".
//
// It warns when the data cannot tell: fewer than two lots, shares too alike,
// an unknown as wide as before the data, chains that disagree. The limits are
// then mostly prior, and honest about it.
//
// Source: huiwalter1980
func LearnTwoWays(rng *rand.Rand, lots []Twofold, priors LearnPriors, confidence float64) (TwoWays, error) {
	if err := checkTwofold(lots); err != nil {
		return TwoWays{}, err
	}
	if err := checkOpenShare("confidence", confidence); err != nil {
		return TwoWays{}, err
	}
	for _, u := range []Unsure{priors.Sensitivity[0], priors.Sensitivity[1], priors.Specificity[0], priors.Specificity[1], priors.Share} {
		if _, err := u.At(0.5); err != nil {
			return TwoWays{}, err
		}
	}
	const chains, discard, keep = 4, 1000, 5000
	draws := make([][]float64, 4+len(lots)) // by unknown, chain after chain
	for range chains {
		g := newGibbs(rng, lots, priors)
		for i := range discard + keep {
			g.step()
			if i >= discard {
				for u, x := range g.unknowns() {
					draws[u] = append(draws[u], x)
				}
			}
		}
	}
	out := TwoWays{Share: make([]Learned, len(lots)), Warnings: []string{sameEyes}}
	disagree := false
	for u, xs := range draws {
		disagree = disagree || between(xs, chains) > 1.05
		learned := summary(xs, confidence)
		switch {
		case u < 2:
			out.Sensitivity[u] = learned
		case u < 4:
			out.Specificity[u-2] = learned
		default:
			out.Share[u-4] = learned
		}
	}
	out.Warnings = append(out.Warnings, unidentified(out, lots, priors)...)
	if disagree {
		out.Warnings = append(out.Warnings, "The computation has not settled: the data fit more than one story.")
	}
	return out, nil
}

// unidentified says why the data may not tell.
func unidentified(out TwoWays, lots []Twofold, priors LearnPriors) []string {
	var warn []string
	if len(lots) < 2 {
		warn = append(warn, "One lot alone cannot tell missed animals from mistakes: the figures rest on what was believed before. Look both ways at a second lot with more, or fewer, infested.")
	} else {
		low, high := out.Share[0], out.Share[0]
		for _, s := range out.Share {
			if s.Share < low.Share {
				low = s
			}
			if s.Share > high.Share {
				high = s
			}
		}
		if low.High >= high.Low {
			warn = append(warn, "The lots may all carry it alike, and then they tell little more than one lot would. Look both ways at a lot with clearly more, or fewer, infested.")
		}
	}
	var vague []string
	for i, way := range []string{"first", "second"} {
		if priors.SameWay && i == 1 {
			break
		}
		if wide(out.Sensitivity[i].Belief, priors.Sensitivity[i]) {
			vague = append(vague, "the sensitivity of the "+way+" way")
		}
		if wide(out.Specificity[i].Belief, priors.Specificity[i]) {
			vague = append(vague, "the specificity of the "+way+" way")
		}
	}
	if len(vague) > 0 {
		warn = append(warn, "The data taught next to nothing about "+strings.Join(vague, ", ")+".")
	}
	return warn
}

// wide tells whether the belief after the data is hardly narrower than before:
// its spread is over four fifths of the prior's.
func wide(after, before Unsure) bool { return after.sd() > 0.8*before.sd() }

func (u Unsure) sd() float64 {
	n := u.A + u.B
	return math.Sqrt(u.A * u.B / (n * n * (n + 1)))
}

// gibbs is one chain.
type gibbs struct {
	rng    *rand.Rand
	lots   []Twofold
	priors LearnPriors
	se, sp [2]float64
	share  []float64
}

// newGibbs starts a chain at a draw from the prior.
func newGibbs(rng *rand.Rand, lots []Twofold, priors LearnPriors) *gibbs {
	g := &gibbs{rng: rng, lots: lots, priors: priors, share: make([]float64, len(lots))}
	for i := range 2 {
		g.drawWay(i, 0, 0, 0, 0)
	}
	if priors.SameWay {
		g.se[1], g.sp[1] = g.se[0], g.sp[0]
	}
	for l := range lots {
		g.share[l] = g.beta(priors.Share, 0, 0)
	}
	return g
}

func (g *gibbs) beta(prior Unsure, hits, misses int) float64 {
	return distuv.Beta{Alpha: prior.A + float64(hits), Beta: prior.B + float64(misses), Src: g.rng}.Rand()
}

// drawWay draws sensitivity and specificity of a way from their beta
// distributions, again and again until their sum exceeds 1. When a thousand
// draws do not, the way keeps what it has.
func (g *gibbs) drawWay(i, seen, missed, right, wrong int) {
	for range 1000 {
		se, sp := g.beta(g.priors.Sensitivity[i], seen, missed), g.beta(g.priors.Specificity[i], right, wrong)
		if se+sp > 1 {
			g.se[i], g.sp[i] = se, sp
			return
		}
	}
	if g.se[i]+g.sp[i] <= 1 {
		g.se[i], g.sp[i] = 0.75, 0.75
	}
}

func (g *gibbs) step() {
	// Of each way: infested seen and missed, others right and wrong.
	var seen, missed, right, wrong [2]int
	for l, lot := range g.lots {
		infested, others := 0, 0
		for _, cell := range []struct {
			n         int
			positives [2]bool
		}{
			{lot.Both, [2]bool{true, true}}, {lot.OnlyFirst, [2]bool{true, false}},
			{lot.OnlySecond, [2]bool{false, true}}, {lot.Neither, [2]bool{false, false}},
		} {
			if cell.n == 0 {
				continue
			}
			if1, if0 := g.share[l], 1-g.share[l]
			for i, positive := range cell.positives {
				if positive {
					if1 *= g.se[i]
					if0 *= 1 - g.sp[i]
				} else {
					if1 *= 1 - g.se[i]
					if0 *= g.sp[i]
				}
			}
			d := g.binomial(cell.n, if1, if0)
			infested += d
			others += cell.n - d
			for i, positive := range cell.positives {
				if positive {
					seen[i] += d
					wrong[i] += cell.n - d
				} else {
					missed[i] += d
					right[i] += cell.n - d
				}
			}
		}
		g.share[l] = g.beta(g.priors.Share, infested, others)
	}
	if g.priors.SameWay {
		g.drawWay(0, seen[0]+seen[1], missed[0]+missed[1], right[0]+right[1], wrong[0]+wrong[1])
		g.se[1], g.sp[1] = g.se[0], g.sp[0]
		return
	}
	for i := range 2 {
		g.drawWay(i, seen[i], missed[i], right[i], wrong[i])
	}
}

// binomial draws how many of n are infested given the two weights.
func (g *gibbs) binomial(n int, if1, if0 float64) int {
	switch {
	case if1 <= 0:
		return 0
	case if0 <= 0:
		return n
	}
	return int(distuv.Binomial{N: float64(n), P: if1 / (if1 + if0), Src: g.rng}.Rand())
}

// unknowns returns the two sensitivities, the two specificities and the share
// of each lot.
func (g *gibbs) unknowns() []float64 {
	return append([]float64{g.se[0], g.se[1], g.sp[0], g.sp[1]}, g.share...)
}

// summary turns draws into a learned share.
func summary(draws []float64, confidence float64) Learned {
	mean, n := 0.0, float64(len(draws))
	for _, x := range draws {
		mean += x / n
	}
	variance := 0.0
	for _, x := range draws {
		variance += (x - mean) * (x - mean) / (n - 1)
	}
	sorted := slices.Sorted(slices.Values(draws))
	at := func(q float64) float64 { return sorted[min(int(q*n), len(sorted)-1)] }
	half := (1 - confidence) / 2
	l := Learned{Share: mean, Interval: Interval{at(half), at(1 - half)}}
	if total := mean*(1-mean)/variance - 1; total > 0 && !math.IsInf(total, 1) {
		l.Belief = Unsure{A: mean * total, B: (1 - mean) * total}
	}
	return l
}

// between returns Gelman and Rubin's ratio of the spread over all chains to
// that within them: near 1 when they tell the same story.
func between(draws []float64, chains int) float64 {
	n := len(draws) / chains
	means, within, mean := make([]float64, chains), 0.0, 0.0
	for c := range chains {
		part := draws[c*n : (c+1)*n]
		for _, x := range part {
			means[c] += x / float64(n)
		}
		for _, x := range part {
			within += (x - means[c]) * (x - means[c]) / float64((n-1)*chains)
		}
		mean += means[c] / float64(chains)
	}
	spread := 0.0
	for _, m := range means {
		spread += (m - mean) * (m - mean) / float64(chains-1)
	}
	if within == 0 {
		return 1
	}
	return math.Sqrt(float64(n-1)/float64(n) + spread/within)
}

// Words says how well both ways see, as people count: "By eye you see about 4
// in 10 carriers (3 to 6), with the lens about 8 in 10 (6 to 9)."
func (w TwoWays) Words(first, second string) string {
	say := func(name string, l Learned) string {
		return fmt.Sprintf("%s you see about %s in 10 carriers (%s to %s)", name, tenths(l.Share), tenths(l.Low), tenths(l.High))
	}
	s := say(first, w.Sensitivity[0]) + ", " + say(second, w.Sensitivity[1]) + "."
	return strings.ToUpper(s[:1]) + s[1:]
}

// tenths writes a share as a count of ten; "under 1" and "almost 10" at the ends.
func tenths(share float64) string {
	switch n := math.Round(share * 10); {
	case n < 1:
		return "under 1"
	case n > 9 && share < 1:
		return "almost 10"
	default:
		return fmt.Sprint(n)
	}
}
