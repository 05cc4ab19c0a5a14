package clearance

// key names one entity of one run: a run, host, worm, egg, skin or day.
type key uint64

// golden is 2^64 divided by the golden ratio, the increment of SplitMix64.
const golden = 0x9e3779b97f4a7c15

// mix is the finaliser of SplitMix64 in Stafford's variant 13: every input bit
// moves about half of the output bits.
//
// Source: steele2014
func mix(x uint64) uint64 {
	x ^= x >> 30
	x *= 0xbf58476d1ce4e5b9
	x ^= x >> 27
	x *= 0x94d049bb133111eb
	return x ^ x>>31
}

// bits returns the n-th number of the entity: 64 random bits.
func (k key) bits(n uint64) uint64 { return mix(uint64(k) + n*golden) }

// child returns the key of the entity's i-th child. The constant keeps keys
// apart from the entity's own numbers.
func (k key) child(i uint64) key {
	return key(mix(uint64(k) ^ (i+1)*0xd6e8feb86659fd93))
}

// runKey returns the key of run i under a seed.
func runKey(seed uint64, i int) key {
	return key(mix(seed + golden)).child(uint64(i))
}

// at returns the number of the i-th occurrence of one decision (a stream) of an
// entity. Each occurrence owns 256 numbers, enough for every method that may
// have to try again.
func at(stream, i uint64) uint64 { return stream<<32 + i<<8 }

const toUnit = 1.0 / (1 << 53)

// unit returns a uniform number in (0, 1), never 0 and never 1.
func (k key) unit(n uint64) float64 { return (float64(k.bits(n)>>11) + 0.5) * toUnit }
