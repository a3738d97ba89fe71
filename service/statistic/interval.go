package statistic

// Interval is a closed range of values, as a rule a confidence interval. A side
// may be infinite where the function that returns it says so.
type Interval struct {
	Lower, Upper float64
}

// Contains says whether v lies in the interval, limits included. NaN does not.
func (i Interval) Contains(v float64) bool { return v >= i.Lower && v <= i.Upper }
