package statistic

import "math"

// Table counts, in one stratum, hits and misses among the exposed and the others.
type Table struct {
	ExposedHits, ExposedMisses, OtherHits, OtherMisses int64
}

// OddsRatioConfidence is the confidence of [MH.OddsRatioInterval].
const OddsRatioConfidence = 0.95

// MH is a Mantel-Haenszel test: whether exposure goes with hits once the strata
// are held apart.
type MH struct {
	// Statistic is chi-square with one degree of freedom, corrected for
	// continuity.
	Statistic float64
	// P is two-sided: the probability of such a statistic or a larger one if
	// exposure makes no difference in any stratum.
	P float64
	// PUpper is one-sided: the probability of as many hits among the exposed or
	// more, corrected for continuity. It is half of P where there are at least
	// half a hit more than expected, and near 1 where there are fewer.
	PUpper float64
	// OddsRatio is the common odds ratio: 1 for no difference, above 1 for more
	// hits among the exposed. It is 0 or +Inf where in every stratum one of the
	// two diagonals has a zero.
	OddsRatio float64
	// OddsRatioInterval is the interval for it with [OddsRatioConfidence]; where
	// OddsRatio is 0 or +Inf no variance can be estimated and it is 0 to +Inf.
	OddsRatioInterval Interval
}

// MantelHaenszel pools 2 by 2 tables over strata. A stratum in which a margin is
// zero (nobody exposed, nobody else, no hits or nothing but hits) compares
// nothing and counts for nothing; at least one must compare. Zeros in single
// cells need no correction.
//
// Statistic is (max(0, |hits-expected|-½))²/variance over the exposed hits of all
// strata, so an excess of less than half a hit counts as none (R does not correct one at
// all). The variance of
// the logarithm of the odds ratio is that of Robins, Breslow and Greenland.
//
// Source: Mantel and Haenszel, Journal of the National Cancer Institute 22, 1959;
// Robins, Breslow and Greenland, Biometrics 42, 1986 (both from memory).
func MantelHaenszel(strata []Table) (MH, error) {
	var excess, variance float64 // of the exposed hits
	var r, s float64             // odds ratio is r over s
	var pr, psqr, qs float64
	for i, t := range strata {
		for _, cell := range []int64{t.ExposedHits, t.ExposedMisses, t.OtherHits, t.OtherMisses} {
			if cell < 0 {
				return MH{}, badInput(at("strata", i), float64(cell), "counts of at least 0")
			}
		}
		a, b := float64(t.ExposedHits), float64(t.ExposedMisses)
		c, d := float64(t.OtherHits), float64(t.OtherMisses)
		n := a + b + c + d
		exposed, others, hits, misses := a+b, c+d, a+c, b+d
		if exposed == 0 || others == 0 || hits == 0 || misses == 0 {
			continue
		}
		excess += (a*d - b*c) / n // a less its expectation
		variance += exposed / n * others / n * hits * misses / (n - 1)

		ad, bc := a*d/n, b*c/n
		p, q := (a+d)/n, (b+c)/n
		r += ad
		s += bc
		pr += p * ad
		psqr += p*bc + q*ad
		qs += q * bc
	}
	if variance == 0 {
		return MH{}, badInput("strata", 0, "at least 1 stratum with exposed, others, hits and misses")
	}
	sd := math.Sqrt(variance)
	corrected := max(0, math.Abs(excess)-0.5) / sd
	result := MH{
		Statistic: corrected * corrected,
		P:         2 * normalUpper(corrected),
		PUpper:    normalUpper((excess - 0.5) / sd),
		OddsRatio: r / s, // s may be 0, but then r is not
	}
	if r == 0 || s == 0 {
		result.OddsRatioInterval = Interval{Lower: 0, Upper: math.Inf(1)}
		return result, nil
	}
	logSD := math.Sqrt(pr/(2*r*r) + psqr/(2*r*s) + qs/(2*s*s))
	half := normalTwoSided(OddsRatioConfidence) * logSD
	result.OddsRatioInterval = Interval{
		Lower: result.OddsRatio * math.Exp(-half),
		Upper: result.OddsRatio * math.Exp(half),
	}
	return result, nil
}
