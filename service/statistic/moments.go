package statistic

import "math"

// Moments is the count, mean and spread of a stream of values. The zero value is
// an empty stream. Its fields are all its state and may be stored and restored.
//
// The values must be finite and their differences must not overflow; NaN or an
// infinity among them makes the spread NaN for good.
//
// Source: Welford's update (Technometrics 4, 1962) with the mean in two parts;
// merging as in Chan, Golub and LeVeque, The American Statistician 37, 1983
// (both from memory).
type Moments struct {
	// N is how many values there were.
	N int64
	// Mean is their mean, rounded; 0 for none.
	Mean float64
	// MeanLow is what rounding left out of Mean.
	MeanLow float64
	// M2 is the sum of the squared distances from the mean.
	M2 float64
}

// Add takes one more value. It does not allocate.
func (m *Moments) Add(x float64) {
	m.N++
	d := distance(x, 0, m.Mean, m.MeanLow)
	step := float64(d * (1 / float64(m.N))) // the quotient does not wait for d
	m.Mean, m.MeanLow = moved(m.Mean, m.MeanLow, step)
	m.M2 += float64(d * (d - step)) // converted: never fused, the same bits everywhere
}

// Merge takes all values of the other stream.
func (m *Moments) Merge(other Moments) {
	if other.N == 0 {
		return
	}
	if m.N < other.N { // the smaller step is the more exact
		*m, other = other, *m
	}
	if other.N == 0 {
		return
	}
	n := float64(m.N + other.N)
	share := float64(other.N) / n
	d := distance(other.Mean, other.MeanLow, m.Mean, m.MeanLow)
	m.M2 += other.M2 + float64(float64(d*d)*float64(float64(m.N)*share))
	m.Mean, m.MeanLow = moved(m.Mean, m.MeanLow, float64(d*share))
	m.N += other.N
}

// Variance returns the sample variance, with the divisor N-1, or NaN for fewer
// than two values.
func (m Moments) Variance() float64 {
	if m.N < 2 {
		return math.NaN()
	}
	return m.M2 / float64(m.N-1)
}

// StdDev returns the sample standard deviation, the root of [Moments.Variance],
// or NaN for fewer than two values.
func (m Moments) StdDev() float64 { return math.Sqrt(m.Variance()) }
