package clearance

import (
	"math"
	"testing"
)

// moments draws n numbers and returns their mean, variance and share below x.
func moments(n int, x float64, draw func(key) float64) (mean, variance, below float64) {
	for i := range n {
		v := draw(key(99).child(uint64(i)))
		mean += v
		variance += v * v
		if v < x {
			below++
		}
	}
	m := mean / float64(n)
	return m, variance/float64(n) - m*m, below / float64(n)
}

// TestDraws compares moments and one quantile with the textbook formulas of
// each distribution.
func TestDraws(t *testing.T) {
	n := runs(1000000)
	half, two, small := newGamma(12.25), newGamma(2), newGamma(.7)
	for _, c := range []struct {
		name           string
		draw           func(key) float64
		mean, variance float64
		x, below       float64
		kurtosis       float64
	}{
		{"unit", func(k key) float64 { return k.unit(3) }, .5, 1. / 12, .25, .25, 1.8},
		{"exp", func(k key) float64 { return k.exp(3) }, 1, 1, 8, 1 - math.Exp(-8), 9},
		{"normal", func(k key) float64 { return k.normal(3) }, 0, 1, -1.959963985, .025, 3},
		{"normal tail", func(k key) float64 { return k.normal(3) }, 0, 1, -3.7, .0001078, 3},
		{"gamma 12.25", func(k key) float64 { return k.gamma(3, &half) }, 12.25, 12.25, 12.25, .53796, 3.5},
		{"gamma 2", func(k key) float64 { return k.gamma(3, &two) }, 2, 2, 1, 1 - 2*math.Exp(-1), 6},
		{"gamma 0.7", func(k key) float64 { return k.gamma(3, &small) }, .7, .7, .1, math.NaN(), 3 + 6/.7},
		{"beta", func(k key) float64 { return k.beta(3, 2, 3) }, .4, .04, .5, .6875, 2.4},
	} {
		mean, variance, below := moments(n, c.x, c.draw)
		root := math.Sqrt(float64(n))
		if z := (mean - c.mean) / math.Sqrt(c.variance) * root; math.Abs(z) > 4 {
			t.Errorf("%s: mean %g, want %g (z %.1f)", c.name, mean, c.mean, z)
		}
		if z := (variance/c.variance - 1) / math.Sqrt(c.kurtosis-1) * root; math.Abs(z) > 4.5 {
			t.Errorf("%s: variance %g, want %g (z %.1f)", c.name, variance, c.variance, z)
		}
		if z := (below - c.below) / math.Sqrt(c.below*(1-c.below)) * root; math.Abs(z) > 4 {
			t.Errorf("%s: share below %g is %g, want %g (z %.1f)", c.name, c.x, below, c.below, z)
		}
	}
}

// TestTruncatedNegBin compares with the probabilities written out.
func TestTruncatedNegBin(t *testing.T) {
	const mean, size = 2.5, .75
	p := size / (size + mean)
	p0 := math.Pow(p, size)
	want := p0 * size * (1 - p) / (1 - p0) // one worm
	wantMean := mean / (1 - p0)
	n := runs(400000)
	ones, sum, sq := 0.0, 0.0, 0.0
	for i := range n {
		x := float64(key(5).child(uint64(i)).truncatedNegBin(0, mean, size))
		if x < 1 {
			t.Fatal("a count below 1")
		}
		if x == 1 {
			ones++
		}
		sum, sq = sum+x, sq+x*x
	}
	f, m := ones/float64(n), sum/float64(n)
	if z := (f - want) / math.Sqrt(want*(1-want)/float64(n)); math.Abs(z) > 4 {
		t.Errorf("share of ones %g, want %g", f, want)
	}
	if z := (m - wantMean) / math.Sqrt((sq/float64(n)-m*m)/float64(n)); math.Abs(z) > 4 {
		t.Errorf("mean %g, want %g", m, wantMean)
	}
}

// TestInfested checks the number of infested hosts, each place's chance and that
// at least one is infested, at shares from tiny to all.
func TestInfested(t *testing.T) {
	for _, c := range []struct {
		n int
		p float64
	}{{20, .1}, {20, 1e-9}, {3, .5}, {5, 1}, {200, .9}} {
		runs := runs(100000)
		any := -math.Expm1(float64(c.n) * math.Log1p(-c.p))
		count, first, last := 0.0, 0.0, 0.0
		for i := range runs {
			before := -1
			key(8).child(uint64(i)).infested(c.n, c.p, func(h int) {
				if h <= before || h >= c.n {
					t.Fatalf("place %d of %d after %d", h, c.n, before)
				}
				before = h
				count++
				if h == 0 {
					first++
				}
				if h == c.n-1 {
					last++
				}
			})
			if before < 0 {
				t.Fatal("none infested")
			}
		}
		each := c.p / any
		for name, got := range map[string]float64{"a host": count / float64(c.n), "the first": first, "the last": last} {
			p := got / float64(runs)
			if math.Abs(p-each) > 4.5*math.Sqrt(each*(1-each)/float64(runs))+1e-9 {
				t.Errorf("n %d p %g: %s infested with chance %g, want %g", c.n, c.p, name, p, each)
			}
		}
	}
}

// TestKeysDiffer looks for repeats among keys of nearby entities.
func TestKeysDiffer(t *testing.T) {
	seen := map[key]bool{}
	for i := range 300 {
		k := runKey(1, i)
		for j := range 300 {
			c := k.child(uint64(j))
			if seen[c] || c == k {
				t.Fatalf("key of child %d of run %d repeats", j, i)
			}
			seen[c] = true
		}
	}
}
