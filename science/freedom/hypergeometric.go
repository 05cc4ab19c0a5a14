package freedom

// hypergeometric writes into pmf the chances of y infested among n drawn from
// population animals of which infested are, and returns the lowest and highest
// y whose chance is not (or not below 1e-300 of the likeliest) zero; elements
// outside are left as they were. pmf has room for y = min(infested, n).
//
// It starts at the mode and multiplies ratios of neighbours outwards,
//
//	p(y+1)/p(y) = (D-y)(n-y) / ((y+1)(N-D-n+y+1))
//
// then divides by the sum: no factorial, no logarithm, no cancellation.
func hypergeometric(pmf []float64, population, infested, n int) (low, high int) {
	least, most := max(0, n-(population-infested)), min(infested, n)
	mode := int(float64(n+1) * float64(infested+1) / float64(population+2))
	mode = min(max(mode, least), most)
	rest := population - infested - n
	sum := 1.0
	pmf[mode] = 1
	low, high = mode, mode
	for y := mode; y < most; y++ {
		v := pmf[y] * (float64(infested-y) * float64(n-y)) / (float64(y+1) * float64(rest+y+1))
		if v < leastMass {
			break
		}
		pmf[y+1] = v
		sum += v
		high = y + 1
	}
	for y := mode; y > least; y-- {
		v := pmf[y] * (float64(y) * float64(rest+y)) / (float64(infested-y+1) * float64(n-y+1))
		if v < leastMass {
			break
		}
		pmf[y-1] = v
		sum += v
		low = y - 1
	}
	for y := low; y <= high; y++ {
		pmf[y] /= sum
	}
	return low, high
}
