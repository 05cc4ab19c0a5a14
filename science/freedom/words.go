package freedom

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"holdfast/science/ref"
)

// Frequency returns a share as people count it: k times in n, with n as small
// as keeps the rarer side within an eighth of what it is. Shares within
// 1/20,000 of 0 and 1 return 0 or n. share lies in [0, 1].
func Frequency(share float64) (k, n int) {
	rare := min(share, 1-share)
	if rare < 0.5e-4 {
		return int(math.Round(clip(share))), 1
	}
	for _, n = range []int{2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100, 150, 200, 300, 400, 500, 1000, 2000, 5000, 10_000} {
		r := math.Round(rare * float64(n))
		if r >= 1 && math.Abs(r/float64(n)-rare) <= rare/8 {
			k = int(r)
			break
		}
	}
	if k == 0 { // coarse, but never wrong by more than half of one in the last n
		k = max(1, int(math.Round(rare*float64(n))))
	}
	if share > 0.5 {
		k = n - k
	}
	return k, n
}

// times says a chance as "19 times in 20".
func times(chance float64) string {
	k, n := Frequency(chance)
	switch {
	case n == 1 && k == 0:
		return "practically never"
	case n == 1:
		return "practically always"
	case k == 1:
		return fmt.Sprintf("1 time in %d", n)
	}
	return fmt.Sprintf("%d times in %d", k, n)
}

// animals says a count with its noun.
func animals(n int) string {
	if n == 1 {
		return "1 animal"
	}
	return fmt.Sprintf("%d animals", n)
}

// missing says how many carriers a look misses, after a linking word; nothing
// for a perfect look.
func (s Seeing) missing(link string) string {
	if s.Sensitivity == 1 {
		return ""
	}
	k, n := Frequency(1 - s.Sensitivity)
	if k == 0 || k == n {
		return ""
	}
	return fmt.Sprintf(", %s you miss %d carrier%s in %d", link, k, plural(k), n)
}

func plural(n int) string {
	if n == 1 {
		return ""
	}
	return "s"
}

// Advice says how many to look at first, and why, in one sentence.
type Advice struct {
	// Look is the number to look at; all animals when no number is enough.
	Look int
	// Enough says whether it reaches the wanted confidence.
	Enough bool
	// Chance that a lot infested at the design prevalence shows at least one.
	Chance float64
	// Sentence is for people, in plain words, animals as counts.
	Sentence string
}

// FirstLook returns how many animals of a new lot to look at first and why:
// the one sentence of the Receive page. Its number is SampleSize's with one
// positive or more; population lies in 1..MaxAnimals.
func FirstLook(population int, prevalence, confidence float64, how Seeing) (Advice, error) {
	if err := checkCount("population", population, 1, MaxAnimals); err != nil {
		return Advice{}, err
	}
	d := Design{Population: population, Prevalence: prevalence, Confidence: confidence, How: how}
	plan, err := SampleSize(d)
	var none *ref.NoAnswer
	if errors.As(err, &none) {
		return lookAtAll(population, prevalence, how)
	}
	if err != nil {
		return Advice{}, err
	}
	return Advice{Look: plan.Look, Enough: true, Chance: plan.Confidence, Sentence: plan.Words(d)}, nil
}

// Words says in one sentence how many to look at, and why.
func (p Plan) Words(d Design) string {
	carried, find := fmt.Sprintf("%d of them", p.Infested), "at least one"
	switch {
	case d.Population == 0:
		k, n := Frequency(d.Prevalence)
		carried = fmt.Sprintf("%d in %d", k, n)
	case p.Infested == d.Population:
		carried = "all of them"
	case p.Infested == 1:
		carried, find = "one of them", "it"
	}
	if p.Allow > 0 {
		find = fmt.Sprintf("more than %d with signs", p.Allow)
	}
	return fmt.Sprintf("%s: if %s carried it, you would find %s %s%s.",
		lookAt(p.Look, d.Population), carried, find, times(p.Confidence), d.How.missing("although"))
}

func lookAt(n, population int) string {
	switch {
	case population == 0:
		return fmt.Sprintf("Look at %s of this large lot", animals(n))
	case population == 1:
		return "Look at the one animal"
	case n == population:
		return fmt.Sprintf("Look at all %d first", n)
	}
	return fmt.Sprintf("Look at %d of these %d first", n, population)
}

// lookAtAll is the advice when no look is enough.
func lookAtAll(population int, prevalence float64, how Seeing) (Advice, error) {
	D := DesignInfested(population, prevalence)
	p, err := Detect(population, D, population, 0, how)
	if err != nil {
		return Advice{}, err
	}
	carriers := "any of " + fmt.Sprint(D) + " carriers"
	if D == 1 {
		carriers = "a single carrier"
	}
	return Advice{
		Look: population, Chance: p,
		Sentence: fmt.Sprintf("%s, and again another day: one look at every animal finds %s only %s%s.",
			strings.TrimSuffix(lookAt(population, population), " first"), carriers, times(p), how.missing("because")),
	}, nil
}

