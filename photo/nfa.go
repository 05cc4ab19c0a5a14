package photo

import "math"

// LogTail returns the natural logarithm of Q(n, l), the chance that a sum of n
// independent waiting times of mean 1 exceeds l:
//
//	Q(n, l) = exp(-l) * sum over k < n of l^k / k!
//
// the regularised upper incomplete gamma function at whole n. n >= 1; l <= 0
// gives 0, the logarithm of 1.
//
// Accuracy: relative error of the logarithm below 1e-12 (TestLogTail, against
// scipy.special.gammaincc). Source: dlmf8.
func LogTail(n int, l float64) float64 {
	if l <= 0 {
		return 0
	}
	// The sum relative to its largest term, which is the last one that k <= l
	// allows.
	top := min(n-1, int(l))
	sum, term := 1.0, 1.0
	for k := top; k > 0; k-- { // downwards
		term *= float64(k) / l
		sum += term
	}
	term = 1
	for k := top + 1; k < n; k++ { // upwards
		term *= l / float64(k)
		sum += term
	}
	lg, _ := math.Lgamma(float64(top + 1))
	return min(0, -l+float64(top)*math.Log(l)-lg+math.Log(sum))
}

// chanceWithin is the chance that at least one of points thrown at random with
// density perArea lies within a distance e.
func chanceWithin(perArea, e float64) float64 {
	return -math.Expm1(-perArea * math.Pi * e * e)
}
