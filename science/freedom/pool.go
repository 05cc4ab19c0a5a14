package freedom

import (
	"math"

	"holdfast/science/ref"
)

// Pools are looks that take several animals together: a photograph of five, a
// sieve of moults, a group of sentinels. The record says of the pool only
// whether anything was seen.
type Pools struct {
	// Number of pools, and Size, the animals in each; both at least 1.
	Number, Size int
	// How one sees a pool: Sensitivity is the chance that a pool with at least
	// one infested animal is positive, however many it holds.
	How Seeing
}

func (p Pools) check() error {
	if err := checkCount("pools", p.Number, 1, MaxAnimals); err != nil {
		return err
	}
	if err := checkCount("pool-size", p.Size, 1, MaxAnimals); err != nil {
		return err
	}
	return p.How.Check()
}

// Detect returns the chance of at least one positive pool when infested of
// population animals are infested, and the chance that a clear lot gives none
// (report it beside: with specificity below 1 the first counts mistakes too).
//
// Pools are filled at random without replacement; one after the other the
// infested still unplaced are drawn hypergeometrically. Time is
// O(pools · infested · min(size, infested)).
//
// population holds at least Number·Size animals.
func (p Pools) Detect(population, infested int) (found, quietIfClear float64, err error) {
	if err := p.check(); err != nil {
		return 0, 0, err
	}
	if err := checkCount("population", population, 1, MaxAnimals); err != nil {
		return 0, 0, err
	}
	if err := checkCount("infested", infested, 0, population); err != nil {
		return 0, 0, err
	}
	if p.Number > population/p.Size {
		return 0, 0, ref.Inputf("pools", "Take fewer or smaller pools.", "%d pools of %d need more than the %d animals alive", p.Number, p.Size, population)
	}
	filling := newFilling(population, infested)
	for range p.Number {
		filling.pool(p.Size, p.How)
	}
	return 1 - filling.quiet(), math.Pow(p.How.Specificity, float64(p.Number)), nil
}

// filling follows pools as they are filled: quietWith[d] is the chance that no
// pool so far was positive and d infested animals are still in the lot.
type filling struct {
	left      int
	quietWith []float64
	pmf       []float64
}

func newFilling(population, infested int) *filling {
	f := &filling{left: population, quietWith: make([]float64, infested+1), pmf: make([]float64, infested+1)}
	f.quietWith[infested] = 1
	return f
}

func (f *filling) pool(size int, how Seeing) {
	next := make([]float64, len(f.quietWith))
	for d, w := range f.quietWith {
		if w == 0 {
			continue
		}
		low, high := hypergeometric(f.pmf, f.left, d, size)
		for y := low; y <= high; y++ {
			quiet := 1 - how.Sensitivity
			if y == 0 {
				quiet = how.Specificity
			}
			next[d-y] += w * f.pmf[y] * quiet
		}
	}
	f.left -= size
	f.quietWith = next
}

func (f *filling) quiet() float64 {
	sum := 0.0
	for _, w := range f.quietWith {
		sum += w
	}
	return sum
}

// DetectUnlimited is Detect for a lot much larger than all pools together:
//
//	1 - [ (1-(1-p)^k)(1-Se) + (1-p)^k Sp ]^r
//
// prevalence lies in [0, 1].
func (p Pools) DetectUnlimited(prevalence float64) (found, quietIfClear float64, err error) {
	if err := p.check(); err != nil {
		return 0, 0, err
	}
	if err := checkShare("prevalence", prevalence); err != nil {
		return 0, 0, err
	}
	r := float64(p.Number)
	return -math.Expm1(r * p.logQuiet(prevalence)), math.Pow(p.How.Specificity, r), nil
}

// logQuiet is the logarithm of the chance that one pool is not positive.
func (p Pools) logQuiet(prevalence float64) float64 {
	none := math.Exp(float64(p.Size) * math.Log1p(-prevalence)) // no infested in the pool
	return math.Log1p(-((1-none)*p.How.Sensitivity + none*(1-p.How.Specificity)))
}

// PoolsNeeded returns the fewest pools of the given size for which at least
// one is positive with the wanted confidence. With population 0 the lot is
// unlimited. *ref.NoAnswer when the lot does not hold enough animals.
func PoolsNeeded(population int, prevalence, confidence float64, size int, how Seeing) (int, error) {
	p := Pools{Number: 1, Size: size, How: how}
	if err := p.check(); err != nil {
		return 0, err
	}
	d := Design{Population: population, Prevalence: prevalence, Confidence: confidence, How: how}
	if err := d.check(); err != nil {
		return 0, err
	}
	no := &ref.NoAnswer{Reason: "No number of pools of this size reaches the wanted confidence: a pool is missed too often, or the lot is too small."}
	if population == 0 {
		n := math.Ceil(math.Log1p(-confidence)/p.logQuiet(prevalence) - slack)
		if n > MaxAnimals {
			return 0, no
		}
		return int(max(n, 1)), nil
	}
	f := newFilling(population, DesignInfested(population, prevalence))
	for n := 1; n <= population/size; n++ {
		f.pool(size, how)
		if 1-f.quiet() >= confidence-slack {
			return n, nil
		}
	}
	return 0, no
}

// PoolPrevalence returns the share of animals infested when positive of number
// pools of the given size are, each seen perfectly, with the Clopper-Pearson
// interval of the pools carried over:
//
//	p = 1 - (1 - x/r)^(1/k)
func PoolPrevalence(positive, number, size int, confidence float64) (float64, Interval, error) {
	if err := checkCount("pool-size", size, 1, MaxAnimals); err != nil {
		return 0, Interval{}, err
	}
	cp, err := ClopperPearson(positive, number, confidence)
	if err != nil {
		return 0, Interval{}, err
	}
	single := func(pool float64) float64 { return -math.Expm1(math.Log1p(-pool) / float64(size)) }
	return single(float64(positive) / float64(number)), Interval{single(cp.Low), single(cp.High)}, nil
}
