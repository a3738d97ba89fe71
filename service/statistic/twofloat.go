package statistic

// A mean is held as the sum of two numbers, the second far below the last digit
// of the first. With one number alone a mean of values near 1e7 that differ in
// the ninth digit is rounded as coarsely as the values differ, and the spread
// loses half its digits.

// twoSum returns the rounded sum of a and b and what the rounding left out: sum
// + low is a + b exactly, unless it overflows.
//
// Source: Knuth, The Art of Computer Programming, volume 2, 4.2.2, theorem B
// (from memory).
func twoSum(a, b float64) (sum, low float64) {
	sum = a + b
	back := sum - a
	low = (a - (sum - back)) + (b - back)
	return sum, low
}

// distance returns v + vLow - m - mLow, correct to the last digits even where v
// and m agree in all of theirs.
func distance(v, vLow, m, mLow float64) float64 {
	diff, low := twoSum(v, -m)
	return diff + (low + (vLow - mLow))
}

// moved returns m + mLow + step as such a pair.
func moved(m, mLow, step float64) (mean, low float64) {
	sum, rest := twoSum(m, step)
	rest += mLow
	// The rest is smaller than the sum, or the sum is 0: then this is exact too
	// (Dekker's sum, as in 4.2.2, theorem C, from memory).
	mean = sum + rest
	return mean, rest - (mean - sum)
}
