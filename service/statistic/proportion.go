package statistic

import "math"

// checkCounts refuses counts that are no successes among trials.
func checkCounts(successes, trials int64) error {
	if trials < 1 {
		return badInput("trials", float64(trials), "at least 1")
	}
	if successes < 0 || successes > trials {
		return badInput("successes", float64(successes), "at least 0 and at most trials")
	}
	return nil
}

// Wilson returns the score interval for a proportion of which successes were
// seen in trials. It covers about the confidence on average over proportions, is
// never empty, stays within 0 to 1 and holds the estimate successes/trials. A
// one-sided limit with confidence c is the limit of the two-sided interval with
// confidence 2c-1.
//
// Source: NIST/SEMATECH e-Handbook, 7.2.4.1.
func Wilson(successes, trials int64, confidence float64) (Interval, error) {
	if err := checkCounts(successes, trials); err != nil {
		return Interval{}, err
	}
	if err := checkConfidence(confidence); err != nil {
		return Interval{}, err
	}
	n := float64(trials)
	p := float64(successes) / n
	q := float64(trials-successes) / n
	z := normalTwoSided(confidence)
	z2 := z * z
	centre := p + z2/(2*n)
	half := z * math.Sqrt(p*q/n+z2/(4*n*n))
	scale := 1 + z2/n
	interval := Interval{Lower: (centre - half) / scale, Upper: (centre + half) / scale}
	// In exact arithmetic these hold by themselves.
	interval.Lower = min(max(interval.Lower, 0), p)
	interval.Upper = max(min(interval.Upper, 1), p)
	if successes == 0 {
		interval.Lower = 0
	}
	if successes == trials {
		interval.Upper = 1
	}
	return interval, nil
}

// ClopperPearson returns the exact interval for a proportion of which successes
// were seen in trials: it covers the proportion with at least the confidence,
// whatever it is, and is wider than [Wilson] for that. It stays within 0 to 1 and
// holds the estimate successes/trials.
//
// Source: NIST/SEMATECH e-Handbook, 7.2.4.1, exact intervals.
func ClopperPearson(successes, trials int64, confidence float64) (Interval, error) {
	if err := checkCounts(successes, trials); err != nil {
		return Interval{}, err
	}
	if err := checkConfidence(confidence); err != nil {
		return Interval{}, err
	}
	side := (1 - confidence) / 2
	interval := Interval{Lower: 0, Upper: 1}
	if successes > 0 {
		interval.Lower = proportionWithUpper(successes, trials, side)
	}
	switch misses := trials - successes; {
	case misses == 0:
	case successes < misses: // keeps the digits of a small limit
		interval.Upper = proportionWithUpper(successes+1, trials, 1-side)
	default: // keeps the digits of one near 1
		interval.Upper = 1 - proportionWithUpper(misses, trials, side)
	}
	// In exact arithmetic these hold by themselves.
	estimate := float64(successes) / float64(trials)
	interval.Lower = min(interval.Lower, estimate)
	interval.Upper = max(interval.Upper, estimate)
	return interval, nil
}

// proportionWithUpper returns the p for which BinomialUpper(k, n, p) is the given
// probability, for k from 1 to n. It bisects down to the last bit: gonum's
// InvRegIncBeta fails for some arguments, such as 1, 76 and 0.9999995.
func proportionWithUpper(k, n int64, probability float64) float64 {
	lo, hi := 0.0, 1.0
	for {
		mid := lo + (hi-lo)/2
		if mid <= lo || mid >= hi {
			return mid
		}
		if BinomialUpper(k, n, mid) < probability {
			lo = mid
		} else {
			hi = mid
		}
	}
}
