package freedom

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"holdfast/science/ref"
)

// Choose returns n of the numbers 1..alive, every set of n equally likely, in
// ascending order. It is the unbiased way when animals are moved or counted
// anyway: as they are counted over from one vessel to the other, the animals
// with these numbers are looked at. Nothing about them decides who is chosen,
// so slow and quick ones have the same chance.
//
// alive lies in 1..MaxAnimals, n in 0..alive. Equal rng states give equal
// choices.
func Choose(rng *rand.Rand, alive, n int) ([]int, error) {
	if err := checkCount("population", alive, 1, MaxAnimals); err != nil {
		return nil, err
	}
	if err := checkCount("look", n, 0, alive); err != nil {
		return nil, err
	}
	// Floyd's method: for each j the newcomer is either a fresh number up to j
	// or, if that one is in already, j itself.
	in := make(map[int]bool, n)
	chosen := make([]int, 0, n)
	for j := alive - n + 1; j <= alive; j++ {
		x := rng.IntN(j) + 1
		if in[x] {
			x = j
		}
		in[x] = true
		chosen = append(chosen, x)
	}
	slices.Sort(chosen)
	return chosen, nil
}

// Spread returns how many of n animals to take from each of several bags so
// that the whole is one random choice over all of them: bags[i] animals are in
// bag i. If infestation clusters by bag, this sees more than emptying one.
func Spread(rng *rand.Rand, bags []int, n int) ([]int, error) {
	total := 0
	for _, b := range bags {
		if err := checkCount("bag", b, 0, MaxAnimals); err != nil {
			return nil, err
		}
		total += b
	}
	chosen, err := Choose(rng, total, n)
	if err != nil {
		return nil, err
	}
	take, bag, end := make([]int, len(bags)), -1, 0
	for _, x := range chosen { // ascending: walk the bags along
		for x > end {
			bag++
			end += bags[bag]
		}
		take[bag]++
	}
	return take, nil
}

// Spots is a tank divided for catching, seen from the front: Across times Deep
// columns of water, each in Levels. All at least 1, at most 100.
type Spots struct {
	Across, Deep, Levels int
}

// Catch is one line of a sheet: dip the net there and keep one animal.
type Catch struct {
	// Across counts from the left, Back from the front glass, Level from the
	// surface, all from 1.
	Across, Back, Level int
	// Keep says which animal in the net, counted from the handle; with fewer in
	// the net count round again. None in the net: go on to the next line and
	// come back to this one last.
	Keep int
}

// PlanCatches returns n catches for animals that cannot be counted over: spots
// in random order, none twice before all have had a turn, and in each net a
// random animal, 1 to inNet, so that the slowest is not always the one kept.
//
// This is as near to a random look as a net comes. It still misses what hides
// in the moss; when that matters, see [WhatBiasDoes].
//
// n lies in 0..MaxAnimals, inNet in 1..100: about how many animals a dip brings.
func PlanCatches(rng *rand.Rand, tank Spots, n, inNet int) ([]Catch, error) {
	for _, side := range []int{tank.Across, tank.Deep, tank.Levels} {
		if err := checkCount("spots", side, 1, 100); err != nil {
			return nil, err
		}
	}
	if err := checkCount("look", n, 0, MaxAnimals); err != nil {
		return nil, err
	}
	if err := checkCount("in-net", inNet, 1, 100); err != nil {
		return nil, err
	}
	plan := make([]Catch, 0, n)
	spots := tank.Across * tank.Deep * tank.Levels
	for len(plan) < n {
		for _, s := range rng.Perm(spots)[:min(spots, n-len(plan))] {
			plan = append(plan, Catch{
				Across: s%tank.Across + 1,
				Back:   s/tank.Across%tank.Deep + 1,
				Level:  s/(tank.Across*tank.Deep) + 1,
				Keep:   rng.IntN(inNet) + 1,
			})
		}
	}
	return plan, nil
}

// Bias is what it does to the chance of clear that only some animals could be
// caught.
type Bias struct {
	// AsRandom is the chance of clear if those caught were a random catch.
	AsRandom float64
	// IfCarriers: those that can be caught carry it more often, by the odds.
	// IfSpared: they carry it less often, by the same odds.
	IfCarriers, IfSpared float64
	// Cautious is the lowest of them: what may be counted on.
	Cautious float64
	// Sentence says it in plain words.
	Sentence string
}

// WhatBiasDoes compares three readings of one look when only weak of the
// animals (the slow, the ones in the open) could be caught: that they are like
// the rest, that their odds of carrying are odds times the others', and that
// they are so many times lower. odds lies in 1..1000; 3 is a fair question to
// ask oneself.
//
// It returns an error as [Lot.LookWeak] does.
func WhatBiasDoes(l Lot, weak int, odds float64, animals []Chance) (Bias, error) {
	if !(odds >= 1) {
		return Bias{}, ref.Inputf("odds", "Give how many times the odds may differ, for instance 3.", "%v is below 1", odds)
	}
	var b Bias
	for _, reading := range []struct {
		into *float64
		odds float64
	}{{&b.AsRandom, 1}, {&b.IfCarriers, odds}, {&b.IfSpared, 1 / odds}} {
		after, err := l.LookWeak(weak, reading.odds, animals)
		if err != nil {
			return Bias{}, err
		}
		*reading.into = after.Clear()
	}
	b.Cautious = min(b.AsRandom, b.IfCarriers, b.IfSpared)
	b.Sentence = fmt.Sprintf("Only %d of %d could be caught: if they were a fair choice the chance of clear is %s, if such animals carry it more often %s, if less often %s; count on %s.",
		weak, l.Alive(), percent(b.AsRandom), percent(b.IfCarriers), percent(b.IfSpared), percent(b.Cautious))
	return b, nil
}
