package demo

import (
	"encoding/binary"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
)

// chance is the demo's only source of chance.
type chance struct{ *rand.Rand }

// Read fills p, so that ids come from the same source.
func (c chance) Read(p []byte) (int, error) {
	var b [8]byte
	for i := range p {
		if i%8 == 0 {
			binary.LittleEndian.PutUint64(b[:], c.Uint64())
		}
		p[i] = b[i%8]
	}
	return len(p), nil
}

func (c chance) between(low, high int) int { return low + c.IntN(high-low+1) }

func (c chance) hit(p float64) bool { return c.Float64() < p }

// poisson draws a count with a small mean.
func (c chance) poisson(mean float64) int {
	limit, p, n := math.Exp(-mean), c.Float64(), 0
	for p > limit {
		p *= c.Float64()
		n++
	}
	return n
}

// binomial draws how many of n hit.
func (c chance) binomial(n int, p float64) int {
	k := 0
	for range n {
		if c.hit(p) {
			k++
		}
	}
	return k
}

// sorted ranges over a map in the order of its keys, so that chance is spent in
// the same order every time.
func sorted(m map[string]int) func(yield func(string, int) bool) {
	return func(yield func(string, int) bool) {
		for _, k := range slices.Sorted(maps.Keys(m)) {
			if !yield(k, m[k]) {
				return
			}
		}
	}
}
