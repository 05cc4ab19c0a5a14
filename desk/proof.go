package desk

import (
	"fmt"
	"math"
	"strconv"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/freedom"
)

// Proof is what one look proves by itself: no earlier look, no doubt about the
// eyes. It is the answer of the command in Command, to the last digit.
type Proof struct {
	Condition reference.Condition
	Record    freedom.Record
	Estimate  freedom.Estimate
	// Says is the command's own sentence.
	Says string
	// Command is the command line that gives the same figures.
	Command string
}

// Prove returns what the animals of one look prove of a condition; false when
// the look is none that can stand alone: nothing could be read, the animals were
// not drawn at random, or it took several together.
func (v *LotView) Prove(cond reference.Condition, p holdfast.Inspection) (Proof, bool, error) {
	looked, positive := 0, 0
	share := 0.0
	for _, a := range p.Animals {
		if shows(a, cond.ID) {
			positive++
		} else if !a.Readable() {
			continue
		}
		looked++
		s := seenShare(cond.ID, a.Seen)
		if s == 0 && shows(a, cond.ID) {
			s = 1
		}
		share += s
	}
	if looked == 0 || !p.Random || p.PerRecord() > 1 {
		return Proof{}, false, nil
	}
	how := eyes(v.Shop.Sight).value(cond.ID, p.By) * share / float64(looked)
	if how == 0 {
		return Proof{}, false, nil
	}
	out, err := v.prove(cond, looked, positive, how)
	return out, err == nil, err
}

// prove asks the command's question, in figures short enough to be typed.
func (v *LotView) prove(cond reference.Condition, looked, positive int, sensitivity float64) (Proof, error) {
	short := func(x float64) float64 { return math.Max(1e-4, math.Round(x*1e4)/1e4) }
	prior := v.Case.prior(v.Lot, cond.ID)
	prior.Infested = short(prior.Infested)
	r := freedom.Record{Looked: looked, Positive: positive, Population: max(v.Lot.Alive.N, looked),
		How: freedom.Seeing{Sensitivity: short(sensitivity), Specificity: 1}, Confidence: 0.95, Prior: prior}
	e, err := freedom.Judge(r)
	if err != nil {
		return Proof{}, err
	}
	return Proof{Condition: cond, Record: r, Estimate: e, Says: e.Words(r), Command: estimateCommand(r)}, nil
}

// estimateCommand writes the command line for a record.
func estimateCommand(r freedom.Record) string {
	x := func(f float64) string { return strconv.FormatFloat(f, 'g', -1, 64) }
	return fmt.Sprintf("holdfast estimate --looked %d --positive %d --population %d --sensitivity %s --specificity %s --confidence %s --prior-infested %s --prior-a %s --prior-b %s",
		r.Looked, r.Positive, r.Population, x(r.How.Sensitivity), x(r.How.Specificity), x(r.Confidence), x(r.Prior.Infested), x(r.Prior.A), x(r.Prior.B))
}

// OnePositive says what one animal with signs among the next would mean, in
// plain words: after those judged so far and so many more clean ones.
func (v *LotView) OnePositive(cond reference.Condition, p holdfast.Inspection) string {
	if n, k := p.Tally(cond.ID); k > 0 {
		return fmt.Sprintf("%s of %d showed it: no number of clean ones makes up for that. Stop here, keep those with signs apart, show one under the microscope, and treat or hold the lot.", upper(count(k)), n)
	}
	one := p
	one.Animals = append(append([]holdfast.Animal{}, p.Animals...), holdfast.Animal{No: len(p.Animals) + 1, Seen: holdfast.Sides, Findings: []holdfast.Finding{{Condition: cond.ID}}})
	proof, ok, err := v.Prove(cond, one)
	if !ok || err != nil {
		return "One with signs would mean that the lot carries it."
	}
	l := proof.Estimate.Lot
	return fmt.Sprintf("One with signs among the next would mean that the lot carries it, about %.0f of %d (%d to %d): then stop counting and hold the lot.",
		max(1, math.Round(l.Mean())), l.Alive(), l.Quantile(0.05), l.Quantile(0.95))
}

// count writes a small number as a word.
func count(n int) string {
	words := []string{"none", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}
	if n >= 0 && n < len(words) {
		return words[n]
	}
	return strconv.Itoa(n)
}

// Luck says in counts of animals what bad luck a look at n can have, one line a
// sentence, the worst case first: how often it would miss everything.
func (v *LotView) Luck(cond reference.Condition, n int, by string) ([]string, error) {
	alive := max(1, v.Lot.Alive.N, n)
	how := eyes(v.Shop.Sight).plain(cond.ID, by)
	var out []string
	last := 0
	for _, share := range []float64{0.01, 0.05, 0.2} {
		d := freedom.DesignInfested(alive, share)
		if d == last {
			continue
		}
		last = d
		found, err := freedom.Detect(alive, d, n, 0, how)
		if err != nil {
			return nil, err
		}
		what := "it"
		if d > 1 {
			what = "them all"
		}
		out = append(out, fmt.Sprintf("If %d of %d carried it, you would miss %s %s.", d, alive, what, inHundred(1-found)))
	}
	return out, nil
}

// inHundred says a chance as a count of a hundred such looks.
func inHundred(p float64) string {
	switch k := int(math.Round(p * 100)); {
	case p == 0:
		return "never"
	case k == 0:
		return "less than once in 100"
	case k == 1:
		return "once in 100"
	case k == 100 && p < 1:
		return "more than 99 times in 100"
	case k == 100:
		return "every time"
	default:
		return fmt.Sprintf("%d times in 100", k)
	}
}