// Words says in two or three plain sentences what a record proved.
func (e Estimate) Words(r Record) string {
	seen := fmt.Sprintf("You looked at %s and %s.", animals(r.Looked), showed(r.Positive))
	if r.Population > 0 {
		seen = fmt.Sprintf("You looked at %d of %s and %s.", r.Looked, animals(r.Population), showed(r.Positive))
	}
	if !e.HasLot {
		i := e.TrueInterval
		return fmt.Sprintf("%s In a large lot like them between %.0f and %.0f of 100 may carry it, most likely about %.0f.", seen, math.Floor(i.Low*100), math.Ceil(i.High*100), e.True*100)
	}
	if r.Positive > 0 && e.Lot.Clear() > 0 {
		seen += " Look again at what you saw: as you look, it may be a mistake."
	}
	most := e.Lot.Quantile(0.95)
	switch {
	case e.Lot.Clear() == 0:
		return fmt.Sprintf("%s The lot carries it: about %.0f of %d, 9 times in 10 between %d and %d.", seen, max(1, math.Round(e.Lot.Mean())), r.Population, e.Lot.Quantile(0.05), most)
	case most == 0:
		return fmt.Sprintf("%s The chance of clear goes from %s to %s.", seen, percent(e.Before.Clear()), percent(e.Lot.Clear()))
	}
	return fmt.Sprintf("%s The chance of clear goes from %s to %s; up to %d of %d may still carry it (19 times in 20 no more).", seen,
		percent(e.Before.Clear()), percent(e.Lot.Clear()), most, r.Population)
}

func showed(positive int) string {
	switch positive {
	case 0:
		return "none showed signs"
	case 1:
		return "1 showed signs"
	}
	return fmt.Sprintf("%d showed signs", positive)
}

// Outlook says where a look stands and what comes next.
type Outlook struct {
	// Now is the lot with what was recorded so far.
	Now Lot
	// Reached says that the line is met; then stop.
	Reached bool
	// More is how many more clean animals reach the line; 0 when Reached or
	// when Why says that no number does.
	More int
	// Why no number of clean animals reaches it, or empty.
	Why string
	// GoodLuck is the chance that those More are all clean.
	GoodLuck float64
	// IfOne is the lot if one of those More shows signs; empty when that cannot
	// be.
	IfOne Lot
	// Sentence says all this in plain words.
	Sentence string
}

// Next returns the outlook of a look in progress: sofar are the animals
// recorded in it, not yet entered into the lot; the next ones are seen as how
// says. When the line is reached or cannot be reached it says to stop. It
// returns *ref.NoAnswer when the records so far contradict what is known.
func (l Lot) Next(line Line, sofar []Chance, how Seeing) (Outlook, error) {
	more, tried, err := l.moreClean(line, sofar, how)
	now, possible := tried[0]
	o := Outlook{Now: now, More: more}
	var none *ref.NoAnswer
	switch {
	case possible && errors.As(err, &none):
		o.Why = none.Reason
		o.Sentence = o.Why
		return o, nil
	case err != nil:
		return Outlook{}, err
	}
	if o.More == 0 {
		o.Reached = true
		o.Sentence = fmt.Sprintf("You are there: %s. Stop here.", line.reached(now))
		return o, nil
	}
	o.GoodLuck = min(1, math.Exp(tried[more].logEv-now.logEv))
	o.Sentence = fmt.Sprintf("%d more clean ones and you are at %s; that goes well %s.", o.More, line.short(), times(o.GoodLuck))
	o.IfOne, err = l.ifOne(o.More, sofar, how)
	switch {
	case errors.As(err, &none): // no number infested fits one positive
		return o, nil
	case err != nil:
		return Outlook{}, err
	case o.IfOne.Clear() == 0:
		o.Sentence += fmt.Sprintf(" One with signs among them would mean that the lot carries it, about %.0f of %d.", max(1, math.Round(o.IfOne.Mean())), l.Alive())
	default:
		o.Sentence += fmt.Sprintf(" One with signs among them would bring the chance of clear to %s.", percent(o.IfOne.Clear()))
	}
	return o, nil
}

// ifOne returns the lot if one of the next n shows signs, after sofar.
func (l Lot) ifOne(n int, sofar []Chance, how Seeing) (Lot, error) {
	return l.Look(append(append(Repeat(how.Clean(), n-1), how.Positive()), sofar...))
}

// short names the line's figure: "95 %" or "a bag risk of 1 %".
func (line Line) short() string {
	if line.Bag == 0 {
		return percent(line.Clear)
	}
	return "a bag risk of " + percent(line.Risk)
}

// reached says what a lot has reached.
func (line Line) reached(l Lot) string {
	if line.Bag == 0 {
		return "the chance of clear is " + percent(l.Clear())
	}
	m := min(line.Bag, l.Alive())
	return fmt.Sprintf("a bag of %d carries it %s", m, times(l.bagRisk(m)))
}
