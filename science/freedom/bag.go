package freedom

// BagRisk returns the chance that a bag of m animals drawn at random from the
// lot holds at least one infested animal:
//
//	Σ_D P(D) (1 - C(N-D, m)/C(N, m))
//
// m lies in 0..N. It is summed from its increments, so a risk of one in a
// billion keeps its digits. Animals chosen for the bag because they look
// strong are not a random draw.
func (l Lot) BagRisk(m int) (float64, error) {
	if err := checkCount("bag", m, 0, l.Alive()); err != nil {
		return 0, err
	}
	return l.bagRisk(m), nil
}

func (l Lot) bagRisk(m int) float64 {
	dist := l.dist()
	n := len(dist) - 1
	risk, clean, sum := 0.0, 1.0, 0.0 // of a bag from a lot with d infested
	for d, p := range dist {
		sum += p * risk
		// The bag misses d+1 if it misses d and then also the next one, which
		// is any of the n-d others; m of them are in the bag.
		hit := 0.0
		if d < n {
			hit = min(1, float64(m)/float64(n-d))
		}
		risk += clean * hit
		clean *= 1 - hit
	}
	return min(sum, 1)
}

// Bags is what selling a whole lot in bags would do.
type Bags struct {
	// Number of bags, the last one smaller when the lot does not divide.
	Number int
	// Risk of one full bag, as BagRisk gives it.
	Risk float64
	// Any is the chance that at least one bag carries the condition. Every
	// animal goes to somebody, so it is the chance that the lot is not clear,
	// whatever the size of the bags: smaller bags spread the harm thinner but
	// do not lower it.
	Any float64
	// Expected number of bags that carry it.
	Expected float64
}

// BuyersAtRisk returns what it would do to sell the whole lot in bags of m.
// m lies in 1..N.
func (l Lot) BuyersAtRisk(m int) (Bags, error) {
	n := l.Alive()
	if err := checkCount("bag", m, 1, n); err != nil {
		return Bags{}, err
	}
	b := Bags{Number: n / m, Risk: l.bagRisk(m), Any: l.Infested()}
	b.Expected = float64(b.Number) * b.Risk
	if left := n % m; left > 0 {
		b.Number++
		b.Expected += l.bagRisk(left)
	}
	return b, nil
}
