package statistic

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// BinomialUpper returns the probability of k or more successes in n trials that
// each succeed with probability p: no approximation, and small results keep
// their relative accuracy, which is about 1e-15·√n. NaN for a negative n or a p
// that is not 0 to 1.
func BinomialUpper(k, n int64, p float64) float64 {
	switch {
	case n < 0 || !(p >= 0 && p <= 1):
		return math.NaN()
	case k <= 0:
		return 1
	case k > n:
		return 0
	case k == 1:
		return -math.Expm1(float64(n) * math.Log1p(-p))
	case k == n:
		return math.Pow(p, float64(n))
	}
	return betaLower(float64(k), float64(n-k+1), p, 1-p)
}

// PoissonUpper returns the probability of k or more events where mean are
// expected: no approximation, and small results keep their relative accuracy.
// NaN for a mean that is negative or not finite.
func PoissonUpper(k int64, mean float64) float64 {
	switch {
	case !(mean >= 0) || math.IsInf(mean, 1):
		return math.NaN()
	case k <= 0:
		return 1
	case mean == 0:
		return 0
	}
	return mathext.GammaIncReg(float64(k), mean)
}
