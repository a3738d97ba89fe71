package statistic

import "math"

// The incomplete beta function of gonum's mathext (from Cephes) loses as many
// digits as its parameters have, and gives up after 300 terms, so that near the
// middle of a binomial distribution of ten million trials it is off by a percent.
// This one takes as many terms as it needs, about the root of the larger
// parameter, and keeps the digits.

// betaLower returns the probability that a beta variable with parameters a and b,
// above 0, is below x; y is 1-x, given apart because it may be far smaller than
// the last digit of x. Small results keep their relative accuracy.
//
// Source: the continued fraction of Didonato and Morris, ACM Transactions on
// Mathematical Software 18, 1992, as the Boost library has it, evaluated by
// Lentz's method (from memory). In it nothing cancels that x and y do not give
// exactly.
func betaLower(a, b, x, y float64) float64 {
	switch {
	case x <= 0:
		return 0
	case y <= 0:
		return 1
	case x > (a+1)/(a+b+2):
		return 1 - betaLower(b, a, y, x)
	}
	excess := a*y - b*x + 1
	fraction := a * excess / (a + 1)
	c, d := fraction, 0.0
	for m := 1.0; m < 1e7; m++ {
		over := a + 2*m - 1
		upper := (a + m - 1) / over * ((a + b + m - 1) / over) * m * (b - m) * x * x
		lower := m + m*(b-m)*x/over + (a+m)*(excess+m*(2-x))/(a+2*m+1)
		d = 1 / (lower + upper*d)
		c = lower + upper/c
		fraction *= c * d
		if math.Abs(c*d-1) <= 0x1p-52 {
			break
		}
	}
	return a * (b / (a + b)) * binomialPoint(a, b, x, y) / fraction
}

// binomialPoint returns Γ(a+b+1)/(Γ(a+1)Γ(b+1))·x^a·y^b: for whole a and b the
// probability of a successes and b failures.
//
// Source: Loader, Fast and Accurate Computation of Binomial Probabilities, 2000
// (from memory).
func binomialPoint(a, b, x, y float64) float64 {
	n := a + b
	return math.Sqrt(n/(2*math.Pi*a*b)) *
		math.Exp(stirlingError(n)-stirlingError(a)-stirlingError(b)-deviance(a, n*x)-deviance(b, n*y))
}

// stirlingError returns what Stirling's formula leaves out of the logarithm of
// Γ(n+1).
func stirlingError(n float64) float64 {
	if n < 16 {
		lg, _ := math.Lgamma(n + 1)
		return lg - (n+0.5)*math.Log(n) + n - math.Log(2*math.Pi)/2
	}
	square := n * n
	return (1.0/12 - (1.0/360-(1.0/1260-(1.0/1680-1.0/1188/square)/square)/square)/square) / n
}

// deviance returns v·ln(v/mean) + mean - v without losing it where v is near the
// mean.
func deviance(v, mean float64) float64 {
	if math.Abs(v-mean) >= 0.1*(v+mean) {
		return v*math.Log(v/mean) + mean - v
	}
	ratio := (v - mean) / (v + mean)
	sum := (v - mean) * ratio
	power := 2 * v * ratio
	for j := 3.0; ; j += 2 {
		power *= ratio * ratio
		next := sum + power/j
		if next == sum {
			return sum
		}
		sum = next
	}
}
